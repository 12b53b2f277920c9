"""The eye against published thresholds, of gratings, of edges and of ramps."""

import csv
from pathlib import Path

import numpy as np
import pytest

from refinishlib.colour import eye, weights
from refinishlib.colour.eye import CHANNELS, Eye

KEEN = Eye(care=1.0)
# castleCSF's cone matrix, rows L+M, L-2.3112M, 50.9875S-L-M, over L+M (version 0.2.4).
CONES = np.array([[1.0, 1.0, 0.0], [1.0, -2.3112, 0.0], [-1.0, -1.0, 50.9875]])
TABLE = Path(__file__).with_name("grating_thresholds.csv").read_text(encoding="utf-8").splitlines()
ROWS = list(csv.DictReader(line for line in TABLE if not line.startswith("#")))


def at_threshold(row):
    """What the model says of a contrast that onlookers just saw: 1 if it is right."""
    ground, way = (np.array([float(row[name + tail]) for name in "lms"]) for tail in ("", "_way"))
    frequency, area, sensitivity = (float(row[name]) for name in ("frequency", "area_deg2", "sensitivity"))
    # The table's sensitivity is sqrt(3) over the length of the three cone contrasts.
    seen = way * np.sqrt(3) / sensitivity / np.linalg.norm(way / ground)
    luminance = ground[0] + ground[1]
    felt = [eye.sensitivity(frequency, area, channel, luminance) for channel in CHANNELS]
    return float(eye.together(np.abs(CONES @ seen) / luminance * felt))


@pytest.mark.parametrize("channel", CHANNELS)
def test_the_sensitivity_is_the_published_one(channel):
    """Tests our writing down of castleCSF, not castleCSF, which was fitted to these thresholds among others."""
    decibel = np.array([20 * np.log10(at_threshold(row)) for row in ROWS if row["channel"] == channel])
    assert len(decibel) == 16
    assert abs(decibel.mean()) < 3
    assert decibel.std() < 4.5


def threshold(width_deg, distance_m=2.0):
    """Logarithm of the luminance ratio of a straight ramp that is just seen."""
    width = distance_m * np.radians(width_deg)
    x = np.linspace(-1.5 * width - 1, 2.5 * width + 1, 3201)
    ramp = np.clip(x / width, 0, 1)[:, None] * [1.0, 0.0, 0.0]
    return 1 / float(eye.ramp(x, ramp, distance_m, KEEN)[0, 0])


def test_a_ramp_of_half_a_degree_takes_about_twice_an_edge():
    """Campbell, Johnstone and Ross (1981), Vision Research 21, 723: from half a degree on the slope counts."""
    edge = 1 / float(eye.edge([1.0, 0.0, 0.0], 2.0, eye=KEEN)[0, 0])
    assert threshold(0.01) == pytest.approx(edge, rel=0.03)
    assert 1.8 < threshold(0.5) / edge < 2.6


def test_slope_and_size_of_a_ramp_both_count():
    """Campbell, Johnstone and Ross (1981): only slope, exponent 1. McCann et al. (1974), Vision Research 14, 917: only
    size, exponent near 0. They disagree, and this lies between the two."""
    widths = np.array([0.5, 1.0, 2.0, 4.0, 8.0])
    exponents = np.diff(np.log([threshold(width) for width in widths])) / np.diff(np.log(widths))
    assert (exponents > 0.4).all()
    assert (exponents < 0.9).all()


def test_wide_ramps_are_seen_from_some_percent_of_contrast_on():
    """Erens, Kappers and Koenderink (1993), Vision Research 33, 1639: 6 % at any size from 1 to 25 degrees. Of the
    same size here, but not the same at each."""
    michelson = [np.tanh(threshold(width) / 2) for width in (4.0, 8.0, 16.0)]
    assert 0.02 < min(michelson) < 0.06 < max(michelson) < 0.1
    assert float(np.tanh(eye.RAMP_END / 2)) == pytest.approx(0.06)


def test_a_sharp_edge_is_as_visible_as_another_model_of_the_eye_says():
    """Watson and Ahumada (2005), J. Vision 5(9), 6; constants from a secondary copy. Gain times the difference of two
    hyperbolic secants; its peak is the best grating's."""
    gain, high, low, lost, power = 373.08, 4.1726, 1.3625, 0.8493, 0.7786
    f = np.geomspace(0.1, 30, 2000)
    best = (gain * (1 / np.cosh((f / high) ** power) - lost / np.cosh(f / low))).max()
    edge = 1 / float(eye.edge([1.0, 0.0, 0.0], 1.0, eye=KEEN)[0, 0])
    assert edge == pytest.approx(np.pi / 2 / best, rel=0.25)


@pytest.mark.parametrize("channel", ["red-green", "yellow-blue"])
def test_the_sensitivity_to_colour_does_not_fall_towards_wide_gratings(channel):
    """Mullen (1985), J. Physiol. 359, 381: no fall down to below 0.1 cycles per degree when the field grows along."""
    f = np.geomspace(0.05, 1.0, 10)
    periods_shown = 4
    colour, lightness = (eye.sensitivity(f, (periods_shown / f) ** 2, one) for one in (channel, "lightness"))
    assert colour[0] > 0.85 * colour.max()
    assert lightness[0] < 0.3 * lightness.max()


# CIE XYZ to the cones of CIE 2006 (2 degrees), as castleCSF's version 0.2.4 has it.
LMS = np.array(
    [
        [0.187596268556126, 0.585168649077728, -0.026384263306304],
        [-0.133397430663221, 0.405505777260049, 0.034502127690364],
        [0.000244379021663, -0.000542995890619, 0.019406849066323],
    ]
)


@pytest.mark.parametrize(("a", "b"), [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0), (1.0, 1.0), (1.0, -1.0)])
def test_a_difference_in_colour_goes_to_the_channels_as_the_cones_send_it(a, b):
    """Near a grey of L* 50 in D65: contrasts of the cones (castleCSF, 2024) beside those by CIEDE2000 and direction.
    Within a fifth of the larger of the two, in thresholds, for CIEDE2000 is not quite straight there."""
    grey, colour = np.array([50.0, 0.0, 0.0]), np.array([50.0, a, b])
    white = np.array([95.047, 100.0, 108.883])
    ground, shown = (LMS @ weights.tristimulus_from_lab(lab, white) for lab in (grey, colour))
    felt = (CONES @ (shown - ground) / ground[:2].sum())[1:] * [1, -1]
    found = eye.signals(grey, colour)[1:]
    threshold = [1 / eye.edge(np.eye(3)[i], 2.0, eye=KEEN)[0, i] for i in (1, 2)]
    assert found / threshold == pytest.approx(felt / threshold, abs=np.abs(felt / threshold).max() / 5)
