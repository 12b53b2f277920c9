"""The grit ladder: from the scratch that is there to the scratch that the next coat can hide."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from functools import cache

from refinishlib.entry import BadEntry, number
from refinishlib.prep.grades import Grade, grade, grades

COARSE_JUMP = 2.5
FINE_JUMP = 2.0
TURN = "P180"
LARGEST_JUMP = 100.0

SOURCES = {
    "COARSE_JUMP": "common practice, no source: do not skip more than one usual grade, as a ratio of grain sizes",
    "FINE_JUMP": "common practice, no source: do not skip more than one usual grade, as a ratio of grain sizes",
    "TURN": "common practice, no source: from here on the finer rule holds",
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
    return _limits([grade(name)], coarse_jump, fine_jump)[0]


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
    here, goal = grade(start), grade(finish)
    if here.grain_um <= goal.grain_um:
        return ()
    at_hand = _all_p() if shelf is None else tuple(sorted({grade(name) for name in shelf}))
    if not at_hand:
        raise BadEntry("shelf: nothing was given, allowed is at least one grade.")
    sizes = [g.grain_um for g in at_hand]
    last = at_hand.index(goal) if goal in at_hand else bisect_right(sizes, goal.grain_um) - 1
    if last < 0:
        raise BadEntry(f"shelf: {at_hand[0].name} is the finest, allowed is a shelf that has {goal.name} or finer.")
    row = [*at_hand[last : bisect_left(sizes, here.grain_um)], here]
    return _shortest(row, _limits(row, coarse_jump, fine_jump))


def _shortest(row: list[Grade], limits: list[float]) -> tuple[Grade, ...]:
    """The way from the last grade of the row to its first. The row runs from fine to coarse."""
    sizes = [g.grain_um for g in row]
    steps: list[float] = [0]
    onward = [0]
    for index in range(1, len(row)):
        reach = bisect_left(sizes, sizes[index] / limits[index], 0, index)
        fewest = min(steps[reach:], default=math.inf)
        onward.append(steps.index(fewest, reach) if reach < index else index)
        steps.append(fewest + 1)
    if steps[-1] == math.inf:
        stuck = _before_gap(sizes, limits)
        raise BadEntry(
            f"shelf: nothing at hand removes the scratches of {row[stuck].name}, "
            f"allowed is a next grade with grains of {sizes[stuck] / limits[stuck]:.3g} um or more."
        )
    way = [onward[-1]]
    while way[-1]:
        way.append(onward[way[-1]])
    return tuple(row[index] for index in way)


def _before_gap(sizes: list[float], limits: list[float]) -> int:
    """Place of the finest grade that can be reached from the last one."""
    reached = [len(sizes) - 1]
    for index in reversed(range(len(sizes) - 1)):
        if any(sizes[other] / limits[other] <= sizes[index] for other in reached):
            reached.append(index)
    return reached[-1]


def _limits(row: Sequence[Grade], coarse_jump: float, fine_jump: float) -> list[float]:
    coarse = number("jump coarser than P180", coarse_jump, low=1, high=LARGEST_JUMP, above_low=True)
    fine = number("jump from P180 on", fine_jump, low=1, high=LARGEST_JUMP, above_low=True)
    turn_um = grade(TURN).grain_um
    return [coarse if g.grain_um > turn_um else fine for g in row]


@cache
def _all_p() -> tuple[Grade, ...]:
    return tuple(sorted(grades("P").values()))
