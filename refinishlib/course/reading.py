"""What was read of an answer cell, in words: one line for each field. No kernel, no Jupyter, nothing is ever run.

The check in the notebook, *Check my entry* of the answer form and the grader say the same, because all ask here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from refinishlib.course.answers import CellRead, assigned_names, read_cell
from refinishlib.course.question import NotAnswered, Part, read
from refinishlib.entry import BadEntry

READ, NOT_ANSWERED, CANNOT_BE_READ = "read", "not answered", "cannot be read"


@dataclass(frozen=True)
class Said:
    """What is said about one field.

    name, label : of the part
    state : "read", "not answered" or "cannot be read"
    sentence : what was read, or what cannot be read and the cure
    """

    name: str
    label: str
    state: str
    sentence: str


def what_was_read(
    parts: Sequence[Part], text: str, earlier: Mapping[str, Any] | None = None, lost: Iterable[str] = ()
) -> tuple[Said, ...]:
    """For each part of a question, what its answer cell says.

    Parameters
    ----------
    parts : of the question
    text : the answer cell as it stands
    earlier : answers of the cells above, by name
    lost : names that an unreadable cell of the apprentice's own would have given

    Says nothing about right or wrong. Never raises for anything that was typed.

    >>> from refinishlib.course.question import Number
    >>> part = Part("own_g", "Own weight", Number("mass", "g"), 3)
    >>> what_was_read((part,), "own_g = 34,2")[0].sentence
    'Own weight: read as 34.2 g.'
    >>> what_was_read((part,), "own_g = 1/0")[0].sentence
    'Own weight: This line divides by zero. Look at the number below the line of the fraction.'
    """
    reading = read_cell(text, earlier, lost)
    return tuple(said(part, reading.values.get(part.name, ...), slip_of(part.name, reading, text)) for part in parts)


def slip_of(name: str, reading: CellRead, text: str) -> str:
    """Why a name got no value from a cell; empty when it got one, or the cell says nothing about it."""
    if name in reading.slips:
        return reading.slips[name]
    if name in reading.values or not reading.problem:
        return ""
    return reading.sentence if not reading.slips or name not in assigned_names(text) else ""


def said(part: Part, value: Any, slip: str = "") -> Said:
    """What is said about one part, given the value that was read, or why none could be read."""
    if slip:
        return Said(part.name, part.label, CANNOT_BE_READ, f"{part.label}: {slip}")
    try:
        sentence = f"{part.label}: read as {part.form.say(read(part, value))}."
    except NotAnswered as entry:
        return Said(part.name, part.label, NOT_ANSWERED, str(entry))
    except BadEntry as entry:
        return Said(part.name, part.label, CANNOT_BE_READ, str(entry))
    return Said(part.name, part.label, READ, sentence)
