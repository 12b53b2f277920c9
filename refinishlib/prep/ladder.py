"""The grit ladder: from the scratch that is there to the scratch that the next coat can hide."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, lru_cache

from refinishlib.entry import BadEntry, whole
from refinishlib.prep.grades import Grade, grade, grades

# The papers that a shop has: to skip one of these on the way is usual, to skip two is a leap.
USUAL = (
    "P36", "P60", "P80", "P120", "P180", "P240", "P320", "P400", "P500", "P600", "P800", "P1000", "P1500", "P2000",
    "P3000",
)  # fmt: skip
SKIPPED = 1
MOST_SKIPPED = 9
# Beyond this ratio of grains no paper takes out the scratch of another, whatever lies between them.
LARGEST_RATIO = 2.5
ROUNDING = 1e-9

SOURCES = {
    "USUAL": "common practice, no source: the papers on the shelf of a shop that repairs and refinishes",
    "SKIPPED": "common practice, no source: no more than one usual paper is skipped",
    "MOST_SKIPPED": "teaching value: range of an entry",
    "LARGEST_RATIO": "common practice, no source: P80 to P180, the widest usual step, is a ratio of 2.45",
    "ROUNDING": "definition: what floating point may take from a ratio that is just allowed",
}


def skipped(coarse: str, fine: str) -> tuple[str, ...]:
    """The usual papers that lie between two grades.

    Raises
    ------
    BadEntry : a grade that does not exist

    >>> skipped("P150", "P360"), skipped("P320", "P500")
    (('P180', 'P240', 'P320'), ('P400',))
    """
    low, high = grade(fine).grain_um, grade(coarse).grain_um
    return tuple(name for name in USUAL if low < grade(name).grain_um < high)


def is_leap(coarse: str, fine: str, *, most_skipped: int = SKIPPED) -> bool:
    """Whether the step from one paper to the next leaves scratches that the next does not take out.

    Parameters
    ----------
    coarse, fine : grades
    most_skipped : usual papers that may be left out on the way, 0-9

    Raises
    ------
    BadEntry : a grade that does not exist, or a count outside its range

    Source
    ------
    Common practice, no source.

    >>> is_leap("P180", "P320"), is_leap("P360", "P800")
    (False, True)
    """
    most = whole("papers to skip", most_skipped, low=0, high=MOST_SKIPPED)
    return grade(fine).grain_um < _finest_next_um(grade(coarse), most)


def ladder(
    start: str,
    finish: str,
    *,
    shelf: Iterable[str] | None = None,
    most_skipped: int = SKIPPED,
) -> tuple[Grade, ...]:
    """The shortest row of papers in which no step leaves scratches that the next cannot remove.

    A step is allowed if it is no leap: it skips one usual paper at most. Of the ladders with the fewest steps it gives
    the one with the finer step first. It ends with the finish, or, if that is not on the shelf, with the next
    finer grade that is.

    Parameters
    ----------
    start : grade of the scratch that is there; it is not a step of the ladder
    finish : coarsest grade whose scratch the next coat can hide
    shelf : names of the grades at hand, of either scale; None for all P grades
    most_skipped : usual papers that a step may leave out, 0-9

    Returns
    -------
    the grades to sand with, in order; nothing if the start is as fine as the finish already, though the next coat
    may still want a scuffed surface to hold on to

    Raises
    ------
    BadEntry : a grade that does not exist, an empty shelf, a count out of range, or a gap in the shelf that no allowed
        step gets across

    Source
    ------
    Common practice for what may be skipped; the search is exact.

    >>> [step.name for step in ladder("P80", "P320")]
    ['P180', 'P320']
    >>> [step.name for step in ladder("P180", "P800", shelf=["P180", "P240", "P320", "P400", "P500", "P600", "P800"])]
    ['P320', 'P500', 'P800']
    """
    most = whole("papers to skip", most_skipped, low=0, high=MOST_SKIPPED)
    if isinstance(shelf, str) or not isinstance(shelf, Iterable | None):
        raise BadEntry(f"shelf: {shelf!r} was given, allowed is a list of grades.")
    here, goal = grade(start), grade(finish)
    if here.grain_um <= goal.grain_um:
        return ()
    way = _ways(None if shelf is None else tuple(grade(name).name for name in shelf), finish, most)
    next_step, steps = way.onward(here)
    if steps == math.inf:
        stuck = way.before_gap(here)
        raise BadEntry(
            f"shelf: nothing at hand removes the scratches of {stuck.name}, "
            f"allowed is a next grade with grains of {_finest_next_um(stuck, most):.3g} um or more."
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
    most_skipped: int
    next_step: list[int]
    steps: list[float]

    def onward(self, here: Grade) -> tuple[int, float]:
        """Place of the next grade and the number of papers from there on, itself among them."""
        end = bisect_left(self.sizes, here.grain_um, 0, len(self.steps))
        reach = bisect_left(self.sizes, _finest_next_um(here, self.most_skipped), 0, end)
        fewest = min(self.steps[reach:end], default=math.inf)
        return (self.steps.index(fewest, reach) if reach < end else end), fewest + 1

    def before_gap(self, here: Grade) -> Grade:
        """The finest grade that can be reached."""
        reached = [here]
        for finer in reversed(self.row):
            if finer.grain_um < here.grain_um and any(
                _finest_next_um(g, self.most_skipped) <= finer.grain_um for g in reached
            ):
                reached.append(finer)
        return reached[-1]


@lru_cache(maxsize=1000)
def _ways(shelf: tuple[str, ...] | None, finish: str, most_skipped: int) -> _Ways:
    goal = grade(finish)
    at_hand = sorted({grade(name) for name in (grades("P") if shelf is None else shelf)})
    if not at_hand:
        raise BadEntry("shelf: nothing was given, allowed is at least one grade.")
    sizes = [g.grain_um for g in at_hand]
    last = at_hand.index(goal) if goal in at_hand else bisect_right(sizes, goal.grain_um) - 1
    if last < 0:
        raise BadEntry(f"shelf: {at_hand[0].name} is the finest, allowed is a shelf that has {goal.name} or finer.")
    ways = _Ways(at_hand[last:], sizes[last:], most_skipped, [0], [0])
    for here in ways.row[1:]:
        next_step, steps = ways.onward(here)
        ways.next_step.append(next_step)
        ways.steps.append(steps)
    return ways


def _finest_next_um(here: Grade, most_skipped: int) -> float:
    """The smallest grain that may follow: past it, more usual papers are left out than may be."""
    finer = [size for size in _usual_um() if size < here.grain_um]
    by_ratio = here.grain_um / LARGEST_RATIO * (1 - ROUNDING)
    return max(finer[most_skipped], by_ratio) if most_skipped < len(finer) else by_ratio


@cache
def _usual_um() -> tuple[float, ...]:
    return tuple(grade(name).grain_um for name in USUAL)
