"""A pour as it goes: what comes next, what was poured, what is in the cup."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from refinishlib.entry import BadEntry, number, one_of
from refinishlib.mixing.rescue import Finish
from refinishlib.mixing.scale import FINEST_DECIMALS, WAYS, Way, on_scale


@dataclass(frozen=True)
class Step:
    """One toner to pour.

    toner : its place in the formula, from 0
    exact_g : mass to add, before rounding
    add_g : the same as the scale can show it
    cumulative_g : everything in the cup when it is in, as the scale can show it
    tared : whether the scale is set to zero before it
    """

    toner: int
    name: str
    exact_g: float
    add_g: float
    cumulative_g: float
    tared: bool

    @property
    def reading_g(self) -> float:
        """What the scale shows when the toner is in."""
        return self.add_g if self.tared else self.cumulative_g

    @property
    def from_g(self) -> float:
        """What the scale shows before the toner goes in."""
        return 0.0 if self.tared else round(self.cumulative_g - self.add_g, FINEST_DECIMALS)


@dataclass(frozen=True)
class Made:
    """One pour that was made.

    own_g : mass that went in; a pour that hit its reading counts as exact, so that rounding is never rescued
    add_g, cumulative_g : what went in, and everything in the cup, as the scale can show it
    off_g : how much more (or, below 0, less) than the step asked for
    """

    toner: int
    name: str
    own_g: float
    add_g: float
    cumulative_g: float
    off_g: float

    @property
    def over_g(self) -> float:
        """How much too much went in; 0 if not."""
        return max(0.0, self.off_g)


def steps(plan: Finish, readability_g: float, way: Way = "cumulative") -> tuple[Step, ...]:
    """The pours that are left, in pouring order, as the scale can show them.

    A toner of which less than half a step of the scale is missing is left out.

    Parameters
    ----------
    plan : how the pour is to be finished, from `rescue` or `accept`
    readability_g : the step of the scale's last digit, above 0
    way : "cumulative" or "tared"

    >>> from refinishlib.mixing.rescue import rescue
    >>> plan = rescue([("white", 60), ("red oxide", 30), ("jet black", 10)], [120, 66, 0], 200)
    >>> [(step.name, step.add_g, step.reading_g) for step in steps(plan, 0.1)]
    [('white', 12.0, 198.0), ('jet black', 22.0, 220.0)]
    """
    tared = one_of("way of pouring", way, WAYS) == "tared"
    left = [k for k, add in enumerate(plan.add_g) if add >= readability_g / 2]
    exact = np.array([plan.add_g[k] for k in left])
    start = sum(plan.in_cup_g)
    if tared:
        add = on_scale(exact, readability_g)
        cumulative = on_scale(start, readability_g) + add.cumsum()
    else:
        shown = on_scale(np.concatenate([[start], start + exact.cumsum()]), readability_g)
        add, cumulative = np.diff(shown), shown[1:]
    return tuple(
        Step(k, plan.names[k], plan.add_g[k], float(own), float(together), tared)
        for k, own, together in zip(
            left, np.round(add, FINEST_DECIMALS), np.round(cumulative, FINEST_DECIMALS), strict=True
        )
    )


def made(step: Step, reading_g: float | None = None, *, readability_g: float = 0.0) -> Made:
    """The pour of a step, from what the scale showed after it; None if it showed what it should.

    A difference below half a step of the scale is none: no such scale can have shown it.

    Parameters
    ----------
    readability_g : the step of the scale's last digit; 0 takes every difference as it is

    Raises
    ------
    BadEntry : a reading below what stood on the scale before

    >>> step = Step(toner=1, name="red oxide", exact_g=60.04, add_g=60.0, cumulative_g=180.0, tared=False)
    >>> made(step).own_g, round(made(step, 186.0).own_g, 6), made(step, 186.0).off_g
    (60.04, 66.04, 6.0)
    >>> made(step, 180.04, readability_g=0.1) == made(step)
    True
    """
    reading = step.reading_g if reading_g is None else number("scale shows", reading_g, unit="g")
    if reading < step.from_g:
        raise BadEntry(
            f"scale shows: {reading:g} g was given, allowed is {step.from_g:g} g or more, which was on it before."
        )
    off = round(reading - step.reading_g, FINEST_DECIMALS)
    if abs(off) < readability_g / 2:
        off = 0.0
    return Made(
        toner=step.toner,
        name=step.name,
        own_g=max(0.0, step.exact_g + off),
        add_g=round(step.add_g + off, FINEST_DECIMALS),
        cumulative_g=round(step.cumulative_g + off, FINEST_DECIMALS),
        off_g=off,
    )


def in_cup(pours: Sequence[Made], toners: int) -> tuple[float, ...]:
    """What is in the cup of each toner, g.

    >>> in_cup([Made(1, "rose", 5.0, 5.0, 5.0, 0.0), Made(0, "white", 2.0, 2.0, 7.0, 0.0)], 3)
    (2.0, 5.0, 0.0)
    """
    own = [0.0] * toners
    for pour in pours:
        own[pour.toner] += pour.own_g
    return tuple(own)
