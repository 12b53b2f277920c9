"""Where to join new paint and old: edge to edge, blended, or not before the colour is corrected."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import blend, doubt, flake, predict, spray, weights
from refinishlib.colour import eye as eyes
from refinishlib.colour import hand as hands
from refinishlib.colour import stage as finishes
from refinishlib.colour import tolerance as ruler
from refinishlib.colour.as_read import as_read
from refinishlib.colour.blend import DISTANCES_M, LENGTHS_M, PROMISED, UNDERCOAT, Blend
from refinishlib.colour.conditions import USUAL, Conditions
from refinishlib.colour.difference import HIGHEST_LAB
from refinishlib.colour.eye import Eye
from refinishlib.colour.film import Layer
from refinishlib.colour.hand import Hand
from refinishlib.colour.lamp import Lamp
from refinishlib.colour.optics import Mixture
from refinishlib.colour.reading import Reading, in_common
from refinishlib.colour.stage import Finish, stages
from refinishlib.colour.tolerance import EDGE, FADE, NOT_YET, Ruling, Tolerance
from refinishlib.entry import BadEntry, number, numbers, one_of, whole
from refinishlib.shop.paint import Formula
from refinishlib.shop.vehicle import Panel, Vehicle, across_m, neighbours

WAYS = ("edge to edge", "blend inside the panel", "blend into the neighbours", "put it right first")
VERDICT_OF = dict(zip(WAYS, (EDGE, FADE, FADE, NOT_YET), strict=True))
COLOUR_ROOM = 0.75
TRIES = 600
FEWEST_TRIES = 20
TRIES_ALONE = 150
PERCENT = 95
DRIVERS = {
    "difference": "the two paints differ by themselves",
    "film": "the undercoat shows: more film here and less there lets it through",
    "tilt": "the flakes' tilt: no hand lays them twice alike",
    "grey": "the undercoat shows: its grey is not twice the same",
    "pour": "the scale: the mix is not twice the same",
}

SOURCES = {
    "WAYS": "definition: what can be done at an edge; the words are ours",
    "VERDICT_OF": "definition: the verdict of `tolerance` that each way stands for",
    "COLOUR_ROOM": "teaching value: share of a neighbour that colour may use, so that it never nears the far edge",
    "TRIES": "teaching value: pairs of panels that are played through; their share is sure to a hundredth or so",
    "FEWEST_TRIES": "teaching value: limit of entry",
    "TRIES_ALONE": "teaching value: pairs for each cause alone",
    "PERCENT": "common practice, no source: nineteen of twenty",
    "DRIVERS": "definition: what lets two panels differ; the words are ours",
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

    def run_m(self, length_m: float) -> float:
        """How far colour runs on a panel of this length, at most all of it.

        >>> ColourStop("bonnet", 0.4, 1.0).run_m(1.05), ColourStop("bonnet", np.inf, np.inf).run_m(1.05)
        (0.4, 1.05)
        """
        return min(self.colour_m, length_m)


@dataclass(frozen=True)
class ClearStop:
    """Where clear ends on a panel at one of its neighbours: "gap", "body line" or "none"."""

    panel: str
    towards: str
    clear_break: str
    words: str


@dataclass(frozen=True, eq=False)
class Chance:
    """How often two panels go edge to edge, as one hand sprays them.

    visible : how well the eye finds the joint, at the worst angle and distance, rising, (tries,); 1 is just seen
    not_seen : share of the tries in which it does not
    typical, nearly_always : the median of `visible`, and what 19 of 20 stay below
    alone : what nearly always is seen when only one cause is at work; the paints' own difference is one
    driver : the cause that is seen most
    """

    visible: NDArray[np.float64]
    not_seen: float
    typical: float
    nearly_always: float
    alone: Mapping[str, float]
    driver: str

    @property
    def promised(self) -> bool:
        """Whether nearly every panel joins."""
        return self.not_seen >= PROMISED

    @property
    def why(self) -> str:
        """In a sentence."""
        told = f"{100 * self.not_seen:.0f} of 100 panels of this hand join unseen"
        return f"{told}." if self.promised else f"Only {told}; what shows is {DRIVERS[self.driver]}."


@dataclass(frozen=True)
class Joint:
    """What to do at the borders of a repair.

    way : one of WAYS
    blend_m : length of the blend, 0 for edge to edge or when the colour comes first
    colour : panels that get colour, the repaired one first
    clear : where clear ends, for each panel that gets clear
    unseen : how often nobody finds it, 0-1, with this hand; nan when nothing is sprayed yet
    why : in a sentence or two
    """

    way: str
    blend_m: float
    colour: tuple[ColourStop, ...]
    clear: tuple[ClearStop, ...]
    unseen: float
    why: str

    @property
    def verdict(self) -> str:
        """One of `tolerance.VERDICTS`: "goes edge to edge", "needs a fade" or "not yet"."""
        return VERDICT_OF[self.way]

    @property
    def panels(self) -> tuple[str, ...]:
        """Every panel that is touched, the repaired one first."""
        return tuple(dict.fromkeys([stop.panel for stop in self.colour] + [stop.panel for stop in self.clear]))


def chance(
    new: Finish,
    old: Finish,
    hand: Hand | None = None,
    *,
    eye: Eye = eyes.USUAL,
    distances_m: ArrayLike = DISTANCES_M,
    conditions: Conditions = USUAL,
    lamp: Lamp | None = None,
    tries: int = TRIES,
    seed: int = 0,
) -> Chance:
    """How often new paint goes edge to edge with old, as a distribution, and what lets it differ.

    Parameters
    ----------
    new, old : what is sprayed, and what it was matched to: one formula or mix, or stages
    hand : the painter's scatter, assumed or from `hand.measured`
    eye, distances_m : who looks, and from where
    conditions : undercoat as an L*, surface and angles
    lamp, tries, seed : D65 if not given; how many pairs, and where the dice start

    Notes
    -----
    The card that was held against the panel is one draw of the hand, the panel that is then sprayed another. A gap lies
    between the two, which makes lightness harder to compare.

    Source
    ------
    JCGM 101 (2008), propagation of distributions by Monte Carlo; the eye is that of `eye.edge`.

    >>> from refinishlib.shop.shop import load
    >>> silver = load().colour("Millrace Silver, as built")
    >>> found = chance(silver, silver)
    >>> found.promised, found.driver
    (False, 'tilt')
    """
    painter = hand or Hand()
    count = whole("tries", tries, low=FEWEST_TRIES, high=hands.MOST_TRIES)

    def seen(with_hand: Hand, paint: Finish, matched: Finish, number_of: int) -> NDArray[np.float64]:
        sprayed, card = (
            hands.panels(one, with_hand, tries=number_of, seed=dice, conditions=conditions, lamp=lamp)
            for one, dice in ((paint, seed), (matched, seed + 1))
        )
        return _found(sprayed, card, distances_m, eye)

    visible = seen(painter, new, old, count)
    alone = {"difference": float(seen(hands.STILL, new, old, 1)[0])}
    for cause in hands.CAUSES:
        alone[cause] = _nearly_always(seen(painter.only(cause), old, old, min(TRIES_ALONE, count)))
    return _chance(visible, alone)


def chance_of_panels(panels_lab: ArrayLike, *, eye: Eye = eyes.USUAL, distances_m: ArrayLike = DISTANCES_M) -> Chance:
    """The same from panels that were sprayed and read: every two of them are a joint, and no scatter is assumed.

    Parameters
    ----------
    panels_lab : CIELAB of panels of one colour by one hand, D65, (panels, angles, 3), at least 5

    Notes
    -----
    No cause is told apart, so the driver is "difference". `hand.measured` carries such panels over to other colours.

    >>> chance_of_panels(np.full((10, 1, 3), 50.0)).not_seen
    1.0
    """
    lab = numbers("CIELAB of the panels", panels_lab, low=-HIGHEST_LAB, high=HIGHEST_LAB, shape=(None, None, 3))
    if lab.ndim != 3 or len(lab) < hands.FEWEST_PANELS:
        raise BadEntry(f"panels: {len(lab)} were given, allowed are {hands.FEWEST_PANELS} or more.")
    first, second = np.triu_indices(len(lab), 1)
    visible = _found(lab[first], lab[second], distances_m, eye)
    return _chance(visible, {"difference": _nearly_always(visible)})


def decide(
    vehicle: Vehicle,
    panel: Panel,
    ruling: Ruling,
    joins: Chance,
    faded: Blend,
    *,
    to_edge_m: Mapping[str, float] | None = None,
) -> Joint:
    """How to join a repair to what is around it.

    Parameters
    ----------
    vehicle, panel : the repaired panel, and what it stands in
    ruling : of `tolerance.rule` on the paint in the gun against the old finish
    joins : of `chance` or `chance_of_panels`
    faded : of `blend.shortest`
    to_edge_m : for each neighbour by its name, how far the repair stays from the shared edge; 0 where nothing is said,
        as for a new or wholly sprayed panel

    Notes
    -----
    Edge to edge needs both: the card is within its limits, and this hand nearly always sprays the panel so that nobody
    finds the joint. Only neighbours that face the same way need a blend, since the eye does not compare the others.
    Colour never needs to reach the far edge of a neighbour. Clear does: it runs over the whole of every panel that got
    colour, to a real break line, and where there is none the product sheet decides whether it may fade out there.

    Raises
    ------
    BadEntry : a neighbour that shares no edge, a distance below 0
    """
    around = neighbours(vehicle, panel)
    given = dict(to_edge_m or {})
    for name, distance in given.items():
        one_of(f"neighbour of {panel.name}", name, around)
        number(f"distance to {name}", distance, low=0, unit="m")
    where = (vehicle, panel)
    if ruling.verdict == EDGE and joins.promised:
        return _joint(0, where, 0.0, {}, joins.not_seen, joins.why)
    if ruling.verdict == NOT_YET:
        why = f"At {ruling.worst_deg} degrees the colours are {ruling.worst:.1f} apart, more than a fade is to take."
        return _joint(3, where, 0.0, {}, np.nan, f"{why} Tint it, or try another variant.")
    if not faded.hidden:
        cure = "Tint it, or try another variant."
        if faded.cause == UNDERCOAT:
            cure = "Lay another coat, or an undercoat nearer to the colour."
        return _joint(3, where, 0.0, {}, np.nan, f"{faded.why} {cure}")
    length = faded.film_ends_m
    over = {
        name: length - given.get(name, 0.0)
        for name, seam in around.items()
        if seam.faces == "same way" and length > given.get(name, 0.0)
    }
    never = f"{joins.why} " if ruling.verdict == EDGE else ""
    if np.isfinite(faded.unseen):
        never += f"Of such fades {100 * faded.unseen:.0f} of 100 stay unseen. "
    if not over:
        why = f"{never}{faded.why} The blend of {length:.2f} m ends before the panel's edges."
        return _joint(1, where, length, {}, faded.unseen, why)
    tight = [
        name for name, metres in over.items() if metres > COLOUR_ROOM * across_m(vehicle, panel, vehicle.panel(name))
    ]
    if tight:
        why = f"The blend of {length:.2f} m would come too near the far edge of {', '.join(tight)}."
        return _joint(3, where, 0.0, {}, np.nan, f"{why} {faded.why} Tint it, or try another variant.")
    why = f"{never}{faded.why} The blend of {length:.2f} m leaves the panel, so colour fades on its neighbours."
    return _joint(2, where, length, over, faded.unseen, why)


def plan(
    vehicle: Vehicle,
    panel: Panel,
    new: Finish,
    old: Finish,
    *,
    thinning: float = 1.0,
    to_edge_m: Mapping[str, float] | None = None,
    tolerance: Tolerance | None = None,
    hand: Hand | None = None,
    doubt_lab: ArrayLike | None = None,
    eye: Eye = eyes.USUAL,
    old_tilt: float | None = None,
    sprayed: Mapping[str, float] = flake.SPRAYED,
    conditions: Conditions = USUAL,
    lamp: Lamp | None = None,
) -> tuple[Joint, Blend, Chance]:
    """The decision for two finishes: does it join, the shortest blend that no eye finds, and what to do at the borders.

    Parameters
    ----------
    vehicle, panel, to_edge_m : as for `decide`
    new, old : the finish in the gun and the one on the vehicle: a formula, a mix, or stages with their coats; of a
        finish that is known by its reading, or by what an eye says of it, the paint of `as_read`
    tolerance : what goes edge to edge and what a fade takes; that of the kind of paint in the gun if not given
    hand : the painter's scatter
    doubt_lab : what else the new paint may be off by against the old one, CIELAB, (tries, angles, 3), such as draws of
        the doubt of a reading
    thinning, eye, old_tilt, sprayed, conditions, lamp : as for `blend.shortest`

    >>> from refinishlib.shop.shop import load
    >>> car, silver = load().vehicle, load().colour("Millrace Silver, as built")
    >>> joint, blend, joins = plan(car, car.panel("left rear door"), silver, silver)
    >>> joint.way, joint.verdict, len(joint.panels)
    ('blend into the neighbours', 'needs a fade', 3)
    """
    # The panel comes out otherwise than the card did: two draws of one hand, the one less the other.
    off = hands.panels(new, hand or Hand(), tries=2 * TRIES_ALONE, conditions=conditions, lamp=lamp)
    off = off[:TRIES_ALONE] - off[TRIES_ALONE:]
    if doubt_lab is not None:
        more = numbers("doubt of the reading", doubt_lab, shape=(None, *off.shape[1:]))
        off = off + more[np.arange(len(off)) % len(more)]
    faded = blend.shortest(
        new,
        old,
        thinning=thinning,
        old_tilt=old_tilt,
        sprayed=sprayed,
        longest_m=max(LENGTHS_M[0], min(LENGTHS_M[-1], _room(vehicle, panel, dict(to_edge_m or {})))),
        draws_lab=off,
        eye=eye,
        conditions=conditions,
        lamp=lamp,
    )
    limits = tolerance or ruler.of_kind(finishes.kind(new))
    apart = limits.apart(*(_hiding(one, conditions, lamp) for one in (old, new)))
    ruling = ruler.rule(apart, tuple(int(angle) for angle in conditions.angles_deg), limits)
    joins = chance(new, old, hand, eye=eye, conditions=conditions, lamp=lamp)
    return decide(vehicle, panel, ruling, joins, faded, to_edge_m=to_edge_m), faded, joins


def plan_as_read(
    vehicle: Vehicle,
    panel: Panel,
    new: Mixture | Formula,
    card: Reading,
    old: Reading,
    *,
    spot: ArrayLike = doubt.SPOT,
    conditions: Conditions = USUAL,
    **more: Any,
) -> tuple[Joint, Blend, Chance]:
    """The decision of `plan` where the finish on the vehicle is known by its reading, or by what an eye says of it.

    Parameters
    ----------
    vehicle, panel : as for `decide`
    new : the paint in the gun, with which the card was sprayed
    card, old : readings of the card and of the finish on the vehicle; the angles that both have count, and their doubt
        goes into how often a fade stays unseen
    spot : scatter of a single spot, as for `doubt.doubted`
    conditions : undercoat and surface
    more : as for `plan`

    Raises
    ------
    BadEntry : no angle in common

    >>> from refinishlib.colour.reading import from_lab
    >>> from refinishlib.shop.shop import load
    >>> car, red = load().vehicle, load().colour("Lichen Row, as built")
    >>> card, old = from_lab({45: (40.0, -8.0, 9.0)}), from_lab({45: (41.0, -8.0, 9.0)})
    >>> plan_as_read(car, car.panel("bonnet"), red, card, old)[0].verdict
    'needs a fade'
    """
    both = in_common(card, old)
    at_those = replace(conditions, angles_deg=both[0].angles_deg)
    mixture = finishes.Stage(new).mixture
    found = as_read(mixture, *both, conditions=at_those)
    unsure = [doubt.draws(one, spot=spot, tries=TRIES_ALONE, seed=seed) for seed, one in enumerate(both)]
    return plan(vehicle, panel, new, found.paint, doubt_lab=unsure[0] - unsure[1], conditions=at_those, **more)


def _room(vehicle: Vehicle, panel: Panel, to_edge_m: Mapping[str, float]) -> float:
    """How long a blend can be at most, by the neighbour that has least room for it."""
    rooms = [
        to_edge_m.get(name, 0.0) + COLOUR_ROOM * across_m(vehicle, panel, vehicle.panel(name))
        for name, seam in neighbours(vehicle, panel).items()
        if seam.faces == "same way"
    ]
    # Paint falls half a wide fan beyond the middle of the last pass.
    return min(rooms, default=np.inf) - spray.FAN_M * spray.ORIENTATION_FAN / 2


def _hiding(finish: Finish, conditions: Conditions, lamp: Lamp | None) -> NDArray[Any]:
    """CIELAB of a finish whose lowest paint hides, (angles, 3)."""
    layers = [
        Layer(stage.mixture, stage.coats * stage.film_um if number_of else np.inf)
        for number_of, stage in enumerate(stages(finish))
    ]
    lab = weights.lab(predict.of_layers(layers, conditions), None if lamp is None else [lamp])
    return np.asarray(lab[0])


def _found(new_lab: NDArray[Any], old_lab: NDArray[Any], distances_m: ArrayLike, eye: Eye) -> NDArray[np.float64]:
    """How well each joint is found at the worst angle and distance, (tries,)."""
    apart = eyes.signals(old_lab, new_lab, veil=eye.veil)
    found: NDArray[np.float64] = eyes.together(eyes.edge(apart, distances_m, gap=True, eye=eye)).max(axis=(0, -1))
    return found


def _nearly_always(visible: NDArray[Any]) -> float:
    return float(np.percentile(visible, PERCENT))


def _chance(visible: NDArray[Any], alone: dict[str, float]) -> Chance:
    return Chance(
        visible=np.sort(visible),
        not_seen=float((visible < 1).mean()),
        typical=float(np.median(visible)),
        nearly_always=_nearly_always(visible),
        alone=alone,
        driver=max(alone, key=lambda cause: alone[cause]),
    )


def _joint(
    way: int, where: tuple[Vehicle, Panel], length: float, over: dict[str, float], unseen: float, why: str
) -> Joint:
    vehicle, panel = where
    if way == 3:
        return Joint(WAYS[way], length, (), (), unseen, why)
    colour = [ColourStop(panel.name, length if way == 1 else np.inf, np.inf)]
    colour += [ColourStop(name, metres, across_m(vehicle, panel, vehicle.panel(name))) for name, metres in over.items()]
    cleared = (panel.name, *over)
    clear = [stop for name in cleared for stop in _clear_stops(vehicle, vehicle.panel(name), cleared)]
    return Joint(WAYS[way], length, tuple(colour), tuple(clear), unseen, why)


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
