"""Wet film, dry film and coverage.

One litre spread over one square metre stands one millimetre high, so film times area is volume without a constant:
1 um x 1 m2 = 1 mL. All volumes are taken to add up, and all that is not solids to leave the film.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from refinishlib.booth.climate import Reals
from refinishlib.entry import BadEntry, number, numbers

FILM_MAX_UM = 5000.0
THINNING_MAX = 3.0
SOLIDS_MIN = 0.01
# The area in m2 that a litre covers at 1 um: a definition, since 1 L = 1e-3 m3 and 1 um = 1e-6 m.
COVERAGE_M2_UM_PER_L = 1000.0

SOURCES = {
    "FILM_MAX_UM": "teaching value: 5 mm is more than any filler or coat on a vehicle",
    "THINNING_MAX": "teaching value: three volumes of reducer to one of paint are beyond any sheet",
    "SOLIDS_MIN": "teaching value: below 1 % of volume there is no paint left to spray",
    "COVERAGE_M2_UM_PER_L": "definition: a litre is 1e-3 m3, a micrometre 1e-6 m",
}


def _solids(volume_solids: ArrayLike) -> Reals:
    return numbers("volume solids", volume_solids, low=SOLIDS_MIN, high=1)


def thinned_solids(volume_solids: ArrayLike, thinning: ArrayLike) -> Reals:
    """Volume solids after thinning.

    Parameters
    ----------
    volume_solids : share of the volume before thinning that stays in the dry film, 0.01-1
    thinning : volumes of reducer without solids to one volume of paint, 0-3

    Raises
    ------
    BadEntry : a value outside its range

    Source
    ------
    Balance of volumes: solids stay, the volume grows to 1 + thinning.

    >>> float(thinned_solids(0.48, 0.2))
    0.4
    """
    return _solids(volume_solids) / (1 + numbers("thinning", thinning, low=0, high=THINNING_MAX))


def wet_from_dry(dry_um: ArrayLike, volume_solids: ArrayLike, thinning: ArrayLike = 0.0) -> Reals:
    """Wet film to lay so that the dry film is left, in micrometres.

    Parameters
    ----------
    dry_um : dry film, micrometres, 0-5000
    volume_solids : of the paint before thinning, 0.01-1
    thinning : volumes of reducer to one volume of that paint, 0-3

    Raises
    ------
    BadEntry : a value outside its range

    Source
    ------
    Balance of volumes: wet = dry (1 + thinning) / volume solids.

    >>> float(wet_from_dry(60, 0.5))
    120.0
    """
    return numbers("dry film", dry_um, low=0, high=FILM_MAX_UM, unit="um") / thinned_solids(volume_solids, thinning)


def dry_from_wet(wet_um: ArrayLike, volume_solids: ArrayLike, thinning: ArrayLike = 0.0) -> Reals:
    """Dry film that a wet film leaves, in micrometres; the way back of `wet_from_dry`.

    >>> float(dry_from_wet(120, 0.5))
    60.0
    """
    return numbers("wet film", wet_um, low=0, high=FILM_MAX_UM / SOLIDS_MIN, unit="um") * thinned_solids(
        volume_solids, thinning
    )


def coverage_m2_per_l(dry_um: ArrayLike, volume_solids: ArrayLike, transfer_efficiency: ArrayLike = 1.0) -> Reals:
    """Area that one litre covers at a dry film, in square metres.

    Parameters
    ----------
    dry_um : dry film, micrometres, 0.1-5000
    volume_solids : of the paint as it is sprayed, 0.01-1
    transfer_efficiency : share of the sprayed solids that lands on the panel, 0.01-1

    Raises
    ------
    BadEntry : a value outside its range

    Source
    ------
    Balance of volumes; 1 L at full solids is 1000 m2 at 1 um (1604 ft2 at 1 mil for a US gallon).

    >>> float(coverage_m2_per_l(50, 0.5))
    10.0
    """
    dry = numbers("dry film", dry_um, low=0.1, high=FILM_MAX_UM, unit="um")
    landed = numbers("transfer efficiency", transfer_efficiency, low=SOLIDS_MIN, high=1)
    return COVERAGE_M2_UM_PER_L * _solids(volume_solids) * landed / dry


def layers_left(layers_um: Sequence[float], removed_um: float) -> tuple[float, ...]:
    """What sanding leaves of a stack of layers, in micrometres.

    Parameters
    ----------
    layers_um : dry film of each layer, the uppermost first, each 0-5000
    removed_um : what was sanded off, from the top, 0-5000

    Returns
    -------
    the layers in the same order; a layer that is gone is 0

    Raises
    ------
    BadEntry : a film below zero, or more sanded off than there is

    >>> layers_left((55, 15, 80), 60)
    (0.0, 10.0, 80.0)
    """
    stack = numbers("layers", layers_um, low=0, high=FILM_MAX_UM, unit="um", shape=(None,))
    number("removed", removed_um, low=0, high=float(stack.sum()), unit="um")
    below = np.cumsum(stack) - number("removed", removed_um, low=0)
    return tuple(float(left) for left in np.clip(below, 0, stack))


def film_left(film_um: ArrayLike, removed_um: ArrayLike) -> Reals:
    """What is left of one film after sanding, in micrometres, 0 where it is sanded through.

    >>> film_left(50, [0, 12, 70]).tolist()
    [50.0, 38.0, 0.0]
    """
    film = numbers("film", film_um, low=0, high=FILM_MAX_UM, unit="um")
    removed = numbers("removed", removed_um, low=0, unit="um")
    return np.maximum(film - removed, 0)


def mixed_solids(parts: Sequence[float], solids: Sequence[float]) -> float:
    """Volume solids of a mix by volume.

    Parameters
    ----------
    parts : parts by volume, each 0 or more, together more than 0
    solids : volume solids of each part, 0-1

    Raises
    ------
    BadEntry : lists of unequal length, a value outside its range, or nothing in the cup

    >>> round(mixed_solids((2, 1, 0.2), (0.42, 0.60, 0)), 3)
    0.45
    """
    amounts = numbers("parts", parts, low=0, shape=(None,))
    shares = numbers("volume solids", solids, low=0, high=1, shape=(len(amounts),))
    if not amounts.sum() > 0:
        raise BadEntry("parts: 0 was given, allowed is a mix with at least one part above 0.")
    return float(amounts @ shares / amounts.sum())
