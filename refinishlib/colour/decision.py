"""When to stop: what can be done with a card, what each gains and costs, and the one that is chosen with its reason.

Leave it, measure or spray it again, add toner, mix the next variant, fade it: each is promised a verdict by the one
rule of `refinishlib.colour.tolerance`. What goes edge to edge comes before what only a fade can take; among equals the
cheapest comes first, in paint and in cards. What changes no verdict is not done.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import doubt, optics, predict, reading, tint, tolerance, weights
from refinishlib.colour.conditions import USUAL, Conditions
from refinishlib.colour.doubt import Doubted
from refinishlib.colour.film import Layer
from refinishlib.colour.hand import Hand
from refinishlib.colour.reading import Reading
from refinishlib.colour.spray_or_pour import Told, told_apart
from refinishlib.colour.stage import USUAL_COATS, Stage
from refinishlib.colour.tint import Correction, Pourable
from refinishlib.colour.tolerance import EDGE, FADE, NOT_YET, VERDICTS, Ruling, Tolerance
from refinishlib.colour.verdict import because
from refinishlib.entry import number, numbers
from refinishlib.mixing.rescue import price_per_gram
from refinishlib.shop.paint import Formula, Toner

MINUTES = 60.0
CARD_G = 30.0
CARD_MINUTES = 25.0
PRICE_PER_HOUR = 60.0
DONE = ("leave it", "measure again", "spray it again", "add", "mix a variant", "fade it", "start again")

SOURCES = {
    "MINUTES": "definition: in an hour",
    "CARD_G": "teaching value: paint for one stepped card",
    "CARD_MINUTES": "teaching value: to spray, flash, clear and read one card",
    "PRICE_PER_HOUR": "teaching value: of a painter's hour, in the shop's own money",
    "DONE": "definition: what can be done; the words are ours",
}


@dataclass(frozen=True)
class Costs:
    """What a proof costs. card_g : paint for a card. card_minutes : of work. price_per_hour : in the shop's money."""

    card_g: float = CARD_G
    card_minutes: float = CARD_MINUTES
    price_per_hour: float = PRICE_PER_HOUR

    def __post_init__(self) -> None:
        number("paint for a card", self.card_g, low=0, unit="g")
        number("minutes for a card", self.card_minutes, low=0, unit="min")
        number("price of an hour", self.price_per_hour, low=0)

    def price(self, paint: float, cards: int) -> float:
        """Of paint and of the work for some cards."""
        # work = minutes / 60 x price of an hour
        return paint + cards * self.card_minutes / MINUTES * self.price_per_hour


@dataclass(frozen=True)
class Option:
    """One thing that can be done.

    what : one of DONE
    promised : the verdict that it should bring
    paint_g : paint that it takes, cards included
    cards : that must be sprayed before it is known
    price : of paint and cards, in the shop's own money
    why : in sentences
    name : of the variant, where there is one
    """

    what: str
    promised: Ruling
    paint_g: float
    cards: int
    price: float
    why: str
    name: str = ""


@dataclass(frozen=True, eq=False)
class Decision:
    """What to do, and why.

    chosen : the option that is taken
    options : all that were weighed, best first
    card : the verdict on the card, with its doubt
    sureness : the same for what the chosen one promises, with what a hand and a balance scatter; None where nothing
        is sprayed or poured
    cause : whether it was sprayed or poured wrong
    correction : what toner would do
    why : the reason, in sentences
    """

    chosen: Option
    options: tuple[Option, ...]
    card: Doubted
    sureness: Doubted | None
    cause: Told
    correction: Correction
    why: str


def decide(
    formula: Formula,
    cup_g: ArrayLike,
    card: Reading,
    panel: Reading,
    *,
    variants: Sequence[Formula] = (),
    others: Sequence[Toner] = (),
    allowed: Tolerance | None = None,
    fade_planned: bool = False,
    fade_hides: bool = True,
    hand: Hand | None = None,
    costs: Costs | None = None,
    pourable: Pourable | None = None,
    hardener_g: float = 0.0,
    below: Sequence[Layer] = (),
    above: Sequence[Layer] = (),
    conditions: Conditions = USUAL,
    seed: int = 0,
) -> Decision:
    """The decision on a card.

    Parameters
    ----------
    formula, cup_g : what was mixed, and grams of each of its toners in the cup, (toners,)
    card, panel : readings; the angles that both have count
    variants : other formulas of the colour that could be mixed instead
    others, pourable, hardener_g, below, above : as for `tint.correct`
    allowed : the tolerance for the formula's kind if not given
    fade_planned : the panel is blended anyway, so that what a fade can take is enough
    fade_hides : of `blend.shortest`, whether some length hides this difference
    hand, costs : the painter's scatter; what a proof costs
    conditions : of the card
    seed : where the dice start

    Raises
    ------
    BadEntry : as `tint.correct`

    >>> from refinishlib.shop.shop import load
    >>> shop = load()
    >>> barn, cup = shop.colour("Chalk Barn, as built"), np.array([192.8, 4.8, 1.4, 1.0])
    >>> card, panel = (
    ...     reading.from_spectra(predict.reflectance(optics.mixture(barn.toners, grams)))
    ...     for grams in (cup, cup + [0, 2.4, 0.8, 0])
    ... )
    >>> made = decide(barn, cup, card, panel)
    >>> made.chosen.what, made.correction.pour.names
    ('add', ('yellow oxide', 'soft black'))
    """
    card, panel = reading.in_common(card, panel)
    cup = numbers("grams in the cup", cup_g, low=0, unit="g", shape=(len(formula.toners),))
    limits = allowed or tolerance.of_kind(formula.kind)
    at = replace(conditions, angles_deg=card.angles_deg)
    spends = costs or Costs()
    read = doubt.doubted(panel, card, limits, seed=seed)
    cause = told_apart(
        formula.toners, cup, card, panel, allowed=limits, pourable=pourable, below=below, above=above, conditions=at
    )
    correction = tint.correct(
        formula.toners, cup, card, panel, others=others, allowed=limits, fade_planned=fade_planned, pourable=pourable,
        hardener_g=hardener_g, below=below, above=above, conditions=at,
    )  # fmt: skip
    ruling = correction.ruling
    enough = VERDICTS.index(FADE if fade_planned else EDGE)
    per_gram = _price_per_gram(formula)
    card_price = spends.price(per_gram * spends.card_g, 1)

    options = []
    if read.said == doubt.MEASURE_AGAIN:
        why = f"{read.why} {read.buys[0].what.capitalize()} first."
        options.append(Option("measure again", ruling, 0.0, 0, 0.0, why))
    if VERDICTS.index(ruling.verdict) <= enough:
        options.append(Option("leave it", ruling, 0.0, 0, 0.0, f"The card {ruling.verdict}. {_worst(ruling)}"))
    elif ruling.verdict == FADE and fade_hides:
        why = f"{_worst(ruling)} A fade can take that, on this panel and its neighbours."
        options.append(Option("fade it", ruling, 0.0, 0, 0.0, why))
    wrongly_sprayed = cause.decision.startswith("spray it again")
    if wrongly_sprayed or cause.decision == "cannot tell":
        options.append(Option("spray it again", cause.respray, spends.card_g, 1, card_price, cause.why))
    # What was sprayed wrong is not mended with toner; another variant is only asked where spraying alone does not do.
    if correction.pour.toners and not wrongly_sprayed:
        paint_g, price = correction.pour.surplus_g + spends.card_g, card_price + correction.pour.price
        options.append(Option("add", correction.promised, paint_g, 1, price, correction.why))
    if not (wrongly_sprayed and cause.respray.verdict == EDGE):
        mix_g = float(cup.sum()) + spends.card_g
        for other, lab in _moved(formula, variants, card, below, above, at):
            promised = tolerance.rule(limits.apart(panel.lab, lab), card.angles_deg, limits)
            price = spends.price(_price_per_gram(other) * mix_g, 1)
            why = f"{other.title}: {because(promised, card.angles_deg, panel.lab, lab)}"
            options.append(Option("mix a variant", promised, mix_g, 1, price, why, other.title))
    options.sort(key=_order)
    if not options or (options[0].promised.verdict == NOT_YET and not wrongly_sprayed):
        options.insert(0, _start_again(ruling, correction))
    chosen, sureness = options[0], None
    if chosen.what in ("add", "spray it again"):
        then = replace(card, lab=correction.pour.lab[0] if chosen.what == "add" else cause.lab, reflectance=None)
        scatters = (doubt.of_spraying(_finish(formula, cup, below, above, at), hand, conditions=at),)
        sureness = doubt.doubted(panel, then, limits, scatters=scatters, seed=seed)
    told = f" The chance that it then {sureness.verdict} is {100 * sureness.right:.0f} of 100." if sureness else ""
    return Decision(chosen, tuple(options), read, sureness, cause, correction, chosen.why + told)


def _order(option: Option) -> tuple[int, int, float]:
    """A doubtful reading first, then by the verdict promised, then by price."""
    return int(option.what != "measure again"), VERDICTS.index(option.promised.verdict), option.price


def _start_again(ruling: Ruling, correction: Correction) -> Option:
    less = f" Mix anew with less {' and '.join(correction.cannot_undo)}." if correction.cannot_undo else ""
    return Option("start again", ruling, 0.0, 0, 0.0, f"Nothing that was tried brings it in. {correction.why}{less}")


def _worst(ruling: Ruling) -> str:
    return (
        f"Its worst angle is {ruling.worst_deg} degrees: {ruling.worst:.2f}, and {ruling.limit:.2f} goes edge to edge."
    )


def _price_per_gram(formula: Formula) -> float:
    prices = [price_per_gram(tin.price_per_litre, tin.density_g_per_ml) for tin in formula.toners]
    return float(np.average(prices, weights=formula.weights))


def _moved(
    formula: Formula,
    variants: Sequence[Formula],
    card: Reading,
    below: Sequence[Layer],
    above: Sequence[Layer],
    at: Conditions,
) -> list[tuple[Formula, NDArray[np.float64]]]:
    """Each variant with the CIELAB (angles, 3) of a card of it: this card, moved as the formulas differ."""
    others = [one for one in variants if one != formula]
    if not others:
        return []
    now, *then = (
        weights.lab(predict.of_layers((*below, Layer(optics.of_formula(one), at.film_um), *above), at))[0]
        for one in (formula, *others)
    )
    return [(one, card.lab + lab - now) for one, lab in zip(others, then, strict=True)]


def _finish(
    formula: Formula, cup: NDArray[np.float64], below: Sequence[Layer], above: Sequence[Layer], at: Conditions
) -> list[Stage]:
    """The coats as the painter's hand lays them."""
    coat = Layer(optics.mixture(formula.toners, cup), at.film_um)
    return [
        Stage(layer.mixture, USUAL_COATS, float(np.asarray(layer.film_um)) / USUAL_COATS)
        for layer in (*below, coat, *above)
    ]
