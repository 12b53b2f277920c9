"""Climate against IAPWS-95/IF97 (package iapws), ASHRAE's equations (package psychrolib) and printed values."""

import iapws.iapws97
import numpy as np
import psychrolib
import pytest

from refinishlib.booth import climate
from refinishlib.booth.flash import water_pull_pa

AIR_C = np.linspace(0.02, 60, 121)
HUMIDITIES = (5, 20, 40, 50, 65, 80, 95, 100)
GRID = [(air_c, humidity) for air_c in np.linspace(0.5, 60, 18) for humidity in HUMIDITIES]


@pytest.fixture(autouse=True)
def metric():
    psychrolib.SetUnitSystem(psychrolib.SI)


def test_saturation_pressure_is_that_of_iapws():
    # IAPWS R7-97 (2012), region 4, as computed by iapws; the formula of the house is Magnus.
    want = np.array([iapws.iapws97._PSat_T(air_c + 273.15) * 1e6 for air_c in AIR_C])
    np.testing.assert_allclose(climate.saturation_pressure_pa(AIR_C), want, rtol=0.005)


def test_saturation_pressure_at_printed_points():
    # IAPWS R7-97 (2012), table 35: 300 K gives 3.53658941e-3 MPa. Triple point: 611.657 Pa, IAPWS SR1-86 (1992).
    assert climate.saturation_pressure_pa(300 - 273.15) == pytest.approx(3536.58941, rel=0.005)
    assert climate.saturation_pressure_pa(0.01) == pytest.approx(611.657, rel=0.005)


def test_psychrometrics_are_those_of_psychrolib():
    # ASHRAE Handbook, Fundamentals (2017), chapter 1, as computed by psychrolib.
    air_c, humidity = np.array(GRID).T
    at_sea = 101325.0
    ratio = [psychrolib.GetHumRatioFromRelHum(a, h / 100, at_sea) for a, h in GRID]
    vapour = [psychrolib.GetVapPresFromRelHum(a, h / 100) for a, h in GRID]
    np.testing.assert_allclose(climate.humidity_ratio(air_c, humidity), ratio, rtol=0.005)
    np.testing.assert_allclose(climate.vapour_pressure_pa(air_c, humidity), vapour, rtol=0.005)
    volume = np.array([psychrolib.GetMoistAirVolume(a, r, at_sea) for (a, _), r in zip(GRID, ratio, strict=True)])
    np.testing.assert_allclose(climate.moisture_g_per_m3(air_c, humidity), np.array(ratio) / volume * 1000, rtol=0.005)


def test_dew_point_and_wet_bulb_are_those_of_psychrolib():
    # Temperatures are compared on the absolute scale and in tenths; below freezing psychrolib turns to ice.
    air_c, humidity = np.array(GRID).T
    dew = np.array([psychrolib.GetTDewPointFromRelHum(a, h / 100) for a, h in GRID])
    wet = np.array([psychrolib.GetTWetBulbFromRelHum(a, h / 100, 101325.0) for a, h in GRID])
    for ours, theirs in ((climate.dew_point_c(air_c, humidity), dew), (climate.wet_bulb_c(air_c, humidity), wet)):
        liquid = theirs > 0
        assert liquid.sum() > 100
        np.testing.assert_allclose(ours[liquid], theirs[liquid], atol=0.1)
        np.testing.assert_allclose(ours[liquid] + 273.15, theirs[liquid] + 273.15, rtol=0.005)


def test_dew_point_as_tables_print_it():
    # ISO 8502-4 (2017), the table of dew points in its annex, from memory: 20 degrees C at 50 % has 9.3, at 80 % 16.4.
    assert round(float(climate.dew_point_c(20, 50)), 1) == 9.3
    assert round(float(climate.dew_point_c(20, 80)), 1) == 16.4


def test_air_still_takes_what_it_does_not_hold():
    # Saturated air at 20 degrees C holds 17.3 g/m3, at 30 degrees C 30.4 g/m3: CRC Handbook (2014), from memory.
    np.testing.assert_allclose(climate.moisture_g_per_m3([20, 30], 100), [17.3, 30.4], rtol=0.005)


def test_the_pull_on_water_is_the_psychrometer_s():
    # World Meteorological Organization (2018), Guide No. 8, annex 4.B:
    # ew(tw) - e = 6.53e-4 (1 + 0.000944 tw) p (t - tw).
    # It leaves the thermodynamic wet bulb of ASHRAE as the air gets hot: here only the air of a booth.
    air_c, humidity = np.array([(a, h) for a, h in GRID if 8 < a < 31 and 20 <= h <= 95]).T
    wet = np.array(
        [psychrolib.GetTWetBulbFromRelHum(a, h / 100, 101325.0) for a, h in zip(air_c, humidity, strict=True)]
    )
    pull = 6.53e-4 * (1 + 0.000944 * wet) * 101325 * (air_c - wet)
    np.testing.assert_allclose(water_pull_pa(air_c, humidity), pull, rtol=0.05)
