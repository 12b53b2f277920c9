"""What is guessed before each idea of the undercoat lesson, and the live picture that answers it."""

from __future__ import annotations

import ipywidgets as widgets

from refinishlib.bench.fields import choice_field, slider_field
from refinishlib.colour.conditions import COAT_UM
from refinishlib.colour.hiding import fewest_coats
from refinishlib.colour.optics import of_formula
from refinishlib.colour.tolerance import EDGE
from refinishlib.colour.undercoat import sealer_for
from refinishlib.course.guess import Guess, moving
from refinishlib.course.lessons.undercoat import figures
from refinishlib.course.lessons.undercoat.job import Sprayed, coats, off_cleared, ruling
from refinishlib.shop.shop import Shop

SHOWN = (
    "Kiln Red, as built",
    "Chalk Barn, as built",
    "Lichen Row, as built",
    "Millrace Silver, as built",
    "Copper Lane, as built",
    "Kingfisher Pool, as built",
    "Heron Glint, as built",
)
DARK_UP_TO, LIGHT_FROM = 45.0, 70.0
MUCH, LITTLE = 20.0, 3.0

SOURCES = {
    "SHOWN": "teaching value: one of each kind, from hiding to transparent",
    "DARK_UP_TO": "teaching value: what is called a dark grey here",
    "LIGHT_FROM": "teaching value: what is called a light grey here",
    "MUCH": "definition: grams, between what is offered to guess",
    "LITTLE": "definition: grams, between what is offered to guess",
}


def _ground(shop: Shop) -> tuple[str, str]:
    number = {grey: coats(shop.colour(figures.RED), grey, COAT_UM) or 0 for grey in (figures.LIGHT, figures.MIDDLE)}
    light, middle = number[figures.LIGHT], number[figures.MIDDLE]
    happens = "over the light grey" if light > middle else "over the middle grey" if light < middle else "as many"
    return happens, f"It takes {light} coats over the light grey, and {middle} over the middle one."


def _grey(shop: Shop) -> tuple[str, str]:
    best = fewest_coats(of_formula(shop.colour(figures.RED)))
    assert best is not None
    happens = (
        "a dark grey"
        if best.lightness < DARK_UP_TO
        else "a light grey"
        if best.lightness > LIGHT_FROM
        else "a middle grey"
    )
    many = f"{best.coats} coat{'s' if best.coats > 1 else ''}"
    return happens, f"Over L* {best.lightness:.0f} it hides in {many}. No other grey does better."


def _card(shop: Shop) -> tuple[str, str]:
    found = ruling(Sprayed(shop.colour(figures.RED), figures.CARD, figures.JOB, 2))
    happens = "yes: clear hides it" if found.verdict == EDGE else "no: it is another colour there"
    return happens, f"They are {found.worst:.2f} apart. Up to {found.limit:.2f} goes edge to edge."


def _bare(shop: Shop) -> tuple[str, str]:
    bare, wiped = (off_cleared(shop.colour(figures.RED), look) for look in ("bare", "wiped"))
    happens = (
        "no, but it comes nearer" if 0 < wiped < bare else "yes: it is the same" if wiped == 0 else "no, it is worse"
    )
    return (
        happens,
        f"Bare base is {bare:.1f} away from the cleared card. Wet with solvent it is still {wiped:.1f} away.",
    )


def _sealer(shop: Shop) -> tuple[str, str]:
    mix = sealer_for(shop.sealers, figures.SEALER_GREY, mass_g=figures.SEALER_G)
    happens = "about 40 g" if mix.black_g > MUCH else "about 5 g" if mix.black_g > LITTLE else "less than 1 g"
    return happens, f"It takes {mix.black_g:.1f} g of black. Black is strong."


def _watch_card(shop: Shop) -> widgets.Widget:
    return moving(
        lambda title, card, job, count: figures.card(shop, title, card, job, int(count)),
        choice_field("Colour", SHOWN, figures.RED),
        slider_field("Under the card, L*", 36, 84, figures.CARD, step=8),
        slider_field("Under the job, L*", 36, 84, figures.JOB, step=8),
        slider_field("Coats", 1, 4, 2),
    )


GUESSES = {
    "ground": Guess(
        "Kiln Red goes on a light grey, and on a middle grey. Where does it need more coats?",
        ("over the light grey", "over the middle grey", "as many"),
        _ground,
        lambda shop: moving(
            lambda title, grey: figures.ground(shop, title, grey),
            choice_field("Colour", SHOWN, figures.RED),
            slider_field("Under it, L*", 36, 84, figures.LIGHT, step=8),
        ),
    ),
    "grey": Guess(
        "Over which grey does Kiln Red hide in the fewest coats?",
        ("a dark grey", "a middle grey", "a light grey"),
        _grey,
        lambda shop: moving(
            lambda title, count: figures.greys(shop, title, int(count)),
            choice_field("Colour", SHOWN, figures.RED),
            slider_field("Coats", 1, 5, 2),
        ),
    ),
    "card": Guess(
        "The card carries L* 62, the job L* 40. Both get two coats of red and clear. Does the card tell the truth?",
        ("yes: clear hides it", "no: it is another colour there"),
        _card,
        _watch_card,
    ),
    "bare": Guess(
        "The base is dry, with no clear. You wet it with solvent. Do you see now what clear will show?",
        ("yes: it is the same", "no, but it comes nearer", "no, it is worse"),
        _bare,
        lambda shop: moving(lambda title: figures.bare(shop, title), choice_field("Colour", SHOWN, figures.RED)),
    ),
    "sealer": Guess(
        "You want 100 g of a middle grey sealer, L* 60. How much black goes into the white?",
        ("about 40 g", "about 5 g", "less than 1 g"),
        _sealer,
        lambda shop: moving(
            lambda lightness: figures.sealer(shop, lightness),
            slider_field("Grey, L*", 36, 84, figures.SEALER_GREY, step=4),
        ),
    ),
}
