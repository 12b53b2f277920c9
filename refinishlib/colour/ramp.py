"""What an eye finds along a panel whose colour changes: how steep the change is for each degree of visual angle."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour.difference import ciede2000

RAMP_DEG = 0.5
SHOWS = 0.8
SLOPE_LIMIT = SHOWS / RAMP_DEG
LIKELY = 24
WEIGHING = (0.015, 50.0, 20.0, 0.045)

SOURCES = {
    "RAMP_DEG": "Campbell, Johnstone and Ross (1981), Vision Research 21, 723: narrower ramps are seen like an edge",
    "SHOWS": "teaching value: CIEDE2000 at an edge below which nobody finds it in the yard",
    "SLOPE_LIMIT": "teaching value, a modelling choice: a ramp is found when half a degree of it shows like an edge",
    "LIKELY": "teaching value: stations at which the steepest slope is looked for",
    "WEIGHING": "ISO/CIE 11664-6 (2022): S_L = 1 + 0.015 (L - 50)^2 / sqrt(20 + (L - 50)^2) and S_C = 1 + 0.045 C",
}


def slopes(stations_m: NDArray[Any], lab: NDArray[Any], distances_m: ArrayLike) -> NDArray[np.float64]:
    """CIEDE2000 per degree of visual angle, square on, from each station to the right.

    Parameters
    ----------
    stations_m : (n,) evenly spaced
    lab : (n, angles, 3)
    distances_m : (distances,) of the eye

    Returns
    -------
    (distances, n, angles); twice the difference between points half a degree apart

    >>> edge = np.where(np.arange(100)[:, None, None] < 50, [50.0, 0, 0], [52.0, 0, 0])
    >>> slopes(np.linspace(0, 1, 100), edge, [1.0, 5.0]).max(axis=(1, 2)).round(1).tolist()
    [3.4, 4.0]
    """
    shifted = _half_a_degree_on(stations_m, lab, np.atleast_1d(distances_m))
    return ciede2000(lab, shifted) / RAMP_DEG


def _half_a_degree_on(stations_m: NDArray[Any], lab: NDArray[Any], distances_m: NDArray[Any]) -> NDArray[Any]:
    """CIELAB half a degree to the right of each station, (distances, n, angles, 3)."""
    n = len(stations_m)
    step = (stations_m[-1] - stations_m[0]) / (n - 1)
    # Half a degree at distance d is d tan(0.5 deg); between two stations along a straight line.
    where = np.minimum(np.arange(n) + distances_m[:, None] * np.tan(np.radians(RAMP_DEG)) / step, n - 1)
    low = np.minimum(where.astype(int), n - 2)
    share = (where - low)[..., None, None]
    found: NDArray[Any] = lab[low] * (1 - share) + lab[low + 1] * share
    return found


def likely_places(
    stations_m: NDArray[Any], lab: NDArray[Any], old_lab: NDArray[Any], distances_m: NDArray[Any]
) -> tuple[NDArray[Any], NDArray[Any]]:
    """CIELAB here and half a degree on, where the steepest slope can be; each (angles, distances, places, 3).

    CIEDE2000's own weights of lightness and chroma, taken at the old finish, tell the places well enough.
    """
    on = np.ascontiguousarray(np.moveaxis(_half_a_degree_on(stations_m, lab, distances_m), 2, 0))
    here = np.broadcast_to(np.moveaxis(lab, 1, 0)[:, None], on.shape)
    slope, middle, soft, by_chroma = WEIGHING
    away = np.square(old_lab[:, 0] - middle)
    of_chroma = 1 + by_chroma * np.hypot(old_lab[:, 1], old_lab[:, 2])
    weighing = np.stack([1 + slope * away / np.sqrt(soft + away), of_chroma, of_chroma], axis=-1)
    about = np.square((on - here) / weighing[:, None, None]).sum(axis=-1)
    likely = np.argpartition(about, -min(LIKELY, len(lab)))[..., -LIKELY:, None]
    return np.take_along_axis(here, likely, axis=2), np.take_along_axis(on, likely, axis=2)
