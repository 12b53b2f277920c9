"""Reading a data file against the fields it must have: every fault with its line, and nothing half-loaded.

A file is a TOML table. Its fields are declared with `Field`; a field may itself be a table, a list, or a list of
tables. `load` gives the checked values, or raises one `BadEntry` that lists all faults, one sentence and one line each.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from importlib.resources.abc import Traversable
from pathlib import Path
from reprlib import repr as shortened
from typing import Any

from refinishlib.entry import BadEntry, number, one_of

Place = tuple[str | int, ...]
Faults = Iterable[tuple[Place, str]]
Check = Callable[[dict[str, Any]], Faults]

UNREADABLE = "\ufffd"  # stands for a value that was refused already, so that it is not reported as missing too
MOST_SYNTAX_FAULTS = 20
LONGEST_NUMBER = 1000

SOURCES = {
    "MOST_SYNTAX_FAULTS": "teaching value: a file with more is no file of ours",
    "LONGEST_NUMBER": "teaching value: digits that no quantity has",
}


@dataclass(frozen=True)
class Field:
    """One field that a table may have.

    name : the key
    kind : float (whole numbers are fine), int, str or bool
    low, high, above_low, unit : the allowed range of a number, as in `refinishlib.entry.number`
    choices : the words that are allowed, if not any
    fields : the field is a table with these fields, instead of a plain value
    row : the field is a list with one value for each of these fields, in this order, instead of a plain value
    many : the field is a list of such values, rows or tables (`[[name]]`)
    optional : the field may be left out; then it is left out of what `load` gives
    unique : no two tables of one list may have the same value here
    """

    name: str
    kind: type = float
    low: float = -math.inf
    high: float = math.inf
    above_low: bool = False
    unit: str = ""
    choices: tuple[str, ...] = ()
    fields: tuple[Field, ...] = ()
    row: tuple[Field, ...] = ()
    many: bool = False
    optional: bool = False
    unique: bool = False


def load(path: Path | Traversable, fields: Sequence[Field], *, also: Check | None = None) -> dict[str, Any]:
    """The values of a data file; see `read`. A byte order mark in front is allowed, another encoding than UTF-8 is not.

    Raises
    ------
    BadEntry : as `read`; a file that cannot be opened, or is no UTF-8, with the line of its first foreign letter
    """
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise BadEntry(f"{path.name}: cannot be read, {error.strerror or error}.") from None
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise BadEntry(
            f"{path.name}, line {line}: a foreign encoding was given, allowed is text saved as UTF-8."
        ) from None
    return read(text, fields, file=path.name, also=also)


def read(
    text: str,
    fields: Sequence[Field],
    *,
    file: str = "the text",
    also: Check | None = None,
) -> dict[str, Any]:
    """The values of a TOML text, if it has exactly the declared fields.

    Parameters
    ----------
    text : TOML
    fields : what the text must have, on its top level
    file : the name to say in a fault
    also : further rules, between fields; gives places such as ("product", 0, "name") with what is wrong there. Fields
        that are faulty by themselves are left out of what it is given, and then it may fail on them

    Returns
    -------
    the values as plain dicts, lists, str, float, int and bool

    Raises
    ------
    BadEntry : one line for each fault: missing field, unknown field, wrong type, out of range, given twice, not TOML

    >>> tin = (Field("name", str, unique=True), Field("litres", low=0, above_low=True, high=20, unit="L"))
    >>> read('[[tin]]\\nname = "white"\\nlitres = 4', [Field("tin", many=True, fields=tin)])
    {'tin': [{'name': 'white', 'litres': 4.0}]}
    >>> read('[[tin]]\\nname = "white"\\nlitres = -4\\nshelf = 2', [Field("tin", many=True, fields=tin)])
    Traceback (most recent call last):
        ...
    refinishlib.entry.BadEntry: the text, line 3, tin "white": litres: -4 was given, allowed is a number above 0 ...
    the text, line 4, tin "white": shelf is not a known field, allowed are name, litres.
    """
    data, broken, mended = _parse(text)
    found = list(broken)
    lines = _lines(mended)
    values: dict[str, Any] = {}
    faults = [] if data is None else list(_table(data, tuple(fields), (), values))
    if also:
        # a table is not called incomplete for a field that was refused already
        refused = {place[:-1] for place, _ in faults}
        between = _between(also, values, strict=not faults and not broken)
        faults += [(place, sentence) for place, sentence in between if place not in refused]
    for place, sentence in faults:
        found.append((_line(lines, place), _who(data, place) + sentence))
    if found:
        raise BadEntry("\n".join(f"{file}, line {line}{sentence}" for line, sentence in sorted(found)))
    return values


def _between(
    also: Callable[[dict[str, Any]], Faults], values: dict[str, Any], *, strict: bool
) -> list[tuple[Place, str]]:
    """Faults between fields. Where some fields are faulty and left out, what can still be asked is asked."""
    found: list[tuple[Place, str]] = []
    try:
        for fault in also(values):  # one by one: what was found before it failed is kept
            found.append(fault)
    except (KeyError, IndexError, TypeError, AttributeError, ValueError):
        if strict:
            raise
    return found


def _table(data: Any, fields: tuple[Field, ...], place: Place, into: dict[str, Any]) -> Iterator[tuple[Place, str]]:
    known = ", ".join(field.name for field in fields)
    if not isinstance(data, dict):
        if data != UNREADABLE:
            yield place, f"{place[-1]}: {shortened(data)} was given, allowed is a table with {known}."
        return
    for name in data.keys() - {field.name for field in fields}:
        if not name.startswith(UNREADABLE):
            yield (*place, name), f"{name} is not a known field, allowed are {known}."
    for field in fields:
        if field.name in data:
            yield from _field(data[field.name], field, (*place, field.name), into)
        elif not field.optional:
            yield place, f"{field.name} is missing."


def _field(data: Any, field: Field, place: Place, into: dict[str, Any]) -> Iterator[tuple[Place, str]]:
    if not field.many:
        yield from _one(data, field, place, into)
        return
    if not isinstance(data, list):
        if data != UNREADABLE:
            yield place, f"{field.name}: {shortened(data)} was given, allowed is a list."
        return
    into[field.name] = []
    for index, item in enumerate(data):
        holder: dict[str, Any] = {}
        yield from _one(item, field, (*place, index), holder)
        into[field.name] += holder.values()
    for inner in field.fields:
        if inner.unique:
            yield from _twice(data, inner.name, place)


def _one(data: Any, field: Field, place: Place, into: dict[str, Any]) -> Iterator[tuple[Place, str]]:
    if field.fields:
        into[field.name] = {}
        yield from _table(data, field.fields, place, into[field.name])
    elif field.row:
        wanted = ", ".join(inner.name for inner in field.row)
        if not isinstance(data, list) or len(data) != len(field.row):
            if data != UNREADABLE:
                yield place, f"{field.name}: {shortened(data)} was given, allowed is a list of {wanted}."
            return
        holder: dict[str, Any] = {}
        for inner, item in zip(field.row, data, strict=True):
            yield from _one(item, inner, place, holder)
        into[field.name] = tuple(holder.values())
    elif data != UNREADABLE:
        try:
            into[field.name] = _plain(data, field)
        except BadEntry as fault:
            yield place, str(fault)


def _plain(data: Any, field: Field) -> Any:
    if field.kind in (float, int):
        value = number(field.name, data, low=field.low, high=field.high, unit=field.unit, above_low=field.above_low)
        if field.kind is float:
            return value
        if value != int(value):
            raise BadEntry(f"{field.name}: {value:g} was given, allowed is a whole number.")
        return int(value)
    if not isinstance(data, field.kind):
        word = {str: "a text", bool: "true or false"}[field.kind]
        raise BadEntry(f"{field.name}: {shortened(data)} was given, allowed is {word}.")
    if data == "":
        raise BadEntry(f"{field.name}: an empty text was given, allowed is a text.")
    return one_of(field.name, data, field.choices) if field.choices else data


def _twice(data: list[Any], name: str, place: Place) -> Iterator[tuple[Place, str]]:
    seen: set[Any] = set()
    for index, item in enumerate(data):
        value = item.get(name) if isinstance(item, dict) else None
        if isinstance(value, str | int | float):
            if value in seen and value != UNREADABLE:
                yield (*place, index, name), f"{name}: {value!r} was given twice, allowed is once."
            seen.add(value)


def _who(data: Any, place: Place) -> str:
    """The nearest table with a name that the place lies in, to be said in the sentence."""
    who = ""
    for depth, step in enumerate(place):
        try:
            data = data[step]
        except (KeyError, IndexError, TypeError):
            break
        name = data.get("name") if isinstance(data, dict) else None
        if isinstance(name, str) and name != UNREADABLE:
            what = next((str(s) for s in reversed(place[: depth + 1]) if isinstance(s, str)), "")
            who = f', {what} "{name}"'
    return who + ": "


# --- lines -----------------------------------------------------------------------------------------------------------

_KEY = r"""(?:[A-Za-z0-9_-]+|"(?:\\.|[^"\\\n])*"|'[^'\n]*')"""
_KEYS = rf"{_KEY}(?:\s*\.\s*{_KEY})*"
_HEADER = re.compile(rf"\s*(\[\[?)\s*({_KEYS})\s*\]")
_LONG_NUMBER = re.compile(rf"\d[\d_]{{{LONGEST_NUMBER},}}")
_ASSIGNED = re.compile(rf"\s*({_KEYS})\s*=")
_TOKEN = re.compile(
    r'"""(?:\\.|[^\\])*?"""' r"|'''.*?'''" r'|"(?:\\.|[^"\\\n])*"' r"|'[^'\n]*'" r"|\#[^\n]*|[\[\]{}]|\n", re.DOTALL
)


def _parse(text: str) -> tuple[dict[str, Any] | None, list[tuple[int, str]], str]:
    """The parsed text, its syntax faults, and the text with the faulty lines made harmless so that the rest is read.

    A text with nothing but syntax faults is not worth reading on: then there is no parsed text.
    """
    faults: dict[int, str] = {}
    rows = text.replace("\r\n", "\n").split("\n")
    while True:
        try:
            return tomllib.loads("\n".join(rows)), sorted(faults.items()), "\n".join(rows)
        except RecursionError:
            deepest = max(range(len(rows)), key=lambda row: rows[row].count("[") + rows[row].count("{"))
            return None, [*sorted(faults.items()), (deepest + 1, ": nested too deeply, allowed is a plain table.")], ""
        except ValueError as error:
            line, what = _where(error, rows)
            again = line in faults
            faults.setdefault(line, f": not valid TOML, {what[:1].lower()}{what[1:]}.")
            row = rows[line - 1]
            if not row.strip() or row.startswith("#") or len(faults) > MOST_SYNTAX_FAULTS:
                return None, sorted(faults.items()), ""
            rows[line - 1] = "#" if again else _harmless(row, line)


def _where(error: ValueError, rows: list[str]) -> tuple[int, str]:
    """Line and words of what the parser refused."""
    if not isinstance(error, tomllib.TOMLDecodeError):
        # Python refuses to read a whole number of thousands of digits, and does not say where.
        long = next((line for line, row in enumerate(rows, 1) if _LONG_NUMBER.search(row)), len(rows))
        return long, f"a number of more than {LONGEST_NUMBER} digits"
    where = re.search(r" \(at (?:line (\d+)|end of document).*\)$", str(error))
    line = int(where.group(1)) if where and where.group(1) else len(rows)
    return line, str(error)[: where.start()] if where else str(error)


def _harmless(row: str, line: int) -> str:
    """A row that can be read, in place of one that cannot: an assignment keeps its key, a header opens a table."""
    if key := _ASSIGNED.match(row):
        return f'{key.group(0)} "{UNREADABLE}"'
    return f'["{UNREADABLE}{line}"]' if row.lstrip().startswith("[") else "#"


def _lines(text: str) -> dict[Place, int]:
    """The line of each table and key; values inside a list or an inline table have the line of their key."""
    lines: dict[Place, int] = {(): 1}
    counts: dict[Place, int] = {}
    table: Place = ()
    for line, row in _logical_rows(text):
        if header := _HEADER.match(row):
            *outer, last = _keys(header.group(2))
            table = ()
            for key in outer:
                table = (*table, key)
                table += (counts[table] - 1,) if table in counts else ()
            table = (*table, last)
            if header.group(1) == "[[":
                lines.setdefault(table, line)
                counts[table] = counts.get(table, 0) + 1
                table += (counts[table] - 1,)
            elif table in counts:
                table += (counts[table] - 1,)
            lines.setdefault(table, line)
        elif key_row := _ASSIGNED.match(row):
            place = table
            for key in _keys(key_row.group(1)):
                place = (*place, key)
                lines.setdefault(place, line)
    return lines


def _logical_rows(text: str) -> Iterator[tuple[int, str]]:
    """Rows with the number of their first line; a list or text over several lines is one row."""
    line, first, start, depth = 1, 1, 0, 0
    for token in _TOKEN.finditer(text + "\n"):
        sign = token.group()
        depth += {"[": 1, "{": 1, "]": -1, "}": -1}.get(sign, 0)
        line += sign.count("\n")
        if sign == "\n" and depth <= 0:
            yield first, text[start : token.start()]
            first, start, depth = line, token.end(), 0


def _keys(dotted: str) -> list[str]:
    return [key.strip("\"'") for key in re.findall(_KEY, dotted)]


def _line(lines: dict[Place, int], place: Place) -> int:
    while place not in lines:
        place = place[:-1]
    return lines[place]
