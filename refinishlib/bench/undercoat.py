"""Undercoat and coats: the grey that hides fastest, how it is mixed, and what the card's grey does to the job."""

from __future__ import annotations

from functools import cache

from refinishlib.bench.calculator import Calculator, Reply
from refinishlib.bench.fields import choice_field, slider_field
from refinishlib.colour.conditions import USUAL
from refinishlib.colour.hiding import BestGrey, card_shift, coats_to_hide, fewest_coats, show_through
from refinishlib.colour.optics import of_formula
from refinishlib.colour.tolerance import of_kind, rule
from refinishlib.colour.undercoat import SealerMix, sealer_for
from refinishlib.picture.bars import Bar, bars
from refinishlib.shop.shop import Shop, load
from refinishlib.units import show as printed

COLOUR = "Kiln Red, as built"
GREY, CARD_GREY = 50, 62
DARKEST, LIGHTEST, GREY_STEP = 36, 90, 2
MOST_SHOWN = 5

SOURCES = {
    "COLOUR": "definition",
    "GREY": "teaching value: where the sliders stand first",
    "CARD_GREY": "teaching value: where the sliders stand first",
    "DARKEST": "teaching value: about the range of the demo's sealers",
    "LIGHTEST": "teaching value: about the range of the demo's sealers",
    "GREY_STEP": "teaching value: what a slider moves by",
    "MOST_SHOWN": "teaching value: coats that a picture shows",
}


def UndercoatAndCoats(
    colour: str = COLOUR, grey: float = GREY, *, remember: bool = True, shop: Shop | None = None
) -> Calculator:
    """Undercoat and coats as a widget, beginning with this colour over this grey.

    >>> calculator = UndercoatAndCoats(remember=False)
    >>> calculator.shown.figure, calculator.shown.hands["coats"]
    ('5 coats over L* 50', '5')
    """
    here = shop or load()
    formulas = {one.title: one for one in here.colours}

    @cache
    def quickest(title: str) -> BestGrey | None:
        return fewest_coats(of_formula(formulas[title]))

    @cache
    def mixed(lightness: float) -> SealerMix:
        return sealer_for(here.sealers, lightness)

    @cache
    def coats_over(title: str, lightness: float) -> int | None:
        return coats_to_hide(of_formula(formulas[title]), lightness)

    def show(colour: str, grey: float, card: float) -> Reply:
        formula, paint = formulas[colour], of_formula(formulas[colour])
        coats, best = coats_over(colour, grey), quickest(colour)
        summary = f"{colour}, L* {grey:g}, card on L* {card:g}"
        shows = [float(show_through(paint, grey, coats=count).max()) for count in range(1, MOST_SHOWN + 1)]
        picture = bars(
            [
                Bar(
                    f"{count} coat{'s' if count > 1 else ''}",
                    value,
                    f"{value:.2f} shows",
                    look="plain" if coats is not None and count >= coats else "soft",
                )
                for count, value in enumerate(shows, 1)
            ],
            f"What L* {grey:g} still does to the colour, CIEDE2000 at its worst angle",
        )
        fastest = (
            f"The fewest coats need L* {best.lightness:.0f}: {best.coats}."
            if best
            else "It hides over no grey: it is a mid coat, and its ground coat decides."
        )
        mix = mixed(grey)
        sealer = (
            f"For 100 g of sealer of L* {grey:g}: white {printed(mix.white_g, 'g')}, "
            f"black {printed(mix.black_g, 'g')}, {mix.coats} coat{'s' if mix.coats > 1 else ''}."
        )
        if coats is None:
            return Reply(
                "Does not hide",
                lead=f"{colour} over L* {grey:g}:",
                reason=fastest,
                picture=picture,
                about=f"<p>{sealer}</p>",
                text=f"{summary}: does not hide. {fastest}",
                summary=summary,
                tasks=("sealer", "flash the sealer"),
            )
        apart = card_shift(paint, card, grey, coats=coats)
        limits = of_kind(formula.kind)
        ruling = rule(apart, tuple(int(angle) for angle in USUAL.angles_deg), limits)
        beside = (
            "Card and job carry the same grey: the card tells the truth."
            if card == grey
            else f"A card on L* {card:g} with {coats} coats differs from the job by {ruling.worst:.2f} at "
            f"{ruling.worst_deg} degrees: it {ruling.verdict}."
        )
        return Reply(
            figure=f"{coats} coat{'s' if coats > 1 else ''} over L* {grey:g}",
            lead=f"{colour}:",
            reason=f"Then the grey no longer shows at any angle. {fastest}",
            picture=picture,
            about=f"<p><b>Sealer.</b> {sealer}</p><p><b>Card against job.</b> {beside}</p>",
            text=f"{colour}: {coats} coats over L* {grey:g}. {sealer} {fastest} {beside}",
            summary=summary,
            tasks=("sealer", "flash the sealer", "spray the stepped card"),
            hands={"colour": colour, "undercoat": f"{grey:g}", "coats": f"{coats}"},
        )

    fields = {
        "colour": choice_field("Colour", list(formulas), colour),
        "grey": slider_field("Undercoat of the job, L*", DARKEST, LIGHTEST, grey, step=GREY_STEP),
        "card": slider_field("Undercoat of the card, L*", DARKEST, LIGHTEST, CARD_GREY, step=GREY_STEP),
    }
    return Calculator(
        "undercoat",
        "Undercoat and coats",
        fields,
        show,
        carries={"colour": "colour", "undercoat": "grey"},
        remember=remember,
    )
