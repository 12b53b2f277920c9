"""Honest doubt: how sure a verdict is, given that spots, pours and coats scatter.

A reading is of a few spots, a balance shows tenths of a gram, no hand lays the same coat twice. All of that is carried
to the verdict by Monte Carlo, each scatter as first-order shifts of the colour. The verdict is then said plainly, or
with *probably* before it, or not at all: *measure again*. What one more spot or card would buy is told beside it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import optics, predict, reading, search, tolerance
from refinishlib.colour.conditions import USUAL, Conditions
from refinishlib.colour.hand import READABILITY_G, Hand, pulls
from refinishlib.colour.lamp import Lamp
from refinishlib.colour.reading import Reading
from refinishlib.colour.stage import Finish
from refinishlib.colour.tolerance import VERDICTS, Tolerance
from refinishlib.entry import number, numbers, whole
from refinishlib.shop.paint import Toner

MEASURE_AGAIN = "measure again"
PANEL, CARD, POUR, SPRAYING = "the panel's reading", "the card's reading", "the pour", "the spraying"
SURE = 0.95
PROBABLE = 0.67
SPOT = (0.25, 0.1, 0.1)
TRIES = 2000
FEWEST_TRIES = 300
MOST_TRIES = 100_000
AHEAD = 60
LEFT = 240
STEP = 0.25
OF_A_STEP = 12**-0.5
PERCENT = (2.5, 97.5)

SOURCES = {
    "MEASURE_AGAIN": "definition: what is said where no verdict is likely enough",
    "PANEL": "definition: a cause of doubt",
    "CARD": "definition: a cause of doubt",
    "POUR": "definition: a cause of doubt",
    "SPRAYING": "definition: a cause of doubt",
    "SURE": "teaching value: 19 times of 20 it is said plainly",
    "PROBABLE": "teaching value: two times of three it is said with a probably",
    "SPOT": "teaching value: standard deviation of L*, a*, b* from spot to spot, where only one was read",
    "TRIES": "teaching value: a probability of a half is then known to about 0.01",
    "FEWEST_TRIES": "teaching value: limit of entry, AHEAD and LEFT together",
    "MOST_TRIES": "teaching value: limit of entry",
    "AHEAD": "teaching value: outcomes of a further reading that are played through",
    "LEFT": "teaching value: tries of the doubt that is left after each of them",
    "STEP": "teaching value: share of a standard deviation by which a slope is felt",
    "OF_A_STEP": "JCGM 101 (2008), 6.4.2: standard deviation of an even distribution, as a share of its width",
    "PERCENT": "definition: the middle 95 of 100",
}


@dataclass(frozen=True, eq=False)
class Scatter:
    """Something that makes a colour differ from time to time.

    name : in words
    shifts : what one standard deviation of each independent cause does to CIELAB, (causes, angles, 3)
    """

    name: str
    shifts: NDArray[np.float64]


@dataclass(frozen=True)
class Buy:
    """What one more reading or card would do.

    right : chance that the verdict then said to be the likeliest is the true one; today's is `Doubted.right`
    settles : chance that the verdict could then be said plainly
    """

    what: str
    right: float
    settles: float


@dataclass(frozen=True, eq=False)
class Doubted:
    """A verdict with its doubt.

    said : what may be said: a verdict, "probably" and a verdict, or "measure again"
    verdict : the likeliest
    chances : of the three VERDICTS, (3,)
    worst_deg : the angle that decides
    difference, interval : there, as read, and what 19 of 20 tries lie between
    comes_from : each scatter with the standard deviation that it alone makes of that difference, largest first
    buys : what one more spot of the panel, of the card, or one more card would buy, the best first
    why : in a sentence
    """

    said: str
    verdict: str
    chances: NDArray[np.float64]
    worst_deg: int
    difference: float
    interval: tuple[float, float]
    comes_from: tuple[tuple[str, float], ...]
    buys: tuple[Buy, ...]
    why: str

    @property
    def right(self) -> float:
        """Chance that the likeliest verdict is the true one."""
        return float(self.chances.max())


def deviation(one: Reading, spot: ArrayLike = SPOT) -> NDArray[np.float64]:
    """Standard uncertainty of a reading, (angles, 3): of the mean of its spots, its own doubt, or else of one spot.

    >>> from refinishlib.colour.reading import average, from_lab
    >>> spots = [from_lab({45: (60.0, 0.0, 0.0)}), from_lab({45: (62.0, 0.0, 0.0)})]
    >>> deviation(average(spots)).tolist(), deviation(spots[0]).tolist()
    ([[1.0, 0.0, 0.0]], [[0.25, 0.1, 0.1]])
    """
    own = np.zeros_like(one.lab) if one.doubt is None else one.doubt
    if one.spots is None:
        usual = np.broadcast_to(numbers("scatter of a spot", spot, low=0, shape=(3,)), one.lab.shape)
        return np.array(usual) if one.doubt is None else own
    found: NDArray[np.float64] = np.hypot(own, one.spots.std(axis=0, ddof=1) / np.sqrt(len(one.spots)))
    return found


def of_pour(
    toners: Sequence[Toner],
    cup_g: ArrayLike,
    *,
    readability_g: float = READABILITY_G,
    conditions: Conditions = USUAL,
) -> Scatter:
    """What rounding to the balance's step does to a colour, toner by toner.

    Parameters
    ----------
    toners, cup_g : grams of each, above 0 together, (toners,)
    readability_g : step of the balance, above 0
    conditions : of the card

    Source
    ------
    JCGM 101 (2008), 6.4.2: rounding is even over one step, whose standard deviation is the step / sqrt(12).

    >>> from refinishlib.shop.shop import load
    >>> barn = load().colour("Chalk Barn, as built")
    >>> of_pour(barn.toners, barn.weights).shifts.shape
    (4, 5, 3)
    """
    cup = numbers("grams in the cup", cup_g, low=0, unit="g", shape=(len(toners),))
    deviation = number("readability", readability_g, low=0, above_low=True, unit="g") * OF_A_STEP
    moved = np.vstack([cup, cup + STEP * deviation * np.eye(len(cup))])
    lab = predict.lab(optics.mixture(toners, moved), conditions)[:, 0]
    return Scatter(POUR, (lab[1:] - lab[0]) / STEP)


def of_spraying(finish: Finish, hand: Hand | None = None, *, conditions: Conditions = USUAL) -> Scatter:
    """What a hand does to a colour from card to card: film, how the flakes lie, and the undercoat's grey.

    Parameters
    ----------
    finish : a formula or a mix in its usual coats, or stages
    hand : assumed, or measured on ten panels
    conditions : as meant

    >>> from refinishlib.shop.shop import load
    >>> silver, black = (of_spraying(load().colour(f"{name}, as built")) for name in ("Millrace Silver", "Night Ferry"))
    >>> bool(np.abs(silver.shifts).max() > 10 * np.abs(black.shifts).max())
    True
    """
    painter = hand or Hand()
    shifts = [getattr(painter, cause) * change for cause, change in pulls(finish, conditions).items()]
    return Scatter(SPRAYING, np.stack(shifts))


def doubted(
    panel: Reading,
    card: Reading,
    allowed: Tolerance,
    *,
    scatters: Iterable[Scatter] = (),
    spot: ArrayLike = SPOT,
    lamp: Lamp | None = None,
    tries: int = TRIES,
    seed: int = 0,
) -> Doubted:
    """The verdict on a card, with how sure it is.

    Parameters
    ----------
    panel, card : readings; the averages of spots bring their own scatter, a reading in words its own doubt
    allowed : `tolerance.of_kind(paint.kind)`
    scatters : of the card, besides its reading, at the angles in common: `of_pour` and `of_spraying` where the question
        is what the panel will look like, none where it is this card alone
    spot : standard deviation of L*, a*, b* of a single spot, where nothing better is known, (3,) or (angles, 3)
    lamp : D65 if not given
    tries, seed : how often, and where the dice start

    Notes
    -----
    The mean of n spots with residuals r is shifted by sum(r_i g_i) / sqrt(n (n - 1)), g normal, times the root of
    (n - 1) / chi squared: each of its values then has the t distribution with n - 1 degrees of freedom, and what
    the spots did together stays together. Two spots therefore say very little.

    Source
    ------
    JCGM 101 (2008): Monte Carlo propagation; 6.4.9 for the t distribution of a mean of few readings.

    >>> from refinishlib.colour.reading import from_lab
    >>> from refinishlib.colour.tolerance import of_kind
    >>> panel, card = from_lab({45: (50.0, 0.0, 0.0)}), from_lab({45: (50.8, 0.0, 0.0)})
    >>> [doubted(panel, card, of_kind("metallic"), spot=(s, 0.05, 0.05)).said for s in (0.05, 0.15, 0.5)]
    ['goes edge to edge', 'probably goes edge to edge', 'measure again']
    """
    both = reading.in_common(panel, card)
    angles = both[0].angles_deg
    if lamp is None:
        reference, sample = (one.lab for one in both)
    else:
        reference, sample = (reading.lab_under(one, lamp) for one in both)
    count = whole("tries", tries, low=FEWEST_TRIES, high=MOST_TRIES)
    each_spot = np.broadcast_to(numbers("scatter of a spot", spot, low=0, shape=(3,)), (len(angles), 3))
    rng = np.random.default_rng(seed)
    draws, after = {}, {}
    for name, one in zip((PANEL, CARD), both, strict=True):
        draws[name], after[name] = _of_reading(one, each_spot, rng, count)
    for scatter in scatters:
        shifts = numbers(f"scatter of {scatter.name}", scatter.shifts, shape=(len(angles), 3))
        draws[scatter.name] = _times(rng.normal(size=(count, len(shifts))), shifts)
    whole_shift = sum(draws.values(), np.zeros((count, len(angles), 3)))
    apart = allowed.apart(reference, sample + whole_shift)
    chances = _chances(apart, angles, allowed)
    ruling = tolerance.rule(allowed.apart(reference, sample), angles, allowed)
    worst = angles.index(ruling.worst_deg)
    alone = {
        name: float(allowed.apart(reference[worst], sample[worst] + shift[:, worst]).std())
        for name, shift in draws.items()
    }
    comes_from = tuple(sorted(alone.items(), key=lambda item: -item[1]))
    likeliest = int(np.argmax(chances))
    said = _said(chances)
    low, high = np.percentile(apart[:, worst], PERCENT)
    why = (
        f"At {ruling.worst_deg} degrees {ruling.worst:.2f} was read, with doubt {low:.2f} to {high:.2f}, and "
        f"{ruling.limit:.2f} goes edge to edge"
    )
    why += "." if said in VERDICTS else f"; most of the doubt is {comes_from[0][0]}."
    buys: tuple[Buy, ...] = ()
    if said not in VERDICTS:
        shape, _ = search.ellipsoid(reference, sample, allowed.apart)
        buys = _buys(both, draws, after, (sample - reference, shape), allowed, chances)
    return Doubted(
        said=said,
        verdict=VERDICTS[likeliest],
        chances=chances,
        worst_deg=ruling.worst_deg,
        difference=ruling.worst,
        interval=(float(low), float(high)),
        comes_from=comes_from,
        buys=buys,
        why=why,
    )


def draws(one: Reading, *, spot: ArrayLike = SPOT, tries: int = TRIES, seed: int = 0) -> NDArray[np.float64]:
    """What a reading may be off by, drawn from its spots or its own doubt, CIELAB, (tries, angles, 3).

    Parameters
    ----------
    one : a reading, an average of spots, or what an eye says
    spot : standard deviation of L*, a*, b* of a single spot, (3,)
    tries, seed : how many, and where the dice start

    >>> from refinishlib.colour.reading import from_lab
    >>> off = draws(from_lab({45: (50.0, 0.0, 0.0)}))
    >>> off.shape, 0.23 < float(off[:, 0, 0].std()) < 0.27
    ((2000, 1, 3), True)
    """
    count = whole("tries", tries, low=1, high=MOST_TRIES)
    each = numbers("scatter from spot to spot", spot, low=0, shape=(3,))
    return _of_reading(one, each, np.random.default_rng(seed), count)[0]


def _of_reading(
    one: Reading, spot: NDArray[Any], rng: np.random.Generator, count: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Shifts of a reading's mean, and those that would be left after one more spot, each (count, angles, 3)."""
    shape = (count, *one.lab.shape)
    if one.spots is None:
        shift = rng.normal(size=shape) * (spot if one.doubt is None else one.doubt)
        return shift, np.sqrt(1 / 2) * shift
    residual, n = one.spots - one.lab, len(one.spots)
    chi = rng.chisquare(n - 1, count)
    # sum(r^2) / (n - 1) is the variance of a spot, sum(r^2) / (n (n - 1)) of their mean; Student's t with n - 1.
    shift = _times(rng.normal(size=(count, n)) / np.sqrt(n * chi)[:, None], residual)
    # With one more it is t with n, and the variance of a mean of n + 1.
    stays = np.sqrt(n**2 / (n**2 - 1) * chi / (chi + rng.chisquare(1, count)))
    own = 0.0 if one.doubt is None else rng.normal(size=shape) * one.doubt
    return shift + own, shift * stays[:, None, None] + own


def _times(dice: NDArray[Any], shifts: NDArray[Any]) -> NDArray[np.float64]:
    found: NDArray[np.float64] = (dice @ shifts.reshape(len(shifts), -1)).reshape(len(dice), *shifts.shape[1:])
    return found


def _chances(apart: NDArray[Any], angles: Sequence[int], allowed: Tolerance) -> NDArray[np.float64]:
    """Share of each verdict over the last but one axis, (..., 3)."""
    standing = tolerance.standing(apart, angles, allowed)
    return np.stack([(standing == which).mean(axis=-1) for which in range(len(VERDICTS))], axis=-1)


def _said(chances: NDArray[Any]) -> str:
    likeliest = int(np.argmax(chances))
    if chances[likeliest] >= SURE:
        return VERDICTS[likeliest]
    return f"probably {VERDICTS[likeliest]}" if chances[likeliest] >= PROBABLE else MEASURE_AGAIN


def _buys(
    both: tuple[Reading, Reading],
    draws: dict[str, NDArray[Any]],
    after: dict[str, NDArray[Any]],
    near: tuple[NDArray[Any], NDArray[Any]],
    allowed: Tolerance,
    chances: NDArray[Any],
) -> tuple[Buy, ...]:
    """What one more reading would do, played through: what it may show, and the doubt then left.

    Of a scatter s whose mean of n becomes one of n + 1, sqrt(1 / (n + 1)) s is shown by the new one, the rest stays.
    `after` has the shifts of the two readings that would be left. The difference formula is taken as the ellipsoid that
    it is near the panel.
    """
    step, shape = near
    angles = both[0].angles_deg
    n_panel, n_card = (1 if one.spots is None else len(one.spots) for one in both)
    others = [name for name in draws if name not in (PANEL, CARD, POUR)]
    options = {
        f"one more {_look(both[0])} the panel": (n_panel, [PANEL]),
        f"one more {_look(both[1])} the card": (n_card, [CARD]),
    }
    if others:
        options["one more card"] = (1, [CARD, *others])
    # Each shift as the lengths it adds: ((card - panel) + shift) M, with d^2 = |.|^2.
    stretched = {name: search.stretched(shift[: AHEAD + LEFT], shape) for name, shift in draws.items()}
    rest = {name: np.sqrt(1 / 2) * shift for name, shift in stretched.items()}
    rest |= {name: search.stretched(shift[: AHEAD + LEFT], shape) for name, shift in after.items()}
    start = search.stretched(step, shape)

    def right(seen: NDArray[Any], left: NDArray[Any]) -> NDArray[np.float64]:
        apart = np.sqrt(np.square(seen[:, None] + left).sum(axis=-1))
        worst: NDArray[np.float64] = _chances(apart, angles, allowed).max(axis=-1)
        return worst

    # The same dice for today and for each option, so that their luck cancels.
    none = np.zeros(both[0].lab.shape)
    today = float(right(start[None], sum((shift[AHEAD:] for shift in stretched.values()), none))[0])
    found = []
    for what, (n, of) in options.items():
        seen = sum((np.sqrt(1 / (n + 1)) * stretched[name][:AHEAD] for name in of), start)
        then = right(seen, sum(((rest if name in of else stretched)[name][AHEAD:] for name in stretched), none))
        gain = max(0.0, float(then.mean()) - today)
        found.append(Buy(what, min(1.0, float(chances.max()) + gain), float((then >= SURE).mean())))
    return tuple(sorted(found, key=lambda buy: -buy.right))


def _look(one: Reading) -> str:
    return "spot of" if one.doubt is None else "look at"
