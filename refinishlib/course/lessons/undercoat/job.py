"""The numbers of the undercoat lesson: one apprentice's colours, greys and cards."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from refinishlib.booth.flash import flash_minutes
from refinishlib.colour import predict
from refinishlib.colour.conditions import USUAL, Conditions
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.hiding import VISIBLE, card_shift, coats_to_hide, fewest_coats, show_through
from refinishlib.colour.optics import of_formula
from refinishlib.colour.tolerance import EDGE, Ruling, of_kind, rule
from refinishlib.course.draw import Draw
from refinishlib.shop.paint import Formula
from refinishlib.shop.shop import Shop

TINTED = "tinted on the bench"
SEALER = "grey sealer"
GREY_NAMES = ("grey A", "grey B", "grey C", "grey D")
ROWS = 9
NOTHING_LEFT = 0.1
ONE = 1.0
COATS = (3, 6)
MIDDLE_GREYS = (46.0, 66.0)
CLEARLY = 0.75
LOOKS = {
    "bare": "matt",
    "wiped": "wiped",
    "cleared": "clear",
}
SEALED = ("shining", "dull too soon", "ready", "too late")
# Lowest, highest and step of what is drawn; the unit stands in the name.
RANGES = {
    "tint_parts": (1, 6, 0.5),
    "grey_lightness": (36, 84, 4),
    "coat_um": (8, 14, 1),
    "card_coats": (1, 3, 1),
    "sealer_lightness": (36, 58, 2),
    "sealer_g": (150, 450, 10),
    "air_c": (15, 27, 1),
    "humidity_percent": (35, 75, 5),
}
# The four greys of one shelf, each drawn from a range of its own.
SHELF = ((34, 42, 2), (48, 56, 2), (60, 68, 2), (76, 84, 2))
# Of the time that a sealer must flash today, how much has gone by.
GONE_BY = {"shining": (0.2, 0.5, 0.1), "dull too soon": (0.6, 0.8, 0.1), "ready": (1.2, 2.0, 0.1)}
TOO_LATE_H = (9, 20, 1)

SOURCES = {
    "TINTED": "definition",
    "SEALER": "invented for the demo",
    "GREY_NAMES": "definition",
    "ROWS": "teaching value: rows of a table that fits a phone",
    "NOTHING_LEFT": "teaching value: what is printed as nothing or nearly nothing",
    "ONE": "common practice, no source: one is often taken for the limit of what is seen",
    "COATS": "teaching value: enough coats to count, and no more than are sprayed",
    "MIDDLE_GREYS": "teaching value: so that neither the darkest nor the lightest grey of the shelf is right",
    "CLEARLY": "teaching value: a clear case is this share of a limit or less, or as much beyond it",
    "LOOKS": "definition: what a painter calls each surface, and what the engine calls it",
    "SEALED": "definition",
    "RANGES": "teaching value: jobs as a small shop has them",
    "SHELF": "teaching value: greys that a shop keeps mixed",
    "GONE_BY": "teaching value: clear cases",
    "TOO_LATE_H": "teaching value: left over night",
}


@dataclass(frozen=True)
class Ground:
    """A paint over a grey: L* of the grey, dry film of one coat, and after how many coats somebody looks."""

    formula: Formula
    grey: float
    coat_um: float
    coats: int = 0


@dataclass(frozen=True)
class Sprayed:
    """A card and the job that it stands for: L* of what is under each, and coats on both."""

    formula: Formula
    card_grey: float
    job_grey: float
    coats: int


@dataclass(frozen=True)
class SealerCoat:
    """A coat of sealer: how it looks, today's air, and the minutes since it was sprayed."""

    state: str
    air_c: float
    humidity_percent: float
    minutes: float


@dataclass(frozen=True)
class UndercoatJob:
    """The numbers of one apprentice; ..._um micrometres of dry film, ..._g grams, greys as CIELAB L*."""

    ground: Ground
    enough: Ground
    shelf_formula: Formula
    shelf: tuple[float, ...]
    sprayed: Sprayed
    look: str
    look_formula: Formula
    sealer_lightness: float
    sealer_g: float
    waiting: SealerCoat


def job(draw: Draw, shop: Shop) -> UndercoatJob:
    """The numbers of one apprentice, whose id the draw comes from."""
    mixes = [tinted(draw, one) for one in shop.colours if one.kind != "pearl"]
    ground = draw.until(lambda: _ground(draw, mixes), _counts_well)
    within = draw.one_of((True, False))
    enough = draw.until(lambda: _after(draw, _ground(draw, mixes)), lambda made: _is_clear_case(made, within))
    shelf_formula, greys = draw.until(lambda: (draw.one_of(mixes), shelf(draw)), lambda made: _one_is_best(*made))
    same = draw.one_of((True, False))
    sprayed = draw.until(lambda: _sprayed(draw, mixes), lambda made: _tells(made, same))
    look = draw.one_of(tuple(LOOKS))
    look_formula = draw.until(lambda: draw.one_of(mixes), lambda made: off_cleared(made, "wiped") > ONE)
    return UndercoatJob(
        ground,
        enough,
        shelf_formula,
        greys,
        sprayed,
        look,
        look_formula,
        draw.step(*RANGES["sealer_lightness"]),
        draw.step(*RANGES["sealer_g"]),
        coat_of_sealer(draw, shop),
    )


@lru_cache(maxsize=512)
def shows(formula: Formula, grey: float, coat_um: float) -> tuple[float, ...]:
    """What the grey still does to the colour at its worst angle, CIEDE2000, after 0, 1, 2, ... coats."""
    found = show_through(of_formula(formula), grey, coats=range(ROWS), coat_um=coat_um)
    return tuple(found.max(axis=-1).tolist())


@lru_cache(maxsize=512)
def coats(formula: Formula, grey: float, coat_um: float) -> int | None:
    """After how many coats the grey no longer shows."""
    return coats_to_hide(of_formula(formula), grey, coat_um=coat_um)


@lru_cache(maxsize=512)
def over_greys(formula: Formula, greys: tuple[float, ...], count: int = 2) -> tuple[tuple[float, ...], ...]:
    """For each grey, what still shows after so many coats on the face, straight on and on the flop, CIEDE2000."""
    found = [show_through(of_formula(formula), grey, coats=count) for grey in greys]
    return tuple((float(one[0]), float(one[2]), float(one[4])) for one in found)


@lru_cache(maxsize=512)
def apart(sprayed: Sprayed) -> tuple[float, ...]:
    """How far the card is from the job, CIEDE2000 at each angle."""
    return tuple(
        card_shift(of_formula(sprayed.formula), sprayed.card_grey, sprayed.job_grey, coats=sprayed.coats).tolist()
    )


def ruling(sprayed: Sprayed) -> Ruling:
    """What the shop's limits say about the card."""
    return rule(apart(sprayed), tuple(int(angle) for angle in USUAL.angles_deg), of_kind(sprayed.formula.kind))


@lru_cache(maxsize=512)
def off_cleared(formula: Formula, look: str) -> float:
    """How far a surface reads from the cleared one, CIEDE2000 at the worst angle."""
    seen = [predict.lab(of_formula(formula), Conditions(surface_is=one)) for one in ("clear", LOOKS[look])]
    return float(ciede2000(*seen).max())


def flash_today_min(shop: Shop, waiting: SealerCoat) -> float:
    """How long the sealer has to flash today before the colour, minutes."""
    sheet = shop.product(SEALER)
    return float(flash_minutes(sheet, waiting.air_c, waiting.humidity_percent, final=True))


def tinted(draw: Draw, formula: Formula) -> Formula:
    """The formula with some parts more of one toner: such a mix stands in no list of colours."""
    at = draw.one_of(range(1, len(formula.weights)))
    more = draw.step(*RANGES["tint_parts"])
    weights = tuple(weight + more * (place == at) for place, weight in enumerate(formula.weights))
    return replace(formula, variant=TINTED, weights=weights)


def _ground(draw: Draw, mixes: list[Formula]) -> Ground:
    return Ground(draw.one_of(mixes), draw.step(*RANGES["grey_lightness"]), draw.step(*RANGES["coat_um"]))


def first_below(values: tuple[float, ...], limit: float) -> int:
    """The first row of the table that is not above a limit; the row after the last one where none is."""
    return next((at for at, value in enumerate(values) if value <= limit), len(values))


def _counts_well(ground: Ground) -> bool:
    """Enough coats to count, and none of the known mistakes comes to the same number."""
    number = coats(ground.formula, ground.grey, ground.coat_um)
    if number is None or not COATS[0] <= number <= COATS[1]:
        return False
    found = shows(ground.formula, ground.grey, ground.coat_um)
    others = {first_below(found, ONE), first_below(found, NOTHING_LEFT), number + 1}
    limit_is_clear = all(abs(value - VISIBLE) > VISIBLE * (1 - CLEARLY) / 2 for value in found)
    return number not in others and len(others) == 3 and limit_is_clear and number == first_below(found, VISIBLE)


def _after(draw: Draw, ground: Ground) -> Ground:
    return replace(ground, coats=int(draw.step(1, ROWS - 2, 1)))


def _is_clear_case(ground: Ground, within: bool) -> bool:
    left = shows(ground.formula, ground.grey, ground.coat_um)[ground.coats]
    if within:
        return NOTHING_LEFT * 2 < left < VISIBLE * CLEARLY
    return VISIBLE / CLEARLY < left < VISIBLE * 4


def shelf(draw: Draw) -> tuple[float, ...]:
    greys = [draw.step(*one) for one in SHELF]
    return tuple(sorted(greys, key=lambda grey: draw.step(0, 1, 0.001)))


def best_on(formula: Formula, greys: tuple[float, ...]) -> int:
    """Which of the greys shows least at its worst angle, counted from 0."""
    worst = [max(one) for one in over_greys(formula, greys)]
    return worst.index(min(worst))


def _one_is_best(formula: Formula, greys: tuple[float, ...]) -> bool:
    best = fewest_coats(of_formula(formula))
    if best is None or not MIDDLE_GREYS[0] <= best.lightness <= MIDDLE_GREYS[1]:
        return False
    worst = sorted(max(one) for one in over_greys(formula, greys))
    at = best_on(formula, greys)
    middle = greys[at] not in (min(greys), max(greys))
    return middle and worst[0] < CLEARLY * worst[1] and worst[1] > VISIBLE


def _sprayed(draw: Draw, mixes: list[Formula]) -> Sprayed:
    grey = RANGES["grey_lightness"]
    return Sprayed(draw.one_of(mixes), draw.step(*grey), draw.step(*grey), int(draw.step(*RANGES["card_coats"])))


def _tells(sprayed: Sprayed, same: bool) -> bool:
    """The greys differ, and the verdict is a clear case."""
    if abs(sprayed.card_grey - sprayed.job_grey) < 2 * RANGES["grey_lightness"][2]:
        return False
    found = ruling(sprayed)
    if same:
        return found.verdict == EDGE and found.worst < CLEARLY * found.limit and found.worst > NOTHING_LEFT
    return found.verdict != EDGE and CLEARLY * found.worst > found.limit


def coat_of_sealer(draw: Draw, shop: Shop) -> SealerCoat:
    state = draw.one_of(SEALED)
    today = SealerCoat(state, draw.step(*RANGES["air_c"]), draw.step(*RANGES["humidity_percent"]), 0.0)
    if state == "too late":
        return replace(today, minutes=60 * draw.step(*TOO_LATE_H))
    return replace(today, minutes=float(round(flash_today_min(shop, today) * draw.step(*GONE_BY[state]))))
