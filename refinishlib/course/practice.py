"""Practice: fresh problems without end, help at once when one goes wrong, and what went wrong comes back.

A problem is a row of steps that ends in the answer. At first all steps but the last are filled in; then two are left to
do, then all. After a slip there is first a hint, then which step went wrong, then the whole working.
"""

from __future__ import annotations

import random
import secrets
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import escape

import ipywidgets as widgets

from refinishlib.bench.fields import EntryField, choice_field, text_field
from refinishlib.bench.page import Page, sheet
from refinishlib.course import lessons, remembered
from refinishlib.course.draw import Draw
from refinishlib.course.key import Mistake, PartKey, same
from refinishlib.course.question import Choice, Number, Part, read
from refinishlib.course.remembered import READY_AFTER, Memory, SkillStanding
from refinishlib.entry import BadEntry, one_of
from refinishlib.shop.shop import Shop

ALL = 99
LEFT_TO_DO = (1, 2, ALL)
MIXED_FROM_BEFORE, MIXED_AT_THE_END = 3, 4
EARLIER_LESSONS = 2
UNTIL_AGAIN = 2
NOT_CHOSEN = "choose one"

SOURCES = {
    "ALL": "definition: more steps than any problem has",
    "LEFT_TO_DO": "teaching value: the last step first, then two, then all",
    "MIXED_FROM_BEFORE": "teaching value: three minutes at the start of a lesson",
    "MIXED_AT_THE_END": "teaching value: a few minutes at the end of a lesson",
    "EARLIER_LESSONS": "teaching value: the mixed set at the end goes back two lessons",
    "UNTIL_AGAIN": "teaching value: other problems between a slip and its return",
}


@dataclass(frozen=True)
class DrillStep:
    """One step of a working.

    part, key : what is found, with its label and form, and what is right
    hint : what helps somebody who is stuck, without the value
    working : how it goes, with the numbers
    """

    part: Part
    key: PartKey
    hint: str
    working: str


@dataclass(frozen=True)
class Problem:
    """One practice problem: what is asked (HTML), and the steps to it, the last of which is the answer."""

    text: str
    steps: tuple[DrillStep, ...]


@dataclass(frozen=True)
class Drill:
    """A skill to practise, and how a fresh problem for it is drawn."""

    title: str
    problem: Callable[[Draw, Shop], Problem]


@dataclass(frozen=True)
class DrillKind:
    """A drill in its lesson."""

    lesson: str
    drill: Drill

    @property
    def name(self) -> str:
        return f"{self.lesson}/{self.drill.title}"

    def problem(self, seed: str) -> Problem:
        """The problem drawn from a text; the same text always gives the same one."""
        return self.drill.problem(Draw(f"practice/{seed}/{self.drill.title}"), lessons.record(self.lesson).shop)


def step(
    label: str,
    form: Number | Choice,
    right: float | str,
    hint: str,
    working: str,
    *mistakes: tuple[float | str, str],
    near: float = 0.0,
    near_share: float = 0.01,
) -> DrillStep:
    """A step whose right value is known, with what somebody types who makes a known mistake and what helps then."""
    part = Part("step", label, form, 1, near=near, near_share=near_share)
    known = tuple(Mistake("", value, 0, sentence) for value, sentence in mistakes if not _near(part, value, right))
    return DrillStep(part, PartKey(right, part.nearness(right), known), hint, working)


def _near(part: Part, value: float | str, right: float | str) -> bool:
    return same(value, right, part.nearness(value) + part.nearness(right))


def drills(lesson: str) -> tuple[Drill, ...]:
    """What a lesson lets apprentices practise.

    >>> [drill.title for drill in drills("mixing")][:2]
    ['Own weight', 'Scale reading']
    """
    found: tuple[Drill, ...] = lessons.module(lesson, "practice").DRILLS if lessons.has(lesson, "practice") else ()
    return found


def kinds(lesson: str, *skills: str) -> tuple[DrillKind, ...]:
    """The kinds of problem of a lesson: those named, or all.

    Raises
    ------
    BadEntry : the lesson has no such drill
    """
    known = {drill.title: DrillKind(lesson, drill) for drill in drills(lesson)}
    return tuple(known[one_of("practice", skill, known)] for skill in skills or known)


def kinds_before(lesson: str) -> tuple[DrillKind, ...]:
    """The kinds of problem of all earlier lessons, in the order of the course."""
    return tuple(kind for name in _earlier(lesson) for kind in kinds(name))


def kinds_mixed(lesson: str) -> tuple[DrillKind, ...]:
    """The kinds of problem of this lesson and the two before it."""
    return (*(kind for name in _earlier(lesson)[-EARLIER_LESSONS:] for kind in kinds(name)), *kinds(lesson))


def _earlier(lesson: str) -> list[str]:
    order = lessons.record(lesson).order
    return [name for name in lessons.names() if lessons.record(name).order < order and drills(name)]


# --- what somebody did -----------------------------------------------------------------------------------------------


def left_to_do(problem: Problem, standing: SkillStanding) -> int:
    """How many steps, counted from the last, are left to do."""
    return min(LEFT_TO_DO[standing.level], len(problem.steps))


def is_right(one: DrillStep, typed: str) -> bool:
    """Whether what was typed for a step is right.

    Raises
    ------
    BadEntry : it has not the form of an answer, or is empty
    """
    return same(read(one.part, typed), one.key.right, one.key.tolerance)


def first_slip(problem: Problem, typed: Sequence[str]) -> int | None:
    """The first step that is wrong, of those that were left to do; None where the answer is reached.

    typed : the entries of the last steps, as many as were left to do
    """
    start = len(problem.steps) - len(typed)
    for place, text in enumerate(typed, start):
        if not is_right(problem.steps[place], text):
            return place
    return None


def help_after(problem: Problem, slip: int, typed: str, slips: int) -> tuple[str, ...]:
    """What helps: after the first slip a hint, after the second which step, then the working, line by line.

    Parameters
    ----------
    slip : place of the first step that is wrong
    typed : what was typed for it
    slips : how often this problem went wrong by now, from 1
    """
    one = problem.steps[slip]
    value = read(one.part, typed)
    known = next((m.sentence for m in one.key.mistakes if same(value, m.value, one.key.tolerance)), "")
    if slips == 1:
        return (f"Not yet. {_capital(known or one.hint)}",)
    if slips == 2:
        return (f"Not yet. Look at step {slip + 1}: {one.part.label}.", _capital(one.hint))
    return ("This is how it goes:", *(step.working for step in problem.steps))


def _capital(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]


def asked(
    known: Sequence[DrillKind], memory: Memory, start: str, *, shuffled: bool = False
) -> Iterator[tuple[DrillKind, str, bool]]:
    """Which problem comes next, without end: its kind, what it is drawn from, and whether it was missed before.

    What was missed comes back as soon as a few others lie between; two of one kind stand in a row only where there is
    one kind alone. Otherwise the kinds take turns, or, shuffled, come in no order.

    start : the same text draws the same problems
    """
    dice = random.Random(start)
    last: list[tuple[str, str]] = []
    turn = 0
    while True:
        held = {seed for _, seed in last[-UNTIL_AGAIN:]}
        back = [one for one in memory.missed(kind.name for kind in known) if one.seed not in held]
        if len(known) > 1 and last:
            back = [one for one in back if one.kind != last[-1][0]]
        # An old problem first, then a fresh one: practice is never only what went wrong.
        if back and (not last or last[-1][1].startswith(start)):
            kind = next(kind for kind in known if kind.name == back[0].kind)
            seed = back[0].seed
        else:
            others = [kind for kind in known if len(known) == 1 or not last or kind.name != last[-1][0]]
            kind = dice.choice(others) if shuffled else _in_turn(known, others, turn)
            seed = f"{start}/{turn}"
            turn += 1
        before = any((one.kind, one.seed) == (kind.name, seed) for one in back)
        last.append((kind.name, seed))
        yield kind, seed, before


def _in_turn(known: Sequence[DrillKind], others: Sequence[DrillKind], turn: int) -> DrillKind:
    wanted = known[turn % len(known)]
    return wanted if wanted in others else others[0]


# --- the sheets ------------------------------------------------------------------------------------------------------


def practise(lesson: str, *skills: str, start: str | None = None, memory: Memory | None = None) -> widgets.Widget:
    """The practice sheet of one idea. Nothing is graded.

    start, memory : what problems are drawn from, and what is remembered (for tests); left out, every opening draws
        others, and the course's folder remembers
    """
    known = kinds(lesson, *skills)
    title = "Practice: " + " and ".join(kind.drill.title.lower() for kind in known)
    return _Practice(known, memory or remembered.of_this_notebook(), start).shown(title)


def mixed(
    lesson: str, *, before: bool = False, start: str | None = None, memory: Memory | None = None
) -> widgets.Widget:
    """A short mixed set: of earlier lessons, or of this one and the two before it. Only the answer is asked."""
    known = kinds_before(lesson) if before else kinds_mixed(lesson)
    count = MIXED_FROM_BEFORE if before else MIXED_AT_THE_END
    title = "From last time" if before else "All mixed"
    return _Practice(known, memory or remembered.of_this_notebook(), start, count=count).shown(title)


def shown(lesson: str, skill: str) -> str:
    """One worked example of a drill, as HTML: the problem with its whole working."""
    [kind] = kinds(lesson, skill)
    problem = kind.problem("shown")
    lines = "".join(f"<li>{escape(one.working)}</li>" for one in problem.steps)
    return f'<p class="refinish-hint">One worked example</p>{problem.text}<ol class="refinish-steps">{lines}</ol>'


class _Practice:
    """One sheet: the problem, its steps, and what is said about them.

    count : a set of so many problems with only the answer asked; 0 for practice without end
    """

    def __init__(self, known: Sequence[DrillKind], memory: Memory, start: str | None, count: int = 0) -> None:
        self._known, self._memory, self._count = known, memory, count
        self._row = asked(known, memory, start or secrets.token_hex(8), shuffled=bool(count))
        self._done = self._right = self._slips = 0
        self._over = False
        self._fields: list[EntryField] = []
        self._head, self._asked, self._given, self._said, self._tally = (widgets.HTML() for _ in range(5))
        self._entries = widgets.VBox()
        self._check = widgets.Button(description="Check", button_style="primary")
        self._next = widgets.Button(description="Next problem")
        self._check.on_click(self._look)
        self._next.on_click(lambda _: self._fresh(focus=True))
        self._fresh()

    def shown(self, title: str) -> widgets.Widget:
        buttons = widgets.HBox([self._check, self._next])
        buttons.add_class("refinish-buttons")
        # Nothing to copy or to print here; the page only brings the calculators' style sheet.
        page = Page()
        page.layout.display = "none"
        parts = (self._head, self._asked, self._given, self._entries, buttons, self._said, self._tally, page)
        return sheet(title, *parts)

    def _fresh(self, *, focus: bool = False) -> None:
        if self._count and self._done >= self._count:
            self._done = self._right = 0
        self._kind, self._seed, back = next(self._row)
        self._problem = self._kind.problem(self._seed)
        self._slips, self._over = 0, False
        standing = self._memory.standing(self._kind.name)
        todo = 1 if self._count else left_to_do(self._problem, standing)
        self._head.value = self._heading(back)
        self._head.layout.display = None if self._head.value else "none"
        self._asked.value = self._problem.text
        self._given.value = "" if self._count else _filled_in(self._problem.steps[:-todo])
        self._given.layout.display = None if self._given.value else "none"
        self._fields = [_field(one) for one in self._problem.steps[-todo:]]
        for field in self._fields:
            field.entry.observe(self._no_verdict, "value")
            field.entry.on_msg(self._entered)
        self._entries.children = tuple(self._fields)
        self._no_verdict()
        self._say_tally()
        self._check.disabled = False
        self._next.description = "Next problem"
        if focus:
            self._fields[0].entry.focus()

    def _heading(self, back: bool) -> str:
        place = f"{self._done + 1} of {self._count}: " if self._count else ""
        of = f"{place}{self._kind.drill.title}" if self._count or len(self._known) > 1 else ""
        again = "You missed this one before. Try it again." if back else ""
        words = ". ".join(part for part in (of, again) if part)
        return f'<div class="refinish-kind">{escape(words)}</div>' if words else ""

    def _entered(self, entry: object, content: Mapping[str, object], buffers: object) -> None:
        if content.get("event") == "submit":
            self._look()

    def _no_verdict(self, *_: object) -> None:
        """No old word stands below a new entry."""
        self._say()

    def _say(self, lines: Sequence[str] = (), *, right: bool = False) -> None:
        self._said.value = _verdict(lines, right=right) if lines else ""
        self._said.layout.display = None if lines else "none"

    def _look(self, *_: object) -> None:
        if self._over:
            return
        typed = [str(field.entry.value) for field in self._fields]
        complaints = False
        for field, one, text in zip(self._fields, self._problem.steps[-len(typed) :], typed, strict=True):
            try:
                read(one.part, "" if text == NOT_CHOSEN else text)
            except BadEntry as bad:
                field.complain(str(bad))
                complaints = True
        if complaints:
            self._say()
            return
        slip = first_slip(self._problem, typed)
        if slip is None:
            if not self._slips:
                self._note(True)
            self._end()
            self._say(("Right.",), right=True)
        else:
            self._slips += 1
            if self._slips == 1:
                self._note(False)
            start = len(self._problem.steps) - len(typed)
            lines = help_after(self._problem, slip, typed[slip - start], self._slips)
            if self._slips >= len(LEFT_TO_DO):
                self._end()
            self._say(lines)
        self._say_tally()

    def _note(self, first_try: bool) -> None:
        self._memory.note(self._kind.name, self._seed, first_try)
        self._right += first_try

    def _end(self) -> None:
        self._over = True
        self._done += 1
        self._check.disabled = True
        if self._count and self._done >= self._count:
            self._next.description = f"{self._count} more"

    def _say_tally(self) -> None:
        if self._count:
            done = f"{self._right} of {self._done} right at the first try." if self._done else ""
            words = f"That was all. {done}" if done and self._done >= self._count else done
        else:
            words = " ".join(_how_far(kind, self._memory.standing(kind.name), self._known) for kind in self._known)
        self._tally.value = f'<div class="refinish-hint" role="status">{escape(words)}</div>' if words else ""


def _how_far(kind: DrillKind, standing: SkillStanding, known: Sequence[DrillKind]) -> str:
    whose = f"{kind.drill.title}: " if len(known) > 1 else ""
    if standing.ready:
        said = "ready. You had three in a row." if whose else "You are ready: three in a row at the first try."
    else:
        said = f"{standing.in_a_row} of {READY_AFTER} in a row at the first try."
    return whose + said


def _filled_in(steps: Sequence[DrillStep]) -> str:
    """The steps that are done already, as a list."""
    lines = "".join(f"<li>{escape(one.working)}</li>" for one in steps)
    return f'<ol class="refinish-steps">{lines}</ol>' if lines else ""


def _field(one: DrillStep) -> EntryField:
    if isinstance(one.part.form, Choice):
        return choice_field(one.part.label, [NOT_CHOSEN, *one.part.form.options])
    unit = one.part.form.symbol if isinstance(one.part.form, Number) else ""
    field = text_field(f"{one.part.label}, in {unit}" if unit else one.part.label, str, "")
    # Sent when it is complete: sent key by key, a tap on Check could overtake the typing.
    field.entry.continuous_update = False
    field.layout.max_width = "28rem"
    return field


def _verdict(lines: Sequence[str], *, right: bool) -> str:
    first, rest = lines[0], lines[1:]
    if len(rest) == 1:
        more = f"<p>{escape(rest[0])}</p>"
    else:
        more = f'<ol class="refinish-steps">{"".join(f"<li>{escape(line)}</li>" for line in rest)}</ol>' if rest else ""
    look = "right" if right else "caution"
    return f'<div role="status" class="refinish-verdict refinish-{look}"><p><b>{escape(first)}</b></p>{more}</div>'
