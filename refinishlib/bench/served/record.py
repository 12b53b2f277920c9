"""From what a job carries, as text, to the record that the next painter needs."""

from __future__ import annotations

import datetime
from collections.abc import Mapping

from refinishlib.entry import BadEntry
from refinishlib.job.record import End, JobRecord, write_record
from refinishlib.units import parse

# What the record needs of the job, in the words of the page, and of what kind it is; "" is text as it stands.
NEEDED = {
    "vehicle": ("Vehicle", ""),
    "colour": ("Colour", ""),
    "undercoat": ("Undercoat, L*", "number"),
    "hardener": ("Hardener of the clear", ""),
    "reducer": ("Reducer of the clear", ""),
    "air": ("Air", "temperature"),
    "humidity": ("Humidity", "percent"),
    "panel_temperature": ("Temperature of the panel", "temperature"),
    "approved_by": ("Who said yes to the card", ""),
}

SOURCES = {"NEEDED": "definition"}


def record_text(values: Mapping[str, str], *, date: str = "") -> str:
    """The record of a job as a text to keep; where colour and clear end is a line each, "panel; colour; where".

    Parameters
    ----------
    values : what the job carries, by the names of `registry.JOB`
    date : year-month-day; today if not given

    Raises
    ------
    BadEntry : what the record needs and the job has not, all of it in one sentence; or what the record cannot keep

    >>> record_text({"vehicle": "demo 7"})
    Traceback (most recent call last):
        ...
    refinishlib.entry.BadEntry: record: nothing was given for Colour, Undercoat, L*, Hardener of the clear, ...
    """
    missing = [words for name, (words, _) in NEEDED.items() if not values.get(name, "").strip()]
    # A panel that nobody measured is as warm as the air: the record says so by the same number.
    if values.get("air", "").strip() and NEEDED["panel_temperature"][0] in missing:
        values = {**values, "panel_temperature": values["air"]}
        missing.remove(NEEDED["panel_temperature"][0])
    if missing:
        raise BadEntry(f"record: nothing was given for {', '.join(missing)}, allowed is a word or a number for each.")
    read = {
        name: parse(values[name], kind, field=words) if kind else " ".join(values[name].split())
        for name, (words, kind) in NEEDED.items()
    }
    colour, _, variant = str(read["colour"]).rpartition(", ")
    record = JobRecord(
        date=date or datetime.date.today().isoformat(),
        vehicle=str(read["vehicle"]),
        colour=colour or variant,
        variant=variant,
        undercoat_lightness=float(read["undercoat"]),
        hardener=str(read["hardener"]),
        reducer=str(read["reducer"]),
        air_c=float(read["air"]),
        humidity_percent=float(read["humidity"]),
        panel_c=float(read["panel_temperature"]),
        approved_by=str(read["approved_by"]),
        end=tuple(_end(line) for line in values.get("ends", "").splitlines() if line.strip()),
        notes=" ".join(values.get("notes", "").split()),
    )
    return write_record(record)


def _end(line: str) -> End:
    parts = [part.strip() for part in line.split(";", 2)]
    if len(parts) != len(End.__dataclass_fields__) or not all(parts):
        raise BadEntry(
            f"Where colour and clear end: {line.strip()[:60]!r} was given, allowed is a line such as "
            "left rear door; colour; a hand short of the handle."
        )
    return End(*parts)
