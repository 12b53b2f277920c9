"""What a broken limit of the booth clock means, in a sentence, and what can be changed, the nearest to hand first."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from refinishlib.booth.climate import SURFACE_MARGIN_C, dew_point_c, saturated_at_c, vapour_pressure_pa
from refinishlib.booth.clock import COAT_MIN, BoothStep, Finding, Plan
from refinishlib.booth.cure import HOTTEST_PART_C
from refinishlib.booth.day import Air, at
from refinishlib.booth.flash import drying_factor
from refinishlib.shop.product import AIR_C, SPEEDS, ProductSheet, Tin, hardener, reducer

LOOK_AHEAD_MIN = 10
DRIED_PERCENT = 80.0
HOTTER_BAKE_C = 10.0
MOST_TINS = 2

SOURCES = {
    "LOOK_AHEAD_MIN": "teaching value: a later hour is looked for every ten minutes",
    "DRIED_PERCENT": "teaching value: air that is wetter should be heated before anything is sprayed",
    "HOTTER_BAKE_C": "common practice, no source: the air is set about ten degrees above the panel's bake",
    "MOST_TINS": "teaching value: more than two tins to choose from is no advice",
}


@dataclass(frozen=True)
class Change:
    """One thing to change in a plan; `changed` does it.

    kind : slower reducer, faster reducer, slower hardener, quicker coat, smaller batch, heat, warm the panel,
        longer flash, sand, longer bake, hotter bake, cooler bake, extraction, sheet film, longer cure, wait,
        another start, another day, or ask
    words : the same as a painter says it
    to_c, speed : the temperature, or the speed or tin, that goes with it
    """

    kind: str
    words: str
    step: int
    to_c: float = 0.0
    speed: str = ""


@dataclass(frozen=True)
class Break:
    """One limit that one step breaks, and what can be changed, the nearest to hand first.

    harm : the limit is about people and vehicles; such breaks come before all others
    """

    step: int
    label: str
    rule: str
    given: float
    limit: float
    sentence: str
    changes: tuple[Change, ...]
    harm: bool


def clock_time(minutes: float) -> str:
    """Minutes after midnight as a clock shows them.

    >>> clock_time(545.4)
    '09:05'
    """
    hours, rest = divmod(round(minutes), 60)
    return f"{hours:02d}:{rest:02d}"


def told(plan: Plan, name: str, finding: Finding) -> Break:
    """A limit that is broken from the first start of a layout, in words.

    Parameters
    ----------
    plan : that was laid out
    name : label of the step
    finding : what was checked there
    """
    given, limit = finding.given.item(), finding.limit.item()
    what, changes = _words(plan, finding, given, limit)
    todo = ", or ".join(change.words for change in changes)
    sentence = f"{name}: {what}; {todo}."
    return Break(finding.step, name, finding.rule, given, limit, sentence, changes, finding.harm)


def _words(plan: Plan, finding: Finding, given: float, limit: float) -> tuple[str, tuple[Change, ...]]:
    """What is wrong, and what to change."""
    if finding.harm:
        return _harm_words(plan, finding, given, limit)
    if finding.rule in AIR_RULES:
        what, changes = _air_words(plan, finding, given, limit)
        changes = (*changes, *_later(plan, finding, limit))
        return what, changes or (Change("another day", "leave it for another day", finding.step),)
    return _step_words(plan, finding, given, limit)


def _harm_words(plan: Plan, finding: Finding, given: float, limit: float) -> tuple[str, tuple[Change, ...]]:
    at_step = finding.step
    if finding.rule == "no extraction":
        return (
            f"the air over the panel moves {given:.2f} m/s, and without extraction nothing with hardener or solvent is "
            "sprayed or left to dry",
            (Change("extraction", "get the booth's extraction to what its papers ask for first", at_step),),
        )
    if finding.rule == "battery":
        return (
            "the vehicle has a traction battery, and nobody has said how hot its maker lets it become",
            (Change("ask", "look up the maker's procedure, or bake the part off the vehicle", at_step),),
        )
    if finding.rule == "sanded soft" and math.isinf(limit):
        return (
            f"the coat never cures in air of {plan.bake_air_c:g} degrees C, and dust of a film that is not cured "
            "through still holds what hardens it",
            (_hotter(plan, at_step),),
        )
    if finding.rule == "sanded soft":
        longer = Change("longer cure", f"let it cure, {math.ceil(limit - given)} min more", at_step)
        return (
            f"the coat has had {given:.1f} min of a cure that takes {limit:.1f}, and dust of a film that is not cured "
            "through still holds what hardens it",
            (longer,),
        )
    whose = {
        "too hot for the vehicle": "the vehicle's maker allows",
        "too hot for the part": f"a part of {plan.material} takes",
        "too hot for the sheet": "the sheet allows",
    }[finding.rule]
    return (
        f"the air at bake has {given:g} degrees C, {whose} up to {limit:g}",
        (Change("cooler bake", f"bake at {limit:g} degrees C or less, and longer if the panel asks", at_step, limit),),
    )


AIR_RULES = ("too cold", "too hot", "reducer too slow", "reducer too fast", "too dry", "too humid", "dew point")


def _air_words(plan: Plan, finding: Finding, given: float, limit: float) -> tuple[str, tuple[Change, ...]]:
    step, at_step = plan.steps[finding.step], finding.step
    air_c, humidity = float(finding.air.air_c[0]), float(finding.air.humidity_percent[0])
    has = f"the air has {given:.1f} degrees C"
    match finding.rule:
        case "too cold":
            return f"{has}, the sheet allows {limit:g} and more", _heat(at_step, limit)
        case "too hot":
            return f"{has}, the sheet allows up to {limit:g}", ()
        case "reducer too slow":
            return (
                f"{has}, the {_tin_words(step.reducer)} is meant for {limit:g} and more",
                (*_other_reducers(step, at_step, finding.air, "faster"), *_heat(at_step, limit)),
            )
        case "reducer too fast":
            return (
                f"{has}, the {_tin_words(step.reducer)} is meant for up to {limit:g}",
                _other_reducers(step, at_step, finding.air, "slower"),
            )
        case "too dry":
            return f"the air has {given:.1f} % humidity, the sheet allows {limit:g} and more", ()
        case "too humid":
            return (
                f"the air has {given:.1f} % humidity, the sheet allows up to {limit:g}",
                _heat(at_step, _dry_enough_c(air_c, humidity, limit)),
            )
    to_c = math.ceil(limit)
    warm = (Change("warm the panel", f"warm the panel to {to_c} degrees C", at_step, to_c),)
    return (
        f"the panel has {given:.1f} degrees C, three above the dew point are {limit:.1f}",
        warm if to_c <= AIR_C[1] else (),
    )


def _step_words(plan: Plan, finding: Finding, given: float, limit: float) -> tuple[str, tuple[Change, ...]]:
    step, at_step = plan.steps[finding.step], finding.step
    match finding.rule:
        case "too thick":
            return (
                f"it is laid {given:g} times as wet as the sheet's coat, up to {limit:g} holds without running or "
                "shutting solvent in",
                (Change("sheet film", "lay the sheet's film, and one coat more if it takes more", at_step),),
            )
        case "too thin":
            return (
                f"it is laid {given:g} times as wet as the sheet's coat, from {limit:g} on it flows together",
                (Change("sheet film", "lay the sheet's film", at_step),),
            )
        case "wet edge":
            quicker = Change("quicker coat", "spray less at a time or with two guns", at_step)
            return (
                f"the coat takes {given:.1f} min and stays open {limit:.1f} min",
                (*_other_reducers(step, at_step, finding.air, "slower", must_stay_open=True), quicker),
            )
        case "pot life":
            again = Change("smaller batch", "mix smaller batches, a fresh one before this coat", at_step)
            return (
                f"the batch is {given:.1f} min old at its end and lives {limit:.1f} min",
                (again, *_slower_hardener(step, at_step)),
            )
        case "flash":
            if np.isinf(limit):
                air_c, humidity = float(finding.air.air_c[0]), float(finding.air.humidity_percent[0])
                heat = _heat(at_step, _dry_enough_c(air_c, humidity, DRIED_PERCENT))
                another = Change("another day", "leave it for another day", at_step)
                return "the coat before never flashes in air this full of water", heat or (another,)
            longer = Change("longer flash", f"let it flash {math.ceil(limit - given)} min longer", at_step)
            return f"the coat before has flashed {given:.1f} min and needs {limit:.1f}", (longer,)
        case "recoat":
            sand = Change("sand", "sand it again", at_step)
            if limit == 0:
                return "the coat before is cured and takes no other without sanding", (sand,)
            return (
                f"the coat before is {given:.1f} min old, it takes another without sanding up to {limit:.1f} min",
                (sand,),
            )
        case "bake":
            if np.isinf(limit):
                return (
                    f"air of {plan.bake_air_c:g} degrees C never brings the panel to its bake",
                    (_hotter(plan, at_step),),
                )
            return (
                f"it is planned for {given:.1f} min and needs {limit:.1f}, counted from the panel's own temperature",
                (Change("longer bake", f"give it {math.ceil(limit - given)} min more", at_step),),
            )
        case "unmasked soft":
            if np.isinf(limit):
                another = Change("another day", "leave it for another day", at_step)
                return "the coat never becomes dust free in air this full of water", (another,)
            longer = Change("longer flash", f"leave the masking on {math.ceil(limit - given)} min longer", at_step)
            return f"the coat is {given:.1f} min old and dust free after {limit:.1f}", (longer,)
        case "opening":
            start = Change("another start", f"start after {clock_time(limit)}", at_step)
            return f"it starts {limit - given:.1f} min before the shop opens", (start,)
    return (
        f"it ends {given - limit:.1f} min after closing",
        (Change("another start", "start at another time", at_step),),
    )


def _hotter(plan: Plan, at_step: int) -> Change:
    """A hotter bake, never hotter than the part and the vehicle take; where there is none left, to let it dry."""
    hottest = min(HOTTEST_PART_C[plan.material], math.inf if plan.vehicle_max_c is None else plan.vehicle_max_c)
    to_c = min(plan.bake_air_c + HOTTER_BAKE_C, hottest)
    if to_c <= plan.bake_air_c or (plan.battery and plan.vehicle_max_c is None):
        return Change("ask", "let it air dry, or look for a cooler bake in the sheet", at_step)
    return Change("hotter bake", f"set the air to {to_c:.0f} degrees C", at_step, to_c)


def _heat(at_step: int, to_c: float) -> tuple[Change, ...]:
    to_c = math.ceil(to_c)
    if to_c > AIR_C[1]:
        return ()
    return (Change("heat", f"heat the booth to {to_c} degrees C", at_step, to_c),)


def _later(plan: Plan, finding: Finding, limit: float) -> tuple[Change, ...]:
    """To wait, with the hour from which this limit holds; nothing if it no longer does today."""
    now = float(finding.begins[0])
    moments = np.arange(now + LOOK_AHEAD_MIN, plan.closes_min, LOOK_AHEAD_MIN)
    if not len(moments):
        return ()
    air = at(plan.day, moments)
    given = {"too dry": air.humidity_percent, "too humid": air.humidity_percent, "dew point": air.surface_c}.get(
        finding.rule, air.air_c
    )
    limits = dew_point_c(air.air_c, air.humidity_percent) + SURFACE_MARGIN_C if finding.rule == "dew point" else limit
    then = replace(finding, given=np.asarray(given), limit=np.asarray(limits), air=air, begins=moments)
    kept = moments[~then.broken]
    if not len(kept):
        return ()
    return (Change("wait", f"wait until {clock_time(kept[0])}", finding.step),)


def _tin_words(speed: str) -> str:
    return f"{speed} reducer" if speed in SPEEDS else speed


def _other_reducers(
    step: BoothStep, at_step: int, air: Air, pace: str, *, must_stay_open: bool = False
) -> tuple[Change, ...]:
    """The tins of the wanted pace that suit this air, those of the next speed first, a low-VOC one among them."""
    if step.sheet is None or (used := reducer(step.sheet, step.reducer)) is None:
        return ()
    now = SPEEDS.index(used.speed)
    wanted = SPEEDS[now + 1 :] if pace == "slower" else SPEEDS[: now + 1][::-1]
    found: list[Change] = []
    for speed in wanted:
        for tin in step.sheet.reducers:
            if tin.speed != speed or not _suits(step.sheet, step, air, tin, pace, must_stay_open):
                continue
            usual = reducer(step.sheet, speed) == tin
            called = speed if usual else tin.name
            found.append(Change(f"{pace} reducer", f"use the {_tin_words(called)}", at_step, speed=called))
    return tuple(found[:MOST_TINS])


def _slower_hardener(step: BoothStep, at_step: int) -> tuple[Change, ...]:
    if step.sheet is None or (used := hardener(step.sheet, step.hardener)) is None:
        return ()
    there = {tin.speed for tin in step.sheet.hardeners}
    slower = [speed for speed in SPEEDS[SPEEDS.index(used.speed) + 1 :] if speed in there]
    return tuple(Change("slower hardener", f"use the {s} hardener", at_step, speed=s) for s in slower[:1])


def _suits(sheet: ProductSheet, step: BoothStep, air: Air, tin: Tin, pace: str, must_stay_open: bool) -> bool:
    """Whether a reducer is meant for this air, and where that matters leaves the coat open while it is sprayed."""
    now = air.air_c.item()
    if not tin.air_c[0] <= now <= tin.air_c[1]:
        return False
    if pace == "slower" and not must_stay_open:
        return True
    dries = drying_factor(
        sheet, now, air.humidity_percent.item(), air.air_m_per_s, reducer_speed=tin.name, film_ratio=step.film_ratio
    )
    return (COAT_MIN if step.minutes is None else step.minutes) <= sheet.wet_edge_min * float(dries)


def _dry_enough_c(air_c: float, humidity: float, wanted: float) -> float:
    """Temperature at which this air, heated, has the wanted humidity."""
    return float(saturated_at_c(vapour_pressure_pa(air_c, humidity) * 100 / wanted))
