"""From reflectance to tristimulus values and CIELAB, with weights that are computed once for each lamp."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour.lamp import Lamp, d65, observer
from refinishlib.colour.spectrum import FINE_NM, WAVELENGTHS_NM

CUBE_ROOT_FROM = (6 / 29) ** 3
SLOPE = (29 / 6) ** 2 / 3
OFFSET = 4 / 29
LAB = (116.0, 16.0, 500.0, 200.0)

SOURCES = {
    "CUBE_ROOT_FROM": "ISO/CIE 11664-4 (2019), CIE 1976 L*a*b*",
    "SLOPE": "ISO/CIE 11664-4 (2019), CIE 1976 L*a*b*",
    "OFFSET": "ISO/CIE 11664-4 (2019), CIE 1976 L*a*b*",
    "LAB": "ISO/CIE 11664-4 (2019): 116 f(Y) - 16, 500 (f(X) - f(Y)), 200 (f(Y) - f(Z))",
}


@lru_cache(maxsize=1000)
def weights(lamp: Lamp, observer_deg: int = 10) -> NDArray[np.float64]:
    """Tristimulus weights (31, 3) for reflectance at 400-700 nm, 10 nm; Y of the perfect white is 100.

    Source
    ------
    ASTM E2022 (2016): weights for 360-780 nm at 10 nm from 1 nm tables by Lagrange interpolation; ASTM E308 (2018):
    what lies outside 400-700 nm is added to the end weights. Both as colour-science has them.

    >>> weights(d65()).sum(axis=0).round(2).tolist()
    [94.81, 100.0, 107.3]
    """
    import colour
    from colour.colorimetry import (
        adjust_tristimulus_weighting_factors_ASTME308,
        tristimulus_weighting_factors_ASTME2022,
    )

    step = WAVELENGTHS_NM[1] - WAVELENGTHS_NM[0]
    wide = colour.SpectralShape(FINE_NM[0], FINE_NM[-1], step)
    table = tristimulus_weighting_factors_ASTME2022(
        colour.MultiSpectralDistributions(observer(observer_deg), FINE_NM),
        colour.SpectralDistribution(lamp.power, FINE_NM),
        wide,
    )
    seen = colour.SpectralShape(WAVELENGTHS_NM[0], WAVELENGTHS_NM[-1], step)
    result = np.asarray(adjust_tristimulus_weighting_factors_ASTME308(table, wide, seen), dtype=np.float64)
    result.setflags(write=False)
    return result


def tristimulus(reflectance: ArrayLike, lamp: Lamp, observer_deg: int = 10) -> NDArray[np.float64]:
    """X, Y, Z (..., 3) of reflectance factors (..., 31); the perfect white has Y = 100.

    >>> float(tristimulus(np.full(31, 0.5), d65())[1].round(6))
    50.0
    """
    return np.asarray(reflectance) @ weights(lamp, observer_deg)


def lab(reflectance: ArrayLike, lamps: Sequence[Lamp] | None = None, observer_deg: int = 10) -> NDArray[np.float64]:
    """CIELAB of reflectance factors under several lamps, for thousands of spectra at once.

    Parameters
    ----------
    reflectance : (..., angles, 31) or (31,), factors, 400-700 nm at 10 nm; checked by whoever took the entry
    lamps : D65 alone if not given

    Returns
    -------
    (..., lamps, angles, 3), and (lamps, 3) for one spectrum

    Source
    ------
    ISO/CIE 11664-4 (2019), with the weights of ASTM E308; within 0.05 CIEDE2000 of sums at 1 nm for
    spectra without anything finer than 10 nm in them.

    >>> from refinishlib.colour.lamp import lamp
    >>> lab(np.full(31, 0.184187), [d65(), lamp("A")]).round(2).tolist()
    [[50.0, 0.0, 0.0], [50.0, 0.0, 0.0]]
    """
    spectra = np.asarray(reflectance, dtype=float)
    tables = [weights(lamp, observer_deg) for lamp in lamps or (d65(),)]
    # X/Xn, Y/Yn, Z/Zn of all lamps in one product: each lamp's weights divided by their sum, side by side.
    relative = spectra @ np.concatenate([table / table.sum(axis=0) for table in tables], axis=1)
    result = lab_from_tristimulus(relative.reshape(*relative.shape[:-1], len(tables), 3), np.ones(3))
    return result if spectra.ndim < 2 else np.swapaxes(result, -2, -3)


def lab_from_tristimulus(tristimulus: ArrayLike, white: ArrayLike) -> NDArray[np.float64]:
    """CIELAB (..., 3) of X, Y, Z (..., 3) for a white X, Y, Z (3,).

    Source
    ------
    ISO/CIE 11664-4 (2019).

    >>> lab_from_tristimulus([19.01, 20.0, 21.78], [95.05, 100.0, 108.9]).round(2).tolist()
    [51.84, 0.0, 0.0]
    """
    relative = np.asarray(tristimulus, dtype=float) / white
    stretched = np.cbrt(relative)
    low = relative < CUBE_ROOT_FROM
    if low.any():
        stretched[low] = SLOPE * relative[low] + OFFSET
    x, y, z = stretched[..., 0], stretched[..., 1], stretched[..., 2]
    return np.stack([LAB[0] * y - LAB[1], LAB[2] * (x - y), LAB[3] * (y - z)], axis=-1)


def tristimulus_from_lab(lab: ArrayLike, white: ArrayLike) -> NDArray[np.float64]:
    """X, Y, Z (..., 3) of CIELAB (..., 3), in the scale of the white X, Y, Z (3,) or (..., 3).

    Source
    ------
    ISO/CIE 11664-4 (2019), reversed.

    >>> tristimulus_from_lab([50.0, 0.0, 0.0], [0.9481, 1.0, 1.0731]).round(4).tolist()
    [0.1746, 0.1842, 0.1977]
    """
    lightness, red, yellow = np.moveaxis(np.asarray(lab, dtype=float), -1, 0)
    middle = (lightness + LAB[1]) / LAB[0]
    relative = _unstretched(np.stack([middle + red / LAB[2], middle, middle - yellow / LAB[3]], axis=-1))
    absolute: NDArray[np.float64] = relative * np.asarray(white, dtype=float)
    return absolute


def luminance(lightness: ArrayLike) -> NDArray[np.float64]:
    """Luminance factor, 1 for the perfect white, of CIELAB L* (...).

    Source
    ------
    ISO/CIE 11664-4 (2019), reversed.

    >>> luminance([0, 50, 100]).round(4).tolist()
    [0.0, 0.1842, 1.0]
    """
    return _unstretched((np.asarray(lightness, dtype=float) + LAB[1]) / LAB[0])


def _unstretched(f: NDArray[np.float64]) -> NDArray[np.float64]:
    """Undo the cube root, and the straight line that stands in for it near black."""
    return np.where(f > CUBE_ROOT_FROM ** (1 / 3), f**3, (f - OFFSET) / SLOPE)
