"""VOC of a coating as applied, counted the way of the United States and the way of the European Union.

The two ways differ in what they leave out of the litre, so each has its own function, its own record and its own
table, and no number of the one can be held against the table of the other. Your local rule may be stricter than both.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, TypeVar

from refinishlib.entry import BadEntry, number, one_of
from refinishlib.shop.faults import Field, load
from refinishlib.shop.product import KINDS, Mix

WATER_G_PER_ML = 0.9982
LARGEST_DENSITY_G_PER_ML = 5.0
LARGEST_BATCH_ML = 1e6
LARGEST_VOC_G_PER_L = 2000.0
MOST_MIDCOATS = 9
CLEARCOATS = 2
ROUNDING = 1e-9

SOURCES = {
    "WATER_G_PER_ML": "CRC Handbook of Chemistry and Physics (2004): density of water at 20 degrees C, from memory",
    "LARGEST_DENSITY_G_PER_ML": "teaching value: range of an entry",
    "LARGEST_BATCH_ML": "teaching value: range of an entry",
    "LARGEST_VOC_G_PER_L": "teaching value: range of an entry, no solvent weighs more in a litre",
    "MOST_MIDCOATS": "teaching value: range of an entry",
    "ROUNDING": "definition: what floating point may add to a sum of shares",
    "CLEARCOATS": "40 CFR 59.104(a)(2) (1998): the clear counts twice in the average of a multi-stage topcoat",
}


@dataclass(frozen=True)
class MixPart:
    """One part of a ready mix, as its data sheet gives it.

    density_g_per_ml : of the part
    volatile_share : share of its mass that leaves the film, water and exempt compounds among it, 0-1
    water_share, exempt_share : shares of its mass that are water and exempt compounds, 0-1
    exempt_g_per_ml : density of the exempt compounds
    """

    name: str
    density_g_per_ml: float
    volatile_share: float
    water_share: float = 0.0
    exempt_share: float = 0.0
    exempt_g_per_ml: float = 1.0


@dataclass(frozen=True)
class Ready:
    """A coating ready to spray: what stands in its cup."""

    volume_ml: float
    volatile_g: float
    water_g: float
    exempt_g: float
    water_ml: float
    exempt_ml: float


@dataclass(frozen=True)
class UsVoc:
    """Grams of VOC per litre less water and exempt compounds, 40 CFR 59.104. Only for the table of that rule."""

    g_per_l: float


@dataclass(frozen=True)
class EuVoc:
    """Grams of VOC per litre ready to use, directive 2004/42/EC, of a product of this name in annex II B."""

    g_per_l: float
    product: str


Voc = TypeVar("Voc", UsVoc, EuVoc)


@dataclass(frozen=True)
class Limit:
    """One line of a limit table.

    name : of the category
    category : letter of annex II B, or nothing
    g_per_l : the most that is allowed, counted as that rule counts
    water_discounted : whether the litre is counted without its water
    kinds : kinds of product sheet that fall under it
    """

    name: str
    g_per_l: float
    kinds: tuple[str, ...]
    category: str
    water_discounted: bool


@dataclass(frozen=True)
class Limits:
    """A limit table with where it comes from, how it counts, and the note that belongs under it."""

    title: str
    source: str
    since: str
    counted: str
    stricter: str
    limits: dict[str, Limit]

    def of_kind(self, kind: str) -> tuple[str, ...]:
        """Names of the limits that a kind of product sheet may fall under; a topcoat has several by its stages.

        Raises
        ------
        BadEntry : an unknown kind

        >>> us_limits().of_kind("sealer"), eu_limits().of_kind("sealer")
        (('primer sealer',), ('surfacer, filler or general metal primer',))
        """
        one_of("kind", kind, KINDS)
        return tuple(limit.name for limit in self.limits.values() if kind in limit.kinds)


@dataclass(frozen=True)
class Held:
    """A VOC content beside its limit.

    what : whose content it is
    above : more than this limit; where it is not, a stricter local one may still be broken
    note : what to say under it, always
    """

    what: str
    g_per_l: float
    limit: Limit
    above: bool
    note: str

    @property
    def words(self) -> str:
        """The content beside its limit in a sentence; never a permission."""
        over = self.g_per_l - self.limit.g_per_l
        beside = f"{over:.0f} above" if self.above else "not above"
        return (
            f"{self.what} has {self.g_per_l:.0f} g/L, {beside} the limit of {self.limit.g_per_l:.0f} g/L for a "
            f"{self.limit.name}. {self.note}"
        )


@dataclass(frozen=True)
class SystemHeld:
    """A topcoat of several stages beside its limits.

    parts : each stage by itself
    average : the system as a whole, or None where the rule knows no average
    """

    parts: tuple[Held, ...]
    average: Held | None

    @property
    def decides(self) -> tuple[Held, ...]:
        """What the rule asks for: the average where there is one, else every part."""
        return (self.average,) if self.average else self.parts

    @property
    def words(self) -> str:
        """Each part by itself, then what the rule asks for, in sentences."""
        last = "For several stages the rule asks for their average: " + self.average.words if self.average else ""
        alone = " ".join(part.words.removesuffix(part.note).rstrip() for part in self.parts)
        return f"{alone} {last or self.parts[0].note}"


@dataclass(frozen=True)
class Emitted:
    """What one product of a job gives to the air, in grams."""

    product: str
    voc_g: float
    exempt_g: float
    water_g: float


@dataclass(frozen=True)
class JobEmissions:
    """What a whole job gives to the air, in grams: its products, the cleaning of its guns, and the sums."""

    products: tuple[Emitted, ...]
    cleaning_g: float
    voc_g: float
    exempt_g: float
    water_g: float


@cache
def us_limits() -> Limits:
    """The national limits of the United States.

    Source
    ------
    40 CFR part 59 subpart B, table 1 (63 FR 48806, 11 September 1998); the specialty coating from memory.

    >>> us_limits().limits["primer sealer"].g_per_l
    550.0
    """
    return _limits("us")


@cache
def eu_limits() -> Limits:
    """The limits of the European Union for refinishing products.

    Source
    ------
    Directive 2004/42/EC, annex II B.

    >>> eu_limits().limits["topcoat"].g_per_l, eu_limits().limits["topcoat"].category
    (420.0, 'd')
    """
    return _limits("eu")


def ready_mix(parts: Sequence[tuple[MixPart, float]]) -> Ready:
    """What stands in the cup when these parts are poured together. Volumes are taken to add up.

    Parameters
    ----------
    parts : each part with its volume, mL, above 0

    Raises
    ------
    BadEntry : no part, a volume, density or share out of range, or shares that do not fit in each other

    >>> sealer, reducer = MixPart("sealer", 1.30, 0.40), MixPart("reducer", 0.87, 1.0)
    >>> ready_mix([(sealer, 400), (reducer, 100)]).volatile_g
    295.0
    """
    if not parts:
        raise BadEntry("parts: nothing was given, allowed is at least one part.")
    totals = [0.0] * 6
    for part, volume in parts:
        volume_ml = number(f"volume of {part.name}", volume, low=0, high=LARGEST_BATCH_ML, unit="mL", above_low=True)
        mass_g = volume_ml * _density(f"density of {part.name}", part.density_g_per_ml)
        share = number(f"volatile share of {part.name}", part.volatile_share, low=0, high=1)
        water = number(f"water share of {part.name}", part.water_share, low=0, high=share)
        exempt = number(f"exempt share of {part.name}", part.exempt_share, low=0, high=share - water + ROUNDING)
        exempt_ml = mass_g * exempt / _density(f"exempt density of {part.name}", part.exempt_g_per_ml)
        row = (
            volume_ml,
            mass_g * share,
            mass_g * water,
            mass_g * exempt,
            mass_g * water / WATER_G_PER_ML,
            exempt_ml,
        )
        totals = [total + more for total, more in zip(totals, row, strict=True)]
    return Ready(*totals)


def one_litre(mix: Mix) -> Ready:
    """What one litre of a mix of the shop's own tins holds.

    >>> from refinishlib.shop.product import ready_to_spray
    >>> from refinishlib.shop.shop import load
    >>> round(us_voc(one_litre(ready_to_spray(load().product("clear")))).g_per_l)
    397
    """
    water_ml = mix.water_g_per_l / WATER_G_PER_ML
    return Ready(1000, mix.volatile_g_per_l, mix.water_g_per_l, mix.exempt_g_per_l, water_ml, mix.exempt_ml_per_l)


def us_voc(ready: Ready) -> UsVoc:
    """VOC as applied, less water and exempt compounds: (Wv - Ww - Wec) / (V - Vw - Vec).

    Parameters
    ----------
    ready : the coating ready to spray, Wv volatiles, Ww water, Wec exempt compounds by mass, V, Vw, Vec by volume

    Raises
    ------
    BadEntry : water and exempt compounds fill the whole volume, or weigh more than the volatiles

    Source
    ------
    40 CFR 59.104(a)(1).

    >>> round(us_voc(Ready(1000, 700, 500, 50, 500, 50)).g_per_l, 1)
    333.3
    """
    _sound(ready)
    litres = (ready.volume_ml - ready.water_ml - ready.exempt_ml) / 1000
    return UsVoc(max(0.0, ready.volatile_g - ready.water_g - ready.exempt_g) / litres)


def us_multi_stage(base: UsVoc, midcoats: Sequence[UsVoc], clear: UsVoc) -> UsVoc:
    """VOC of a multi-stage topcoat: (base + all midcoats + 2 x clear) / (number of midcoats + 3).

    Parameters
    ----------
    base, clear : VOC of the basecoat and of the clearcoat, each less water and exempt compounds
    midcoats : VOC of each midcoat; none for a two-stage topcoat

    Raises
    ------
    BadEntry : something that was not counted the way of the United States, out of range, or too many midcoats

    Source
    ------
    40 CFR 59.104(a)(2); the printed equation from memory. With no midcoat it is the average of base and two clears
    that Kern County rule 410.4A (1995) prints.

    >>> us_multi_stage(UsVoc(780), [], UsVoc(420)).g_per_l
    540.0
    >>> us_multi_stage(UsVoc(700), [UsVoc(740)], UsVoc(420)).g_per_l
    570.0
    """
    number("midcoats", len(midcoats), low=0, high=MOST_MIDCOATS)
    stages = [_us_g_per_l(stage) for stage in (base, *midcoats)]
    total = sum(stages) + CLEARCOATS * _us_g_per_l(clear)
    return UsVoc(total / (len(stages) + CLEARCOATS))


def us_topcoat(stages: int) -> str:
    """The category of table 1 for a topcoat of so many stages.

    >>> us_topcoat(2), us_topcoat(3)
    ('single or two-stage topcoat', 'topcoat of three or more stages')
    """
    count = number("stages", stages, low=1, high=MOST_MIDCOATS + CLEARCOATS)
    return "single or two-stage topcoat" if count <= 2 else "topcoat of three or more stages"


def hold_us(voc: UsVoc, *categories: str, what: str = "The coating") -> Held:
    """A US content beside its limit; if the coating is sold for several categories, beside the strictest.

    Raises
    ------
    BadEntry : a content counted another way, no category, or an unknown one, with those that exist

    Source
    ------
    40 CFR 59.102 (a) and (b).

    >>> held = hold_us(UsVoc(560), "primer or primer surfacer", "primer sealer")
    >>> held.above, held.limit.name
    (True, 'primer sealer')
    """
    content = _us_g_per_l(voc)
    table = us_limits()
    if not categories:
        raise BadEntry(f"category: nothing was given, allowed are {', '.join(table.limits)}.")
    limit = min((table.limits[one_of("category", name, table.limits)] for name in categories), key=lambda x: x.g_per_l)
    return Held(what, content, limit, content > limit.g_per_l, table.stricter)


def hold_us_system(base: UsVoc, midcoats: Sequence[UsVoc], clear: UsVoc) -> SystemHeld:
    """A topcoat of several stages the way of the United States: each part beside the limit, then the average.

    Parameters
    ----------
    base, midcoats, clear : VOC of each stage, less water and exempt compounds

    Raises
    ------
    BadEntry : as `us_multi_stage`

    Source
    ------
    40 CFR 59.102 and 59.104(a)(2).

    >>> print(hold_us_system(UsVoc(784), [], UsVoc(397)).words)
    The base alone has 784 g/L, 184 above the limit of 600 g/L for a single or two-stage topcoat. The clear alone has
    397 g/L, not above the limit of 600 g/L for a single or two-stage topcoat. For several stages the rule asks for
    their average: The system has 526 g/L, not above the limit of 600 g/L for a single or two-stage topcoat. Your local
    rule may be stricter: states and air districts set lower limits.
    """
    average = us_multi_stage(base, midcoats, clear)
    category = us_topcoat(len(midcoats) + 2)
    named = _stages(base, midcoats, clear)
    parts = tuple(hold_us(voc, category, what=f"The {name} alone") for name, voc in named)
    return SystemHeld(parts, hold_us(average, category, what="The system"))


def _stages(base: Voc, midcoats: Sequence[Voc], clear: Voc) -> list[tuple[str, Voc]]:
    stages: list[tuple[str, Voc]] = [("base", base)]
    stages += [(f"midcoat {n}" if len(midcoats) > 1 else "midcoat", voc) for n, voc in enumerate(midcoats, 1)]
    stages.append(("clear", clear))
    return stages


def eu_voc(ready: Ready, product: str) -> EuVoc:
    """VOC of a product ready to use: all organic volatiles, exempt compounds among them, by the litre less its water.

    Preparatory products and pre-cleaners (category a) are counted by the whole litre, water and all.

    Parameters
    ----------
    ready : the product ready to use
    product : its name in annex II B, which says whether the water is discounted

    Raises
    ------
    BadEntry : an unknown product, or water that fills the whole volume or weighs more than the volatiles

    Source
    ------
    Directive 2004/42/EC, article 2 (organic volatiles boiling up to 250 degrees C) and annex II B.

    >>> base = Ready(1000, 700, 500, 50, 500, 50)
    >>> eu_voc(base, "topcoat").g_per_l, eu_voc(base, "preparatory product").g_per_l
    (400.0, 200.0)
    """
    limit = eu_limits().limits[one_of("product", product, eu_limits().limits)]
    _sound(ready)
    counted_ml = ready.volume_ml - (ready.water_ml if limit.water_discounted else 0)
    return EuVoc((ready.volatile_g - ready.water_g) * 1000 / counted_ml, limit.name)


def hold_eu(voc: EuVoc, *, what: str = "The product") -> Held:
    """An EU content beside the limit of the product it was counted for.

    Raises
    ------
    BadEntry : a content counted another way

    >>> hold_eu(EuVoc(431.0, "topcoat")).above
    True
    """
    if not isinstance(voc, EuVoc):
        raise BadEntry(f"VOC: {_what(voc)} was given, allowed is a content that eu_voc counted.")
    content = number("VOC", voc.g_per_l, low=0, high=LARGEST_VOC_G_PER_L, unit="g/L")
    table = eu_limits()
    limit = table.limits[one_of("product", voc.product, table.limits)]
    return Held(what, content, limit, content > limit.g_per_l, table.stricter)


def hold_eu_system(base: EuVoc, midcoats: Sequence[EuVoc], clear: EuVoc) -> SystemHeld:
    """A topcoat of several stages the way of the European Union: each part is a product with its own limit.

    Raises
    ------
    BadEntry : a content counted another way, or too many midcoats

    Source
    ------
    Directive 2004/42/EC, annex II B: limits are for products ready to use, and there is no average.

    >>> held = hold_eu_system(EuVoc(784, "topcoat"), [], EuVoc(397, "topcoat"))
    >>> [part.above for part in held.decides], held.average is None
    ([True, False], True)
    """
    number("midcoats", len(midcoats), low=0, high=MOST_MIDCOATS)
    parts = (hold_eu(voc, what=f"The {name} alone") for name, voc in _stages(base, midcoats, clear))
    return SystemHeld(tuple(parts), None)


def job_emissions(mixed: Iterable[tuple[str, Mix, float]], *, cleaning_g: float = 0.0) -> JobEmissions:
    """What a job gives to the air, in grams: all that was mixed, for what is left over dries out too.

    Parameters
    ----------
    mixed : each product with its mix and the millilitres of it that were mixed
    cleaning_g : grams of cleaner that went to the guns and were not caught again, 0 or more

    Raises
    ------
    BadEntry : an amount below zero, naming the product

    Source
    ------
    Balance of masses: what is volatile leaves. VOC is what is neither water nor exempt.

    >>> from refinishlib.shop.product import ready_to_spray
    >>> from refinishlib.shop.shop import load
    >>> job = job_emissions([("clear", ready_to_spray(load().product("clear")), 500.0)], cleaning_g=80.0)
    >>> round(job.voc_g)
    279
    """
    rows = []
    for name, mix, volume in mixed:
        litres = number(f"{name}, amount", volume, low=0, high=LARGEST_BATCH_ML, unit="mL") / 1000
        organic = mix.volatile_g_per_l - mix.water_g_per_l - mix.exempt_g_per_l
        rows.append(Emitted(name, organic * litres, mix.exempt_g_per_l * litres, mix.water_g_per_l * litres))
    cleaner = number("cleaner", cleaning_g, low=0, high=LARGEST_BATCH_ML, unit="g")
    return JobEmissions(
        tuple(rows),
        cleaner,
        math.fsum((cleaner, *(row.voc_g for row in rows))),
        math.fsum(row.exempt_g for row in rows),
        math.fsum(row.water_g for row in rows),
    )


def _us_g_per_l(voc: UsVoc) -> float:
    if not isinstance(voc, UsVoc):
        raise BadEntry(f"VOC: {_what(voc)} was given, allowed is a content that us_voc or us_multi_stage counted.")
    return number("VOC", voc.g_per_l, low=0, high=LARGEST_VOC_G_PER_L, unit="g/L")


def _what(voc: Any) -> str:
    return {EuVoc: "a content counted the EU way", UsVoc: "a content counted the US way"}.get(type(voc), repr(voc))


def _density(field: str, value: float) -> float:
    return number(field, value, low=0, high=LARGEST_DENSITY_G_PER_ML, unit="g/mL", above_low=True)


def _sound(ready: Ready) -> None:
    volume = number("volume", ready.volume_ml, low=0, high=LARGEST_BATCH_ML, unit="mL", above_low=True)
    water = number("volume of water", ready.water_ml, low=0, high=volume, unit="mL")
    exempt = number("volume of exempt compounds", ready.exempt_ml, low=0, high=volume - water, unit="mL")
    if not volume - water - exempt > 0:
        raise BadEntry("volume: water and exempt compounds fill it, allowed is a coating with something else in it.")
    volatile = number("mass of volatiles", ready.volatile_g, low=0, unit="g")
    water_g = number("mass of water", ready.water_g, low=0, high=volatile, unit="g")
    number("mass of exempt compounds", ready.exempt_g, low=0, high=(volatile - water_g) + ROUNDING * volatile, unit="g")


def _limits(rule: str) -> Limits:
    table = _file()[rule]
    rows = (
        Limit(
            row["name"], row["g_per_l"], tuple(row["kinds"]), row.get("category", ""), row.get("water_discounted", True)
        )
        for row in table["limit"]
    )
    return Limits(**{key: table[key] for key in _TEXTS}, limits={row.name: row for row in rows})


_TEXTS = ("title", "source", "since", "counted", "stricter")


@cache
def _file() -> dict[str, Any]:
    texts = tuple(Field(key, str) for key in _TEXTS)
    name, content = Field("name", str, unique=True), Field("g_per_l", low=0, high=LARGEST_VOC_G_PER_L, unit="g/L")
    kinds = Field("kinds", str, many=True, choices=KINDS)
    us = (name, kinds, content, Field("lb_per_gal", low=0, unit="lb/gal"))
    eu = (name, kinds, content, Field("category", str), Field("water_discounted", bool))
    rules = (
        Field("source", str),
        Field("us", fields=(*texts, Field("limit", fields=us, many=True))),
        Field("eu", fields=(*texts, Field("limit", fields=eu, many=True))),
    )
    data: dict[str, Any] = load(files(__package__) / "limits.toml", rules)
    return data
