"""Tristimulus weights at 10 nm against sums at 1 nm, and measured charts against their published colours."""

import colour
import numpy as np
import pytest
from colour.utilities import suppress_warnings
from paints import SHOP

from refinishlib.colour import film, lamp, optics, surface, weights
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.spectrum import FINE_NM, WAVELENGTHS_NM

LAMPS = (*lamp.CIE_LAMPS, lamp.DAYLIGHT_LAMP)
EVERY_TENTH = np.searchsorted(FINE_NM, WAVELENGTHS_NM)


def lab_from_sums_at_1_nm(spectra, name):
    """CIE 15 (2018): sums over 360-780 nm at 1 nm, then CIELAB by colour-science."""
    seen = lamp.lamp(name).power[:, None] * lamp.observer(10)
    white = seen.sum(axis=0)
    return colour.XYZ_to_Lab(spectra @ seen / white[1], colour.XYZ_to_xy(white))


def chart(name):
    """A chart as an instrument reads it at 10 nm, carried to 1 nm as CIE 167 (2005) says, the ends held beyond."""
    fine = []
    for patch in colour.SDS_COLOURCHECKERS[name].values():
        read = colour.SpectralDistribution([patch[nm] for nm in WAVELENGTHS_NM], WAVELENGTHS_NM)
        fine.append(read.align(colour.SpectralShape(FINE_NM[0], FINE_NM[-1], 1)).values)
    return np.array(fine)


def toner_mixes():
    """Hiding films of every solid toner and of random mixes, truly computed at each nanometre from 360 to 780."""
    toners = [toner for toner in SHOP.toners if toner.flake is None]
    random = np.random.default_rng(7).dirichlet(np.full(len(toners), 0.3), 60)
    mixed = optics.mixture(toners, np.vstack([np.eye(len(toners)), random]), wavelengths_nm=FINE_NM)
    inside = film.infinite(mixed.absorption_per_um, mixed.scattering_per_um)
    return surface.through_surface(inside, inside, surface.geometry(45, 0).passed)


SPECTRA = {
    "toner mixes": toner_mixes(),
    "ColorChecker N Ohta": chart("ColorChecker N Ohta"),
    "BabelColor Average": chart("BabelColor Average"),
}


@pytest.mark.parametrize("name", LAMPS)
def test_weights_at_10_nm_are_within_a_twentieth_of_sums_at_1_nm(name):
    for spectra in SPECTRA.values():
        ours = weights.lab(spectra[:, EVERY_TENTH], [lamp.lamp(name)])[0]
        assert ciede2000(lab_from_sums_at_1_nm(spectra, name), ours).max() < 0.05


@pytest.mark.parametrize("name", ["D65", "A", "FL2", "FL11", "LED-B3", "LED-RGB1"])
def test_colour_science_says_the_same_from_its_own_tables(name):
    """colour-science's `sd_to_XYZ` (ASTM E308) with its own lamp and observer, none of ours."""
    light = colour.SDS_ILLUMINANTS[name]
    observer = colour.MSDS_CMFS["CIE 1964 10 Degree Standard Observer"]
    with suppress_warnings(colour_runtime_warnings=True):
        white = colour.sd_to_XYZ(colour.sd_constant(1.0), observer, light)
        for patch in colour.SDS_COLOURCHECKERS["BabelColor Average"].values():
            read = colour.SpectralDistribution([patch[nm] for nm in WAVELENGTHS_NM], WAVELENGTHS_NM)
            theirs = colour.XYZ_to_Lab(colour.sd_to_XYZ(read, observer, light) / white[1], colour.XYZ_to_xy(white))
            assert ciede2000(theirs, weights.lab(read.values, [lamp.lamp(name)])[0]) < 0.001


def test_plain_sums_at_10_nm_would_not_do_under_a_tube():
    spectra = SPECTRA["ColorChecker N Ohta"]
    seen = (lamp.lamp("FL11").power[:, None] * lamp.observer(10))[EVERY_TENTH]
    white = seen.sum(axis=0)
    plain = colour.XYZ_to_Lab(spectra[:, EVERY_TENTH] @ seen / white[1], colour.XYZ_to_xy(white))
    assert ciede2000(lab_from_sums_at_1_nm(spectra, "FL11"), plain).max() > 3


def test_colorchecker_spectra_have_their_published_colours():
    """colour-science's BabelColor average of 30 charts: spectra, and x, y, Y for D50 and the 2 degree observer."""
    published = colour.CCS_COLOURCHECKERS["BabelColor Average"].data
    spectra = colour.SDS_COLOURCHECKERS["BabelColor Average"]
    assert len(spectra) == 24
    for name, patch in spectra.items():
        seen = weights.tristimulus([patch[nm] for nm in WAVELENGTHS_NM], lamp.lamp("D50"), 2)
        np.testing.assert_allclose(colour.XYZ_to_xyY(seen / 100), published[name], atol=0.001)


def test_cielab_is_that_of_colour_science_down_to_black():
    levels = np.vstack([np.full((1, 31), 0.002), np.random.default_rng(3).uniform(0, 1.4, (40, 31))])
    for name in ("D65", "FL11"):
        white = weights.weights(lamp.lamp(name)).sum(axis=0) / 100
        theirs = colour.XYZ_to_Lab(weights.tristimulus(levels, lamp.lamp(name)) / 100, colour.XYZ_to_xy(white))
        np.testing.assert_allclose(weights.lab(levels, [lamp.lamp(name)])[0], theirs, atol=1e-9)
