"""Formulas to colours: the surface over the film, many at once, and what is refused."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from paints import SHOP, conditions_of, lab, mixed, reflectance

from refinishlib.colour import film, optics, predict, surface, weights
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.film import Layer
from refinishlib.colour.undercoat import grey
from refinishlib.entry import BadEntry

SHELF = [toner.name for toner in SHOP.toners]
MIX = st.lists(st.floats(0, 1), min_size=len(SHELF), max_size=len(SHELF)).filter(lambda masses: sum(masses) > 0.01)


def test_toners_are_smooth_and_possible():
    """At 1 nm no toner absorbs or scatters below nothing, and none changes by more than 8 % of its span in 1 nm."""
    nm = np.arange(380.0, 741.0)
    assert len([t for t in SHOP.toners if t.flake is None]) >= 12
    for toner in SHOP.toners:
        for spectrum in (optics.toner_absorption(toner, nm), optics.toner_scattering(toner, nm)):
            assert spectrum.min() >= 0
            assert np.abs(np.diff(spectrum)).max() <= 0.08 * max(np.ptp(spectrum), 1e-12)
        if toner.flake:
            reflected = optics.flake_reflectance(toner.flake, nm)
            kept = optics.flake_absorptance(toner.flake, nm)
            assert (reflected >= 0).all() and (kept >= 0).all() and (reflected + kept <= 1 + 1e-12).all()


def test_toners_have_the_colours_their_names_say():
    shown = {name: lab([name], [1.0], film_um=np.inf, angles_deg=[45])[0, 0] for name in SHELF}
    assert shown["white"][0] > 94
    assert shown["jet black"][0] < 2 < shown["soft black"][0] < 6
    hue = {name: np.degrees(np.arctan2(b, a)) % 360 for name, (_, a, b) in shown.items()}
    assert 240 < hue["bright blue"] < 280 and 260 < hue["deep blue"] < 300 and 290 < hue["violet"] < 320
    assert 150 < hue["green"] < 190 and 70 < hue["clean yellow"] < 95 and 40 < hue["yellow oxide"] < 75
    assert 15 < hue["warm red"] < 40 and hue["rose"] > 300 and 10 < hue["red oxide"] < 45
    assert np.hypot(*shown["clean yellow"][1:]) > 2 * np.hypot(*shown["yellow oxide"][1:]) * 0.9


def test_base_before_clear_is_lighter_and_greyer_and_a_wipe_of_solvent_is_not_clear():
    dark = (["deep blue", "jet black"], [80.0, 20.0])
    cleared, matt, wiped = (lab(*dark, surface_is=how, angles_deg=[45])[0, 0] for how in surface.SURFACES)
    assert matt[0] > wiped[0] > cleared[0] + 5
    assert np.hypot(*matt[1:]) < np.hypot(*cleared[1:])
    assert ciede2000(cleared, wiped) > 2


def test_a_light_base_changes_less_under_clear_than_a_dark_one():
    shift = {
        name: float(ciede2000(*(lab([name], [1.0], film_um=np.inf, surface_is=how)[0, 2] for how in ("matt", "clear"))))
        for name in ("white", "jet black")
    }
    assert shift["white"] < shift["jet black"] / 2


@settings(max_examples=30, deadline=None)
@given(masses=MIX, film_um=st.floats(0, 100), undercoat=st.floats(0, 100))
def test_diffuse_reflectance_stays_between_nothing_and_all(masses, film_um, undercoat):
    layers = [Layer(mixed(SHELF, masses), film_um)]
    inside = film.reflectance(layers, grey(undercoat))
    assert inside.min() >= 0
    assert inside.max() <= 1
    outside = surface.saunderson(inside, external=0.05)
    assert outside.min() >= 0 and outside.max() <= 0.95 + 1e-12


@settings(max_examples=20, deadline=None)
@given(masses=MIX, undercoat=st.floats(0, 100))
def test_more_coats_of_any_mix_never_move_it_away_from_the_hiding_film(masses, undercoat):
    films = np.append(7.0 * np.arange(10), np.inf)
    coats = film.reflectance([Layer(mixed(SHELF, np.tile(masses, (11, 1))), films)], grey(undercoat))
    assert (np.diff(np.abs(coats[:-1] - coats[-1]), axis=0) <= 1e-12).all()


@settings(max_examples=20, deadline=None)
@given(masses=MIX, factor=st.floats(0.01, 1000))
def test_only_the_ratio_of_the_masses_counts(masses, factor):
    once, scaled = (reflectance(SHELF, np.array(masses) * f) for f in (1.0, factor))
    np.testing.assert_allclose(once, scaled, rtol=1e-9)


def test_many_formulas_at_once_are_each_formula_alone():
    masses = np.random.default_rng(4).dirichlet(np.ones(len(SHELF)), (2, 3))
    films, greys = np.array([[8.0], [21.0]]), np.array([10.0, 50.0, 90.0])
    together = lab(SHELF, masses, lamps=["D65", "FL11"], film_um=films, undercoat=grey(greys))
    assert together.shape == (2, 3, 2, 5, 3)
    for i in range(2):
        for j in range(3):
            alone = lab(SHELF, masses[i, j], lamps=["D65", "FL11"], film_um=films[i, 0], undercoat=float(greys[j]))
            np.testing.assert_allclose(together[i, j], alone, atol=1e-9)


def test_no_film_shows_the_undercoat_and_no_layer_too():
    bare = predict.of_layers([], conditions_of(undercoat=50.0, angles_deg=[45]))
    nothing = reflectance(["white"], [1.0], undercoat=50.0, film_um=0.0, angles_deg=[45])
    np.testing.assert_allclose(bare, nothing)
    assert weights.lab(bare)[0, 0, 0] == pytest.approx(50, abs=1e-9)


def test_a_mid_coat_dims_the_flakes_below_it():
    silver, red = (mixed([name], [1.0]) for name in ("medium silver", "transparent red"))
    bare, under_red = (
        predict.of_layers(layers, conditions_of(angles_deg=[15]))
        for layers in ([Layer(silver, 20.0)], [Layer(silver, 20.0), Layer(red, 8.0)])
    )
    through = under_red / bare
    assert through.max() < 1
    assert through[0, 11] < 0.2 * through[0, 30]


@pytest.mark.parametrize(
    ("names", "masses", "conditions", "sentence"),
    [
        (["moon dust"], [1.0], {}, "toner: 'moon dust' was given, allowed are white, jet black"),
        (["white"], [-1.0], {}, "toner masses: -1 was given"),
        (["white"], [np.nan], {}, "toner masses: nan was given"),
        (["white"], [0.0], {}, "an empty cup was given"),
        (["white", "violet"], [1.0], {}, "toner masses: 1 values were given, allowed are 2"),
        (["white"], [1.0], {"film_um": -1.0}, "dry film: -1 was given"),
        (["white"], [1.0], {"film_um": np.nan}, "dry film: nan was given"),
        (["white"], [1.0], {"undercoat": 120.0}, "undercoat lightness: 120 was given"),
        (["white"], [1.0], {"undercoat": np.full(30, 0.2)}, "undercoat reflectance: 30 values were given"),
        (["white"], [1.0], {"undercoat": np.full(31, 1.2)}, "undercoat reflectance: 1.2 was given"),
        (["white"], [1.0], {"tilt_factor": 0.0}, "tilt factor: 0 was given"),
        (["white"], [1.0], {"surface_is": "wet"}, "surface: 'wet' was given, allowed are clear, matt, wiped"),
    ],
)
def test_bad_entries_name_the_field_and_what_is_allowed(names, masses, conditions, sentence):
    with pytest.raises(BadEntry, match=sentence):
        reflectance(names, masses, **conditions)


def test_no_mix_at_all_has_no_colour_and_raises_nothing():
    """A search that has nothing left to try hands over no rows; flakes raised a ValueError."""
    for names in (["white", "soft black"], ["medium silver", "soft black"]):
        assert lab(names, np.zeros((0, 2))).shape == (0, 1, 5, 3)
