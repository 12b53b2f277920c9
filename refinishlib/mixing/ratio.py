"""Mixing by ratio: parts by volume, as a product sheet gives them, turned into grams on the scale."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from refinishlib.entry import BadEntry, number, numbers
from refinishlib.mixing.scale import LARGEST_MIX_G, Pour, densities, pour_of


@dataclass(frozen=True)
class RatioPour:
    """A mix by ratio in pouring order.

    own_ml : volume of each component
    pour : the same in grams, own and cumulative
    """

    own_ml: tuple[float, ...]
    pour: Pour

    @property
    def total_ml(self) -> float:
        return sum(self.own_ml)


def by_ratio(
    names: Sequence[str],
    parts: Sequence[float],
    density_g_per_ml: Mapping[str, float] | Sequence[float],
    ready_ml: float,
) -> RatioPour:
    """So much ready-to-spray paint, mixed by volume, as grams on the scale.

    Parameters
    ----------
    names : components in pouring order, such as base, hardener, reducer
    parts : parts by volume of each, above 0
    density_g_per_ml : of each component, by name or in pouring order
    ready_ml : wanted volume of the whole mix, mL, above 0

    Raises
    ------
    BadEntry : a component without parts or density, a value out of range

    Source
    ------
    Definition of parts by volume and of density; volumes taken to add up (common practice, no source).

    >>> by_ratio(["clear", "hardener", "reducer"], [4, 2, 1], [0.98, 1.07, 0.87], 700).pour.cumulative_g
    (392.0, 606.0, 693.0)
    """
    volume = number("ready-to-spray volume", ready_ml, low=0, above_low=True, unit="mL")
    amounts = _checked(names, parts)
    return _poured(names, amounts / amounts.sum() * volume, density_g_per_ml)


def by_ratio_from(
    names: Sequence[str],
    parts: Sequence[float],
    density_g_per_ml: Mapping[str, float] | Sequence[float],
    first_g: float,
) -> RatioPour:
    """The same, from a mass of the first component that already stands on the scale.

    first_g : mass of the first component, g, above 0; the rest as in `by_ratio`

    >>> by_ratio_from(["clear", "hardener"], [2, 1], [1.0, 1.5], 200).pour.own_g
    (200.0, 150.0)
    """
    mass = number(f"mass of {names[0]}" if names else "mass", first_g, low=0, high=LARGEST_MIX_G, above_low=True)
    amounts = _checked(names, parts)
    first_density = densities(names, density_g_per_ml)[0]
    return _poured(names, amounts / amounts[0] * (mass / first_density), density_g_per_ml)


def _checked(names: Sequence[str], parts: Sequence[float]) -> NDArray[np.float64]:
    if not names:
        raise BadEntry("ratio: no component was given, allowed is one or more.")
    if len(set(names)) < len(names):
        raise BadEntry("ratio: a component was given twice, allowed is once.")
    amounts = numbers("parts by volume", parts, low=0, shape=(len(names),))
    for name, amount in zip(names, amounts.tolist(), strict=True):
        number(f"parts of {name}", amount, low=0, above_low=True)
    return amounts


def _poured(
    names: Sequence[str], own_ml: NDArray[np.float64], density_g_per_ml: Mapping[str, float] | Sequence[float]
) -> RatioPour:
    pour = pour_of(names, own_ml * np.asarray(densities(names, density_g_per_ml)))
    number("mass of the mix", pour.total_g, low=0, high=LARGEST_MIX_G, unit="g")
    return RatioPour(tuple(own_ml.tolist()), pour)
