"""Lamps, mixtures of them, and what a change of lamp does to a pair."""

import numpy as np
import pytest
from paints import reflectance

from refinishlib.colour import fitness, lamp, metamerism, weights
from refinishlib.colour.difference import ciede2000
from refinishlib.entry import BadEntry


@pytest.mark.parametrize("name", [*lamp.CIE_LAMPS, lamp.DAYLIGHT_LAMP])
def test_every_lamp_lights_and_says_why_it_is_fit_or_not(name):
    one = lamp.lamp(name)
    assert one.power.shape == (421,) and (one.power >= 0).all()
    report = fitness.report(one)
    assert report.fit == (report.category in fitness.FIT and report.chromaticity_distance <= fitness.FARTHEST)
    assert report.why.startswith(name) and report.why.endswith(".")


def test_only_daylights_are_fit():
    fit = [name for name in (*lamp.CIE_LAMPS, lamp.DAYLIGHT_LAMP) if fitness.report(lamp.lamp(name)).fit]
    assert fit == ["D65", "D50", lamp.DAYLIGHT_LAMP]


def test_a_tube_beside_the_daylight_lamp_spoils_it():
    """More of a tube in the light, farther from daylight: the metamerism index rises all the way."""
    shares = (0.0, 0.2, 0.5, 1.0)
    own, tube = lamp.lamp("daylight lamp"), lamp.lamp("FL11")
    found = [fitness.daylight_metamerism(lamp.burning({own: 1 - s, tube: s}), lamp.d65()) for s in shares]
    assert (np.diff(found) > 0).all()
    assert not fitness.report(lamp.burning({own: 1, tube: 1})).fit


def test_a_mixture_lights_white_by_the_shares_of_its_lamps():
    mixed = weights.weights(lamp.burning({lamp.d65(): 3, lamp.lamp("A"): 1})).sum(axis=0)
    expected = 0.75 * weights.weights(lamp.d65()).sum(axis=0) + 0.25 * weights.weights(lamp.lamp("A")).sum(axis=0)
    np.testing.assert_allclose(mixed, expected, rtol=1e-9)


def test_bad_lamps_are_refused():
    with pytest.raises(BadEntry, match="lamp: 'candle' was given, allowed are D65"):
        lamp.lamp("candle")
    with pytest.raises(BadEntry, match="share of A: -1 was given"):
        lamp.burning({lamp.lamp("A"): -1})
    with pytest.raises(BadEntry, match="at least one share above 0"):
        lamp.burning({lamp.lamp("A"): 0})


def test_metamerism_index_is_the_difference_when_the_pair_matches_exactly():
    pairs = fitness.metameric_pairs(lamp.d65())
    index = metamerism.metamerism_index(pairs[0], pairs[1:], judge_under=lamp.lamp("FL11"))
    labs = weights.lab(pairs, [lamp.lamp("FL11")])[0]
    np.testing.assert_allclose(index, ciede2000(labs[0], labs[1:]), rtol=1e-9)
    assert index.min() > 0.3


def test_metamerism_index_leaves_out_a_mismatch_that_every_light_shows():
    """A card that is simply a little darker is no metamer, whatever the light."""
    red = reflectance(["warm red", "white"], [8.0, 2.0], angles_deg=[45])[0]
    index = metamerism.metamerism_index(red, 0.9 * red, judge_under=lamp.lamp("FL2"))
    assert index == pytest.approx(0, abs=1e-9)
    labs = weights.lab(np.stack([red, 0.9 * red]), [lamp.lamp("FL2")])[0]
    assert ciede2000(*labs) > 1


def test_metamerism_index_of_a_paint_that_reflects_nothing_is_a_number():
    black = np.zeros(31)
    assert metamerism.metamerism_index(black, black) == 0
    assert np.isfinite(metamerism.metamerism_index(np.full(31, 0.2), black))


def test_metamerism_index_refuses_a_short_spectrum():
    with pytest.raises(BadEntry, match="sample: 30 values were given"):
        metamerism.metamerism_index(np.full(31, 0.2), np.full(30, 0.2))


def test_a_lamp_is_what_it_burns_and_not_where_it_was_made():
    daylight = lamp.d65()
    copy = lamp.Lamp(daylight.name, daylight.power.copy())
    assert copy == daylight and hash(copy) == hash(daylight)
    assert copy != lamp.Lamp(daylight.name, 2 * daylight.power)
