"""Cure against Arrhenius' law as chemistry books put it, and the plate in warm air against a numerical solution."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from refinishlib.booth import cure
from refinishlib.shop.shop import load


def test_51_kj_per_mol_doubles_the_rate_for_ten_degrees():
    # The rule of thumb of van 't Hoff (1884), near room temperature; worked from 25 to 35 degrees C in
    # Atkins, de Paula (2010), Physical Chemistry, 9th edition, chapter 21, from memory: about 53 kJ/mol.
    assert cure.rate_ratio(51e3, 20, 30) == pytest.approx(2.0, rel=0.02)
    assert cure.rate_ratio(52.9e3, 25, 35) == pytest.approx(2.0, rel=0.005)


def test_energy_from_half_an_hour_at_60_and_16_hours_at_20():
    # ln(960/30) R / (1/293.15 - 1/333.15) by hand: 3.4657 x 8.3145 / 4.0957e-4 = 70357 J/mol.
    energy = cure.activation_energy(30, 60, 16 * 60, 20)
    assert energy == pytest.approx(70357, rel=1e-3)
    assert cure.minutes_at(30, 60, 20, energy) == pytest.approx(960)


# kg/m3 and J/(kg K) as printed: mild steel after EN 1993-1-2 (2005), 7850 and 440 rising with temperature, and 420 to
# 500 in handbooks; aluminium after EN 1999-1-2 (2007), 2700 and 900 near room temperature; polypropylene 0.90 to 0.91
# g/cm3 (ISO 1183 data sheets) and 1700 to 2000. From memory.
PRINTED = {"steel": (7850, 420, 500), "aluminium": (2700, 870, 930), "plastic": (905, 1700, 2000)}


@pytest.mark.parametrize("name", PRINTED)
def test_metals_and_plastic_weigh_and_warm_as_printed(name):
    density, least, most = PRINTED[name]
    ours, heat, thick_mm = cure.MATERIALS[name]
    assert ours == pytest.approx(density, rel=0.01) and least <= heat <= most
    # the time constant by hand: two faces at 10 W/(m2 K)
    assert cure.time_constant_min(name) == pytest.approx(ours * heat * thick_mm / 1000 / 20 / 60)
    assert thick_mm == {"steel": 0.8, "aluminium": 1.1, "plastic": 3.0}[name]  # common practice, no source


def test_a_steel_panel_takes_two_and_a_half_minutes_and_twice_as_thick_a_one_twice_that():
    # 7850 kg/m3 x 460 J/(kg K) x 0.0008 m / (2 x 10 W/(m2 K)) = 144.4 s
    assert cure.time_constant_min("steel", 0.8) * 60 == pytest.approx(144.4, abs=0.1)
    assert cure.time_constant_min("steel", 1.6) == pytest.approx(2 * cure.time_constant_min("steel", 0.8))


def test_plate_warms_as_the_differential_equation_says():
    # Incropera, DeWitt (2007), chapter 5: rho c d dT/dt = 2 h (T_air - T), step by step, with its own numbers.
    def warming(_, panel_c):
        return 2 * 10 * (70 - panel_c) / (7850 * 460 * 0.8e-3)

    seconds = np.linspace(0, 1200, 41)
    solved = solve_ivp(warming, (0, 1200), [15.0], t_eval=seconds, rtol=1e-9, atol=1e-9).y[0]
    ours = cure.panel_temperature_c(seconds / 60, 70, 15, cure.time_constant_min("steel"))
    np.testing.assert_allclose(ours, solved, atol=1e-6)


def test_a_log_of_temperatures_counts_as_the_integral_of_the_rate():
    sheet = load().product("clear").cure
    constant = cure.time_constant_min("plastic")
    energy = cure.sheet_energy(sheet)

    def rate(minute, _):
        kelvin = 273.15 + float(cure.panel_temperature_c(minute, 68, 18, constant))
        return np.exp(energy / 8.314462618 * (1 / 333.15 - 1 / kelvin)) / 30

    whole = solve_ivp(rate, (0, 40), [0.0], rtol=1e-8, atol=1e-10).y[0, -1]
    minutes = np.linspace(0, 40, 161)
    log = cure.cured_share(minutes, cure.panel_temperature_c(minutes, 68, 18, constant), sheet)
    assert log[-1] == pytest.approx(whole, rel=1e-3)
