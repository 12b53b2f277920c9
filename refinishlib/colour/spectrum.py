"""The wavelengths that everything here is sampled at."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.entry import numbers

WAVELENGTHS_NM: NDArray[np.float64] = np.arange(400.0, 701.0, 10.0)
FINE_NM: NDArray[np.float64] = np.arange(360.0, 781.0, 1.0)
HIGHEST_FACTOR = 20.0

SOURCES = {
    "WAVELENGTHS_NM": "ASTM E2194 (2014): 400 to 700 nm at 10 nm",
    "FINE_NM": "CIE 15 (2018): sums at 1 nm, here over the range of ASTM E308",
    "HIGHEST_FACTOR": "teaching value: a metallic's face reads a few times the white tile, never twenty times",
}


def reflectance_factors(field: str, values: ArrayLike) -> NDArray[np.float64]:
    """The values as an array (..., 31) of reflectance factors from 0 to 20, 400-700 nm at 10 nm.

    Raises
    ------
    BadEntry : another number of values than 31, not finite, below 0 or above 20 (percent instead of shares?)

    >>> reflectance_factors("reading", 31 * [300.0])
    Traceback (most recent call last):
        ...
    refinishlib.entry.BadEntry: reading: 300 was given, allowed is a number from 0 to 20.
    """
    return numbers(field, values, low=0, high=HIGHEST_FACTOR, shape=(len(WAVELENGTHS_NM),))
