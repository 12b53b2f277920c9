"""``refinish answers a07 mixing``: job cards, right values, what was typed and what it earned, on one page.

For the instructor only: these pages hold right values. The report links each of its cells to one of them.
"""

from __future__ import annotations

import argparse
import json
import math
import webbrowser
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from refinishlib.entry import BadEntry

FOLDER = "report/answers"


@dataclass(frozen=True)
class RightValue:
    """One field of a question as the instructor sees it: label, right value, what was typed."""

    label: str
    right: str
    typed: str


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("apprentice", help="the apprentice's id")
    parser.add_argument("lesson", nargs="?", help="a lesson's name; all that were handed in if it is left out")
    parser.add_argument("--open", action="store_true", help="show the pages in the browser")


def run(arguments: argparse.Namespace) -> int:
    from refinishlib.course.folder import course_folder
    from refinishlib.grading import standing

    root = course_folder()
    now = standing.load(root)
    who = arguments.apprentice.casefold()
    here = {lesson.name for lesson in now.lessons if lesson.is_here}
    lessons = [name for one, name in now.hand_ins if one.casefold() == who and name in here]
    if who not in {one.id.casefold() for one in now.people} and not lessons:
        from refinishlib.grading.classlist import nearest

        near = nearest(who, [one.id for one in now.people])
        raise BadEntry(
            f'apprentice: "{arguments.apprentice}" was given, allowed is an id of the class'
            f"{', like ' + ' or '.join(near) if near else ''}."
        )
    if arguments.lesson is not None and arguments.lesson not in lessons:
        has = ", ".join(lessons) or "nothing"
        raise BadEntry(f"lesson: {arguments.lesson} was given, but {who} has handed in {has} that was graded.")
    wanted = [arguments.lesson] if arguments.lesson else lessons
    if not wanted:
        print(f"{who} has handed in nothing that was graded yet.")
        return 1
    keys = {(one, name) for one, name in now.hand_ins if one.casefold() == who and name in wanted}
    for path in write(root, now, keys):
        print(f"The answers are on {path}")
        if arguments.open:
            webbrowser.open(path.as_uri())
    return 0


def page_name(apprentice: str, lesson: str) -> str:
    return f"{apprentice}-{lesson}.html"


def write(root: Path, now: Any, only: Iterable[tuple[str, str]] | None = None) -> list[Path]:
    """Write the answers pages of a class, those that changed anew; says where they are.

    Parameters
    ----------
    now : where the class stands, see :func:`refinishlib.grading.standing.load`
    only : apprentice and lesson of the pages that are wanted; all that were handed in if left out
    """
    from refinishlib.grading import pages
    from refinishlib.grading.handmarks import rubric_of

    folder = root / FOLDER
    folder.mkdir(parents=True, exist_ok=True)
    wanted = set(only) if only is not None else set(now.hand_ins)
    names = {one.id: one for one in now.people}
    written: list[Path] = []
    for lesson in (one for one in now.lessons if one.is_here):
        row = [one.id for one in now.people if (one.id, lesson.name) in now.hand_ins]
        cells: dict[str, Any] = {"rubric": rubric_of(root, lesson.name)}
        decides = pages.hash_of_lesson(lesson.name)
        for place, who in enumerate(row):
            if (who, lesson.name) not in wanted:
                continue
            hand_in = now.hand_ins[who, lesson.name]
            around = (row[place - 1] if place else "", row[place + 1] if place + 1 < len(row) else "")
            mark = pages.made_from(hand_in, names[who], lesson, around, cells["rubric"], decides)
            path = folder / page_name(who, lesson.name)
            if not pages.is_fresh(path, mark):
                path.write_text(_page(root, lesson, hand_in, names, around, cells, mark), encoding="utf-8")
            written.append(path)
    return written


def _page(
    root: Path,
    lesson: Any,
    hand_in: Any,
    names: Mapping[str, Any],
    around: tuple[str, str],
    cells: dict[str, Any],
    mark: str,
) -> str:
    from refinishlib.course.check import someone_elses
    from refinishlib.grading import pages
    from refinishlib.grading.answersheet import sheets
    from refinishlib.grading.clean import to_html

    who = hand_in.apprentice
    answers, trouble = _answers(root, who, lesson.name)
    notebook = _rebuilt(root, lesson.name, answers, cells)
    marks = {one.name: one for one in hand_in.cells}
    outcomes = hand_in.row.get("outcomes") or {}
    claimed = str(hand_in.row.get("claimed") or "")
    other = claimed if claimed and claimed != who.casefold() else ""
    questions = []
    once = someone_elses(other, who.casefold()) if other else ""
    found = sheets(lesson.name, who, notebook, outcomes, marks, once)
    keys = _keys(lesson.name, who, found)
    for sheet in found:
        right = keys.get(sheet.name, {})
        lines = []
        for line in sheet.lines:
            part = next((one for one in (sheet.asked.parts if sheet.asked else ()) if one.name == line.name), None)
            words = right_words(part, right[line.name]) if part is not None and line.name in right else ""
            lines.append(RightValue(line.label, words, line.typed))
        questions.append({"sheet": sheet, "lines": lines, "flag": (outcomes.get(sheet.grade_id) or {}).get("flag", "")})
    return pages.render(
        "answers.html.j2",
        mark=mark,
        lesson=lesson,
        one=names[who],
        hand_in=hand_in,
        questions=questions,
        trouble=trouble,
        other=names.get(other) or other,
        other_points=_as_someone_else(lesson.name, other, found) if other else None,
        before=around[0],
        after=around[1],
        rubric=to_html(cells["rubric"]) if cells["rubric"] else "",
        page_name=page_name,
    )


def right_words(part: Any, one: Any) -> str:
    """A right answer as a person reads it, with how far off it may be.

    >>> from refinishlib.course.key import PartKey
    >>> from refinishlib.course.question import Number, Part
    >>> right_words(Part("own_g", "Own weight", Number("mass", "g"), 3), PartKey(34.2, 0.16))
    '34.2 g ± 0.16'
    """
    if one.rules:
        return "; ".join(f"{rule.first} before {rule.then}" for rule in one.rules)
    said = [part.form.say(_no_finer(value, one.tolerance)) for value in (one.right, *one.also)]
    accepted = [words.replace('"', "") for words in said]  # what was typed is shown without quotes too
    near = f" ± {one.tolerance:.2g}" if one.tolerance else ""
    return " or ".join(accepted) + near


def _no_finer(value: Any, tolerance: float) -> Any:
    """A number, or numbers, with one digit more than the tolerance has."""
    if isinstance(value, tuple) and tolerance:
        return tuple(_no_finer(one, tolerance) for one in value)
    if not tolerance or not isinstance(value, int | float):
        return value
    return round(value, max(0, 1 - math.floor(math.log10(tolerance))))


def _answers(root: Path, who: str, lesson: str) -> tuple[dict[str, Any], str]:
    """The answers as they were graded, and why there are none."""
    from refinishlib.grading.handedin import Unreadable, read_notebook

    try:
        return read_notebook(root / "autograded" / who / lesson / f"{lesson}.ipynb"), ""
    except Unreadable as problem:
        return {}, f"What was graded {problem}."


def _rebuilt(root: Path, lesson: str, answers: Mapping[str, Any], cells: dict[str, Any]) -> list[Any]:
    """The lesson's cells with the apprentice's texts in the answer cells. Nothing here is run."""
    if "text" not in cells:
        try:
            cells["text"] = (root / "lessons" / lesson / f"{lesson}.ipynb").read_text(encoding="utf-8")
        except OSError:
            raise BadEntry(f"lessons/{lesson} is not there; type: refinish release {lesson}") from None
    found = json.loads(cells["text"])["cells"]
    for cell in found:
        cell["source"] = "".join(cell["source"])
        about = cell["metadata"].get("nbgrader") or {}
        if about.get("solution"):
            answer = answers.get(about["grade_id"])
            cell["source"] = answer.text if answer else ""
            if answer and answer.pictures and cell["cell_type"] == "markdown":
                cell["attachments"] = answer.pictures
    return list(found)


def _keys(lesson: str, whose: str, found: list[Any]) -> dict[str, dict[str, Any]]:
    """For each question the right answers that these answers are judged by, with the numbers of an id."""
    from refinishlib.course import lessons
    from refinishlib.course.keys import key_to

    if lesson not in lessons.names():
        return {}
    typed = _typed(found)
    return {sheet.name: key_to(lesson, sheet.name, whose, typed).parts for sheet in found if sheet.asked is not None}


def _as_someone_else(lesson: str, other: str, found: list[Any]) -> tuple[float, float] | None:
    """What the same answers would earn, and at most, with the numbers of the id that the notebook was made for."""
    from refinishlib.course import lessons
    from refinishlib.course.key import judge_parts

    keys, typed = _keys(lesson, other, found), _typed(found)
    if not keys:
        return None
    asked = lessons.questions(lesson, other)
    verdicts = [judge_parts(asked[name], key, typed) for name, key in keys.items()]
    return sum(one.points for one in verdicts), sum(one.max_points for one in verdicts)


def _typed(found: list[Any]) -> dict[str, Any]:
    """The plain values of all answers, as the grader reads them."""
    from refinishlib.course.answers import read_cell

    typed: dict[str, Any] = {}
    for sheet in found:
        typed |= read_cell(sheet.text, typed).values
    return typed
