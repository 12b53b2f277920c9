"""The two constants against the differential equations they solve, and against their known limits."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from paints import SHOP, mixed
from scipy.integrate import solve_ivp

from refinishlib.colour import film
from refinishlib.colour.film import Layer

PER_UM = st.floats(0, 1.5)
SHARE = st.floats(0, 1)


def integrated(k, s, film_um, undercoat):
    """Kubelka and Munk (1931), Z. techn. Phys. 12, 593: light going down and up, integrated from the undercoat."""

    def change(_, light):
        down, up = light
        return [(k + s) * down - s * up, -(k + s) * up + s * down]

    run = solve_ivp(change, (0, film_um), [1.0, undercoat], method="DOP853", rtol=1e-11, atol=1e-14)
    down, up = run.y[:, -1]
    return up / down


@pytest.mark.parametrize("name", [toner.name for toner in SHOP.toners if toner.flake is None])
@pytest.mark.parametrize("undercoat", [0.0, 0.35, 0.9])
def test_film_solves_the_two_flux_equations(name, undercoat):
    toner = mixed([name], [1.0])
    film_um = 12.0
    ours = film.reflectance([Layer(toner, film_um)], np.full(31, undercoat))
    for i in (0, 12, 20, 30):
        exact = integrated(toner.absorption_per_um[i], toner.scattering_per_um[i], film_um, undercoat)
        assert ours[i] == pytest.approx(exact, rel=1e-6)


@settings(max_examples=60, deadline=None)
@given(k=PER_UM, s=PER_UM, film_um=st.floats(0, 30), undercoat=SHARE)
def test_any_film_solves_the_two_flux_equations(k, s, film_um, undercoat):
    ours = film.over(*film.free_film(k, s, film_um), undercoat)
    assert ours == pytest.approx(integrated(k, s, film_um, undercoat), rel=1e-6, abs=1e-8)


@given(k=st.floats(1e-4, 2), s=st.floats(1e-4, 2), undercoat=SHARE)
def test_no_film_shows_the_undercoat_and_an_endless_one_only_itself(k, s, undercoat):
    """Kubelka (1948): R = Rg at zero thickness and 1 + K/S - sqrt((K/S)^2 + 2 K/S) at infinite thickness."""
    ratio = k / s
    assert film.over(*film.free_film(k, s, 0.0), undercoat) == pytest.approx(undercoat, abs=1e-12)
    endless = film.over(*film.free_film(k, s, np.inf), undercoat)
    assert endless == pytest.approx(1 + ratio - np.sqrt(ratio**2 + 2 * ratio), rel=1e-6, abs=1e-9)
    assert film.infinite(k, s) == pytest.approx(float(endless), rel=1e-12)


@given(k=PER_UM, s=PER_UM, film_um=st.floats(0, 50), undercoat=SHARE)
def test_two_half_coats_are_one_coat_and_nothing_leaves_zero_to_one(k, s, film_um, undercoat):
    half = film.free_film(k, s, film_um / 2)
    whole = film.over(*film.free_film(k, s, film_um), undercoat)
    assert film.over(*half, film.over(*half, undercoat)) == pytest.approx(float(whole), abs=1e-9)
    assert 0 <= whole <= 1 + 1e-12


@given(k=PER_UM, s=PER_UM, undercoat=SHARE)
def test_more_coats_never_move_a_film_away_from_the_endless_one(k, s, undercoat):
    assume(k + s > 0)
    coats = film.over(*film.free_film(k, s, 7.0 * np.arange(12)), undercoat)
    away = np.abs(coats - film.infinite(k, s))
    assert (np.diff(away) <= 1e-12).all()
