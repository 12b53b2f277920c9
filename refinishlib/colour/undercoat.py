"""What lies under the colour: greys by lightness, coloured primers, and the two sealers that greys are mixed from.

An undercoat is a number, the L* of a neutral one, or a diffuse reflectance inside the resin, (..., 31), 0-1. Primers
that are not grey come from a reading or from a typed colour; several undercoats at once are several spectra.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import film, optics, surface, weights
from refinishlib.colour.difference import HIGHEST_LAB
from refinishlib.colour.film import Layer
from refinishlib.colour.lamp import d65
from refinishlib.colour.spectrum import WAVELENGTHS_NM, reflectance_factors
from refinishlib.entry import BadEntry, number, numbers, whole
from refinishlib.shop.paint import Toner

GREY_LIGHTNESS = 50.0
SEALER_COAT_UM = 22.0
MOST_SEALER_COATS = 6
CLOSE_LIGHTNESS = 1.0
ANY_UNDERCOAT = (10.0, 90.0)
MIX_G = 100.0
READABILITY_G = 0.1
SMALLEST_POUR_G = 0.5
HEAVIEST_G = 5000.0
COARSEST_G = 10.0

SOURCES = {
    "GREY_LIGHTNESS": "teaching value: a middle grey for everyone who does not say which undercoat there is",
    "SEALER_COAT_UM": "teaching value: dry film of one coat of the shop's sealer, as its product sheets say",
    "MOST_SEALER_COATS": "teaching value: nobody seals with more coats than this",
    "CLOSE_LIGHTNESS": "teaching value: L* by which a sealed panel may miss the grey that was asked for",
    "ANY_UNDERCOAT": "teaching value: L* of the darkest and the lightest finish that is sealed",
    "MIX_G": "teaching value: sealer for a few panels",
    "READABILITY_G": "common practice, no source: a mixing scale shows tenths of a gram",
    "SMALLEST_POUR_G": "teaching value: less than this does not leave a tin on purpose",
    "HEAVIEST_G": "teaching value: limit of entry",
    "COARSEST_G": "teaching value: limit of entry",
}


@dataclass(frozen=True)
class SealerMix:
    """A grey undercoat from two tins, as it is poured and sprayed.

    lightness : CIELAB L* that was asked for, D65, 10 degrees, specular excluded
    white_g, black_g : multiples of the scale's step, none below the smallest pour
    coats : of sealer
    reads : L* of so many coats over what lies under them; over the darkest and the lightest finish if nobody said
    """

    lightness: float
    white_g: float
    black_g: float
    coats: int
    reads: tuple[float, ...]

    @property
    def close(self) -> bool:
        """Whether what the panel reads is near enough to what was asked for."""
        return max(abs(read - self.lightness) for read in self.reads) <= CLOSE_LIGHTNESS


def grey(lightness: ArrayLike = GREY_LIGHTNESS) -> NDArray[np.float64]:
    """Diffuse reflectance inside the resin of a neutral undercoat, (..., 31), 0-1.

    Parameters
    ----------
    lightness : CIELAB L*, 0-100, as an instrument reads it on a glossy or cleared chip, specular excluded, (...)

    Raises
    ------
    BadEntry : outside 0-100

    >>> grey([0, 50, 100]).mean(axis=1).round(3).tolist()
    [0.0, 0.358, 0.998]
    """
    given = numbers("undercoat lightness", lightness, low=0, high=100)
    return np.repeat(surface.beneath_surface(weights.luminance(given))[..., None], len(WAVELENGTHS_NM), axis=-1)


def from_reading(factors: ArrayLike) -> NDArray[np.float64]:
    """A primer of any colour, from its reading at 45 degrees, specular excluded, on a glossy or cleared chip.

    factors : reflectance factors (..., 31), 400-700 nm at 10 nm

    Raises
    ------
    BadEntry : another number of values than 31, below 0, or brighter than any paint can be

    >>> float(from_reading(np.full(31, 0.2))[0].round(3))
    0.381
    """
    inside = surface.beneath_surface(reflectance_factors("undercoat reading", factors))
    return numbers("undercoat reflectance", inside, low=0, high=1, shape=(len(WAVELENGTHS_NM),))


def from_lab(lab: ArrayLike) -> NDArray[np.float64]:
    """A primer of any colour, from its typed CIELAB (3,) under D65, 10 degrees: the flattest spectrum that has it.

    Many spectra have this colour. Under daylight they are the same undercoat; in another lamp a real primer may differ.

    Raises
    ------
    BadEntry : a colour that no flat spectrum has

    Source
    ------
    The fundamental of Cohen and Kappauf (1982), Am. J. Psychol. 95, 537, on top of a grey.

    >>> red_primer = from_lab([35.0, 30.0, 20.0])
    >>> float(lightness_of(red_primer).round(3)), bool(red_primer[-1] > 2 * red_primer[10])
    (35.0, True)
    """
    typed = numbers("undercoat colour", lab, low=-HIGHEST_LAB, high=HIGHEST_LAB, shape=(3,))
    table = weights.weights(d65())
    grey_factor = np.full(len(WAVELENGTHS_NM), float(weights.luminance(typed[0])))
    wanted = weights.tristimulus_from_lab(typed, table.sum(axis=0))
    factors = grey_factor + (wanted - grey_factor @ table) @ np.linalg.pinv(table)
    inside = surface.beneath_surface(factors)
    if inside.min() < 0 or inside.max() > 1:
        raise BadEntry(
            f"undercoat colour: {', '.join(f'{value:g}' for value in typed)} was given, allowed is a primer's colour,"
            " between black and white and not of the purest hues."
        )
    return inside


def as_undercoat(undercoat: ArrayLike) -> NDArray[np.float64]:
    """A lightness (one number) turned into a grey; a diffuse reflectance inside the resin (..., 31) as it is.

    >>> as_undercoat(50.0).shape, as_undercoat(np.full((4, 31), 0.3)).shape
    ((31,), (4, 31))
    """
    given = np.asarray(undercoat, dtype=float)
    return given if given.ndim else _one_grey(float(given))


def check_undercoat(undercoat: ArrayLike) -> None:
    """Refuse a lightness outside 0-100, and a reflectance of another length than 31 or outside 0-1.

    >>> check_undercoat(50.0)
    """
    if np.ndim(undercoat) == 0:
        number("undercoat lightness", undercoat, low=0, high=100)
    else:
        numbers("undercoat reflectance", undercoat, low=0, high=1, shape=(len(WAVELENGTHS_NM),))


@lru_cache(maxsize=1000)
def _one_grey(lightness: float) -> NDArray[np.float64]:
    result = grey(lightness)
    result.setflags(write=False)
    return result


def sealer(sealers: tuple[Toner, Toner], white_g: ArrayLike, black_g: ArrayLike) -> NDArray[np.float64]:
    """Diffuse reflectance inside the resin of hiding sealer mixed by weight, (..., 31), 0-1.

    sealers : the white and the black one

    >>> from refinishlib.shop.shop import load
    >>> sealer(load().sealers, 50.0, 50.0).shape
    (31,)
    """
    masses = np.stack(np.broadcast_arrays(np.asarray(white_g, dtype=float), np.asarray(black_g, dtype=float)), axis=-1)
    mixed = optics.mixture(sealers, masses)
    return film.infinite(film.absorption(mixed), film.scattering(mixed))


def sealer_lightness(sealers: tuple[Toner, Toner], white_g: ArrayLike, black_g: ArrayLike) -> NDArray[np.float64]:
    """CIELAB L* of hiding sealer mixed by weight, D65, 10 degrees, specular excluded, (...).

    >>> from refinishlib.shop.shop import load
    >>> darker, lighter = sealer_lightness(load().sealers, [50.0, 90.0], [50.0, 10.0])
    >>> bool(darker < lighter)
    True
    """
    return lightness_of(sealer(sealers, white_g, black_g))


def sealed(
    sealers: tuple[Toner, Toner],
    white_g: ArrayLike,
    black_g: ArrayLike,
    *,
    coats: int,
    over: ArrayLike,
    coat_um: float = SEALER_COAT_UM,
) -> NDArray[np.float64]:
    """Diffuse reflectance inside the resin of coats of sealer over an undercoat, (..., 31), 0-1.

    sealers : the white and the black one
    white_g, black_g : as poured, (...)
    coats : of sealer, 0 or more
    over : what lies under it, an L* or a reflectance inside the resin (31,)

    >>> from refinishlib.shop.shop import load
    >>> pair = load().sealers
    >>> one, three = (lightness_of(sealed(pair, 99.0, 1.0, coats=coats, over=15.0)) for coats in (1, 3))
    >>> bool(one < three)
    True
    """
    check_undercoat(over)
    build = whole("coats of sealer", coats, low=0, high=MOST_SEALER_COATS) * number(
        "dry film of one coat of sealer", coat_um, low=0, high=film.THICKEST_UM, unit="um", above_low=True
    )
    masses = np.stack(np.broadcast_arrays(np.asarray(white_g, dtype=float), np.asarray(black_g, dtype=float)), axis=-1)
    return film.reflectance([Layer(optics.mixture(sealers, masses), float(build))], as_undercoat(over))


def lightness_of(undercoat: ArrayLike) -> NDArray[np.float64]:
    """CIELAB L* that an undercoat reads, D65, 10 degrees, specular excluded, glossy, (...).

    undercoat : diffuse reflectance inside the resin, (..., 31)

    >>> float(lightness_of(grey(40.0)).round(9))
    40.0
    """
    inside = np.asarray(undercoat, dtype=float)
    passed = surface.geometry(surface.LIGHT_DEG, 0.0).passed
    return weights.lab(surface.through_surface(inside, inside, passed)[..., None, :])[..., 0, 0, 0]


def sealer_for(
    sealers: tuple[Toner, Toner],
    lightness: float,
    *,
    over: ArrayLike | None = None,
    mass_g: float = MIX_G,
    readability_g: float = READABILITY_G,
    smallest_pour_g: float = SMALLEST_POUR_G,
    coat_um: float = SEALER_COAT_UM,
) -> SealerMix:
    """White and black sealer for an undercoat of this lightness, and the coats that it needs.

    Parameters
    ----------
    sealers : the white and the black one
    lightness : CIELAB L* that the sealed panel is to read
    over : what is sealed, an L* or a reflectance inside the resin (31,); if not given, anything from the darkest to
        the lightest finish, all of which must then come out alike
    mass_g : of the mix
    readability_g, smallest_pour_g : step of the scale, and the least that leaves a tin
    coat_um : dry film of one coat

    Returns
    -------
    the fewest coats that read within 1 L* of what was asked for, and the mix that then comes nearest; if even the most
    coats do not, the nearest of all, which says by `close` that it is not there

    Raises
    ------
    BadEntry : darker than the black sealer or lighter than the white one, with the range; an entry out of range

    >>> from refinishlib.shop.shop import load
    >>> grey_mix = sealer_for(load().sealers, 40, over=70.0)
    >>> (grey_mix.white_g, grey_mix.black_g, grey_mix.coats), grey_mix.close
    ((78.4, 21.6, 1), True)
    """
    lowest, highest = (float(value) for value in sealer_lightness(sealers, [0.0, 1.0], [1.0, 0.0]))
    wanted = number("undercoat lightness", lightness, low=np.ceil(lowest), high=np.floor(highest))
    total = number("mass of the mix", mass_g, low=SMALLEST_POUR_G, high=HEAVIEST_G, unit="g")
    step = number("readability", readability_g, low=0, high=COARSEST_G, unit="g", above_low=True)
    least = number("smallest pour", smallest_pour_g, low=0, high=COARSEST_G, unit="g")
    steps = np.arange(round(total / step) + 1)
    pours = np.stack([steps, steps[::-1]], axis=-1) * step
    pours = pours[((pours == 0) | (pours >= least - step / 2)).all(axis=1)]
    unders = [over] if over is not None else list(ANY_UNDERCOAT)
    tried = []
    for coats in range(1, MOST_SEALER_COATS + 1):
        films = [sealed(sealers, *pours.T, coats=coats, over=under, coat_um=coat_um) for under in unders]
        reads = np.stack([lightness_of(one) for one in films], axis=-1)
        off = np.abs(reads - wanted).max(axis=-1)
        best = int(off.argmin())
        white_g, black_g = (round(float(grams), 6) for grams in pours[best])
        tried.append(SealerMix(wanted, white_g, black_g, coats, tuple(float(read) for read in reads[best])))
        if tried[-1].close:
            return tried[-1]
    # A tenth of L* nearer is not worth a coat.
    return min(tried, key=lambda mix: round(max(abs(read - wanted) for read in mix.reads), 1))
