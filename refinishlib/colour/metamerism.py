"""Two paints that match in one light and part in another."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import weights
from refinishlib.colour.difference import difference
from refinishlib.colour.lamp import Lamp, d65, lamp
from refinishlib.colour.spectrum import reflectance_factors


def metamerism_index(
    reference: ArrayLike,
    sample: ArrayLike,
    *,
    match_under: Lamp | None = None,
    judge_under: Lamp | None = None,
    formula: str = "CIEDE2000",
) -> NDArray[np.float64]:
    """How far two paints part in a second light, once a small mismatch in the first is put right, (...).

    Parameters
    ----------
    reference, sample : reflectance factors (..., 31), 400-700 nm at 10 nm
    match_under, judge_under : the light they match in and the light that tells; D65 and A if not given; 10 degree
        observer
    formula : "CIEDE2000", "CIE94", "CMC" or "CIELAB"

    Returns
    -------
    0 or more; 0 for equal spectra

    Raises
    ------
    BadEntry : a spectrum of the wrong length or out of range, an unknown formula

    Source
    ------
    CIE 15 (2018), special metamerism index for a change in illuminant, with multiplicative correction: the sample's
    X, Y, Z in the second light times the reference's over the sample's in the first.

    >>> grey = np.full(31, 0.3)
    >>> float(metamerism_index(grey, 1.1 * grey).round(9))
    0.0
    """
    by_day, telling = match_under or d65(), judge_under or lamp("A")
    first = reflectance_factors("reference", reference)
    second = reflectance_factors("sample", sample)
    under_first = [weights.tristimulus(spectrum, by_day) for spectrum in (first, second)]
    lights = under_first[1] > 0
    ratio = np.where(lights, under_first[0] / np.where(lights, under_first[1], 1), 1)
    corrected = weights.tristimulus(second, telling) * ratio
    white = weights.weights(telling).sum(axis=0)
    judged = [weights.lab_from_tristimulus(xyz, white) for xyz in (weights.tristimulus(first, telling), corrected)]
    return difference(formula, *judged)
