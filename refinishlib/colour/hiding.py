"""Does the undercoat show? Contrast ratio, hiding thickness, coats to hide, and the grey that helps most."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import film, predict, surface, undercoat, weights
from refinishlib.colour.conditions import COAT_UM, USUAL, Conditions
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.film import Layer
from refinishlib.colour.lamp import d65
from refinishlib.colour.optics import Mixture
from refinishlib.entry import BadEntry, number, whole

BLACK_CARD = 0.01
WHITE_CARD = 0.8
HIDDEN_AT = 0.98
LIGHT_FROM_Y = 0.25
HIDES_BY_UM = 2000.0
VISIBLE = 0.5
MOST_COATS = 12
GREYS = (10.0, 90.0, 81)

SOURCES = {
    "BLACK_CARD": "ISO 6504-1 (2019): black substrate, at most 5 % luminance factor; here as a glossy black tile",
    "WHITE_CARD": "ISO 6504-1 (2019): white substrate of 80 % luminance factor",
    "HIDDEN_AT": "ISO 6504-1 (2019): a film hides at a contrast ratio of 98 %",
    "LIGHT_FROM_Y": "ISO 6504-1 (2019): for white and light paints, here read as a luminance factor of 25 % or more",
    "HIDES_BY_UM": "teaching value: no film is sprayed at two millimetres",
    "VISIBLE": "teaching value: largest CIEDE2000 from the hiding film that nobody sees",
    "MOST_COATS": "teaching value: nobody sprays more coats than this",
    "GREYS": "teaching value: undercoat greys are looked for from L* 10 to 90 in steps of one",
}


@dataclass(frozen=True)
class Hiding:
    """Contrast over black and white.

    contrast_ratio : luminance over black by luminance over white, 0-1
    meaningful : whether the paint is light and solid enough for the number to mean something
    """

    contrast_ratio: float
    meaningful: bool


@dataclass(frozen=True)
class BestGrey:
    """The undercoat grey that shows least.

    lightness : CIELAB L* of the sealer
    largest_difference : CIEDE2000 from the hiding film, worst angle, at the given number of coats
    """

    lightness: float
    largest_difference: float


def contrast_ratio(mixture: Mixture, film_um: float) -> Hiding:
    """Contrast ratio of a film over black and over white.

    Parameters
    ----------
    mixture : one paint
    film_um : dry film, above 0, um

    Raises
    ------
    BadEntry : a film out of range

    Source
    ------
    ISO 6504-1 (2019), D65 and 10 degree observer, 45 degrees aspecular, by Kubelka and Munk; meaningful for light
    solid colours only, because a black over black and white soon differs by nothing.

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> shop = load()
    >>> thin, thick = (contrast_ratio(mixture(shop.picked("white"), [1.0]), um).contrast_ratio for um in (10.0, 60.0))
    >>> thin < thick < 1
    True
    """
    build = number("dry film", film_um, low=0, high=HIDES_BY_UM, unit="um", above_low=True)
    over_black, over_white = (_luminance(mixture, build, card) for card in (BLACK_CARD, WHITE_CARD))
    return Hiding(over_black / over_white, not mixture.flakes and over_white >= LIGHT_FROM_Y)


def hiding_thickness(mixture: Mixture, ratio: float = HIDDEN_AT) -> float:
    """Dry film in um at which the contrast ratio reaches 0.98 (or another ratio, 0.5-0.999).

    Raises
    ------
    BadEntry : a ratio out of range, or a paint that does not get there in two millimetres

    Source
    ------
    ISO 6504-1 (2019); see `contrast_ratio`.

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> shop = load()
    >>> 40 < hiding_thickness(mixture(shop.picked("white"), [1.0])) < 150
    True
    """
    from scipy.optimize import brentq

    wanted = number("contrast ratio", ratio, low=0.5, high=1 - 1 / 1000)

    def missing(film_um: float) -> float:
        return contrast_ratio(mixture, film_um).contrast_ratio - wanted

    if missing(HIDES_BY_UM) < 0:
        raise BadEntry(
            f"paint: one that does not hide in {HIDES_BY_UM:g} um was given, allowed is one that reaches {wanted:g}."
        )
    smallest = 1 / 1000
    return smallest if missing(smallest) >= 0 else brentq(missing, smallest, HIDES_BY_UM)


def show_through(
    mixture: Mixture,
    undercoat_lightness: ArrayLike,
    *,
    coats: ArrayLike,
    coat_um: float = COAT_UM,
    conditions: Conditions = USUAL,
) -> NDArray[np.float64]:
    """CIEDE2000 under D65 between so many coats over an undercoat and the film that hides, (..., angles).

    Parameters
    ----------
    mixture : one paint, spectra (31,)
    undercoat_lightness : CIELAB L* of a neutral undercoat, 0-100, (...)
    coats : 0 or more, (...), broadcast against the lightness
    coat_um : dry film of one coat, um
    conditions : surface, tilt and angles; film and undercoat are those given here

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> shop = load()
    >>> blue = mixture(shop.picked("deep blue"), [1.0])
    >>> one, two = show_through(blue, 50.0, coats=[1, 2])[:, 2]
    >>> bool(one > two)
    True
    """
    lightness, number_of = np.broadcast_arrays(np.asarray(undercoat_lightness, dtype=float), coats)
    build = number_of * number("dry film of one coat", coat_um, low=0, high=HIDES_BY_UM, unit="um", above_low=True)
    over = replace(conditions, undercoat=undercoat.grey(lightness))
    there, hiding = (
        weights.lab(predict.of_layers([Layer(mixture, thickness)], over))[..., 0, :, :] for thickness in (build, np.inf)
    )
    return ciede2000(hiding, there)


def coats_to_hide(
    mixture: Mixture,
    undercoat_lightness: float,
    *,
    coat_um: float = COAT_UM,
    visible: float = VISIBLE,
    most_coats: int = MOST_COATS,
    conditions: Conditions = USUAL,
) -> int | None:
    """Number of coats after which the undercoat no longer shows at any angle; None if it still does after the most.

    Parameters
    ----------
    mixture : one paint, spectra (31,)
    undercoat_lightness : CIELAB L* of a neutral undercoat, 0-100
    coat_um : dry film of one coat, um
    visible : largest CIEDE2000 from the fully hiding film that nobody sees, above 0
    most_coats : where to stop, 1-100
    conditions : as for `show_through`

    Raises
    ------
    BadEntry : a film, lightness, limit or number of coats outside its range

    Source
    ------
    Kubelka (1948), J. Opt. Soc. Am. 38, 448; the limit `visible` is a teaching value.

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> shop = load()
    >>> coats_to_hide(mixture(shop.picked("jet black"), [1.0]), 50.0)
    1
    """
    limit = number("visible difference", visible, low=0, above_low=True)
    coats = np.arange(1, whole("most coats", most_coats, low=1, high=100) + 1)
    shows = show_through(mixture, undercoat_lightness, coats=coats, coat_um=coat_um, conditions=conditions).max(axis=-1)
    after = np.maximum.accumulate(shows[::-1])[::-1]
    hidden = np.flatnonzero(after <= limit)
    return int(coats[hidden[0]]) if len(hidden) else None


def best_grey(mixture: Mixture, *, coats: int, coat_um: float = COAT_UM, conditions: Conditions = USUAL) -> BestGrey:
    """The undercoat grey that leaves the smallest difference from the hiding film, worst angle counting.

    How it is mixed from two sealers, `undercoat.sealer_for` says.

    Parameters
    ----------
    mixture : one paint, spectra (31,)
    coats : 1-100
    coat_um : dry film of one coat, um

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> shop = load()
    >>> blue, white = (mixture(shop.picked(name), [1.0]) for name in ("deep blue", "white"))
    >>> dark, light = (best_grey(paint, coats=2).lightness for paint in (blue, white))
    >>> dark < light
    True
    """
    number_of = whole("coats", coats, low=1, high=100)
    first, last, count = GREYS
    greys = np.linspace(first, last, int(count))
    shows = show_through(mixture, greys, coats=number_of, coat_um=coat_um, conditions=conditions).max(axis=-1)
    best = int(shows.argmin())
    return BestGrey(float(greys[best]), float(shows[best]))


def card_shift(
    mixture: Mixture,
    card_lightness: float,
    job_lightness: float,
    *,
    coats: int,
    coat_um: float = COAT_UM,
    conditions: Conditions = USUAL,
) -> NDArray[np.float64]:
    """CIEDE2000 (angles,) between a card and the job when the card carried another grey than the job.

    Parameters
    ----------
    mixture : one paint, spectra (31,)
    card_lightness, job_lightness : CIELAB L* of the undercoats, 0-100
    coats : on both, 1-100
    coat_um : dry film of one coat, um

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> shop = load()
    >>> shift = card_shift(mixture(shop.picked("white"), [1.0]), 30.0, 70.0, coats=2)
    >>> bool(shift.min() > 1)
    True
    """
    build = whole("coats", coats, low=1, high=100) * number("dry film of one coat", coat_um, low=0, unit="um")
    greys = undercoat.grey(np.array([card_lightness, job_lightness]))
    card, job = weights.lab(predict.of_layers([Layer(mixture, build)], replace(conditions, undercoat=greys)))[:, 0]
    return ciede2000(card, job)


def stepped_card(
    ground: Mixture,
    mid: Mixture,
    *,
    mid_coats: int,
    mid_coat_um: float = COAT_UM,
    ground_um: float = np.inf,
    conditions: Conditions = USUAL,
) -> NDArray[np.float64]:
    """The card of a three-stage colour: ground coat with 0, 1, 2, ... mid coats, (mid_coats + 1, angles, 31).

    Parameters
    ----------
    ground, mid : the two paints, spectra (31,)
    mid_coats : on the last step, 1-12
    mid_coat_um, ground_um : dry film of one mid coat and of the whole ground coat, um

    Returns
    -------
    reflectance factors, cleared if not said otherwise

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> shop = load()
    >>> ground, mid = (mixture(shop.picked(name), [1.0]) for name in ("warm red", "transparent red"))
    >>> card = stepped_card(ground, mid, mid_coats=4)
    >>> card.shape, bool(card[0, 2, 25] > card[4, 2, 25])
    ((5, 5, 31), True)
    """
    steps = np.arange(whole("mid coats", mid_coats, low=1, high=MOST_COATS) + 1)
    build = steps * number("dry film of one mid coat", mid_coat_um, low=0, high=HIDES_BY_UM, unit="um")
    return predict.of_layers([Layer(ground, np.full(len(steps), float(ground_um))), Layer(mid, build)], conditions)


def _luminance(mixture: Mixture, film_um: float, card: float) -> float:
    spectrum = film.reflectance([Layer(mixture, film_um)], np.full(mixture.absorption_per_um.shape, card))
    passed = surface.geometry(surface.LIGHT_DEG, 0.0).passed
    return float(weights.tristimulus(surface.through_surface(spectrum, spectrum, passed), d65())[1]) / 100
