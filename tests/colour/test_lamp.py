"""Lamps, mixtures of them, and what a change of lamp does to a pair."""

import colour
import numpy as np
import pytest
from paints import SHOP, reflectance

from refinishlib.colour import fitness, lamp, metamerism, predict, trap, weights
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.optics import mixture
from refinishlib.colour.spectrum import FINE_NM
from refinishlib.colour.tolerance import of_kind
from refinishlib.entry import BadEntry


@pytest.mark.parametrize("name", [*lamp.CIE_LAMPS, lamp.DAYLIGHT_LAMP])
def test_every_lamp_lights_and_says_why_it_is_fit_or_not(name):
    one = lamp.lamp(name)
    assert one.power.shape == (421,) and (one.power >= 0).all()
    report = fitness.report(one)
    assert report.fit == (report.parted <= 0.8 and report.chromaticity_distance <= fitness.FARTHEST)
    assert report.why.startswith(name) and report.why.endswith(".")


def test_only_daylight_is_fit_and_the_lamp_that_was_fitted_to_it_says_so():
    reports = {name: fitness.report(lamp.lamp(name)) for name in (*lamp.CIE_LAMPS, lamp.DAYLIGHT_LAMP)}
    assert [name for name, report in reports.items() if report.fit] == ["D65", lamp.DAYLIGHT_LAMP]
    assert "fitted to D65" in reports[lamp.DAYLIGHT_LAMP].why
    assert "fitted" not in reports["D65"].why
    half = fitness.report(lamp.burning({lamp.lamp(lamp.DAYLIGHT_LAMP): 1, lamp.d65(): 1}))
    assert half.fit and "fitted" not in half.why


def tabulated(name):
    """A lamp of the CIE tables that the library does not offer by name."""
    table = colour.SDS_ILLUMINANTS[name]
    return lamp.measured(name, table.wavelengths, table.values)


def test_a_good_tube_of_daylight_is_fit_whatever_an_invented_swing_said_of_it():
    """FL3.15 of CIE 15 was made to simulate D65, with an Ra of 98.5; a poorer simulator, FL7, still is not enough."""
    good, poor = (fitness.report(tabulated(name)) for name in ("FL3.15", "FL7"))
    assert good.rendering_ra == pytest.approx(98.5, abs=0.3) and good.fit
    assert not poor.fit and poor.chromaticity_distance < fitness.FARTHEST
    assert "not its spectrum" in poor.why


def test_d50_is_not_fit_because_the_trap_pair_parts_in_it_and_in_no_lamp_that_is_fit():
    """The trap pair parts 1.16 in D50, which was called fit. In a fit lamp it all but goes edge to edge, as by day.

    It is built to part the most, so that it is among the one pair of twenty that a fit lamp may lose.
    """
    pair = trap.build(SHOP.picked("white", "bright blue", "violet", "yellow oxide", "clean yellow", "green", "rose"))
    spectra = [
        predict.reflectance(mixture([tin for tin, _ in mix], [grams for _, grams in mix]), trap.HIDING)[2]
        for mix in (pair.first, pair.second)
    ]
    d50 = lamp.lamp("D50")
    assert ciede2000(*(weights.lab(one, [d50])[0] for one in spectra)) == pytest.approx(1.16, abs=0.1)
    assert not fitness.report(d50).fit
    assert fitness.report(d50, daylight=d50).fit
    day, tubes = lamp.d65(), (lamp.lamp("FL2"), lamp.lamp("FL11"), lamp.lamp("LED-B5"))
    burning = [lamp.burning({day: 1 - share, tube: share}) for tube in tubes for share in (0.05, 0.1, 0.15, 0.2, 0.3)]
    apart = {
        light: float(ciede2000(*(weights.lab(one, [light])[0] for one in spectra)))
        for light in (*burning, tabulated("FL3.15"), lamp.lamp(lamp.DAYLIGHT_LAMP))
        if fitness.report(light).fit
    }
    assert 5 <= len(apart) < len(burning)
    assert max(apart.values()) <= 1.05 * of_kind("solid").edge[1]


def test_a_lamp_may_be_as_far_from_d65_as_a_bluer_daylight_and_not_farther():
    """ISO/CIE 23603: 0.015 in u'10, v'10; a daylight of 7500 K lies within, one with a third more blue just outside."""
    bluer = colour.sd_CIE_illuminant_D_series(colour.temperature.CCT_to_xy_CIE_D(7500)).align(
        colour.SpectralShape(360, 780, 1)
    )
    assert fitness.report(lamp.measured("D75", FINE_NM, bluer.values)).fit
    tinted = lamp.d65().power * (1 + 0.3 * np.exp(-(((FINE_NM - 450) / 40) ** 2)))
    outside = fitness.report(lamp.measured("tinted", FINE_NM, tinted))
    assert outside.parted < 0.8 and 0.015 < outside.chromaticity_distance < 0.02
    assert not outside.fit and "has not the colour of D65" in outside.why


def test_brightness_counts_too():
    """ISO 3668 (2017), 5.2: 1000 to 4000 lx, towards the upper end for dark colours."""
    day = lamp.lamp(lamp.DAYLIGHT_LAMP)
    fit = {lux: fitness.report(day, illuminance_lx=lux).fit for lux in (300, 999, 1000, 1500, 4000, 6000)}
    assert fit == {300: False, 999: False, 1000: True, 1500: True, 4000: True, 6000: False}
    dark = fitness.report(day, illuminance_lx=1500, paint_lightness=12)
    assert not dark.fit and "too dim to judge a dark colour by: 2000 to 4000 lx" in dark.why
    assert fitness.report(day, illuminance_lx=2500, paint_lightness=12).fit
    assert not fitness.report(lamp.lamp("FL2"), illuminance_lx=2000).fit
    unmeasured = fitness.report(day)
    assert unmeasured.bright is None and "Measure how bright it is" in unmeasured.why
    assert "Measure" not in fitness.report(day, illuminance_lx=1500).why
    with pytest.raises(BadEntry, match="illuminance: -1 was given"):
        fitness.report(day, illuminance_lx=-1)


@pytest.mark.parametrize(("first", "last", "step"), [(360, 780, 5), (380, 780, 10), (400, 700, 20), (300.5, 830.5, 1)])
def test_somebodys_own_spectrum_at_other_steps_is_the_same_lamp(first, last, step):
    """An AssertionError before."""
    nm = np.arange(first, last + step / 2, step)
    day = lamp.d65()
    read = lamp.measured("ours", nm, 0.03 * np.interp(nm, FINE_NM, day.power))
    report = fitness.report(read)
    assert report.fit
    assert report.colour_temperature_k == pytest.approx(6504, abs=60)
    apart = ciede2000(*(weights.lab(fitness.metameric_pairs(day)[0], [light])[0] for light in (day, read)))
    assert apart.max() < 0.3


def test_a_lamp_of_one_line_is_reported_without_a_fault():
    red = lamp.measured("red line", FINE_NM, np.exp(-(((FINE_NM - 640) / 6) ** 2)))
    assert not fitness.report(red).fit


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
    nm = np.arange(380.0, 781.0, 5.0)
    for wavelengths, power, words in (
        (nm, np.where(nm == 500, -0.1, 1.0), "power of ours: -0.1 was given"),
        (nm, np.zeros(len(nm)), "power of ours: 0 everywhere was given"),
        (nm, np.full(len(nm), np.nan), "power of ours: nan was given"),
        (nm[::-1], np.ones(len(nm)), "wavelengths: 780 to 380 nm"),
        (nm[:40], np.ones(40), "wavelengths: 380 to 575 nm"),
        (nm[::5], np.ones(17), "steps of 25 to 25 nm"),
        (nm, np.ones(80), "80 values for 81 wavelengths"),
    ):
        with pytest.raises(BadEntry, match=words):
            lamp.measured("ours", wavelengths, power)
    with pytest.raises(BadEntry, match="power of ours: -1 was given"):
        lamp.Lamp("ours", -np.ones(421))
    with pytest.raises(BadEntry, match="power of ours: 81 values were given, allowed are 421"):
        lamp.Lamp("ours", np.ones(81))
    with pytest.raises(BadEntry, match="lamp: 'candle' was given, allowed are D65"):
        lamp.lamp("candle")
    with pytest.raises(BadEntry, match="share of A: -1 was given"):
        lamp.burning({lamp.lamp("A"): -1})
    with pytest.raises(BadEntry, match="at least one share above 0"):
        lamp.burning({lamp.lamp("A"): 0})


def test_metamerism_index_is_the_difference_when_the_pair_matches_exactly():
    standards, samples = fitness.metameric_pairs(lamp.d65())
    index = metamerism.metamerism_index(standards, samples, judge_under=lamp.lamp("FL11"))
    labs = [weights.lab(spectra, [lamp.lamp("FL11")])[0] for spectra in (standards, samples)]
    np.testing.assert_allclose(index, ciede2000(*labs), rtol=1e-9)
    assert np.median(index) > 1


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
