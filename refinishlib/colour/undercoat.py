"""What lies under the colour: greys by lightness, and the white and black sealer they are mixed from."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import film, optics, surface, weights
from refinishlib.colour.spectrum import WAVELENGTHS_NM
from refinishlib.entry import number, numbers
from refinishlib.shop.paint import Toner

GREY_LIGHTNESS = 50.0

SOURCES = {
    "GREY_LIGHTNESS": "teaching value: a middle grey for everyone who does not say which undercoat there is",
}


@dataclass(frozen=True)
class SealerMix:
    """A grey undercoat from two tins.

    lightness : CIELAB L* under D65, 10 degrees, specular excluded
    white_g, black_g : for 100 g
    """

    lightness: float
    white_g: float
    black_g: float


def grey(lightness: ArrayLike = GREY_LIGHTNESS) -> NDArray[np.float64]:
    """Diffuse reflectance inside the resin of a neutral undercoat, (..., 31), 0-1.

    Parameters
    ----------
    lightness : CIELAB L*, 0-100, as an instrument reads it on a glossy or cleared chip, specular excluded, (...)

    Raises
    ------
    BadEntry : outside 0-100

    >>> grey([0, 50, 100]).mean(axis=1).round(3).tolist()
    [0.0, 0.358, 0.998]
    """
    given = numbers("undercoat lightness", lightness, low=0, high=100)
    return np.repeat(surface.beneath_surface(weights.luminance(given))[..., None], len(WAVELENGTHS_NM), axis=-1)


def as_undercoat(undercoat: ArrayLike) -> NDArray[np.float64]:
    """A lightness (one number) turned into a grey; a diffuse reflectance inside the resin (..., 31) as it is.

    >>> as_undercoat(50.0).shape, as_undercoat(np.full((4, 31), 0.3)).shape
    ((31,), (4, 31))
    """
    given = np.asarray(undercoat, dtype=float)
    return given if given.ndim else _one_grey(float(given))


def check_undercoat(undercoat: ArrayLike) -> None:
    """Refuse a lightness outside 0-100, and a reflectance of another length than 31 or outside 0-1.

    >>> check_undercoat(50.0)
    """
    if np.ndim(undercoat) == 0:
        number("undercoat lightness", undercoat, low=0, high=100)
    else:
        numbers("undercoat reflectance", undercoat, low=0, high=1, shape=(len(WAVELENGTHS_NM),))


@lru_cache(maxsize=1000)
def _one_grey(lightness: float) -> NDArray[np.float64]:
    result = grey(lightness)
    result.setflags(write=False)
    return result


def sealer(sealers: tuple[Toner, Toner], white_g: ArrayLike, black_g: ArrayLike) -> NDArray[np.float64]:
    """Diffuse reflectance inside the resin of hiding sealer mixed by weight, (..., 31), 0-1.

    sealers : the white and the black one

    >>> from refinishlib.shop.shop import load
    >>> sealer(load().sealers, 50.0, 50.0).shape
    (31,)
    """
    masses = np.stack(np.broadcast_arrays(np.asarray(white_g, dtype=float), np.asarray(black_g, dtype=float)), axis=-1)
    mixed = optics.mixture(sealers, masses)
    return film.infinite(film.absorption(mixed), film.scattering(mixed))


def sealer_lightness(sealers: tuple[Toner, Toner], white_g: ArrayLike, black_g: ArrayLike) -> NDArray[np.float64]:
    """CIELAB L* of hiding sealer mixed by weight, D65, 10 degrees, specular excluded, (...).

    >>> from refinishlib.shop.shop import load
    >>> darker, lighter = sealer_lightness(load().sealers, [50.0, 90.0], [50.0, 10.0])
    >>> bool(darker < lighter)
    True
    """
    inside = sealer(sealers, white_g, black_g)
    passed = surface.geometry(surface.LIGHT_DEG, 0.0).passed
    return weights.lab(surface.through_surface(inside, inside, passed))[0, ..., 0]


def sealer_for(sealers: tuple[Toner, Toner], lightness: float) -> SealerMix:
    """White and black sealer, by weight, for an undercoat of this lightness.

    Raises
    ------
    BadEntry : darker than the black sealer or lighter than the white one, with the range

    >>> from refinishlib.shop.shop import load
    >>> pair = load().sealers
    >>> mix = sealer_for(pair, 50)
    >>> bool(abs(sealer_lightness(pair, mix.white_g, mix.black_g) - 50) < 1e-6)
    True
    """
    from scipy.optimize import brentq

    lowest, highest = (float(value) for value in sealer_lightness(sealers, [0.0, 1.0], [1.0, 0.0]))
    wanted = number("undercoat lightness", lightness, low=np.ceil(lowest), high=np.floor(highest))
    white_g = brentq(lambda white: float(sealer_lightness(sealers, white, 100 - white)) - wanted, 0, 100)
    return SealerMix(wanted, white_g, 100 - white_g)
