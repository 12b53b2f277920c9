"""A colour formula turned into grams on the scale, in pouring order, and what the scale's last digit does to it.

Parts are parts by weight. Volumes are taken to add up when paints are mixed, which is how a mixing bench reckons.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import Any, Literal, get_args

import numpy as np
from numpy.typing import NDArray

from refinishlib.entry import BadEntry, number, numbers, one_of
from refinishlib.shop.paint import DENSITY_G_PER_ML

Way = Literal["cumulative", "tared"]
WAYS: tuple[Way, ...] = get_args(Way)
Parts = Sequence[tuple[str, float]]

LARGEST_MIX_G = 50_000.0
COARSEST_READABILITY_G = 10.0
FINEST_DECIMALS = 9
ALLOWED_CHANGE = 0.05

SOURCES = {
    "LARGEST_MIX_G": "teaching value: far above what a mixing bench holds, catches a slip of the unit",
    "COARSEST_READABILITY_G": "teaching value: a coarser scale is of no use at a mixing bench",
    "FINEST_DECIMALS": "definition: a nanogram is below any scale, what lies beyond is the dust of float arithmetic",
    "ALLOWED_CHANGE": "teaching value: the change of a toner's own amount that a shop lets rounding make",
}


@dataclass(frozen=True)
class Pour:
    """What to pour, in pouring order: each toner's own mass, and what the scale shows after it if never tared."""

    names: tuple[str, ...]
    own_g: tuple[float, ...]
    cumulative_g: tuple[float, ...]

    @property
    def total_g(self) -> float:
        return self.cumulative_g[-1]

    @property
    def shares(self) -> tuple[float, ...]:
        """Each toner's share of the mix by weight, 0-1."""
        return tuple(mass / self.total_g for mass in self.own_g)


@dataclass(frozen=True)
class RoundedPour:
    """A pour as the scale can show it.

    own_g : each toner's own mass, as poured
    cumulative_g : what the scale shows after it if never tared
    own_error_g : own mass as poured minus the exact one
    share_error_percent : change of each toner's share of the mix, in percent of that share
    """

    names: tuple[str, ...]
    own_g: tuple[float, ...]
    cumulative_g: tuple[float, ...]
    own_error_g: tuple[float, ...]
    share_error_percent: tuple[float, ...]

    @property
    def total_g(self) -> float:
        return self.cumulative_g[-1]


def to_mass(parts: Parts, mass_g: float) -> Pour:
    """A formula scaled to a wanted mass of mixed colour.

    Parameters
    ----------
    parts : (toner, parts by weight) in pouring order, parts above 0
    mass_g : wanted mass, above 0 and up to LARGEST_MIX_G

    Raises
    ------
    BadEntry : no toner, a toner named twice, parts or mass out of range

    Source
    ------
    Definition of parts by weight: own mass = wanted mass x own parts / all parts.

    >>> to_mass([("jet black", 3), ("white", 1)], 200).cumulative_g
    (150.0, 200.0)
    """
    names, amounts = _checked(parts)
    mass = number("wanted mass", mass_g, low=0, high=LARGEST_MIX_G, above_low=True, unit="g")
    factor = mass / sum(amounts)
    return pour_of(names, [factor * amount for amount in amounts])


def to_volume(parts: Parts, volume_ml: float, density_g_per_ml: Mapping[str, float] | Sequence[float]) -> Pour:
    """A formula scaled to a wanted volume of mixed colour, through each toner's density.

    Parameters
    ----------
    parts : (toner, parts by weight) in pouring order, parts above 0
    volume_ml : wanted volume in mL, above 0
    density_g_per_ml : of each toner, by name or in pouring order, within DENSITY_G_PER_ML

    Raises
    ------
    BadEntry : as `to_mass`; a density missing or out of range

    Source
    ------
    Definition of density; volumes taken to add up (common practice, no source).

    >>> to_volume([("jet black", 3), ("white", 1)], 100, {"jet black": 0.96, "white": 1.34}).total_g
    103.3...
    """
    names, amounts = _checked(parts)
    volume = number("wanted volume", volume_ml, low=0, above_low=True, unit="mL")
    return to_mass(parts, volume * float(mix_density(amounts, densities(names, density_g_per_ml))))


def scaled(parts: Any, mass_g: Any) -> NDArray[np.float64]:
    """Own masses for many formulas or many amounts at once.

    Parameters
    ----------
    parts : (..., n) parts by weight, 0 or more, with a sum above 0
    mass_g : (...), wanted mass of each mix

    Returns
    -------
    (..., n) own masses in g

    >>> scaled([[3, 1], [1, 1]], [200, 50]).tolist()
    [[150.0, 50.0], [25.0, 25.0]]
    """
    amounts = numbers("parts", parts, low=0, shape=(None,))
    total = amounts.sum(axis=-1, keepdims=True)
    if (total <= 0).any():
        raise BadEntry("parts: a sum of 0 was given, allowed is a sum above 0.")
    mass = numbers("wanted mass", mass_g, low=0, unit="g")
    found: NDArray[np.float64] = amounts / total * mass[..., None]
    return found


def mix_density(parts: Any, density_g_per_ml: Any) -> NDArray[np.float64]:
    """Density of the mixed colour in g/mL: all the mass over all the volume.

    Parameters
    ----------
    parts : (..., n) parts by weight, 0 or more, with a sum above 0
    density_g_per_ml : (..., n) of each toner

    Source
    ------
    Definition of density; volumes taken to add up (common practice, no source).

    >>> mix_density([1.0, 1.0], [1.0, 1.5]).round(3).item()
    1.2
    """
    share = scaled(parts, 1)
    density = _densities(density_g_per_ml)
    found: NDArray[np.float64] = 1 / (share / density).sum(axis=-1)
    return found


def mix_volume(own_g: Any, density_g_per_ml: Any) -> NDArray[np.float64]:
    """Volume of a mix in mL from its own masses.

    Parameters
    ----------
    own_g : (..., n) own masses, 0 or more
    density_g_per_ml : (..., n) of each toner

    Source
    ------
    Definition of density; volumes taken to add up (common practice, no source).

    >>> mix_volume([96.0, 67.0], [0.96, 1.34]).item()
    150.0
    """
    density = _densities(density_g_per_ml)
    found: NDArray[np.float64] = (numbers("own mass", own_g, low=0, unit="g") / density).sum(axis=-1)
    return found


def densities(names: Sequence[str], density_g_per_ml: Mapping[str, float] | Sequence[float]) -> tuple[float, ...]:
    """Densities in pouring order, given by toner name or already in order.

    Raises
    ------
    BadEntry : one is missing or out of range

    >>> densities(["white", "jet black"], {"jet black": 0.96, "white": 1.34})
    (1.34, 0.96)
    """
    if isinstance(density_g_per_ml, Mapping):
        missing = [name for name in names if name not in density_g_per_ml]
        if missing:
            raise BadEntry(f"density: none was given for {missing[0]}, allowed is one for every toner.")
        given = [density_g_per_ml[name] for name in names]
    else:
        given = list(density_g_per_ml)
    checked = numbers(
        "density", given, low=DENSITY_G_PER_ML[0], high=DENSITY_G_PER_ML[1], unit="g/mL", shape=(len(names),)
    )
    return tuple(checked.tolist())


def _densities(given: Any, *, shape: tuple[int, ...] | None = None) -> NDArray[np.float64]:
    low, high = DENSITY_G_PER_ML
    return numbers("density", given, low=low, high=high, unit="g/mL", shape=shape)


def on_scale(values_g: Any, readability_g: float) -> NDArray[np.float64]:
    """Masses to the nearest that the scale can show, halves up.

    Parameters
    ----------
    values_g : (...), in g
    readability_g : the step of the last digit, 0.1 or 0.01 g at a mixing bench

    >>> on_scale([12.25, 0.15, 7.04], 0.1).tolist()
    [12.3, 0.2, 7.0]
    """
    step = number("readability", readability_g, low=0, high=COARSEST_READABILITY_G, above_low=True, unit="g")
    # A hair is added so that 0.15, which a float holds a little low, goes up as it reads.
    counts = np.floor(numbers("mass", values_g, unit="g") / step + 0.5 + 1e-9)
    return np.round(counts * step, FINEST_DECIMALS)


def rounded(pour: Pour, readability_g: float, way: Way = "cumulative") -> RoundedPour:
    """A pour to the scale's readability, and what that does to every toner's share.

    When the scale is never tared the cumulative readings are what gets rounded, so that no error adds up; when it is
    tared between pours, each own mass is.

    Parameters
    ----------
    pour : the exact pour
    readability_g : the step of the scale's last digit, above 0
    way : "cumulative" or "tared"

    Raises
    ------
    BadEntry : readability or way not allowed; a mix so small that the scale shows nothing at all

    >>> rounded(to_mass([("jet black", 2), ("white", 1)], 100), 0.1).own_g
    (66.7, 33.3)
    """
    cumulative = one_of("way of pouring", way, WAYS) == "cumulative"
    own = (
        np.diff(on_scale(pour.cumulative_g, readability_g), prepend=0.0)
        if cumulative
        else on_scale(pour.own_g, readability_g)
    )
    own = np.round(own, FINEST_DECIMALS)
    total = float(own.sum())
    if total <= 0:
        raise BadEntry(
            f"wanted mass: {pour.total_g:g} g was given, allowed is more than the scale's step of {readability_g:g} g."
        )
    exact = np.asarray(pour.own_g)
    share_error = (own / total) / (exact / exact.sum()) - 1
    return RoundedPour(
        names=pour.names,
        own_g=tuple(own.tolist()),
        cumulative_g=tuple(np.round(own.cumsum(), FINEST_DECIMALS).tolist()),
        own_error_g=tuple((own - exact).tolist()),
        share_error_percent=tuple((100 * share_error).tolist()),
    )


def smallest_mix(share: float, readability_g: float, allowed: float = ALLOWED_CHANGE, way: Way = "cumulative") -> float:
    """The smallest mix, in g, in which rounding never changes a toner's amount by more than is allowed.

    The worst case: tared between pours a reading is off by half a step; poured cumulatively the toner stands between
    two readings, each off by half a step. This is why a shop has a minimum mix.

    Parameters
    ----------
    share : of the smallest toner in the mix by weight, above 0 and up to 1
    readability_g : the step of the scale's last digit, above 0
    allowed : largest change of the toner's own amount, as a part of that amount, above 0 and up to 1
    way : "cumulative" or "tared"

    Source
    ------
    Worst case of rounding to the nearest step: half a step for each reading (definition).

    >>> smallest_mix(0.005, 0.1, 0.05, "tared"), smallest_mix(0.005, 0.1, 0.05, "cumulative")
    (200.0, 400.0)
    """
    part = number("share", share, low=0, high=1, above_low=True)
    limit = number("allowed change", allowed, low=0, high=1, above_low=True)
    step = number("readability", readability_g, low=0, high=COARSEST_READABILITY_G, above_low=True, unit="g")
    readings = 2 if one_of("way of pouring", way, WAYS) == "cumulative" else 1
    return readings * step / 2 / (part * limit)


def pour_of(names: Sequence[str], own_g: Iterable[float]) -> Pour:
    """A pour from own masses, with the cumulative readings.

    >>> pour_of(["jet black", "white"], [1.5, 0.5]).cumulative_g
    (1.5, 2.0)
    """
    own = [number(f"mass of {name}", mass, low=0, unit="g") for name, mass in zip(names, own_g, strict=True)]
    return Pour(tuple(names), tuple(own), tuple(accumulate(own)))


def _checked(parts: Parts) -> tuple[tuple[str, ...], list[float]]:
    if not parts:
        raise BadEntry("formula: no toner was given, allowed is one or more.")
    names = tuple(name for name, _ in parts)
    twice = [name for name in names if names.count(name) > 1]
    if twice:
        raise BadEntry(f"formula: {twice[0]} was given twice, allowed is once.")
    return names, [number(f"parts of {name}", amount, low=0, above_low=True) for name, amount in parts]
