"""Diffuse light in a paint film over an undercoat: the two constants of Kubelka and Munk."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour.optics import Mixture
from refinishlib.entry import numbers

SMALLEST_PER_UM = 1e-15
THICKEST_UM = 1e6

SOURCES = {
    "SMALLEST_PER_UM": "definition: a film that absorbs less than this counts as one that absorbs this little",
    "THICKEST_UM": "teaching value: a metre of paint is no longer a film",
}


@dataclass(frozen=True)
class Layer:
    """One paint at one build. film_um : dry film of all its coats, 0 or more, may be infinite, (...)."""

    mixture: Mixture
    film_um: ArrayLike

    def __post_init__(self) -> None:
        check_film(self.film_um)


def check_film(film_um: ArrayLike) -> None:
    """Refuse a dry film below 0 or not a number; an infinite one hides.

    >>> check_film([0.0, 18.0, np.inf])
    """
    given = np.asarray(film_um, dtype=float)
    numbers("dry film", given[~np.isposinf(given)], low=0, high=THICKEST_UM, unit="um")


def absorption(mixture: Mixture) -> NDArray[np.float64]:
    """K of everything in the film, flakes included, per um, (..., 31).

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> shop = load()
    >>> absorption(mixture(shop.picked("medium silver"), [1.0])).shape
    (31,)
    """
    return mixture.absorption_per_um + mixture.flake_absorption_per_um


def scattering(mixture: Mixture) -> NDArray[np.float64]:
    """S of everything in the film, flakes included, per um, (..., 31).

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> shop = load()
    >>> silver, blue = (scattering(mixture(shop.picked(name), [1.0])) for name in ("medium silver", "deep blue"))
    >>> bool((silver > blue).all())
    True
    """
    return mixture.scattering_per_um + mixture.flake_scattering_per_um


def free_film(
    absorption_per_um: ArrayLike, scattering_per_um: ArrayLike, film_um: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Reflectance over nothing and transmittance of a film, each (...), 0-1.

    Parameters
    ----------
    absorption_per_um, scattering_per_um : K and S, 0 or more, (...)
    film_um : dry film, 0 or more, may be infinite, (...)

    Source
    ------
    Kubelka (1948), J. Opt. Soc. Am. 38, 448, written so that it holds without absorption or scattering: with
    k = sqrt(K (K + 2 S)),  R = S sinh(k d) / (k cosh(k d) + (K + S) sinh(k d)),  T = k / (the same).

    >>> reflected, passed = free_film(0.0, 0.1, 10.0)
    >>> float(reflected.round(6)), float((reflected + passed).round(6))
    (0.5, 1.0)
    """
    k, s = np.asarray(absorption_per_um, dtype=float), np.asarray(scattering_per_um, dtype=float)
    decay = np.maximum(np.sqrt(k * (k + 2 * s)), SMALLEST_PER_UM)
    depth = decay * -np.asarray(film_um, dtype=float)
    left = np.exp(depth)
    # Not 1 - left^2, which has few right digits where next to nothing is lost.
    lost = -np.expm1(2 * depth)
    below = (2 - lost) * decay + (k + s) * lost
    return s * lost / below, 2 * decay * left / below


def over(reflected: ArrayLike, passed: ArrayLike, undercoat: ArrayLike) -> NDArray[np.float64]:
    """Reflectance of a film over an undercoat, 0-1, from its own reflectance and transmittance.

    Source
    ------
    Kubelka (1954), J. Opt. Soc. Am. 44, 330: R + T^2 Rg / (1 - R Rg).

    >>> float(over(0.0, 1.0, 0.3))
    0.3
    """
    reflected, passed, undercoat = (np.asarray(a, dtype=float) for a in (reflected, passed, undercoat))
    found: NDArray[np.float64] = reflected + passed**2 * undercoat / (1 - reflected * undercoat)
    return found


def infinite(absorption_per_um: ArrayLike, scattering_per_um: ArrayLike) -> NDArray[np.float64]:
    """Reflectance of a film so thick that more of it changes nothing, 0-1; needs some absorption or scattering.

    Source
    ------
    Kubelka and Munk (1931), Z. techn. Phys. 12, 593: 1 + K/S - sqrt((K/S)^2 + 2 K/S), written without the division.

    >>> float(infinite(0.1, 0.1).round(4))
    0.2679
    """
    k, s = np.asarray(absorption_per_um, dtype=float), np.asarray(scattering_per_um, dtype=float)
    found: NDArray[np.float64] = s / (k + s + np.sqrt(k * (k + 2 * s)))
    return found


def reflectance(layers: Sequence[Layer], undercoat: ArrayLike) -> NDArray[np.float64]:
    """Diffuse reflectance inside the resin of paint over an undercoat, (..., 31), 0-1: no surface, no flop.

    Parameters
    ----------
    layers : from the undercoat up: a ground coat and a mid coat, or one basecoat, or none
    undercoat : diffuse reflectance inside the resin, 0-1, (..., 31)

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> shop = load()
    >>> white = mixture(shop.picked("white"), [1.0])
    >>> two_halves = reflectance([Layer(white, 5.0), Layer(white, 5.0)], np.full(31, 0.1))
    >>> bool(np.allclose(two_halves, reflectance([Layer(white, 10.0)], np.full(31, 0.1))))
    True
    """
    result = np.asarray(undercoat, dtype=float)
    for layer in layers:
        film_um = np.asarray(layer.film_um, dtype=float)[..., None]
        result = over(*free_film(absorption(layer.mixture), scattering(layer.mixture), film_um), result)
    return result
