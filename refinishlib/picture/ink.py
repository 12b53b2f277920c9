"""The colour of a paint on a screen: what the colour engine computes, the same by day and by night.

A toner is shown as one coat drawn down on a white card, looked at straight under daylight. In the depth of a tin most
toners are near black, and nobody could tell them apart.

A toner file may say the ink that the engine would compute, since a mix sheet needs it at once and the engine takes a
second or two to load; a test holds the shop's own against the engine. Where the file says none it is computed.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray

from refinishlib.shop.paint import Toner

STRAIGHT_DEG = 45.0
CARD_LIGHTNESS = 95.0
COAT_UM = 6.0
NO_TONER = "#7f8a94"

SOURCES = {
    "STRAIGHT_DEG": "definition: the middle of the angles that a panel is read at",
    "CARD_LIGHTNESS": "teaching value: CIELAB L* of a white card",
    "COAT_UM": "teaching value: dry film of one coat of the shop's base, as its product sheets say",
    "NO_TONER": "invented for the demo: for a component that is no toner",
}


def inks(toners: Sequence[Toner]) -> dict[str, str]:
    """The screen colour of each toner as #rrggbb, by its name.

    >>> from refinishlib.shop.shop import load
    >>> inks(load().picked("jet black", "white"))
    {'jet black': '#030405', 'white': '#f0f1f1'}
    """
    return {toner.name: toner.ink or computed_ink(toner) for toner in toners}


@cache
def computed_ink(toner: Toner) -> str:
    """The screen colour of a toner, computed.

    >>> from refinishlib.shop.shop import load
    >>> computed_ink(load().toner("jet black"))
    '#030405'
    """
    from refinishlib.colour import predict
    from refinishlib.colour.conditions import Conditions
    from refinishlib.colour.optics import mixture

    card = Conditions(film_um=COAT_UM, undercoat=CARD_LIGHTNESS, angles_deg=(STRAIGHT_DEG,))
    return on_screen(predict.lab(mixture((toner,), [1.0]), card)[0, 0])


def on_screen(lab: NDArray[np.float64]) -> str:
    """A colour under daylight as #rrggbb, cut off where a screen ends.

    lab : CIELAB, (3,), D65 and 10 degree observer
    """
    from refinishlib.colour import weights
    from refinishlib.colour.lamp import d65
    from refinishlib.picture.screen import encode, screen_matrix

    white = weights.weights(d65()).sum(axis=0)
    rgb, _ = encode(screen_matrix(white) @ weights.tristimulus_from_lab(np.asarray(lab), white))
    return "#" + "".join(f"{channel:02x}" for channel in rgb.tolist())
