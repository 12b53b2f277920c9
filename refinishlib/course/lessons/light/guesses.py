"""What is guessed before each idea of the lesson on light, and the live picture that answers it."""

from __future__ import annotations

from refinishlib.bench.fields import choice_field, slider_field
from refinishlib.colour import weights
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.fitness import edge_to_edge, metameric_pairs, parted, report
from refinishlib.colour.lamp import DAYLIGHT_LAMP, lamp
from refinishlib.colour.optics import of_formula
from refinishlib.colour.predict import lab
from refinishlib.course.guess import Guess, moving
from refinishlib.course.lessons.light import figures
from refinishlib.course.lessons.light.job import FLOP, from_the_door, renders
from refinishlib.shop.shop import Shop

SILVERS = (
    "Millrace Silver, coarser",
    "Millrace Silver, warmer",
    "Millrace Silver, lighter",
    "Millrace Silver, darker",
    "Millrace Silver, darker flop",
    "Millrace Silver, lighter flop",
)
SHOWN = ("Kiln Red, as built", "Tarn Evening, as built", "Copper Lane, as built", "Kingfisher Pool, as built")
NAMED = [(words, name) for name, words in figures.CALLED.items()]

SOURCES = {
    "SILVERS": "definition",
    "SHOWN": "definition",
    "NAMED": "definition",
}


def _pair(shop: Shop) -> tuple[str, str]:
    by_day, by_tube = (
        float(
            ciede2000(*(weights.lab(spectra[figures.PAIR], [lamp(name)]) for spectra in metameric_pairs(lamp("FL11"))))[
                0
            ]
        )
        for name in ("D65", "FL11")
    )
    happens = "no, not by day" if by_day > edge_to_edge() >= by_tube else "yes"
    return happens, f"Under the tube they are {by_tube:.2f} apart. By day they are {by_day:.2f} apart."


def _render(shop: Shop) -> tuple[str, str]:
    happens = "yes" if parted(lamp("A")) <= edge_to_edge() else "no"
    return happens, f"It renders {renders('A'):.0f}. But pairs that match by day part by {parted(lamp('A')):.2f} in it."


def _door(shop: Shop) -> tuple[str, str]:
    found = from_the_door(figures.DOOR)
    happens = "yes, half of it is right" if found <= edge_to_edge() else "no"
    return happens, f"Pairs part by {found:.2f} in it. Allowed is {edge_to_edge():.2f}."


def _small(shop: Shop) -> tuple[str, str]:
    far, near = (report(lamp(DAYLIGHT_LAMP), illuminance_lx=lux).fit for lux in (300.0, 1500.0))
    happens = "close to the panel" if near and not far else "anywhere"
    return happens, "At 1500 lx it may decide. At 300 lx it is too dim, as good as its light is."


def _flop(shop: Shop) -> tuple[str, str]:
    panel, sprayed = (lab(of_formula(shop.colour(name)))[0] for name in (figures.SILVER, figures.DARKER_FLOP))
    off = ciede2000(panel, sprayed).tolist()
    happens = "on the flop" if off.index(max(off)) in FLOP else "on the face"
    return happens, f"On the face it is {off[0]:.2f} off. On the flop it is {off[4]:.2f} off."


GUESSES = {
    "pair": Guess(
        "Two paints are alike under the shop's tube. Are they alike by day?",
        ("yes", "no, not by day"),
        _pair,
        lambda shop: moving(
            figures.pair, choice_field("Light", NAMED, "FL11"), choice_field("Seen by an eye that is", figures.EYES)
        ),
    ),
    "render": Guess(
        "A bulb renders colours as well as any lamp can. May it decide a match?",
        ("yes", "no"),
        _render,
        lambda shop: moving(lambda name: figures.lamps(shop, name), choice_field("Lamp", NAMED, "A")),
    ),
    "door": Guess(
        "The old tubes burn. The door is open, so half of the light is daylight. May you judge?",
        ("yes, half of it is right", "no"),
        _door,
        lambda shop: moving(
            lambda percent: figures.door(shop, percent),
            slider_field("Daylight", 0, 100, figures.DOOR, step=10, unit="%"),
        ),
    ),
    "small": Guess(
        "You have a small daylight lamp. Where may it decide a match?",
        ("close to the panel", "anywhere"),
        _small,
        lambda shop: moving(
            lambda name, lux: figures.bright(shop, name, lux),
            choice_field("Lamp", NAMED, DAYLIGHT_LAMP),
            slider_field("At the panel", 200, 4200, 1000, step=400, unit="lx"),
        ),
    ),
    "flop": Guess(
        "A silver card has a darker flop than the panel. Where does it show?",
        ("on the face", "on the flop"),
        _flop,
        lambda shop: moving(
            lambda title: figures.angles(shop, title), choice_field("Card", SILVERS, figures.DARKER_FLOP)
        ),
    ),
    "eye": Guess(
        "One man in twelve has a weak eye for red or green. Can he judge a colour at work?",
        ("no", "yes, by numbers and words"),
        lambda shop: (
            "yes, by numbers and words",
            "Numbers and words say the same to every eye. The picture shows what he sees.",
        ),
        lambda shop: moving(
            figures.eye, choice_field("Colour", SHOWN), choice_field("Seen by an eye that is", figures.EYES, "red-weak")
        ),
    ),
}
