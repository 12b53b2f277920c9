"""Working time: minutes from area, zone and passes by plain sums, with a shop's own numbers where it has them.

No table of allowances is behind it. Every number stands in hours.toml, is a teaching value, and can be replaced by a
file of the shop's own. Time in which nobody works, while a film flashes or cures, is the booth clock's.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from refinishlib.entry import number, one_of
from refinishlib.shop.faults import Field, read
from refinishlib.shop.vehicle import Panel

MINUTES_MAX = 600.0
PASSES_MAX = 100.0
MONEY_MAX = 10000.0
AREA_MAX_M2 = 50.0

SOURCES = {
    "MINUTES_MAX": "teaching value: range of an entry",
    "PASSES_MAX": "teaching value: range of an entry",
    "MONEY_MAX": "teaching value: range of an entry",
    "AREA_MAX_M2": "teaching value: range of an entry, more than one vehicle",
}


@dataclass(frozen=True)
class Rates:
    """What an hour and a disc cost, in the shop's own money.

    disc, disc_m2 : a disc of one grade, and the area it lasts for
    sundries_per_m2 : cleaner, cloths, tape and film to a square metre of panel
    """

    labour_per_hour: float
    booth_per_hour: float
    disc: float
    disc_m2: float
    sundries_per_m2: float


@dataclass(frozen=True)
class TaskTime:
    """Minutes of one task: set-up once, then for each square metre of a zone and pass."""

    name: str
    set_up: float
    flat: float
    crown: float
    edge: float
    passes: float


@dataclass(frozen=True)
class Hours:
    """A shop's own working times and rates."""

    rates: Rates
    tasks: dict[str, TaskTime]


@dataclass(frozen=True)
class ZoneArea:
    """What of a panel is worked on, in square metres of each zone, each 0-50."""

    flat_m2: float
    crown_m2: float
    edge_m2: float

    @property
    def m2(self) -> float:
        return math.fsum((self.flat_m2, self.crown_m2, self.edge_m2))


@cache
def shop_hours() -> Hours:
    """The demo shop's own working times and rates.

    >>> shop_hours().tasks["sand"].passes
    4.0
    """
    return read_hours((files(__package__) / "hours.toml").read_text(encoding="utf-8"), file="hours.toml")


def read_hours(text: str, *, file: str = "the text") -> Hours:
    """Working times of a TOML text such as hours.toml.

    Raises
    ------
    BadEntry : one line for each fault, with its line number

    >>> read_hours("source = 'mine'")
    Traceback (most recent call last):
        ...
    refinishlib.entry.BadEntry: the text, line 1: rates is missing.
    the text, line 1: task is missing.
    """
    rates = (
        Field("source", str),
        *(Field(name, low=0, high=MONEY_MAX) for name in ("labour_per_hour", "booth_per_hour", "disc")),
        Field("disc_m2", low=0, above_low=True, high=AREA_MAX_M2, unit="m2"),
        Field("sundries_per_m2", low=0, high=MONEY_MAX),
    )
    task = (
        Field("name", str, unique=True),
        *(Field(name, low=0, high=MINUTES_MAX, unit="min") for name in ("set_up", "flat", "crown", "edge")),
        Field("passes", low=0, high=PASSES_MAX),
    )
    fields = (Field("source", str), Field("rates", fields=rates), Field("task", fields=task, many=True))
    data: dict[str, Any] = read(text, fields, file=file)
    money = {key: value for key, value in data["rates"].items() if key != "source"}
    return Hours(Rates(**money), {row["name"]: TaskTime(**row) for row in data["task"]})


def panel_area(panel: Panel, share: float = 1.0) -> ZoneArea:
    """The zones of a panel, or of a share of it.

    Parameters
    ----------
    panel : with its area and the shares of its zones
    share : how much of it is worked on, 0-1

    Raises
    ------
    BadEntry : a share out of range

    >>> from refinishlib.shop.shop import load
    >>> bonnet = load().vehicle.panel("bonnet")
    >>> round(panel_area(bonnet).m2, 3), round(panel_area(bonnet, 0.5).flat_m2, 4)
    (1.45, 0.5075)
    """
    area = panel.area_m2 * number("share of the panel", share, low=0, high=1)
    return ZoneArea(area * panel.flat, area * panel.crown, area * panel.edge)


def task_minutes(
    hours: Hours, task: str, areas: Iterable[ZoneArea], *, passes: float | None = None, grades: float = 1
) -> float:
    """Minutes of one task over some panels: set-up once, plus area x minutes x passes of each zone.

    Parameters
    ----------
    hours : the shop's own
    task : its name
    areas : of each panel
    passes : times over; the shop's usual number if not given, 0-100
    grades : papers that make these passes one after the other, 1-100

    Raises
    ------
    BadEntry : an unknown task, or a value out of range

    >>> task_minutes(shop_hours(), "sand", [ZoneArea(1.0, 0.0, 0.0)], passes=4)   # 4 + 1.0 x 2.5 x 4
    14.0
    """
    row = hours.tasks[one_of("task", task, hours.tasks)]
    times = row.passes if passes is None else number("passes", passes, low=0, high=PASSES_MAX)
    times *= number("papers", grades, low=1, high=PASSES_MAX)
    worked = math.fsum(
        number("area", m2, low=0, high=AREA_MAX_M2, unit="m2") * minutes
        for area in areas
        for m2, minutes in ((area.flat_m2, row.flat), (area.crown_m2, row.crown), (area.edge_m2, row.edge))
    )
    return row.set_up + worked * times


def job_minutes(
    hours: Hours, tasks: Iterable[str], areas: Sequence[ZoneArea], *, grades: dict[str, float] | None = None
) -> dict[str, float]:
    """Minutes of each task of a job, all over the same panels.

    Parameters
    ----------
    hours, areas : as for `task_minutes`
    tasks : names of tasks
    grades : for a task, how many papers it takes; one if not said

    Raises
    ------
    BadEntry : as `task_minutes`

    >>> job_minutes(shop_hours(), ["record", "flash the base"], [])
    {'record': 6.0, 'flash the base': 0.0}
    """
    papers = grades or {}
    return {task: task_minutes(hours, task, areas, grades=papers.get(task, 1)) for task in tasks}
