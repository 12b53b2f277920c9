"""Cure against Arrhenius' law as chemistry books put it, and the plate in warm air against a numerical solution."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from refinishlib.booth import cure
from refinishlib.shop.product import product


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


def test_plate_warms_as_the_differential_equation_says():
    # Incropera, DeWitt (2007), chapter 5: rho c d dT/dt = 2 h (T_air - T), solved step by step.
    density, heat, thick_mm = cure.MATERIALS["steel"]

    def warming(_, panel_c):
        return 2 * cure.HEAT_W_PER_M2_K * (70 - panel_c) / (density * heat * thick_mm / 1000)

    seconds = np.linspace(0, 1200, 41)
    solved = solve_ivp(warming, (0, 1200), [15.0], t_eval=seconds, rtol=1e-9, atol=1e-9).y[0]
    ours = cure.panel_temperature_c(seconds / 60, 70, 15, cure.time_constant_min("steel"))
    np.testing.assert_allclose(ours, solved, atol=1e-6)


def test_a_log_of_temperatures_counts_as_the_integral_of_the_rate():
    sheet = product("clear").cure
    constant = cure.time_constant_min("plastic")
    energy = cure.sheet_energy(sheet)

    def rate(minute, _):
        kelvin = 273.15 + float(cure.panel_temperature_c(minute, 68, 18, constant))
        return np.exp(energy / 8.314462618 * (1 / 333.15 - 1 / kelvin)) / 30

    whole = solve_ivp(rate, (0, 40), [0.0], rtol=1e-8, atol=1e-10).y[0, -1]
    minutes = np.linspace(0, 40, 161)
    log = cure.cured_share(minutes, cure.panel_temperature_c(minutes, 68, 18, constant), sheet)
    assert log[-1] == pytest.approx(whole, rel=1e-3)
