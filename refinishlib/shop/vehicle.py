"""Panels of the invented vehicle: how large they are and which of them share an edge."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from refinishlib.entry import one_of
from refinishlib.shop.faults import Field, Place

AREA_MAX_M2 = 10.0
LENGTH_MAX_M = 10.0
HAIR = 1e-6

SOURCES = {
    "AREA_MAX_M2": "teaching value: no panel is larger",
    "LENGTH_MAX_M": "teaching value: no panel is longer",
    "HAIR": "definition: shares that miss 1 by less were rounded, not wrong",
    "PANEL_FIELDS": "definition: shares lie between 0 and 1",
}


@dataclass(frozen=True)
class Panel:
    """One panel of the vehicle.

    material : steel, aluminium or plastic
    area_m2 : of the painted outer face
    length_m : front to back over the face
    width_m : the other way: the height of a door, left to right of a bonnet
    flat, crown, edge : shares of the area that are near flat, curved, and folded edge or lip; together 1
    """

    name: str
    material: str
    area_m2: float
    length_m: float
    width_m: float
    flat: float
    crown: float
    edge: float


@dataclass(frozen=True)
class Seam:
    """An edge that two panels share.

    runs : "across" when the panels lie one behind the other, "along" when they lie side by side
    length_m : of the shared edge
    clear_break : where clear can stop between the two: "gap", "body line" or "none"
    faces : "same way" when an eye sees both panels at once and compares, else "other way"
    """

    panels: tuple[str, str]
    runs: str
    length_m: float
    clear_break: str
    faces: str


@dataclass(frozen=True)
class Vehicle:
    """Panels, front to back, and the edges that two of them share."""

    panels: tuple[Panel, ...]
    seams: tuple[Seam, ...]

    def panel(self, name: str) -> Panel:
        """One panel by its name.

        Raises
        ------
        BadEntry : an unknown panel, with the names that exist

        >>> from refinishlib.shop.shop import load
        >>> load().vehicle.panel("bonnet").area_m2
        1.45
        """
        names = [panel.name for panel in self.panels]
        return self.panels[names.index(one_of("panel", name, names))]


def neighbours(vehicle: Vehicle, panel: Panel) -> dict[str, Seam]:
    """The panels that share an edge with this one, by name, and the edge.

    >>> from refinishlib.shop.shop import load
    >>> car = load().vehicle
    >>> list(neighbours(car, car.panel("left front wing")))
    ['front bumper', 'bonnet', 'left front door', 'left pillar']
    """
    found = {}
    for seam in vehicle.seams:
        if panel.name in seam.panels:
            first, second = seam.panels
            found[second if panel.name == first else first] = seam
    return found


def across_m(vehicle: Vehicle, panel: Panel, neighbour: Panel) -> float:
    """How far it is on the neighbour from the shared edge to its far edge, in metres.

    Raises
    ------
    BadEntry : two panels that share no edge

    >>> from refinishlib.shop.shop import load
    >>> car = load().vehicle
    >>> wing, door, bonnet = (car.panel(name) for name in ("left front wing", "left front door", "bonnet"))
    >>> across_m(car, wing, door), across_m(car, wing, bonnet)
    (1.1, 1.4)
    """
    around = neighbours(vehicle, panel)
    seam = around[one_of(f"neighbour of {panel.name}", neighbour.name, around)]
    return neighbour.length_m if seam.runs == "across" else neighbour.width_m


# --- what a file must have -------------------------------------------------------------------------------------------


def _metres(name: str) -> Field:
    return Field(name, low=0, above_low=True, high=LENGTH_MAX_M, unit="m")


PANEL_FIELDS = (
    Field("name", str, unique=True),
    Field("material", str, choices=("steel", "aluminium", "plastic")),
    Field("area_m2", low=0, above_low=True, high=AREA_MAX_M2, unit="m2"),
    _metres("length_m"),
    _metres("width_m"),
    Field("flat", low=0, high=1),
    Field("crown", low=0, high=1),
    Field("edge", low=0, high=1),
)
SEAM_FIELDS = (
    Field("panels", row=(Field("one panel", str), Field("the other", str))),
    Field("runs", str, choices=("across", "along")),
    _metres("length_m"),
    Field("break", str, choices=("gap", "body line", "none")),
    Field("faces", str, choices=("same way", "other way")),
)
FILE = (
    Field("source", str),
    Field("panel", many=True, fields=PANEL_FIELDS),
    Field("seam", many=True, fields=SEAM_FIELDS),
)


def between_panels(data: Mapping[str, Any]) -> Iterator[tuple[Place, str]]:
    """Rules between the tables of a vehicle file, for `faults.read`."""
    names = [row["name"] for row in data["panel"]]
    for index, row in enumerate(data["panel"]):
        together = row["flat"] + row["crown"] + row["edge"]
        if abs(together - 1) > HAIR:
            yield ("panel", index, "flat"), f"flat, crown, edge: {together:g} was given, allowed is 1 together."
    seen: set[frozenset[str]] = set()
    for index, row in enumerate(data["seam"]):
        at = ("seam", index, "panels")
        for name in row["panels"]:
            if name not in names:
                yield at, f"panels: {name!r} was given, allowed are {', '.join(names)}."
        pair = frozenset(row["panels"])
        if len(pair) == 1:
            yield at, "panels: one panel twice was given, allowed are two that share an edge."
        elif pair in seen:
            yield at, f"panels: {' and '.join(row['panels'])} were given twice, allowed is once."
        seen.add(pair)


def vehicle_of(data: Mapping[str, Any]) -> Vehicle:
    """The vehicle of a checked file."""
    return Vehicle(
        tuple(Panel(**row) for row in data["panel"]),
        tuple(Seam(row["panels"], row["runs"], row["length_m"], row["break"], row["faces"]) for row in data["seam"]),
    )
