"""What a plan breaks, in a sentence with what to change; the changed plan; and the first start that breaks nothing."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from refinishlib.booth.climate import saturated_at_c, vapour_pressure_pa
from refinishlib.booth.clock import COAT_MIN, Finding, Layout, Plan, Step, labels, lay_out
from refinishlib.booth.day import HOTTEST_C, Air, heated, panel_warmed, steady_day
from refinishlib.booth.flash import SHEET_AIR_M_PER_S, drying_factor
from refinishlib.entry import BadEntry, number
from refinishlib.shop.product import SPEEDS, ProductSheet, hardener, reducer

SCAN_STEP_MIN = 10
SCAN_STARTS = 144
DRIED_PERCENT = 80.0
HOTTER_BAKE_C = 10.0

SOURCES = {
    "SCAN_STEP_MIN": "teaching value: a start every ten minutes",
    "SCAN_STARTS": "definition: the ten-minute steps of a day",
    "DRIED_PERCENT": "teaching value: air that is wetter should be heated before anything is sprayed",
    "HOTTER_BAKE_C": "common practice, no source: the air is set about ten degrees above the panel's bake",
}


@dataclass(frozen=True)
class Change:
    """One thing to change in a plan; `changed` does it.

    kind : slower reducer, faster reducer, slower hardener, quicker coat, smaller batch, heat, warm the panel,
        longer flash, sand, longer bake, hotter bake, wait, or another start
    words : the same as a painter says it
    to_c, speed : the temperature or the speed that goes with it
    """

    kind: str
    words: str
    step: int
    to_c: float = 0.0
    speed: str = ""


@dataclass(frozen=True)
class Break:
    """One limit that one step breaks, and what can be changed, the nearest to hand first."""

    step: int
    label: str
    rule: str
    given: float
    limit: float
    sentence: str
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class Row:
    """One step of the timeline, minutes after midnight."""

    label: str
    action: str
    begins_min: float
    ends_min: float


@dataclass(frozen=True)
class Clock:
    """The timeline of a job from one start, and all limits it breaks, in order of time."""

    rows: tuple[Row, ...]
    breaks: tuple[Break, ...]

    @property
    def ends_min(self) -> float:
        return self.rows[-1].ends_min


@dataclass(frozen=True)
class Scan:
    """One job from many starts: when each would end, how many limits it breaks, and the first that breaks none."""

    starts_min: tuple[float, ...]
    ends_min: tuple[float, ...]
    breaks: tuple[int, ...]
    first_min: float | None


def booth_clock(plan: Plan) -> Clock:
    """The job of a plan as a timeline, with every limit that a step breaks and what to change.

    Parameters
    ----------
    plan : steps, day, start, closing time, bake, material

    Raises
    ------
    BadEntry : a step that cannot be where it is, or a value outside its range, naming the step

    Source
    ------
    `refinishlib.booth.clock` and the rooms it stands on.

    >>> from refinishlib.booth.clock import Coating, steps_for
    >>> from refinishlib.booth.day import steady_day
    >>> from refinishlib.shop.product import product
    >>> clock = booth_clock(Plan(steps_for([Coating(product("clear"))]), steady_day(31, 40)))
    >>> print(clock.breaks[0].sentence)
    clear, coat 1: the air has 31.0 degrees C, the normal reducer is meant for up to 26; use the slow reducer, or wait.
    """
    layout = lay_out(plan, np.array([number("start", plan.start_min)]))
    names = labels(plan.steps)
    times = zip(layout.begins[:, 0].tolist(), layout.ends[:, 0].tolist(), strict=True)
    rows = tuple(Row(name, step.action, *span) for name, step, span in zip(names, plan.steps, times, strict=True))
    broken = [finding for finding in layout.findings if finding.broken.any()]
    return Clock(rows, tuple(_break(plan, names[finding.step], finding) for finding in broken))


def spray_now(
    sheet: ProductSheet,
    air_c: float,
    humidity_percent: float,
    surface_c: float | None = None,
    *,
    air_m_per_s: float = SHEET_AIR_M_PER_S,
    reducer: str = "normal",
    coat_min: float | None = None,
) -> tuple[Break, ...]:
    """What speaks against spraying one coat of a product in this air; nothing if it may be sprayed.

    Parameters
    ----------
    sheet : the product
    air_c, humidity_percent : of the booth, 0-50 degrees C and 1-100 %
    surface_c : of the panel, 0-50 degrees C; as warm as the air if not given
    air_m_per_s : over the panel, 0-10 m/s
    reducer : what is mixed in: fast, normal, slow, or the name of a tin
    coat_min : minutes the coat takes to spray; the shop's usual time if not given

    Raises
    ------
    BadEntry : a value outside its range

    Source
    ------
    The sheet's window; ISO 8502-4 (2017) for the panel.

    >>> from refinishlib.shop.product import product
    >>> [found.rule for found in spray_now(product("clear"), 21, 60, surface_c=14)]
    ['dew point']
    """
    steps = (Step("mix", sheet, 0, reducer=reducer), Step("coat", sheet, coat_min, reducer=reducer))
    return booth_clock(Plan(steps, steady_day(air_c, humidity_percent, surface_c, air_m_per_s))).breaks


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
    >>> from refinishlib.shop.product import product
    >>> scan_starts(Plan(steps_for([Coating(product("clear"))]), SPRING_DAY)).first_min
    540.0
    """
    if starts_min is None:
        starts = np.arange(SCAN_STARTS) * float(SCAN_STEP_MIN)
    else:
        starts = np.asarray(list(starts_min), dtype=float)
    layout = lay_out(plan, starts)
    breaks = _breaks(layout)
    good = np.flatnonzero(breaks == 0)
    first = float(starts[good[0]]) if len(good) else None
    return Scan(tuple(starts.tolist()), tuple(layout.ends[-1].tolist()), tuple(breaks.tolist()), first)


def changed(plan: Plan, change: Change) -> Plan:
    """The plan with one change made.

    Raises
    ------
    BadEntry : to wait, or to take another start, on a day without one that breaks nothing
    """
    steps, at = list(plan.steps), change.step
    step = steps[at]
    if change.kind in ("slower reducer", "faster reducer", "slower hardener"):
        for n, other in enumerate(steps):
            if step.sheet and other.sheet and other.sheet.name == step.sheet.name:
                hardens = change.kind == "slower hardener"
                steps[n] = replace(other, hardener=change.speed) if hardens else replace(other, reducer=change.speed)
    elif change.kind == "smaller batch":
        steps.insert(at, Step("mix", step.sheet, hardener=step.hardener, reducer=step.reducer))
    elif change.kind == "quicker coat":
        found = [f for f in lay_out(plan, np.array([plan.start_min])).findings if f.rule == "wet edge" and f.step == at]
        steps[at] = replace(step, minutes=found[0].limit.item())
    elif change.kind == "sand":
        steps.insert(at, Step("sand"))
    elif change.kind == "longer flash":
        if steps[at - 1].action == "flash":
            steps[at - 1] = replace(steps[at - 1], minutes=None)
        else:
            steps.insert(at, Step("flash"))
    elif change.kind == "longer bake":
        steps[at] = replace(step, minutes=None)
    elif change.kind == "hotter bake":
        return replace(plan, bake_air_c=change.to_c)
    elif change.kind == "heat":
        return replace(plan, day=heated(plan.day, change.to_c))
    elif change.kind == "warm the panel":
        return replace(plan, day=panel_warmed(plan.day, change.to_c))
    else:
        now = plan.start_min if change.kind == "wait" else 0
        first = scan_starts(plan, np.arange(now, SCAN_STARTS * SCAN_STEP_MIN, SCAN_STEP_MIN)).first_min
        if first is None:
            raise BadEntry("start: none of this day keeps every limit, allowed is another day or another change.")
        return replace(plan, start_min=first)
    return replace(plan, steps=tuple(steps))


def _breaks(layout: Layout) -> np.ndarray:
    broken = np.zeros(layout.ends.shape[1], dtype=int)
    for finding in layout.findings:
        broken += finding.broken
    return broken


def _break(plan: Plan, name: str, finding: Finding) -> Break:
    given, limit = finding.given.item(), finding.limit.item()
    what, changes = _words(plan, finding, given, limit)
    todo = ", or ".join(change.words for change in changes)
    return Break(finding.step, name, finding.rule, given, limit, f"{name}: {what}; {todo}.", changes)


def _words(plan: Plan, finding: Finding, given: float, limit: float) -> tuple[str, tuple[Change, ...]]:
    """What is wrong, and what to change."""
    step, at = plan.steps[finding.step], finding.step
    sheet = step.sheet
    air_c, humidity = float(finding.air.air_c[0]), float(finding.air.humidity_percent[0])
    wait = Change("wait", "wait", at)

    def heat(to_c: float) -> tuple[Change, ...]:
        to_c = math.ceil(to_c)
        return (Change("heat", f"heat the booth to {to_c} degrees C", at, to_c),) if to_c <= HOTTEST_C else ()

    def speed(part: str, pace: str) -> tuple[Change, ...]:
        others = _other_speeds(sheet, part, getattr(step, part), slower=pace == "slower") if sheet else []
        if part == "reducer" and sheet:
            others = [other for other in others if _suits(sheet, step, finding.air, other, pace)]
        return tuple(Change(f"{pace} {part}", f"use the {other} {part}", at, speed=other) for other in others[:1])

    match finding.rule:
        case "too cold":
            return f"the air has {given:.1f} degrees C, the sheet allows {limit:g} and more", (*heat(limit), wait)
        case "too hot":
            return f"the air has {given:.1f} degrees C, the sheet allows up to {limit:g}", (wait,)
        case "reducer too slow":
            return (
                f"the air has {given:.1f} degrees C, the {step.reducer} reducer is meant for {limit:g} and more",
                (*speed("reducer", "faster"), *heat(limit), wait),
            )
        case "reducer too fast":
            return (
                f"the air has {given:.1f} degrees C, the {step.reducer} reducer is meant for up to {limit:g}",
                (*speed("reducer", "slower"), wait),
            )
        case "too dry":
            return f"the air has {given:.1f} % humidity, the sheet allows {limit:g} and more", (wait,)
        case "too humid":
            to_c = _dry_enough_c(air_c, humidity, limit)
            return f"the air has {given:.1f} % humidity, the sheet allows up to {limit:g}", (*heat(to_c), wait)
        case "dew point":
            to_c = math.ceil(limit)
            warm = (Change("warm the panel", f"warm the panel to {to_c} degrees C", at, to_c),)
            return (
                f"the panel has {given:.1f} degrees C, three above the dew point are {limit:.1f}",
                (*(warm if to_c <= HOTTEST_C else ()), wait),
            )
        case "wet edge":
            return (
                f"the coat takes {given:.1f} min and stays open {limit:.1f} min",
                (*speed("reducer", "slower"), Change("quicker coat", "spray less at a time or with two guns", at)),
            )
        case "pot life":
            again = Change("smaller batch", "mix smaller batches, a fresh one before this coat", at)
            return (
                f"the batch is {given:.1f} min old at its end and lives {limit:.1f} min",
                (again, *speed("hardener", "slower")),
            )
        case "flash":
            if np.isinf(limit):
                to_c = _dry_enough_c(air_c, humidity, DRIED_PERCENT)
                return "the coat before never flashes in air this full of water", (*heat(to_c), wait)
            return (
                f"the coat before has flashed {given:.1f} min and needs {limit:.1f}",
                (Change("longer flash", f"let it flash {math.ceil(limit - given)} min longer", at),),
            )
        case "recoat":
            sand = Change("sand", "sand it again", at)
            if limit == 0:
                return "the coat before is cured and takes no other without sanding", (sand,)
            return (
                f"the coat before is {given:.1f} min old, it takes another without sanding up to {limit:.1f} min",
                (sand,),
            )
        case "bake":
            if np.isinf(limit):
                to_c = plan.bake_air_c + HOTTER_BAKE_C
                hotter = Change("hotter bake", f"set the air to {to_c:.0f} degrees C", at, to_c)
                return f"air of {plan.bake_air_c:g} degrees C never brings the panel to its bake", (hotter,)
            return (
                f"it is planned for {given:.1f} min and needs {limit:.1f}, counted from the panel's own temperature",
                (Change("longer bake", f"give it {math.ceil(limit - given)} min more", at),),
            )
    return f"it ends {given - limit:.1f} min after closing", (Change("another start", "start at another time", at),)


def _suits(sheet: ProductSheet, step: Step, air: Air, speed: str, pace: str) -> bool:
    """Whether a reducer is meant for this air, and a faster one leaves the coat open while it is sprayed."""
    tin, now = reducer(sheet, speed), air.air_c.item()
    if tin is None or not tin.air_c[0] <= now <= tin.air_c[1]:
        return False
    if pace == "slower":
        return True
    dries = drying_factor(
        sheet, now, air.humidity_percent.item(), air.air_m_per_s, reducer_speed=speed, film_ratio=step.film_ratio
    )
    return (COAT_MIN if step.minutes is None else step.minutes) <= sheet.wet_edge_min * float(dries)


def _other_speeds(sheet: ProductSheet, part: str, now: str, *, slower: bool) -> list[str]:
    """The speeds that the sheet has in the wanted direction, the next one first."""
    tins, used = (sheet.reducers, reducer(sheet, now)) if part == "reducer" else (sheet.hardeners, hardener(sheet, now))
    if used is None:
        return []
    there, at = {tin.speed for tin in tins}, SPEEDS.index(used.speed)
    return [speed for speed in (SPEEDS[at + 1 :] if slower else SPEEDS[:at][::-1]) if speed in there]


def _dry_enough_c(air_c: float, humidity: float, wanted: float) -> float:
    """Temperature at which this air, heated, has the wanted humidity."""
    return float(saturated_at_c(vapour_pressure_pa(air_c, humidity) * 100 / wanted))
