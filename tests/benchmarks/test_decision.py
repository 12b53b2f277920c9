"""A whole decision on a card (spraying, tint, nine variants, doubt): below 150 ms, beside what it asks one by one."""

import numpy as np
from paints import SHOP

from refinishlib.colour import decision, doubt, optics, predict, reading, spray_or_pour, tint, tolerance, variants
from refinishlib.colour.conditions import Conditions

SILVER = SHOP.colour("Millrace Silver, as built")
FAMILY = SHOP.variants("Millrace Silver")
CUP = np.multiply(SILVER.weights, 2)


def read(grams, **conditions):
    return reading.from_spectra(predict.reflectance(optics.mixture(SILVER.toners, grams), Conditions(**conditions)))


CARD, PANEL = read(CUP, tilt_factor=1.02), read(np.add(CUP, (0, 0, 1.5, 0.8, 0)))


def test_decision(benchmark):
    made = benchmark(decision.decide, SILVER, CUP, CARD, PANEL, variants=FAMILY)
    assert len(made.options) > 5 and made.why


def test_decision_one_by_one(benchmark):
    """The same questions asked one after the other, with nothing weighed."""

    def asked():
        return (
            doubt.doubted(PANEL, CARD, tolerance.of_kind("metallic")),
            spray_or_pour.told_apart(SILVER.toners, CUP, CARD, PANEL),
            tint.correct(SILVER.toners, CUP, CARD, PANEL),
            variants.rank(FAMILY, PANEL),
        )

    assert benchmark(asked)[3][0].formula in FAMILY
