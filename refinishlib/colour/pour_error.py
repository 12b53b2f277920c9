"""What a slip of the pour, or a coarse balance, does to the colour: accept or rescue, and the smallest sensible mix."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import optics, predict
from refinishlib.colour.conditions import USUAL, Conditions
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.lamp import Lamp
from refinishlib.entry import BadEntry, number, one_of, whole
from refinishlib.mixing import scale
from refinishlib.mixing.rescue import Finish, accept, rescue
from refinishlib.mixing.scale import ALLOWED_CHANGE, WAYS, Way, on_scale, to_mass
from refinishlib.shop.paint import Formula

ALLOWED = 0.5
TRIES = 400
MOST_TRIES = 20000
PERCENT = 95
LIGHTEST_G = 5.0
HEAVIEST_G = 5000.0
MASS_STEP_G = 5.0

SOURCES = {
    "ALLOWED": "teaching value: CIEDE2000 at the worst angle that a pour may cost",
    "TRIES": "teaching value: pours that are played through",
    "MOST_TRIES": "teaching value: limit of entry",
    "PERCENT": "common practice, no source: nineteen pours of twenty must be good",
    "LIGHTEST_G": "teaching value: less paint than this is no mix",
    "HEAVIEST_G": "teaching value: more paint than this is no repair",
    "MASS_STEP_G": "common practice, no source: a minimum mix is given in steps of 5 g",
}


@dataclass(frozen=True, eq=False)
class Advice:
    """An over-pour left as it is, or rescued.

    word : "accept" or "rescue"
    accepted, rescued : both ways to finish the pour
    accepted_difference, rescued_difference : CIEDE2000 to the formula, (lamps, angles)
    why : in a sentence
    """

    word: str
    accepted: Finish
    rescued: Finish
    accepted_difference: NDArray[np.float64]
    rescued_difference: NDArray[np.float64]
    why: str


@dataclass(frozen=True, eq=False)
class PourScatter:
    """What the balance does to a mix, played through many times.

    difference : CIEDE2000 to the formula at the worst angle and lamp, (tries,), rising
    typical : its median
    nearly_always : 19 pours of 20 are no worse
    """

    difference: NDArray[np.float64]
    typical: float
    nearly_always: float


@dataclass(frozen=True)
class SmallestMix:
    """How little may be mixed: two answers to two questions, and the one decision.

    by_colour_g : the colour of a card or a panel nearly always comes out right
    by_share_g : each toner's own amount comes out right, so that the cup is the formula
    mass_g : the one of the two that counts here
    why : in a sentence
    """

    by_colour_g: float
    by_share_g: float
    mass_g: float
    why: str


def consequence(
    formula: Formula, poured_g: ArrayLike, *, conditions: Conditions = USUAL, lamps: Sequence[Lamp] | None = None
) -> NDArray[np.float64]:
    """How far the colour in the cup is from the formula's, CIEDE2000.

    Parameters
    ----------
    formula : what was meant
    poured_g : grams of each toner in the cup, (..., toners)
    conditions, lamps : as for `predict.lab`

    Returns
    -------
    (..., lamps, angles)

    >>> from refinishlib.shop.shop import load
    >>> barn = load().colour("Chalk Barn, as built")
    >>> apart = consequence(barn, [[192.8, 4.8, 1.4, 1.0], [192.8, 4.8, 2.4, 1.0]])
    >>> apart.shape, apart.max(axis=(1, 2)).round(1).tolist()
    ((2, 1, 5), [0.0, 0.8])
    """
    meant, poured = optics.of_formula(formula), optics.mixture(formula.toners, poured_g)
    return ciede2000(*(predict.lab(paint, conditions, lamps=lamps) for paint in (meant, poured)))


def accept_or_rescue(
    formula: Formula,
    in_cup_g: Sequence[float],
    wanted_g: float,
    *,
    cup_g: float = inf,
    allowed: float = ALLOWED,
    conditions: Conditions = USUAL,
    lamps: Sequence[Lamp] | None = None,
) -> Advice:
    """Whether an over-pour can stay, by what it does to the colour and not by its share.

    Parameters
    ----------
    formula : what was meant
    in_cup_g, wanted_g, cup_g : as for `mixing.rescue.rescue`
    allowed : CIEDE2000 at the worst angle and lamp that may be left
    conditions, lamps : as for `consequence`

    Raises
    ------
    BadEntry : as for `mixing.rescue.rescue`

    >>> from refinishlib.shop.shop import load
    >>> accept_or_rescue(load().colour("Night Ferry, as built"), [279, 15, 7.5], 300).word
    'accept'
    >>> accept_or_rescue(load().colour("Chalk Barn, as built"), [192.8, 4.8, 3.4, 1.0], 200).word
    'rescue'
    """
    limit = number("allowed difference", allowed, low=0)
    left, put_right = (
        accept(formula.parts, in_cup_g, wanted_g),
        rescue(formula.parts, in_cup_g, wanted_g, cup_g=cup_g),
    )
    apart = consequence(formula, [left.own_g, put_right.own_g], conditions=conditions, lamps=lamps)
    worst = float(apart[0].max())
    word = "accept" if worst <= limit else "rescue"
    why = f"Left as it is, the worst angle is {worst:.2f} from the formula, {limit:.2f} is allowed."
    if word == "rescue":
        why += f" The rescue costs {put_right.total_g - left.total_g:.1f} g more paint."
        if not put_right.fits:
            why += f" The cup is too small for all of it: {float(apart[1].max()):.2f} stays."
    return Advice(word, left, put_right, apart[0], apart[1], why)


def scatter(
    formula: Formula,
    mass_g: float,
    readability_g: float,
    *,
    way: Way = "cumulative",
    tries: int = TRIES,
    seed: int = 0,
    conditions: Conditions = USUAL,
    lamps: Sequence[Lamp] | None = None,
) -> PourScatter:
    """What a balance of this readability does to the colour of a mix, by playing the pour through.

    The painter pours until the display shows the rounded reading; the true mass then lies anywhere within half a step
    of it. Poured without taring, a toner stands between two such readings.

    Parameters
    ----------
    formula : what is mixed
    mass_g : of the mix, above 0
    readability_g : step of the last digit, above 0
    way : "cumulative" or "tared"
    tries, seed : how often, and where the dice start

    Raises
    ------
    BadEntry : a value out of range; a mix so small that a pour shows nothing at all

    Source
    ------
    JCGM 101 (2008): rounding as an even distribution over one step, propagated by Monte Carlo.

    >>> from refinishlib.shop.shop import load
    >>> barn = load().colour("Chalk Barn, as built")
    >>> coarse, fine = scatter(barn, 100, 0.1), scatter(barn, 100, 0.01)
    >>> coarse.nearly_always > 5 * fine.nearly_always
    True
    """
    poured = _poured(formula, mass_g, readability_g, way, tries, seed)
    return _scatter(formula, poured, conditions, lamps)


def smallest_mix_by_colour(
    formula: Formula,
    readability_g: float,
    *,
    allowed: float = ALLOWED,
    way: Way = "cumulative",
    tries: int = TRIES,
    seed: int = 0,
    conditions: Conditions = USUAL,
    lamps: Sequence[Lamp] | None = None,
) -> float:
    """The smallest mix, in steps of 5 g, whose colour the balance nearly always leaves within what is allowed.

    It answers "will this card or panel look right?", not "is the formula in the cup?": see `smallest_mix`.

    Parameters
    ----------
    formula, readability_g, way, tries, seed, conditions, lamps : as for `scatter`
    allowed : CIEDE2000 at the worst angle and lamp for 19 pours of 20, above 0

    Returns
    -------
    g; the dice fall alike for each mass, so that a larger mix is never worse by luck

    Raises
    ------
    BadEntry : as `scatter`; nothing up to 5 kg is good enough

    >>> from refinishlib.shop.shop import load
    >>> barn = load().colour("Chalk Barn, as built")
    >>> smallest_mix_by_colour(barn, 0.1) > smallest_mix_by_colour(barn, 0.01)
    True
    """
    limit = number("allowed difference", allowed, low=0, above_low=True)

    def good(steps: int) -> bool:
        poured = _poured(formula, steps * MASS_STEP_G, readability_g, way, tries, seed)
        return _scatter(formula, poured, conditions, lamps).nearly_always <= limit

    bad, enough = int(LIGHTEST_G / MASS_STEP_G) - 1, int(HEAVIEST_G / MASS_STEP_G)
    if not good(enough):
        raise BadEntry(f"readability: {readability_g:g} g was given, allowed is one that does for {HEAVIEST_G:g} g.")
    while enough - bad > 1:
        middle = (bad + enough) // 2
        if good(middle):
            enough = middle
        else:
            bad = middle
    return enough * MASS_STEP_G


def smallest_mix_by_share(
    formula: Formula, readability_g: float, *, allowed: float = ALLOWED_CHANGE, way: Way = "cumulative"
) -> float:
    """The smallest mix, in g, in which the balance never changes the smallest toner's amount by more than this share.

    It answers "is the formula in the cup?", whatever the colour would forgive: see `smallest_mix`.

    Parameters
    ----------
    formula, readability_g, way : as for `scatter`
    allowed : part of the smallest toner's amount, above 0 and up to 1

    >>> from refinishlib.shop.shop import load
    >>> barn = load().colour("Chalk Barn, as built")
    >>> round(smallest_mix_by_share(barn, 0.1))
    400
    """
    return scale.smallest_mix(min(formula.weights) / sum(formula.weights), readability_g, allowed, way)


def smallest_mix(
    formula: Formula,
    readability_g: float,
    *,
    recipe_is_kept: bool = False,
    way: Way = "cumulative",
    conditions: Conditions = USUAL,
    lamps: Sequence[Lamp] | None = None,
) -> SmallestMix:
    """How little of a colour may be mixed on this balance.

    Parameters
    ----------
    formula, readability_g, way, conditions, lamps : as for `scatter`
    recipe_is_kept : whether the cup stands for a recipe: it is tinted and the grams are carried over to more paint, or
        written down for the next time. What a small toner is off then comes back in the large mix, even where the eye
        forgives it here.

    Raises
    ------
    BadEntry : as for `scatter`; a balance that is too coarse for any mix

    >>> from refinishlib.shop.shop import load
    >>> ferry = load().colour("Night Ferry, as built")
    >>> for_a_card, as_a_recipe = (smallest_mix(ferry, 0.1, recipe_is_kept=kept) for kept in (False, True))
    >>> for_a_card.mass_g, as_a_recipe.mass_g
    (5.0, 100.0)
    """
    by_colour = smallest_mix_by_colour(formula, readability_g, way=way, conditions=conditions, lamps=lamps)
    by_share = smallest_mix_by_share(formula, readability_g, way=way)
    if recipe_is_kept:
        least = max(by_colour, by_share)
        why = (
            f"The cup stands for a recipe: from {least:.0f} g each toner is within {ALLOWED_CHANGE:.0%} of its amount."
        )
    else:
        least = by_colour
        why = f"Only the colour of this paint counts: from {least:.0f} g the balance does not show in it."
        if by_share > by_colour:
            why += f" Do not carry its grams over to more paint: as a recipe it would need {by_share:.0f} g."
    return SmallestMix(by_colour, by_share, least, why)


def _scatter(
    formula: Formula, poured_g: NDArray[Any], conditions: Conditions, lamps: Sequence[Lamp] | None
) -> PourScatter:
    worst = np.sort(consequence(formula, poured_g, conditions=conditions, lamps=lamps).max(axis=(-2, -1)))
    return PourScatter(worst, float(np.median(worst)), float(np.percentile(worst, PERCENT)))


def _poured(formula: Formula, mass_g: float, readability_g: float, way: Way, tries: int, seed: int) -> NDArray[Any]:
    """True grams of each toner, (tries, toners)."""
    one_of("way of pouring", way, WAYS)
    meant = np.array(to_mass(formula.parts, mass_g).own_g)
    count = whole("tries", tries, low=1, high=MOST_TRIES)
    dice = np.random.default_rng(seed).uniform(-0.5, 0.5, (count, len(meant))) * readability_g
    if way == "tared":
        return np.maximum(on_scale(meant, readability_g) + dice, 0)
    shown = on_scale(meant.cumsum(), readability_g) + dice
    return np.maximum(np.diff(shown, prepend=0.0, axis=-1), 0)
