import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refinishlib.booth import climate
from refinishlib.entry import BadEntry

airs = st.floats(-20, 60)
humidities = st.floats(0.5, 100)


@settings(deadline=None, max_examples=60)
@given(airs, humidities)
def test_air_at_its_dew_point_is_full(air_c, humidity):
    dew = climate.dew_point_c(air_c, humidity)
    assert dew <= air_c + 1e-9
    assert (
        climate.saturation_pressure_pa(max(dew, -45))
        == pytest.approx(climate.vapour_pressure_pa(air_c, humidity), rel=1e-6)
        or dew < -45
    )


@settings(deadline=None, max_examples=60)
@given(airs, humidities)
def test_wet_bulb_lies_between_dew_point_and_air(air_c, humidity):
    wet = climate.wet_bulb_c(air_c, humidity)
    assert climate.dew_point_c(air_c, humidity) - 1e-6 <= wet <= air_c + 1e-6


@settings(deadline=None, max_examples=60)
@given(st.floats(0, 59), humidities, st.floats(0.01, 1))
def test_heating_dries_the_air_and_keeps_its_water(air_c, humidity, by):
    after = climate.humidity_after_heating(air_c, humidity, air_c + by)
    assert after < humidity
    assert climate.humidity_ratio(air_c + by, after) == pytest.approx(climate.humidity_ratio(air_c, humidity))
    assert climate.humidity_after_heating(air_c + by, after, air_c) == pytest.approx(humidity)


def test_the_three_degree_rule_turns_where_it_should():
    dew = climate.dew_point_c(20, 70)
    # ISO 8502-4 (2017) and ISO 12944-7 (2017): at least 3 degrees C
    assert climate.surface_margin_c(dew + 3.01, 20, 70) > 3 == climate.SURFACE_MARGIN_C
    assert climate.surface_margin_c(dew + 2.99, 20, 70) < 3


def test_arrays_keep_their_axes_and_match_single_values():
    air_c, humidity = np.linspace(5, 45, 5)[:, None], np.linspace(20, 95, 4)
    for function in (climate.dew_point_c, climate.wet_bulb_c, climate.humidity_ratio, climate.moisture_g_per_m3):
        table = function(air_c, humidity)
        assert table.shape == (5, 4)
        assert table[3, 2] == pytest.approx(float(function(air_c[3, 0], humidity[2])))


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: climate.dew_point_c(20, 140), "humidity: 140 was given, allowed is a number from 0.1 to 100 %."),
        (lambda: climate.dew_point_c(20, 0), "humidity: 0 was given"),
        (lambda: climate.wet_bulb_c(float("nan"), 50), "air temperature: nan was given"),
        (
            lambda: climate.saturation_pressure_pa(61),
            "air temperature: 61 was given, allowed is a number from -45 to 60",
        ),
        (lambda: climate.surface_margin_c(300, 20, 50), "surface temperature: 300 was given"),
        (lambda: climate.humidity_ratio(20, 50, 1013), "air pressure: 1013 was given"),
        (lambda: climate.dew_point_c("warm", 50), "air temperature: something that is not a number was given"),
    ],
)
def test_bad_entries_name_the_field_and_what_is_allowed(call, says):
    with pytest.raises(BadEntry) as caught:
        call()
    assert str(caught.value).startswith(says)
