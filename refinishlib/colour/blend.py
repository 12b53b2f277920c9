"""Blending: what colour the panel has along a fade from new paint to old finish, and whether an eye finds the place."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import flake, predict, spray, weights
from refinishlib.colour.conditions import COAT_UM, USUAL, Conditions
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.film import Layer
from refinishlib.colour.lamp import Lamp
from refinishlib.colour.optics import Mixture
from refinishlib.colour.ramp import RAMP_DEG, SHOWS, SLOPE_LIMIT, likely_places
from refinishlib.colour.spray import Coat, Gun
from refinishlib.entry import BadEntry, number, numbers, whole

STATIONS = 400
DISTANCES_M = (1.0, 3.0, 5.0)
NEAREST_M = 0.3
FARTHEST_M = 20.0
LENGTH_STEP_M = 0.05
SHORTEST_M = 0.2
LONGEST_M = 2.0
THINNEST_UM = 1e-6
NODES = 96
HIDING = 1e3
SCALES_UM = (0.5, 2.0, 8.0)
EVEN = 2.0

SOURCES = {
    "STATIONS": "teaching value: places along the panel",
    "DISTANCES_M": "teaching value: an eye at arm's length and across the yard",
    "NEAREST_M": "teaching value: limit of entry",
    "FARTHEST_M": "teaching value: limit of entry",
    "LENGTH_STEP_M": "common practice, no source: nobody plans a blend finer than a hand's width",
    "SHORTEST_M": "common practice, no source: a hand cannot fade colour over less than about a fan",
    "LONGEST_M": "teaching value: a blend longer than a door and a half is no blend",
    "NODES": "teaching value: stations at which the colour is worked out, with a cubic between them",
    "HIDING": "definition: a thousand coats show nothing of what lies below",
    "SCALES_UM": "teaching value: films over which a strong, a usual and a transparent paint hide",
    "EVEN": "teaching value: nodes that are spread evenly for each that follows the film",
    "THINNEST_UM": "definition: less film than this is none",
}


@dataclass(frozen=True, eq=False)
class Blend:
    """Film and colour along the panel, from the repair at the left to the old finish at the right.

    stations_m : (n,)
    film_per_coat_um : (coats, n)
    angles_deg : (angles,)
    lab : (n, angles, 3)
    old_lab, new_lab : (angles, 3) of the untouched finish and of the new paint at hiding film, orientation coat on
    from_old : CIEDE2000 to the old finish, (n, angles)
    total : CIEDE2000 between new paint and old finish, (angles,)
    distances_m : (distances,) of the eye
    slope : steepest CIEDE2000 per degree of visual angle, (distances, angles)
    """

    stations_m: NDArray[np.float64]
    film_per_coat_um: NDArray[np.float64]
    angles_deg: NDArray[np.float64]
    lab: NDArray[np.float64]
    old_lab: NDArray[np.float64]
    new_lab: NDArray[np.float64]
    from_old: NDArray[np.float64]
    total: NDArray[np.float64]
    distances_m: NDArray[np.float64]
    slope: NDArray[np.float64]

    @property
    def film_um(self) -> NDArray[np.float64]:
        """Dry film of all coats, (n,)."""
        found: NDArray[np.float64] = self.film_per_coat_um.sum(axis=0)
        return found

    @property
    def steepest(self) -> float:
        """CIEDE2000 per degree of visual angle at the worst angle and distance."""
        return float(self.slope.max())

    @property
    def colour_ends_m(self) -> float:
        """The last station where the new colour still shows at some angle; the first station if it never does."""
        shows = np.flatnonzero((self.from_old > SHOWS).any(axis=1))
        return float(self.stations_m[shows[-1] if len(shows) else 0])

    @property
    def film_ends_m(self) -> float:
        """The last station that gets any paint; clear must run beyond it."""
        wet = np.flatnonzero(self.film_um > THINNEST_UM)
        return float(self.stations_m[wet[-1] if len(wet) else 0])


def along(
    new: Mixture,
    old: Mixture,
    coats: Sequence[Coat],
    *,
    stations_m: ArrayLike,
    gun: Gun | None = None,
    repair_end_m: float | None = None,
    distances_m: ArrayLike = DISTANCES_M,
    conditions: Conditions = USUAL,
    lamp: Lamp | None = None,
) -> Blend:
    """Film build and colour along a blend, cleared, and how steeply the colour changes for an eye that walks away.

    Parameters
    ----------
    new, old : the paint in the gun and the paint on the panel, from `optics.mixture`
    coats : from `spray.carried`, in the order in which they are sprayed
    stations_m : (n,) evenly spaced and rising, at least 2
    gun : fan, overlap and profile
    repair_end_m : stations before it have primer instead of old finish under the new paint; none if not given
    distances_m : of the eye, 0.3-20 m, (distances,)
    conditions : undercoat, which is that primer, surface, tilt and angles; the film is that of the coats
    lamp : D65 if not given

    Returns
    -------
    Blend

    Notes
    -----
    The new film lies on the old finish, whose flakes still shine through where it is thin. Where a coat fades it
    falls dry and its flakes lie flatter; an orientation coat lies on top of all of it with flakes of its own even tilt.
    Slope is the CIEDE2000 between points half a degree apart, times two, square on to the panel.

    Source
    ------
    That the slope of a ramp matters from half a degree on, and that narrower ones act like an edge: Campbell,
    Johnstone and Ross (1981), Vision Research 21, 723. McCann et al. (1974), Vision Research 14, 917 find that only
    the total change counts and hardly the slope. So both are given; which one decides is a modelling choice.

    Raises
    ------
    BadEntry : stations that are not even and rising, no coat, a distance or angle out of range

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> blue, white = load().picked("deep blue", "white")
    >>> deep, faded = mixture([blue], [1.0]), mixture([blue, white], [30.0, 1.0])
    >>> coats = spray.carried(3, film_um=7, first_end_m=0.2, carry_m=0.2, fade_m=0.2)
    >>> blend = along(deep, faded, coats, stations_m=np.linspace(-0.2, 1.2, 200))
    >>> blend.lab.shape, 0.5 < blend.colour_ends_m < blend.film_ends_m < 0.8
    ((200, 5, 3), True)
    """
    stations = _stations(stations_m)
    if not coats:
        raise BadEntry("coats: none was given, allowed is one or more.")
    distances = np.atleast_1d(numbers("distance", distances_m, low=NEAREST_M, high=FARTHEST_M, unit="m"))
    angles = np.asarray(conditions.angles_deg, dtype=float)
    # Old finish hides what is below it; the bare repair shows its primer.
    buried = replace(conditions, undercoat=USUAL.undercoat)
    film_per_coat = spray.film_build(stations, coats, gun)
    hiding = [coat.film_um * (1 if coat.orientation else HIDING) for coat in coats]
    # Behind the last station stand two more: nothing on the old finish, and new paint that hides.
    layers = _layers(new, coats, np.column_stack([film_per_coat, np.zeros(len(coats)), hiding]))

    lamps = None if lamp is None else [lamp]
    wet = film_per_coat.sum(axis=0) > THINNEST_UM
    primed = stations < (-np.inf if repair_end_m is None else number("end of the repair", repair_end_m))
    lab, from_old = np.empty((len(stations), len(angles), 3)), np.zeros((len(stations), len(angles)))
    worked_out: list[tuple[NDArray[Any], Callable[[NDArray[Any]], NDArray[Any]], NDArray[Any]]] = []
    for where, stack, below in (
        (np.flatnonzero(wet & ~primed), [Layer(old, np.inf)], buried),
        (np.flatnonzero(primed), [], conditions),
    ):
        nodes = _nodes(film_per_coat[:, where])
        picked = np.append(where[nodes], [len(stations), len(stations) + 1])
        found = weights.lab(predict.of_layers([*stack, *(_where(layer, picked) for layer in layers)], below), lamps)
        found = found[..., 0, :, :]
        spread = _between(nodes, len(where))
        lab[where] = spread(found[:-2])
        worked_out.append((where, spread, found))
        if not primed.any():
            break
    old_lab, new_lab = worked_out[0][2][-2:]
    lab[~wet & ~primed] = old_lab
    here, half_on = likely_places(stations, lab, old_lab, distances)
    # One call for every pair, since a call costs as much as a thousand of them.
    held = np.concatenate([found for _, _, found in worked_out])
    reference = np.concatenate([np.broadcast_to(old_lab, held.shape).reshape(-1, 3), here.reshape(-1, 3)])
    apart = ciede2000(reference, np.concatenate([held.reshape(-1, 3), half_on.reshape(-1, 3)]))
    against_old = apart[: held.size // 3].reshape(held.shape[:-1])
    total = against_old[-1]
    for where, spread, found in worked_out:
        own, against_old = against_old[: len(found) - 2], against_old[len(found) :]
        from_old[where] = np.maximum(spread(own), 0)
    return Blend(
        stations_m=stations,
        film_per_coat_um=film_per_coat,
        angles_deg=angles,
        lab=lab,
        old_lab=old_lab,
        new_lab=new_lab,
        from_old=from_old,
        total=total,
        distances_m=distances,
        slope=apart[held.size // 3 :].reshape(half_on.shape[:-1]).max(axis=-1).T / RAMP_DEG,
    )


def _nodes(film_per_coat: NDArray[Any]) -> NDArray[Any]:
    """Stations at which the colour is worked out, close together where thin film changes, (nodes,).

    What a film of some thickness lets through falls off exponentially, so that is what should change by equal steps.
    """
    n = film_per_coat.shape[1]
    if n <= NODES:
        return np.arange(n)
    upper = np.stack([film_per_coat.sum(axis=0), film_per_coat[-1]])
    through = np.exp(-upper / np.array(SCALES_UM)[:, None, None])
    change = np.abs(np.diff(through, axis=-1)).sum(axis=(0, 1))
    dense = np.concatenate([[0], np.cumsum(change / max(change.sum(), THINNEST_UM) + EVEN / n)])
    return np.unique(np.searchsorted(dense, np.linspace(0, dense[-1], NODES)).clip(0, n - 1))


def _between(nodes: NDArray[Any], n: int) -> Callable[[NDArray[Any]], NDArray[Any]]:
    """Spreads values (nodes, ...) at some places over all of them (n, ...), by the cubic through the nearest four."""
    if len(nodes) == n:
        return lambda found: found
    places = np.arange(n)
    first = np.clip(np.searchsorted(nodes, places, side="right") - 2, 0, len(nodes) - 4)
    four = first + np.arange(4)[:, None]
    # Lagrange: the share of node i is the product of (x - x_j) / (x_i - x_j) over the other three.
    at = nodes[four].astype(float)
    share = np.ones((4, n))
    for i in range(4):
        for j in range(4):
            if i != j:
                share[i] *= (places - at[j]) / (at[i] - at[j])

    def spread(found: NDArray[Any]) -> NDArray[Any]:
        flat = found.reshape(len(nodes), -1)
        result = share[0, :, None] * flat[four[0]]
        for i in range(1, 4):
            result += share[i, :, None] * flat[four[i]]
        return np.asarray(result.reshape(n, *found.shape[1:]))

    return spread


def planned(
    length_m: float, *, coats: int, film_um: float, thinning: float = 1.0, orientation: bool = False
) -> tuple[Coat, ...]:
    """Coats that use up a blend of this length evenly: each is carried one share further and fades over one share.

    >>> [round(coat.end_m, 2) for coat in planned(0.6, coats=3, film_um=7)]
    [0.2, 0.4, 0.6]
    """
    number("blend length", length_m, low=0, high=LONGEST_M, unit="m", above_low=True)
    parts = whole("coats", coats, low=1, high=spray.MAX_COATS) + 2 * int(orientation)
    share = length_m / parts
    return spray.carried(
        coats,
        film_um=film_um,
        first_end_m=share,
        carry_m=share,
        fade_m=share,
        thinning=thinning,
        orientation=orientation,
    )


def shortest(
    new: Mixture,
    old: Mixture,
    *,
    coats: int,
    film_um: float = COAT_UM,
    thinning: float = 1.0,
    orientation: bool = False,
    gun: Gun | None = None,
    slope_limit: float = SLOPE_LIMIT,
    longest_m: float = LONGEST_M,
    distances_m: ArrayLike = DISTANCES_M,
    conditions: Conditions = USUAL,
    lamp: Lamp | None = None,
) -> Blend | None:
    """The shortest blend, from 20 cm in steps of 5 cm, whose steepest slope stays within the limit; None if none does.

    The blend's length is where its last coat ends, seen from the edge of the repair.

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> a, b = (mixture(load().picked("white", "soft black"), grams) for grams in ([9.0, 1.0], [8.8, 1.2]))
    >>> blend = shortest(a, b, coats=3)
    >>> blend.steepest <= SLOPE_LIMIT, 0.2 < blend.film_ends_m < 1.5
    (True, True)
    """
    number("slope limit", slope_limit, low=0, above_low=True)
    number("longest blend", longest_m, low=SHORTEST_M, high=LONGEST_M, unit="m")

    def at(steps: int) -> Blend:
        length = steps * LENGTH_STEP_M
        return along(
            new,
            old,
            planned(length, coats=coats, film_um=film_um, thinning=thinning, orientation=orientation),
            stations_m=np.linspace(-spray.FAN_M, length + 2 * spray.FAN_M, STATIONS),
            gun=gun,
            distances_m=distances_m,
            conditions=conditions,
            lamp=lamp,
        )

    seen, unseen = (round(length / LENGTH_STEP_M) for length in (SHORTEST_M, longest_m))
    seen -= 1
    best = at(unseen)
    if best.steepest > slope_limit:
        return None
    while unseen - seen > 1:
        middle = (seen + unseen) // 2
        tried = at(middle)
        if tried.steepest <= slope_limit:
            best, unseen = tried, middle
        else:
            seen = middle
    return best


def _stations(stations_m: ArrayLike) -> NDArray[Any]:
    stations = numbers("stations", stations_m, low=-spray.MAX_PANEL_M, high=spray.MAX_PANEL_M, unit="m", shape=(None,))
    steps = np.diff(stations)
    if stations.ndim != 1 or len(stations) < 2 or not (steps > 0).all() or not np.allclose(steps, steps[0]):
        raise BadEntry("stations: uneven or falling ones were given, allowed are two or more that rise evenly.")
    return stations


def _layers(new: Mixture, coats: Sequence[Coat], film_per_coat: NDArray[Any]) -> list[Layer]:
    """The new film from below: what was laid wet and what fell dry where a coat fades, then the orientation coat."""
    orientation = np.array([coat.orientation for coat in coats])
    colour = film_per_coat[~orientation]
    if not new.flakes:
        return [Layer(new, film_per_coat.sum(axis=0))]
    full = np.array([max(coat.film_um, THINNEST_UM) for coat in coats])[~orientation, None]
    film = colour.sum(axis=0)
    dry_share = (colour * (1 - np.clip(colour / full, 0, 1))).sum(axis=0) / np.maximum(film, THINNEST_UM)
    layers = [Layer(_laid(new, {"normal": 1 - dry_share, "dry": dry_share}), film)]
    if orientation.any():
        layers.append(Layer(_laid(new, {"drop coat": 1.0}), film_per_coat[orientation].sum(axis=0)))
    return layers


def _laid(paint: Mixture, sprayed: dict[str, ArrayLike]) -> Mixture:
    """The same paint with its flakes tilted as each way of spraying leaves its share, one or (n,), of them."""
    shares = [np.asarray(share, dtype=float)[..., None] for share in sprayed.values()]
    stations = shares[0].shape[:-1]
    return Mixture(
        absorption_per_um=np.broadcast_to(paint.absorption_per_um, (*stations, *paint.absorption_per_um.shape)),
        scattering_per_um=np.broadcast_to(paint.scattering_per_um, (*stations, *paint.scattering_per_um.shape)),
        flakes=tuple(
            replace(one, tilt_deg=one.tilt_deg * flake.tilt_factor(way)) for way in sprayed for one in paint.flakes
        ),
        cover_per_um=np.concatenate([share * paint.cover_per_um for share in shares], axis=-1),
        flake_reflectance=np.tile(paint.flake_reflectance, (len(sprayed), 1)),
        flake_absorptance=np.tile(paint.flake_absorptance, (len(sprayed), 1)),
    )


def _where(layer: Layer, places: NDArray[Any]) -> Layer:
    """The layer at some of the stations."""
    paint = layer.mixture
    if paint.absorption_per_um.ndim > 1:
        paint = replace(
            paint,
            absorption_per_um=paint.absorption_per_um[places],
            scattering_per_um=paint.scattering_per_um[places],
            cover_per_um=paint.cover_per_um[places],
        )
    return Layer(paint, np.asarray(layer.film_um)[places])
