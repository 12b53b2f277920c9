"""What a question asks for: its parts, the form of each answer, and reading what was typed.

Everything here travels with the apprentice's lessons. The right answers do not: an instructor has them in ``solutions/``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from refinishlib import units
from refinishlib.entry import BadEntry, number

LONGEST_TEXT = 200
LONGEST_LIST = 60


class NotAnswered(BadEntry):
    """The answer still is the three dots that the lesson came with."""


@dataclass(frozen=True)
class Number:
    """A number in the unit named, or a text with a unit of the same kind ("1.2 kg")."""

    kind: str
    unit: str
    low: float = 0.0
    high: float = 1e6

    def read(self, field: str, value: Any) -> float:
        if isinstance(value, str):
            value = units.parse(_short(field, value), self.kind, field=field)
        return number(field, value, low=self.low, high=self.high, unit=self.unit)

    @property
    def words(self) -> str:
        return f"a number of {self.unit}"


@dataclass(frozen=True)
class Choice:
    """One word of a few."""

    options: tuple[str, ...]

    def read(self, field: str, value: Any) -> str:
        if not isinstance(value, str):
            raise BadEntry(f"{field}: {_given(value)} was given, allowed is {self.words}.")
        wanted = _plain(_short(field, value))
        for option in self.options:
            if _plain(option) == wanted:
                return option
        raise BadEntry(f"{field}: {_given(value)} was given, allowed is {self.words}.")

    @property
    def words(self) -> str:
        return "one of " + ", ".join(f'"{option}"' for option in self.options)


@dataclass(frozen=True)
class Chosen:
    """Some of a few words, in any order."""

    options: tuple[str, ...]

    def read(self, field: str, value: Any) -> frozenset[str]:
        one = Choice(self.options)
        return frozenset(one.read(field, item) for item in _items(field, value, "a list of words in square brackets"))

    @property
    def words(self) -> str:
        return "a list of some of " + ", ".join(f'"{option}"' for option in self.options)


@dataclass(frozen=True)
class Order:
    """All of a few tasks, each once, in the order of work."""

    tasks: tuple[str, ...]

    def read(self, field: str, value: Any) -> tuple[str, ...]:
        one = Choice(self.tasks)
        given = tuple(one.read(field, item) for item in _items(field, value, "a list in square brackets"))
        missing = [task for task in self.tasks if task not in given]
        twice = [task for task in self.tasks if given.count(task) > 1]
        if missing or twice:
            said = f'"{twice[0]}" stands there twice' if twice else f'"{missing[0]}" is missing'
            raise BadEntry(f"{field}: {said}, allowed is a list with each of the {len(self.tasks)} tasks once.")
        return given

    @property
    def words(self) -> str:
        return "a list of all tasks, each once, in your order"


@dataclass(frozen=True)
class Table:
    """A number for each row, in the rows' order or by the rows' names."""

    rows: tuple[str, ...]
    cell: Number

    def read(self, field: str, value: Any) -> tuple[float, ...]:
        if isinstance(value, dict):
            by_name = {_plain(str(name)): cell for name, cell in value.items()}
            missing = [row for row in self.rows if _plain(row) not in by_name]
            if missing:
                raise BadEntry(f'{field}: no number for "{missing[0]}" was given, allowed is {self.words}.')
            value = [by_name[_plain(row)] for row in self.rows]
        cells = _items(field, value, self.words)
        if len(cells) != len(self.rows):
            raise BadEntry(f"{field}: {len(cells)} numbers were given, allowed is {self.words}.")
        if any(cell is ... for cell in cells):
            raise NotAnswered(f"{field}: not all rows are filled in yet.")
        return tuple(self.cell.read(f"{field}, {row}", cell) for row, cell in zip(self.rows, cells, strict=True))

    @property
    def words(self) -> str:
        return f"a list of {len(self.rows)} numbers in {self.cell.unit}, in pouring order"


Form = Number | Choice | Chosen | Order | Table


@dataclass(frozen=True)
class Part:
    """One name that the apprentice fills in.

    label : what is asked for, in a few words ("grams of this toner alone")
    values : the values that compete for it, by a name each, without saying which is right
    near, near_share : entries this near to a value are taken for it, in the part's unit and as a share of the value;
        the larger one counts
    """

    name: str
    form: Form
    points: float
    label: str = ""
    values: Mapping[str, Any] = field(default_factory=dict)
    near: float = 0.0
    near_share: float = 0.0

    def nearness(self, value: Any) -> float:
        """How near an entry must come to a value, or to a row's value, to be taken for it."""
        numbers = [one for one in (value if isinstance(value, tuple) else (value,)) if isinstance(one, int | float)]
        return max(self.near, self.near_share * max(map(abs, numbers), default=0.0))


@dataclass(frozen=True)
class Question:
    """One graded question as the apprentice sees it.

    text : the question with this apprentice's own numbers, Markdown
    skill : the skill that the class report counts it under
    uses : names of parts of earlier questions whose answers this one is judged by
    """

    name: str
    title: str
    skill: str
    text: str
    parts: tuple[Part, ...]
    uses: tuple[str, ...] = ()

    @property
    def points(self) -> float:
        return float(sum(part.points for part in self.parts))


def read(part: Part, value: Any) -> Any:
    """What was typed for a part, as plain house values.

    Raises
    ------
    NotAnswered : it still is ``...``
    BadEntry : it has another form than the part asks for

    >>> read(Part("total_g", Number("mass", "g"), 2), "1.2 kg")
    1200.0
    """
    if value is ... or value is None:
        raise NotAnswered(f"{part.name}: not answered yet, it takes {part.form.words}.")
    return part.form.read(part.name, value)


def _items(field: str, value: Any, allowed: str) -> list[Any]:
    if isinstance(value, set | frozenset):
        value = sorted(value, key=str)
    if not isinstance(value, list | tuple):
        raise BadEntry(f"{field}: {_given(value)} was given, allowed is {allowed}.")
    if len(value) > LONGEST_LIST:
        raise BadEntry(f"{field}: {len(value)} entries were given, allowed are up to {LONGEST_LIST}.")
    return list(value)


def _short(field: str, text: str) -> str:
    if len(text) > LONGEST_TEXT:
        raise BadEntry(f"{field}: a text of {len(text)} letters was given, allowed are up to {LONGEST_TEXT}.")
    return text


def _given(value: Any) -> str:
    if isinstance(value, str):
        return f'"{value[:40]}"'
    if isinstance(value, bool | int | float):
        return str(value)[:40]
    return f"a {type(value).__name__}"


def _plain(text: str) -> str:
    return " ".join(text.casefold().replace("-", " ").split())
