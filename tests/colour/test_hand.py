"""A hand's scatter, and how often it joins. Panels that are thrown or drawn by the same film model say so."""

import importlib.util
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from paints import SHOP, mixed, paint_of

from refinishlib.colour import hand, joint, predict, words
from refinishlib.colour.conditions import Conditions
from refinishlib.colour.eye import Eye
from refinishlib.colour.film import Layer
from refinishlib.colour.hand import Hand
from refinishlib.colour.reading import from_lab
from refinishlib.colour.stage import Stage
from refinishlib.entry import BadEntry

ANGLES = (15, 25, 45, 75, 110)
SILVER, WHITE, RED = (SHOP.colour(f"{name}, as built") for name in ("Millrace Silver", "Chalk Barn", "Kiln Red"))


@pytest.mark.parametrize("finish", [SILVER, WHITE, RED])
def test_a_still_hand_sprays_one_colour(finish):
    panels = hand.panels(finish, hand.STILL, tries=5)
    stage = Stage(finish)
    meant = predict.lab(stage.mixture, Conditions(film_um=stage.coats * stage.film_um))[0]
    assert panels == pytest.approx(np.broadcast_to(meant, panels.shape), abs=1e-9)


def test_a_small_scatter_is_the_sum_of_its_causes():
    """First order (JCGM 100:2008) beside Monte Carlo: variances of the four causes add."""
    small = Hand(film=0.02, tilt=0.003, grey=0.5)
    every, *each = (
        hand.panels(SILVER, one, tries=4000, seed=3).var(axis=0)
        for one in (small, *(small.only(cause) for cause in hand.CAUSES))
    )
    assert np.sum(each, axis=0) == pytest.approx(every, rel=0.12, abs=1e-4)


def test_what_a_tilt_does_to_a_silver_is_what_flakes_thrown_one_by_one_do():
    """The second model: on the tilt's scatter stands that a silver does not join. Face, 15 degrees."""
    thrown_by = thrower()
    mix = mixed(["medium silver"], [1.0])
    for angle in (15,):
        by_rays, by_formula = (
            np.log(np.divide(*(light(replace(mix, flakes=(tilted(mix.flakes[0], t),)), angle) for t in (1.1, 0.9))))
            for light in (
                lambda paint, a: thrown_by.Thrown(400_000, paint, 18.0).factor(a),
                lambda paint, a: thrown_by.formula_over_the_aperture(Layer(paint, 18.0), a, 7.0),
            )
        )
        assert by_formula == pytest.approx(by_rays, rel=0.15, abs=0.02)


def tilted(flake, factor):
    return replace(flake, tilt_deg=flake.tilt_deg * factor)


def thrower():
    found = importlib.util.spec_from_file_location("test_flake", Path(__file__).with_name("test_flake.py"))
    module = importlib.util.module_from_spec(found)
    found.loader.exec_module(module)
    return module


def test_more_coats_even_the_film_out():
    one, four = (
        hand.panels(Stage(WHITE, coats, 12.0 / coats), Hand().only("film"), tries=3000)[:, 2, 0].std()
        for coats in (1, 4)
    )
    assert one / four == pytest.approx(2, rel=0.15)


def test_a_small_pour_scatters_more_than_a_large_one():
    small, large = (
        hand.panels(WHITE, Hand(mass_g=mass).only("pour"), tries=2000)[:, 2].std(axis=0).max() for mass in (60.0, 600.0)
    )
    assert small / large == pytest.approx(10, rel=0.2)
    poured = Stage(Stage(WHITE).mixture)
    assert not hand.panels(poured, Hand().only("pour"), tries=5).std(axis=0).any(), "a mix is poured already"


def read(panels, noise, seed):
    """An instrument's own scatter, and no more than it shows."""
    return (panels + np.random.default_rng(seed).normal(0, noise, panels.shape)).round(2)


@pytest.mark.parametrize(("finish", "cause", "true"), [(SILVER, "tilt", 0.035), (WHITE, "film", 0.2)])
def test_ten_panels_give_the_hand_back(finish, cause, true):
    """The panels are drawn with the film model that is then fitted, but not by its first order, and with noise."""
    found = [
        getattr(
            hand.measured(
                read(hand.panels(finish, Hand(film=0.2, tilt=0.035), tries=10, seed=seed), 0.05, seed), finish
            ),
            cause,
        )
        for seed in range(30)
    ]
    assert np.sqrt(np.mean(np.square(found))) == pytest.approx(true, rel=0.2)


def test_what_a_colour_cannot_tell_stays_as_assumed():
    black = SHOP.colour("Night Ferry, as built")
    assumed = Hand(film=0.07, tilt=0.05, grey=3.0)
    found = hand.measured(hand.panels(black, Hand(), tries=10), black, assumed=assumed)
    assert found == assumed
    assert hand.measured(hand.panels(WHITE, Hand(), tries=10), WHITE, assumed=assumed).tilt == 0.05


def test_an_old_finish_gives_its_tilt_and_a_solid_has_none():
    silver = paint_of("Millrace Silver, as built")
    rng = np.random.default_rng(0)
    for tilt in (0.92, 1.18):
        lab = predict.lab(silver, Conditions(film_um=np.inf, tilt_factor=tilt))[0] + rng.normal(0, 0.1, (5, 3))
        assert hand.tilt_of(silver, from_lab(dict(zip(ANGLES, lab, strict=True)))) == pytest.approx(tilt, abs=0.005)
    assert hand.tilt_of(paint_of("Kiln Red, as built"), from_lab({45: (40, 30, 20)})) == 1.0


# --- how often it joins -----------------------------------------------------------------------------------------------


def test_ten_read_panels_replace_the_assumed_scatter():
    """A steady hand joins its silver, an unsteady one does not: by its panels alone and by the hand fitted to them."""
    for tilt, joins in ((0.002, True), (0.03, False)):
        panels = read(hand.panels(SILVER, Hand(tilt=tilt), tries=10, seed=4), 0.02, 4)
        assert joint.chance_of_panels(panels).promised == joins
        assert joint.chance(SILVER, SILVER, hand.measured(panels, SILVER)).promised == joins


def test_the_share_is_the_one_that_many_pairs_of_panels_give():
    """Every pair out of 300 panels beside the draws of two: other pairs, another sum, the same eye."""
    drawn = joint.chance(SILVER, SILVER, tries=4000)
    pairs = joint.chance_of_panels(hand.panels(SILVER, Hand(), tries=300, seed=9))
    assert drawn.not_seen == pytest.approx(pairs.not_seen, abs=0.05)


def test_a_difference_that_is_there_already_costs_the_joint():
    blue = ["deep blue", "jet black", "white"]
    old = mixed(blue, [80.0, 20.0, 1.0])
    shares = [joint.chance(mixed(blue, [80.0, 20.0, white]), old).not_seen for white in (1.0, 1.5, 3.0, 6.0)]
    assert shares == sorted(shares, reverse=True)
    assert shares[0] == 1.0 > shares[-1]
    far = joint.chance(mixed(blue, [80.0, 20.0, 6.0]), old)
    assert far.driver == "difference"
    assert not far.promised


def test_a_keener_eye_and_no_gap_find_more_joints():
    usual, keen, closed = (joint.chance(WHITE, WHITE, eye=e) for e in (Eye(), Eye(care=1.0), Eye(gap_factor=1.0)))
    assert usual.not_seen > keen.not_seen
    assert usual.not_seen > closed.not_seen


def test_a_decision_takes_readings_and_words_with_their_doubt():
    car, blue = SHOP.vehicle, SHOP.colour("Tarn Evening, as built")
    door = car.panel("left front door")
    card = from_lab(dict(zip(ANGLES, predict.lab(paint_of(blue.title))[0], strict=True)))

    def off(lightness):
        return from_lab(dict(zip(ANGLES, np.add(card.lab, [lightness, 0, 0]), strict=True)))

    found = [joint.plan_as_read(car, door, blue, card, off(more)) for more in (0.0, 1.0, 9.0)]
    assert [made.verdict for made, _, _ in found] == ["goes edge to edge", "needs a fade", "not yet"]
    said = words.from_words(card, "a little lighter", of="the panel")
    made, by_words, _ = joint.plan_as_read(car, door, blue, words.beside(card), said)
    assert made.verdict in ("goes edge to edge", "needs a fade")
    assert 0.2 < by_words.total.max() < 1.2
    sure, unsure = (joint.plan_as_read(car, door, blue, card, off(1.0), spot=(s, s, s))[1] for s in (0.01, 0.8))
    assert sure.unseen > unsure.unseen


def test_a_mid_coat_hardly_ever_joins():
    ground = Stage(SHOP.colour("Orchard Dusk, ground coat"), 4)
    both = [ground, Stage(SHOP.colour("Orchard Dusk, mid coat"), 2, 4.0)]
    alone, with_mid = joint.chance(ground, ground), joint.chance(both, both)
    assert alone.not_seen > 0.9 > 0.5 > with_mid.not_seen


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: Hand(film=-0.1), "scatter of the film: -0.1"),
        (lambda: Hand(tilt=2), "scatter of the tilt: 2"),
        (lambda: Hand(grey=99), "scatter of the undercoat: 99"),
        (lambda: Hand(readability_g=-1), "readability: -1"),
        (lambda: Hand(mass_g=0), "mass of the mix: 0"),
        (lambda: hand.panels(SILVER, Hand(), tries=0), "panels: 0"),
        (lambda: hand.panels(SILVER, Hand(), tries=5, conditions=Conditions(undercoat=np.full(31, 0.3))), "undercoat"),
        (lambda: hand.measured(np.full((4, 5, 3), 50.0), SILVER), "panels: 4 were given"),
        (lambda: hand.measured(np.full((10, 3, 3), 50.0), SILVER), "CIELAB of the panels: 10 x 3 x 3"),
        (lambda: hand.measured(np.full((10, 5, 3), np.nan), SILVER), "CIELAB of the panels: nan"),
        (lambda: joint.chance_of_panels(np.full((4, 5, 3), 50.0)), "panels: 4 were given"),
        (lambda: joint.chance(SILVER, SILVER, tries=3), "tries: 3"),
    ],
)
def test_a_bad_entry_is_one_sentence(call, words):
    with pytest.raises(BadEntry, match=words):
        call()
