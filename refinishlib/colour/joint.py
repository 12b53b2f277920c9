"""Where to join new paint and old: edge to edge, blended, or not before the colour is corrected."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import blend, predict
from refinishlib.colour import tolerance as ruler
from refinishlib.colour.blend import Blend
from refinishlib.colour.conditions import COAT_UM, USUAL, Conditions
from refinishlib.colour.difference import HIGHEST_LAB
from refinishlib.colour.lamp import Lamp
from refinishlib.colour.optics import Mixture
from refinishlib.colour.tolerance import EDGE, NOT_YET, Tolerance
from refinishlib.entry import number, numbers, one_of
from refinishlib.shop.paint import PAINT_KINDS, Kind
from refinishlib.shop.vehicle import Panel, Vehicle, across_m, neighbours

WAYS = ("edge to edge", "blend inside the panel", "blend into the neighbours", "correct the colour first")
BLACK_LIGHTNESS = 20.0
BLACK_CHROMA = 6.0
COLOUR_ROOM = 0.75

SOURCES = {
    "BLACK_LIGHTNESS": "common practice, no source: only a solid black is joined edge to edge; the number is ours",
    "BLACK_CHROMA": "common practice, no source: only a solid black is joined edge to edge; the number is ours",
    "COLOUR_ROOM": "teaching value: share of a neighbour that colour may use, so that it never nears the far edge",
}


@dataclass(frozen=True)
class ColourStop:
    """How far colour runs on a panel.

    colour_m : from the edge it comes over, or the whole panel when it is the repaired one and colour leaves it
    room_m : from that edge to the far edge; infinite on the repaired panel
    """

    panel: str
    colour_m: float
    room_m: float


@dataclass(frozen=True)
class ClearStop:
    """Where clear ends on a panel at one of its neighbours: "gap", "body line" or "none"."""

    panel: str
    towards: str
    clear_break: str
    words: str


@dataclass(frozen=True)
class Joint:
    """What to do at the borders of a repair.

    way : one of WAYS
    blend_m : length of the blend, 0 for edge to edge or when the colour comes first
    colour : panels that get colour, the repaired one first
    clear : where clear ends, for each panel that gets clear
    why : in a sentence or two
    """

    way: str
    blend_m: float
    colour: tuple[ColourStop, ...]
    clear: tuple[ClearStop, ...]
    why: str

    @property
    def panels(self) -> tuple[str, ...]:
        """Every panel that is touched, the repaired one first."""
        return tuple(dict.fromkeys([stop.panel for stop in self.colour] + [stop.panel for stop in self.clear]))


def decide(
    vehicle: Vehicle,
    panel: Panel,
    kind: Kind,
    old_lab: ArrayLike,
    new_lab: ArrayLike,
    angles_deg: ArrayLike,
    blend_m: float | None,
    *,
    to_edge_m: Mapping[str, float] | None = None,
    tolerance: Tolerance | None = None,
) -> Joint:
    """How to join a repair to what is around it.

    Parameters
    ----------
    vehicle, panel : the repaired panel, and what it stands in
    kind : "solid", "metallic" or "pearl", as `Formula.kind` and `Mixture.kind` say it
    old_lab, new_lab : CIELAB of the finish on the vehicle and of the paint in the gun, (angles, 3)
    angles_deg : some of 15, 25, 45, 75, 110, (angles,)
    blend_m : length the blend needs, from `blend.shortest`; None when no length hides it
    to_edge_m : for each neighbour by its name, how far the repair stays from the shared edge; 0 where nothing is said,
        as for a new or wholly sprayed panel
    tolerance : what matches edge to edge and what a blend hides; the set for the kind if not given

    Notes
    -----
    Common practice, no source: a metallic, a pearl or a light colour is never promised edge to edge, a solid black may
    be. Only neighbours that face the same way need a blend, since the eye does not compare the others. Colour never
    needs to reach the far edge of a neighbour. Clear does: it runs over the whole of every panel that got colour, to a
    real break line, and where there is none the product sheet decides whether it may fade out there.

    Raises
    ------
    BadEntry : an unknown kind or angle, a neighbour that shares no edge, a distance below 0

    >>> from refinishlib.shop.shop import load
    >>> car = load().vehicle
    >>> black = [[8.0, 0.2, -0.5]] * 3
    >>> decide(car, car.panel("bonnet"), "solid", black, np.add(black, 0.3), [15, 45, 110], 0.4).way
    'edge to edge'
    >>> door = car.panel("left front door")
    >>> joint = decide(car, door, "metallic", [[60.0, 0, 0]], [[61.5, 0, 0]], [45], 0.5)
    >>> joint.way, [stop.panel for stop in joint.colour]
    ('blend into the neighbours', ['left front door', 'left front wing', 'left rear door'])
    """
    one_of("kind of colour", kind, PAINT_KINDS)
    angles = [one_of("aspecular angle", int(angle), ruler.ZONES) for angle in np.atleast_1d(angles_deg)]
    old, new = (
        numbers(field, lab, low=-HIGHEST_LAB, high=HIGHEST_LAB, shape=(len(angles), 3))
        for field, lab in (("old finish", old_lab), ("new paint", new_lab))
    )
    around = neighbours(vehicle, panel)
    given = dict(to_edge_m or {})
    for name, distance in given.items():
        one_of(f"neighbour of {panel.name}", name, around)
        number(f"distance to {name}", distance, low=0, unit="m")
    limits = tolerance or ruler.of_kind(kind)
    result = ruler.rule(limits.apart(old, new), angles, limits).verdict
    black = kind == "solid" and bool((old[:, 0] <= BLACK_LIGHTNESS).all()) and _chroma(old) <= BLACK_CHROMA
    where = (vehicle, panel)
    if result == EDGE and black:
        return _joint(0, where, 0.0, {}, "A solid black within tolerance may be joined at the panel's edges.")
    if result == NOT_YET:
        return _joint(3, where, 0.0, {}, "The colours are further apart than a blend hides at the worst angle.")
    if blend_m is None:
        return _joint(3, where, 0.0, {}, "No blend is long enough to make the change gentle at the worst angle.")
    length = number("blend length", blend_m, low=0, unit="m")
    over = {
        name: length - given.get(name, 0.0)
        for name, seam in around.items()
        if seam.faces == "same way" and length > given.get(name, 0.0)
    }
    never = "" if result != EDGE else f"It matches, but a {_what(kind)} is never promised edge to edge. "
    if not over:
        return _joint(1, where, length, {}, f"{never}The blend of {length:.2f} m ends before the panel's edges.")
    tight = [
        name for name, metres in over.items() if metres > COLOUR_ROOM * across_m(vehicle, panel, vehicle.panel(name))
    ]
    if tight:
        why = f"The blend of {length:.2f} m would come too near the far edge of {', '.join(tight)}."
        return _joint(3, where, 0.0, {}, why)
    why = f"{never}The blend of {length:.2f} m needs more room than the panel has, so colour fades on its neighbours."
    return _joint(2, where, length, over, why)


def plan(
    vehicle: Vehicle,
    panel: Panel,
    new: Mixture,
    old: Mixture,
    *,
    coats: int,
    film_um: float = COAT_UM,
    thinning: float = 1.0,
    to_edge_m: Mapping[str, float] | None = None,
    tolerance: Tolerance | None = None,
    conditions: Conditions = USUAL,
    lamp: Lamp | None = None,
) -> tuple[Joint, Blend | None]:
    """The decision for two paints: the shortest blend that no eye finds, and what to do at the panel's borders.

    Parameters
    ----------
    vehicle, panel, to_edge_m, tolerance : as for `decide`; the kind is that of the paint in the gun
    new, old : the paint in the gun and the paint on the vehicle, from `optics.mixture`
    coats, film_um, thinning, conditions, lamp : as for `blend.shortest`; metallics and pearls get an orientation coat

    Returns
    -------
    the Joint, and the Blend it rests on; None where no length hides the change

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> car, silver = load().vehicle, load().picked("medium silver", "soft black")
    >>> old, new = mixture(silver, [90.0, 10.0]), mixture(silver, [90.4, 9.6])
    >>> joint, blend = plan(car, car.panel("left rear door"), new, old, coats=3)
    >>> joint.way, len(joint.panels)
    ('blend into the neighbours', 3)
    """
    kind = new.kind
    found = blend.shortest(
        new,
        old,
        coats=coats,
        film_um=film_um,
        thinning=thinning,
        orientation=kind != "solid",
        conditions=conditions,
        lamp=lamp,
    )
    hiding, lamps = replace(conditions, film_um=np.inf), None if lamp is None else [lamp]
    old_lab, new_lab = (predict.lab(paint, hiding, lamps=lamps)[0] for paint in (old, new))
    length = None if found is None else found.film_ends_m
    joint = decide(
        vehicle,
        panel,
        kind,
        old_lab,
        new_lab,
        conditions.angles_deg,
        length,
        to_edge_m=to_edge_m,
        tolerance=tolerance,
    )
    return joint, found


def _chroma(lab: NDArray[np.float64]) -> float:
    return float(np.hypot(lab[:, 1], lab[:, 2]).max())


def _what(kind: str) -> str:
    return "colour that is not black" if kind == "solid" else kind


def _joint(way: int, where: tuple[Vehicle, Panel], length: float, over: dict[str, float], why: str) -> Joint:
    vehicle, panel = where
    if way == 3:
        return Joint(WAYS[way], length, (), (), f"{why} Tint it, or try another variant.")
    colour = [ColourStop(panel.name, length if way == 1 else np.inf, np.inf)]
    colour += [ColourStop(name, metres, across_m(vehicle, panel, vehicle.panel(name))) for name, metres in over.items()]
    cleared = (panel.name, *over)
    clear = [stop for name in cleared for stop in _clear_stops(vehicle, vehicle.panel(name), cleared)]
    return Joint(WAYS[way], length, tuple(colour), tuple(clear), why)


def _clear_stops(vehicle: Vehicle, panel: Panel, cleared: tuple[str, ...]) -> list[ClearStop]:
    words = {
        "gap": "clear runs to the gap at the {}",
        "body line": "clear runs to the body line at the {}",
        "none": "no break line at the {}: the product sheet decides whether clear may fade out there",
    }
    return [
        ClearStop(panel.name, name, seam.clear_break, words[seam.clear_break].format(name))
        for name, seam in neighbours(vehicle, panel).items()
        if name not in cleared
    ]
