"""The numbers of the lesson on light: one apprentice's pairs of paints, lamps and readings."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from refinishlib.colour import weights
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.fitness import edge_to_edge, metameric_pairs, parted, report
from refinishlib.colour.lamp import DAYLIGHT_LAMP, Lamp, burning, d65, lamp
from refinishlib.colour.tolerance import LIMITS
from refinishlib.course.draw import Draw
from refinishlib.shop.shop import Shop

DAY, TUBE = "D65", "FL11"
LIGHTS = (DAY, TUBE, "A", "FL2")
SAID = {"D65": "by day", "FL11": "under the shop's tube", "A": "under a bulb", "FL2": "under the old tube"}
LAMP_NAMES = ("lamp A", "lamp B", "lamp C", "lamp D")
ANGLES = ("15 degrees", "25 degrees", "45 degrees", "75 degrees", "110 degrees")
FACE, FLOP = (0, 1), (3, 4)
CLEARLY = 0.7
SHARES = tuple(range(30, 100, 10))
# What the shop has, by its use in the question: the lamp's name, what is printed on it, and how bright it is, lx.
SHELF = {
    "fit": (DAYLIGHT_LAMP, ("for colour, 6500", "type 7, 6500"), (1200, 2400, 100)),
    "renders best": ("A", ("warm, 2856", "halogen, 2856"), (1000, 1800, 100)),
    "brightest": ("FL11", ("bright white, 4000", "high output, 4000"), (2900, 3900, 100)),
    "called daylight": ("LED-B5", ("daylight LED", "cool daylight"), (1000, 2400, 100)),
}
STATES = ("matched by tube", "matched by day")
OFF = {"matched by tube": (1.6, 9.0), "matched by day": (1.6, 9.0)}
APART_BY = 0.15
READINGS = {"small": (0.1, 0.6, 0.1), "large": (1.3, 3.4, 0.1)}

SOURCES = {
    "DAY": "definition: average daylight",
    "TUBE": "teaching value: a tube as many shops have it",
    "LIGHTS": "common practice, no source: daylight, two tubes, a bulb",
    "SAID": "definition: what a painter calls them",
    "LAMP_NAMES": "definition",
    "ANGLES": "ASTM E2194 (2014): the angles of a reading",
    "FACE": "common practice, no source: 15 and 25 degrees",
    "FLOP": "common practice, no source: 75 and 110 degrees",
    "CLEARLY": "teaching value: a clear case is this share of a limit or less, or as much beyond it",
    "SHARES": "teaching value: daylight from the door in hundredths of all light",
    "SHELF": "invented for the demo: what is printed on the lamps, and how bright they are",
    "STATES": "definition",
    "OFF": "teaching value: CIEDE2000 that everybody sees",
    "APART_BY": "teaching value: what tells two numbers of a card apart, CIEDE2000",
    "READINGS": "teaching value: differences that are clearly small or clearly large, CIEDE2000",
}


@dataclass(frozen=True)
class ShopLamp:
    """A lamp of the shop: its use in the question, its name here, what is printed on it, and lx at the panel."""

    use: str
    name: str
    printed: str
    lux: float


@dataclass(frozen=True)
class LightJob:
    """The numbers of one apprentice.

    state, pair : in which light the two paints match, and which two they are
    table : for each light how far the two are apart on the face, straight on and on the flop, CIEDE2000
    lamps : of the shop, as lamp A to D
    daylight_percent : how much of the light comes through the door
    readings : card and panel at each angle, CIEDE2000
    """

    state: str
    pair: int
    table: tuple[tuple[float, float, float], ...]
    lamps: tuple[ShopLamp, ...]
    daylight_percent: int
    readings: tuple[float, ...]


def job(draw: Draw, shop: Shop) -> LightJob:
    """The numbers of one apprentice, whose id the draw comes from."""
    state = draw.one_of(STATES)
    pair = draw.until(lambda: int(draw.step(0, number_of_pairs(state) - 1, 1)), lambda made: _tells(state, made))
    lamps = [ShopLamp(use, name, draw.one_of(printed), draw.step(*lux)) for use, (name, printed, lux) in SHELF.items()]
    mixed = sorted(lamps, key=lambda one: draw.step(0, 1, 0.001))
    share = draw.until(lambda: draw.one_of(SHARES), _is_clear)
    return LightJob(
        state,
        pair,
        draw.until(lambda: _table(draw), _has_one_worst),
        tuple(mixed),
        share,
        draw.until(lambda: _readings(draw), _flop_is_not_worst),
    )


def matched_in(state: str) -> Lamp:
    """The light in which the two paints of this state match."""
    return lamp(TUBE if state == "matched by tube" else DAY)


def number_of_pairs(state: str) -> int:
    """How many pairs of real materials there are that match in that light."""
    return len(metameric_pairs(matched_in(state))[0])


@lru_cache(maxsize=4)
def _all_apart(state: str) -> tuple[tuple[float, ...], ...]:
    lights = [lamp(name) for name in LIGHTS]
    one, other = (weights.lab(spectra, lights) for spectra in metameric_pairs(matched_in(state)))
    return tuple(map(tuple, ciede2000(one, other).T.tolist()))


def apart(state: str, pair: int) -> dict[str, float]:
    """How far the two paints of a pair are apart in each light, CIEDE2000."""
    return dict(zip(LIGHTS, _all_apart(state)[pair], strict=True))


def from_the_door(percent: float) -> float:
    """By how much pairs that match by day part where so much of the light is daylight and the rest is the old tube."""
    return parted(burning({d65(): percent / 100, lamp("FL2"): 1 - percent / 100}))


@lru_cache(maxsize=8)
def renders(name: str) -> float:
    """A lamp's colour rendering index."""
    return report(lamp(name)).rendering_ra


def is_fit(one: ShopLamp) -> bool:
    """Whether a lamp of the shop may decide a match."""
    return report(lamp(one.name), illuminance_lx=one.lux).fit


def _tells(state: str, pair: int) -> bool:
    """The pair parts clearly in the light that it was not made for, and is no odd case in the others."""
    found = apart(state, pair)
    other = found[DAY] if state == "matched by tube" else found[TUBE]
    low, high = OFF[state]
    return low < other < high


def _table(draw: Draw) -> tuple[tuple[float, float, float], ...]:
    def row(*sizes: str) -> tuple[float, float, float]:
        one, two, three = (round(draw.step(*READINGS[size]), 2) for size in sizes)
        return one, two, three

    by_day = row(*(draw.one_of(("small", "large")) for _ in range(3)))
    return (by_day, *(row(*(draw.one_of(("small", "large")) for _ in range(3))) for _ in range(2)))


def _has_one_worst(table: tuple[tuple[float, float, float], ...]) -> bool:
    """What counts, the worst by day, is told apart from the worst of all, the mean by day, and the face by day."""
    by_day = table[0]
    values = [max(by_day), max(max(row) for row in table), sum(by_day) / len(by_day), by_day[0]]
    return all(abs(one - other) > APART_BY for at, one in enumerate(values) for other in values[:at])


def _is_clear(percent: int) -> bool:
    found, limit = from_the_door(percent), edge_to_edge()
    return found < CLEARLY * limit or CLEARLY * found > limit


def _readings(draw: Draw) -> tuple[float, ...]:
    return tuple(round(draw.step(0.2, 3.2, 0.05), 2) for _ in ANGLES)


def _flop_is_not_worst(found: tuple[float, ...]) -> bool:
    """The worst of the flop, of the face, and straight on are different angles, and each is told apart."""
    flop = max(found[at] for at in FLOP)
    face = max(found[at] for at in FACE)
    limit = LIMITS["metallic"][0]
    return face > flop + 0.2 and abs(found[3] - found[4]) > 0.2 and flop > limit[2] and len(set(found)) == len(found)
