"""Is a lamp fit to judge a match by? How near it is to daylight decides, not how well it renders colours."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from refinishlib.colour import weights
from refinishlib.colour.difference import cie76
from refinishlib.colour.lamp import Lamp, lamp, observer
from refinishlib.colour.spectrum import FINE_NM, WAVELENGTHS_NM

DAYLIGHTS = ("D65", "D50")
FARTHEST = 0.015
CATEGORIES = {"A": 0.25, "B": 0.5, "C": 1.0, "D": 2.0}
WORST = "E"
FIT = ("A", "B")
UV_DENOMINATOR = (15.0, 3.0)
PAIR_GREY = 0.3
PAIR_SWING = 0.06
PAIR_PERIODS_NM = (55.0, 75.0, 95.0, 120.0, 160.0)

SOURCES = {
    "FARTHEST": "ISO/CIE 23603 (2005): radius of the circle around the daylight in u'10, v'10; from memory",
    "CATEGORIES": "ISO/CIE 23603 (2005): limits of the visible range metamerism index in CIELAB; from memory",
    "UV_DENOMINATOR": "CIE 15 (2018): u = 4 X / (X + 15 Y + 3 Z)",
    "PAIR_GREY": "invented for the demo: the grey that our own metameric pairs stand on, not those of ISO/CIE 23603",
    "PAIR_SWING": "invented for the demo: how far our own metameric pairs swing around the grey",
    "PAIR_PERIODS_NM": "invented for the demo: five ripples, from as narrow as a tube's line to as wide as a pigment",
}


@dataclass(frozen=True)
class LampReport:
    """What there is to say about a lamp.

    colour_temperature_k, duv : correlated colour temperature and distance from the Planckian locus (u, v; 2 degrees)
    rendering_ra : CIE 13.3 general colour rendering index, information only
    fidelity_rf : CIE 224 colour fidelity index, information only
    daylight : the daylight it comes nearest to
    chromaticity_distance : from that daylight in u'10, v'10
    metamerism : mean CIELAB difference in this light of five pairs that match in that daylight
    category : "A" (best) to "E"
    fit : whether it is fit to judge a match by
    why : one sentence
    """

    name: str
    colour_temperature_k: float
    duv: float
    rendering_ra: float
    fidelity_rf: float
    daylight: str
    chromaticity_distance: float
    metamerism: float
    category: str
    fit: bool
    why: str


@lru_cache(maxsize=100)
def report(light: Lamp) -> LampReport:
    """All about one lamp, and whether it is fit to judge a match by.

    Source
    ------
    In the sense of ISO 3668 (2017), ASTM D1729 (2016) and ISO/CIE 23603 (2005): near a daylight in chromaticity, and
    pairs that match in daylight still match; with pairs of our own, so the category is ours too. Only the visible
    range is looked at. CCT by Ohno (2013), LEUKOS 10, 47; Ra by CIE 13.3 (1995); Rf by CIE 224 (2017).

    >>> report(lamp("A")).fit, report(lamp("daylight lamp")).fit
    (False, True)
    """
    import colour
    from colour.utilities import suppress_warnings

    spectrum = colour.SpectralDistribution(light.power, FINE_NM)
    seen_2 = light.power @ observer(2)
    kelvin, duv = colour.temperature.uv_to_CCT_Ohno2013(_uv_1960(seen_2))
    distances = {name: float(np.hypot(*(_uv_1976(light) - _uv_1976(lamp(name))))) for name in DAYLIGHTS}
    daylight = min(distances, key=distances.__getitem__)
    metamerism = daylight_metamerism(light, lamp(daylight))
    category = next((name for name, limit in CATEGORIES.items() if metamerism <= limit), WORST)
    near, true = distances[daylight] <= FARTHEST, category in FIT
    with suppress_warnings(colour_runtime_warnings=True):
        rendering, fidelity = colour.colour_rendering_index(spectrum), colour.colour_fidelity_index(spectrum)
    return LampReport(
        name=light.name,
        colour_temperature_k=float(kelvin),
        duv=float(duv),
        rendering_ra=float(np.asarray(rendering)),
        fidelity_rf=float(np.asarray(fidelity)),
        daylight=daylight,
        chromaticity_distance=distances[daylight],
        metamerism=metamerism,
        category=category,
        fit=near and true,
        why=_why(light.name, daylight, near, true),
    )


def daylight_metamerism(light: Lamp, daylight: Lamp) -> float:
    """Mean CIELAB difference in a light of five pairs of greys that match exactly in a daylight.

    >>> d65 = lamp("D65")
    >>> daylight_metamerism(d65, d65) < 1e-9 < daylight_metamerism(lamp("FL11"), d65)
    True
    """
    pairs = weights.lab(metameric_pairs(daylight), [light])[0]
    return float(cie76(pairs[0], pairs[1:]).mean())


def metameric_pairs(daylight: Lamp) -> NDArray[np.float64]:
    """A flat grey and five rippled ones (6, 31) that look the same in a daylight, 10 degree observer.

    Source
    ------
    Ripples without what the observer sees of them: metameric blacks, Cohen and Kappauf (1982), Am. J. Psychol. 95, 537.

    >>> metameric_pairs(lamp("D65")).shape
    (6, 31)
    """
    seen = weights.weights(daylight)
    ripples = np.cos(2 * np.pi * (WAVELENGTHS_NM - WAVELENGTHS_NM[0]) / np.array(PAIR_PERIODS_NM)[:, None])
    blacks = ripples - ripples @ seen @ np.linalg.pinv(seen)
    blacks *= PAIR_SWING / np.abs(blacks).max(axis=1, keepdims=True)
    return PAIR_GREY + np.vstack([np.zeros(len(WAVELENGTHS_NM)), blacks])


def _uv_1960(tristimulus: NDArray[Any]) -> NDArray[Any]:
    x, y, z = tristimulus
    found: NDArray[Any] = np.array([4 * x, 6 * y]) / (x + UV_DENOMINATOR[0] * y + UV_DENOMINATOR[1] * z)
    return found


def _uv_1976(light: Lamp) -> NDArray[Any]:
    return _uv_1960(light.power @ observer(10)) * (1, 1.5)


def _why(name: str, daylight: str, near: bool, true: bool) -> str:
    if near and true:
        return f"{name} is close enough to {daylight} to judge a match by."
    if not near:
        return f"{name} has not the colour of daylight, so a match in it says nothing about daylight."
    return f"{name} has the colour of {daylight} but not its spectrum: paints that match in daylight part in it."
