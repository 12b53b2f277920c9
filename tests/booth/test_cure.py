import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from refinishlib.booth import cure
from refinishlib.entry import BadEntry
from refinishlib.shop.product import Cure
from refinishlib.shop.shop import load

cures = st.builds(Cure, bake_panel_c=st.floats(40, 90), bake_min=st.floats(10, 60), air_dry_min=st.floats(120, 5000))
SHEETS = [sheet.cure for sheet in load().products if sheet.cure]


@settings(deadline=None, max_examples=60)
@given(cures, st.floats(0, 90), st.floats(0, 90), st.floats(1, 1000))
def test_equivalent_minutes_are_there_and_back_and_hotter_is_shorter(sheet, one_c, other_c, minutes):
    assume(abs(one_c - other_c) > 0.01)
    energy = cure.sheet_energy(sheet)
    there = cure.minutes_at(minutes, one_c, other_c, energy)
    assume(there <= cure.MINUTES_MAX)
    assert cure.minutes_at(there, other_c, one_c, energy) == pytest.approx(minutes)
    assert (there < minutes) == (other_c > one_c)


@settings(deadline=None, max_examples=60)
@given(cures)
def test_the_sheet_s_own_two_cures_are_equivalent(sheet):
    assert cure.minutes_at(sheet.bake_min, sheet.bake_panel_c, 20, cure.sheet_energy(sheet)) == pytest.approx(
        sheet.air_dry_min
    )


@pytest.mark.parametrize("sheet", SHEETS)
def test_energies_of_the_shop_are_those_of_paint(sheet):
    assert 30e3 < cure.sheet_energy(sheet) < 110e3


@settings(deadline=None, max_examples=60)
@given(st.floats(-5, 40), st.floats(0.5, 60), st.floats(0.5, 10), st.floats(0.01, 0.99))
def test_heat_up_ends_where_the_panel_has_reached_its_temperature(start_c, gap, constant, share):
    wanted = start_c + share * gap
    minutes = cure.heat_up_minutes(start_c + gap, start_c, wanted, constant)
    assert cure.panel_temperature_c(minutes, start_c + gap, start_c, constant) == pytest.approx(wanted)


@settings(deadline=None, max_examples=60)
@given(st.floats(5, 35), st.floats(5, 35))
def test_a_colder_panel_needs_longer_at_bake(one_c, other_c):
    sheet, constant = load().product("clear").cure, cure.time_constant_min("steel")
    cold, warm = (cure.bake_minutes(sheet, 70, start, constant) for start in sorted((one_c, other_c)))
    assert cold >= warm > sheet.bake_min


def test_a_bake_counts_from_the_panel_and_not_from_the_air():
    sheet, constant = load().product("clear").cure, cure.time_constant_min("plastic")
    minutes = np.linspace(0, 30, 121)
    by_air = cure.cured_share(minutes, np.full(121, 70.0), sheet)[-1]
    by_panel = cure.cured_share(minutes, cure.panel_temperature_c(minutes, 70, 15, constant), sheet)[-1]
    assert by_panel < 0.8 * by_air
    # the shop's rule leaves nothing short: after it the panel has had the whole cure
    whole = float(cure.bake_minutes(sheet, 70, 15, constant))
    minutes = np.linspace(0, whole, 300)
    assert cure.cured_share(minutes, cure.panel_temperature_c(minutes, 70, 15, constant), sheet)[-1] >= 1


def test_a_panel_that_has_its_temperature_needs_no_minute_even_in_air_that_would_never_bring_it_there():
    assert cure.heat_up_minutes(60, 60, 60, 2.4) == 0
    assert cure.heat_up_minutes(40, 65, 60, 2.4) == 0
    assert cure.heat_up_minutes(40, 59.9, 60, 2.4) == np.inf
    assert cure.heat_up_minutes(60, 59.9, 60, 2.4) == np.inf


def test_air_no_hotter_than_the_bake_never_brings_the_panel_there():
    assert cure.bake_minutes(load().product("clear").cure, 60, 20, 2.0) == np.inf


@settings(deadline=None, max_examples=60)
@given(st.lists(st.floats(10, 80), min_size=2, max_size=12))
def test_cure_only_grows_and_two_logs_at_once_are_two_logs(panel):
    minutes = np.arange(len(panel)) * 7.0
    sheet = load().product("filling primer").cure
    share = cure.cured_share(minutes, panel, sheet)
    assert share[0] == 0 and (np.diff(share) > 0).all()
    np.testing.assert_allclose(cure.cured_share(minutes, [panel, panel[::-1]], sheet)[0], share)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: cure.activation_energy(30, 60, 20, 20), "cure: 20 min at 20 degrees C and 30 min at 60"),
        (lambda: cure.activation_energy(30, 60, 960, 60), "cure: "),
        (lambda: cure.activation_energy(-30, 60, 960, 20), "cure time: -30 was given, allowed is a number above 0 and"),
        (lambda: cure.minutes_at(float("nan"), 60, 20, 7e4), "minutes: nan was given"),
        (lambda: cure.rate_ratio(51, 20, 300), "to temperature: 300 was given, allowed is a number from -20 to 150"),
        (lambda: cure.time_constant_min("wood"), "material: 'wood' was given, allowed are steel, aluminium, plastic."),
        (
            lambda: cure.time_constant_min("steel", 80),
            "thickness: 80 was given, allowed is a number from 0.3 to 10 mm.",
        ),
        (lambda: cure.cured_share([0, 10, 10], [60] * 3, Cure(60, 30, 960)), "minutes: times that do not rise"),
        (lambda: cure.cured_share([0, 10], [60] * 3, Cure(60, 30, 960)), "panel temperature: 3 values were given"),
    ],
)
def test_bad_entries_name_the_field_and_what_is_allowed(call, says):
    with pytest.raises(BadEntry) as caught:
        call()
    assert str(caught.value).startswith(says)
