"""Hiding against the two-flux equations integrated through the film, in sums at 1 nm, with colour-science's tables.

No table of ISO 6504-1 is free to be had; what the standard defines (a ratio of luminances over two cards) is worked out
here by another way: no closed formula, no weights at 10 nm, no conversion by the library's surface.
"""

import colour
import numpy as np
import pytest
from paints import SHOP
from scipy.integrate import solve_ivp

from refinishlib.colour import hiding, optics, undercoat
from refinishlib.colour.spectrum import FINE_NM

LIGHT = colour.SDS_ILLUMINANTS["D65"].copy().align(colour.SpectralShape(360, 780, 1)).values
SEEN = colour.MSDS_CMFS["CIE 1964 10 Degree Standard Observer"].copy().align(colour.SpectralShape(360, 780, 1)).values
LUMINANCE = LIGHT * SEEN[:, 1] / (LIGHT @ SEEN[:, 1])

# A surface of index 1.5, lit at 45 degrees and seen from above, specular excluded; Judd's 0.596 inside.
INTO, OUT_OF, INSIDE = 1 - 0.0503, (1 - 0.04) / 1.5**2, 0.5964


def outside(inside):
    return INTO * OUT_OF * inside / (1 - INSIDE * inside)


def inside(reads):
    return reads / (INTO * OUT_OF + INSIDE * reads)


def integrated(mixture, film_um, under):
    """dR/dx = S - 2 (K + S) R + S R^2 from the undercoat up, one wavelength beside the other."""
    k, s = mixture.absorption_per_um, mixture.scattering_per_um

    def change(_, reflectance):
        return s - 2 * (k + s) * reflectance + s * reflectance**2

    run = solve_ivp(change, (0, film_um), under, method="LSODA", rtol=1e-8, atol=1e-10)
    return run.y[:, -1]


def at_1_nm(names, grams):
    return optics.mixture(SHOP.picked(*names), grams, wavelengths_nm=FINE_NM)


PAINTS = {
    "white": (["white"], [1.0]),
    "Chalk Barn": (["white", "yellow oxide", "soft black", "red oxide"], [96.4, 2.4, 0.7, 0.5]),
    "cream": (["white", "clean yellow", "red oxide"], [92.0, 7.0, 1.0]),
}


@pytest.mark.parametrize("name", PAINTS)
def test_contrast_ratio_is_that_of_the_integrated_film(name):
    names, grams = PAINTS[name]
    fine = at_1_nm(names, grams)
    paint = optics.mixture(SHOP.picked(*names), grams)
    cards = [np.full(len(FINE_NM), inside(reads)) for reads in (0.01, 0.8)]
    # The cards read what the standard says: 1 % and 80 %.
    assert [LUMINANCE @ outside(card) for card in cards] == pytest.approx([0.01, 0.8])
    for film_um in (15.0, 40.0, hiding.hiding_thickness(paint)):
        over_black, over_white = (LUMINANCE @ outside(integrated(fine, film_um, card)) for card in cards)
        assert hiding.contrast_ratio(paint, film_um).contrast_ratio == pytest.approx(over_black / over_white, abs=1e-3)
    assert over_black / over_white == pytest.approx(0.98, abs=1e-3)


@pytest.mark.parametrize(("wanted", "over"), [(30.0, 80.0), (60.0, 20.0), (86.0, 15.0)])
def test_sealed_panels_read_what_the_integrated_sealer_reads(wanted, over):
    mix = undercoat.sealer_for(SHOP.sealers, wanted, over=over)
    fine = optics.mixture(SHOP.sealers, [mix.white_g, mix.black_g], wavelengths_nm=FINE_NM)
    below = np.full(len(FINE_NM), inside(((over + 16) / 116) ** 3))
    luminance = LUMINANCE @ outside(integrated(fine, mix.coats * undercoat.SEALER_COAT_UM, below))
    assert mix.reads[0] == pytest.approx(116 * np.cbrt(luminance) - 16, abs=0.1)
    assert mix.reads[0] == pytest.approx(wanted, abs=1)
