"""What a question asks for: its parts, the form of each answer, and reading what was typed.

Everything here travels with the apprentice's lessons. The right answers do not: an instructor has them in
``solutions/``. So that nothing here shows them, options and tasks always stand in the alphabet's order.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from refinishlib.course.typed import amount, bare, lists
from refinishlib.entry import BadEntry, number, plain
from refinishlib.units import ON_SCREEN

LONGEST_TEXT = 200
LONGEST_LIST = 60
LONGEST_LISTED = 1_500
# A choice that nobody has to give a reason for has at least so many options.
FEWEST_OPTIONS = 5
REASON = "_reason"

SOURCES = {
    "LONGEST_TEXT": "teaching value: longer text is no short answer",
    "LONGEST_LIST": "teaching value: longer lists are no answer",
    "LONGEST_LISTED": "teaching value: a list of that many letters is no answer",
    "FEWEST_OPTIONS": "teaching value: a guess is right once in five times at most",
    "REASON": "definition",
}


class NotAnswered(BadEntry):
    """The answer still is the three dots that the lesson came with."""


def in_alphabet(words: Iterable[str]) -> tuple[str, ...]:
    """Words in an order that says nothing: the alphabet's, numbers by size.

    >>> in_alphabet(["card 10", "Card 2", "a fade"])
    ('a fade', 'Card 2', 'card 10')
    """
    return tuple(sorted(words, key=lambda word: [(int(t) if t.isdecimal() else 0, t.casefold()) for t in _runs(word)]))


def _runs(word: str) -> list[str]:
    return re.findall(r"\d{1,9}|\D+|\d", word)


@dataclass(frozen=True)
class Number:
    """A number in the unit named, or a text with a unit of the same kind ("1.2 kg")."""

    kind: str
    unit: str
    low: float = 0.0
    high: float = 1e6

    def read(self, field: str, value: Any) -> float:
        if isinstance(value, list | tuple) and len(value) == 1:
            value = value[0]
        if isinstance(value, str):
            text = _short(field, value)
            return amount(field, text, self.kind, unit=self.unit, low=self.low, high=self.high)
        if isinstance(value, list | tuple | dict | set | frozenset):
            raise BadEntry(f"{field}: {_given(value)} was given, type one number{_with_a_point(value)}.")
        return number(field, value, low=self.low, high=self.high, unit=self.unit)

    def say(self, value: float) -> str:
        return f"{plain(value)} {self.symbol}".rstrip()

    @property
    def words(self) -> str:
        return f"a number of {self.symbol}" if self.unit else "a number"

    @property
    def symbol(self) -> str:
        """The unit as it stands on a screen."""
        return ON_SCREEN.get(self.unit, self.unit)


@dataclass(frozen=True)
class Choice:
    """One of a few."""

    options: tuple[str, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "options", in_alphabet(self.options))

    def read(self, field: str, value: Any) -> str:
        return _one_of(field, value, self.options, self.words)

    def say(self, value: str) -> str:
        return f'"{value}"'

    @property
    def words(self) -> str:
        return "one of " + ", ".join(f'"{option}"' for option in self.options)


@dataclass(frozen=True)
class Chosen:
    """Some of a few, in any order."""

    options: tuple[str, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "options", in_alphabet(self.options))

    def read(self, field: str, value: Any) -> frozenset[str]:
        items = _words(field, value, self.options)
        return frozenset(_one_of(field, item, self.options, self.words) for item in items)

    def say(self, value: frozenset[str]) -> str:
        return ", ".join(f'"{word}"' for word in in_alphabet(value)) or "none of them"

    @property
    def words(self) -> str:
        return "some of " + ", ".join(f'"{option}"' for option in self.options)


@dataclass(frozen=True)
class Order:
    """All of a few tasks, each once, in the order of work."""

    tasks: tuple[str, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "tasks", in_alphabet(self.tasks))

    def read(self, field: str, value: Any) -> tuple[str, ...]:
        given = tuple(_one_of(field, item, self.tasks, self.words) for item in _words(field, value, self.tasks))
        twice = [task for task in given if given.count(task) > 1]
        if twice:
            raise BadEntry(f'{field}: "{twice[0]}" stands there twice, type each of the {len(self.tasks)} tasks once.')
        if len(given) < len(self.tasks):
            missing = len(self.tasks) - len(given)
            said = "1 task is" if missing == 1 else f"{missing} tasks are"
            raise BadEntry(f"{field}: {said} missing, type each of the {len(self.tasks)} tasks once.")
        return given

    def say(self, value: tuple[str, ...]) -> str:
        return ", ".join(f'{place} "{task}"' for place, task in enumerate(value, 1))

    @property
    def words(self) -> str:
        return f"all {len(self.tasks)} tasks from the job card, each once, in your order"


@dataclass(frozen=True)
class Table:
    """A number for each row, in the rows' order or by the rows' names.

    rows : the names that stand on this apprentice's job card
    one : what a row is ("toner"); in the form, the same for everyone, row 1 is "toner 1 on your card"
    most : rows that the form shows, where apprentices have different numbers of them; as many as rows if not given
    """

    rows: tuple[str, ...]
    cell: Number
    one: str = "row"
    most: int = 0

    def read(self, field: str, value: Any) -> tuple[float, ...]:
        if isinstance(value, dict):
            value = self._by_name(field, value)
        cells = self._from_text(field, value) if isinstance(value, str) else _items(field, value)
        while len(cells) > len(self.rows) and _empty(cells[-1]):
            cells.pop()
        if cells and all(_empty(cell) for cell in cells):
            raise NotAnswered(f"{field}: not answered yet, it takes {self.words}.")
        if len(cells) != len(self.rows):
            numbers = "1 number was" if len(cells) == 1 else f"{len(cells)} numbers were"
            rows = f"your job card has {len(self.rows)} rows"
            raise BadEntry(f"{field}: {numbers} given, {rows}. Type a point for a decimal comma, a comma between two.")
        for place, cell in enumerate(cells, 1):
            if _empty(cell):
                raise NotAnswered(f"{field}: {self.one} {place} is not filled in yet.")
        return tuple(self.cell.read(f"{field}, {row}", cell) for row, cell in zip(self.rows, cells, strict=True))

    def _from_text(self, field: str, text: str) -> list[Any]:
        """The cells of a text: the surest way to take it apart that gives a number for each row."""
        ways = [self._without_names(way) for way in lists(_short(field, text, LONGEST_LISTED))]
        for way in ways:
            if len(way) == len(self.rows) and all(self._is_read(cell) for cell in way):
                return list(way)
        return list(ways[0])

    def _without_names(self, cells: list[str]) -> list[str]:
        """Cells that may begin with their row's name ("white 12.5 g") without it, in the rows' order."""
        found: dict[str, str] = {}
        for cell in cells:
            for row in self.rows:
                if _plain(cell).startswith(_plain(row) + " ") or _plain(cell).startswith(_plain(row) + ":"):
                    found[row] = cell[len(row) :].strip(" :=")
        return [found[row] for row in self.rows] if len(found) == len(self.rows) == len(cells) else cells

    def _is_read(self, cell: str) -> bool:
        try:
            self.cell.read("", cell)
        except BadEntry:
            return False
        return True

    def _by_name(self, field: str, value: dict[Any, Any]) -> list[Any]:
        by_name = {_plain(str(name)): cell for name, cell in value.items()}
        missing = [row for row in self.rows if _plain(row) not in by_name]
        if missing:
            raise BadEntry(f'{field}: no number for "{missing[0]}" was given, type {self.words}.')
        return [by_name[_plain(row)] for row in self.rows]

    def say(self, value: tuple[float, ...]) -> str:
        return "; ".join(self.cell.say(one) for one in value)

    @property
    def shown(self) -> tuple[str, ...]:
        return tuple(f"{self.one} {place} on your card" for place in range(1, max(self.most, len(self.rows)) + 1))

    @property
    def words(self) -> str:
        return f"a list of {len(self.rows)} numbers in {self.cell.unit}, in the order of your job card"


@dataclass(frozen=True)
class Text:
    """A short text. Capitals and blanks do not count."""

    longest: int = LONGEST_TEXT

    def read(self, field: str, value: Any) -> str:
        if isinstance(value, int | float) and not isinstance(value, bool):
            value = plain(value)
        if not isinstance(value, str):
            raise BadEntry(f"{field}: {_given(value)} was given, type {self.words}.")
        if len(value) > self.longest:
            raise BadEntry(f"{field}: a text of {len(value)} letters was given, type up to {self.longest}.")
        return bare(value)

    def say(self, value: str) -> str:
        return f'"{value}"'

    @property
    def words(self) -> str:
        return "a short text"


Form = Number | Choice | Chosen | Order | Table | Text


@dataclass(frozen=True)
class Part:
    """One field that the apprentice fills in.

    name : its name in the answer cell
    label : its name on the screen, with which every sentence about it begins
    only_with : name of another part of the question; the points count only where that part is right
    values : the values that compete for it, by a name each, without saying which is right
    near, near_share : entries this near to a value are taken for it, in the part's unit and as a share of the value;
        the larger one counts
    """

    name: str
    label: str
    form: Form
    points: float
    only_with: str = ""
    values: Mapping[str, Any] = field(default_factory=dict, hash=False)
    near: float = 0.0
    near_share: float = 0.0

    def nearness(self, value: Any) -> float:
        """How near an entry must come to a value, or to a row's value, to be taken for it."""
        numbers = [one for one in (value if isinstance(value, tuple) else (value,)) if isinstance(one, int | float)]
        return max(self.near, self.near_share * max(map(abs, numbers), default=0.0))


def decision(
    name: str,
    label: str,
    options: Iterable[str],
    reasons: Iterable[str],
    *,
    why: str = "Why",
    points: float = 1,
    reason_points: float = 2,
    values: Mapping[str, str] | None = None,
) -> tuple[Part, Part]:
    """A decision and its reason, as two parts of a question: ``name`` and ``name_reason``.

    The reason counts only with the right decision. A decision of two options counts only with its reason.

    Parameters
    ----------
    name, label : of the decision
    options : what can be decided, two or more
    reasons : usually four, three of which belong to known mistakes
    why : label of the reason
    values : the options that compete, by the way that somebody comes to each

    >>> [part.only_with for part in decision("join", "Join or blend?", ("join", "blend"), ("the flop", "the gloss"))]
    ['join_reason', 'join']
    """
    offered = Choice(tuple(options))
    needs = name + REASON if len(offered.options) == 2 else ""
    return (
        Part(name, label, offered, points, needs, values or {}),
        Part(name + REASON, why, Choice(tuple(reasons)), reason_points, name),
    )


@dataclass(frozen=True)
class Question:
    """One graded question as the apprentice sees it.

    text : the question with this apprentice's own numbers, HTML
    skill : the skill that the class report counts it under
    uses : names of parts of earlier questions whose answers this one is judged by

    Raises
    ------
    ValueError : a question that pays for guessing: a choice of fewer than five options without a reason
    """

    name: str
    title: str
    skill: str
    text: str
    parts: tuple[Part, ...]
    uses: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        names = [part.name for part in self.parts]
        reasons = {part.only_with: part for part in self.parts if part.name == part.only_with + REASON}
        for part in self.parts:
            where = f"question {self.name}, {part.name}"
            if not part.label or not part.name.isidentifier():
                raise ValueError(f"{where}: a part needs a label, and a name that can stand before an = sign")
            if names.count(part.name) > 1 or (part.only_with and part.only_with not in names):
                raise ValueError(f"{where}: names a part that is not there, or is there twice")
            if not isinstance(part.form, Choice) or part.name.endswith(REASON):
                continue
            options = len(part.form.options)
            if options < FEWEST_OPTIONS and part.name not in reasons:
                raise ValueError(f"{where}: a choice of fewer than {FEWEST_OPTIONS} options needs a reason")
            if options == 2 and part.only_with != part.name + REASON:
                raise ValueError(f"{where}: a decision of two options counts only with its reason")

    @property
    def points(self) -> float:
        return float(sum(part.points for part in self.parts))


def fields(question: Question) -> list[dict[str, Any]]:
    """The fields of a question's answer form, as plain data for the answer cell's ``metadata.refinish.answer``.

    The same for every apprentice, and nothing in it hints at an answer. Each has ``kind``, ``name`` and ``label``; a
    reason has the name of its decision in ``reason_for``.

    >>> fields(Question("1", "", "", "", (Part("own_g", "Own weight", Number("mass", "g"), 3),)))
    [{'kind': 'number', 'name': 'own_g', 'label': 'Own weight', 'unit': 'g'}]
    """
    return [_field(part) for part in question.parts]


def _field(part: Part) -> dict[str, Any]:
    match part.form:
        case Number(symbol=unit):
            about: dict[str, Any] = {"kind": "number", "unit": unit}
        case Choice(options=options):
            about = {"kind": "choice", "options": list(options)}
        case Chosen(options=options):
            about = {"kind": "chosen", "options": list(options)}
        case Order(tasks=tasks):
            about = {"kind": "order", "tasks": list(tasks)}
        case Table(cell=cell, shown=shown):
            about = {"kind": "table", "rows": list(shown), "unit": cell.symbol}
        case Text(longest=longest):
            about = {"kind": "text", "longest": longest}
    if part.name == part.only_with + REASON:
        about["reason_for"] = part.only_with
    return {"kind": about.pop("kind"), "name": part.name, "label": part.label, **about}


def read(part: Part, value: Any) -> Any:
    """What was typed for a part, as plain house values.

    Raises
    ------
    NotAnswered : it is empty, or still is ``...``
    BadEntry : it has another form than the part asks for

    >>> read(Part("total_g", "Whole mix", Number("mass", "g"), 2), "1.2 kg")
    1200.0
    """
    if _empty(value):
        raise NotAnswered(f"{part.label}: not answered yet, it takes {part.form.words}.")
    return part.form.read(part.label, value)


_SHORT_FOR = {"yes": ("y", "true"), "no": ("n", "false")}


def _one_of(field: str, value: Any, options: tuple[str, ...], allowed: str) -> str:
    if isinstance(value, list | tuple) and len(value) == 1:
        value = value[0]
    words = plain(value) if isinstance(value, int | float) and not isinstance(value, bool) else value
    if isinstance(words, str | bool):
        wanted = _plain(_short(field, str(words)))
        for option in options:
            if wanted in (_plain(option), *_SHORT_FOR.get(_plain(option), ())):
                return option
    raise BadEntry(f"{field}: {_given(value)} was given, type {allowed}.")


def _words(field: str, value: Any, options: tuple[str, ...]) -> list[Any]:
    """The items of a list of options, however they are parted in a text."""
    if not isinstance(value, str):
        return _items(field, value)
    ways = list(lists(_short(field, value, LONGEST_LISTED)))
    known = {_plain(option) for option in options}
    sure = next((way for way in ways if all(_plain(word) in known for word in way)), None)
    return _items(field, sure or _in_a_row(_plain(value), options) or ways[0])


def _in_a_row(text: str, options: tuple[str, ...]) -> list[str]:
    """Options with nothing or an "and" between them; empty where the text is anything else."""
    found: list[str] = []
    longest_first = sorted(options, key=len, reverse=True)
    while text:
        option = next((one for one in longest_first if text.startswith(_plain(one))), None)
        if option is None:
            return []
        found.append(option)
        text = text.removeprefix(_plain(option)).lstrip(" ,;").removeprefix("and ").removeprefix("& ")
    return found


def _items(field: str, value: Any) -> list[Any]:
    if isinstance(value, set | frozenset):
        value = sorted(value, key=str)
    if not isinstance(value, list | tuple):
        value = [value]
    if len(value) > LONGEST_LIST:
        raise BadEntry(f"{field}: {len(value)} entries were given, type up to {LONGEST_LIST}.")
    return list(value)


def _with_a_point(value: Any) -> str:
    """How to type what Python takes for two numbers: 34.2 for 34, 2."""
    two = isinstance(value, list | tuple) and len(value) == 2 and all(type(one) is int and one >= 0 for one in value)
    return f", such as {plain(value[0])}.{plain(value[1])}" if two else ""


def _empty(value: Any) -> bool:
    return value is ... or value is None or (isinstance(value, str) and not value.strip())


def _short(field: str, text: str, most: int = LONGEST_TEXT) -> str:
    if len(text) > most:
        raise BadEntry(f"{field}: a text of {len(text)} letters was given, type up to {most}.")
    return text


def _given(value: Any) -> str:
    if isinstance(value, str):
        return f'"{value[:40]}"'
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return plain(value)[:40]
    if isinstance(value, list | tuple | set | frozenset):
        return f"a list of {len(value)}"
    return "a table" if isinstance(value, dict) else "something else"


def _plain(text: str) -> str:
    return " ".join(bare(text).casefold().replace("’", "'").replace("-", " ").split())
