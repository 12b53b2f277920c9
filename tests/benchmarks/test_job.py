"""Speed of a whole job: planned at once, and the first good start sought one start after the other beside it."""

from dataclasses import replace

import pytest

from refinishlib.booth.advice import booth_clock
from refinishlib.booth.clock import Coating, Plan, steps_for
from refinishlib.booth.day import SPRING_DAY
from refinishlib.booth.hours import shop_hours
from refinishlib.job.slip import Sheets, consequence
from refinishlib.job.whole import whole_job
from refinishlib.prep.film_book import Film, open_book
from refinishlib.prep.order import jobs
from refinishlib.shop.shop import load

SEALER, BASE, CLEAR = map(load().product, ("grey sealer", "water base", "clear"))
COATINGS = [Coating(SEALER), Coating(BASE, 3), Coating(CLEAR, 2)]
PANELS = [load().vehicle.panel(name) for name in ("left rear door", "left front door", "left quarter panel")]
BOOK = open_book([Film("clear", 50.0), Film("colour", 18.0), Film("primer", 60.0)])
HOURS = shop_hours()


def planned():
    scratch = {"next_coat": "blend into old clear", "start": "P240"}
    return whole_job(jobs()["new metal part"], PANELS, COATINGS, SPRING_DAY, HOURS, BOOK, **scratch)


def first_start_one_by_one():
    """Only the clock, from each start by itself until one breaks nothing."""
    plan = Plan(steps_for(COATINGS), SPRING_DAY)
    return next(start for start in range(0, 1440, 10) if not booth_clock(replace(plan, start_min=start)).breaks)


@pytest.mark.benchmark(group="a whole job")
def test_a_whole_job_planned(benchmark):
    done = benchmark(planned)
    assert done.scan.first_min == first_start_one_by_one()
    assert len(done.order) == len(jobs()["new metal part"].tasks) and done.price.money > done.paint.cost


@pytest.mark.benchmark(group="a whole job")
def test_only_its_first_start_one_after_the_other(benchmark):
    assert benchmark.pedantic(first_start_one_by_one, rounds=3) == planned().scan.first_min


def test_the_price_of_a_slip(benchmark):
    vehicle = load().vehicle
    sheets = Sheets(load().product("epoxy primer"), load().product("plastic primer"), SEALER, BASE, CLEAR)
    slip = benchmark(
        lambda: consequence(
            vehicle, sheets, HOURS, "left rear door", "edge", "bare", blend_m=0.4, towards="left front door"
        )
    )
    assert len(slip.panels) == 2
