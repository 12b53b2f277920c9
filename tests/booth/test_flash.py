import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from refinishlib.booth import flash
from refinishlib.booth.solvent import SOLVENTS, vapour_pressure_pa
from refinishlib.entry import BadEntry
from refinishlib.shop.shop import load

SOLVENT_BORNE = [sheet for sheet in load().products if not sheet.water_borne]
WATER = load().product("water base")
airs = st.floats(5, 45)
humidities = st.floats(5, 98)


@settings(deadline=None, max_examples=60)
@given(st.sampled_from(SOLVENT_BORNE), airs, st.floats(0.1, 10), humidities)
def test_hotter_flashes_faster(sheet, air_c, by, humidity):
    assert flash.flash_minutes(sheet, air_c + by, humidity) < flash.flash_minutes(sheet, air_c, humidity)


@settings(deadline=None, max_examples=60)
@given(airs, st.floats(0.1, 10), humidities)
def test_hotter_flashes_faster_water_borne_too(air_c, by, humidity):
    assert flash.flash_minutes(WATER, air_c + by, humidity) < flash.flash_minutes(WATER, air_c, humidity)


@settings(deadline=None, max_examples=60)
@given(airs, humidities, st.floats(0.1, 60))
def test_more_humid_is_slower_water_borne_and_the_same_solvent_borne(air_c, humidity, by):
    assume(humidity + by <= 98)
    assert flash.flash_minutes(WATER, air_c, humidity + by) > flash.flash_minutes(WATER, air_c, humidity)
    clear = load().product("clear")
    assert flash.flash_minutes(clear, air_c, humidity + by) == flash.flash_minutes(clear, air_c, humidity)


@settings(deadline=None, max_examples=60)
@given(st.sampled_from(load().products), airs, humidities, st.floats(0.05, 2), st.floats(1.05, 3))
def test_more_air_is_faster_thicker_is_slower_final_is_longer(sheet, air_c, humidity, air_speed, more):
    plain = flash.flash_minutes(sheet, air_c, humidity, air_speed)
    assert flash.flash_minutes(sheet, air_c, humidity, air_speed * more) < plain
    assert flash.flash_minutes(sheet, air_c, humidity, air_speed, film_ratio=more) == pytest.approx(plain * more)
    assert flash.flash_minutes(sheet, air_c, humidity, air_speed, final=True) >= plain


@settings(deadline=None, max_examples=60)
@given(st.sampled_from([sheet for sheet in SOLVENT_BORNE if len(sheet.reducers) > 2]), airs)
def test_slow_reducer_is_slower_than_normal_than_fast(sheet, air_c):
    fast, normal, slow = (flash.flash_minutes(sheet, air_c, 50, reducer_speed=s) for s in ("fast", "normal", "slow"))
    assert fast < normal < slow


@pytest.mark.parametrize("sheet", load().products, ids=lambda sheet: sheet.name)
def test_the_day_of_the_sheet_gives_the_sheet(sheet):
    assert flash.flash_minutes(sheet, 20, 50) == pytest.approx(sheet.flash_min)
    assert flash.flash_minutes(sheet, 20, 50, final=True) == pytest.approx(sheet.final_flash_min)


def test_every_leading_solvent_is_in_the_handbook():
    for sheet in load().products:
        assert {tin.solvent for tin in sheet.reducers} <= {*SOLVENTS, "water"}


def test_air_speed_goes_as_a_boundary_layer_does():
    """Incropera, DeWitt (2007), chapter 7, laminar: Sh goes with Re^0.5, nine times the air, a third the time."""
    assert flash.air_speed_factor(0.3) == 1
    assert flash.air_speed_factor(2.7) == pytest.approx(1 / 3)
    assert flash.air_speed_factor(0.075) == pytest.approx(2)
    assert flash.air_speed_factor(0.01) == flash.air_speed_factor(0.05) == pytest.approx(6**0.5)


@settings(deadline=None, max_examples=40)
@given(st.sampled_from(SOLVENT_BORNE), airs, st.sampled_from(["fast", "normal", "slow", "exempt reducer"]))
def test_a_reducer_counts_by_its_share(sheet, air_c, speed):
    """Between a mix without it and that solvent alone: 7 % of a fast reducer cannot halve a flash."""
    if speed not in {tin.speed for tin in sheet.reducers} | {tin.name for tin in sheet.reducers}:
        return
    share = flash.reducer_share(sheet, reducer_speed=speed)
    used = flash.drying_factor(sheet, air_c, 50, reducer_speed=speed)
    plain = flash.drying_factor(sheet, air_c, 50)
    tin = next(tin for tin in sheet.reducers if speed in (tin.speed, tin.name))
    alone = plain * vapour_pressure_pa("n-butyl acetate", air_c) / vapour_pressure_pa(tin.solvent, air_c)
    assert used == pytest.approx((1 - share) * plain + share * alone)
    assert 0 < share < 0.6


def test_shares_by_hand():
    """Clear 2:1:0.1 of 418, 308 and 880 g/L: 88 of 1232; base 1:1 of 688 and 880: 880 of 1568."""
    assert flash.reducer_share(load().product("clear")) == pytest.approx(88 / 1232)
    assert flash.reducer_share(load().product("solvent base")) == pytest.approx(880 / 1568)
    assert flash.reducer_share(load().product("solvent base"), reducer_speed="exempt reducer") == pytest.approx(
        835 * 0.47 / (688 + 835)
    )
    assert flash.reducer_share(load().product("plastic primer")) == 0


def test_a_slow_water_reducer_counts_by_its_share_too():
    """10:1 of 789 and 990 g/L: 990 of 8880 dry three times as slowly."""
    share = 990 / (10 * 789 + 990)
    slow, normal = (flash.flash_minutes(WATER, 25, 50, reducer_speed=speed) for speed in ("slow", "normal"))
    assert slow / normal == pytest.approx(1 + 2 * share)


def test_full_air_takes_no_water():
    assert flash.flash_minutes(WATER, 20, 100) == np.inf


def test_the_wet_film_is_colder_than_the_air_so_warm_air_helps_less_than_its_saturation():
    # Without the cooling the pull from 20 to 30 degrees C would double with the saturation pressure.
    assert 1.2 < flash.water_factor(20, 50) / flash.water_factor(30, 50) < 1.6


def test_factors_are_those_of_the_vapour_pressures_and_keep_axes():
    want = vapour_pressure_pa("n-butyl acetate", 20) / vapour_pressure_pa("toluene", 30)
    assert flash.solvent_factor(30, "toluene") == pytest.approx(want)
    day = np.linspace(10, 30, 7)
    table = flash.drying_factor(WATER, day[:, None], np.array([40.0, 80.0]))
    assert table.shape == (7, 2)
    assert table[3, 1] == pytest.approx(float(flash.drying_factor(WATER, day[3], 80)))


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (
            lambda: flash.flash_minutes(WATER, 20, 140),
            "humidity: 140 was given, allowed is a number from 0.1 to 100 %.",
        ),
        (lambda: flash.flash_minutes(load().product("clear"), 20, 140), "humidity: 140 was given"),
        (lambda: flash.flash_minutes(load().product("clear"), float("nan"), 50), "solvent temperature: nan was given"),
        (
            lambda: flash.flash_minutes(WATER, 20, 50, -1),
            "air speed: -1 was given, allowed is a number from 0 to 10 m/s.",
        ),
        (lambda: flash.flash_minutes(WATER, 20, 50, reducer_speed="fast"), "water base, reducer: 'fast' was given"),
        (lambda: flash.flash_minutes(WATER, 20, 50, film_ratio=-3), "film ratio: -3 was given"),
        (lambda: flash.solvent_factor(20, "brandy"), "solvent: 'brandy' was given, allowed are acetone"),
    ],
)
def test_bad_entries_name_the_field_and_what_is_allowed(call, says):
    with pytest.raises(BadEntry) as caught:
        call()
    assert str(caught.value).startswith(says)
