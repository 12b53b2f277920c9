"""Lamps: spectra from the CIE tables, a daylight lamp of our own, and mixtures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from refinishlib.colour.spectrum import FINE_NM
from refinishlib.entry import BadEntry, number, one_of

CIE_LAMPS = (
    "D65", "D50", "A", "FL2", "FL11",
    "LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5", "LED-BH1", "LED-RGB1", "LED-V1", "LED-V2",
)  # fmt: skip
DAYLIGHT_LAMP = "daylight lamp"
# One row for each phosphor of the daylight lamp: peak in nm and standard deviation in nm.
PHOSPHORS = (
    (412.0, 11.0), (450.0, 13.0), (486.0, 17.0), (530.0, 24.0), (585.0, 30.0), (640.0, 24.0), (690.0, 28.0),
)  # fmt: skip

SOURCES = {
    "PHOSPHORS": "invented for the demo: a lamp of seven emitters that imitates D65",
}


@dataclass(frozen=True, eq=False)
class Lamp:
    """A light. power : relative spectral power, (421,), 360-780 nm at 1 nm, luminance factor 100 for the white tile.

    Two lamps with the same name and power are equal.
    """

    name: str
    power: NDArray[np.float64]

    def __eq__(self, other: object) -> bool:
        if self is other:
            return True
        return isinstance(other, Lamp) and self.name == other.name and np.array_equal(self.power, other.power)

    def __hash__(self) -> int:
        return hash(self.name)


@cache
def lamp(name: str) -> Lamp:
    """A lamp by its name: one of the CIE tables or the daylight lamp of the demo.

    Raises
    ------
    BadEntry : an unknown name, with the names that exist

    Source
    ------
    CIE 15 (2018), tables of D65, D50, A, FL2, FL11 and the LED series, as kept in colour-science; linear between
    the tabulated 5 nm, nothing outside the table.

    >>> lamp("D65").power.shape
    (421,)
    """
    one_of("lamp", name, (*CIE_LAMPS, DAYLIGHT_LAMP))
    return Lamp(name, _as_bright_as_others(_daylight_lamp() if name == DAYLIGHT_LAMP else _from_table(name)))


def d65() -> Lamp:
    """Average daylight, in which an instrument states its colours: what is meant where no lamp is given.

    >>> d65() is lamp("D65")
    True
    """
    return lamp("D65")


def burning(shares: Mapping[Lamp, float]) -> Lamp:
    """Several lamps burning at once, by their share of the illuminance on the panel.

    Parameters
    ----------
    shares : of each lamp, 0 or more, in any unit

    Raises
    ------
    BadEntry : no share above zero, a negative share

    >>> burning({d65(): 3, lamp("FL2"): 1}).name
    '75 % D65 + 25 % FL2'
    """
    weighed = {one: number(f"share of {one.name}", share, low=0) for one, share in shares.items()}
    total = sum(weighed.values())
    if not total > 0:
        raise BadEntry("lamp shares: nothing was given, allowed is at least one share above 0.")
    return _burning(tuple((one, share / total) for one, share in weighed.items() if share))


@cache
def observer(degrees: int = 10) -> NDArray[np.float64]:
    """Colour matching functions (421, 3), 360-780 nm at 1 nm, of the CIE 1931 (2) or 1964 (10 degree) observer.

    Source
    ------
    ISO/CIE 11664-1 (2019), as kept in colour-science.

    >>> observer(10).shape
    (421, 3)
    """
    import colour

    names = {2: "CIE 1931 2 Degree Standard Observer", 10: "CIE 1964 10 Degree Standard Observer"}
    table = colour.MSDS_CMFS[names[one_of("observer", degrees, names)]]
    return np.stack([np.interp(FINE_NM, table.wavelengths, column) for column in table.values.T], axis=-1)


@lru_cache(maxsize=1000)
def _burning(shares: tuple[tuple[Lamp, float], ...]) -> Lamp:
    """The same lamp for the same shares, so that its weights are computed once."""
    name = " + ".join(f"{100 * share:.0f} % {one.name}" for one, share in shares)
    return Lamp(name, sum((share * one.power for one, share in shares), np.zeros(len(FINE_NM))))


def _as_bright_as_others(power: NDArray[Any]) -> NDArray[Any]:
    return 100 * power / (power @ observer()[:, 1])


def _from_table(name: str) -> NDArray[Any]:
    import colour

    table = colour.SDS_ILLUMINANTS[name]
    found: NDArray[Any] = np.interp(FINE_NM, table.wavelengths, table.values, left=0, right=0)
    return found


def _daylight_lamp() -> NDArray[Any]:
    """Emitters driven so that together they come nearest to D65 over 400-700 nm."""
    from scipy.optimize import nnls

    peak, deviation = np.transpose(PHOSPHORS)
    emitters = np.exp(-(((FINE_NM[:, None] - peak) / deviation) ** 2) / 2)
    first, last = np.searchsorted(FINE_NM, (peak[0], peak[-1]))
    seen = slice(first, last)
    drive, _ = nnls(emitters[seen], _from_table("D65")[seen])
    found: NDArray[Any] = emitters @ drive
    return found
