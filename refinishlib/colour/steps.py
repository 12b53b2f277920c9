"""Spectra that were taken at other steps, brought to 400-700 nm at 10 nm."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour.spectrum import HIGHEST_FACTOR, WAVELENGTHS_NM
from refinishlib.entry import BadEntry, numbers

COARSEST_NM = 20.0
BELOW_ZERO = -0.02
SHORTEST_NM = 100.0
LONGEST_NM = 5000.0

SOURCES = {
    "COARSEST_NM": "CIE 15 (2018): steps of more than 20 nm are not for colours",
    "BELOW_ZERO": "teaching value: as far below nothing as noise takes a black",
    "SHORTEST_NM": "teaching value: limit of entry, in micrometres it would be a hundredth",
    "LONGEST_NM": "teaching value: limit of entry",
}


def at_ten_nm(field: str, values: ArrayLike, wavelengths_nm: ArrayLike) -> NDArray[np.float64]:
    """Reflectance factors (..., 31), 400-700 nm at 10 nm, of spectra taken at any other steps.

    Parameters
    ----------
    field : for the sentence if something is wrong
    values : reflectance factors, (..., n)
    wavelengths_nm : rising, even or not, reaching from 400 to 700 nm, no gap above 20 nm, (n,)

    Raises
    ------
    BadEntry : wavelengths that do not rise, do not reach or leave a gap; another number of values than of wavelengths

    Source
    ------
    CIE 15 (2018), 7.2.1: a cubic spline is one of the four ways to interpolate that it allows. Steps finer than 10 nm
    are first averaged with the triangle of a 10 nm instrument, ASTM E308 (2018).

    >>> at_ten_nm("reading", np.linspace(0.0, 1.0, 16), np.arange(400.0, 701.0, 20.0))[[0, 1, 30]].round(4).tolist()
    [0.0, 0.0333, 1.0]
    """
    nm = numbers(f"wavelengths of {field}", wavelengths_nm, low=SHORTEST_NM, high=LONGEST_NM, unit="nm")
    if nm.ndim != 1 or len(nm) < 2 or (np.diff(nm) <= 0).any():
        raise BadEntry(f"wavelengths of {field}: {_list(nm)} was given, allowed are rising ones, each once.")
    spectra = numbers(field, values, low=BELOW_ZERO, high=HIGHEST_FACTOR, shape=(len(nm),))
    first, last = WAVELENGTHS_NM[0], WAVELENGTHS_NM[-1]
    if nm[0] > first or nm[-1] < last:
        given = f"{nm[0]:g} to {nm[-1]:g} nm was given"
        raise BadEntry(f"wavelengths of {field}: {given}, allowed is {first:g} to {last:g} nm or more.")
    seen = nm[(nm >= first - COARSEST_NM) & (nm <= last + COARSEST_NM)]
    gap = float(np.diff(seen).max())
    if gap > COARSEST_NM:
        raise BadEntry(f"wavelengths of {field}: a gap of {gap:g} nm was given, allowed are up to {COARSEST_NM:g} nm.")
    if np.array_equal(nm, WAVELENGTHS_NM):
        return np.maximum(spectra, 0.0)
    from scipy.interpolate import CubicSpline

    width = WAVELENGTHS_NM[1] - WAVELENGTHS_NM[0]
    if np.diff(seen).mean() <= width / 2:
        share = np.maximum(1 - np.abs(nm - WAVELENGTHS_NM[:, None]) / width, 0.0) * np.gradient(nm)
        inside = (nm[0] + width <= WAVELENGTHS_NM) & (nm[-1] - width >= WAVELENGTHS_NM)
        smooth = spectra @ (share / share.sum(axis=1, keepdims=True)).T
        found = np.where(inside, smooth, CubicSpline(nm, spectra, axis=-1)(WAVELENGTHS_NM))
    else:
        found = CubicSpline(nm, spectra, axis=-1)(WAVELENGTHS_NM)
    above: NDArray[np.float64] = np.maximum(found, 0.0)
    return above


def _list(nm: NDArray[np.float64]) -> str:
    return ", ".join(f"{value:g}" for value in np.atleast_1d(nm)[:3]) + " ..."
