"""A whole job planned at once says nothing that its rooms do not say by themselves."""

from dataclasses import replace

import pytest

from refinishlib.booth.clock import Coating
from refinishlib.booth.day import SPRING_DAY, steady_day
from refinishlib.booth.hours import shop_hours
from refinishlib.booth.quantity import application, bill
from refinishlib.entry import BadEntry
from refinishlib.job.whole import whole_job
from refinishlib.prep.film_book import Film, open_book
from refinishlib.prep.order import first_violation, jobs
from refinishlib.prep.scratch import ladder_for
from refinishlib.shop.product import ready_to_spray
from refinishlib.shop.shop import load

COATINGS = [Coating(load().product("water base"), 3), Coating(load().product("clear"), 2)]
DOORS = [load().vehicle.panel("left rear door"), load().vehicle.panel("left front door")]
BOOK = open_book([Film("clear", 50.0), Film("colour", 18.0), Film("primer", 60.0)])


def planned(job="blend panel", doors=DOORS, day=SPRING_DAY, coatings=COATINGS, hours=None, **more):
    asked = {"next_coat": "blend into old clear", "start": "P240", **more}
    return whole_job(jobs()[job], doors, coatings, day, hours or shop_hours(), BOOK, **asked)


@pytest.mark.parametrize("job", jobs())
def test_every_job_of_the_shop_can_be_planned_whole(job):
    done = planned(job)
    assert first_violation(jobs()[job], done.order) is None
    assert {"mix", "clear", "clean the gun"} <= set(done.cautions)
    assert done.clock.breaks == () and "no leave to spray" in done.clock.checked.sentence
    assert done.price.money == pytest.approx(
        sum((done.price.paint, done.price.labour, done.price.booth, done.price.abrasives, done.price.sundries))
    )


def test_its_parts_are_those_of_the_rooms():
    done = planned()
    assert done.sanding.papers == ladder_for("blend into old clear", "P240")
    by_itself = bill(application(one.sheet, [d.area_m2 for d in DOORS], coats=one.coats) for one in COATINGS)
    assert done.paint == by_itself and done.price.paint == by_itself.cost
    litres = [amount.mixed_ml / 1000 for amount in done.paint.amounts]
    organic = [mix.volatile_g_per_l - mix.water_g_per_l for mix in (ready_to_spray(one.sheet) for one in COATINGS)]
    assert done.emissions.voc_g == pytest.approx(sum(one * each for one, each in zip(litres, organic, strict=True)))
    assert done.clock.rows[0].begins_min == done.scan.first_min
    assert done.price.booth_min == pytest.approx(done.clock.ends_min - done.scan.first_min)
    assert done.price.minutes["sand"] > planned(start="gloss").price.minutes["sand"]  # three papers and one


def test_more_doors_a_harder_shop_and_a_worse_start_never_cost_less():
    one, two = planned(doors=DOORS[:1]), planned()
    assert one.price.money < two.price.money and one.emissions.voc_g < two.emissions.voc_g
    dear = shop_hours()
    dear = replace(dear, rates=replace(dear.rates, labour_per_hour=2 * dear.rates.labour_per_hour))
    assert planned(hours=dear).price.labour == pytest.approx(2 * two.price.labour)
    assert planned(start="P80").price.money >= two.price.money


def test_a_day_on_which_nothing_goes_is_planned_from_opening_with_its_breaks():
    done = planned(day=steady_day(3, 95))
    assert done.scan.first_min is None and done.clock.rows[0].begins_min == 480
    assert done.clock.breaks and done.scan.sentence == "No start of this day keeps every limit."


def test_plastic_among_steel_and_a_battery_are_told_before_anything_else():
    done = planned(doors=[*DOORS, load().vehicle.panel("front bumper")], battery=True)
    assert done.clock.breaks[0].rule == "battery" and done.clock.breaks[0].harm
    told = planned(doors=[*DOORS, load().vehicle.panel("front bumper")], battery=True, vehicle_max_c=60.0)
    assert told.clock.breaks[0].rule == "too hot for the vehicle"
    steel, mixed = (planned(doors=doors).clock for doors in (DOORS, [*DOORS, load().vehicle.panel("front bumper")]))
    assert mixed.ends_min > steel.ends_min  # the bumper warms more slowly


def test_a_job_without_a_panel_is_refused():
    with pytest.raises(BadEntry, match="panels: none was given"):
        planned(doors=[])
