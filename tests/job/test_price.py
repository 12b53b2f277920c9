"""Working time and price: plain sums, a shop's own numbers, and nothing that a wrong step could save."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refinishlib.booth import hours as module
from refinishlib.booth.hours import ZoneArea, panel_area, read_hours, shop_hours, task_minutes
from refinishlib.booth.quantity import Application, bill
from refinishlib.entry import BadEntry
from refinishlib.job.price import SANDS, added, price
from refinishlib.prep.order import jobs, plan
from refinishlib.shop.shop import load

HOURS = shop_hours()
DOOR = panel_area(load().vehicle.panel("left front door"))
AREAS = st.lists(st.builds(ZoneArea, *[st.floats(0, 3)] * 3), max_size=5)


def test_every_task_of_the_trade_has_its_minutes():
    assert set(HOURS.tasks) == set(plan().tasks)
    assert set(SANDS) <= set(HOURS.tasks)


def test_the_numbers_are_teaching_values_and_no_allowance():
    text = (module.files("refinishlib.booth") / "hours.toml").read_text(encoding="utf-8")
    assert text.startswith('source = "teaching value')


@pytest.mark.parametrize("name", [panel.name for panel in load().vehicle.panels])
def test_a_panel_is_its_zones(name):
    panel = load().vehicle.panel(name)
    area = panel_area(panel)
    assert area.m2 == pytest.approx(panel.area_m2)
    assert area.edge_m2 == pytest.approx(panel.area_m2 * panel.edge)
    assert panel_area(panel, 0.25).m2 == pytest.approx(panel.area_m2 / 4)


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(sorted(plan().tasks)), AREAS, st.floats(0, 9), st.integers(1, 5))
def test_minutes_are_plain_sums_of_area_zone_and_passes(task, areas, passes, grades):
    row = HOURS.tasks[task]
    by_hand = row.set_up + passes * grades * sum(
        a.flat_m2 * row.flat + a.crown_m2 * row.crown + a.edge_m2 * row.edge for a in areas
    )
    assert task_minutes(HOURS, task, areas, passes=passes, grades=grades) == pytest.approx(by_hand)
    assert task_minutes(HOURS, task, areas) == pytest.approx(task_minutes(HOURS, task, areas, passes=row.passes))


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(sorted(jobs())), AREAS, AREAS, st.floats(0, 500))
def test_more_panels_and_more_booth_never_cost_less(name, areas, more, booth):
    tasks = [task.name for task in jobs()[name].tasks]
    less, all_of_it = price(HOURS, tasks, areas), price(HOURS, tasks, [*areas, *more], booth_min=booth)
    extra = added(less, all_of_it)
    assert min(extra.money, extra.work_min, extra.booth_min) >= -1e-9
    assert all_of_it.money == pytest.approx(
        all_of_it.labour + all_of_it.booth + all_of_it.paint + all_of_it.abrasives + all_of_it.sundries
    )


def test_a_job_by_hand():
    """Sanding a door of 0.82 m2 with two papers: 4 + 2 x 4 x (0.5576 x 2.5 + 0.164 x 3.5) min; two discs a paper."""
    door = price(HOURS, ["sand"], [DOOR], grades={"sand": 2.0}, booth_min=90)
    flat, crown = 0.82 * 0.68, 0.82 * 0.20
    assert door.work_min == pytest.approx(4 + 8 * (flat * 2.5 + crown * 3.5))
    assert door.discs == 2 * math.ceil((flat + crown) / 0.5)
    assert door.labour == pytest.approx(door.work_min / 60 * 68) and door.booth == pytest.approx(1.5 * 45)
    assert door.abrasives == pytest.approx(4 * 1.1) and door.sundries == pytest.approx(0.82 * 6.5)
    paint = bill([Application("clear", (0.82,), 2, 28, 0.545, price_per_litre=70)])
    assert price(HOURS, ["sand"], [DOOR], bill=paint).paint == paint.cost


def test_a_shop_s_own_file_takes_the_place_of_ours_and_is_checked():
    text = (module.files("refinishlib.booth") / "hours.toml").read_text(encoding="utf-8")
    own = read_hours(text.replace("labour_per_hour = 68.0", "labour_per_hour = 90.0"))
    assert price(own, ["sand"], [DOOR]).labour == pytest.approx(price(HOURS, ["sand"], [DOOR]).labour * 90 / 68)
    broken = text.replace("labour_per_hour = 68.0", "labour_per_hour = -1").replace("passes = 4", 'passes = "four"', 1)
    with pytest.raises(BadEntry) as caught:
        read_hours(broken, file="mine.toml")
    rows = str(caught.value).splitlines()
    assert len(rows) == 2 and all(row.startswith("mine.toml, line ") for row in rows)


@pytest.mark.parametrize(
    "call, sentence",
    [
        (lambda: task_minutes(HOURS, "dance", []), "task: 'dance' was given"),
        (lambda: task_minutes(HOURS, "sand", [ZoneArea(-1, 0, 0)]), "area: -1 was given"),
        (lambda: task_minutes(HOURS, "sand", [DOOR], passes=-1), "passes: -1 was given"),
        (lambda: task_minutes(HOURS, "sand", [DOOR], grades=0), "papers: 0 was given"),
        (lambda: price(HOURS, ["sand"], [DOOR], booth_min=-5), "time in the booth: -5 was given"),
        (lambda: panel_area(load().vehicle.panel("bonnet"), 2), "share of the panel: 2 was given"),
    ],
)
def test_bad_entries_are_refused_in_one_sentence(call, sentence):
    with pytest.raises(BadEntry) as caught:
        call()
    assert str(caught.value).startswith(sentence)
