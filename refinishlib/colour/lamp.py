"""Lamps: spectra from the CIE tables, a daylight lamp of our own, somebody's own measured lamp, and mixtures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour.spectrum import FINE_NM, WAVELENGTHS_NM
from refinishlib.entry import BadEntry, number, numbers, one_of

CIE_LAMPS = (
    "D65", "D50", "A", "FL2", "FL11",
    "LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5", "LED-BH1", "LED-RGB1", "LED-V1", "LED-V2",
)  # fmt: skip
DAYLIGHT_LAMP = "daylight lamp"
# One row for each phosphor of the daylight lamp: peak in nm and standard deviation in nm.
PHOSPHORS = (
    (412.0, 11.0), (450.0, 13.0), (486.0, 17.0), (530.0, 24.0), (585.0, 30.0), (640.0, 24.0), (690.0, 28.0),
)  # fmt: skip
WIDEST_STEP_NM = 20.0
STRONGEST = 1e12

SOURCES = {
    "WIDEST_STEP_NM": "CIE 15 (2018): weights are given for steps up to 20 nm",
    "STRONGEST": "teaching value: limit of entry, in any unit of power",
    "PHOSPHORS": "invented for the demo: a lamp of seven emitters that imitates D65",
}


@dataclass(frozen=True, eq=False)
class Lamp:
    """A light.

    power : relative spectral power, (421,), 360-780 nm at 1 nm, 0 or more, luminance factor 100 for the white tile
    fitted_to : the daylight that its spectrum was made to imitate by this library, if it was

    Two lamps with the same name and power are equal.

    Raises
    ------
    BadEntry : another number of values, a negative one, or no light at all
    """

    name: str
    power: NDArray[np.float64]
    fitted_to: str = ""

    def __post_init__(self) -> None:
        power = numbers(f"power of {self.name}", self.power, low=0, high=STRONGEST, shape=(len(FINE_NM),))
        if not power.any():
            raise BadEntry(f"power of {self.name}: 0 everywhere was given, allowed is a lamp that burns.")

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
    if name == DAYLIGHT_LAMP:
        return Lamp(name, _as_bright_as_others(_daylight_lamp()), fitted_to="D65")
    return Lamp(name, _as_bright_as_others(_from_table(name)))


def measured(name: str, wavelengths_nm: ArrayLike, power: ArrayLike) -> Lamp:
    """Somebody's own lamp, from its spectrum at any steps.

    Parameters
    ----------
    name : what it is called
    wavelengths_nm : rising, at most 20 nm apart, from 400 or less to 700 or more, (n,)
    power : in any unit, 0 or more, (n,)

    Returns
    -------
    straight lines between the readings, the first and last one held beyond, as CIE 15 says

    Raises
    ------
    BadEntry : wavelengths that do not rise, leave a gap or do not span 400-700 nm; a negative power; no light at all

    Source
    ------
    CIE 15 (2018), 7.2.3: what lies outside of the readings is set to the nearest of them.

    >>> ours = measured("tube over bench 2", np.arange(380, 781, 5), np.linspace(1, 2, 81))
    >>> ours.power.shape, float((ours.power @ observer()[:, 1]).round(6))
    ((421,), 100.0)
    """
    nm = numbers("wavelengths", wavelengths_nm, low=1, high=1e5, unit="nm", shape=(None,))
    given = numbers(f"power of {name}", power, low=0, high=STRONGEST, shape=(None,))
    if nm.ndim != 1 or nm.shape != given.shape or len(nm) < 2:
        raise BadEntry(
            f"power of {name}: {given.size} values for {nm.size} wavelengths were given, allowed is as many."
        )
    first, last = WAVELENGTHS_NM[0], WAVELENGTHS_NM[-1]
    if not (np.diff(nm) > 0).all() or np.diff(nm).max() > WIDEST_STEP_NM or nm[0] > first or nm[-1] < last:
        steps = np.diff(nm)
        raise BadEntry(
            f"wavelengths: {nm[0]:g} to {nm[-1]:g} nm in steps of {steps.min():g} to {steps.max():g} nm were"
            f" given, allowed are rising ones from {first:g} or less to {last:g} or more, at most {WIDEST_STEP_NM:g} nm"
            " apart."
        )
    fine: NDArray[np.float64] = np.interp(FINE_NM, nm, given)
    return Lamp(name, _as_bright_as_others(Lamp(name, fine).power))


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
