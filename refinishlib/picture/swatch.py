"""Flat pictures of paint: a card, two panels edge to edge, a blend along a panel."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import weights
from refinishlib.colour.blend import Blend
from refinishlib.colour.difference import HIGHEST_LAB, ciede2000
from refinishlib.colour.lamp import Lamp, d65
from refinishlib.colour.verdict import direction
from refinishlib.entry import BadEntry, numbers, whole
from refinishlib.picture.screen import Picture, finish, screen_matrix

HEIGHT = 200
WIDTH = 320
LARGEST = 4000

SOURCES = {
    "HEIGHT": "teaching value: pixels",
    "WIDTH": "teaching value: pixels",
    "LARGEST": "teaching value: limit of entry",
}


def card(
    lab: ArrayLike,
    rows: Sequence[str],
    *,
    lamps: Sequence[Lamp] | None = None,
    name: str = "card",
    exposure: float | None = None,
    height: int = HEIGHT,
    width: int = WIDTH,
) -> Picture:
    """A card as bands from top to bottom, one for each angle, lamp or coat.

    Parameters
    ----------
    lab : CIELAB of each band, (rows, 3), L* up to what a metallic's face has
    rows : what each band is, such as "15 degrees"
    lamps : one for all bands, or one for each; D65 if not given; a band is shown to an eye adapted to its lamp
    exposure : factor on the light; just small enough for the brightest band if not given

    Raises
    ------
    BadEntry : bands and names that do not fit, values or sizes out of range

    >>> shown = card([[95.0, 0, 2], [40.0, 0, 2]], ["face", "flop"])
    >>> shown.rgb.shape, shown.numbers[0]
    ((200, 320, 3), ('card, face', 'L* 95.0, a* 0.0, b* 2.0'))
    """
    bands = _checked(name, lab, rows)
    linear = _bands(bands, lamps)[:, None].repeat(_size("width", width), axis=1)
    return finish(
        _stretch(linear, height),
        _lamp_names(lamps),
        exposure,
        numbers=tuple((f"{name}, {row}", _written(values)) for row, values in zip(rows, bands, strict=True)),
    )


def side_by_side(
    left_lab: ArrayLike,
    right_lab: ArrayLike,
    rows: Sequence[str],
    *,
    lamps: Sequence[Lamp] | None = None,
    names: tuple[str, str] = ("panel", "card"),
    exposure: float | None = None,
    height: int = HEIGHT,
    width: int = WIDTH,
) -> Picture:
    """Two paints with a common edge, one band for each angle or lamp, and every difference in words.

    Parameters
    ----------
    left_lab, right_lab : CIELAB, (rows, 3); the left one is the reference
    rows, lamps, exposure : as for `card`
    names : of the left and the right one

    >>> shown = side_by_side([[50.0, 0, 0]], [[47.0, 0, 0]], ["45 degrees"])
    >>> shown.words, shown.numbers[0]
    (('45 degrees: the card is much darker.',), ('45 degrees', 'CIEDE2000 2.98'))
    """
    left, right = _checked(names[0], left_lab, rows), _checked(names[1], right_lab, rows)
    half = _size("width", width) // 2
    linear = np.concatenate(
        [_bands(left, lamps)[:, None].repeat(half, axis=1), _bands(right, lamps)[:, None].repeat(half, axis=1)], axis=1
    )
    apart = ciede2000(left, right)
    return finish(
        _stretch(linear, height),
        _lamp_names(lamps),
        exposure,
        numbers=tuple((row, f"CIEDE2000 {value:.2f}") for row, value in zip(rows, apart, strict=True)),
        words=differences_in_words(left, right, rows, names[1]),
    )


def along(blend: Blend, *, lamp: Lamp | None = None, exposure: float | None = None, height: int = HEIGHT) -> Picture:
    """A blend from the repair at the left to the old finish at the right, one band for each angle.

    lamp : the one that the blend was worked out for, D65 if not given

    >>> from refinishlib.colour import blend, optics, spray
    >>> from refinishlib.shop.shop import load
    >>> a, b = (optics.mixture(load().picked("warm red", "rose"), grams) for grams in ([1.0, 0.0], [9.0, 1.0]))
    >>> coats = spray.carried(2, film_um=9, first_end_m=0.2, carry_m=0.2)
    >>> along(blend.along(a, b, coats, stations_m=np.linspace(0, 1, 300))).rgb.shape
    (200, 300, 3)
    """
    lamp = lamp or d65()
    linear = weights.tristimulus_from_lab(np.swapaxes(blend.lab, 0, 1), _white(lamp)) @ screen_matrix(_white(lamp)).T
    total = [f"total CIEDE2000 {value:.2f}" for value in blend.total]
    seen = [f"seen {value:.2f}" for value in blend.seen.max(axis=0)]
    rows = [f"{angle:g} degrees" for angle in blend.angles_deg]
    shows = blend.shows
    place = f"at {shows.angle_deg:g} degrees" + ("" if np.isinf(shows.distance_m) else f" from {shows.distance_m:g} m")
    found = f"should not be found: it shows most {place}" if blend.hidden else f"can be found {place}: {shows.word}"
    words = (
        f"The new colour shows as far as {blend.colour_ends_m:.2f} m and paint falls as far as"
        f" {blend.film_ends_m:.2f} m.",
        f"The blend {found}, at {blend.worst:.2f} of what is just seen.",
    )
    return finish(
        _stretch(linear, height),
        lamp.name,
        exposure,
        numbers=tuple((row, f"{a}, {b}") for row, a, b in zip(rows, total, seen, strict=True)),
        words=words,
    )


def differences_in_words(
    reference: NDArray[Any], sample: NDArray[Any], rows: Sequence[str], name: str
) -> tuple[str, ...]:
    """One sentence for each row (rows, 3): how the sample differs from the reference."""
    return tuple(f"{row}: the {name} is {direction(a, b)}." for row, a, b in zip(rows, reference, sample, strict=True))


def _checked(name: str, lab: ArrayLike, rows: Sequence[str]) -> NDArray[Any]:
    bands = numbers(f"CIELAB of the {name}", lab, low=-HIGHEST_LAB, high=HIGHEST_LAB, shape=(len(rows), 3))
    if bands.ndim != 2:
        raise BadEntry(f"CIELAB of the {name}: {bands.ndim} axes were given, allowed are 2, rows by 3.")
    return bands


def _size(field: str, pixels: int) -> int:
    return whole(field, pixels, low=2, high=LARGEST)


def _white(lamp: Lamp) -> NDArray[Any]:
    found: NDArray[Any] = weights.weights(lamp).sum(axis=0)
    return found


def _bands(lab: NDArray[Any], lamps: Sequence[Lamp] | None) -> NDArray[Any]:
    """Linear sRGB of each band, (rows, 3)."""
    each = list(lamps or [d65()])
    each = each * len(lab) if len(each) == 1 else each
    if len(each) != len(lab):
        raise BadEntry(f"lamps: {len(each)} were given, allowed is one, or {len(lab)}, one for each band.")
    whites = [_white(lamp) for lamp in each]
    return np.stack(
        [screen_matrix(w) @ weights.tristimulus_from_lab(band, w) for band, w in zip(lab, whites, strict=True)]
    )


def _lamp_names(lamps: Sequence[Lamp] | None) -> str:
    return ", ".join(dict.fromkeys(lamp.name for lamp in lamps or [d65()]))


def _stretch(linear: NDArray[Any], height: int) -> NDArray[Any]:
    """Bands (rows, width, 3) to about this many pixels of height, all bands alike."""
    return linear.repeat(max(1, _size("height", height) // len(linear)), axis=0)


def _written(lab: NDArray[Any]) -> str:
    # Adding 0 turns -0.0 into 0.0.
    values = np.round(lab, 1) + 0.0
    return "L* {:.1f}, a* {:.1f}, b* {:.1f}".format(*values)
