"""The booth clock finds every limit, names the step, and its advice mends the plan."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refinishlib.booth.advice import booth_clock, changed, scan_starts, spray_now
from refinishlib.booth.climate import dew_point_c
from refinishlib.booth.clock import BoothStep, Coating, Plan, labels, lay_out, steps_for
from refinishlib.booth.cure import heat_up_minutes, minutes_at, sheet_energy, time_constant_min
from refinishlib.booth.day import SPRING_DAY, SUMMER_DAY, Day, at, heated, steady_day
from refinishlib.booth.flash import flash_minutes
from refinishlib.entry import BadEntry
from refinishlib.shop.shop import load

SEALER, WATER, SOLVENT, CLEAR = map(load().product, ("grey sealer", "water base", "solvent base", "clear"))
JOB = steps_for([Coating(SEALER), Coating(WATER), Coating(CLEAR)])
GOOD_DAY = steady_day(22, 50)


def breaks_of(plan):
    return [(found.label, found.rule) for found in booth_clock(plan).breaks]


def with_minutes(steps, name, minutes):
    index = labels(steps).index(name)
    return (*steps[:index], replace(steps[index], minutes=minutes), *steps[index + 1 :])


def test_a_whole_job_on_a_good_day_breaks_nothing_and_adds_up():
    clock = booth_clock(Plan(JOB, GOOD_DAY, start_min=480))
    assert clock.breaks == ()
    assert [row.label for row in clock.rows][:4] == [
        "grey sealer, mix",
        "grey sealer, coat 1",
        "grey sealer, flash 1",
        "water base, mix",
    ]
    for before, after in zip(clock.rows, clock.rows[1:], strict=False):
        assert before.ends_min == after.begins_min
    row = {row.label: row.ends_min - row.begins_min for row in clock.rows}
    assert row["water base, flash 1"] == pytest.approx(float(flash_minutes(WATER, 22, 50)))
    assert row["water base, flash 3"] == pytest.approx(float(flash_minutes(WATER, 22, 50, final=True)))
    assert clock.ends_min == pytest.approx(480 + sum(row.values()))


# Each limit, broken by one thing only: day, steps, and the one break that has to be named.
CASES = {
    "too cold": (steady_day(11, 50), [Coating(CLEAR, reducer="fast")], ("clear, coat 1", "too cold")),
    "too hot": (steady_day(36, 40), [Coating(CLEAR, coat_min=2, reducer="slow")], ("clear, coat 1", "too hot")),
    "too humid": (steady_day(22, 79), [Coating(WATER)], ("water base, coat 1", "too humid")),
    "too dry": (steady_day(22, 12), [Coating(WATER, coat_min=2)], ("water base, coat 1", "too dry")),
    "dew point": (steady_day(22, 60, surface_c=15), [Coating(CLEAR)], ("clear, coat 1", "dew point")),
    "reducer too fast": (steady_day(28, 50), [Coating(CLEAR, coat_min=2)], ("clear, coat 1", "reducer too fast")),
    "reducer too slow": (steady_day(18, 50), [Coating(CLEAR, reducer="slow")], ("clear, coat 1", "reducer too slow")),
    "wet edge": (steady_day(24, 50), [Coating(CLEAR, coat_min=9)], ("clear, coat 1", "wet edge")),
    "pot life": (steady_day(34, 50), [Coating(CLEAR, 5, reducer="slow")], ("clear, coat 4", "pot life")),
    "never dries": (steady_day(22, 100), [Coating(WATER, 2)], ("water base, coat 2", "flash")),
}


@pytest.mark.parametrize("case", CASES)
def test_every_limit_of_the_air_and_the_cup_is_found_and_named(case):
    day, coatings, want = CASES[case]
    found = breaks_of(Plan(steps_for(coatings, ""), day))
    assert want in found
    if case not in ("never dries", "pot life"):
        assert {rule for _, rule in found} == {want[1]}


def test_what_speaks_against_one_coat_now_is_told():
    assert spray_now(CLEAR, 22, 50).breaks == ()
    assert {found.rule for found in spray_now(CLEAR, 22, 85, surface_c=18).breaks} == {"too humid", "dew point"}
    with pytest.raises(BadEntry, match="humidity: 140 was given"):
        spray_now(CLEAR, 22, 140)


def test_limits_of_planned_times_are_found_and_named():
    flash = Plan(with_minutes(JOB, "water base, flash 3", 5), GOOD_DAY)
    assert breaks_of(flash) == [("clear, coat 1", "flash")]
    bare = Plan(with_minutes(JOB, "clear, flash 2", 3), GOOD_DAY)
    assert breaks_of(bare) == [("bake", "flash")]
    at_wait = labels(JOB).index("clear, mix")
    wait = Plan((*JOB[:at_wait], BoothStep("wait", minutes=2000), *JOB[at_wait:]), GOOD_DAY)
    assert breaks_of(wait) == [("clear, coat 1", "recoat"), ("bake", "closing")]
    assert breaks_of(Plan(with_minutes(JOB, "bake", 30), GOOD_DAY)) == [("bake", "bake")]
    assert breaks_of(Plan(JOB, GOOD_DAY, bake_air_c=60)) == [("bake", "bake"), ("bake", "closing")]
    assert breaks_of(Plan(JOB, GOOD_DAY, closes_min=500)) == [("bake", "closing")]


def test_a_slower_reducer_is_only_advised_where_it_keeps_the_coat_open():
    def advised(coat_min, air_c):
        plan = Plan(steps_for([Coating(CLEAR, 1, coat_min=coat_min, reducer="normal")], ""), steady_day(air_c, 40))
        [found] = [b for b in booth_clock(plan).breaks if b.rule == "wet edge"]
        return [change.kind for change in found.changes]

    edge = CLEAR.wet_edge_min * float(flash_minutes(CLEAR, 24, 40)) / CLEAR.flash_min
    assert advised(edge + 0.2, 24) == ["slower reducer", "quicker coat"]  # 7 % of a slow one help a little
    assert advised(edge + 2, 24) == ["quicker coat"]


def test_a_day_has_1440_minutes():
    assert at(SPRING_DAY, 1440 + 75) == at(SPRING_DAY, 75)
    with pytest.raises(BadEntry, match=r"start: 1441 was given, .* from 0 to 1440 min"):
        booth_clock(Plan(JOB, GOOD_DAY, start_min=1441))


def test_before_a_bake_the_longer_flash_counts():
    """7.5 min are enough before another coat of clear on this day, and too few before its bake."""
    short, final = (float(flash_minutes(CLEAR, 22, 50, final=last)) for last in (False, True))
    assert short < 7.5 < final
    assert breaks_of(Plan(with_minutes(JOB, "clear, flash 2", 7.5), GOOD_DAY)) == [("bake", "flash")]
    assert breaks_of(Plan(with_minutes(JOB, "clear, flash 1", 7.5), GOOD_DAY)) == []


def test_a_cured_coat_is_sanded_before_the_next():
    primer = steps_for([Coating(load().product("filling primer"))])
    plan = Plan((*primer, *JOB), GOOD_DAY)
    [found] = booth_clock(plan).breaks
    assert found.sentence == (
        "grey sealer, coat 1: the coat before is cured and takes no other without sanding; sand it again."
    )
    assert booth_clock(Plan((*primer, BoothStep("sand"), *JOB), GOOD_DAY)).breaks == ()
    assert booth_clock(changed(plan, found.changes[0])).breaks == ()


def test_a_break_says_step_limit_and_change_in_one_sentence():
    [found] = booth_clock(Plan(with_minutes(JOB, "water base, flash 3", 5), GOOD_DAY)).breaks
    need = float(flash_minutes(WATER, 22, 50, final=True))
    assert found.given == pytest.approx(9) and found.limit == pytest.approx(need)  # mixing the clear counts as flash
    assert found.sentence == (
        f"clear, coat 1: the coat before has flashed 9.0 min and needs {need:.1f}; "
        f"let it flash {math.ceil(need - 9)} min longer."
    )


DAYS = {
    "spring": SPRING_DAY,
    "summer": SUMMER_DAY,
    "cold and damp": steady_day(13, 85),
    "hot and close": steady_day(31, 75),
    "cold panel": steady_day(20, 60, 12),
}
JOBS = {
    "usual": JOB,
    "primer": steps_for([Coating(load().product("filling primer"))], "air dry"),
    "in a hurry": steps_for([Coating(SEALER), Coating(SOLVENT, reducer="fast"), Coating(CLEAR, 2, 6, hardener="fast")]),
    "exempt": steps_for(
        [Coating(load().product("epoxy primer")), Coating(load().product("white sealer"), reducer="exempt reducer")]
    ),
    "too short": with_minutes(with_minutes(JOB, "clear, flash 1", 2), "bake", 12),
}
days = st.sampled_from(list(DAYS))
jobs = st.sampled_from(list(JOBS))


@settings(max_examples=20, deadline=None)
@given(jobs, days, st.integers(6, 18))
def test_every_change_mends_what_it_is_for_or_says_that_it_cannot(job, day, hour):
    plan = Plan(JOBS[job], DAYS[day], start_min=60.0 * hour)
    for found in booth_clock(plan).breaks:
        assert found.changes
        for change in found.changes:
            try:
                after = changed(plan, change)
            except BadEntry:
                assert change.kind in ("wait", "another start", "another day", "ask")
                continue
            same = [b for b in booth_clock(after).breaks if (b.label, b.rule) == (found.label, found.rule)]
            if change.kind in ("wait", "another start"):
                assert booth_clock(after).breaks == ()
            elif change.kind == "slower hardener":
                # one speed may not be enough, but it must go the right way
                assert not same or abs(same[0].given - same[0].limit) < abs(found.given - found.limit)
            else:
                assert same == []


@settings(max_examples=20, deadline=None)
@given(jobs, days, st.integers(6, 18))
def test_following_the_first_advice_again_and_again_ends_in_a_plan_that_keeps_every_limit(job, day, hour):
    plan = Plan(JOBS[job], DAYS[day], start_min=60.0 * hour)
    for _ in range(40):
        clock = booth_clock(plan)
        if not clock.breaks:
            return
        for change in clock.breaks[0].changes:
            try:
                plan = changed(plan, change)
                break
            except BadEntry:
                continue
        else:
            # nothing but the weather is left to change: no later start of this day is any better
            starts = np.arange(plan.start_min, 1440, 10)
            assert not any(n == 0 for n in scan_starts(plan, starts).breaks)
            return
    raise AssertionError(booth_clock(plan).breaks[0].sentence)


@settings(max_examples=25, deadline=None)
@given(jobs, days, st.lists(st.floats(0, 1440), min_size=1, max_size=6))
def test_many_starts_at_once_are_each_start_by_itself(job, day, starts):
    plan = Plan(JOBS[job], DAYS[day])
    scan = scan_starts(plan, starts)
    for index, start in enumerate(starts):
        clock = booth_clock(replace(plan, start_min=start))
        assert scan.breaks[index] == len(clock.breaks)
        assert scan.ends_min[index] == pytest.approx(clock.ends_min)


def test_the_first_start_is_the_first_without_a_break():
    scan = scan_starts(Plan(JOB, SPRING_DAY, closes_min=17 * 60))
    assert len(scan.starts_min) == 144
    index = scan.starts_min.index(scan.first_min)
    assert scan.breaks[index] == 0 and all(scan.breaks[:index])
    assert scan.ends_min[index] <= 17 * 60
    assert scan_starts(Plan(JOB, steady_day(8, 90))).first_min is None


@settings(max_examples=30, deadline=None)
@given(st.floats(16, 24), st.floats(0.5, 8), st.floats(30, 70))
def test_a_hotter_day_ends_sooner_and_a_more_humid_one_later_water_borne(air_c, by, humidity):
    def end(day):
        return booth_clock(Plan(JOB, day)).ends_min

    assert end(steady_day(air_c + by, humidity)) < end(steady_day(air_c, humidity))
    assert end(steady_day(air_c, humidity + by)) > end(steady_day(air_c, humidity))


def test_hotter_shortens_the_pot_life_and_the_slow_hardener_lengthens_it():
    def life(air_c, speed):
        plan = Plan(steps_for([Coating(CLEAR, hardener=speed)]), steady_day(air_c, 50))
        return next(f.limit.item() for f in lay_out(plan, np.array([480.0])).findings if f.rule == "pot life")

    assert life(20, "normal") == pytest.approx(CLEAR.pot_life_min)
    assert life(30, "normal") < life(25, "normal") < life(20, "normal")
    assert life(25, "fast") < life(25, "normal") < life(25, "slow")


def limits_of(plan, rule):
    return [found for found in lay_out(plan, np.array([plan.start_min])).findings if found.rule == rule]


def test_the_limits_are_those_of_the_rooms_below():
    day = steady_day(24, 60, surface_c=20)
    steps = steps_for([Coating(CLEAR, 2, coat_min=3, hardener="slow", reducer="slow", film_ratio=1.5)])
    plan = Plan(steps, day, material="aluminium")
    [first, second] = limits_of(plan, "pot life")
    energy = sheet_energy(CLEAR.cure)
    assert first.limit.item() == pytest.approx(float(minutes_at(CLEAR.pot_life_min * 1.7, 20, 24, energy)))
    clock = {row.label: row for row in booth_clock(plan).rows}
    assert second.given.item() == pytest.approx(clock["clear, coat 2"].ends_min - clock["clear, mix"].begins_min)
    assert limits_of(plan, "dew point")[0].limit.item() == pytest.approx(float(dew_point_c(24, 60)) + 3)
    [flash] = limits_of(plan, "flash")[:1]
    want = flash_minutes(CLEAR, 24, 60, reducer_speed="slow", film_ratio=1.5)
    assert [flash.limit.item(), flash.given.item()] == pytest.approx([float(want)] * 2)
    warming = heat_up_minutes(70, 20, 60, time_constant_min("aluminium"))
    assert limits_of(plan, "bake")[0].limit.item() == pytest.approx(float(warming) + 30 * 1.7)
    air_dry = Plan((*steps[:-1], BoothStep("air dry")), day)
    assert limits_of(air_dry, "bake")[0].limit.item() == pytest.approx(float(minutes_at(960 * 1.7, 20, 24, energy)))


def test_a_plastic_panel_bakes_longer_than_a_steel_one():
    steel, plastic = (booth_clock(Plan(JOB, GOOD_DAY, material=m)).ends_min for m in ("steel", "plastic"))
    assert plastic > steel


def test_heating_keeps_the_water_and_a_day_begins_again_after_midnight():
    warm = heated(SPRING_DAY, 24)
    assert min(warm.air_c) == 24 and max(warm.humidity_percent) < max(SPRING_DAY.humidity_percent)
    assert heated(steady_day(26, 50), 20) == steady_day(26, 50)
    late = booth_clock(Plan(JOB, SPRING_DAY, start_min=1400))
    assert late.ends_min > 1440 and late.breaks


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: steady_day(20, 140), "humidity: 140 was given, allowed is a number from 1 to 100 %."),
        (lambda: steady_day(float("nan"), 50), "air temperature: nan was given"),
        (lambda: Day((0, 60), (20,), (50, 50), (20, 20)), "air temperature: 1 values were given, allowed are 2."),
        (lambda: Day((60, 0), (20, 20), (50, 50), (20, 20)), "time: allowed are one or more readings in rising order"),
        (lambda: booth_clock(Plan((), GOOD_DAY)), "steps: none was given"),
        (lambda: booth_clock(Plan(JOB, GOOD_DAY, start_min=-3)), "start: -3 was given, allowed is a number from 0 to"),
        (lambda: booth_clock(Plan(JOB, GOOD_DAY, material="wood")), "material: 'wood' was given"),
        (
            lambda: booth_clock(Plan((BoothStep("dance"),), GOOD_DAY)),
            "dance, action: 'dance' was given, allowed are mix",
        ),
        (
            lambda: booth_clock(Plan((BoothStep("flash"),), GOOD_DAY)),
            "flash: allowed is this step, flash, after a coat.",
        ),
        (lambda: booth_clock(Plan((BoothStep("coat"),), GOOD_DAY)), "coat: no product sheet was given"),
        (
            lambda: booth_clock(Plan((BoothStep("coat", CLEAR),), GOOD_DAY)),
            "clear, coat 1: allowed is a coat of a product",
        ),
        (lambda: booth_clock(Plan((BoothStep("mix", CLEAR, -3),), GOOD_DAY)), "clear, mix, minutes: -3 was given"),
        (lambda: booth_clock(Plan(steps_for([Coating(SOLVENT)]), GOOD_DAY)), "bake: solvent base has no bake"),
        (lambda: booth_clock(Plan(steps_for([Coating(WATER, reducer="fast")], ""), GOOD_DAY)), "water base, reducer:"),
        (lambda: steps_for([]), "coatings: none was given"),
        (
            lambda: steps_for([Coating(CLEAR, 2.5)]),
            "clear, coats: 2.5 was given, allowed is a whole number from 1 to 9.",
        ),
    ],
)
def test_bad_entries_name_the_field_and_what_is_allowed(call, says):
    with pytest.raises(BadEntry) as caught:
        call()
    assert str(caught.value).startswith(says)
