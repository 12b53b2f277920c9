"""What a whole job takes and costs: work, booth hours, paint, abrasives and sundries, in the shop's own money."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from refinishlib.booth.clock import LONGEST_STEP_MIN
from refinishlib.booth.hours import Hours, ZoneArea, job_minutes
from refinishlib.booth.quantity import Bill
from refinishlib.entry import number

SANDS = (
    "strip to bare metal",
    "featheredge",
    "sand the filler",
    "sand",
    "edge by hand",
    "sand for the blend",
    "edge for the blend",
    "denib and polish",
)


@dataclass(frozen=True)
class Price:
    """What a job takes and costs.

    minutes : of work, task by task
    booth_min : in the booth, whoever works meanwhile
    discs : of abrasive, whole ones
    paint, abrasives, sundries, labour, booth : in the shop's own money
    """

    minutes: Mapping[str, float]
    booth_min: float
    discs: int
    paint: float
    abrasives: float
    sundries: float
    labour: float
    booth: float

    @property
    def work_min(self) -> float:
        return math.fsum(self.minutes.values())

    @property
    def money(self) -> float:
        """The sum of all."""
        return math.fsum((self.paint, self.abrasives, self.sundries, self.labour, self.booth))


@dataclass(frozen=True)
class Added:
    """What one way of doing a job takes and costs more than another."""

    work_min: float
    booth_min: float
    paint: float
    money: float

    @property
    def sentence(self) -> str:
        return (
            f"It adds {self.work_min:.0f} min of work, {self.booth_min:.0f} min in the booth, {self.paint:.2f} of "
            f"paint, and {self.money:.2f} in all."
        )


def price(
    hours: Hours,
    tasks: Iterable[str],
    areas: Sequence[ZoneArea],
    *,
    bill: Bill | None = None,
    booth_min: float = 0.0,
    grades: dict[str, float] | None = None,
) -> Price:
    """What a job takes and costs.

    Parameters
    ----------
    hours : the shop's own working times and rates
    tasks : of the job
    areas : of each panel it is done on; with none, no task is done at all
    bill : of the paint; nothing if not given
    booth_min : minutes that the job is in the booth, such as a clock's, 0 or more
    grades : for a task, how many papers it takes; one if not said

    Raises
    ------
    BadEntry : an unknown task, or a value out of range

    Source
    ------
    Plain sums over the shop's own numbers.

    >>> from refinishlib.booth.hours import shop_hours
    >>> sanding = price(shop_hours(), ["sand"], [ZoneArea(1.0, 0.0, 0.0)], grades={"sand": 2.0})
    >>> sanding.work_min, sanding.discs, round(sanding.labour, 2)
    (24.0, 4, 27.2)
    """
    papers = grades or {}
    rates = hours.rates
    minutes = job_minutes(hours, tasks, areas, grades=papers) if areas else {}
    booth = number("time in the booth", booth_min, low=0, high=LONGEST_STEP_MIN, unit="min")
    discs = sum(
        math.ceil(papers.get(task, 1)) * math.ceil(worked / rates.disc_m2)
        for task in minutes
        if task in SANDS and (worked := _worked_m2(hours, task, areas)) > 0
    )
    return Price(
        minutes,
        booth,
        discs,
        bill.cost if bill else 0.0,
        discs * rates.disc,
        math.fsum(area.m2 for area in areas) * rates.sundries_per_m2,
        math.fsum(minutes.values()) / 60 * rates.labour_per_hour,
        booth / 60 * rates.booth_per_hour,
    )


def added(before: Price, after: Price) -> Added:
    """What the second takes and costs more than the first: the price of a wrong step.

    >>> from refinishlib.booth.hours import shop_hours
    >>> once, twice = (price(shop_hours(), ["clear"], [ZoneArea(1.0, 0.0, 0.0)] * n) for n in (1, 2))
    >>> added(once, twice).work_min
    3.0
    """
    return Added(
        after.work_min - before.work_min,
        after.booth_min - before.booth_min,
        after.paint - before.paint,
        after.money - before.money,
    )


def _worked_m2(hours: Hours, task: str, areas: Sequence[ZoneArea]) -> float:
    row = hours.tasks[task]
    zones = ((area.flat_m2, row.flat) for area in areas)
    crowns = ((area.crown_m2, row.crown) for area in areas)
    edges = ((area.edge_m2, row.edge) for area in areas)
    return math.fsum(m2 for zone in (zones, crowns, edges) for m2, minutes in zone if minutes)
