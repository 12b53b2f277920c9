"""Spray it again, or add toner? The cards are made of flakes thrown one by one, not by the formula that is fitted."""

import importlib.util
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from paints import SHOP, paint_of

from refinishlib.colour import flake, optics, predict, reading, spray_or_pour, tint, tolerance, verdict
from refinishlib.colour.conditions import Conditions
from refinishlib.colour.film import Layer
from refinishlib.colour.spectrum import WAVELENGTHS_NM
from refinishlib.entry import BadEntry

ANGLES = (15, 25, 45, 75, 110)
NAMES, CUP = ("medium silver", "transparent red"), (140.0, 60.0)
TONERS = SHOP.picked(*NAMES)
BANDS = [2, 9, 14, 17, 20, 29]
AT = Conditions(film_um=24.0)
NOISE = (0.3, 0.15, 0.15)


def thrower():
    found = importlib.util.spec_from_file_location("test_flake", Path(__file__).with_name("test_flake.py"))
    module = importlib.util.module_from_spec(found)
    found.loader.exec_module(module)
    return module.Thrown


@cache
def card_of_rays(tilt_factor, red_g=CUP[1]):
    """Spectra (5, 31) of what 150 000 rays at each of six bands bring back from flakes that stand up so much more.

    What pigment scatters, which no tilt changes and the thrower leaves out, is the film's own account.
    """
    mix = optics.mixture(TONERS, (CUP[0], red_g))
    stands = replace(mix, flakes=(replace(mix.flakes[0], tilt_deg=mix.flakes[0].tilt_deg * tilt_factor),))
    cast = [thrower()(150_000, stands, AT.film_um, band=band) for band in BANDS]
    factors = np.array([[one.factor(angle) for one in cast] for angle in ANGLES])
    by_flakes = np.array([np.interp(WAVELENGTHS_NM, WAVELENGTHS_NM[BANDS], row) for row in factors])
    by_film = predict.reflectance(mix, AT) - flake.light([Layer(mix, AT.film_um)], AT.geometry)
    return by_flakes + by_film


def read(spectra, seed):
    """As an instrument reads it: with the noise of a spot."""
    clean = reading.from_spectra(spectra).lab
    noisy = clean + np.random.default_rng(seed).normal(size=clean.shape) * NOISE
    return reading.from_lab(dict(zip(ANGLES, noisy, strict=True)))


def told(card, panel, cup=CUP):
    return spray_or_pour.told_apart(TONERS, cup, card, panel, conditions=AT)


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize(("tilt_factor", "how"), [(1.18, "drier"), (0.88, "wetter")])
def test_a_right_formula_sprayed_wrong_gets_no_toner(tilt_factor, how, seed):
    """Tint added 36.7 g to a right formula that was sprayed wet; sprayed as usual that cup was 2.09 off."""
    card, panel = read(card_of_rays(tilt_factor), seed), read(card_of_rays(1.0), seed + 50)
    assert verdict.compare(panel, card, tolerance.of_kind("metallic")).verdict != tolerance.EDGE
    found = told(card, panel)
    assert found.decision.startswith("spray it again") and found.spraying[0] == how
    assert found.tilt_factor == pytest.approx(tilt_factor, rel=0.05)
    assert f"Sprayed {how}" in found.why


@pytest.mark.parametrize("seed", range(3))
def test_a_wrong_mix_sprayed_right_gets_its_toner(seed):
    card, panel = read(card_of_rays(1.0, red_g=40.0), seed), read(card_of_rays(1.0), seed + 50)
    found = told(card, panel, cup=(CUP[0], 40.0))
    assert found.decision == "add this"
    added = dict(zip(found.addition.names, found.addition.add_g, strict=True))
    assert added["transparent red"] == pytest.approx(20.0, rel=0.35)


def test_both_at_once_are_told_in_the_order_of_work():
    card, panel = read(card_of_rays(1.18, red_g=40.0), 1), read(card_of_rays(1.0), 51)
    found = told(card, panel, cup=(CUP[0], 40.0))
    assert found.decision == "spray it again, then look"
    assert found.addition.names[0] == "transparent red"
    assert "before any toner is poured" in found.why


def test_one_angle_cannot_tell_a_spraying_from_a_pour_and_the_card_that_would_is_named():
    """Truth and solver are one formula here, which can only make the two easier to tell apart."""
    silver = SHOP.colour("Millrace Silver, as built")
    cup = np.multiply(silver.weights, 2)
    paint = optics.mixture(silver.toners, cup)
    panel, wet = (reading.from_spectra(predict.reflectance(paint, Conditions(tilt_factor=t))) for t in (1.0, 1.1))
    at_45 = (reading.at_angles(one, [45]) for one in (wet, panel))
    found = spray_or_pour.told_apart(silver.toners, cup, *at_45)
    assert found.decision == "cannot tell" and abs(found.lead) < spray_or_pour.TELLS
    assert "Spray the same cup once more" in found.why and "15 and 110 degrees" in found.why
    assert spray_or_pour.told_apart(silver.toners, cup, wet, panel).decision == "spray it again"


def test_a_thin_film_is_told_from_a_lack_of_toner_by_what_shows_through():
    """Here the formula is truth and solver: no flakes are in it, and the two-flux film is held elsewhere."""
    toners, cup = SHOP.picked("transparent oxide", "white"), (190.0, 10.0)
    at = Conditions(film_um=18.0, undercoat=80.0)
    panel = reading.from_spectra(predict.reflectance(optics.mixture(toners, cup), at))
    card = reading.from_spectra(predict.reflectance(optics.mixture(toners, cup), replace(at, film_um=13.0)))
    found = spray_or_pour.told_apart(toners, cup, card, panel, conditions=at)
    assert (found.decision, found.spraying) == ("spray it again", ("with more film",))
    assert found.film_factor == pytest.approx(13 / 18, rel=0.1)
    assert "the undercoat shows" in found.why


def test_a_card_that_is_in_is_left_alone_and_one_of_another_colour_is_neither():
    panel = read(card_of_rays(1.0), 1)
    assert told(read(card_of_rays(1.0), 2), panel).decision == "leave it"
    blue = reading.from_spectra(predict.reflectance(paint_of("Tarn Evening, as built")))
    assert told(blue, panel).decision == "neither"


def test_the_mean_pour_for_a_wet_card_is_what_it_spares():
    """What tint alone would do, and where that cup is once it is sprayed as usual."""
    silver = SHOP.colour("Millrace Silver, as built")
    cup = np.multiply(silver.weights, 2)
    paint = optics.mixture(silver.toners, cup)
    panel, wet = (reading.from_spectra(predict.reflectance(paint, Conditions(tilt_factor=t))) for t in (1.0, 1.18))
    alone = tint.correct(silver.toners, cup, wet, panel)
    assert alone.tried.surplus_g > 20
    found = spray_or_pour.told_apart(silver.toners, cup, wet, panel)
    assert found.decision == "spray it again" and found.respray.worst < 0.05


def test_no_angle_in_common_is_a_sentence():
    face, flop = (reading.from_lab({angle: (50.0, 0.0, 0.0)}) for angle in (15, 110))
    with pytest.raises(BadEntry, match="no angle in common"):
        told(face, flop)
