"""What an instrument, or a hand, wrote down about a panel."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import difference, weights
from refinishlib.colour.lamp import Lamp, d65, lamp
from refinishlib.colour.spectrum import reflectance_factors
from refinishlib.colour.steps import at_ten_nm
from refinishlib.colour.surface import ANGLES_DEG
from refinishlib.entry import BadEntry, numbers, one_of

HIGHEST_LIGHTNESS = 300.0
HIGHEST_CHROMATIC = 300.0
FLOP_ANGLES = (15, 45, 110)
OBSERVERS_DEG = (10, 2)
JUDGED_UNDER = ("D65", "A", "FL11")

SOURCES = {
    "HIGHEST_LIGHTNESS": "teaching value: L* of a metallic's face goes well above 100, never above 300",
    "HIGHEST_CHROMATIC": "teaching value: no paint's a* or b* comes near it",
    "OBSERVERS_DEG": "ISO/CIE 11664-1 (2019)",
    "FLOP_ANGLES": "ASTM E2194 (2014)",
    "JUDGED_UNDER": "common practice, no source: daylight, a bulb and a shop tube",
}


@dataclass(frozen=True, eq=False)
class Reading:
    """A panel or a card at several angles.

    angles_deg : aspecular, of 15, 25, 45, 75, 110, rising
    lab : CIELAB for D65, (angles, 3)
    reflectance : reflectance factors, (angles, 31), 400-700 nm at 10 nm; None if only CIELAB was typed in
    name : what was read
    spots : CIELAB of each spot that it is the mean of, (spots, angles, 3); None for a single one
    doubt : standard uncertainty of `lab`, (angles, 3), where it is known otherwise than from spots, as for what an eye
        says; None where it is not
    observer_deg : for whom `lab` is, 10 or 2; the engines predict for 10
    """

    angles_deg: tuple[int, ...]
    lab: NDArray[np.float64]
    reflectance: NDArray[np.float64] | None = None
    name: str = ""
    spots: NDArray[np.float64] | None = None
    doubt: NDArray[np.float64] | None = None
    observer_deg: int = 10


@dataclass(frozen=True, eq=False)
class Spread:
    """How far the spots of one panel are apart.

    mean, largest : CIEDE2000 of the spots from their mean, (angles,)
    deviation : standard deviation of L*, a*, b*, (angles, 3)
    furthest : which spot is the furthest from the mean at its worst angle, counted from 0
    """

    mean: NDArray[np.float64]
    largest: NDArray[np.float64]
    deviation: NDArray[np.float64]
    furthest: int


def from_spectra(
    reflectance: ArrayLike,
    angles_deg: Sequence[int] = ANGLES_DEG,
    *,
    wavelengths_nm: ArrayLike | None = None,
    name: str = "",
) -> Reading:
    """A reading from reflectance factors.

    Parameters
    ----------
    reflectance : (angles, 31), 0-20, 1 for the white tile, 400-700 nm at 10 nm; above 1 is normal on a metallic's face
    angles_deg : aspecular, any of 15, 25, 45, 75, 110
    wavelengths_nm : where the spectra were taken, if not at 400-700 nm at 10 nm, as for `steps.at_ten_nm`

    Raises
    ------
    BadEntry : a spectrum of another length, out of range or not finite; an angle that is unknown or given twice;
        wavelengths that leave a part of 400-700 nm out

    >>> from_spectra(np.full((1, 31), 0.2), [45]).lab[:, 0].round(2).tolist()
    [51.84]
    """
    order, angles = _angles(angles_deg)
    if wavelengths_nm is None:
        spectra = reflectance_factors("reflectance", reflectance)
    else:
        spectra = at_ten_nm("reflectance", reflectance, wavelengths_nm)
    if spectra.shape[:-1] != (len(angles),):
        raise BadEntry(
            f"reflectance: {_rows(spectra)} spectra were given, allowed are {len(angles)}, one for each angle."
        )
    spectra = spectra[order]
    return Reading(angles, weights.lab(spectra)[0], spectra, name)


def from_lab(lab_by_angle: Mapping[int, ArrayLike], *, observer_deg: int = 10, name: str = "") -> Reading:
    """A reading from CIELAB typed in by hand, for D65, at some of the angles.

    Parameters
    ----------
    lab_by_angle : aspecular angle to (L*, a*, b*); L* 0-300 (above 100 on a metallic's face), a* and b* -300 to 300
    observer_deg : the instrument's setting, 10 or 2; the same paint reads 1 to 4 CIEDE2000 apart for the two

    Raises
    ------
    BadEntry : no angle, an unknown angle, not three numbers, or one out of range; another observer

    >>> from_lab({45: (62.0, -0.5, 1.2)}).angles_deg
    (45,)
    """
    order, angles = _angles(list(lab_by_angle))
    rows = []
    for angle, values in lab_by_angle.items():
        row = numbers(f"CIELAB at {angle} degrees", values, shape=(3,))
        numbers(f"L* at {angle} degrees", row[0], low=0, high=HIGHEST_LIGHTNESS)
        numbers(f"a* and b* at {angle} degrees", row[1:], low=-HIGHEST_CHROMATIC, high=HIGHEST_CHROMATIC)
        rows.append(row)
    degrees = int(one_of("observer", observer_deg, OBSERVERS_DEG))
    return Reading(angles, np.array(rows)[order], None, name, observer_deg=degrees)


def spectra(reading: Reading) -> NDArray[np.float64]:
    """The reflectance factors (angles, 31) of a reading that has them.

    Raises
    ------
    BadEntry : a reading typed in as CIELAB

    >>> spectra(from_lab({45: (62.0, -0.5, 1.2)}))
    Traceback (most recent call last):
        ...
    refinishlib.entry.BadEntry: reading: only CIELAB was given, for this it must be spectra from an instrument.
    """
    if reading.reflectance is None:
        raise BadEntry("reading: only CIELAB was given, for this it must be spectra from an instrument.")
    return reading.reflectance


def lab_under(reading: Reading, lamp: Lamp) -> NDArray[np.float64]:
    """CIELAB (angles, 3) of a reading under a lamp; under D65 the one it has, under others from its spectra.

    Raises
    ------
    BadEntry : another lamp than D65 for a reading typed in as CIELAB

    >>> lab_under(from_lab({45: (62.0, -0.5, 1.2)}), d65()).tolist()
    [[62.0, -0.5, 1.2]]
    """
    if lamp == d65():
        return reading.lab
    found: NDArray[np.float64] = weights.lab(spectra(reading), [lamp], reading.observer_deg)[0]
    return found


def for_observer(one: Reading, observer_deg: int, *, like: ArrayLike | None = None) -> Reading:
    """The same reading for the other observer.

    Parameters
    ----------
    one : a reading
    observer_deg : 10 or 2
    like : reflectance factors of a paint of about that colour, (angles, 31), for a reading typed in as CIELAB: what
        the two observers differ by on that paint is taken for this one

    Raises
    ------
    BadEntry : a typed reading without a paint that is like it

    >>> grey = from_spectra(np.full((1, 31), 0.2), [45])
    >>> for_observer(grey, 2).lab.round(1).tolist(), for_observer(grey, 2).observer_deg
    ([[51.8, 0.0, 0.0]], 2)
    """
    degrees = int(one_of("observer", observer_deg, OBSERVERS_DEG))
    if degrees == one.observer_deg:
        return one
    if one.reflectance is not None:
        shift = weights.lab(one.reflectance, None, degrees)[0] - one.lab
    elif like is None:
        raise BadEntry(
            f"reading: CIELAB for {one.observer_deg} degrees was given, allowed beside one for {degrees} degrees are "
            "spectra from an instrument."
        )
    else:
        paint = reflectance_factors("paint", like)
        there, here = (weights.lab(paint, None, observer)[0] for observer in (degrees, one.observer_deg))
        shift = there - here
    spots = None if one.spots is None else one.spots + shift
    return replace(one, lab=one.lab + shift, spots=spots, observer_deg=degrees)


def lamps_for(*readings: Reading) -> tuple[Lamp, ...]:
    """The lamps by which these can be judged: D65, A and FL11 where all have spectra, otherwise D65.

    >>> [lamp.name for lamp in lamps_for(from_lab({45: (62.0, -0.5, 1.2)}))]
    ['D65']
    """
    if any(reading.reflectance is None for reading in readings):
        return (d65(),)
    return tuple(lamp(name) for name in JUDGED_UNDER)


def at_angles(reading: Reading, angles_deg: Sequence[int]) -> Reading:
    """The same reading at fewer angles.

    Raises
    ------
    BadEntry : an angle that was not read

    >>> at_angles(from_spectra(np.full((5, 31), 0.2)), [45]).angles_deg
    (45,)
    """
    for angle in angles_deg:
        one_of("aspecular angle", angle, reading.angles_deg)
    kept = [i for i, angle in enumerate(reading.angles_deg) if angle in angles_deg]
    return replace(
        reading,
        angles_deg=tuple(reading.angles_deg[i] for i in kept),
        lab=reading.lab[kept],
        reflectance=None if reading.reflectance is None else reading.reflectance[kept],
        spots=None if reading.spots is None else reading.spots[:, kept],
        doubt=None if reading.doubt is None else reading.doubt[kept],
    )


def in_common(panel: Reading, card: Reading) -> tuple[Reading, Reading]:
    """Both readings at the angles that both have, and for one observer.

    Where one is typed for 2 degrees and the other is not, the other is worked out for 2 degrees from its spectra.

    Raises
    ------
    BadEntry : no angle in common; both typed, for different observers

    >>> [one.angles_deg for one in in_common(from_spectra(np.full((5, 31), 0.2)), from_lab({45: (50.0, 0.0, 0.0)}))]
    [(45,), (45,)]
    """
    angles = [angle for angle in panel.angles_deg if angle in card.angles_deg]
    if not angles:
        raise BadEntry("readings: no angle in common was given, allowed is at least one angle that both were read at.")
    panel, card = at_angles(panel, angles), at_angles(card, angles)
    if panel.observer_deg != card.observer_deg:
        if panel.reflectance is None:
            return panel, for_observer(card, panel.observer_deg)
        return for_observer(panel, card.observer_deg), card
    return panel, card


def flop_index(reading: Reading) -> float:
    """Flop index of a reading, 0 or more; at most 0.3 for a solid colour, some 8 to 18 for silvers.

    Raises
    ------
    BadEntry : one of 15, 45, 110 degrees was not read

    >>> flop_index(from_lab({15: (120, 0, 0), 45: (60, 0, 0), 110: (35, 0, 0)})).__round__(2)
    11.02
    """
    lightness = at_angles(reading, FLOP_ANGLES).lab[:, 0]
    return float(difference.flop_index(*lightness))


def average(readings: Sequence[Reading]) -> Reading:
    """The mean of several spots of one panel, a reading like any other that still knows its spots.

    Parameters
    ----------
    readings : one for each spot, all at the same angles; reflectance factors are averaged where all have them

    Raises
    ------
    BadEntry : no reading, or different angles

    >>> spots = [from_lab({45: (60.0, 0.0, 0.0)}), from_lab({45: (62.0, 0.0, 0.0)})]
    >>> average(spots).lab.tolist(), average(spots).spots.shape
    ([[61.0, 0.0, 0.0]], (2, 1, 3))
    """
    if not readings:
        raise BadEntry("readings: none was given, allowed is one or more.")
    angles = readings[0].angles_deg
    if any(reading.angles_deg != angles for reading in readings):
        raise BadEntry("readings: different angles were given, allowed are spots that were read at the same angles.")
    observer = readings[0].observer_deg
    if any(reading.observer_deg != observer for reading in readings):
        raise BadEntry("readings: both observers were given, allowed are spots that were read for the same one.")
    labs = np.stack([reading.lab for reading in readings])
    name = readings[0].name
    known = [reading.reflectance for reading in readings if reading.reflectance is not None]
    if len(known) == len(readings):
        mean = for_observer(from_spectra(np.mean(known, axis=0), angles, name=name), observer)
    else:
        mean = Reading(angles, labs.mean(axis=0), None, name, observer_deg=observer)
    return replace(mean, spots=labs) if len(readings) > 1 else mean


def spread(reading: Reading) -> Spread:
    """How far the spots of an averaged reading are from their mean.

    Raises
    ------
    BadEntry : a reading of a single spot

    Source
    ------
    The mean difference from the mean, as ASTM E2214 (2016) states the repeatability of an instrument.

    >>> float(spread(average([from_lab({45: (60.0, 0.0, 0.0)}), from_lab({45: (62.0, 0.0, 0.0)})])).mean[0].round(2))
    0.87
    """
    if reading.spots is None:
        raise BadEntry("reading: a single spot was given, allowed is the average of two or more.")
    apart = difference.ciede2000(reading.lab, reading.spots)
    deviation = reading.spots.std(axis=0, ddof=1)
    return Spread(apart.mean(axis=0), apart.max(axis=0), deviation, int(np.argmax(apart.max(axis=1))))


def _angles(angles_deg: Sequence[int]) -> tuple[list[int], tuple[int, ...]]:
    """Order of rising angles, and the angles in it."""
    given = [one_of("aspecular angle", angle, ANGLES_DEG) for angle in angles_deg]
    if not given or len(set(given)) < len(given):
        raise BadEntry("aspecular angles: none or one twice was given, allowed is each of 15, 25, 45, 75, 110 once.")
    order = sorted(range(len(given)), key=given.__getitem__)
    return order, tuple(int(given[i]) for i in order)


def _rows(array: NDArray[Any]) -> str:
    return " x ".join(map(str, array.shape[:-1])) or "single"
