"""The metameric trap: two mixes that match by day and part under tubes, built to show why tubes lie."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, product
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import optics, predict
from refinishlib.colour.conditions import Conditions
from refinishlib.colour.difference import HIGHEST_LAB, ciede2000
from refinishlib.colour.lamp import Lamp, d65, lamp
from refinishlib.colour.surface import LIGHT_DEG
from refinishlib.entry import BadEntry, number, numbers
from refinishlib.shop.paint import Toner

TONERS_EACH = 4
TARGET_LAB = (45.0, 0.0, 0.0)
MASS_G = 200.0
READABILITY_G = 0.1
MATCH_WITHIN = 0.3
PART_BEYOND = 2.0
TUBES = ("FL2", "FL11")
HIDING = Conditions(film_um=np.inf)
AT_45 = Conditions(film_um=np.inf, angles_deg=(LIGHT_DEG,))
ROUNDS = 40
SEED = 5
FIRST_SPREAD = 1.5
PROBE = 1e-4
LARGEST_STEP = 1.5
FARTHEST = 10.0
SOLVED = 1e-5
TIGHTER, LOOSER = 0.2, 4.0
DAMPING = (1e-9, 1e6)
SMALLEST_SHARE = 0.004
PAIRS_TRIED = 40
LIGHTEST_G = 10.0
HEAVIEST_G = 5000.0
COARSEST_G = 10.0

SOURCES = {
    "TONERS_EACH": "definition: three tristimulus values and the sum fix four toners, so that matches can be counted",
    "TARGET_LAB": "teaching value: a middle grey, where eyes are keen and many pigments meet",
    "MASS_G": "teaching value: a mix for a few cards",
    "READABILITY_G": "common practice, no source: a mixing scale shows tenths of a gram",
    "MATCH_WITHIN": "teaching value: CIEDE2000 that nobody sees",
    "PART_BEYOND": "teaching value: CIEDE2000 that everybody sees",
    "ROUNDS": "teaching value: steps of the solver",
    "SEED": "teaching value: where the solver's dice start",
    "FIRST_SPREAD": "teaching value: how unlike the first guesses are, as logarithms of shares",
    "PROBE": "teaching value: step that feels the slope",
    "LARGEST_STEP": "teaching value: largest step of the solver",
    "FARTHEST": "teaching value: logarithm of the largest share of one toner to another",
    "SOLVED": "teaching value: CIELAB that counts as exact",
    "TIGHTER": "Marquardt (1963), J. SIAM 11, 431: how damping falls after a good step",
    "LOOSER": "Marquardt (1963), J. SIAM 11, 431: how damping rises after a bad step",
    "DAMPING": "teaching value: least and most damping",
    "SMALLEST_SHARE": "teaching value: less than this of a toner cannot be poured well",
    "PAIRS_TRIED": "teaching value: pairs that are rounded to the balance, those that part the most first",
    "LIGHTEST_G": "teaching value: limit of entry",
    "HEAVIEST_G": "teaching value: limit of entry",
    "COARSEST_G": "teaching value: limit of entry",
}

Weighed = tuple[tuple[Toner, float], ...]


@dataclass(frozen=True, eq=False)
class Trap:
    """Two mixes of hiding film.

    first, second : toners and grams, multiples of the balance's readability, heaviest first
    lamps : the light they match in, then the tubes
    difference : CIEDE2000 between the two, (lamps, angles)
    lab : CIELAB of both, (2, lamps, angles, 3)
    """

    first: Weighed
    second: Weighed
    lamps: tuple[Lamp, ...]
    difference: NDArray[np.float64]
    lab: NDArray[np.float64]


def matches(
    toners: Sequence[Toner], target_lab: ArrayLike = TARGET_LAB, *, match_under: Lamp | None = None
) -> NDArray[np.float64]:
    """Every four-toner mix that the solver finds to be exactly this colour in one light, hiding, at 45 degrees.

    Parameters
    ----------
    toners : to choose from, 4 or more, no flakes among them
    target_lab : CIELAB under that light, (3,)
    match_under : the light; D65 if not given

    Returns
    -------
    (found, toners) shares by weight; each row has four toners and sums to 1

    How
    ---
    Three numbers of colour and the sum fix the shares of four toners. All sets of four are solved at once by damped
    Gauss-Newton steps (Marquardt (1963), J. SIAM 11, 431) on the logarithms of the shares, which keeps them above 0.

    Raises
    ------
    BadEntry : fewer than four toners, or one twice; a target that is not a colour

    >>> from refinishlib.shop.shop import load
    >>> some = matches(load().picked("white", "soft black", "bright blue", "rose", "yellow oxide", "green"))
    >>> len(some) > 1, bool(np.allclose(some.sum(axis=1), 1)), (some > 0).sum(axis=1).max()
    (True, True, 4)
    """
    target = numbers("target", target_lab, low=-HIGHEST_LAB, high=HIGHEST_LAB, shape=(3,))
    _check(toners)
    by_day = match_under or d65()
    sets = np.array(list(combinations(range(len(toners)), TONERS_EACH)))
    logs = np.random.default_rng(SEED).normal(0, FIRST_SPREAD, (len(sets), TONERS_EACH - 1))
    damping = np.ones(len(sets))

    def missing(rows: NDArray[Any], at: NDArray[Any]) -> NDArray[Any]:
        return _lab(toners, _shares(len(toners), sets[rows], at), [by_day])[:, 0] - target

    left = missing(np.arange(len(sets)), logs)
    for _ in range(ROUNDS):
        rows = np.flatnonzero(np.abs(left).max(axis=1) > SOLVED)
        if not len(rows):
            break
        probes = PROBE * np.eye(TONERS_EACH - 1)
        slope = np.stack([(missing(rows, logs[rows] + probe) - left[rows]) / PROBE for probe in probes], axis=-1)
        # (J'J + lambda tr(J'J) 1) step = -J' r for each set at once.
        square = slope.transpose(0, 2, 1) @ slope
        weight = damping[rows] * (np.trace(square, axis1=1, axis2=2) + PROBE)
        square += weight[:, None, None] * np.eye(TONERS_EACH - 1)
        step = -np.linalg.solve(square, slope.transpose(0, 2, 1) @ left[rows][..., None])[..., 0]
        tried = np.clip(logs[rows] + np.clip(step, -LARGEST_STEP, LARGEST_STEP), -FARTHEST, FARTHEST)
        tried_left = missing(rows, tried)
        better = (tried_left**2).sum(axis=1) < (left[rows] ** 2).sum(axis=1)
        logs[rows[better]], left[rows[better]] = tried[better], tried_left[better]
        damping[rows] = np.clip(damping[rows] * np.where(better, TIGHTER, LOOSER), *DAMPING)
    shares = _shares(len(toners), sets, logs)
    exact = (np.abs(left).max(axis=1) <= SOLVED) & (np.where(shares > 0, shares, 1).min(axis=1) >= SMALLEST_SHARE)
    found: NDArray[np.float64] = shares[exact]
    return found


def build(
    toners: Sequence[Toner],
    target_lab: ArrayLike = TARGET_LAB,
    *,
    mass_g: float = MASS_G,
    readability_g: float = READABILITY_G,
    match_under: Lamp | None = None,
    tubes: Sequence[Lamp] | None = None,
    match_within: float = MATCH_WITHIN,
    part_beyond: float = PART_BEYOND,
) -> Trap:
    """Two pourable mixes of one colour that match by day and part under every tube, at every angle.

    Parameters
    ----------
    toners, target_lab, match_under : as for `matches`
    mass_g, readability_g : of each mix, and the step of the balance
    tubes : lamps under which the two must part; FL2 and FL11 if not given
    match_within, part_beyond : CIEDE2000 at the worst angle

    Returns
    -------
    the Trap that parts the most under the tube that parts it least

    Raises
    ------
    BadEntry : no two mixes of this colour do it on this balance

    >>> from refinishlib.shop.shop import load
    >>> names = ["white", "bright blue", "violet", "yellow oxide", "clean yellow", "green", "rose"]
    >>> trap = build(load().picked(*names))
    >>> bool(trap.difference[0].max() < 0.3), bool(trap.difference[1:].min() > 2)
    (True, True)
    """
    mass = number("mass of the mix", mass_g, low=LIGHTEST_G, high=HEAVIEST_G, unit="g")
    step = number("readability", readability_g, low=0, high=COARSEST_G, unit="g", above_low=True)
    within = number("match within", match_within, low=0, above_low=True)
    beyond = number("part beyond", part_beyond, low=0)
    light = match_under or d65()
    lamps = (light, *(map(lamp, TUBES) if tubes is None else tubes))
    shares = matches(toners, target_lab, match_under=light)
    lab = _lab(toners, shares, lamps)
    one, other = np.triu_indices(len(shares), 1)
    parting = ciede2000(lab[one, 1:], lab[other, 1:]).min(axis=-1)
    for pair in np.argsort(-parting)[:PAIRS_TRIED]:
        if parting[pair] <= beyond:
            break
        poured = [_around(shares[row] * mass, step) for row in (one[pair], other[pair])]
        by_day = [_lab(toners, grams, [light])[:, 0] for grams in poured]
        apart = ciede2000(by_day[0][:, None], by_day[1][None])
        first, second = np.unravel_index(apart.argmin(), apart.shape)
        grams = np.stack([poured[0][first], poured[1][second]])
        seen = predict.lab(optics.mixture(toners, grams), HIDING, lamps=lamps)
        difference = ciede2000(seen[0], seen[1])
        if difference[0].max() < within and difference[1:].min() > beyond:
            return Trap(_mix(toners, grams[0]), _mix(toners, grams[1]), lamps, difference, seen)
    raise BadEntry(
        f"target: {', '.join(f'{value:g}' for value in np.asarray(target_lab))} was given, allowed is a colour of which"
        f" two mixes match within {within:g} and part beyond {beyond:g}."
    )


def _check(toners: Sequence[Toner]) -> None:
    if len(set(toners)) < max(TONERS_EACH, len(toners)):
        raise BadEntry(f"toners: {len(set(toners))} different ones were given, allowed are {TONERS_EACH} or more.")


def _lab(toners: Sequence[Toner], masses: NDArray[Any], lamps: Sequence[Lamp]) -> NDArray[Any]:
    """CIELAB at 45 degrees of hiding films, (rows, lamps, 3)."""
    return predict.lab(optics.mixture(toners, masses), AT_45, lamps=lamps)[..., 0, :]


def _shares(toners: int, sets: NDArray[Any], logs: NDArray[Any]) -> NDArray[Any]:
    """Shares (rows, toners) from the logarithms of the first three shares of each set to its last."""
    weight = np.exp(np.concatenate([logs, np.zeros((len(logs), 1))], axis=1))
    shares = np.zeros((len(sets), toners))
    np.put_along_axis(shares, sets, weight / weight.sum(axis=1, keepdims=True), axis=1)
    return shares


def _around(grams: NDArray[Any], step: float) -> NDArray[Any]:
    """Grams on the balance near these: each toner down or up one step from the nearest, none left out."""
    nearest = np.round(grams / step)
    used = np.flatnonzero(nearest)
    moves = np.zeros((3 ** len(used), len(grams)))
    moves[:, used] = list(product((-1, 0, 1), repeat=len(used)))
    rows = nearest + moves
    return rows[(rows[:, used] > 0).all(axis=1)] * step


def _mix(toners: Sequence[Toner], grams: NDArray[Any]) -> Weighed:
    decimals = 6
    return tuple((toners[i], round(float(grams[i]), decimals)) for i in np.argsort(-grams) if grams[i] > 0)
