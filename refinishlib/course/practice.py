"""Practice: fresh problems without end, right or wrong at once, and the working when it was wrong."""

from __future__ import annotations

import itertools
import secrets
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from html import escape

import ipywidgets as widgets

from refinishlib.bench.fields import choice_field, text_field
from refinishlib.bench.page import Page, sheet
from refinishlib.course import lessons
from refinishlib.course.draw import Draw
from refinishlib.course.key import PartKey, judge_parts
from refinishlib.course.question import Part, Question, read
from refinishlib.entry import BadEntry
from refinishlib.shop.shop import Shop


@dataclass(frozen=True)
class Problem:
    """One practice problem: what is asked (HTML), the part to fill in, its key, and the working, line by line."""

    text: str
    part: Part
    key: PartKey
    working: tuple[str, ...]


@dataclass(frozen=True)
class Drill:
    """A skill to practise, and how a fresh problem for it is drawn."""

    title: str
    problem: Callable[[Draw, Shop], Problem]


def verdict(problem: Problem, typed: str) -> tuple[bool, tuple[str, ...]]:
    """Whether a typed answer is right, and the sentences to show: the help first, then the working.

    Raises
    ------
    BadEntry : what was typed has not the form of an answer
    """
    read(problem.part, typed)
    question = Question("practice", "", "", problem.text, (problem.part,))
    judged = judge_parts(question, {problem.part.name: problem.key}, {problem.part.name: typed})
    if judged.points == judged.max_points:
        return True, ("Right.",)
    sentence = judged.sentences[0].removeprefix(f"{problem.part.label}: ")
    return False, (f"Not yet. {sentence[0].upper()}{sentence[1:]}", *problem.working)


def drills(lesson: str) -> tuple[Drill, ...]:
    """What a lesson lets apprentices practise.

    >>> [drill.title for drill in drills("mixing")][:2]
    ['Own weight', 'Scale reading']
    """
    found: tuple[Drill, ...] = lessons.module(lesson, "practice").DRILLS if lessons.has(lesson, "practice") else ()
    return found


def problems(drill: Drill, start: str, shop: Shop) -> Iterator[Problem]:
    """Fresh problems for a drill, one after the other; the same start gives the same row of problems."""
    return (drill.problem(Draw(f"practice/{start}/{drill.title}/{count}"), shop) for count in itertools.count())


def practise(lesson: str, *skills: str, start: str | None = None) -> widgets.Widget:
    """The practice sheet of a lesson, for these skills or for all that it has. Nothing is graded.

    start : any text; the same text draws the same problems (for tests). Left out, every opening draws others.
    """
    known, shop = drills(lesson), lessons.record(lesson).shop
    chosen = [drill for drill in known if not skills or drill.title in skills]
    rows = {drill.title: problems(drill, start or secrets.token_hex(8), shop) for drill in chosen}
    tries = {"right": 0, "all": 0}
    now: dict[str, Problem | None] = {"asked": None, "counted": None}

    skill = choice_field("What do you want to practise?", [(drill.title, drill.title) for drill in chosen])
    answer = text_field("Your answer", _as_typed, "")
    asked, said, tally = widgets.HTML(), widgets.HTML(), widgets.HTML()
    check_button = widgets.Button(description="Check", button_style="primary")
    next_button = widgets.Button(description="Next problem")

    def fresh(*_: object) -> None:
        problem = now["asked"] = next(rows[skill.reading])
        asked.value = problem.text
        said.value = answer.entry.value = ""

    def look(*_: object) -> None:
        problem = now["asked"]
        assert problem is not None
        try:
            right, sentences = verdict(problem, answer.entry.value)
        except BadEntry as bad:
            answer.complain(str(bad))
            return
        if now["counted"] is not problem:
            now["counted"] = problem
            tries["all"] += 1
            tries["right"] += right
        said.value = _sentences(right, sentences)
        tally.value = f'<p class="refinish-hint">{tries["right"]} of {tries["all"]} right at the first try</p>'

    skill.observe(fresh, "reading")
    next_button.on_click(fresh)
    check_button.on_click(look)
    answer.entry.on_msg(lambda _entry, content, _buffers: look() if content.get("event") == "submit" else None)
    fresh()
    # Sent when it is complete: sent key by key, a tap on Check could overtake the typing.
    answer.entry.continuous_update = False
    skill.layout.max_width = answer.layout.max_width = "24rem"
    buttons = widgets.HBox([check_button, next_button], layout={"grid_gap": "10px"})
    # Nothing to copy or to print here; the page only brings the calculators' style sheet.
    page = Page()
    page.layout.display = "none"
    choice = [skill] if len(chosen) > 1 else []
    title = "Practice" if choice else f"Practice: {chosen[0].title.lower()}"
    return sheet(title, *choice, asked, answer, buttons, said, tally, page)


def _as_typed(text: str) -> str:
    return text


def _sentences(right: bool, sentences: tuple[str, ...]) -> str:
    first, rest = sentences[0], sentences[1:]
    steps = "".join(f"<li>{escape(line)}</li>" for line in rest)
    working = f"<p>This is how it goes:</p><ol>{steps}</ol>" if steps else ""
    look = "right" if right else "caution"
    return f'<div role="status" class="refinish-{look}"><p><b>{escape(first)}</b></p>{working}</div>'
