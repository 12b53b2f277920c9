"""Tint: what each toner does to the mix, what to add, how close it gets, what it costs, and when to stop."""

from __future__ import annotations

from functools import cache

from refinishlib.bench.calculator import Calculator, Reply
from refinishlib.bench.fields import choice_field, text_field
from refinishlib.colour import predict, words
from refinishlib.colour.decision import Decision, decide
from refinishlib.colour.effects import Effect, chart
from refinishlib.colour.optics import of_formula
from refinishlib.colour.reading import Reading, at_angles, from_spectra
from refinishlib.entry import BadEntry
from refinishlib.mixing.scale import LARGEST_MIX_G, to_mass
from refinishlib.picture.bars import Bar, bars
from refinishlib.picture.table import html_table
from refinishlib.shop.shop import Shop, load
from refinishlib.units import parse
from refinishlib.units import show as printed

COLOUR, PANEL, SAID = "Kiln Red, as built", "what my eye says", "darker"
CUP = "200 g"
EYE_SAYS = "What the eye says of the card"
LARGEST_SHOWN = 6

SOURCES = {
    "COLOUR": "definition",
    "PANEL": "definition",
    "SAID": "teaching value: a difference that a painter would tint for",
    "EYE_SAYS": "definition",
    "CUP": "teaching value: a mix for one card and one panel",
    "LARGEST_SHOWN": "teaching value: toners that a picture shows",
}
# What the decision calls it, and how it is said here.
SAYS = {
    "leave it": "Leave it",
    "fade it": "Leave it, and fade it",
    "add": "Add toner",
    "spray it again": "Spray the card again",
    "mix a variant": "Mix another variant",
    "measure again": "Measure again",
    "start again": "Start again",
}


def Tint(
    colour: str = COLOUR, panel: str = PANEL, said: str = SAID, *, remember: bool = True, shop: Shop | None = None
) -> Calculator:
    """Tinting as a widget: a cup of this colour, against words of the eye or against another colour of the shop.

    >>> calculator = Tint(remember=False)
    >>> calculator.shown.lead
    'Kiln Red, as built, in the cup 200 g:'
    """
    here = shop or load()
    formulas = {one.title: one for one in here.colours}

    @cache
    def sprayed(title: str) -> Reading:
        return from_spectra(predict.reflectance(of_formula(formulas[title])), name=title)

    @cache
    def effects(title: str, cup_g: float) -> tuple[Effect, ...]:
        formula = formulas[title]
        return chart(formula.toners, to_mass(formula.parts, cup_g).own_g)

    @cache
    def decided(title: str, cup_g: float, panel: str, said: str) -> Decision:
        formula, card = formulas[title], sprayed(title)
        if panel == PANEL:
            reference = words.from_words(card, said)
            card = at_angles(words.beside(card), reference.angles_deg)
        else:
            reference = sprayed(panel)
        others = [one for one in here.colours if one.name == formula.name and one.variant != formula.variant]
        return decide(formula, to_mass(formula.parts, cup_g).own_g, card, reference, variants=others)

    def show(colour: str, cup: float, panel: str, said: str) -> Reply:
        made = decided(colour, cup, panel, said if panel == PANEL else "")
        pour = made.correction.pour
        adds = ", ".join(f"{printed(grams, 'g')} {name}" for name, grams in zip(pour.names, pour.add_g, strict=True))
        chosen = made.chosen
        head = SAYS.get(chosen.what, chosen.what)
        figure = {"add": adds, "mix a variant": chosen.name}.get(chosen.what, head)
        does = effects(colour, cup)
        table = html_table(
            ("what to do", "it then", "paint", "cost"),
            [
                (
                    f"{SAYS.get(one.what, one.what)}{f': {one.name}' if one.name else ''}",
                    one.promised.verdict,
                    printed(one.paint_g, "g", decimals=0),
                    f"{one.price:.2f}",
                )
                for one in made.options[:LARGEST_SHOWN]
            ],
            caption="Weighed, the best first",
        )
        pulls = html_table(
            ("toner", "one per cent more of it makes the colour"),
            [(one.toner.name, "; ".join(one.words) or "no different") for one in does],
            caption="What each toner does here",
        )
        return Reply(
            figure=figure,
            lead=f"{colour}, in the cup {cup:g} g:",
            reason=made.why if chosen.what != "add" else f"Add it. {made.why}",
            picture=bars(
                [
                    Bar(one.toner.name, float(one.apart.max()), f"{float(one.apart.max()):.2f}")
                    for one in does[:LARGEST_SHOWN]
                ],
                "How far one per cent more moves the colour, CIEDE2000",
            ),
            detail=f'<div class="refinish-words">{table}</div>',
            about=f'<div class="refinish-words">{pulls}</div><p>{made.cause.why}</p>',
            text=f"{colour}, {cup:g} g: {head}{f' {adds}' if chosen.what == 'add' else ''}. {made.why}",
            summary=f"{colour}, {cup:g} g, {said if panel == PANEL else panel}",
            tasks=("mix", "spray the stepped card"),
            hands={"colour": colour},
        )

    fields = {
        "colour": choice_field("In the cup", list(formulas), colour),
        "cup": text_field("How much is in the cup", _mass, CUP, hint="Such as 200 g or 7 oz."),
        "panel": choice_field("The panel is", [PANEL, *formulas], panel),
        "said": text_field(
            "What the eye says of the card", _said, said, hint="Such as: a little lighter, flop darker."
        ),
    }
    return Calculator(
        "tint",
        "Tint",
        fields,
        show,
        names={"words": "said", "place": "said", "grams in the cup": "cup", "wanted mass": "cup"},
        carries={"colour": "colour"},
        remember=remember,
    )


def _mass(text: str) -> float:
    return parse(text, "mass", field="How much is in the cup", low=1, high=LARGEST_MIX_G)


def _said(text: str) -> str:
    if not text.strip():
        raise BadEntry(f"{EYE_SAYS}: nothing was given, allowed are words such as 'a little lighter' or 'the same'.")
    return text.strip()
