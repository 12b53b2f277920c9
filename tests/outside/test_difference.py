"""Colour differences against published pairs and a second library."""

import numpy as np
import pytest
from coloraide import Color

from refinishlib.colour import difference
from refinishlib.colour.difference import FORMULAS, cie76, cie94, ciede2000, cmc

# Sharma, Wu and Dalal (2005), Color Research and Application 30, 21, table 1: L1 a1 b1, L2 a2 b2, CIEDE2000.
SHARMA = np.array(
    [
        (50.0000, 2.6772, -79.7751, 50.0000, 0.0000, -82.7485, 2.0425),
        (50.0000, 3.1571, -77.2803, 50.0000, 0.0000, -82.7485, 2.8615),
        (50.0000, 2.8361, -74.0200, 50.0000, 0.0000, -82.7485, 3.4412),
        (50.0000, -1.3802, -84.2814, 50.0000, 0.0000, -82.7485, 1.0000),
        (50.0000, -1.1848, -84.8006, 50.0000, 0.0000, -82.7485, 1.0000),
        (50.0000, -0.9009, -85.5211, 50.0000, 0.0000, -82.7485, 1.0000),
        (50.0000, 0.0000, 0.0000, 50.0000, -1.0000, 2.0000, 2.3669),
        (50.0000, -1.0000, 2.0000, 50.0000, 0.0000, 0.0000, 2.3669),
        (50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0009, 7.1792),
        (50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0010, 7.1792),
        (50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0011, 7.2195),
        (50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0012, 7.2195),
        (50.0000, -0.0010, 2.4900, 50.0000, 0.0009, -2.4900, 4.8045),
        (50.0000, -0.0010, 2.4900, 50.0000, 0.0010, -2.4900, 4.8045),
        (50.0000, -0.0010, 2.4900, 50.0000, 0.0011, -2.4900, 4.7461),
        (50.0000, 2.5000, 0.0000, 50.0000, 0.0000, -2.5000, 4.3065),
        (50.0000, 2.5000, 0.0000, 73.0000, 25.0000, -18.0000, 27.1492),
        (50.0000, 2.5000, 0.0000, 61.0000, -5.0000, 29.0000, 22.8977),
        (50.0000, 2.5000, 0.0000, 56.0000, -27.0000, -3.0000, 31.9030),
        (50.0000, 2.5000, 0.0000, 58.0000, 24.0000, 15.0000, 19.4535),
        (50.0000, 2.5000, 0.0000, 50.0000, 3.1736, 0.5854, 1.0000),
        (50.0000, 2.5000, 0.0000, 50.0000, 3.2972, 0.0000, 1.0000),
        (50.0000, 2.5000, 0.0000, 50.0000, 1.8634, 0.5757, 1.0000),
        (50.0000, 2.5000, 0.0000, 50.0000, 3.2592, 0.3350, 1.0000),
        (60.2574, -34.0099, 36.2677, 60.4626, -34.1751, 39.4387, 1.2644),
        (63.0109, -31.0961, -5.8663, 62.8187, -29.7946, -4.0864, 1.2630),
        (61.2901, 3.7196, -5.3901, 61.4292, 2.2480, -4.9620, 1.8731),
        (35.0831, -44.1164, 3.7933, 35.0232, -40.0716, 1.5901, 1.8645),
        (22.7233, 20.0904, -46.6940, 23.0331, 14.9730, -42.5619, 2.0373),
        (36.4612, 47.8580, 18.3852, 36.2715, 50.5065, 21.2231, 1.4146),
        (90.8027, -2.0831, 1.4410, 91.1528, -1.6435, 0.0447, 1.4441),
        (90.9257, -0.5406, -0.9208, 88.6381, -0.8985, -0.7239, 1.5381),
        (6.7747, -0.2908, -2.4247, 5.8714, -0.0985, -2.2286, 0.6377),
        (2.0776, 0.0795, -1.1350, 0.9033, -0.0636, -0.5514, 0.9082),
    ]
)


def test_all_34_pairs_of_sharma_wu_and_dalal_to_four_decimals():
    assert len(SHARMA) == 34
    found = difference.ciede2000(SHARMA[:, :3], SHARMA[:, 3:6])
    assert found.round(4).tolist() == SHARMA[:, 6].tolist()


@pytest.mark.parametrize(
    ("name", "ours", "options"),
    [
        ("2000", difference.ciede2000, {}),
        ("94", difference.cie94, {}),
        ("cmc", difference.cmc, {}),
        ("cmc", lambda a, b: difference.cmc(a, b, lightness=1.0, chroma=1.0), {"l": 1, "c": 1}),
        ("76", difference.cie76, {}),
    ],
    ids=["CIEDE2000", "CIE94", "CMC(2:1)", "CMC(1:1)", "CIELAB"],
)
def test_formulas_agree_with_coloraide(name, ours, options):
    """coloraide 8, a general colour library that shares no code with colour-science."""
    rng = np.random.default_rng(5)
    first = np.column_stack([rng.uniform(1, 130, 60), rng.uniform(-70, 70, (60, 2))])
    second = np.vstack([first[:30] + rng.normal(0, 2, (30, 3)), rng.permutation(first)[:30]])
    theirs = [
        Color("lab-d65", a).delta_e(Color("lab-d65", b), method=name, **options)
        for a, b in zip(first, second, strict=True)
    ]
    np.testing.assert_allclose(ours(first, second), theirs, rtol=1e-9, atol=1e-9)


@pytest.mark.parametrize(
    ("name", "formula"),
    [("CIEDE2000", ciede2000), ("CIE94", cie94), ("CMC", cmc), ("CIELAB", cie76)],
)
def test_a_formula_asked_for_by_its_name_is_that_formula(name, formula):
    reference, sample = [60.0, 40.0, -30.0], [55.0, 20.0, -10.0]
    assert difference.difference(name, reference, sample) == formula(reference, sample)
    others = [float(other(reference, sample)) for other in FORMULAS.values() if other is not formula]
    assert all(abs(float(formula(reference, sample)) - other) > 0.1 for other in others)
