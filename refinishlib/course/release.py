"""What a lesson was handed out as: its version, its world, the library, and digests of its job cards and its marks.

The builder writes it into the notebook's metadata, so that the released lesson and every hand-in carry it. The digests
are taken from the values themselves, for a few ids that nobody has: they stay the same however the library was
changed, as long as no job card and no right answer becomes another one.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from functools import cache
from typing import Any

import refinishlib
from refinishlib.course import keys, lessons
from refinishlib.course.key import PartKey
from refinishlib.course.question import fields
from refinishlib.entry import BadEntry

PROBES = tuple(f"probe {number}" for number in range(12))
DIGITS = 16
# A notebook that says nothing was made before lessons had versions.
FIRST = 1

SOURCES = {
    "DIGITS": "definition: 64 bits tell any two releases apart",
    "FIRST": "definition: the version of lessons that were handed out before lessons had one",
}


@dataclass(frozen=True)
class Release:
    """What stands in a notebook's ``metadata.refinish``.

    version, world : of the lesson, from its record
    library : version of refinishlib that built it
    cards, marks : digests of what is asked, and of which answer earns what
    """

    lesson: str
    version: int
    world: int
    library: str
    cards: str
    marks: str

    def __str__(self) -> str:
        return f"{self.lesson} {self.version} (world {self.world}, library {self.library})"


def release(lesson: str) -> Release:
    """What the lesson is now, with the key that lies in the course's folder.

    Raises
    ------
    BadEntry : an unknown lesson, or no key here
    """
    record = lessons.record(lesson)
    asked = [lessons.questions(lesson, whose) for whose in PROBES]
    cards = [[(q.name, q.title, q.text, fields(q)) for q in one.values()] for one in asked]
    marks = [marks_of(lesson, whose) for whose in PROBES]
    return Release(lesson, record.version, record.world, refinishlib.__version__, digest(cards), digest(marks))


def stated(metadata: Mapping[str, Any]) -> Release | None:
    """What a notebook says that it is; None where it says nothing, or nothing that can be read."""
    said = metadata.get("refinish")
    if not isinstance(said, Mapping):
        return None
    found = {name: said.get(name) for name in Release.__dataclass_fields__}
    whole = ("version", "world")
    if any(not isinstance(value, int if name in whole else str) for name, value in found.items()):
        return None
    return Release(**found)  # type: ignore[arg-type]


def marks_of(lesson: str, whose: str) -> Any:
    """All that decides the marks of one apprentice, as plain data: points, right values, known mistakes."""
    key = keys.key(lesson, whose)
    return [
        [name, part.name, part.points, part.only_with, question.uses, _what_earns(key[name][part.name])]
        for name, question in lessons.questions(lesson, whose).items()
        for part in question.parts
    ]


def _what_earns(one: PartKey) -> list[Any]:
    known = [(mistake.value, mistake.points) for mistake in one.mistakes]
    return [one.right, one.also, one.tolerance, known, [(rule.first, rule.then, rule.points) for rule in one.rules]]


def metadata(one: Release) -> dict[str, Any]:
    """A release as a notebook carries it."""
    return asdict(one)


def digest(value: Any) -> str:
    """A short digest of plain data in which numbers count to six figures, the same on every machine.

    >>> digest([0.1 + 0.2, "yes"]) == digest([0.3, "yes"]), digest([0.3]) == digest([0.3001])
    (True, False)
    """
    text = json.dumps(_plain(value), sort_keys=True, ensure_ascii=True)
    return hashlib.sha256(text.encode()).hexdigest()[:DIGITS]


def _plain(value: Any) -> Any:
    if isinstance(value, bool) or value is None or isinstance(value, str):
        return value
    if isinstance(value, int | float):
        return f"{float(value):.6g}"
    if isinstance(value, Mapping):
        return {str(name): _plain(one) for name, one in value.items()}
    if isinstance(value, frozenset | set):
        return sorted(json.dumps(_plain(one)) for one in value)
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    raise BadEntry(f"release: a {type(value).__name__} was given, allowed are plain values.")


@cache
def known(lesson: str) -> Release:
    """As `release`, worked out once."""
    return release(lesson)
