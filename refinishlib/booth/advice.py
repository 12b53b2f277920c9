"""What a plan breaks, harm first, in a sentence with what to change; the changed plan; the starts that break nothing.

Nothing here is a permission. Where no limit is broken the record says just that, and the cautions stand.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import NoReturn

import numpy as np

from refinishlib.booth.breaks import Break, Change, clock_time, told
from refinishlib.booth.cautions import Caution, for_tasks
from refinishlib.booth.clock import (
    RULES,
    BoothStep,
    Layout,
    Plan,
    labels,
    lay_out,
)
from refinishlib.booth.day import heated, panel_warmed, steady_day
from refinishlib.booth.flash import SHEET_AIR_M_PER_S
from refinishlib.entry import BadEntry, number
from refinishlib.shop.product import ProductSheet

SCAN_STEP_MIN = 10
SCAN_STARTS = 144

SOURCES = {
    "SCAN_STEP_MIN": "teaching value: a start every ten minutes",
    "SCAN_STARTS": "definition: the ten-minute steps of a day",
}

# The task of the order of work, with its cautions, that a coat of each kind of product is.
COAT_TASKS = {
    "epoxy": "epoxy primer",
    "corrosion protection": "etch primer",
    "primer-surfacer": "primer-surfacer",
    "sealer": "sealer",
    "solvent base": "base",
    "water-borne base": "base",
    "clear": "clear",
    "plastic adhesion promoter": "adhesion promoter",
}
STEP_TASKS = {"mix": "mix", "sand": "sand", "bake": "cure", "air dry": "cure", "unmask": "unmask"}
NOTHING_BROKEN = "No limit of the sheet is broken. That is no leave to spray: the cautions stand."


@dataclass(frozen=True)
class Row:
    """One step of the timeline, minutes after midnight."""

    label: str
    action: str
    begins_min: float
    ends_min: float
    part: str = ""


@dataclass(frozen=True)
class Checked:
    """What work was held against, and what of it is broken. It is no yes and no no, and cannot be asked as one.

    breaks : harm first, then in order of time
    cautions : of each task that the work has, whether or not anything is broken
    """

    breaks: tuple[Break, ...]
    cautions: dict[str, tuple[Caution, ...]]

    @property
    def sentence(self) -> str:
        """The first thing to know: the first break, or that no limit is broken, which is not the same as leave."""
        return self.breaks[0].sentence if self.breaks else NOTHING_BROKEN

    def __bool__(self) -> NoReturn:
        raise TypeError("what was held is no yes or no: read its breaks and its cautions")


@dataclass(frozen=True)
class Clock:
    """The timeline of a job from one start, and what it was held against.

    dust_free_min : for each part, when its last coat no longer takes up dust, minutes after midnight
    """

    rows: tuple[Row, ...]
    checked: Checked
    dust_free_min: dict[str, float]

    @property
    def breaks(self) -> tuple[Break, ...]:
        return self.checked.breaks

    @property
    def ends_min(self) -> float:
        return max(row.ends_min for row in self.rows)


@dataclass(frozen=True)
class Scan:
    """One job from many starts: when each would end, and how many limits it breaks.

    first_min, last_min : the first and the last start that break none and end before closing; None where there is none
    sentence : the same in words
    """

    starts_min: tuple[float, ...]
    ends_min: tuple[float, ...]
    breaks: tuple[int, ...]
    first_min: float | None
    last_min: float | None

    @property
    def sentence(self) -> str:
        if self.first_min is None or self.last_min is None:
            return "No start of this day keeps every limit."
        return (
            f"From {clock_time(self.first_min)} to {clock_time(self.last_min)} there are starts that break no limit of "
            f"the sheets; {clock_time(self.last_min)} is the latest that still fits. {NOTHING_BROKEN}"
        )


def booth_clock(plan: Plan) -> Clock:
    """The job of a plan as a timeline, with every limit that a step breaks and what to change, harm first.

    Parameters
    ----------
    plan : steps, day, start, opening and closing time, bake, material

    Raises
    ------
    BadEntry : a step that cannot be where it is, or a value outside its range, naming the step

    Source
    ------
    `refinishlib.booth.clock` and the rooms it stands on.

    >>> from refinishlib.booth.clock import Coating, steps_for
    >>> from refinishlib.booth.day import steady_day
    >>> from refinishlib.shop.shop import load
    >>> clock = booth_clock(Plan(steps_for([Coating(load().product("clear"))]), steady_day(31, 40)))
    >>> print(clock.checked.sentence)
    clear, coat 1: the air has 31.0 degrees C, the normal reducer is meant for up to 26; use the slow reducer.
    """
    layout = lay_out(plan, [number("start", plan.start_min)])
    names = labels(plan.steps)
    times = zip(layout.begins[:, 0].tolist(), layout.ends[:, 0].tolist(), strict=True)
    rows = tuple(
        Row(name, step.action, *span, step.part) for name, step, span in zip(names, plan.steps, times, strict=True)
    )
    broken = [finding for finding in layout.findings if finding.broken.any()]
    broken.sort(key=lambda finding: (not finding.harm, finding.step, RULES.index(finding.rule)))
    dust_free = {part: float(when[0]) for part, when in layout.dust_free.items()}
    breaks = tuple(told(plan, names[finding.step], finding) for finding in broken)
    return Clock(rows, Checked(breaks, cautions_of(plan.steps)), dust_free)


def cautions_of(steps: Sequence[BoothStep]) -> dict[str, tuple[Caution, ...]]:
    """The cautions of every task that the steps of a booth clock are, mixing and cleaning the gun among them.

    >>> from refinishlib.booth.clock import Coating, steps_for
    >>> from refinishlib.shop.shop import load
    >>> list(cautions_of(steps_for([Coating(load().product("clear"))])))
    ['mix', 'clear', 'cure', 'clean the gun']
    """
    tasks: dict[str, None] = {}
    for step in steps:
        if step.action == "coat" and step.sheet is not None:
            tasks[COAT_TASKS[step.sheet.kind]] = None
        elif step.action in STEP_TASKS:
            tasks[STEP_TASKS[step.action]] = None
    if any(step.action == "coat" for step in steps):
        tasks["clean the gun"] = None
    return for_tasks(tasks)


def spray_now(
    sheet: ProductSheet,
    air_c: float,
    humidity_percent: float,
    surface_c: float | None = None,
    *,
    air_m_per_s: float = SHEET_AIR_M_PER_S,
    reducer: str = "normal",
    coat_min: float | None = None,
    film_ratio: float = 1.0,
) -> Checked:
    """What speaks against spraying one coat of a product in this air, harm first, and the cautions that always stand.

    Parameters
    ----------
    sheet : the product
    air_c, humidity_percent : of the booth, 0-50 degrees C and 1-100 %
    surface_c : of the panel, 0-50 degrees C; as warm as the air if not given
    air_m_per_s : that the booth's extraction moves over the panel, 0-10 m/s
    reducer : what is mixed in: fast, normal, slow, or the name of a tin
    coat_min : minutes the coat takes to spray; the shop's usual time if not given
    film_ratio : wet film to that of the sheet

    Raises
    ------
    BadEntry : a value outside its range

    Source
    ------
    The sheet's window; ISO 8502-4 (2017) for the panel.

    >>> from refinishlib.shop.shop import load
    >>> [found.rule for found in spray_now(load().product("clear"), 21, 60, surface_c=14, air_m_per_s=0).breaks]
    ['no extraction', 'dew point']
    """
    coat = BoothStep("coat", sheet, coat_min, reducer=reducer, film_ratio=film_ratio)
    steps = (BoothStep("mix", sheet, 0, reducer=reducer), coat)
    return booth_clock(Plan(steps, steady_day(air_c, humidity_percent, surface_c, air_m_per_s))).checked


def scan_starts(plan: Plan, starts_min: Iterable[float] | None = None) -> Scan:
    """The job of a plan from many starts of its day.

    Parameters
    ----------
    plan : its own start does not count
    starts_min : minutes after midnight; every ten minutes of the day if not given

    Raises
    ------
    BadEntry : as `booth_clock`

    >>> from refinishlib.booth.clock import Coating, steps_for
    >>> from refinishlib.booth.day import SPRING_DAY
    >>> from refinishlib.shop.shop import load
    >>> scan = scan_starts(Plan(steps_for([Coating(load().product("clear"))]), SPRING_DAY))
    >>> clock_time(scan.first_min), clock_time(scan.last_min)
    ('09:00', '16:50')
    """
    if starts_min is None:
        starts = np.arange(SCAN_STARTS) * float(SCAN_STEP_MIN)
    else:
        starts = np.asarray(list(starts_min), dtype=float)
    layout = lay_out(plan, starts)
    breaks = _breaks(layout)
    good = starts[breaks == 0].tolist()
    ends = layout.ends.max(axis=0)
    first, last = (good[0], good[-1]) if good else (None, None)
    return Scan(tuple(starts.tolist()), tuple(ends.tolist()), tuple(breaks.tolist()), first, last)


def changed(plan: Plan, change: Change) -> Plan:
    """The plan with one change made.

    Raises
    ------
    BadEntry : to wait, or to take another start, on a day without one that breaks nothing; another day; to ask
    """
    steps, place = list(plan.steps), change.step
    step = steps[place]
    if change.kind in ("slower reducer", "faster reducer", "slower hardener"):
        for n, other in enumerate(steps):
            if step.sheet and other.sheet and other.sheet.name == step.sheet.name:
                hardens = change.kind == "slower hardener"
                steps[n] = replace(other, hardener=change.speed) if hardens else replace(other, reducer=change.speed)
    elif change.kind == "smaller batch":
        steps.insert(place, BoothStep("mix", step.sheet, hardener=step.hardener, reducer=step.reducer))
    elif change.kind == "quicker coat":
        found = [f for f in lay_out(plan, [plan.start_min]).findings if f.rule == "wet edge" and f.step == place]
        steps[place] = replace(step, minutes=found[0].limit.item())
    elif change.kind == "sheet film":
        steps[place] = replace(step, film_ratio=1.0)
    elif change.kind == "longer cure":
        steps.insert(place, BoothStep("air dry", part=step.part))
        if plan.steps[place - 1].action in ("bake", "air dry"):
            steps[place - 1 : place + 1] = [replace(plan.steps[place - 1], minutes=None)]
    elif change.kind == "extraction":
        return replace(plan, day=replace(plan.day, air_m_per_s=SHEET_AIR_M_PER_S))
    elif change.kind == "cooler bake":
        return replace(plan, bake_air_c=change.to_c)
    elif change.kind == "sand":
        steps.insert(place, BoothStep("sand", part=step.part))
    elif change.kind == "longer flash":
        own = next((n for n in range(place - 1, -1, -1) if steps[n].part == step.part), 0)
        if steps[own].action == "flash":
            steps[own] = replace(steps[own], minutes=None)
        else:
            steps.insert(place, BoothStep("flash", part=step.part))
    elif change.kind == "longer bake":
        steps[place] = replace(step, minutes=None)
    elif change.kind == "hotter bake":
        return replace(plan, bake_air_c=change.to_c)
    elif change.kind == "heat":
        return replace(plan, day=heated(plan.day, change.to_c))
    elif change.kind == "warm the panel":
        return replace(plan, day=panel_warmed(plan.day, change.to_c))
    elif change.kind in ("wait", "another start"):
        now = plan.start_min if change.kind == "wait" else 0
        first = scan_starts(plan, np.arange(now, SCAN_STARTS * SCAN_STEP_MIN, SCAN_STEP_MIN)).first_min
        if first is None:
            raise BadEntry("start: none of this day keeps every limit, allowed is another day or another change.")
        return replace(plan, start_min=first)
    else:
        raise BadEntry(f"change: {change.words} was asked for, allowed is a change that this plan can make by itself.")
    return replace(plan, steps=tuple(steps))


def _breaks(layout: Layout) -> np.ndarray[tuple[int, ...], np.dtype[np.int_]]:
    broken = np.zeros(layout.ends.shape[1], dtype=int)
    for finding in layout.findings:
        broken += finding.broken
    return broken
