"""The last scratch before each coat, and the machine for it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from refinishlib.entry import one_of
from refinishlib.prep.grades import Grade, grades
from refinishlib.prep.ladder import ladder
from refinishlib.shop.faults import Field, load

SHORT_STROKE = "3/32 in"
HAND = "hand"
EDGE = "edge"


@dataclass(frozen=True)
class FinalScratch:
    """How a surface is left before one kind of coat, common practice.

    grades : the last papers on the flat, in order
    stroke : the machine for the last of them
    """

    name: str
    before: str
    grades: tuple[str, ...]
    edges: str
    stroke: str
    interface_pad: bool
    why: str


@dataclass(frozen=True)
class Machine:
    """What moves the paper. cut and scratch are factors against a random orbit of 3/32 inch."""

    name: str
    title: str
    cut: float
    scratch: float
    use: str
    source: str


@dataclass(frozen=True)
class Zone:
    """A part of a panel. film and pressure are factors against its flat."""

    name: str
    film: float
    pressure: float


@cache
def final_scratches() -> dict[str, FinalScratch]:
    """The finishing table by what comes next, common practice.

    >>> final_scratches()["blend into old clear"].grades
    ('P600', 'P800')
    """
    return {row["name"]: FinalScratch(**row | {"grades": tuple(row["grades"])}) for row in _file()["finish"]}


def final_scratch(next_coat: str) -> FinalScratch:
    """How to leave the surface before this coat.

    Raises
    ------
    BadEntry : an unknown coat, with those that exist

    >>> final_scratch("sealer wet on wet on a new part").grades
    ('P320',)
    """
    return final_scratches()[one_of("next coat", next_coat, final_scratches())]


@cache
def machines() -> dict[str, Machine]:
    """The machines by name, the hand among them.

    >>> machines()["3/16 in"].cut > machines()["3/32 in"].cut > machines()["hand"].cut
    True
    """
    return {row["name"]: Machine(**row) for row in _file()["machine"]}


@cache
def zones() -> dict[str, Zone]:
    """The zones of a panel by name, from the most forgiving to the least.

    >>> list(zones())
    ['flat', 'crown', 'edge']
    """
    return {row["name"]: Zone(**row) for row in _file()["zone"]}


def ladder_for(next_coat: str, start: str, *, shelf: Iterable[str] | None = None) -> tuple[Grade, ...]:
    """The papers from the scratch that is there to the last scratch before this coat, through the table's own grades.

    Parameters
    ----------
    next_coat : a row of the finishing table
    start : grade of the scratch that is there
    shelf : as for `ladder`

    Returns
    -------
    the grades to sand with; nothing if the scratch is fine enough already

    Raises
    ------
    BadEntry : an unknown coat or grade, or a gap in the shelf

    >>> [step.name for step in ladder_for("blend into old clear", "P240")]
    ['P500', 'P600', 'P800']
    """
    at_hand = None if shelf is None else tuple(shelf)
    steps: list[Grade] = []
    for name in final_scratch(next_coat).grades:
        steps += ladder(steps[-1].name if steps else start, name, shelf=at_hand)
    return tuple(steps)


def machine_for(next_coat: str, *, zone: str = "flat", silver: bool = False) -> Machine:
    """What to move the last paper with: by hand at an edge, the short stroke under a silver, else as the table says.

    Raises
    ------
    BadEntry : an unknown coat or zone

    >>> machine_for("sealer wet on wet on a new part").name
    '3/16 in'
    >>> machine_for("sealer wet on wet on a new part", silver=True).name, machine_for("clear only", zone="edge").name
    ('3/32 in', 'hand')
    """
    usual = final_scratch(next_coat).stroke
    if zone_named(zone).name == EDGE:
        return machines()[HAND]
    return machines()[SHORT_STROKE if silver else usual]


def machine_named(name: str) -> Machine:
    """One machine by its name.

    Raises
    ------
    BadEntry : an unknown machine, with those that exist
    """
    return machines()[one_of("machine", name, machines())]


def zone_named(name: str) -> Zone:
    """One zone by its name.

    Raises
    ------
    BadEntry : an unknown zone, with those that exist
    """
    return zones()[one_of("zone", name, zones())]


@cache
def _file() -> dict[str, Any]:
    def text(name: str, **more: Any) -> Field:
        return Field(name, str, **more)

    def factor(name: str) -> Field:
        return Field(name, low=0, above_low=True, high=10)

    finish = (
        text("name", unique=True),
        text("before"),
        text("grades", many=True, choices=tuple(grades("P"))),
        text("edges"),
        text("stroke", choices=("3/16 in", SHORT_STROKE)),
        Field("interface_pad", bool),
        text("why"),
    )
    machine = (text("name", unique=True), text("title"), factor("cut"), factor("scratch"), text("use"), text("source"))
    zone = (text("name", unique=True), factor("film"), factor("pressure"))
    tables = (
        text("source"),
        Field("finish", fields=finish, many=True),
        Field("machine", fields=machine, many=True),
        Field("zone", fields=zone, many=True),
    )
    return load(files(__package__) / "scratch.toml", tables)
