"""The grit ladder: from the scratch that is there to the scratch that the next coat can hide."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from refinishlib.entry import BadEntry, number
from refinishlib.prep.grades import Grade, grade, grades

COARSE_JUMP = 2.5
FINE_JUMP = 2.0
TURN = "P180"
LARGEST_JUMP = 100.0
ROUNDING = 1e-9

SOURCES = {
    "COARSE_JUMP": "common practice, no source: do not skip more than one usual grade, as a ratio of grain sizes",
    "FINE_JUMP": "common practice, no source: do not skip more than one usual grade, as a ratio of grain sizes",
    "TURN": "common practice, no source: from here on the finer rule holds",
    "ROUNDING": "definition: what floating point may take from a ratio that is just allowed",
    "LARGEST_JUMP": "teaching value: a ratio beyond it is a typing error",
}


def allowed_jump(name: str, *, coarse_jump: float = COARSE_JUMP, fine_jump: float = FINE_JUMP) -> float:
    """The largest ratio of grain sizes from this grade to the next one.

    Source
    ------
    Common practice: coarser than P180 a step may be 2.5 times finer, from P180 on 2 times.

    >>> allowed_jump("P80"), allowed_jump("P180")
    (2.5, 2.0)
    """
    coarse, fine = _jumps(coarse_jump, fine_jump)
    return coarse if grade(name).grain_um > grade(TURN).grain_um else fine


def ladder(
    start: str,
    finish: str,
    *,
    shelf: Iterable[str] | None = None,
    coarse_jump: float = COARSE_JUMP,
    fine_jump: float = FINE_JUMP,
) -> tuple[Grade, ...]:
    """The shortest row of papers in which no step leaves scratches that the next cannot remove.

    A step from grains a to grains b is allowed if a/b is at most the jump. Of the ladders with the fewest steps it
    gives the one with the finer step first. It ends with the finish, or, if that is not on the shelf, with the next
    finer grade that is.

    Parameters
    ----------
    start : grade of the scratch that is there; it is not a step of the ladder
    finish : coarsest grade whose scratch the next coat can hide
    shelf : names of the grades at hand, of either scale; None for all P grades
    coarse_jump, fine_jump : largest ratio of grain sizes coarser than P180, and from P180 on; above 1, up to 100

    Returns
    -------
    the grades to sand with, in order; nothing if the start is as fine as the finish already, though the next coat
    may still want a scuffed surface to hold on to

    Raises
    ------
    BadEntry : a grade that does not exist, an empty shelf, a jump out of range, or a gap in the shelf that no allowed
        step gets across

    Source
    ------
    Common practice for the jump; the search is exact.

    >>> [step.name for step in ladder("P80", "P320")]
    ['P180', 'P320']
    >>> [step.name for step in ladder("P180", "P800", shelf=["P180", "P240", "P320", "P400", "P500", "P600", "P800"])]
    ['P320', 'P600', 'P800']
    """
    jumps = _jumps(coarse_jump, fine_jump)
    if isinstance(shelf, str) or not isinstance(shelf, Iterable | None):
        raise BadEntry(f"shelf: {shelf!r} was given, allowed is a list of grades.")
    here, goal = grade(start), grade(finish)
    if here.grain_um <= goal.grain_um:
        return ()
    way = _ways(None if shelf is None else tuple(grade(name).name for name in shelf), finish, *jumps)
    next_step, steps = way.onward(here)
    if steps == math.inf:
        stuck = way.before_gap(here)
        raise BadEntry(
            f"shelf: nothing at hand removes the scratches of {stuck.name}, "
            f"allowed is a next grade with grains of {way.finest_next_um(stuck):.3g} um or more."
        )
    found = [next_step]
    while found[-1]:
        found.append(way.next_step[found[-1]])
    return tuple(way.row[index] for index in found)


@dataclass(frozen=True)
class _Ways:
    """The grades at hand from the last step of a ladder upwards, fine to coarse, and the way down from each.

    next_step : place of the next grade; 0 is the last step
    steps : number of papers after this one; infinite before a gap
    """

    row: list[Grade]
    sizes: list[float]
    jumps: tuple[float, float]
    next_step: list[int]
    steps: list[float]

    def finest_next_um(self, here: Grade) -> float:
        return here.grain_um / self.jumps[here.grain_um <= grade(TURN).grain_um] * (1 - ROUNDING)

    def onward(self, here: Grade) -> tuple[int, float]:
        """Place of the next grade and the number of papers from there on, itself among them."""
        end = bisect_left(self.sizes, here.grain_um, 0, len(self.steps))
        reach = bisect_left(self.sizes, self.finest_next_um(here), 0, end)
        fewest = min(self.steps[reach:end], default=math.inf)
        return (self.steps.index(fewest, reach) if reach < end else end), fewest + 1

    def before_gap(self, here: Grade) -> Grade:
        """The finest grade that can be reached."""
        reached = [here]
        for finer in reversed(self.row):
            if finer.grain_um < here.grain_um and any(self.finest_next_um(g) <= finer.grain_um for g in reached):
                reached.append(finer)
        return reached[-1]


@lru_cache(maxsize=1000)
def _ways(shelf: tuple[str, ...] | None, finish: str, coarse_jump: float, fine_jump: float) -> _Ways:
    goal = grade(finish)
    at_hand = sorted({grade(name) for name in (grades("P") if shelf is None else shelf)})
    if not at_hand:
        raise BadEntry("shelf: nothing was given, allowed is at least one grade.")
    sizes = [g.grain_um for g in at_hand]
    last = at_hand.index(goal) if goal in at_hand else bisect_right(sizes, goal.grain_um) - 1
    if last < 0:
        raise BadEntry(f"shelf: {at_hand[0].name} is the finest, allowed is a shelf that has {goal.name} or finer.")
    ways = _Ways(at_hand[last:], sizes[last:], (coarse_jump, fine_jump), [0], [0])
    for here in ways.row[1:]:
        next_step, steps = ways.onward(here)
        ways.next_step.append(next_step)
        ways.steps.append(steps)
    return ways


def _jumps(coarse_jump: float, fine_jump: float) -> tuple[float, float]:
    return (
        number("jump coarser than P180", coarse_jump, low=1, high=LARGEST_JUMP, above_low=True),
        number("jump from P180 on", fine_jump, low=1, high=LARGEST_JUMP, above_low=True),
    )
