"""Is a lamp fit to judge a match by? Whether real pairs that match by day still match in it, and whether it is bright.

How well a lamp renders colours says nothing about that: illuminant A has a perfect index. The standard for daylight
lamps, ISO/CIE 23603, judges by pairs of virtual spectra that are not free to be had. Here the pairs are spectra of
real materials that CIE 224 published, each brought to an exact match in daylight; the limits of the standard then give
the category, and the engine's own rule for a solid colour decides. So the decision is ours, not the standard's.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from refinishlib.colour import weights
from refinishlib.colour.difference import HIGHEST_LAB, cie76, ciede2000
from refinishlib.colour.lamp import Lamp, d65, observer
from refinishlib.colour.spectrum import FINE_NM, WAVELENGTHS_NM
from refinishlib.colour.tolerance import of_kind
from refinishlib.entry import number

FARTHEST = 0.015
CATEGORIES = {"A": 0.25, "B": 0.5, "C": 1.0, "D": 2.0}
WORST = "E"
UV_DENOMINATOR = (15.0, 3.0)
MATERIALS_NM = (380, 780, 5)
NEIGHBOURS = 12.0
OF_TWENTY = 95
BRIGHT_LX = (1000.0, 4000.0)
DARK_BELOW = 30.0
DARK_FROM_LX = 2000.0
BRIGHTEST_LX = 200_000.0
MEASURE = f" Measure how bright it is at the panel: {BRIGHT_LX[0]:g} to {BRIGHT_LX[1]:g} lx are asked for."

SOURCES = {
    "FARTHEST": "ISO/CIE 23603 (2005): radius of the circle around the daylight in u'10, v'10; from memory",
    "CATEGORIES": "ISO/CIE 23603 (2005): limits of the visible range metamerism index in CIELAB; from memory",
    "WORST": "ISO/CIE 23603 (2005): everything beyond the last limit; from memory",
    "UV_DENOMINATOR": "CIE 15 (2018): u = 4 X / (X + 15 Y + 3 Z)",
    "MATERIALS_NM": "CIE 224 (2017): first, last and step of the spectra of 99 real materials, as colour-science has"
    " them",
    "NEIGHBOURS": "teaching value: CIELAB in daylight between two materials that make a pair; nearer ones are few,"
    " farther ones give spectra that no material has",
    "OF_TWENTY": "teaching value: nineteen pairs of twenty, in percent",
    "BRIGHT_LX": "ISO 3668 (2017), 5.2: 1000 to 4000 lx at the panels",
    "DARK_BELOW": "teaching value: CIELAB L* of what counts as a dark colour",
    "DARK_FROM_LX": "teaching value: ISO 3668 (2017), 5.2 wants the upper end of the range for dark colours",
    "MEASURE": "definition: said where nobody measured",
    "BRIGHTEST_LX": "teaching value: limit of entry, brighter than full sun",
}


@dataclass(frozen=True)
class LampReport:
    """What there is to say about a lamp.

    colour_temperature_k, duv : correlated colour temperature and distance from the Planckian locus (u, v; 2 degrees)
    rendering_ra : CIE 13.3 general colour rendering index, information only
    fidelity_rf : CIE 224 colour fidelity index, information only
    daylight : the daylight it is judged against
    chromaticity_distance : from that daylight in u'10, v'10
    metamerism : mean CIELAB difference in this light of the pairs that match in that daylight
    parted : CIEDE2000 that nineteen of twenty of these pairs do not exceed in this light
    category : "A" (best) to "E" by the limits of ISO/CIE 23603 on these pairs, information only
    illuminance_lx : at the panel, if somebody measured it
    bright : whether that is bright enough, None where nobody measured
    fit : whether it is fit to judge a match by, as far as is known
    why : one or two sentences
    """

    name: str
    colour_temperature_k: float
    duv: float
    rendering_ra: float
    fidelity_rf: float
    daylight: str
    chromaticity_distance: float
    metamerism: float
    parted: float
    category: str
    illuminance_lx: float | None
    bright: bool | None
    fit: bool
    why: str


def report(
    light: Lamp,
    *,
    illuminance_lx: float | None = None,
    paint_lightness: float | None = None,
    daylight: Lamp | None = None,
) -> LampReport:
    """All about one lamp, and whether it is fit to judge a match by.

    Parameters
    ----------
    light : the lamp, or all that burn together
    illuminance_lx : measured at the panel, lx; without it only the spectrum is judged, and the report says so
    paint_lightness : CIELAB L* of the paint; a dark one needs more light
    daylight : that the match must hold in, D65 if not given

    Raises
    ------
    BadEntry : an illuminance or a lightness out of range

    Source
    ------
    In the sense of ISO 3668 (2017), ASTM D1729 (2016) and ISO/CIE 23603 (2005): near a daylight in chromaticity, pairs
    that match in daylight still match, and bright enough. Only the visible range is looked at. CCT by Ohno (2013),
    LEUKOS 10, 47; Ra by CIE 13.3 (1995); Rf by CIE 224 (2017).

    >>> from refinishlib.colour.lamp import lamp
    >>> report(lamp("A")).fit, report(lamp("daylight lamp"), illuminance_lx=1500).fit
    (False, True)
    >>> report(lamp("daylight lamp"), illuminance_lx=300).why
    'daylight lamp is close to D65, but 300 lx at the panel is too dim to judge by: 1000 to 4000 lx are asked for.'
    """
    of_spectrum = _of_spectrum(light, daylight or d65())
    if illuminance_lx is None:
        return of_spectrum
    lit = number("illuminance", illuminance_lx, low=0, high=BRIGHTEST_LX, unit="lx")
    least, most = BRIGHT_LX
    if paint_lightness is not None:
        dark = number("paint lightness", paint_lightness, low=0, high=HIGHEST_LAB) < DARK_BELOW
        least = DARK_FROM_LX if dark else least
    bright = least <= lit <= most
    why = of_spectrum.why.removesuffix(MEASURE)
    if of_spectrum.fit and not bright:
        how = "dim" if lit < least else "bright"
        why = (
            f"{light.name} is close to {of_spectrum.daylight}, but {lit:g} lx at the panel is too {how} to judge"
            f"{' a dark colour' if least > BRIGHT_LX[0] and lit < least else ''} by: {least:g} to {most:g} lx are"
            " asked for."
        )
    return replace(of_spectrum, illuminance_lx=lit, bright=bright, fit=of_spectrum.fit and bright, why=why)


def parted(light: Lamp, daylight: Lamp | None = None) -> float:
    """CIEDE2000 that nineteen of twenty pairs which match in a daylight, D65 if not given, do not exceed in a light.

    >>> from refinishlib.colour.lamp import lamp
    >>> parted(lamp("D65")) < parted(lamp("daylight lamp")) < parted(lamp("FL11"))
    True
    """
    return float(np.percentile(ciede2000(*_pairs_in(light, daylight or d65())), OF_TWENTY))


def daylight_metamerism(light: Lamp, daylight: Lamp) -> float:
    """Mean CIELAB difference in a light of the pairs of materials that match exactly in a daylight.

    >>> from refinishlib.colour.lamp import lamp
    >>> d65 = lamp("D65")
    >>> daylight_metamerism(d65, d65) < 1e-9 < daylight_metamerism(lamp("FL11"), d65)
    True
    """
    return float(cie76(*_pairs_in(light, daylight)).mean())


@lru_cache(maxsize=10)
def metameric_pairs(daylight: Lamp) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Pairs of real materials that look the same in a daylight, 10 degree observer: standards and samples, (pairs, 31).

    Each pair is two of the 99 materials that are nearly of one colour; the second is brought to the first's colour by
    giving it the first's fundamental, and keeps its own metameric black.

    Source
    ------
    CIE 224 (2017), spectra of real materials, from colour-science; Cohen and Kappauf (1982), Am. J. Psychol. 95, 537,
    as ISO 18314-4 (2024) uses it to correct a pair of samples.

    >>> from refinishlib.colour.lamp import lamp
    >>> standards, samples = metameric_pairs(lamp("D65"))
    >>> standards.shape == samples.shape, len(samples) > 100
    (True, True)
    """
    spectra = _materials()
    seen = weights.weights(daylight)
    labs = weights.lab(spectra, [daylight])[0]
    apart = cie76(labs[:, None], labs[None])
    one, other = np.nonzero((apart < NEIGHBOURS) & ~np.eye(len(spectra), dtype=bool))
    fundamental = seen @ np.linalg.pinv(seen)
    samples = spectra[other] + (spectra[one] - spectra[other]) @ fundamental
    real = (samples >= 0).all(axis=1) & (samples <= 1).all(axis=1)
    return spectra[one[real]], samples[real]


@lru_cache(maxsize=1)
def _materials() -> NDArray[np.float64]:
    """Reflectance of 99 real materials, (99, 31)."""
    import colour
    from colour.quality.cfi2017 import load_TCS_CIE2017

    table = load_TCS_CIE2017(colour.SpectralShape(*MATERIALS_NM))
    return np.asarray(table.values, dtype=np.float64).T[:, np.isin(table.wavelengths, WAVELENGTHS_NM)]


def _pairs_in(light: Lamp, daylight: Lamp) -> list[NDArray[np.float64]]:
    """CIELAB of the standards and of the samples in a light, each (pairs, 3)."""
    return [weights.lab(spectra, [light])[0] for spectra in metameric_pairs(daylight)]


@lru_cache(maxsize=100)
def _of_spectrum(light: Lamp, daylight: Lamp) -> LampReport:
    import colour
    from colour.utilities import suppress_warnings

    spectrum = colour.SpectralDistribution(light.power, FINE_NM)
    seen_2 = light.power @ observer(2)
    distance = float(np.hypot(*(_uv_1976(light) - _uv_1976(daylight))))
    metamerism = daylight_metamerism(light, daylight)
    apart = parted(light, daylight)
    category = next((name for name, limit in CATEGORIES.items() if metamerism <= limit), WORST)
    near, true = distance <= FARTHEST, apart <= edge_to_edge()
    with suppress_warnings(colour_runtime_warnings=True, python_warnings=True):
        kelvin, duv = colour.temperature.uv_to_CCT_Ohno2013(_uv_1960(seen_2))
        rendering, fidelity = colour.colour_rendering_index(spectrum), colour.colour_fidelity_index(spectrum)
    return LampReport(
        name=light.name,
        colour_temperature_k=float(kelvin),
        duv=float(duv),
        rendering_ra=float(np.asarray(rendering)),
        fidelity_rf=float(np.asarray(fidelity)),
        daylight=daylight.name,
        chromaticity_distance=distance,
        metamerism=metamerism,
        parted=apart,
        category=category,
        illuminance_lx=None,
        bright=None,
        fit=near and true,
        why=_why(light, daylight, near, true),
    )


def edge_to_edge() -> float:
    """What pairs may part by in a light that is fit to judge by: what a solid colour may be off edge to edge."""
    return min(of_kind("solid").edge)


def _uv_1960(tristimulus: NDArray[Any]) -> NDArray[Any]:
    x, y, z = tristimulus
    found: NDArray[Any] = np.array([4 * x, 6 * y]) / (x + UV_DENOMINATOR[0] * y + UV_DENOMINATOR[1] * z)
    return found


def _uv_1976(light: Lamp) -> NDArray[Any]:
    return _uv_1960(light.power @ observer(10)) * (1, 1.5)


def _why(light: Lamp, daylight: Lamp, near: bool, true: bool) -> str:
    name, day = light.name, daylight.name
    if near and true:
        fitted = f"; it was fitted to {light.fitted_to}, so that it had to be" if light.fitted_to else ""
        return f"{name} is close enough to {day} to judge a match by{fitted}.{MEASURE}"
    if not near:
        return f"{name} has not the colour of {day}, so a match in it says nothing about {day}."
    return f"{name} has about the colour of {day} but not its spectrum: paints that match in {day} part in it."
