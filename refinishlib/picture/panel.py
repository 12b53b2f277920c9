"""A curved panel under a lamp, with the flop to be seen: from readings at a few angles to a picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import PchipInterpolator

from refinishlib.colour import weights
from refinishlib.colour.difference import HIGHEST_LAB, ciede2000
from refinishlib.colour.lamp import Lamp, d65
from refinishlib.colour.surface import ANGLES_DEG
from refinishlib.colour.verdict import direction
from refinishlib.entry import BadEntry, number, numbers, whole
from refinishlib.picture.screen import Picture, finish, screen_matrix
from refinishlib.picture.swatch import differences_in_words

HEIGHT = 300
WIDTH = 600
LARGEST = 4000
STEEPEST_DEG = 60.0
NODES = 1 << 11
TABLE = 1 << 15

SOURCES = {
    "HEIGHT": "teaching value: pixels",
    "WIDTH": "teaching value: pixels",
    "LARGEST": "teaching value: limit of entry",
    "STEEPEST_DEG": "teaching value: limit of entry",
    "NODES": "teaching value: angles at which the colour is worked out",
    "TABLE": "teaching value: steps of the table that the pixels look up",
}


@dataclass(frozen=True)
class Bow:
    """How the panel is bowed and where its lamp hangs, for an eye far in front of it.

    lamp_deg : lamp to the left of the eye's line, 0-90
    turned_deg : how far the middle of the panel is turned away from the lamp
    bow_deg, crown_deg : how far the panel turns from its middle to its sides, and to its top and bottom

    The defaults show 15 to 110 degrees aspecular from left to right.
    """

    lamp_deg: float = 45.0
    turned_deg: float = 8.5
    bow_deg: float = 24.0
    crown_deg: float = 8.0

    def __post_init__(self) -> None:
        number("lamp", self.lamp_deg, low=0, high=90, unit="degrees")
        number("turn", self.turned_deg, low=-STEEPEST_DEG, high=STEEPEST_DEG, unit="degrees")
        number("bow", self.bow_deg, low=0, high=STEEPEST_DEG, unit="degrees")
        number("crown", self.crown_deg, low=0, high=STEEPEST_DEG, unit="degrees")


def directions(bow: Bow, width: int = WIDTH, height: int = HEIGHT) -> tuple[NDArray[Any], NDArray[Any]]:
    """Cosine of the aspecular angle and of the angle between lamp and normal, each (height, width), float32.

    >>> aspecular, lit = directions(Bow(crown_deg=0), 3, 2)
    >>> np.degrees(np.arccos(aspecular[0])).round(0).tolist(), np.round(lit[0], 2).astype(str).tolist()
    ([14.0, 62.0, 110.0], ['0.87', '0.59', '0.22'])
    """
    across = np.radians(bow.turned_deg + bow.bow_deg * np.linspace(-1, 1, whole("width", width, low=2, high=LARGEST)))
    up = np.radians(bow.crown_deg * np.linspace(1, -1, whole("height", height, low=2, high=LARGEST)))
    lamp = np.radians(bow.lamp_deg)
    level = np.cos(up).astype(np.float32)[:, None]
    lit = level * np.cos(across + lamp).astype(np.float32)
    aspecular = 2 * lit * (level * np.cos(across).astype(np.float32)) - np.float32(np.cos(lamp))
    return aspecular, np.clip(lit, 0, None)


def light(
    lab: ArrayLike,
    angles_deg: ArrayLike = ANGLES_DEG,
    *,
    lamp: Lamp | None = None,
    bow: Bow | None = None,
    shaded: bool = True,
    width: int = WIDTH,
    height: int = HEIGHT,
) -> NDArray[np.float32]:
    """Linear sRGB of a curved panel, (height, width, 3); a perfect white square on to the lamp is 1.

    Parameters
    ----------
    lab : CIELAB under the lamp, (angles, 3)
    angles_deg : aspecular, rising, (angles,), at least 2
    lamp : D65 if not given
    bow : shape of the panel and where the lamp hangs
    shaded : less light where the panel turns away from the lamp; without, only the colour moves

    Notes
    -----
    Between the angles L*, a* and b* follow a monotone cubic; beyond the first and last they stay. Colour depends on
    the aspecular angle only, as if lit at 45 degrees; what the clear mirrors is left out.

    Source
    ------
    Fritsch and Carlson (1980), SIAM J. Numer. Anal. 17, 238, as scipy has it.

    Raises
    ------
    BadEntry : readings that do not fit the angles, angles that do not rise

    >>> light([[60.0, 0, 0], [30.0, 0, 0]], [15, 110], width=4, height=2).shape
    (2, 4, 3)
    """
    aspecular, lit = directions(bow or Bow(), width, height)
    return _lit(lab, angles_deg, lamp or d65(), aspecular, lit if shaded else None)


def curved(
    lab: ArrayLike,
    angles_deg: Sequence[float] = ANGLES_DEG,
    *,
    below_lab: ArrayLike | None = None,
    lamp: Lamp | None = None,
    bow: Bow | None = None,
    shaded: bool = True,
    exposure: float | None = None,
    width: int = WIDTH,
    height: int = HEIGHT,
    names: tuple[str, str] = ("panel", "card"),
) -> Picture:
    """A curved panel with its face at the left and its flop at the right, or two of them, one above the other.

    Parameters
    ----------
    lab, angles_deg, lamp, bow, shaded, width, height : as for `light`
    below_lab : CIELAB of a second paint on the lower half, (angles, 3), to be compared with the first
    exposure : factor on the light; just small enough for the brightest pixel if not given
    names : of the upper and the lower paint

    >>> silver = [[125.0, -1, 1], [100.0, -1, 0], [62.0, -1, -1], [42.0, 0, -2], [36.0, 0, -2]]
    >>> shown = curved(silver)
    >>> shown.words
    ('From face to flop the panel gets much darker, much bluer and redder.',)
    """
    lamp = lamp or d65()
    aspecular, lit = directions(bow or Bow(), width, height)
    shade = lit if shaded else None
    linear = _lit(lab, angles_deg, lamp, aspecular, shade)
    first = np.asarray(lab, dtype=float)
    texts: dict[str, Any] = {
        "numbers": tuple(
            (f"{angle:g} degrees", f"L* {row[0]:.1f}") for angle, row in zip(angles_deg, first, strict=True)
        ),
        "words": (_flop_in_words(names[0], first),),
    }
    if below_lab is not None:
        middle = linear.shape[0] // 2
        below = None if shade is None else shade[middle:]
        linear[middle:] = _lit(below_lab, angles_deg, lamp, aspecular[middle:], below)
        second = np.asarray(below_lab, dtype=float)
        rows = [f"{angle:g} degrees" for angle in angles_deg]
        apart = ciede2000(first, second)
        texts["numbers"] = tuple((row, f"CIEDE2000 {value:.2f}") for row, value in zip(rows, apart, strict=True))
        texts["words"] += differences_in_words(first, second, rows, names[1])
    shown = finish(linear, lamp.name, exposure, **texts)
    cosines = np.cos(np.radians([angles_deg[-1], angles_deg[0]]))
    outside = float(((aspecular < cosines[0]) | (aspecular > cosines[1])).mean())
    notes = ["The mirror image of the lamp is left out.", "Lit evenly." if not shaded else "Shaded by its own curve."]
    if outside > 0:
        notes.append(
            f"{outside:.0%} of the panel lies beyond {angles_deg[0]:g} to {angles_deg[-1]:g} degrees and is shown as at"
            " the nearest of them."
        )
    return Picture(shown.rgb, shown.exposure, (*shown.notes, *notes), shown.numbers, shown.words, shown.clipped)


def _lit(
    lab: ArrayLike, angles_deg: ArrayLike, lamp: Lamp, aspecular: NDArray[Any], lit: NDArray[Any] | None
) -> NDArray[np.float32]:
    """Linear sRGB (height, width, 3) for cosines of the aspecular angle, times the light on each place, if shaded."""
    table, low, high = _table(lab, angles_deg, lamp)
    index = (aspecular - low) * np.float32((TABLE - 1) / (high - low)) + np.float32(0.5)
    seen = table[np.clip(index, 0, TABLE - 1, out=index).astype(np.uint16)]
    if lit is not None:
        seen *= lit[..., None]
    return seen


def _flop_in_words(name: str, lab: NDArray[Any]) -> str:
    words = direction(lab[0], lab[-1])
    return f"From face to flop the {name} {'stays' if words == 'the same' else 'gets'} {words}."


def _table(lab: ArrayLike, angles_deg: ArrayLike, lamp: Lamp) -> tuple[NDArray[np.float32], float, float]:
    """Linear sRGB by the cosine of the aspecular angle, from the last angle's cosine to the first's."""
    angles = numbers("aspecular angle", angles_deg, low=0, high=180, unit="degrees", shape=(None,))
    if angles.ndim != 1 or len(angles) < 2 or not (np.diff(angles) > 0).all():
        raise BadEntry("aspecular angle: falling ones or fewer than two were given, allowed are two or more that rise.")
    rows = numbers("CIELAB of the panel", lab, low=-HIGHEST_LAB, high=HIGHEST_LAB, shape=(len(angles), 3))
    low, high = np.cos(np.radians(angles[-1])), np.cos(np.radians(angles[0]))
    nodes = np.linspace(low, high, NODES)
    between = PchipInterpolator(angles, rows)(np.clip(np.degrees(np.arccos(nodes)), angles[0], angles[-1]))
    white = weights.weights(lamp).sum(axis=0)
    linear = weights.tristimulus_from_lab(between, white) @ screen_matrix(white).T
    fine = np.linspace(low, high, TABLE)
    table = np.stack([np.interp(fine, nodes, channel) for channel in linear.T], axis=-1)
    return table.astype(np.float32), float(low), float(high)
