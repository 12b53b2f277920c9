"""From colour values to the sRGB of a screen: adaptation, exposure, and what had to be clipped."""

from __future__ import annotations

import base64
import zlib
from dataclasses import dataclass, replace
from functools import cache
from html import escape
from io import BytesIO
from typing import Any

import numpy as np
from numpy.typing import NDArray

from refinishlib.entry import number, numbers
from refinishlib.picture.table import html_table

ADAPTATION = "CAT16"
DARKEST = 1e-9
ROUNDING = 5e-4
LEVELS = 1 << 14
MAX_WHITE = 1e3
MAX_EXPOSURE = 100.0
FASTEST = 1

SOURCES = {
    "FASTEST": "RFC 1950 (1996): the fastest level of compression",
    "DARKEST": "teaching value: keeps the division by the brightest light finite",
    "ROUNDING": "teaching value: a channel further than this outside 0-1 counts as clipped",
    "LEVELS": "teaching value: steps of the table that replaces the sRGB curve, finer than half a grey level",
    "MAX_WHITE": "teaching value: limit of entry",
    "MAX_EXPOSURE": "teaching value: limit of entry",
}


@dataclass(frozen=True, eq=False)
class Picture:
    """A picture with all that is needed to read it without seeing it.

    rgb : (height, width, 3) sRGB, 0-255
    exposure : what the light was multiplied by before it went to the screen
    notes : how it was made: lamp, adaptation, exposure, clipping, one sentence each
    numbers : a label and its value, as text
    words : every difference that the picture shows, in words
    clipped : share of the pixels that lie outside what the screen can show, 0-1
    """

    rgb: NDArray[np.uint8]
    exposure: float
    notes: tuple[str, ...]
    numbers: tuple[tuple[str, str], ...] = ()
    words: tuple[str, ...] = ()
    clipped: float = 0.0

    @property
    def caption(self) -> str:
        """Words, numbers and notes as one paragraph, for a reader who does not see the picture."""
        listed = "; ".join(f"{label} {value}" for label, value in self.numbers)
        return " ".join(part for part in (*self.words, listed + "." if listed else "", *self.notes) if part)


def screen_matrix(white_xyz: NDArray[Any]) -> NDArray[Any]:
    """The matrix from tristimulus values under a lamp to linear sRGB, with the eye fully adapted to the lamp.

    Parameters
    ----------
    white_xyz : (3,) of the lamp; its Y is what a perfect white has

    Returns
    -------
    (3, 3); the lamp's white becomes 1, 1, 1

    Source
    ------
    CAT16: Li et al. (2017), Color Research and Application 42, 703; sRGB: IEC 61966-2-1:1999. Both from colour-science.
    The values for the 10 degree observer are shown as they are, white on white: screens are defined for 2 degrees.

    Raises
    ------
    BadEntry : a white with a value of 0 or less

    >>> (screen_matrix(np.array([1.0985, 1.0, 0.3558])) @ [1.0985, 1.0, 0.3558]).round(4).tolist()
    [1.0, 1.0, 1.0]
    """
    white = numbers("white of the lamp", white_xyz, low=DARKEST, high=MAX_WHITE, shape=(3,))
    return _screen_matrix(tuple(white.tolist()))


@cache
def _screen_matrix(white: tuple[float, float, float]) -> NDArray[Any]:
    import colour

    space = colour.RGB_COLOURSPACES["sRGB"]
    screen_white = np.linalg.inv(space.matrix_XYZ_to_RGB) @ np.ones(3)
    source = np.array(white) / white[1]
    adapt = colour.adaptation.matrix_chromatic_adaptation_VonKries(source, screen_white, transform=ADAPTATION)
    found: NDArray[Any] = space.matrix_XYZ_to_RGB @ adapt / white[1]
    return found


def expose(linear: NDArray[Any], exposure: float | None = None) -> tuple[NDArray[Any], float]:
    """Linear sRGB times the exposure. Without one, the light is dimmed just enough that the brightest pixel fits.

    Raises
    ------
    BadEntry : an exposure outside 0-100

    >>> expose(np.array([[0.5, 2.0, 0.1]]))[1]
    0.5
    """
    if exposure is None:
        exposure = min(1.0, 1 / max(float(linear.max()), DARKEST))
    else:
        exposure = number("exposure", exposure, low=0, high=MAX_EXPOSURE, above_low=True)
    return linear * exposure, exposure


def encode(linear: NDArray[Any]) -> tuple[NDArray[np.uint8], float]:
    """Linear sRGB to screen values 0-255, and the share of pixels that had to be clipped.

    Parameters
    ----------
    linear : (..., 3), 0-1 fits the screen

    Source
    ------
    IEC 61966-2-1:1999, the sRGB curve, by table.

    >>> encode(np.array([[0.5, 0.5, 0.5], [1.2, 0.5, -0.1]]))
    (array([[188, 188, 188], [255, 188,   0]], dtype=uint8), 0.5)
    """
    scaled = np.asarray(linear) * (LEVELS - 1) + 0.5
    clipped = 0.0
    if linear.size and (linear.min() < 0 or linear.max() > 1):
        # Looked for only where something lies outside: most pictures fit.
        clipped = float(((linear < -ROUNDING) | (linear > 1 + ROUNDING)).any(axis=-1).mean())
        np.clip(scaled, 0, LEVELS - 1, out=scaled)
    return _curve()[scaled.astype(np.uint16)], clipped


@cache
def _curve() -> NDArray[np.uint8]:
    x = np.linspace(0, 1, LEVELS)
    curve = np.where(x <= 0.0031308, 12.92 * x, 1.055 * x ** (1 / 2.4) - 0.055)
    return np.round(curve * 255).astype(np.uint8)


def decode(rgb: NDArray[np.uint8]) -> NDArray[Any]:
    """Screen values 0-255 back to linear sRGB 0-1.

    >>> decode(np.array([188], dtype=np.uint8)).round(2).tolist()
    [0.5]
    """
    x = np.arange(256) / 255
    return np.where(x <= 0.04045, x / 12.92, ((x + 0.055) / 1.055) ** 2.4)[rgb]


def finish(linear: NDArray[Any], lamp_name: str, exposure: float | None = None, **texts: Any) -> Picture:
    """A picture from linear sRGB, with its notes on lamp, adaptation, exposure and clipping.

    linear : (height, width, 3)
    texts : numbers and words of the Picture
    """
    exposed, used = expose(linear, exposure)
    rgb, clipped = encode(exposed)
    notes = [f"Under {lamp_name}, seen by an eye adapted to the lamp ({ADAPTATION})."]
    said = "1: a perfect white would just be white" if used == 1 else f"{used:.2f}: all light times this"
    notes.append(f"Exposure {said}.")
    if clipped:
        notes.append(f"{clipped:.1%} of the pixels lie outside what a screen can show and were clipped.")
    return Picture(rgb, used, tuple(notes), clipped=clipped, **texts)


def png(picture: Picture) -> bytes:
    """The picture as a PNG file, its caption in it.

    Rows of paint repeat themselves: runs of equal bytes are all the compression they need, and the fastest.

    >>> png(finish(np.full((2, 3, 3), 0.5), "D65"))[:4]
    b'\\x89PNG'
    """
    from PIL import Image, PngImagePlugin

    texts = PngImagePlugin.PngInfo()
    texts.add_itxt("Description", picture.caption)
    file = BytesIO()
    image = Image.fromarray(picture.rgb)
    image.save(file, "png", pnginfo=texts, compress_level=FASTEST, compress_type=zlib.Z_RLE)
    return file.getvalue()


def figure(picture: Picture, *, short: bool = False) -> str:
    """The picture as HTML with its words, numbers and notes beside it; the words stand in for who cannot see it.

    short : the notes alone below it, where words and numbers stand elsewhere

    >>> shown = finish(np.full((2, 3, 3), 0.5), "D65", words=("It is grey.",), numbers=(("middle", "L* 76.2"),))
    >>> "It is grey." in figure(shown) and "<td>L* 76.2</td>" in figure(shown)
    True
    """
    source = base64.b64encode(png(picture)).decode("ascii")
    words, notes = (" ".join(sentences) for sentences in (picture.words, picture.notes))
    table = html_table(("place", "value"), picture.numbers) if picture.numbers else ""
    below = f"<p>{escape(notes)}</p>" if short else f"<p>{escape(words)}</p>{table}<p>{escape(notes)}</p>"
    return (
        f'<figure class="refinish-picture"><img alt="{escape(words or notes)}" src="data:image/png;base64,{source}"'
        f' style="width: 100%; max-width: {picture.rgb.shape[1]}px"><figcaption>{below}</figcaption></figure>'
    )


def with_note(picture: Picture, rgb: NDArray[np.uint8], note: str) -> Picture:
    """The same picture with other pixels and one more note."""
    return replace(picture, rgb=rgb, notes=(*picture.notes, note))
