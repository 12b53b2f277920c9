import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refinishlib.booth.quantity import Application, application, bill, mix_size, paint_needed
from refinishlib.entry import BadEntry
from refinishlib.shop.product import ready_to_spray
from refinishlib.shop.shop import load

layers = st.builds(
    Application,
    product=st.sampled_from(["sealer", "base", "clear"]),
    areas_m2=st.lists(st.floats(0.05, 3), min_size=1, max_size=6).map(tuple),
    coats=st.integers(1, 4),
    film_um=st.floats(5, 80),
    volume_solids=st.floats(0.1, 0.7),
    price_per_litre=st.floats(0, 200),
)


@settings(deadline=None, max_examples=60)
@given(st.lists(layers, max_size=5), st.floats(0.3, 1), st.floats(0, 0.5), st.floats(0, 200))
def test_totals_are_the_sums_and_what_is_mixed_is_enough_and_not_a_step_too_much(job, transfer, spare, lost):
    sheet = bill(job, transfer_efficiency=transfer, spare=spare, lost_ml=lost)
    for layer, amount in zip(job, sheet.amounts, strict=True):
        assert amount.mixed_ml == pytest.approx(amount.needed_ml + amount.left_ml)
        assert amount.needed_ml == pytest.approx(amount.sprayed_ml + amount.lost_ml + amount.spare_ml)
        assert amount.spare_ml == pytest.approx(amount.sprayed_ml * spare, abs=1e-9)
        assert amount.lost_ml == pytest.approx(lost, abs=1e-6)
        assert amount.left_ml >= -1e-5
        assert amount.left_ml < layer.mix_step_ml or amount.mixed_ml == layer.smallest_mix_ml
        dry_ml = sum(layer.areas_m2) * layer.coats * layer.film_um  # the film itself, from um times m2
        assert amount.sprayed_ml * layer.volume_solids * transfer == pytest.approx(dry_ml)
    assert sheet.cost == pytest.approx(sum(a.cost for a in sheet.amounts))
    assert sheet.left_ml == pytest.approx(sheet.mixed_ml - sum(a.needed_ml for a in sheet.amounts), abs=1e-6)


@settings(deadline=None, max_examples=60)
@given(layers, st.floats(1.01, 3))
def test_more_area_film_or_waste_needs_more_and_more_solids_or_transfer_less(layer, more):
    def need(area=1.0, film=30.0, solids=0.3, transfer=0.3, waste=0.1):
        return paint_needed(area, layer.coats, film, solids, transfer, waste)

    plain = need()
    assert need(area=more) == pytest.approx(plain * more) and need(film=30 * more) == pytest.approx(plain * more)
    assert need(waste=0.1 * more) > plain
    assert need(solids=0.3 * more) < plain and need(transfer=0.3 * more) < plain


@settings(deadline=None, max_examples=60)
@given(st.floats(0, 5000), st.floats(1, 400), st.floats(1, 200))
def test_rounding_up_is_to_the_grid_and_idempotent(need, least, step):
    mixed = mix_size(need, least, step)
    assert mixed >= need - 1e-5
    if mixed > least:
        assert mix_size(mixed, least, step) == pytest.approx(mixed)
        assert math.isclose(mixed / step, round(mixed / step), abs_tol=1e-9)


def test_what_stays_in_cup_and_gun_does_not_grow_with_the_job():
    small, large = (bill([Application("clear", (area,), 2, 25, 0.5)]).amounts[0] for area in (0.2, 4.0))
    assert small.lost_ml == pytest.approx(large.lost_ml) == pytest.approx(60)
    assert large.spare_ml == pytest.approx(20 * small.spare_ml)
    assert paint_needed(0, 2, 25, 0.5, lost_ml=60) == 0
    assert paint_needed(2.0, 2, 25, 0.5, 0.5, 0.25) == 500  # what the short rule gave it still gives
    assert "stay in cup and gun" in large.words and "spare" in large.words


def test_a_need_that_is_just_a_step_takes_no_step_more_and_a_drop_more_takes_it():
    assert mix_size(300.0 + 5e-7) == 300 and mix_size(300.0 + 5e-6) == 350
    assert mix_size(100.0) == 100 and mix_size(100.1) == 150 and mix_size(99.0) == 100


def test_panels_are_taken_together_before_rounding_up():
    four = bill([Application("clear", (0.25,) * 4, 2, 25, 0.4)])
    one = bill([Application("clear", (1.0,), 2, 25, 0.4)])
    assert four.amounts == one.amounts


def test_a_job_of_the_shop_s_own_sheets_and_panels():
    door, wing = load().vehicle.panel("left front door").area_m2, load().vehicle.panel("left front wing").area_m2
    job = [
        application(load().product("grey sealer"), [door]),
        application(load().product("water base"), [door, wing]),
        application(load().product("clear"), [door, wing], hardener="slow"),
    ]
    sheet = bill(job)
    clear = sheet.amounts[2]
    mix = ready_to_spray(load().product("clear"), "slow")
    dry_ml = (door + wing) * load().product("clear").coats * load().product("clear").film_um
    # 65 % transfer, a twentieth spare, 60 mL in cup and gun: by hand
    assert clear.sprayed_ml == pytest.approx(dry_ml / mix.volume_solids / 0.65)
    assert clear.needed_ml == pytest.approx(dry_ml / mix.volume_solids / 0.65 * 1.05 + 60)
    assert clear.cost == pytest.approx(clear.mixed_ml / 1000 * mix.price_per_litre)
    assert clear.mixed_ml % load().product("clear").mix_step_ml == 0
    assert sheet.cost == pytest.approx(math.fsum(a.cost for a in sheet.amounts))


def test_every_sheet_can_be_billed():
    for sheet in load().products:
        assert bill([application(sheet, [1.0])]).mixed_ml >= sheet.smallest_mix_ml


def test_arrays_keep_their_axes():
    assert paint_needed(np.ones((3, 1)), [1, 2], 20, 0.4).shape == (3, 2)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: paint_needed(1, 2, -3, 0.4), "film: -3 was given, allowed is a number from 0 to 5000 um."),
        (lambda: paint_needed(float("nan"), 2, 3, 0.4), "area: nan was given"),
        (lambda: paint_needed(1, 2, 3, 0.4, 65), "transfer efficiency: 65 was given"),
        (lambda: bill([Application("clear", (), 2, 25, 0.4)]), "clear, panels: none was given"),
        (lambda: bill([Application("clear", (1.0, -1.0), 2, 25, 0.4)]), "clear, area: -1 was given"),
        (
            lambda: bill([Application("clear", (1.0,), 2, 25, 0.4)], lost_ml=-1),
            "clear, lost in cup and gun: -1 was given",
        ),
        (lambda: bill([Application("clear", (1.0,), 2, 25, 0.4)], spare=2), "clear, spare: 2 was given"),
        (lambda: mix_size(100, 100, 0), "step of the mix: 0 was given, allowed is a number above 0 mL."),
    ],
)
def test_bad_entries_name_the_field_and_what_is_allowed(call, says):
    with pytest.raises(BadEntry) as caught:
        call()
    assert str(caught.value).startswith(says)
