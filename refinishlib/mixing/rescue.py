"""What to do when too much was poured: pour the others after it, as far as the cup holds it, or leave it as it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from refinishlib.entry import BadEntry, number, numbers
from refinishlib.mixing.scale import FINEST_DECIMALS, LARGEST_MIX_G, Parts, to_mass


@dataclass(frozen=True)
class Finish:
    """One way to finish a pour from what is in the cup, in pouring order, exact before rounding.

    in_cup_g : what is in the cup now
    add_g : what still goes in, never below 0
    reading_g : what a scale that was never tared shows after each addition, made in pouring order
    own_g : what is in the cup at the end
    share_error_percent : change of each toner's share of the mix against the formula, in percent of that share
    total_g : everything in the cup at the end
    wanted_g : what the job asked for
    needed_g : the total at which every ratio is right again
    fits : whether the ratios come right within the cup
    surplus_cost : of the paint above wanted_g, in the shop's own money; None without prices
    """

    names: tuple[str, ...]
    in_cup_g: tuple[float, ...]
    add_g: tuple[float, ...]
    reading_g: tuple[float, ...]
    own_g: tuple[float, ...]
    share_error_percent: tuple[float, ...]
    total_g: float
    wanted_g: float
    needed_g: float
    fits: bool
    surplus_cost: float | None

    @property
    def surplus_g(self) -> float:
        """Paint that the job does not need; 0 if there is none."""
        return max(0.0, self.total_g - self.wanted_g)


def rescue(
    parts: Parts,
    in_cup_g: Sequence[float],
    wanted_g: float,
    *,
    cup_g: float = inf,
    price_per_g: Mapping[str, float] | Sequence[float] | None = None,
) -> Finish:
    """Pour the other toners after the one that went over, until every ratio is right again.

    Works in the middle of the pour and after several slips: the toner that went over the furthest for its share sets
    the new total. If the cup is too small for that, the cup is filled so that all toners that are not over keep their
    ratios to each other, which leaves the smallest error that this cup allows (`fits` is then False).

    Parameters
    ----------
    parts : (toner, parts by weight) in pouring order
    in_cup_g : what is in the cup of each toner now, 0 for those not yet poured
    wanted_g : what the job asked for
    cup_g : what the cup holds
    price_per_g : of each toner, by name or in pouring order, in the shop's own money

    Raises
    ------
    BadEntry : a value out of range, or a cup that holds less than is in it already

    Source
    ------
    Mass balance: nothing leaves the cup, so the new total is the largest of (in the cup / share) over all toners.

    >>> plan = rescue([("white", 60), ("red oxide", 30), ("jet black", 10)], [120, 66, 0], 200)
    >>> [round(g, 6) for g in plan.add_g], round(plan.total_g, 6), round(plan.surplus_g, 6)
    ([12.0, 0.0, 22.0], 220.0, 20.0)
    """
    names, share, in_cup, wanted = _checked(parts, in_cup_g, wanted_g)
    poured = float(in_cup.sum())
    cup = inf if cup_g == inf else number("cup", cup_g, low=0, above_low=True, unit="g")
    brim = cup * (1 + 1e-9)  # a cup that is just full is not too full for a float's last digit
    if brim < poured:
        raise BadEntry(f"cup: {cup:g} g was given, allowed is {poured:g} g or more, which is in it already.")
    needed = max(wanted, float((in_cup / share).max()))
    fits = needed <= brim
    level = needed if fits else _level_for(in_cup, share, cup)
    return _finished(names, share, in_cup, np.maximum(in_cup, level * share), wanted, needed, fits, price_per_g)


def accept(
    parts: Parts,
    in_cup_g: Sequence[float],
    wanted_g: float,
    *,
    price_per_g: Mapping[str, float] | Sequence[float] | None = None,
) -> Finish:
    """Leave what went over as it is and pour the rest as first planned: each toner's share error is what it costs.

    Parameters and errors as in `rescue`.

    >>> plan = accept([("white", 60), ("red oxide", 30), ("jet black", 10)], [120, 66, 0], 200)
    >>> [round(p, 2) for p in plan.share_error_percent], plan.total_g
    ([-2.91, 6.8, -2.91], 206.0)
    """
    names, share, in_cup, wanted = _checked(parts, in_cup_g, wanted_g)
    needed = max(wanted, float((in_cup / share).max()))
    own = np.maximum(in_cup, wanted * share)
    return _finished(names, share, in_cup, own, wanted, needed, needed <= wanted * (1 + 1e-9), price_per_g)


def from_readings(readings_g: Sequence[float], toners: int, *, tared: bool = False) -> tuple[float, ...]:
    """What is in the cup of each toner, from what the scale showed after each pour so far.

    Parameters
    ----------
    readings_g : one reading for each toner poured so far, in pouring order
    toners : how many toners the formula has
    tared : whether the scale was tared before each pour

    Raises
    ------
    BadEntry : more readings than toners, a negative one, or one that is lower than the one before it

    >>> from_readings([120.0, 186.0], 3)
    (120.0, 66.0, 0.0)
    """
    readings = numbers("reading", readings_g, low=0, unit="g", shape=(None,))
    if len(readings) > toners:
        raise BadEntry(f"readings: {len(readings)} were given, allowed are up to {toners}, one for each toner.")
    own = readings if tared else np.diff(readings, prepend=0.0)
    if (own < 0).any():
        low = int(np.argmax(own < 0))
        before, given = readings[low - 1], readings[low]
        raise BadEntry(f"reading: {given:g} g was given, allowed is the reading before it, {before:g} g, or more.")
    return (*np.round(own, FINEST_DECIMALS).tolist(), *[0.0] * (toners - len(readings)))


def price_per_gram(price_per_litre: float, density_g_per_ml: float) -> float:
    """Price of a gram of a toner that is sold by the litre.

    >>> price_per_gram(96.0, 0.96)
    0.1
    """
    price = number("price", price_per_litre, low=0, unit="per litre")
    return price / (1000 * number("density", density_g_per_ml, low=0, above_low=True, unit="g/mL"))


def _checked(
    parts: Parts, in_cup_g: Sequence[float], wanted_g: float
) -> tuple[tuple[str, ...], NDArray[np.float64], NDArray[np.float64], float]:
    plan = to_mass(parts, wanted_g)
    in_cup = numbers("in the cup", in_cup_g, low=0, high=LARGEST_MIX_G, unit="g", shape=(len(plan.names),))
    return plan.names, np.asarray(plan.own_g) / sum(plan.own_g), in_cup, float(wanted_g)


def _level_for(in_cup: NDArray[np.float64], share: NDArray[np.float64], cup: float) -> float:
    """The total to which toners not yet over it are poured, so that the cup is just full.

    Everything in the cup as a function of that level is made of straight pieces that meet at in_cup / share.
    """
    order = np.argsort(in_cup / share)
    over = in_cup[order]
    # With the first k toners poured up to the level, the rest staying as they are: sum = level x shares + rest.
    level = (cup - (over.sum() - over.cumsum())) / share[order].cumsum()
    reaches = level >= (in_cup / share)[order]
    return float(level[np.flatnonzero(reaches)[-1]]) if reaches.any() else 0.0


def _finished(
    names: tuple[str, ...],
    share: NDArray[np.float64],
    in_cup: NDArray[np.float64],
    own: NDArray[np.float64],
    wanted: float,
    needed: float,
    fits: bool,
    price_per_g: Mapping[str, float] | Sequence[float] | None,
) -> Finish:
    own = np.where(np.isclose(own, in_cup, rtol=1e-12, atol=0), in_cup, own)
    total = float(own.sum())
    cost = None
    if price_per_g is not None:
        given = [price_per_g[n] for n in names] if isinstance(price_per_g, Mapping) else price_per_g
        prices = numbers("price", given, low=0, unit="per g", shape=(len(names),))
        cost = max(0.0, float(((own - wanted * share) * prices).sum()))
    add = own - in_cup
    return Finish(
        names=names,
        in_cup_g=tuple(in_cup.tolist()),
        add_g=tuple(add.tolist()),
        reading_g=tuple((in_cup.sum() + add.cumsum()).tolist()),
        own_g=tuple(own.tolist()),
        share_error_percent=tuple((100 * (own / total / share - 1)).tolist()),
        total_g=total,
        wanted_g=wanted,
        needed_g=needed,
        fits=bool(fits),
        surplus_cost=cost,
    )
