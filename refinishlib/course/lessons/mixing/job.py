"""The numbers of the mixing lesson: one apprentice's jobs at the bench."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from refinishlib.course.draw import Draw
from refinishlib.mixing.ratio import by_ratio
from refinishlib.mixing.rescue import rescue
from refinishlib.mixing.scale import Way, to_mass, to_volume
from refinishlib.shop.paint import Formula
from refinishlib.shop.product import hardener, reducer
from refinishlib.shop.shop import Shop

LEAST_SHARE = 0.045
MOST_SHARE = 0.45
LEAST_BEFORE = 0.3
LEAST_UNLIKE_FIRST = 0.4
LIGHTEST_HEAVY_PAINT = 1.15
BENCH_READABILITY_G = 0.1
CUP_MARGINS = (0.90, 1.20)
LEAST_OVER_POURED_G = 20.0
APART = 0.012
SMALL_WAYS: tuple[Way, ...] = ("tared", "cumulative")
SMALL_ALLOWED = (0.04, 0.05, 0.08, 0.10)
# Lowest, highest and step of what is drawn; the unit stands in the name.
RANGES = {
    "wanted_g": (210, 890, 10),
    "wanted_ml": (250, 950, 50),
    "ready_ml": (350, 1250, 50),
    "small_share": (0.004, 0.020, 0.001),
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
    "SMALL_ALLOWED": "teaching value: largest part of a toner that may be off",
    "APART": "teaching value: right and wrong rescues differ by more than this part of the mix",
    "CUP_MARGINS": "teaching value: the rescued mix is a little too much for the cup, or fits with room",
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
class MixingJob:
    """The numbers of one apprentice.

    ..._g grams, ..._ml millilitres, ..._um micrometres of dry film, shares and efficiencies 0-1
    """

    readability_g: float
    formula: Formula
    wanted_g: float
    toner: str
    heavy_formula: Formula
    wanted_ml: float
    heavy_toner: str
    ratio: Ratio
    ready_ml: float
    pour_formula: Formula
    pour_wanted_g: float
    over_toner: str
    over_g: float
    cup_g: float
    small_share: float
    small_readability_g: float
    small_allowed: float
    small_way: Way
    area_m2: float
    coats: int
    film_um: float
    volume_solids: float
    transfer_efficiency: float
    waste: float


def job(draw: Draw, shop: Shop) -> MixingJob:
    """The numbers of one apprentice, whose id the draw comes from."""
    formula, asked = _formula_and_middle_toner(draw, shop.colours)
    heavy_formula = draw.one_of([one for one in shop.colours if _density(one) >= LIGHTEST_HEAVY_PAINT])
    slip = _over_pour(draw, [one for one in shop.colours if one != formula])
    return MixingJob(
        readability_g=BENCH_READABILITY_G,
        formula=formula,
        wanted_g=draw.step(*RANGES["wanted_g"]),
        toner=asked,
        heavy_formula=heavy_formula,
        wanted_ml=draw.step(*RANGES["wanted_ml"]),
        heavy_toner=max(heavy_formula.parts, key=lambda part: part[1])[0],
        ratio=draw.one_of([ratio for ratio in ratios(shop) if _ready_density(ratio) >= LIGHTEST_HEAVY_PAINT]),
        ready_ml=draw.step(*RANGES["ready_ml"]),
        pour_formula=slip.formula,
        pour_wanted_g=slip.wanted_g,
        over_toner=slip.toner,
        over_g=slip.over_g,
        cup_g=round(round(slip.rescued_g * draw.one_of(CUP_MARGINS), 6), -1),
        small_share=draw.step(*RANGES["small_share"]),
        small_readability_g=BENCH_READABILITY_G,
        small_allowed=draw.one_of(SMALL_ALLOWED),
        small_way=draw.one_of(SMALL_WAYS),
        area_m2=draw.step(*RANGES["area_m2"]),
        coats=int(draw.step(*RANGES["coats"])),
        film_um=draw.step(*RANGES["film_um"]),
        volume_solids=draw.step(*RANGES["volume_solids"]),
        transfer_efficiency=draw.step(*RANGES["transfer_efficiency"]),
        waste=draw.step(*RANGES["waste"]),
    )


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
