"""The record of a job: what the next painter needs, in one plain file a job.

The format is TOML, UTF-8, one file a job, and `format = "refinish record 1"` stands in it. The keys are those of the
records below, each with its unit in its name; tables that may come several times are `[[correction]]`, `[[coat]]`,
`[[film]]` and `[[end]]`. Numbers have a decimal point. Who approved it may be initials: a person's name need not be
in it. Reading gives the record or one line for each fault; writing and reading give back the same.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

import tomli_w

from refinishlib.entry import BadEntry
from refinishlib.shop.faults import Faults, Field, Place, read
from refinishlib.shop.product import AIR_C, FILM_MAX_UM

FORMAT = "refinish record 1"
LONGEST_TEXT = 300
MOST_COATS = 20
MOST_GRAMS = 20000.0
FILM_ON_VEHICLE_UM = 3000.0
ENDS = ("colour", "clear")

SOURCES = {
    "LONGEST_TEXT": "teaching value: range of an entry",
    "MOST_COATS": "teaching value: range of an entry",
    "MOST_GRAMS": "teaching value: range of an entry",
    "FILM_ON_VEHICLE_UM": "teaching value: range of an entry, more than any paint and filler on a vehicle",
}


@dataclass(frozen=True)
class Tinted:
    """A toner that was added to the variant, grams to so many grams of it."""

    toner: str
    added_g: float
    to_g: float


@dataclass(frozen=True)
class CoatsOf:
    """A product that went on, how many coats, and the dry film of one."""

    product: str
    coats: int
    film_um: float


@dataclass(frozen=True)
class PanelFilm:
    """Gauge readings of a panel when it was done, all layers together, and what the job added on its flat."""

    panel: str
    flat_um: float
    edge_um: float
    added_um: float


@dataclass(frozen=True)
class End:
    """Where colour or clear ends on a panel, in words."""

    panel: str
    what: str
    where: str


@dataclass(frozen=True)
class JobRecord:
    """What the next painter needs.

    date : year-month-day
    vehicle : what the shop calls it
    colour, variant : code or name, and the variant that was sprayed
    undercoat_lightness : CIELAB L* of the ground under the colour
    hardener, reducer : the tins of the clear
    air_c, humidity_percent, panel_c : weather in the booth while the colour was sprayed
    approved_by : who said yes to the sprayed card, initials will do
    """

    date: str
    vehicle: str
    colour: str
    variant: str
    undercoat_lightness: float
    hardener: str
    reducer: str
    air_c: float
    humidity_percent: float
    panel_c: float
    approved_by: str
    correction: tuple[Tinted, ...] = ()
    coat: tuple[CoatsOf, ...] = ()
    film: tuple[PanelFilm, ...] = ()
    end: tuple[End, ...] = ()
    notes: str = ""


_TEXT = ("date", "vehicle", "colour", "variant", "hardener", "reducer", "approved_by")
_TABLES = {"correction": Tinted, "coat": CoatsOf, "film": PanelFilm, "end": End}


def write_record(record: JobRecord) -> str:
    """The record as a text to be kept; `read_record` reads it back.

    Raises
    ------
    BadEntry : a value that the format does not allow, so that nothing is kept that cannot be read again

    >>> record = JobRecord("2026-11-26", "demo 7", "dark red", "b", 40.0, "slow hardener", "normal reducer", 21.0, 52.0,
    ...                    20.5, "MK", end=(End("left rear door", "colour", "a hand short of the handle"),))
    >>> read_record(write_record(record)) == record
    True
    """
    data: dict[str, Any] = {"format": FORMAT} | asdict(record)
    data = {key: value for key, value in data.items() if value != "" or key in _TEXT}
    text = tomli_w.dumps({key: list(value) if isinstance(value, tuple) else value for key, value in data.items()})
    read_record(text, file="the record")
    return text


def read_record(text: str, *, file: str = "the text") -> JobRecord:
    """The record of a job from a text.

    Raises
    ------
    BadEntry : one line for each fault, with its line number

    >>> read_record('format = "refinish record 1"\\ndate = "yesterday"')
    Traceback (most recent call last):
        ...
    refinishlib.entry.BadEntry: the text, line 1: air_c is missing.
    ...
    """
    data = read(text, _fields(), file=file, also=_faults)
    values: dict[str, Any] = {key: value for key, value in data.items() if key != "format"}
    for name, kind in _TABLES.items():
        values[name] = tuple(kind(**row) for row in data.get(name, []))
    return JobRecord(**values)


def _fields() -> tuple[Field, ...]:
    def um(name: str) -> Field:
        return Field(name, low=0, high=FILM_ON_VEHICLE_UM, unit="um")

    correction = (
        Field("toner", str),
        Field("added_g", low=0, high=MOST_GRAMS, unit="g"),
        Field("to_g", low=0, above_low=True, high=MOST_GRAMS, unit="g"),
    )
    coat = (
        Field("product", str),
        Field("coats", int, low=1, high=MOST_COATS),
        Field("film_um", low=0, above_low=True, high=FILM_MAX_UM, unit="um"),
    )
    film = (Field("panel", str), um("flat_um"), um("edge_um"), um("added_um"))
    end = (Field("panel", str), Field("what", str, choices=ENDS), Field("where", str))
    several = {"correction": correction, "coat": coat, "film": film, "end": end}
    return (
        Field("format", str, choices=(FORMAT,)),
        *(Field(name, str) for name in _TEXT),
        Field("undercoat_lightness", low=0, high=100),
        Field("air_c", low=AIR_C[0], high=AIR_C[1], unit="degrees C"),
        Field("humidity_percent", low=0, high=100, unit="%"),
        Field("panel_c", low=AIR_C[0], high=AIR_C[1], unit="degrees C"),
        Field("notes", str, optional=True),
        *(Field(name, fields=fields, many=True, optional=True) for name, fields in several.items()),
    )


def _faults(data: dict[str, Any]) -> Faults:
    if "date" in data and not is_date(data["date"]):
        yield ("date",), f"date: {data['date']!r} was given, allowed is a day such as 2026-11-26."
    yield from _long(data, ())


def _long(data: Any, place: Place) -> Iterator[tuple[Place, str]]:
    if isinstance(data, dict):
        for key, value in data.items():
            yield from _long(value, (*place, key))
    elif isinstance(data, list):
        for index, value in enumerate(data):
            yield from _long(value, (*place, index))
    elif isinstance(data, str):
        try:
            plain_text(str(place[-1]), data)
        except BadEntry as fault:
            yield place, str(fault)


def is_date(text: str) -> bool:
    """Whether a text is a day as year-month-day.

    >>> is_date("2026-11-26"), is_date("26.11.2026")
    (True, False)
    """
    try:
        return datetime.date.fromisoformat(text).isoformat() == text
    except (ValueError, TypeError):
        return False


def plain_text(field: str, text: str) -> str:
    """A text that every program can keep in one line of a table.

    Raises
    ------
    BadEntry : too long, with a line break or another control character, with space around it, or with a first
        character that a spreadsheet takes for a formula

    >>> plain_text("note", "a hand short of the handle")
    'a hand short of the handle'
    """
    if len(text) > LONGEST_TEXT:
        raise BadEntry(f"{field}: {len(text)} characters were given, allowed are up to {LONGEST_TEXT}.")
    if not text.isprintable() or text != text.strip():
        raise BadEntry(f"{field}: {text!r} was given, allowed is a text in one line without space around it.")
    if text[:1] in ("=", "+", "-", "@"):
        raise BadEntry(f"{field}: {text!r} was given, allowed is a text that does not begin with =, +, - or @.")
    return text
