"""The numbers of the mixing lesson: one apprentice's jobs at the bench."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from refinishlib.colour import pour_error
from refinishlib.course.draw import Draw
from refinishlib.mixing.ratio import by_ratio
from refinishlib.mixing.rescue import rescue
from refinishlib.mixing.scale import rounded, to_mass, to_volume
from refinishlib.shop.paint import Formula
from refinishlib.shop.product import hardener, reducer
from refinishlib.shop.shop import Shop

LEAST_SHARE = 0.045
MOST_SHARE = 0.45
LEAST_BEFORE = 0.3
LEAST_UNLIKE_FIRST = 0.4
LIGHTEST_HEAVY_PAINT = 1.15
BENCH_READABILITY_G = 0.1
ALLOWED_SHARE = 0.05
CUP_MARGINS = {"smaller": (0.85, 0.92), "larger": (1.15, 1.3)}
CUP_STEP_G = 10.0
TINTED = "tinted on the bench"
SLIPS = ("its own weight", "its parts", "the reading before it", "two digits turned round")
LEAST_SLIP_G = 8.0
LEAVES = (0.12, 0.42)
SHOWS = (0.62, 3.0)
SMALL_SLIP = 0.035
STANDS_OUT = 1.2
NEAR_A_RULE = 0.8
LEAST_OVER_POURED_G = 20.0
APART = 0.012
MANY_TONERS = 4
LEAST_GROWN = 1.08
# Lowest, highest and step of what is drawn; the unit stands in the name.
RANGES = {
    "wanted_g": (210, 890, 10),
    "wanted_ml": (250, 950, 50),
    "ready_ml": (350, 1250, 50),
    "tint_parts": (1, 8, 0.5),
    "care_wanted_g": (150, 450, 10),
    "care_over_g": (0.5, 9, 0.5),
    "scale_mix_g": (60, 160, 10),
    "card_g": (5, 200, 5),
    "area_m2": (0.8, 3.6, 0.1),
    "film_um": (10, 18, 1),
    "volume_solids": (0.16, 0.28, 0.02),
    "transfer_efficiency": (0.55, 0.65, 0.05),
    "waste": (0.10, 0.20, 0.05),
    "coats": (2, 3, 1),
    "pour_wanted_g": (220, 640, 20),
    "over_part": (0.15, 0.45, 0.01),
}

SOURCES = {
    "LEAST_SHARE": "teaching value: a smaller toner would hide mistakes in the rounding",
    "MOST_SHARE": "teaching value: a larger toner would make own and cumulative readings alike",
    "LEAST_BEFORE": "teaching value: enough must be in the cup before, or own and cumulative readings are alike",
    "LEAST_UNLIKE_FIRST": "teaching value: the toner must differ from the first one, or their additions are alike",
    "LIGHTEST_HEAVY_PAINT": "teaching value: weight and volume must differ for the mistake to show, g/mL",
    "BENCH_READABILITY_G": "common practice, no source: a mixing bench scale reads 0.1 g",
    "LEAST_OVER_POURED_G": "teaching value: on a smaller toner the scale's step would blur the rescue",
    "RANGES": "teaching value: jobs as a small shop has them",
    "ALLOWED_SHARE": "teaching value: the part of itself by which the share rule lets the smallest toner be off",
    "MANY_TONERS": "teaching value: with fewer toners there is little to choose from",
    "LEAST_GROWN": "teaching value: the rescued mix is clearly larger than the wanted one",
    "APART": "teaching value: right and wrong rescues differ by more than this part of the mix",
    "CUP_MARGINS": "teaching value: the largest cup is clearly smaller than the rescued mix, or clearly larger",
    "CUP_STEP_G": "teaching value: what a cup holds is told to 10 g",
    "TINTED": "definition",
    "SLIPS": "common practice, no source: how a reading is written down wrong",
    "LEAST_SLIP_G": "teaching value: a wrong reading is off by more than rounding could be",
    "LEAVES": "teaching value: CIEDE2000 at the worst angle, clearly within what a pour may cost",
    "SHOWS": "teaching value: CIEDE2000 at the worst angle, clearly more than a pour may cost",
    "SMALL_SLIP": "teaching value: so small a share of the mix tempts to leave every slip",
    "STANDS_OUT": "teaching value: the toner whose step shows most does so clearly",
    "NEAR_A_RULE": "teaching value: an amount nearer to a limit than this is no clear case",
}


@dataclass(frozen=True)
class Ratio:
    """A two-part product mixed by volume: names, parts by volume and densities in g/mL, in pouring order."""

    product: str
    names: tuple[str, ...]
    parts: tuple[float, ...]
    density_g_per_ml: tuple[float, ...]


@dataclass(frozen=True)
class OverPour:
    """A slip in a pour: what was planned, of which toner how much went over, and the total that saves it."""

    formula: Formula
    wanted_g: float
    toner: str
    over_g: float
    rescued_g: float


@dataclass(frozen=True)
class WrongReading:
    """A written pour with one wrong reading: the row, how it came, and what stands there, g."""

    at: int
    slip: str
    shown_g: float


@dataclass(frozen=True)
class Care:
    """An over-pour to be judged by its colour: what was wanted, which toner went over, and the largest cup, g."""

    formula: Formula
    wanted_g: float
    toner: str
    over_g: float
    cup_g: float


@dataclass(frozen=True)
class MixingJob:
    """The numbers of one apprentice.

    ..._g grams, ..._ml millilitres, ..._um micrometres of dry film, shares and efficiencies 0-1
    """

    readability_g: float
    formula: Formula
    wanted_g: float
    toner: str
    wrong: WrongReading
    heavy_formula: Formula
    wanted_ml: float
    heavy_toner: str
    ratio: Ratio
    ready_ml: float
    pour_formula: Formula
    pour_wanted_g: float
    over_toner: str
    over_g: float
    care: Care
    scale_formula: Formula
    scale_mix_g: float
    card_formula: Formula
    card_g: float
    area_m2: float
    coats: int
    film_um: float
    volume_solids: float
    transfer_efficiency: float
    waste: float


def job(draw: Draw, shop: Shop) -> MixingJob:
    """The numbers of one apprentice, whose id the draw comes from."""
    tinted = [_tinted(draw, one) for one in shop.colours]
    formula, asked = _formula_and_middle_toner(draw, [one for one in tinted if len(one.toners) >= MANY_TONERS])
    wanted_g = draw.step(*RANGES["wanted_g"])
    heavy_formula = draw.one_of([one for one in shop.colours if _density(one) >= LIGHTEST_HEAVY_PAINT])
    slip = _over_pour(draw, [one for one in shop.colours if one.name != formula.name])
    scale_formula, scale_mix_g = draw.until(
        lambda: (draw.one_of(shop.colours), draw.step(*RANGES["scale_mix_g"])), lambda made: _parts_the_rules(*made)
    )
    big_enough = draw.one_of((True, False))
    card_formula, card_g = draw.until(
        lambda: (draw.one_of(shop.colours), draw.step(*RANGES["card_g"])),
        lambda made: _is_a_clear_case(*made, big_enough),
    )
    return MixingJob(
        readability_g=BENCH_READABILITY_G,
        formula=formula,
        wanted_g=wanted_g,
        toner=asked,
        wrong=_wrong_reading(draw, formula, wanted_g),
        heavy_formula=heavy_formula,
        wanted_ml=draw.step(*RANGES["wanted_ml"]),
        heavy_toner=max(heavy_formula.parts, key=lambda part: part[1])[0],
        ratio=draw.one_of([ratio for ratio in ratios(shop) if _ready_density(ratio) >= LIGHTEST_HEAVY_PAINT]),
        ready_ml=draw.step(*RANGES["ready_ml"]),
        pour_formula=slip.formula,
        pour_wanted_g=slip.wanted_g,
        over_toner=slip.toner,
        over_g=slip.over_g,
        care=_care(draw, tinted),
        scale_formula=scale_formula,
        scale_mix_g=scale_mix_g,
        card_formula=card_formula,
        card_g=card_g,
        area_m2=draw.step(*RANGES["area_m2"]),
        coats=int(draw.step(*RANGES["coats"])),
        film_um=draw.step(*RANGES["film_um"]),
        volume_solids=draw.step(*RANGES["volume_solids"]),
        transfer_efficiency=draw.step(*RANGES["transfer_efficiency"]),
        waste=draw.step(*RANGES["waste"]),
    )


def in_cup_g(formula: Formula, wanted_g: float, toner: str, over_g: float) -> list[float]:
    """What is in the cup of each toner when this one has just gone over, as the scale shows it."""
    plan = rounded(to_mass(formula.parts, wanted_g), BENCH_READABILITY_G)
    at = plan.names.index(toner)
    return [*plan.own_g[:at], plan.own_g[at] + over_g, *(0.0 for _ in plan.own_g[at + 1 :])]


def judged(care: Care) -> pour_error.Advice:
    """What the colour engine says about the slip, with a cup that holds anything."""
    return pour_error.accept_or_rescue(
        care.formula, in_cup_g(care.formula, care.wanted_g, care.toner, care.over_g), care.wanted_g
    )


def one_step_apart(formula: Formula, mix_g: float) -> tuple[float, ...]:
    """What one step of the scale too much of each toner does to the colour, CIEDE2000 at the worst angle."""
    own = to_mass(formula.parts, mix_g).own_g
    poured = [[mass + BENCH_READABILITY_G * (at == one) for at, mass in enumerate(own)] for one in range(len(own))]
    return tuple(pour_error.consequence(formula, poured).max(axis=(-2, -1)).tolist())


def share_rule_g(formula: Formula) -> float:
    """The smallest mix by the share rule: what the scale resolves, poured without tare."""
    return pour_error.smallest_mix_by_share(formula, BENCH_READABILITY_G, allowed=ALLOWED_SHARE)


@lru_cache(maxsize=128)
def colour_rule_g(formula: Formula) -> float:
    """The smallest mix by the colour rule: what the eye sees, poured without tare."""
    return pour_error.smallest_mix_by_colour(formula, BENCH_READABILITY_G)


def _tinted(draw: Draw, formula: Formula) -> Formula:
    """The formula with some parts more of one toner: such a mix stands in no list of colours."""
    at = draw.one_of(range(1, len(formula.weights)))
    more = draw.step(*RANGES["tint_parts"])
    weights = tuple(weight + more * (place == at) for place, weight in enumerate(formula.weights))
    return replace(formula, variant=TINTED, weights=weights)


def _wrong_reading(draw: Draw, formula: Formula, wanted_g: float) -> WrongReading:
    plan = rounded(to_mass(formula.parts, wanted_g), BENCH_READABILITY_G)

    def ways(at: int) -> dict[str, float]:
        right = plan.cumulative_g[at]
        tens, ones = int(right // 10 % 10), int(right % 10)
        return {
            "its own weight": plan.own_g[at],
            "its parts": formula.weights[at],
            "the reading before it": plan.cumulative_g[at - 1],
            "two digits turned round": right + (ones - tens) * 9,
        }

    def made() -> WrongReading:
        at = draw.one_of(range(1, len(plan.names)))
        slip = draw.one_of(SLIPS)
        return WrongReading(at, slip, round(ways(at)[slip], 1))

    def tells(wrong: WrongReading) -> bool:
        others = [value for slip, value in ways(wrong.at).items() if slip != wrong.slip]
        return all(abs(wrong.shown_g - other) >= LEAST_SLIP_G for other in (plan.cumulative_g[wrong.at], *others))

    return draw.until(made, tells)


def _care(draw: Draw, formulas: Sequence[Formula]) -> Care:
    """A slip that is small beside the mix and that nobody sees, or that shows and can be rescued, or cannot."""
    low, high = draw.one_of((LEAVES, SHOWS, SHOWS))
    margin = draw.one_of(CUP_MARGINS["smaller"] if high == SHOWS[1] and draw.one_of((0, 1)) else CUP_MARGINS["larger"])

    def made() -> Care:
        formula = draw.one_of(formulas)
        toner = draw.one_of(formula.toners[1:]).name
        wanted_g = draw.step(*RANGES["care_wanted_g"])
        return Care(formula, wanted_g, toner, draw.step(*RANGES["care_over_g"]), 0.0)

    def fits(care: Care) -> bool:
        if care.over_g > SMALL_SLIP * care.wanted_g:
            return False
        there = in_cup_g(care.formula, care.wanted_g, care.toner, care.over_g)
        needed_g = rescue(care.formula.parts, there, care.wanted_g).total_g
        if _cup_g(needed_g, margin) < care.wanted_g + care.over_g + CUP_STEP_G or needed_g < LEAST_GROWN * care.wanted_g:
            return False
        return low <= float(judged(care).accepted_difference.max()) <= high

    found = draw.until(made, fits)
    return replace(found, cup_g=_cup_g(judged(found).rescued.needed_g, margin))


def _cup_g(needed_g: float, margin: float) -> float:
    return round(needed_g * margin / CUP_STEP_G) * CUP_STEP_G


def _parts_the_rules(formula: Formula, mix_g: float) -> bool:
    """Whether the toner whose step shows most is neither the smallest, nor the largest, nor the first or last."""
    if len(formula.toners) < MANY_TONERS:
        return False
    apart, own = one_step_apart(formula, mix_g), to_mass(formula.parts, mix_g).own_g
    most = apart.index(max(apart))
    rest = max(value for at, value in enumerate(apart) if at != most)
    return apart[most] >= STANDS_OUT * rest and most not in (own.index(min(own)), own.index(max(own)), 0)


def _is_a_clear_case(formula: Formula, mix_g: float, big_enough: bool) -> bool:
    """Whether an amount clearly is big enough for the colour though not for the share, or too small for both."""
    colour, share = colour_rule_g(formula), share_rule_g(formula)
    if big_enough:
        return colour / NEAR_A_RULE <= mix_g <= share * NEAR_A_RULE
    return mix_g <= min(colour, share) * NEAR_A_RULE


def ratios(shop: Shop) -> list[Ratio]:
    """The mixing ratios of the shop's sheets for products of three parts, with the tins of normal speed."""
    found = []
    for sheet in shop.products:
        tins = (sheet.paint, hardener(sheet), reducer(sheet))
        if all(tins) and all(sheet.mix):
            densities = tuple(tin.density_g_per_ml for tin in tins if tin)
            found.append(Ratio(sheet.name, (sheet.paint.name, "hardener", "reducer"), sheet.mix, densities))
    return found


def densities(formula: Formula) -> dict[str, float]:
    """Grams per millilitre of each toner of a formula."""
    return {toner.name: toner.density_g_per_ml for toner in formula.toners}


def _density(formula: Formula) -> float:
    return to_volume(formula.parts, 1.0, densities(formula)).total_g


def _ready_density(ratio: Ratio) -> float:
    return by_ratio(ratio.names, ratio.parts, ratio.density_g_per_ml, 1.0).pour.total_g


def _formula_and_middle_toner(draw: Draw, options: Iterable[Formula]) -> tuple[Formula, str]:
    """A formula and one of its toners in the middle of the pour, on which the known mistakes show."""
    return draw.one_of([(formula, name) for formula in options for name in _telling_toners(formula)])


def _over_pour(draw: Draw, options: Sequence[Formula]) -> OverPour:
    """A slip large enough that the wrong ways to save it give other numbers than the right one."""

    def slip() -> tuple[OverPour, bool]:
        formula, over = _formula_and_middle_toner(draw, options)
        wanted_g = draw.step(*RANGES["pour_wanted_g"])
        plan = to_mass(formula.parts, wanted_g)
        at = plan.names.index(over)
        over_g = round(plan.own_g[at] * draw.step(*RANGES["over_part"]), 1)
        in_cup = [*plan.own_g[:at], plan.own_g[at] + over_g, *(0.0 for _ in plan.own_g[at + 1 :])]
        saved = rescue(formula.parts, in_cup, wanted_g)
        # Whoever takes the factor from the whole reading instead of the toner's own weight.
        by_reading = to_mass(formula.parts, wanted_g * (plan.cumulative_g[at] + over_g) / plan.cumulative_g[at])
        first_g = plan.own_g[0]
        tells = (
            plan.own_g[at] >= LEAST_OVER_POURED_G
            and by_reading.total_g - (wanted_g + over_g) >= APART * wanted_g
            and over_g - (by_reading.own_g[0] - first_g) >= APART * first_g
        )
        return OverPour(formula, wanted_g, over, over_g, saved.total_g), tells

    return draw.until(slip, lambda made: made[1])[0]


def _telling_toners(formula: Formula) -> list[str]:
    pour = to_mass(formula.parts, 1.0)
    shares = list(zip(pour.names, pour.shares, strict=True))
    first = shares[0][1]
    before = first
    telling = []
    for name, share in shares[1:-1]:
        middle = LEAST_SHARE <= share <= MOST_SHARE
        if middle and before >= LEAST_BEFORE * share and abs(first / share - 1) >= LEAST_UNLIKE_FIRST:
            telling.append(name)
        before += share
    return telling
