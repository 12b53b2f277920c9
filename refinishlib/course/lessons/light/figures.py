"""The pictures of the lesson on light: a pair that parts, lamps beside each other, a door, an eye, a reading."""

from __future__ import annotations

from functools import lru_cache

from refinishlib.colour import fitness, weights
from refinishlib.colour.fitness import edge_to_edge, metameric_pairs, parted
from refinishlib.colour.lamp import DAYLIGHT_LAMP, lamp
from refinishlib.colour.optics import of_formula
from refinishlib.colour.predict import lab
from refinishlib.colour.verdict import direction
from refinishlib.course.lessons.light.job import ANGLES, from_the_door, renders
from refinishlib.picture.bars import Bar, bars
from refinishlib.picture.screen import figure
from refinishlib.picture.swatch import card, side_by_side
from refinishlib.picture.vision import seen_by
from refinishlib.shop.shop import Shop

LAMPS = ("D65", DAYLIGHT_LAMP, "LED-B5", "LED-B3", "FL2", "FL11", "A")
CALLED = {
    "D65": "daylight",
    DAYLIGHT_LAMP: "daylight lamp",
    "LED-B5": "cool LED",
    "LED-B3": "neutral LED",
    "FL2": "plain tube",
    "FL11": "shop's tube",
    "A": "bulb",
}
NORMAL = "normal"
EYES = (NORMAL, "red-weak", "green-weak", "blue-weak")
PAIR = 4
DOOR = 50
RED, GREEN, SILVER = "Kiln Red, as built", "Lichen Row, as built", "Millrace Silver, as built"
DARKER_FLOP = "Millrace Silver, darker flop"
SMALL = 120

SOURCES = {
    "LAMPS": "common practice, no source: lamps as shops have them",
    "CALLED": "definition",
    "NORMAL": "definition",
    "EYES": "definition",
    "PAIR": "teaching value: a pair that parts far",
    "DOOR": "teaching value: half of the light",
    "RED": "definition",
    "GREEN": "definition",
    "SILVER": "definition",
    "DARKER_FLOP": "definition",
    "SMALL": "definition: pixels",
}


@lru_cache(maxsize=32)
def pair(light: str = "FL11", eye: str = NORMAL) -> str:
    """Two paints that match under the shop's tube, in some other light, as some eye sees them."""
    burning = lamp(light)
    one, other = (weights.lab(spectra[PAIR], [burning]) for spectra in metameric_pairs(lamp("FL11")))
    picture = side_by_side(one, other, [CALLED[light]], lamps=[burning], height=SMALL)
    return figure(seen_by(picture, eye), short=True)


def lamps(shop: Shop, light: str = "A") -> str:
    """By how much pairs that match by day part under each lamp, one of them marked."""
    rows = [
        Bar(
            f"{CALLED[name]}, renders {renders(name):.0f}",
            parted(lamp(name)),
            f"{parted(lamp(name)):.2f}",
            look="plain" if name == light else "soft",
        )
        for name in LAMPS
    ]
    return bars(
        rows, "Pairs that match by day part by", limit=edge_to_edge(), limit_words=f"allowed {edge_to_edge():.2f}"
    )


def bright(shop: Shop, light: str, lux: float) -> str:
    """Whether a lamp may decide a match, where it gives so much light."""
    found = fitness.report(lamp(light), illuminance_lx=lux)
    least, most = fitness.BRIGHT_LX
    drawn = bars(
        [Bar(f"{CALLED[light]}, at the panel", lux, f"{lux:g} lx", look="plain" if found.bright else "warn")],
        "May it decide a match?",
        limit=least,
        limit_words=f"{least:g} to {most:g} lx are asked for",
    )
    parts = parted(lamp(light))
    allowed = "no more" if parts <= edge_to_edge() else "more"
    said = "Yes." if found.fit else "No."
    return f"{drawn}<p><b>{said}</b> In it pairs part by {parts:.2f}, {allowed} than {edge_to_edge():.2f}.</p>"


def door(shop: Shop, percent: float = DOOR) -> str:
    """Daylight from the door and the rest from old tubes: by how much pairs part that match by day."""
    found = from_the_door(percent)
    return bars(
        [Bar(f"{percent:g} % daylight", found, f"{found:.2f}", look="plain" if found <= edge_to_edge() else "warn")],
        "Pairs that match by day part by",
        limit=edge_to_edge(),
        limit_words=f"allowed {edge_to_edge():.2f}",
    )


@lru_cache(maxsize=16)
def eye(title: str = RED, seen: str = "red-weak") -> str:
    """A colour of the shop beside a green one, as an eye sees them."""
    from refinishlib.shop.shop import load

    shop = load()
    shown = [lab(of_formula(shop.colour(name)))[0, 2] for name in (title, GREEN)]
    picture = card(shown, [title, GREEN], height=SMALL)
    return figure(seen_by(picture, seen), short=True)


def angles(shop: Shop, card_title: str = DARKER_FLOP) -> str:
    """A silver panel and a card at each angle, in words and numbers."""
    from refinishlib.colour.difference import ciede2000

    panel, sprayed = (lab(of_formula(shop.colour(name)))[0] for name in (SILVER, card_title))
    rows = [
        Bar(f"{name}: the card is {direction(one, two)}", float(off), f"{float(off):.2f}")
        for name, one, two, off in zip(ANGLES, panel, sprayed, ciede2000(panel, sprayed), strict=True)
    ]
    return bars(rows, f"{card_title}, beside {SILVER}")
