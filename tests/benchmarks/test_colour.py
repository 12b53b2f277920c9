"""Predicted CIELAB at five angles under three lights: all formulas at once against colour-science per sample.

Measure with `pytest tests/benchmarks/test_colour.py -n 0 --benchmark-enable`. Both ways start from the same formulas;
the plain way does only a few of them, so compare the time per formula (extra_info holds the number of formulas).
"""

import colour
import numpy as np
import pytest
from colour.utilities import suppress_warnings
from paints import mixed

from refinishlib.colour import lamp, predict, weights
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.spectrum import FINE_NM, WAVELENGTHS_NM

TONERS = ["medium silver", "fine silver", "soft black", "deep blue", "violet", "white", "green", "rose"]
LAMPS = ["D65", "A", "FL11"]
MANY, FEW = 10_000, 4


def formulas(count):
    return np.random.default_rng(8).dirichlet(np.full(len(TONERS), 0.6), MANY)[:count]


def all_at_once(masses):
    return predict.lab(mixed(TONERS, masses), lamps=[lamp.lamp(name) for name in LAMPS])


@suppress_warnings(colour_runtime_warnings=True)
def one_by_one(masses):
    """Each formula predicted alone, each of its spectra integrated by colour-science with its default, ASTM E308."""
    observer = colour.MultiSpectralDistributions(lamp.observer(10), FINE_NM)
    lights = [colour.SpectralDistribution(lamp.lamp(name).power, FINE_NM) for name in LAMPS]
    whites = [colour.XYZ_to_xy(light.values @ observer.values) for light in lights]
    result = np.empty((len(masses), len(LAMPS), 5, 3))
    for i, row in enumerate(masses):
        for j, spectrum in enumerate(predict.reflectance(mixed(TONERS, row))):
            sample = colour.SpectralDistribution(spectrum, WAVELENGTHS_NM)
            for k, (light, white) in enumerate(zip(lights, whites, strict=True)):
                xyz = colour.sd_to_XYZ(sample, observer, light)
                result[i, k, j] = colour.XYZ_to_Lab(xyz / 100, white)
    return result


@pytest.mark.benchmark(group="predicted CIELAB, 5 angles, 3 lights")
def test_all_formulas_at_once(benchmark):
    masses = formulas(MANY)
    weights.lab(np.ones((5, 31)), [lamp.lamp(name) for name in LAMPS])
    benchmark.extra_info["formulas"] = MANY
    found = benchmark(all_at_once, masses)
    assert found.shape == (MANY, 3, 5, 3)
    assert ciede2000(one_by_one(masses[:FEW]), found[:FEW]).max() < 0.01


@pytest.mark.benchmark(group="predicted CIELAB, 5 angles, 3 lights")
def test_one_formula_and_spectrum_after_another(benchmark):
    masses = formulas(FEW)
    benchmark.extra_info["formulas"] = FEW
    found = benchmark.pedantic(one_by_one, (masses,), rounds=3)
    assert ciede2000(all_at_once(masses), found).max() < 0.01
