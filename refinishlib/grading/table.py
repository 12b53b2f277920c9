"""Tables as a school keeps them: CSV out of any spreadsheet, read and written the same way everywhere."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from refinishlib.entry import BadEntry

LARGEST_TABLE = 2_000_000


def read_table(path: Path, columns: Sequence[str], needed: Sequence[str] = ()) -> list[dict[str, str]]:
    """The rows of a CSV file, each with all the columns asked for; "" where the file has none.

    Parameters
    ----------
    path : a CSV file with commas, semicolons or tabs, in UTF-8, UTF-16 or the Western code page of old spreadsheets
    columns : the columns' names, in the order that a file without a heading has them
    needed : those that may not be missing from the heading

    Capitals, blanks and underscores in the heading do not matter, nor does the order of its columns.

    Raises
    ------
    BadEntry : no such file, not a text, or a heading without a column that is needed
    """
    text = _text(path)
    first = text.split("\n", 1)[0]
    delimiter = max(",;\t", key=first.count)
    try:
        rows = [[cell.strip() for cell in row] for row in csv.reader(io.StringIO(text), delimiter=delimiter)]
    except csv.Error:
        raise BadEntry(f"{path.name}: a table that cannot be read was given, allowed is a CSV file.") from None
    rows = [row for row in rows if any(row)]
    if not rows:
        return []
    heading = [_plain(cell) for cell in rows[0]]
    if columns[0] in heading:
        rows = rows[1:]
        missing = [name for name in needed if name not in heading]
        if missing:
            raise BadEntry(f'{path.name}: the heading has no column "{missing[0]}", allowed is {", ".join(columns)}.')
    else:
        heading = list(columns)
    places = {name: heading.index(name) for name in columns if name in heading}
    return [
        {name: row[places[name]] if name in places and places[name] < len(row) else "" for name in columns}
        for row in rows
    ]


def write_table(path: Path, columns: Sequence[str], rows: Iterable[Mapping[str, object]]) -> None:
    """Write a CSV file that any spreadsheet opens, whole or not at all."""
    fresh = path.with_name(f".{path.name}.fresh")
    with fresh.open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.DictWriter(file, list(columns), extrasaction="ignore")
        writer.writeheader()
        writer.writerows({name: harmless(row.get(name, "")) for name in columns} for row in rows)
    fresh.replace(path)


def harmless(value: object) -> object:
    """A text that no spreadsheet takes for a formula.

    >>> harmless("=1+1"), harmless("a07"), harmless(-2.5)
    ("'=1+1", 'a07', -2.5)
    """
    return f"'{value}" if isinstance(value, str) and value[:1] in ("=", "+", "-", "@", "\t", "\r") else value


def _text(path: Path) -> str:
    try:
        if path.stat().st_size > LARGEST_TABLE:
            raise BadEntry(f"{path.name}: {path.stat().st_size / 1e6:.0f} MB were given, allowed are 2 MB.")
        raw = path.read_bytes()
    except OSError:
        raise BadEntry(f"table: {path} was given, allowed is a CSV file that is there and can be read.") from None
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return raw.decode("utf-16", errors="replace")
    if b"\0" in raw:
        raise BadEntry(f"{path.name}: not a text was given, allowed is a CSV file; save the table as CSV.")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return raw.decode("cp1252", errors="replace")


def _plain(name: str) -> str:
    return " ".join(name.casefold().replace("_", " ").split())
