"""Speed of the booth: a clock, a day of starts at once beside one after the other, a bill, a file of sheets."""

from dataclasses import replace
from importlib.resources import files

import numpy as np
import psychrolib
import pytest

from refinishlib.booth.advice import booth_clock, scan_starts
from refinishlib.booth.climate import wet_bulb_c
from refinishlib.booth.clock import Coating, Plan, steps_for
from refinishlib.booth.day import SPRING_DAY
from refinishlib.booth.quantity import paint_needed
from refinishlib.shop.faults import read
from refinishlib.shop.product import FILE, between_sheets, sheets_of
from refinishlib.shop.shop import load

SEALER, BASE, CLEAR = load().product("grey sealer"), load().product("water base"), load().product("clear")
PLAN = Plan(steps_for([Coating(SEALER), Coating(BASE, 2), Coating(CLEAR, 1)]), SPRING_DAY)
STARTS = np.arange(144) * 10.0


def test_a_clock_of_twelve_steps(benchmark):
    assert len(PLAN.steps) == 12
    clock = benchmark(booth_clock, PLAN)
    assert len(clock.rows) == 12 and clock.breaks


@pytest.mark.benchmark(group="a day of starts")
def test_a_day_of_144_starts_at_once(benchmark):
    scan = benchmark(scan_starts, PLAN)
    assert len(scan.starts_min) == 144 and scan.first_min is not None


@pytest.mark.benchmark(group="a day of starts")
def test_a_day_of_144_starts_one_after_the_other(benchmark):
    clocks = benchmark.pedantic(lambda: [booth_clock(replace(PLAN, start_min=s)) for s in STARTS], rounds=3)
    assert tuple(len(clock.breaks) for clock in clocks) == scan_starts(PLAN).breaks


@pytest.mark.benchmark(group="wet bulb")
def test_wet_bulbs_of_a_day_at_once(benchmark):
    air_c = np.linspace(5, 40, 144)
    wet = benchmark(wet_bulb_c, air_c, 60)
    assert (wet < air_c).all()


@pytest.mark.benchmark(group="wet bulb")
def test_wet_bulbs_of_a_day_by_halving(benchmark):
    psychrolib.SetUnitSystem(psychrolib.SI)
    air_c = np.linspace(5, 40, 144)
    wet = benchmark.pedantic(
        lambda: [psychrolib.GetTWetBulbFromRelHum(a, 0.6, 101325) for a in air_c.tolist()], rounds=3
    )
    np.testing.assert_allclose(wet, wet_bulb_c(air_c, 60), atol=0.1)


def test_quantities_of_a_thousand_jobs(benchmark):
    areas = np.linspace(0.1, 8, 1000)
    needs = benchmark(paint_needed, areas, 2, 28, 0.54)
    assert needs.shape == (1000,)


def test_reading_all_product_sheets(benchmark):
    text = files("refinishlib.shop").joinpath("products.toml").read_text(encoding="utf-8")
    assert len(benchmark(lambda: sheets_of(read(text, FILE, also=between_sheets)))) > 8
