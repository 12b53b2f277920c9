"""What the grader's own reader makes of the entries in a lesson, in words. No verdict: it never says what is right."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from refinishlib.course import apprentice
from refinishlib.course.answers import read_cell
from refinishlib.course.as_typed import Cells
from refinishlib.course.lessons import question, questions
from refinishlib.course.reading import NOT_ANSWERED, READ, Said

ID_CELL = "answer-my-id"
EMPTY_WRITTEN = "*Write your answer here.*"


def of_question(lesson: str, name: str, whose: str, texts: Iterable[str]) -> tuple[Said, ...]:
    """What is said below each field of one question.

    texts : the answer cells of the lesson as they stand, in their order

    Raises
    ------
    BadEntry : an unknown lesson or question

    >>> [one.sentence for one in of_question("mixing", "1.1", "a07", ['own_g = "34,2 g"'])]
    ['Read as 34.2 g.']
    """
    return tuple(_below_its_field(one) for one in _read(texts).say(question(lesson, name, whose).parts, {}))


def of_lesson(lesson: str, notebook: Mapping[str, Any]) -> tuple[tuple[str, Said], ...]:
    """Every field of a lesson with its question's name, in the lesson's order; the written answers last.

    Raises
    ------
    BadEntry : an unknown lesson
    """
    cells = _read(text for name, text in _texts(notebook).items() if name.startswith("answer-"))
    asked = questions(lesson, whose(notebook))
    said = [(name, one) for name, each in asked.items() for one in cells.say(each.parts, {})]
    return (*said, *(("", one) for one in _written(notebook)))


def whose(notebook: Mapping[str, Any]) -> str:
    """The id that a notebook claims, empty where it says none."""
    return apprentice.own(read_cell(_texts(notebook).get(ID_CELL, "")).values.get("my_id", ...))


def same_entries(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    """Whether two notebooks hold the same entries."""
    return _texts(one) == _texts(other)


def _read(texts: Iterable[str]) -> Cells:
    cells = Cells()
    for text in texts:
        cells.run(text)
    return cells


def _below_its_field(said: Said) -> Said:
    # The label stands above it already.
    sentence = said.sentence.removeprefix(f"{said.label}: ")
    return replace(said, sentence=sentence[:1].upper() + sentence[1:])


def _written(notebook: Mapping[str, Any]) -> Iterator[Said]:
    for cell in notebook["cells"]:
        if cell["cell_type"] == "markdown" and _about(cell).get("solution") and _about(cell).get("grade"):
            empty = _source(cell).strip() in ("", EMPTY_WRITTEN)
            label, name = "The written answer", str(_about(cell).get("grade_id"))
            yield Said(
                name, label, NOT_ANSWERED if empty else READ, f"{label}: nothing is written yet." if empty else ""
            )


def _texts(notebook: Mapping[str, Any]) -> dict[str, str]:
    return {
        str(_about(cell).get("grade_id")): _source(cell) for cell in notebook["cells"] if _about(cell).get("solution")
    }


def _about(cell: Mapping[str, Any]) -> Mapping[str, Any]:
    about = cell.get("metadata", {}).get("nbgrader", {})
    return about if isinstance(about, Mapping) else {}


def _source(cell: Mapping[str, Any]) -> str:
    source = cell.get("source", "")
    return source if isinstance(source, str) else "".join(source)
