"""Lamps against what the CIE publishes about them."""

import colour
import numpy as np
import pytest
from colour.quality.cfi2017 import load_TCS_CIE2017

from refinishlib.colour import fitness, weights
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.lamp import lamp
from refinishlib.colour.spectrum import WAVELENGTHS_NM

# ASTM E308 (2018), table 5, white points for the 10 degree observer, 1 nm sums; quoted in many places, from memory.
WHITE_10 = {
    "D65": (94.811, 107.304),
    "D50": (96.720, 81.427),
    "A": (111.144, 35.200),
    "FL2": (103.279, 69.027),
    "FL11": (103.863, 65.607),
}
# CIE 15 (2004) tables T.1, 8 and 9 (illuminants D, A, FL) and CIE 15 (2018) table 12 (LED series), from memory:
# correlated colour temperature in K and, where we remember it, the general colour rendering index.
PUBLISHED = {
    "D65": (6504, 100),
    "D50": (5003, 100),
    "A": (2856, 100),
    "FL2": (4230, 64),
    "FL11": (4000, 83),
    "LED-B1": (2733, None),
    "LED-B2": (2998, None),
    "LED-B3": (4103, None),
    "LED-B4": (5109, None),
    "LED-B5": (6598, None),
    "LED-BH1": (2851, None),
    "LED-RGB1": (2840, None),
    "LED-V1": (2724, None),
    "LED-V2": (4070, None),
}


@pytest.mark.parametrize("name", WHITE_10)
def test_white_points_of_the_ten_degree_observer(name):
    x, y, z = weights.weights(lamp(name)).sum(axis=0)
    assert y == pytest.approx(100, abs=1e-9)
    # The published weights interpolate the 5 nm tables in their own way, which a tube shows in the second decimal.
    assert (x, z) == pytest.approx(WHITE_10[name], abs=0.06 if name.startswith("FL") else 0.02)


@pytest.mark.parametrize("name", PUBLISHED)
def test_colour_temperature_and_rendering_are_the_published_ones(name):
    kelvin, rendering = PUBLISHED[name]
    report = fitness.report(lamp(name))
    assert report.colour_temperature_k == pytest.approx(kelvin, rel=0.003)
    if rendering is not None:
        assert report.rendering_ra == pytest.approx(rendering, abs=0.6)


def test_fidelity_of_a_cool_white_tube():
    """CIE 224 (2017): Rf of FL2 is 70.1 in the worked example of colour-science's documentation."""
    assert fitness.report(lamp("FL2")).fidelity_rf == pytest.approx(70.12, abs=0.1)


def test_illuminant_a_fails_although_both_its_indices_are_100():
    a = fitness.report(lamp("A"))
    assert a.rendering_ra == pytest.approx(100, abs=0.1)
    assert a.fidelity_rf == pytest.approx(100, abs=0.1)
    assert not a.fit


@pytest.mark.parametrize("name", ["FL2", "FL11"])
def test_tubes_fail(name):
    assert not fitness.report(lamp(name)).fit


def test_daylight_and_the_daylight_lamp_pass():
    """A daylight judged against itself is in category A of ISO/CIE 23603."""
    for name in ("D65", "D50"):
        own = fitness.report(lamp(name), daylight=lamp(name))
        assert own.category == "A" and own.parted < 1e-9
    assert fitness.report(lamp("daylight lamp")).fit


def test_pairs_match_in_their_daylight_and_stay_possible():
    for daylight in map(lamp, ("D65", "D50")):
        standards, samples = fitness.metameric_pairs(daylight)
        assert np.abs(weights.tristimulus(standards, daylight) - weights.tristimulus(samples, daylight)).max() < 1e-9
        assert min(standards.min(), samples.min()) >= 0 and max(standards.max(), samples.max()) <= 1
        assert np.abs(standards - samples).max(axis=1).min() > 0.002


def test_pairs_part_in_another_light_as_colour_science_says_at_5_nm():
    """Truth: the same two materials at 5 nm, corrected and integrated by colour-science's own tables."""
    observer = colour.MSDS_CMFS["CIE 1964 10 Degree Standard Observer"].copy().align(colour.SpectralShape(380, 780, 5))
    table = load_TCS_CIE2017(colour.SpectralShape(380, 780, 5))
    lights = {}
    for name in ("D65", "FL2", "A"):
        power = colour.SDS_ILLUMINANTS[name].copy().align(observer.shape).values[:, None] * observer.values
        lights[name] = power / power[:, 1].sum()
    project = lights["D65"] @ np.linalg.pinv(lights["D65"])
    spectra = np.asarray(table.values).T
    standards, samples = fitness.metameric_pairs(lamp("D65"))
    tens = spectra[:, np.isin(table.wavelengths, WAVELENGTHS_NM)]
    for pair in range(0, len(samples), 23):
        one = np.abs(tens - standards[pair]).max(axis=1).argmin()
        other = np.abs(tens + (standards[pair] - tens) @ _fundamental() - samples[pair]).max(axis=1).argmin()
        corrected = spectra[other] + (spectra[one] - spectra[other]) @ project
        for name in ("FL2", "A"):
            white = lights[name].sum(axis=0)
            theirs = [colour.XYZ_to_Lab(x @ lights[name], colour.XYZ_to_xy(white)) for x in (spectra[one], corrected)]
            ours = [weights.lab(x[pair], [lamp(name)])[0] for x in (standards, samples)]
            assert ciede2000(*ours) == pytest.approx(float(ciede2000(*theirs)), abs=0.15)


def _fundamental():
    seen = weights.weights(lamp("D65"))
    return seen @ np.linalg.pinv(seen)
