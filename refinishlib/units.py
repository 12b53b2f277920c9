"""The only room that knows ounces, mils and Fahrenheit; inside the house it is g, mL, um, m2,
degC, min, m/s, kPa, g/L.

What a painter types comes in through `parse`, what the house computes goes out through `show`. The conversions are
those of pint, asked with exact fractions, so that a value is rounded once, to the nearest float. Pint is loaded when
the first unit that is not the house's own turns up.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import pairwise
from math import inf
from typing import Any

from refinishlib.entry import BadEntry, number, one_of


@dataclass(frozen=True)
class Unit:
    """One unit as it is printed, its name in pint, and what else people type for it (lower case)."""

    name: str
    pint_name: str
    spellings: tuple[str, ...]


@dataclass(frozen=True)
class Kind:
    """One kind of quantity: what to call it, an example to type, and its units, the house's own first."""

    words: str
    example: str
    units: tuple[Unit, ...]


def _imperial(*words: str) -> tuple[str, ...]:
    return tuple(f"{whose} {word}" for word in words for whose in ("imp", "imp.", "imperial", "uk"))


def _degrees(letter: str, name: str) -> tuple[str, ...]:
    before = ("°", "° ", "º", "º ", "deg ", "deg. ", "degree ", "degrees ")
    return (letter, name, *(word + end for word in before for end in (letter, name)))


KINDS: dict[str, Kind] = {
    "mass": Kind(
        "a mass",
        "250 g",
        (
            Unit("g", "gram", ("gram", "grams", "gramme", "grammes", "gr", "gm", "gms")),
            Unit("kg", "kilogram", ("kilo", "kilos", "kilogram", "kilograms")),
            Unit("oz", "ounce", ("oz.", "ozs", "ozs.", "ounce", "ounces")),
            Unit("lb", "pound", ("lb.", "lbs", "lbs.", "pound", "pounds")),
        ),
    ),
    "volume": Kind(
        "a volume",
        "250 mL",
        (
            Unit("mL", "milliliter", ("ml", "cc", "cm3", "milliliter", "milliliters", "millilitre", "millilitres")),
            Unit("L", "liter", ("l", "liter", "liters", "litre", "litres")),
            Unit("US fl oz", "US_fluid_ounce", ("us fl. oz.", "us fl. oz", "us fluid ounce", "us fluid ounces")),
            Unit("US pint", "US_pint", ("us pints", "us pt", "us pts")),
            Unit("US qt", "US_liquid_quart", ("us qts", "us quart", "us quarts")),
            Unit("US gal", "US_liquid_gallon", ("us gals", "us gallon", "us gallons")),
            Unit("imp fl oz", "imperial_fluid_ounce", _imperial("fl oz", "fl. oz.", "fluid ounce", "fluid ounces")),
            Unit("imp pint", "imperial_pint", _imperial("pint", "pints", "pt", "pts")),
            Unit("imp qt", "imperial_quart", _imperial("qt", "qts", "quart", "quarts")),
            Unit("imp gal", "imperial_gallon", _imperial("gal", "gals", "gallon", "gallons")),
        ),
    ),
    "film": Kind(
        "a film thickness",
        "60 um",
        (
            Unit("um", "micrometer", ("micron", "microns", "micrometer", "micrometre", "micrometers", "micrometres")),
            Unit("mil", "thou", ("mils", "thou")),
            Unit("mm", "millimeter", ("millimeter", "millimetre", "millimeters", "millimetres")),
        ),
    ),
    "area": Kind(
        "an area",
        "1.5 m2",
        (
            Unit("m2", "meter ** 2", ("m^2", "sqm", "sq m", "square metre", "square meter", "square metres")),
            Unit("ft2", "foot ** 2", ("ft^2", "sqft", "sq ft", "sq. ft.", "square foot", "square feet")),
        ),
    ),
    "temperature": Kind(
        "a temperature",
        "21 degC",
        (
            Unit("degC", "degC", _degrees("c", "celsius")),
            Unit("degF", "degF", _degrees("f", "fahrenheit")),
        ),
    ),
    "time": Kind(
        "a time",
        "12 min",
        (
            Unit("min", "minute", ("mins", "min.", "minute", "minutes")),
            Unit("s", "second", ("sec", "secs", "second", "seconds")),
            Unit("h", "hour", ("hr", "hrs", "hour", "hours")),
        ),
    ),
    "air speed": Kind(
        "an air speed",
        "0.3 m/s",
        (
            Unit("m/s", "meter / second", ("meters per second", "metres per second")),
            Unit("ft/min", "foot / minute", ("fpm", "feet per minute", "ft per min")),
        ),
    ),
    "pressure": Kind(
        "a pressure",
        "200 kPa",
        (
            Unit("kPa", "kilopascal", ("kilopascal", "kilopascals")),
            Unit("bar", "bar", ("bars",)),
            Unit("psi", "pound_force_per_square_inch", ("lb/in2", "lbf/in2")),
        ),
    ),
    "content": Kind(
        "a content",
        "420 g/L",
        (
            Unit("g/L", "gram / liter", ("grams per litre", "grams per liter", "gram/litre", "gram/liter")),
            Unit("lb/gal", "pound / US_liquid_gallon", ("lbs/gal", "lb/us gal", "pounds per gallon")),
        ),
    ),
    "percent": Kind("a percentage", "65 %", (Unit("%", "percent", ("percent", "per cent", "pct")),)),
    "number": Kind("a number", "2.5", (Unit("", "", ()),)),
}

# Digits after the point when nobody says how many.
DECIMALS = {
    "g": 1, "kg": 3, "oz": 2, "lb": 3, "mL": 0, "L": 3, "US fl oz": 1, "US pint": 2, "US qt": 2, "US gal": 3,
    "imp fl oz": 1, "imp pint": 2, "imp qt": 2, "imp gal": 3,
    "um": 0, "mil": 1, "mm": 3, "m2": 2, "ft2": 1, "degC": 0, "degF": 0, "min": 0, "s": 0, "h": 2,
    "m/s": 2, "ft/min": 0, "kPa": 0, "bar": 1, "psi": 0, "g/L": 0, "lb/gal": 1, "%": 1, "": 2,
}  # fmt: skip
# Measures that are one thing in the United States and another in Britain: which one is meant is asked.
TWO_MEASURES = {
    **dict.fromkeys(("fl oz", "fl. oz.", "fl. oz", "fl oz.", "floz", "fluid ounce", "fluid ounces"), "fl oz"),
    **dict.fromkeys(("pint", "pints", "pt", "pts"), "pint"),
    **dict.fromkeys(("qt", "qts", "quart", "quarts"), "qt"),
    **dict.fromkeys(("gal", "gals", "gallon", "gallons"), "gal"),
}
LONGEST_ENTRY = 60

SOURCES = {
    "KINDS": "NIST Special Publication 811 (2008), appendix B: the units; the amounts are examples",
    "DECIMALS": "common practice, no source: about what a shop's scale, jug and film gauge show",
    "ON_SCREEN": "NIST Special Publication 811 (2008): symbols of the units",
    "CHOSEN": "common practice, no source: what differs from country to country in a shop",
    "METRIC": "definition",
    "LONGEST_ENTRY": "teaching value: longer text is not one quantity",
}

_NUMBER = re.compile(r"[+-]?(?:[0-9][0-9.,]*|[.,][0-9]+)(?:e[+-]?[0-9]+)?", re.IGNORECASE)
_POWER = re.compile(r"(?<=[A-Za-z])[²³]")
_UNIT_FIRST = re.compile(r"((?:m|ft|cm)\^?[23](?=[ :=])|[^\W\d][^\d+-]*?|[%°])\.?[:=]? ?([+-]?[0-9.,].*)")
_FRACTION = re.compile(r"([+-]?)(?:([0-9]+)[ -])? ?([0-9]+) ?/ ?([0-9]+)")
_GROUPED = re.compile(r"[+-]?[0-9]{1,3}(?:([ '_])[0-9]{3})(?:\1[0-9]{3})*(?:[.,][0-9]+)?(?![0-9/])")


def parse(
    entry: Any,
    kind: str,
    *,
    field: str,
    low: float = -inf,
    high: float = inf,
    above_low: bool = False,
    unit: str | None = None,
) -> float:
    """What somebody typed, as a plain float in the house's unit: g, mL, um, m2, degC, min, m/s, kPa, g/L, percent.

    A decimal point or comma, a fraction ("1 1/2 oz", "½ L"), a unit or none, and parts in falling units ("1 lb 4 oz")
    are all understood. A comma that could be either a decimal comma or a thousands mark ("1,000") is refused.

    Parameters
    ----------
    entry : text, or a number, which is taken to be in `unit`
    kind : mass, volume, film, area, temperature, time, air speed, pressure, content, percent or number
    field : the name of the field, in words that stand on the screen
    low, high : the allowed range in the house's unit, ends included; with above_low the low end is not
    unit : the unit of a number without one; the house's own if not given

    Raises
    ------
    BadEntry : one sentence that says what to type instead

    Source
    ------
    NIST Special Publication 811 (2008), appendix B, for the conversions.

    >>> parse("34,2", "mass", field="amount"), parse("1 1/2 oz", "mass", field="amount")
    (34.2, 42.5242846875)
    >>> parse("1,000 g", "mass", field="amount")
    Traceback (most recent call last):
        ...
    refinishlib.entry.BadEntry: amount: '1,000' can be read in two ways, type 1000 or 1.000 with a point.
    """
    return parse_either(entry, (kind,), field=field, low=low, high=high, above_low=above_low, unit=unit)[1]


def parse_either(
    entry: Any,
    kinds: Sequence[str],
    *,
    field: str,
    low: float = -inf,
    high: float = inf,
    above_low: bool = False,
    unit: str | None = None,
) -> tuple[str, float]:
    """As `parse`, where more than one kind will do: the kind that was typed, and the value in the house's unit.

    "oz" is a mass wherever a mass will do; "US fl oz" and "imp fl oz" are the volumes.

    >>> parse_either("1 US qt", ("mass", "volume"), field="amount")
    ('volume', 946.352946)
    """
    wanted = [KINDS[one_of("kind", kind, KINDS)] for kind in kinds]
    bare = one_of("unit", unit, [u.name for k in wanted for u in k.units]) if unit else wanted[0].units[0].name
    typed = ""
    if isinstance(entry, str):
        typed = " ".join(entry.split())
        kind, value = _read(typed, kinds, bare, field)
    else:
        kind, value = kind_of(bare), to_house(number(field, entry), bare)
    house = KINDS[kind].units[0].name
    number(field, value, low=low, high=high, above_low=above_low, unit=house, given=repr(typed) if typed else "")
    return kind, value


def show(value: float, unit: str, *, decimals: int | None = None, with_unit: bool = True) -> str:
    """A value of the house, printed in a unit, without a thousands mark; `parse` reads it back.

    Parameters
    ----------
    value : in the house's unit for the kind of quantity that `unit` measures
    unit : a unit by its printed name: g, oz, US gal, mil, degF, ...
    decimals : digits after the point; what is usual for the unit if not given

    >>> show(453.59237, "lb"), show(36, "g"), show(20.0, "degF"), show(25.4, "mil", decimals=2, with_unit=False)
    ('1.000 lb', '36.0 g', '68 degF', '1.00')
    """
    digits = DECIMALS[one_of("unit", unit, DECIMALS)] if decimals is None else decimals
    text = f"{from_house(value, unit):.{digits}f}"
    if not text.strip("-0."):
        text = text.lstrip("-")
    return f"{text} {unit}" if with_unit and unit else text


# How units are written on a screen, where their printed name is for typing.
ON_SCREEN = {"um": "µm", "degC": "°C", "degF": "°F", "m2": "m²", "ft2": "ft²"}
# What a shop may choose. Grams are not among them: the scale shows grams.
CHOSEN = ("volume", "film", "temperature", "area")


def to_house(value: float, unit: str) -> float:
    """A value in a unit, as a float in the house's unit, rounded once.

    >>> to_house(1, "US gal"), to_house(50, "degF"), to_house(2.0, "g")
    (3785.411784, 10.0, 2.0)
    """
    factor, offset = _exact(unit)
    plain = factor == 1 and offset == 0
    return float(value) if plain else _as_float(Fraction(value) * factor + offset)


def from_house(value: float, unit: str) -> float:
    """A value in the house's unit, as a float in another unit, rounded once.

    >>> from_house(28.349523125, "oz")
    1.0
    """
    factor, offset = _exact(unit)
    plain = factor == 1 and offset == 0
    return float(value) if plain else _as_float((Fraction(value) - offset) / factor)


def unit_names(kind: str) -> tuple[str, ...]:
    """The printed names of the units of a kind, the house's own first.

    >>> unit_names("mass")
    ('g', 'kg', 'oz', 'lb')
    """
    return tuple(unit.name for unit in KINDS[one_of("kind", kind, KINDS)].units)


def kind_of(unit: str) -> str:
    """The kind of quantity that a unit, by its printed name, measures.

    >>> kind_of("US qt")
    'volume'
    """
    one_of("unit", unit, DECIMALS)
    return next(name for name, kind in KINDS.items() if unit in [u.name for u in kind.units])


@cache
def _exact(unit: str) -> tuple[Fraction, Fraction]:
    """Factor and offset with house value = factor x value + offset."""
    kind = KINDS[kind_of(unit)]
    if unit == kind.units[0].name:
        return Fraction(1), Fraction(0)
    pint_name = next(u.pint_name for u in kind.units if u.name == unit)
    at_zero, at_one = (
        _registry().Quantity(Fraction(n), pint_name).to(kind.units[0].pint_name).magnitude for n in (0, 1)
    )
    return at_one - at_zero, at_zero


@cache
def _registry() -> Any:
    import pint

    return pint.UnitRegistry(non_int_type=Fraction)


@cache
def _spellings(kind: str) -> dict[str, str]:
    return {word: unit.name for unit in KINDS[kind].units for word in (unit.name.lower(), *unit.spellings)}


def _read(typed: str, kinds: Sequence[str], bare: str, field: str) -> tuple[str, float]:
    wanted = [KINDS[kind] for kind in kinds]
    words = " or ".join(kind.words for kind in wanted)
    examples = " or ".join(kind.example for kind in wanted)
    if not typed:
        raise BadEntry(f"{field}: nothing was typed, type {words} such as {examples}.")
    shown = typed if len(typed) <= LONGEST_ENTRY else typed[:LONGEST_ENTRY] + "..."
    not_understood = BadEntry(f"{field}: {shown!r} was not understood, type {words} such as {examples}.")
    rest = _number_first(_plain(typed).rstrip("."))
    if len(typed) > LONGEST_ENTRY:
        raise not_understood
    found: list[tuple[str, Fraction]] = []
    while rest or not found:
        amount, after = _take_number(rest, field)
        if amount is None or (found and not rest[0].isdigit()):
            raise not_understood
        rest = after
        word, after = _take_unit(rest)
        unit = next((_spellings(kind)[word] for kind in kinds if word in _spellings(kind)), "") if word else bare
        if word in TWO_MEASURES and "volume" in kinds:
            meant = TWO_MEASURES[word]
            raise BadEntry(
                f"{field}: {word!r} is one measure in the United States and another in Britain, "
                f"type US {meant} or imp {meant}."
            )
        if (word and not unit) or (rest[:1].isalpha() and not word):
            raise _unknown_unit(word or rest, kinds, field)
        if not word and (found or rest):
            raise not_understood
        found.append((unit, amount))
        rest = after
    kind = kind_of(found[0][0])
    factors = [_exact(unit)[0] for unit, _ in found]
    falling = all(first > second for first, second in pairwise(factors))
    if len(found) > 1 and (
        kind not in ("mass", "volume", "time")
        or any(kind_of(unit) != kind or amount < 0 for unit, amount in found)
        or not falling
    ):
        raise not_understood
    total = sum((_exact(unit)[0] * amount + _exact(unit)[1] for unit, amount in found), Fraction(0))
    return kind, _as_float(total)


def _plain(typed: str) -> str:
    """Lower case, with ordinary spaces, minus signs, micro signs, powers and fractions."""
    out = ""
    for character in typed:
        shape = unicodedata.decomposition(character)
        if shape.startswith("<fraction>"):
            out += f" {unicodedata.normalize('NFKC', character)}"
        elif shape.startswith("<wide>"):
            out += unicodedata.normalize("NFKC", character)
        else:
            out += character
    for old, new in (("\N{MINUS SIGN}", "-"), ("\N{FRACTION SLASH}", "/"), ("\N{RIGHT SINGLE QUOTATION MARK}", "'")):
        out = out.replace(old, new)
    # A power belongs to a unit: m² is m2, but 1² is not 12.
    out = _POWER.sub(lambda found: "2" if found.group() == "²" else "3", out)
    return " ".join(out.replace("µ", "u").replace("\N{GREEK SMALL LETTER MU}", "u").split()).lower()


def _number_first(text: str) -> str:
    """A unit that stands before its number ("g 34.2") put behind it."""
    found = _UNIT_FIRST.fullmatch(text)
    known = found and any(found[1].strip() in _spellings(kind) for kind in KINDS)
    return f"{found[2]} {found[1].strip()}" if found and known else text


def _take_number(text: str, field: str) -> tuple[Fraction | None, str]:
    if match := _FRACTION.match(text):
        sign, whole, top, bottom = match.groups()
        if int(bottom) == 0:
            return None, text
        value = Fraction(int(whole or 0)) + Fraction(int(top), int(bottom))
        return (-value if sign == "-" else value), text[match.end() :].lstrip()
    match = _GROUPED.match(text) or _NUMBER.match(text)
    if not match:
        return None, text
    return _decimal(re.sub("[ '_]", "", match.group()), field), text[match.end() :].lstrip()


def _decimal(digits: str, field: str) -> Fraction | None:
    body, exponent_mark, exponent = digits.partition("e")
    commas, points = body.count(","), body.count(".")
    if commas == 1 and not points and not exponent_mark and re.fullmatch(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}", body):
        raise BadEntry(
            f"{field}: {body!r} can be read in two ways, type {body.replace(',', '')} "
            f"or {body.replace(',', '.')} with a point."
        )
    grouped_by, point = (",", ".") if commas != 1 or body.rfind(".") > body.find(",") else (".", ",")
    if grouped_by in body:
        if not re.fullmatch(rf"[+-]?[0-9]{{1,3}}(?:\{grouped_by}[0-9]{{3}})+(?:\{point}[0-9]*)?", body):
            return None
        body = body.replace(grouped_by, "")
    body = body.replace(point, ".")
    try:
        return Fraction(float(body + exponent_mark + exponent)) if exponent_mark else Fraction(body)
    except (ValueError, OverflowError):
        return None


def _take_unit(text: str) -> tuple[str, str]:
    """The longest spelling of any unit at the start of the text, and the rest."""
    spellings = {word for kind in KINDS for word in _spellings(kind) if word} | set(TWO_MEASURES)
    for word in sorted(spellings, key=len, reverse=True):
        if text.startswith(word) and not text[len(word) :][:1].isalpha():
            return word, text[len(word) :].lstrip()
    return "", text


def _unknown_unit(word: str, kinds: Sequence[str], field: str) -> BadEntry:
    names = [name for kind in kinds for name in unit_names(kind) if name]
    words = " or ".join(KINDS[kind].words for kind in kinds)
    advice = f"type {words} in {', '.join(names)}" if names else f"type {words} alone such as {KINDS[kinds[0]].example}"
    if word in _spellings("mass"):
        return BadEntry(f"{field}: {word!r} is a unit of mass, {advice}.")
    return BadEntry(f"{field}: {word!r} after the number was not understood, {advice}.")


def _as_float(value: Fraction) -> float:
    try:
        return float(value)
    except OverflowError:
        return inf if value > 0 else -inf


@dataclass(frozen=True)
class ShopUnits:
    """The units that a shop wants to read and may leave away when it types, by kind of quantity.

    >>> us = ShopUnits(volume="US fl oz", film="mil", temperature="degF", area="ft2")
    >>> us.say(20.0, "temperature"), us.say(50.8, "film"), METRIC.say(50.8, "film")
    ('68 °F', '2.0 mil', '51 µm')
    >>> us.read("2", "film", field="Clear")
    50.8
    """

    volume: str = "mL"
    film: str = "um"
    temperature: str = "degC"
    area: str = "m2"

    def __post_init__(self) -> None:
        """
        Raises
        ------
        BadEntry : a unit that its kind does not have, with those that it has
        """
        for kind in CHOSEN:
            one_of(f"unit of {kind}", getattr(self, kind), unit_names(kind))

    def say(self, value: float, kind: str, *, decimals: int | None = None) -> str:
        """A value of the house, as the shop reads it."""
        unit: str = getattr(self, kind)
        number = show(value, unit, decimals=decimals, with_unit=False)
        return f"{number} {ON_SCREEN.get(unit, unit)}"

    def read(self, entry: str, kind: str, *, field: str, low: float = -inf, high: float = inf) -> float:
        """What somebody typed, in the house's unit; a number alone is in the shop's."""
        return parse(entry, kind, field=field, low=low, high=high, unit=getattr(self, kind))


METRIC = ShopUnits()
