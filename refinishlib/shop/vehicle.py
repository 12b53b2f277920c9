"""Panels of the invented vehicle: how large they are and which of them share an edge."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from refinishlib.entry import one_of

if TYPE_CHECKING:
    import networkx


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


@cache
def panels() -> dict[str, Panel]:
    """All panels of the vehicle by name, front to back.

    >>> panels()["bonnet"].area_m2
    1.45
    """
    return {row["name"]: Panel(**row) for row in _data()["panel"]}


def panel(name: str) -> Panel:
    """One panel by its name.

    Raises
    ------
    BadEntry : an unknown panel, with the names that exist
    """
    return panels()[one_of("panel", name, panels())]


@cache
def seams() -> tuple[Seam, ...]:
    """All edges that two panels share."""
    return tuple(
        Seam((row["panels"][0], row["panels"][1]), row["runs"], row["length_m"], row["break"], row["faces"])
        for row in _data()["seam"]
    )


def neighbours(name: str) -> dict[str, Seam]:
    """The panels that share an edge with this one, and the edge.

    >>> list(neighbours("left front wing"))
    ['front bumper', 'bonnet', 'left front door']

    Raises
    ------
    BadEntry : an unknown panel
    """
    panel(name)
    found = {}
    for seam in seams():
        if name in seam.panels:
            first, second = seam.panels
            found[second if name == first else first] = seam
    return found


def across_m(name: str, neighbour: str) -> float:
    """How far it is on the neighbour from the shared edge to its far edge, in metres.

    >>> across_m("left front wing", "left front door"), across_m("left front wing", "bonnet")
    (1.1, 1.4)

    Raises
    ------
    BadEntry : an unknown panel, or two panels that share no edge
    """
    one_of(f"neighbour of {name}", neighbour, neighbours(name))
    other = panel(neighbour)
    return other.length_m if neighbours(name)[neighbour].runs == "across" else other.width_m


@cache
def graph() -> networkx.Graph:
    """The panels as a graph: nodes carry their Panel as "panel", edges their Seam as "seam".

    >>> import networkx
    >>> networkx.shortest_path(graph(), "bonnet", "left rear door")
    ['bonnet', 'left front wing', 'left front door', 'left rear door']
    """
    import networkx

    result = networkx.Graph()
    for name, one in panels().items():
        result.add_node(name, panel=one)
    for seam in seams():
        result.add_edge(*seam.panels, seam=seam)
    return networkx.freeze(result)


@cache
def _data() -> dict:
    return tomllib.loads(files(__package__).joinpath("panels.toml").read_text(encoding="utf-8"))
