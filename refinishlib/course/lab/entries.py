"""What the grader's own reader makes of the entries in a lesson, in words. No verdict: it never says what is right."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from refinishlib.course import apprentice
from refinishlib.course.answers import read_cell
from refinishlib.course.lessons import question, questions
from refinishlib.course.question import NotAnswered, Question, read
from refinishlib.entry import BadEntry

READ, EMPTY, UNREADABLE = "read", "empty", "unreadable"
ID_CELL = "answer-my-id"
EMPTY_WRITTEN = "*Write your answer here.*"


@dataclass(frozen=True)
class Entry:
    """One field as the reader sees it: `state` is "read", "empty" or "unreadable"; the sentence says what or why."""

    question: str
    name: str
    label: str
    state: str
    sentence: str


def of_question(lesson: str, name: str, whose: str, source: str) -> tuple[Entry, ...]:
    """The entries of one answer cell.

    Raises
    ------
    BadEntry : an unknown lesson or question

    >>> [one.sentence for one in of_question("mixing", "1.1", "a07", 'own_g = "34,2 g"')]
    ['Read as 34.2 g.']
    """
    return _entries(question(lesson, name, whose), source)


def of_lesson(lesson: str, notebook: Mapping[str, Any]) -> tuple[Entry, ...]:
    """The entries of a whole lesson, in its order. A cell that is not there counts as empty.

    Raises
    ------
    BadEntry : an unknown lesson
    """
    cells = _sources(notebook)
    found: list[Entry] = []
    for name, asked in questions(lesson, whose(notebook)).items():
        found += _entries(asked, cells.get(f"answer-{name.replace('.', '-')}", ""))
    return (*found, *_written(notebook))


def whose(notebook: Mapping[str, Any]) -> str:
    """The id that a notebook claims, empty where it says none."""
    return apprentice.own(read_cell(_sources(notebook).get(ID_CELL, "")).values.get("my_id", ...))


def same_entries(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    """Whether two notebooks hold the same entries."""
    return _sources(one) == _sources(other)


def _entries(asked: Question, source: str) -> tuple[Entry, ...]:
    reading = read_cell(source)
    found = []
    for part in asked.parts:
        if reading.problem and part.name not in reading.values:
            found.append(Entry(asked.name, part.name, part.label, UNREADABLE, f"{part.label}: {reading.sentence}"))
            continue
        try:
            value = read(part, reading.values.get(part.name, ...))
        except NotAnswered:
            found.append(Entry(asked.name, part.name, part.label, EMPTY, "Not answered yet."))
        except BadEntry as bad:
            found.append(Entry(asked.name, part.name, part.label, UNREADABLE, str(bad)))
        else:
            found.append(Entry(asked.name, part.name, part.label, READ, f"Read as {part.form.say(value)}."))
    return tuple(found)


def _written(notebook: Mapping[str, Any]) -> Iterator[Entry]:
    for cell in notebook["cells"]:
        if cell["cell_type"] == "markdown" and _about(cell).get("solution") and _about(cell).get("grade"):
            text = _source(cell).strip()
            state = EMPTY if text in ("", EMPTY_WRITTEN) else READ
            yield Entry("", str(_about(cell).get("grade_id")), "The written answer", state, "Nothing written yet.")


def _sources(notebook: Mapping[str, Any]) -> dict[str, str]:
    return {
        str(_about(cell).get("grade_id")): _source(cell) for cell in notebook["cells"] if _about(cell).get("solution")
    }


def _about(cell: Mapping[str, Any]) -> Mapping[str, Any]:
    about = cell.get("metadata", {}).get("nbgrader", {})
    return about if isinstance(about, Mapping) else {}


def _source(cell: Mapping[str, Any]) -> str:
    source = cell.get("source", "")
    return source if isinstance(source, str) else "".join(source)
