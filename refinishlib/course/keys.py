"""Right answers and known mistakes: what a lesson's key says, and where keys are found.

A key is a plain file, ``solutions/<lesson>_key.py`` in the course's folder. It is no part of the library, so an
installation without the course's solutions has none. It is read by its path and never compiled to a file: a folder
``__pycache__`` among the solutions would be listed as a lesson.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from types import ModuleType
from typing import Any

from refinishlib.course import apprentice, lessons
from refinishlib.course.folder import course_folder
from refinishlib.course.key import Before, Mistake, PartKey
from refinishlib.course.question import Part, read
from refinishlib.entry import BadEntry, one_of

COURSE_IN = "REFINISH_COURSE"


@dataclass(frozen=True)
class Known:
    """A known mistake: its name for the class report, what it still earns, and a sentence that helps."""

    name: str
    points: float
    sentence: str


@dataclass(frozen=True)
class Right:
    """What a key says about one part.

    right : the name of the right one among the part's competing values; the value itself where none compete
    mistakes : for the other values, by their names or as themselves, the mistake that leads to each
    tolerance : largest difference from a right number that still is right; left out, the part's own nearness
    rules : of an order, what must come before what
    also : other answers that are as right as the first
    values : in place of the part's values, where they hang on earlier answers
    """

    right: Any
    mistakes: Mapping[str, Known] = field(default_factory=dict)
    tolerance: float | None = None
    rules: tuple[Before, ...] = ()
    also: tuple[Any, ...] = ()
    values: Mapping[str, Any] | None = None


Key = Mapping[str, Mapping[str, Right]]


class Earlier(Mapping[str, Any]):
    """The answers of earlier questions as plain house values, by the names of their parts.

    Only what could be read is in it. ``value`` takes the world's own value in place of what could not, and notes that
    it did, so that one slip costs one mark and the verdict can say so.
    """

    def __init__(self, given: Mapping[str, Any] | None = None):
        self._given = dict(given or {})
        self.instead: list[str] = []

    def __getitem__(self, name: str) -> Any:
        return self._given[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._given)

    def __len__(self) -> int:
        return len(self._given)

    def value(self, name: str, own: Any) -> Any:
        """The earlier answer, or the world's own value.

        >>> earlier = Earlier({"grey_l": 40.0})
        >>> earlier.value("grey_l", 62.0), earlier.value("coats", 3), earlier.instead
        (40.0, 3, ['coats'])
        """
        if name in self._given:
            return self._given[name]
        self.instead.append(name)
        return own


@dataclass(frozen=True)
class Judged:
    """The key of one question for one apprentice, and which earlier answers it could not use."""

    parts: dict[str, PartKey]
    instead: tuple[str, ...]


def key(lesson: str, whose: str) -> dict[str, dict[str, PartKey]]:
    """The key of a lesson for one apprentice: for each question, for each part, its right answer and mistakes.

    Raises
    ------
    BadEntry : an unknown lesson, no key here, or a key that does not fit the lesson's questions
    """
    return _resolved(written(lesson), lesson, whose, ())[0]


def key_to(lesson: str, name: str, whose: str, typed: Mapping[str, Any]) -> Judged:
    """The key of one question, from the earlier answers as they were typed.

    Parameters
    ----------
    typed : what was typed for the earlier parts that the question uses, by their names; the three dots, or what
        cannot be read, counts as missing
    """
    uses = lessons.question(lesson, name, whose).uses
    earlier = readable(lesson, whose, {part: typed.get(part, ...) for part in uses})
    parts, instead = _resolved(written(lesson), lesson, whose, tuple(sorted(earlier.items())))
    return Judged(parts[name], tuple(part for part in uses if part in instead))


def readable(lesson: str, whose: str, typed: Mapping[str, Any]) -> dict[str, Any]:
    """Of what was typed, all that can be read as an answer to the part of that name."""
    parts = {part.name: part for question in lessons.questions(lesson, whose).values() for part in question.parts}
    found = {}
    for name, value in typed.items():
        try:
            found[name] = read(parts[one_of("earlier answer", name, parts)], value)
        except BadEntry:
            if name not in parts:
                raise
    return found


def right(lesson: str, name: str, my_id: Any) -> dict[str, Any]:
    """The right answers to one question, by the part's name, in the form in which they are typed."""
    parts = key(lesson, apprentice.current(my_id))[name]
    return {part: list(one.right) if isinstance(one.right, tuple) else one.right for part, one in parts.items()}


@lru_cache(maxsize=256)
def _resolved(
    file: tuple[Path, int], lesson: str, whose: str, earlier: tuple[tuple[str, Any], ...]
) -> tuple[dict[str, dict[str, PartKey]], tuple[str, ...]]:
    noting = Earlier(dict(earlier))
    path = file[0]
    said: Key = _key_of(*file)(lessons.job(lesson, whose), noting)
    asked = lessons.questions(lesson, whose)
    if list(said) != list(asked):
        raise BadEntry(f"{path.name}: {', '.join(said)} were given, allowed are the questions {', '.join(asked)}.")
    found = {}
    for name, question in asked.items():
        where = f"{path.name}, {name}"
        if set(said[name]) != {part.name for part in question.parts}:
            wanted = ", ".join(part.name for part in question.parts)
            raise BadEntry(f"{where}: {', '.join(said[name])} were given, allowed are {wanted}.")
        found[name] = {
            part.name: _part_key(f"{where}, {part.name}", part, said[name][part.name]) for part in question.parts
        }
    return found, tuple(noting.instead)


def _part_key(where: str, part: Part, said: Right) -> PartKey:
    values = part.values if said.values is None else said.values

    def value_of(name: Any) -> Any:
        return values[one_of(where, name, values)] if values else name

    value = value_of(said.right)
    known = tuple(Mistake(one.name, value_of(name), one.points, one.sentence) for name, one in said.mistakes.items())
    tolerance = part.nearness(value) if said.tolerance is None else said.tolerance
    return PartKey(value, tolerance, known, said.rules, said.also)


def key_folder() -> Path:
    """Where keys are looked for: the solutions of the course that is graded, or of the course we are in."""
    return Path(os.environ.get(COURSE_IN) or course_folder()) / "solutions"


def written(lesson: str) -> tuple[Path, int]:
    """Where a lesson's key lies, and when it was written: one that was edited counts at once."""
    path = key_folder() / f"{lessons.record(lesson).name}_key.py"
    try:
        return path, path.stat().st_mtime_ns
    except OSError:
        raise BadEntry(
            f"There is no key of the lesson {lesson} here: {path} is missing. Keys are the instructor's; a course from "
            "before keys lay there is brought up to date with: refinish upgrade."
        ) from None


@lru_cache(maxsize=64)
def _key_of(path: Path, written_ns: int) -> Callable[[Any, Earlier], Key]:
    module = ModuleType(f"refinish_{path.stem}")
    module.__file__ = str(path)
    sys.modules[module.__name__] = module  # a dataclass in a key looks for its module
    exec(compile(path.read_bytes(), str(path), "exec"), module.__dict__)
    found: Callable[[Any, Earlier], Key] = module.__dict__["key"]
    return found
