"""The colour of a paint on a screen: what the colour engine computes, the same by day and by night.

A toner is shown as one coat drawn down on a white card, looked at straight under daylight. In the depth of a tin most
toners are near black, and nobody could tell them apart.

The inks of the shop's own toners are written down here as the engine computed them, since a mix sheet needs them at
once and the engine takes a second or two to load; a test holds them against the engine. Any other toner is computed.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from refinishlib.shop.paint import Toner
from refinishlib.shop.shop import load

STRAIGHT_DEG = 45.0
CARD_LIGHTNESS = 95.0
COAT_UM = 6.0

INKS = {
    "white": "#f0f1f1", "jet black": "#030405", "soft black": "#181615", "deep blue": "#001e67",
    "bright blue": "#008ec6", "violet": "#2f0067", "green": "#008736", "clean yellow": "#ffce00",
    "yellow oxide": "#c95f29", "red oxide": "#872f31", "warm red": "#b10b24", "rose": "#9e0099",
    "transparent red": "#c5165e", "transparent oxide": "#c14a00", "fine silver": "#a6a7a7",
    "medium silver": "#a9aaaa", "coarse silver": "#9e9f9f", "white pearl": "#dadada", "blue pearl": "#e0d8d4",
}  # fmt: skip
OTHER_INKS = ("#7f8a94", "#a9a08c", "#6f7f6b", "#8b7a8f")

SOURCES = {
    "STRAIGHT_DEG": "definition: the middle of the angles that a panel is read at",
    "CARD_LIGHTNESS": "teaching value: CIELAB L* of a white card",
    "COAT_UM": "teaching value: dry film of one coat of the shop's base, as its product sheets say",
    "INKS": "definition: what `toner_ink` computes for the shop's own toners",
    "OTHER_INKS": "invented for the demo: for a component that is no toner of the shop",
}


def ink(name: str) -> str:
    """The screen colour of a toner as #rrggbb; a grey that stays the same for anything that is no toner.

    >>> ink("jet black"), ink("hardener") == ink("hardener")
    ('#030405', True)
    """
    if name in INKS:
        return INKS[name]
    known = {toner.name: toner for toner in load().toners}
    return toner_ink(known[name]) if name in known else OTHER_INKS[sum(map(ord, name)) % len(OTHER_INKS)]


@cache
def toner_ink(toner: Toner) -> str:
    """The screen colour of a toner, computed.

    >>> toner_ink(load().toner("jet black"))
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
