"""Does the undercoat show? Contrast ratio, hiding thickness, coats to hide, and the undercoat that helps most.

An undercoat is an L* or a reflectance inside the resin, as `refinishlib.colour.undercoat` has it. Of a three-stage
colour the ground coat is the paint that has to hide, and the mid coats are `above` it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import film, predict, surface, undercoat, weights
from refinishlib.colour.conditions import COAT_UM, USUAL, Conditions
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.film import Layer
from refinishlib.colour.lamp import d65
from refinishlib.colour.optics import Mixture
from refinishlib.entry import BadEntry, number, numbers, whole

BLACK_CARD = 0.01
WHITE_CARD = 0.8
HIDDEN_AT = 0.98
LIGHT_FROM_Y = 0.25
HIDES_BY_UM = 2000.0
VISIBLE = 0.5
MOST_COATS = 12
GREYS = (10.0, 90.0, 81)

SOURCES = {
    "BLACK_CARD": "ISO 6504-1 (2019): black substrate, reads at most 5 %; here 1 % as a glossy black tile does",
    "WHITE_CARD": "ISO 6504-1 (2019): white substrate that reads 80 %",
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
    """The undercoat grey that shows least, or that needs the fewest coats.

    lightness : CIELAB L* of the sealer
    coats : of the paint over it
    largest_difference : CIEDE2000 from the hiding film, worst angle, after those coats
    """

    lightness: float
    coats: int
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
    solid colours only, because a black over black and white soon differs by nothing. The cards are told by what they
    read outside; below paint they are wetted, so that their reflectance inside the resin counts.

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
    paint: Mixture,
    under: ArrayLike,
    *,
    coats: ArrayLike,
    coat_um: float = COAT_UM,
    above: Sequence[Layer] = (),
    conditions: Conditions = USUAL,
) -> NDArray[np.float64]:
    """CIEDE2000 under D65 between so many coats over an undercoat and the film that hides, (..., angles).

    Parameters
    ----------
    paint : one basecoat or ground coat, spectra (31,)
    under : L* of a neutral undercoat, 0-100, or reflectances inside the resin (..., 31), such as `undercoat.grey` gives
    coats : 0 or more, (...), broadcast against the undercoats
    coat_um : dry film of one coat, um
    above : what is sprayed over the paint in both cases, from below up: the mid coats of a three-stage colour
    conditions : surface, tilt and angles; film and undercoat are those given here

    Raises
    ------
    BadEntry : an undercoat, a film or a number of coats out of range

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> shop = load()
    >>> blue = mixture(shop.picked("deep blue"), [1.0])
    >>> one, two = show_through(blue, 50.0, coats=[1, 2])[:, 2]
    >>> bool(one > two)
    True
    """
    undercoat.check_undercoat(under)
    number_of = numbers("coats", coats, low=0, high=HIDES_BY_UM)
    build = number_of * number("dry film of one coat", coat_um, low=0, high=HIDES_BY_UM, unit="um", above_low=True)
    return ciede2000(_seen(paint, np.inf, under, above, conditions), _seen(paint, build, under, above, conditions))


def coats_to_hide(
    paint: Mixture,
    under: ArrayLike,
    *,
    coat_um: float = COAT_UM,
    visible: float = VISIBLE,
    most_coats: int = MOST_COATS,
    above: Sequence[Layer] = (),
    conditions: Conditions = USUAL,
) -> int | None:
    """Number of coats after which the undercoat no longer shows at any angle; None if it still does after the most.

    Parameters
    ----------
    paint, under, coat_um, above, conditions : as for `show_through`, with one undercoat
    visible : largest CIEDE2000 from the fully hiding film that nobody sees, above 0
    most_coats : where to stop, 1-100

    Raises
    ------
    BadEntry : a film, undercoat, limit or number of coats outside its range

    Source
    ------
    Kubelka (1948), J. Opt. Soc. Am. 38, 448; the limit `visible` is a teaching value.

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> shop = load()
    >>> coats_to_hide(mixture(shop.picked("jet black"), [1.0]), 50.0)
    1
    """
    undercoat.check_undercoat(under)
    coats, _ = _fewest(paint, undercoat.as_undercoat(under), coat_um, visible, most_coats, above, conditions)
    return None if np.isnan(coats[0]) else int(coats[0])


def best_grey(
    paint: Mixture,
    *,
    coats: int,
    stock: Sequence[float] | None = None,
    coat_um: float = COAT_UM,
    above: Sequence[Layer] = (),
    conditions: Conditions = USUAL,
) -> BestGrey:
    """The undercoat grey that leaves the smallest difference from the hiding film, worst angle counting.

    How it is mixed from two sealers, `undercoat.sealer_for` says.

    Parameters
    ----------
    paint, coat_um, above, conditions : as for `show_through`
    coats : 1-100
    stock : L* of the greys that there are; every grey from 10 to 90 if not given

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> shop = load()
    >>> blue, white = (mixture(shop.picked(name), [1.0]) for name in ("deep blue", "white"))
    >>> dark, light = (best_grey(paint, coats=2).lightness for paint in (blue, white))
    >>> dark < light
    True
    >>> best_grey(blue, coats=2, stock=[38.0, 86.0]).lightness
    38.0
    """
    number_of = whole("coats", coats, low=1, high=100)
    greys, under = _greys(stock)
    shows = show_through(paint, under, coats=number_of, coat_um=coat_um, above=above, conditions=conditions)
    best = int(shows.max(axis=-1).argmin())
    return BestGrey(float(greys[best]), number_of, float(shows[best].max()))


def fewest_coats(
    paint: Mixture,
    *,
    stock: Sequence[float] | None = None,
    coat_um: float = COAT_UM,
    visible: float = VISIBLE,
    most_coats: int = MOST_COATS,
    above: Sequence[Layer] = (),
    conditions: Conditions = USUAL,
) -> BestGrey | None:
    """The grey over which the paint hides in the fewest coats, and of those the one that shows least.

    Parameters
    ----------
    as for `coats_to_hide` and `best_grey`

    Returns
    -------
    None if the paint hides over no grey within the most coats, as a mid coat does not

    >>> from refinishlib.colour.optics import mixture, of_formula
    >>> from refinishlib.shop.shop import load
    >>> blue = of_formula(load().colour("Kingfisher Pool, as built"))
    >>> fewest_coats(blue).coats, fewest_coats(blue, stock=[10.0, 86.0]).coats
    (3, 5)
    """
    greys, under = _greys(stock)
    coats, shows = _fewest(paint, under, coat_um, visible, most_coats, above, conditions)
    if np.isnan(coats).all():
        return None
    first = np.nanmin(coats)
    best = int(np.where(coats == first, shows[:, int(first) - 1], np.inf).argmin())
    return BestGrey(float(greys[best]), int(first), float(shows[best, int(first) - 1]))


def card_shift(
    paint: Mixture,
    card_under: ArrayLike,
    job_under: ArrayLike,
    *,
    coats: int,
    job_coats: int | None = None,
    coat_um: float = COAT_UM,
    above: Sequence[Layer] = (),
    job_above: Sequence[Layer] | None = None,
    conditions: Conditions = USUAL,
) -> NDArray[np.float64]:
    """CIEDE2000 (angles,) between a card and the job when they differ in undercoat, in coats or in mid coats.

    Parameters
    ----------
    paint, coat_um, conditions : as for `show_through`
    card_under, job_under : what the card and the job carry, each an L* or a reflectance inside the resin (31,)
    coats, job_coats : on the card and on the job, 1-100; alike if the second is not given
    above, job_above : mid coats on the card and on the job; alike if the second is not given

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> shop = load()
    >>> shift = card_shift(mixture(shop.picked("white"), [1.0]), 30.0, 70.0, coats=2)
    >>> bool(shift.min() > 1)
    True
    """
    coat = number("dry film of one coat", coat_um, low=0, high=HIDES_BY_UM, unit="um")
    on_card = whole("coats on the card", coats, low=1, high=100)
    on_job = on_card if job_coats is None else whole("coats on the job", job_coats, low=1, high=100)
    undercoat.check_undercoat(card_under)
    undercoat.check_undercoat(job_under)
    card = _seen(paint, on_card * coat, card_under, above, conditions)
    job = _seen(paint, on_job * coat, job_under, above if job_above is None else job_above, conditions)
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


def _seen(
    paint: Mixture, film_um: ArrayLike, under: ArrayLike, above: Sequence[Layer], conditions: Conditions
) -> NDArray[np.float64]:
    """CIELAB under D65 of a film between an undercoat and what is above it, (..., angles, 3)."""
    over = replace(conditions, undercoat=undercoat.as_undercoat(under))
    return weights.lab(predict.of_layers([Layer(paint, film_um), *above], over))[..., 0, :, :]


def _fewest(
    paint: Mixture,
    under: NDArray[Any],
    coat_um: float,
    visible: float,
    most_coats: int,
    above: Sequence[Layer],
    conditions: Conditions,
) -> tuple[NDArray[Any], NDArray[Any]]:
    """Coats to hide over each of several undercoats, nan where the most do not, (undercoats,), and what shows through
    after each number of coats at the worst angle, (undercoats, most coats)."""
    limit = number("visible difference", visible, low=0, above_low=True)
    coats = np.arange(1, whole("most coats", most_coats, low=1, high=100) + 1)
    several = np.atleast_2d(under)[:, None]
    shows = show_through(paint, several, coats=coats, coat_um=coat_um, above=above, conditions=conditions).max(axis=-1)
    # Hidden from here on, not only now: a film may pass the hiding colour on its way.
    after = np.maximum.accumulate(shows[:, ::-1], axis=1)[:, ::-1]
    hidden = after <= limit
    return np.where(hidden.any(axis=1), coats[hidden.argmax(axis=1)], np.nan), shows


def _greys(stock: Sequence[float] | None) -> tuple[NDArray[Any], NDArray[Any]]:
    """L* of the greys to choose from, (greys,), and their reflectance inside the resin, (greys, 31)."""
    first, last, count = GREYS
    greys = np.linspace(first, last, int(count)) if stock is None else np.array(stock, dtype=float)
    if not greys.size:
        raise BadEntry("greys in stock: none was given, allowed is one or more.")
    return greys, undercoat.grey(greys)


def _luminance(mixture: Mixture, film_um: float, card_reads: float) -> float:
    passed = surface.geometry(surface.LIGHT_DEG, 0.0).passed
    card = np.full(mixture.absorption_per_um.shape, surface.beneath_surface(card_reads))
    spectrum = film.reflectance([Layer(mixture, film_um)], card)
    return float(weights.tristimulus(surface.through_surface(spectrum, spectrum, passed), d65())[1]) / 100
