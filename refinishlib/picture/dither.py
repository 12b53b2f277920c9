"""Differences smaller than a screen's step: dithered in linear light, and what a screen cannot show at all."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import weights
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.lamp import d65
from refinishlib.entry import numbers, whole
from refinishlib.picture.screen import ROUNDING, decode, screen_matrix

MOST_PIXELS = 4096
FEWEST_PIXELS = 8
SHOWN_SHARE = 0.2
TOP = 255
WHITEST = 100.0

SOURCES = {
    "MOST_PIXELS": "teaching value: limit of entry",
    "FEWEST_PIXELS": "teaching value: smaller patches have too few pixels for a mean",
    "TOP": "IEC 61966-2-1 (1999): the highest of a screen's levels",
    "WHITEST": "ISO/CIE 11664-4 (2019): L* of the perfect white",
    "SHOWN_SHARE": "teaching value: a screen that misses a difference by more than this share is said to miss it",
}


def linear(lab: ArrayLike) -> NDArray[np.float64]:
    """Linear sRGB (..., 3) of CIELAB (..., 3), D65 and 10 degrees, as the pictures have it.

    >>> linear([100.0, 0.0, 0.0]).round(6).tolist()
    [1.0, 1.0, 1.0]
    """
    white = _white()
    found: NDArray[np.float64] = weights.tristimulus_from_lab(lab, white) @ screen_matrix(white).T
    return found


def patch(lab: ArrayLike, height: int, width: int, *, seed: int = 0) -> NDArray[np.uint8]:
    """An even patch of one colour as pixels (height, width, 3), whose light is right on the mean.

    Each channel is mixed of the two levels of the screen that its light lies between, in the shares of the light, not
    of the levels. The pixels that get the upper one are drawn by lot, so that no pattern shows.

    Parameters
    ----------
    lab : CIELAB, D65 and 10 degrees, (3,)
    height, width : pixels, 8-4096
    seed : of the lot

    >>> shown = decode(patch([50.3, 2.0, 1.0], 100, 100))
    >>> bool(np.allclose(shown.mean(axis=(0, 1)), linear([50.3, 2.0, 1.0]), atol=1e-5))
    True
    """
    size = tuple(whole(f, v, low=FEWEST_PIXELS, high=MOST_PIXELS) for f, v in (("height", height), ("width", width)))
    wanted = np.clip(linear(numbers("CIELAB", lab, shape=(3,))), 0.0, 1.0)
    low, upper = _between(wanted)
    rng = np.random.default_rng(seed)
    pixels = np.empty((size[0] * size[1], 3), dtype=np.uint8)
    for channel in range(3):
        pixels[:, channel] = low[channel]
        bright = rng.permutation(len(pixels))[: round(float(upper[channel]) * len(pixels))]
        pixels[bright, channel] += 1
    return pixels.reshape(*size, 3)


def shown(panel_lab: ArrayLike, card_lab: ArrayLike, *, dithered: bool = True) -> NDArray[np.float64]:
    """The CIEDE2000 that a screen really shows between two colours (..., 3), once both are in its eight bits.

    Parameters
    ----------
    panel_lab, card_lab : CIELAB, D65 and 10 degrees
    dithered : drawn by `patch`; otherwise each as the nearest level

    >>> [round(float(shown([50.0, 0.0, 0.0], [50.2, 0.0, 0.0], dithered=by)), 2) for by in (False, True)]
    [0.0, 0.2]
    """
    both = []
    for lab in (panel_lab, card_lab):
        light = np.clip(linear(lab), 0.0, 1.0)
        if not dithered:
            light = decode(np.round(_level(light)).astype(np.uint8))
        both.append(weights.lab_from_tristimulus(light @ np.linalg.inv(screen_matrix(_white())).T, _white()))
    return ciede2000(*both)


def cannot_show(panel_lab: ArrayLike, card_lab: ArrayLike) -> tuple[str, ...]:
    """What is lost when two colours are drawn on a screen, in sentences; nothing where all of it shows.

    Parameters
    ----------
    panel_lab, card_lab : CIELAB, D65 and 10 degrees, (..., 3)

    >>> cannot_show([50.0, 0.0, 0.0], [51.0, 0.0, 0.0])
    ()
    >>> cannot_show([130.0, 0.0, 0.0], [131.0, 0.0, 0.0])[0]
    'This is brighter than a white on the screen: it is cut off there.'
    """
    light = np.stack([linear(panel_lab), linear(card_lab)])
    said = []
    if (np.asarray([panel_lab, card_lab])[..., 0] > WHITEST).any():
        said.append("This is brighter than a white on the screen: it is cut off there.")
    elif ((light < -ROUNDING) | (light > 1 + ROUNDING)).any():
        said.append("This colour is stronger than the screen's own: it is drawn weaker.")
    true = np.asarray(ciede2000(panel_lab, card_lab))
    there = shown(panel_lab, card_lab)
    if (np.abs(there - true) > SHOWN_SHARE * np.maximum(true, SHOWN_SHARE)).any():
        said.append(
            f"Of a difference of {float(true.max()):.2f} the screen shows {float(there.max()):.2f}: judge it on panels."
        )
    return tuple(said)


def _between(light: NDArray[Any]) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """The level below a light 0-1, and the share of the next one that makes up for it, each as the light."""
    levels = decode(np.arange(TOP + 1, dtype=np.uint8))
    low = np.clip(np.searchsorted(levels, light, side="right") - 1, 0, TOP - 1)
    return low, (light - levels[low]) / (levels[low + 1] - levels[low])


def _level(light: NDArray[Any]) -> NDArray[np.float64]:
    """Levels 0-255 of light 0-1, by the screen's own curve between them."""
    found: NDArray[np.float64] = np.interp(light, decode(np.arange(TOP + 1, dtype=np.uint8)), np.arange(TOP + 1))
    return found


def _white() -> NDArray[np.float64]:
    table = weights.weights(d65())
    found: NDArray[np.float64] = table.sum(axis=0) / table[:, 1].sum()
    return found
