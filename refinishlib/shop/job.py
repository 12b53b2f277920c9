"""Everyone's own job: numbers drawn for one apprentice in one lesson, always the same for the same id.

The draws keep right answers and known mistakes apart by what they allow (a toner that is neither first nor tiny, an
amount far from 100 g, a paint whose density is far from 1). Only inputs are drawn here; answers are engines' work.
"""

from __future__ import annotations

import hashlib
import random
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, TypeVar

from refinishlib.entry import one_of
from refinishlib.shop.paint import Formula, formulas, toner
from refinishlib.shop.product import hardener, products, reducer

T = TypeVar("T")

LEAST_SHARE = 0.045
MOST_SHARE = 0.45
LEAST_BEFORE = 0.3
LEAST_UNLIKE_FIRST = 0.4
LIGHTEST_HEAVY_PAINT = 1.15
BENCH_READABILITY_G = 0.1
CUP_MARGINS = (0.90, 1.20)
LEAST_OVER_POURED_G = 20.0
APART = 0.012
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
SMALL_ALLOWED = (0.04, 0.05, 0.08, 0.10)

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


class Draw:
    """Draws that depend on nothing but a text, the same on every machine and Python."""

    def __init__(self, seed: str):
        self._random = random.Random(int.from_bytes(hashlib.sha256(seed.encode()).digest(), "big"))

    def one_of(self, options: Sequence[T]) -> T:
        return options[int(self._random.random() * len(options))]

    def step(self, low: float, high: float, step: float) -> float:
        """One of low, low + step, ... up to high.

        >>> Draw("a").step(10, 20, 5) in (10, 15, 20)
        True
        """
        count = round((high - low) / step)
        return round(low + step * int(self._random.random() * (count + 1)), 6)


@dataclass(frozen=True)
class Ratio:
    """A two-part product mixed by volume: names, parts by volume and densities in g/mL, in pouring order."""

    product: str
    names: tuple[str, ...]
    parts: tuple[float, ...]
    density_g_per_ml: tuple[float, ...]


@cache
def ratios() -> tuple[Ratio, ...]:
    """The mixing ratios of the shop's sheets for products of three parts, with the tins of normal speed.

    >>> [ratio.product for ratio in ratios() if ratio.parts == (4, 1, 1)]
    ['filling primer']
    """
    found = []
    for sheet in products().values():
        tins = (sheet.paint, hardener(sheet), reducer(sheet))
        if all(tins) and all(sheet.mix):
            densities = tuple(tin.density_g_per_ml for tin in tins if tin)
            found.append(Ratio(sheet.name, (sheet.paint.name, "hardener", "reducer"), sheet.mix, densities))
    return tuple(found)


def _heavy_ratios() -> list[Ratio]:
    """Those on which a millilitre taken for a gram shows."""
    return [ratio for ratio in ratios() if _density_by_volume(ratio) >= LIGHTEST_HEAVY_PAINT]


def _density_by_volume(ratio: Ratio) -> float:
    parts = zip(ratio.parts, ratio.density_g_per_ml, strict=True)
    return sum(part * density for part, density in parts) / sum(ratio.parts)


@dataclass(frozen=True)
class MixingJob:
    """The numbers of the mixing lesson.

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
    small_way: str
    area_m2: float
    coats: int
    film_um: float
    volume_solids: float
    transfer_efficiency: float
    waste: float


def job(lesson: str, apprentice: str) -> Any:
    """The numbers of one apprentice in one lesson.

    Parameters
    ----------
    lesson : name of the lesson, "mixing"
    apprentice : the id that the school gave; any other text draws other numbers

    Raises
    ------
    BadEntry : an unknown lesson

    >>> job("mixing", "a07") == job("mixing", "a07"), job("mixing", "a07") == job("mixing", "a08")
    (True, False)
    """
    return _LESSONS[one_of("lesson", lesson, _LESSONS)](Draw(f"{lesson}/{apprentice}"))


def _mixing(draw: Draw) -> MixingJob:
    all_formulas = list(formulas().values())
    formula, asked = _formula_and_middle_toner(draw, all_formulas)
    heavy = [f for f in all_formulas if _density(f) >= LIGHTEST_HEAVY_PAINT]
    heavy_formula = draw.one_of(heavy)
    pour_formula, pour_wanted_g, over, over_g, rescued_g = _over_pour(draw, [f for f in all_formulas if f != formula])
    return MixingJob(
        readability_g=BENCH_READABILITY_G,
        formula=formula,
        wanted_g=draw.step(*RANGES["wanted_g"]),
        toner=asked,
        heavy_formula=heavy_formula,
        wanted_ml=draw.step(*RANGES["wanted_ml"]),
        heavy_toner=max(heavy_formula.parts, key=lambda part: part[1])[0],
        ratio=draw.one_of(_heavy_ratios()),
        ready_ml=draw.step(*RANGES["ready_ml"]),
        pour_formula=pour_formula,
        pour_wanted_g=pour_wanted_g,
        over_toner=over,
        over_g=over_g,
        cup_g=round(rescued_g * draw.one_of(CUP_MARGINS), -1),
        small_share=draw.step(*RANGES["small_share"]),
        small_readability_g=BENCH_READABILITY_G,
        small_allowed=draw.one_of(SMALL_ALLOWED),
        small_way=draw.one_of(("tared", "cumulative")),
        area_m2=draw.step(*RANGES["area_m2"]),
        coats=int(draw.step(*RANGES["coats"])),
        film_um=draw.step(*RANGES["film_um"]),
        volume_solids=draw.step(*RANGES["volume_solids"]),
        transfer_efficiency=draw.step(*RANGES["transfer_efficiency"]),
        waste=draw.step(*RANGES["waste"]),
    )


_LESSONS = {"mixing": _mixing}


def _shares(formula: Formula) -> dict[str, float]:
    total = sum(parts for _, parts in formula.parts)
    return {name: parts / total for name, parts in formula.parts}


def _density(formula: Formula) -> float:
    return 1 / sum(share / toner(name).density_g_per_ml for name, share in _shares(formula).items())


def _formula_and_middle_toner(draw: Draw, options: Sequence[Formula]) -> tuple[Formula, str]:
    """A formula and one of its toners in the middle of the pour, on which the known mistakes show."""
    return draw.one_of([(formula, name) for formula in options for name in _telling_toners(formula)])


def _over_pour(draw: Draw, options: Sequence[Formula]) -> tuple[Formula, float, str, float, float]:
    """A slip large enough that the wrong ways to save it give other numbers than the right one."""
    while True:
        formula, over = _formula_and_middle_toner(draw, options)
        wanted_g = draw.step(*RANGES["pour_wanted_g"])
        masses = {name: share * wanted_g for name, share in _shares(formula).items()}
        own_g, first_g = masses[over], next(iter(masses.values()))
        over_g = round(own_g * draw.step(*RANGES["over_part"]), 1)
        reading_g = sum(list(masses.values())[: list(masses).index(over) + 1])
        wrong_growth = over_g * wanted_g / reading_g
        wrong_addition = over_g * first_g / reading_g
        if (
            own_g >= LEAST_OVER_POURED_G
            and wrong_growth - over_g >= APART * wanted_g
            and over_g - wrong_addition >= APART * first_g
        ):
            return formula, wanted_g, over, over_g, wanted_g * (own_g + over_g) / own_g


def _telling_toners(formula: Formula) -> list[str]:
    shares = list(_shares(formula).items())
    first = shares[0][1]
    before = first
    telling = []
    for name, share in shares[1:-1]:
        middle = LEAST_SHARE <= share <= MOST_SHARE
        if middle and before >= LEAST_BEFORE * share and abs(first / share - 1) >= LEAST_UNLIKE_FIRST:
            telling.append(name)
        before += share
    return telling
