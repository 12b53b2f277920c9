"""One tint correction with 8 toners, 5 angles and 3 lamps: at most 10 ms in the median, beside its own arithmetic (all
that it predicts and compares, in one call each: at most 5 times that) and beside a general optimiser.

Colours are checked against colour-science, sample by sample.
"""

import colour
import numpy as np
import pytest
from paints import SHOP, lab, reflectance
from scipy.optimize import differential_evolution

from refinishlib.colour import lamp as lamp_of
from refinishlib.colour import tint
from refinishlib.colour.difference import ciede2000

LAMPS = ("D65", "A", "FL11")
LIGHTS = [lamp_of.lamp(name) for name in LAMPS]
NAMES = (
    "medium silver", "fine silver", "soft black", "deep blue", "white", "violet", "green", "red oxide",
)  # fmt: skip
CUP = np.array([80.0, 30.0, 12.0, 10.0, 3.0, 4.0, 3.0, 2.0])
SHORT = np.array([0.0, 0.0, 3.0, 4.5, 0.0, 0.0, 0.0, 1.2])


def task():
    card = lab(NAMES, CUP, lamps=LAMPS)
    return card, lab(NAMES, CUP + SHORT, lamps=LAMPS) + np.random.default_rng(1).normal(0, 0.1, card.shape)


CARD, PANEL = task()


def correct():
    return tint.addition(SHOP.picked(*NAMES), CUP, CARD, PANEL, lamps=LIGHTS)


def added(correction):
    return np.array([dict(zip(correction.names, correction.add_g, strict=True)).get(name, 0.0) for name in NAMES])


def plain():
    """A general optimiser on the same task: real grams of all toners, three largest kept, rounded to the balance."""
    card, panel = task()
    offset = card - lab(NAMES, CUP, lamps=LAMPS)

    def grams(genes):
        add = np.round(tint.SURPLUS_SHARE * CUP.sum() * genes.T**3, 1)
        np.put_along_axis(add, np.argsort(-add, axis=1)[:, tint.MOST_TONERS :], 0, axis=1)
        return add * np.minimum(1, tint.SURPLUS_SHARE * CUP.sum() / np.maximum(add.sum(axis=1, keepdims=True), 1e-9))

    def mean_after(genes):
        return tint.mean_difference(panel, lab(NAMES, CUP + grams(genes), lamps=LAMPS) + offset)

    return differential_evolution(
        mean_after, [(0, 1)] * len(CUP), vectorized=True, updating="deferred", rng=0, maxiter=40, polish=False
    ).fun


def test_tint(benchmark):
    made = benchmark(correct)
    assert made.mean_after < 0.3 < made.mean_before
    after = CUP + added(made)
    ours = lab(NAMES, after, lamps=LAMPS)
    spectra = reflectance(NAMES, after)
    for i, name in enumerate(LAMPS):
        for j, spectrum in enumerate(spectra):
            assert ciede2000(ours[i, j], colour_science(spectrum, name)) < 0.01


def colour_science(spectrum, name):
    cmfs = colour.MSDS_CMFS["CIE 1964 10 Degree Standard Observer"]
    sample = colour.SpectralDistribution(spectrum, np.arange(400, 701, 10))
    power = colour.SpectralDistribution(lamp_of.lamp(name).power, np.arange(360, 781))
    with colour.utilities.suppress_warnings(colour_runtime_warnings=True):
        xyz = colour.sd_to_XYZ(sample, cmfs, power, method="ASTM E308")
        white = colour.sd_to_XYZ(colour.sd_ones(sample.shape), cmfs, power, method="ASTM E308")
    return colour.XYZ_to_Lab(xyz / 100, colour.XYZ_to_xy(white))


def test_tint_arithmetic(benchmark):
    """The floor: every mix that the search looks at predicted in one call, every difference taken in one call."""
    mixes, pairs = [], []
    predicted, apart = tint._Task.lab, tint.ciede2000

    def noted(task, masses_g):
        mixes.append(np.atleast_2d(masses_g))
        return predicted(task, masses_g)

    def compared(one, other):
        pairs.append([given.reshape(-1, 3) for given in np.broadcast_arrays(one, other)])
        return apart(one, other)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(tint._Task, "lab", noted)
        patch.setattr(tint, "ciede2000", compared)
        made = correct()
    rows = np.concatenate(mixes)
    one, other = (np.concatenate(side) for side in zip(*pairs, strict=True))

    def floor():
        return lab(NAMES, rows, lamps=LAMPS), ciede2000(one, other)

    found, _ = benchmark(floor)
    assert len(found) == len(rows) > 100 and made.mean_after < 0.3


def test_tint_plain(benchmark):
    made = correct()
    assert made.mean_after <= benchmark.pedantic(plain, rounds=1) + 0.1


@pytest.mark.parametrize("seed", range(3))
def test_the_correction_benchmarked_is_the_one_that_was_short(seed):
    """With no noise in the reading the search gives back what was left out, whatever the toners."""
    rng = np.random.default_rng(seed)
    short = np.zeros(8)
    short[rng.choice(8, 3, replace=False)] = np.round(rng.uniform(1, 6, 3), 1)
    card, panel = (lab(NAMES, cup, lamps=LAMPS) for cup in (CUP, CUP + short))
    made = tint.addition(SHOP.picked(*NAMES), CUP, card, panel, lamps=LIGHTS)
    assert made.mean_after < 0.05
