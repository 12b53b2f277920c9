"""The last scratch before each coat, how coarse and how fine it may be, and what may move the paper."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from refinishlib.entry import BadEntry, one_of
from refinishlib.prep.grades import Grade, grade, grades
from refinishlib.prep.ladder import ladder
from refinishlib.shop.faults import Faults, Field, load

HAND = "hand"
EDGE = "edge"
GLOSS = "gloss"
POLISH = "machine polish"
COLOURS = ("silver", "light solid", "dark solid")
# For which colours a choice in the file holds.
_HOLDS_FOR = {
    "any": COLOURS,
    "any but silver": ("light solid", "dark solid"),
    **{colour: (colour,) for colour in COLOURS},
}


@dataclass(frozen=True)
class SandingWay:
    """One way of moving the last paper that the trade accepts.

    machine : "3/16 in", "3/32 in" or "hand"
    interface_pad : a soft pad between machine and paper
    """

    machine: str
    interface_pad: bool
    why: str


@dataclass(frozen=True)
class FinalScratch:
    """How a surface is left before one kind of coat, common practice.

    name, surface, before : the coat that comes next and what it goes on, what that is, and the coat in full
    grades : the last papers on the flat, in order
    coarsest : the coarsest scratch that this coat covers
    finest : the finest scratch that it holds on to; on a finer one, and on gloss, it peels
    shows : whether the scratch could show in the finish
    machines : what may move the last paper, with the colours it holds for, the usual one first
    """

    name: str
    surface: str
    before: str
    grades: tuple[str, ...]
    coarsest: str
    finest: str
    edges: str
    shows: bool
    machines: tuple[tuple[SandingWay, tuple[str, ...]], ...]
    why: str

    @property
    def is_coated(self) -> bool:
        """Whether a coat follows, so that going through is what counts; after a polish the clear must last as it is."""
        return self.name != POLISH


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
    """The finishing table by the coat that comes next and what it goes on, common practice.

    >>> row = final_scratches()["blend into old clear"]
    >>> row.coarsest, row.grades, row.finest
    ('P600', ('P600', 'P800'), 'P1000')
    """
    return {row["name"]: _finish(row) for row in _file()["finish"]}


def final_scratch(next_coat: str) -> FinalScratch:
    """How to leave the surface before this coat, on this surface.

    Raises
    ------
    BadEntry : an unknown coat, with those that exist

    >>> final_scratch("sealer wet on wet on a new part").grades
    ('P320',)
    >>> final_scratch("surfacer on filler").surface
    'body filler, blocked'
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
    start : grade of the scratch that is there, or "gloss"
    shelf : as for `ladder`

    Returns
    -------
    the grades to sand with: on gloss, and on a scratch that is too fine to hold the coat, the last paper of the table;
    nothing only where a scratch between the table's last paper and its finest is there already

    Raises
    ------
    BadEntry : an unknown coat or grade, a gap in the shelf, or a shelf without a paper that the coat holds on to

    >>> [step.name for step in ladder_for("blend into old clear", "P240")]
    ['P400', 'P600', 'P800']
    >>> [step.name for step in ladder_for("blend into old clear", "gloss")]
    ['P800']
    """
    row = final_scratch(next_coat)
    at_hand = None if shelf is None else tuple(shelf)
    if start == GLOSS or grade(start) < grade(row.finest):
        return (_hold(row, at_hand),)
    steps: list[Grade] = []
    for name in row.grades:
        steps += ladder(steps[-1].name if steps else start, name, shelf=at_hand)
    return tuple(steps)


def ways_to_sand(next_coat: str, *, zone: str = "flat", colour: str = "light solid") -> tuple[SandingWay, ...]:
    """What may move the last paper, the usual way first, each with its reason; an edge is done by hand.

    Parameters
    ----------
    next_coat : a row of the finishing table
    zone : flat, crown or edge
    colour : silver, light solid or dark solid; it counts only where the scratch could show

    Raises
    ------
    BadEntry : an unknown coat, zone or colour

    Source
    ------
    Common practice, no source: more than one way is accepted on a dark solid, only the short stroke under a silver.

    >>> [choice.machine for choice in ways_to_sand("blend into old clear", colour="dark solid")]
    ['3/32 in', '3/16 in']
    >>> [choice.machine for choice in ways_to_sand("sealer wet on wet on a new part", colour="silver")]
    ['3/32 in']
    >>> [choice.machine for choice in ways_to_sand("clear only", zone="edge")]
    ['hand']
    """
    row = final_scratch(next_coat)
    one_of("colour", colour, COLOURS)
    if zone_named(zone).name == EDGE:
        return (SandingWay(HAND, False, f"a machine is through an edge in a moment: {row.edges}"),)
    return tuple(choice for choice, holds_for in row.machines if colour in holds_for or not row.shows)


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


def _hold(row: FinalScratch, shelf: tuple[str, ...] | None) -> Grade:
    """The paper that gives a coat its hold: the last of the table, or the finest at hand that is not too fine."""
    last = grade(row.grades[-1])
    at_hand = [last] if shelf is None else sorted(grade(name) for name in shelf)
    found = [one for one in at_hand if grade(row.finest) <= one <= grade(row.coarsest)]
    if not found:
        raise BadEntry(
            f"shelf: nothing at hand gives it a hold, allowed is a shelf with a paper from {row.coarsest} "
            f"to {row.finest}."
        )
    return min(found, key=lambda one: (one > last, abs(one.grain_um - last.grain_um)))


def _finish(row: dict[str, Any]) -> FinalScratch:
    ways = tuple((SandingWay(stroke, pad, why), _HOLDS_FOR[colours]) for stroke, pad, colours, why in row["machine"])
    return FinalScratch(
        row["name"],
        row["on"],
        row["before"],
        tuple(row["grades"]),
        row["coarsest"],
        row["finest"],
        row["edges"],
        row["shows"],
        ways,
        row["why"],
    )


@cache
def _file() -> dict[str, Any]:
    def text(name: str, *, unique: bool = False, many: bool = False, choices: tuple[str, ...] = ()) -> Field:
        return Field(name, str, unique=unique, many=many, choices=choices)

    def factor(name: str) -> Field:
        return Field(name, low=0, above_low=True, high=10)

    known = tuple(grades("P"))
    way = (
        text("stroke", choices=("3/16 in", "3/32 in")),
        Field("pad", bool),
        text("colours", choices=tuple(_HOLDS_FOR)),
        text("why"),
    )
    finish = (
        text("name", unique=True),
        text("on"),
        text("before"),
        text("grades", many=True, choices=known),
        text("coarsest", choices=known),
        text("finest", choices=known),
        text("edges"),
        Field("shows", bool),
        Field("machine", row=way, many=True),
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
    data: dict[str, Any] = load(files(__package__) / "scratch.toml", tables, also=_faults)
    return data


def _faults(data: dict[str, Any]) -> Faults:
    for index, row in enumerate(data["finish"]):
        if not grade(row["finest"]) <= grade(row["grades"][-1]) <= grade(row["coarsest"]):
            yield ("finish", index, "grades"), "grades: allowed is a last one from the coarsest to the finest."
