"""Tins and product sheets of the invented shop, and the mix that goes into the gun.

A sheet gives its times at 20 degrees C for the mix with the normal hardener and reducer, at the air speed of the shop's
own booth, a water-borne one at 50 % humidity; what another day makes of them is worked out in `refinishlib.booth`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from refinishlib.entry import one_of
from refinishlib.shop.faults import Field, Place
from refinishlib.shop.paint import DENSITY_G_PER_ML

SPEEDS = ("fast", "normal", "slow")
KINDS = (
    "epoxy",
    "corrosion protection",
    "primer-surfacer",
    "sealer",
    "solvent base",
    "water-borne base",
    "clear",
    "plastic adhesion promoter",
)
WATER_G_PER_ML = 0.9982
SOLVENT_G_PER_ML = (0.65, 1.1)
SOLIDS_G_PER_ML = (0.9, 4.0)
LITRE_SLACK_ML = 15.0
SMALLEST_MIX_ML = (0.0, 5000.0)
MIX_STEP_ML = (0.0, 1000.0)
MINUTES_MAX = 20160.0
TIP_MM = (0.5, 3.0)
FILM_MAX_UM = 1000.0
AIR_C = (0.0, 50.0)
BAKE_C = (30.0, 100.0)
SOLVENTS = (
    "water",
    "acetone", "butanone", "ethyl acetate", "n-propyl acetate", "isobutyl acetate", "n-butyl acetate",
    "4-methyl-2-pentanone", "toluene", "ethylbenzene", "1,3-xylene", "1,2-xylene", "ethanol", "2-propanol", "1-butanol",
)  # fmt: skip

SOURCES = {
    "WATER_G_PER_ML": "CRC Handbook of Chemistry and Physics (2004): density of water at 20 degrees C, from memory",
    "SOLVENT_G_PER_ML": "CRC Handbook of Chemistry and Physics (2014), from memory: from light aliphatics, 0.65, to "
    "esters and glycol ether acetates, below 1.1; heavier ones are exempt compounds and have their own volume",
    "SOLIDS_G_PER_ML": "teaching value: from bare resin to primer that is filled to the brim",
    "LITRE_SLACK_ML": "teaching value: what rounding on a sheet and shrinking on mixing may leave open",
    "SMALLEST_MIX_ML": "teaching value: range of an entry",
    "MIX_STEP_ML": "teaching value: range of an entry, a step of more than a litre is a slip of the pen",
    "MINUTES_MAX": "teaching value: two weeks",
    "TIP_MM": "common practice, no source: gun tips are made from 0.5 to 3 mm",
    "FILM_MAX_UM": "teaching value: no sprayed coat is 1 mm thick when dry",
    "AIR_C": "teaching value: no coat is sprayed in frost or at 50 degrees C",
    "BAKE_C": "teaching value: panel temperatures of a booth, not of a factory oven",
    "TIN_FIELDS": "teaching value: ranges that catch a slip of the pen",
    "PRODUCT_FIELDS": "teaching value: ranges that catch a slip of the pen",
}


@dataclass(frozen=True)
class Tin:
    """One tin of the shelf.

    role : paint, hardener or reducer
    density_g_per_ml : as it stands in the tin
    volume_solids : share of its volume that stays in the dry film, 0-1
    volatile_g_per_l : all that leaves the film, with water and exempt compounds
    water_g_per_l, exempt_g_per_l, exempt_ml_per_l : the part of it that is water, or that a rule exempts
    price_per_litre : in the shop's own money
    speed : fast, normal or slow, of a hardener or reducer
    pace : of a hardener, time to react as a multiple of the normal one's; of a water-borne reducer, time to dry
    solvent : of a reducer, the chemical name of the solvent that leads the drying, one of SOLVENTS
    solvent_share : of a reducer, the share of it that this solvent is; the rest dries as the normal reducer does
    air_c : of a reducer, the air temperatures it is meant for, degrees C
    """

    name: str
    role: str
    density_g_per_ml: float
    volume_solids: float
    volatile_g_per_l: float
    price_per_litre: float
    water_g_per_l: float = 0.0
    exempt_g_per_l: float = 0.0
    exempt_ml_per_l: float = 0.0
    speed: str = "normal"
    pace: float = 1.0
    solvent: str = ""
    solvent_share: float = 1.0
    air_c: tuple[float, float] = AIR_C


@dataclass(frozen=True)
class Cure:
    """The two cures of a sheet: minutes at a panel temperature, and minutes of air drying at 20 degrees C.

    bake_max_c : the hottest air that the sheet allows at bake
    """

    bake_panel_c: float
    bake_min: float
    air_dry_min: float
    bake_max_c: float = BAKE_C[1]


@dataclass(frozen=True)
class ProductSheet:
    """What the shop's sheet says about one product; times in minutes at 20 degrees C.

    paint, hardeners, reducers : tins; the hardener and the reducer with speed "normal" are those of the times below
    mix : parts by volume of paint, hardener, reducer
    tip_mm : gun tip, from and to
    coats, film_um : usual number of coats, and dry film of one coat
    wet_edge_min : how long a coat stays open for the next pass
    flash_min, final_flash_min : between coats; before the next product or the bake
    recoat_max_min : how long after its last coat another may follow without sanding
    pot_life_min : None where nothing reacts in the cup
    cure : None where the film only dries
    air_c, humidity_percent : the window it may be sprayed in
    smallest_mix_ml, mix_step_ml : the least that can be weighed well, and the steps above it
    lightness : CIELAB L* of a sealer's dry film
    """

    name: str
    kind: str
    paint: Tin
    mix: tuple[float, float, float]
    tip_mm: tuple[float, float]
    coats: int
    film_um: float
    wet_edge_min: float
    flash_min: float
    final_flash_min: float
    recoat_max_min: float
    dust_free_min: float
    air_c: tuple[float, float]
    humidity_percent: tuple[float, float]
    smallest_mix_ml: float
    mix_step_ml: float
    hardeners: tuple[Tin, ...] = ()
    reducers: tuple[Tin, ...] = ()
    water_borne: bool = False
    pot_life_min: float | None = None
    cure: Cure | None = None
    lightness: float | None = None


@dataclass(frozen=True)
class Mix:
    """A mix ready to spray: its tins with their shares of the volume, and what one litre of it holds and costs."""

    parts: tuple[tuple[Tin, float], ...]
    density_g_per_ml: float
    volume_solids: float
    volatile_g_per_l: float
    water_g_per_l: float
    exempt_g_per_l: float
    exempt_ml_per_l: float
    price_per_litre: float


def sheets_of(data: Mapping[str, Any]) -> tuple[ProductSheet, ...]:
    """The product sheets of a checked file."""
    tins = {row["name"]: Tin(**row) for row in data["tin"]}
    return tuple(_sheet(row, tins) for row in data["product"])


def hardener(sheet: ProductSheet, speed: str = "normal") -> Tin | None:
    """The sheet's hardener of a speed, or of a tin's name; None for a product without one.

    Raises
    ------
    BadEntry : a speed or tin that the sheet does not have
    """
    return _of_speed(sheet, "hardener", sheet.hardeners, speed)


def reducer(sheet: ProductSheet, speed: str = "normal") -> Tin | None:
    """The sheet's reducer of a speed, or of a tin's name; None for a product without one.

    Raises
    ------
    BadEntry : a speed or tin that the sheet does not have
    """
    return _of_speed(sheet, "reducer", sheet.reducers, speed)


def ready_to_spray(sheet: ProductSheet, hardener_speed: str = "normal", reducer_speed: str = "normal") -> Mix:
    """The mix of a sheet, ready to spray.

    Parameters
    ----------
    sheet : the product
    hardener_speed, reducer_speed : fast, normal or slow, as far as the sheet has them, or the name of a tin

    Raises
    ------
    BadEntry : a speed or tin that the sheet does not have

    Source
    ------
    Balance of volumes and masses; volumes are taken to add up.

    >>> from refinishlib.shop.shop import load
    >>> mix = ready_to_spray(load().product("clear"), "slow")
    >>> [(tin.name, round(share, 3)) for tin, share in mix.parts]
    [('clear', 0.645), ('slow hardener', 0.323), ('normal reducer', 0.032)]
    >>> round(mix.volume_solids, 3)
    0.545
    """
    tins = (sheet.paint, hardener(sheet, hardener_speed), reducer(sheet, reducer_speed))
    whole = sum(sheet.mix)
    parts = tuple((tin, part / whole) for tin, part in zip(tins, sheet.mix, strict=True) if tin is not None and part)

    def mixed(field: str) -> float:
        return float(sum(share * getattr(tin, field) for tin, share in parts))

    return Mix(
        parts,
        mixed("density_g_per_ml"),
        mixed("volume_solids"),
        mixed("volatile_g_per_l"),
        mixed("water_g_per_l"),
        mixed("exempt_g_per_l"),
        mixed("exempt_ml_per_l"),
        mixed("price_per_litre"),
    )


def _of_speed(sheet: ProductSheet, role: str, tins: tuple[Tin, ...], speed: str) -> Tin | None:
    known = dict.fromkeys([*(tin.speed for tin in tins), *(tin.name for tin in tins)] if tins else ["normal"])
    one_of(f"{sheet.name}, {role}", speed, known)
    return next((tin for tin in tins if speed in (tin.speed, tin.name)), None)


def _sheet(row: dict[str, Any], tins: dict[str, Tin]) -> ProductSheet:
    resolved = {
        **row,
        "paint": tins[row["paint"]],
        "mix": tuple(row["mix"][role] for role in ROLES),
        "hardeners": tuple(tins[name] for name in row.get("hardeners", ())),
        "reducers": tuple(tins[name] for name in row.get("reducers", ())),
        "cure": Cure(**row["cure"]) if "cure" in row else None,
    }
    return ProductSheet(**resolved)


# --- what a file must have -------------------------------------------------------------------------------------------

ROLES = ("paint", "hardener", "reducer")


def _minutes(name: str, *, optional: bool = False) -> Field:
    return Field(name, low=0, above_low=True, high=MINUTES_MAX, unit="min", optional=optional)


def _span(name: str, low: float, high: float, unit: str, *, optional: bool = False) -> Field:
    ends = (Field(f"{name} from", low=low, high=high, unit=unit), Field(f"{name} to", low=low, high=high, unit=unit))
    return Field(name, row=ends, optional=optional)


TIN_FIELDS = (
    Field("name", str, unique=True),
    Field("role", str, choices=ROLES),
    Field("density_g_per_ml", low=DENSITY_G_PER_ML[0], high=DENSITY_G_PER_ML[1], unit="g/mL"),
    Field("volume_solids", low=0, high=1),
    Field("volatile_g_per_l", low=0, unit="g/L"),
    Field("water_g_per_l", low=0, unit="g/L", optional=True),
    Field("exempt_g_per_l", low=0, unit="g/L", optional=True),
    Field("exempt_ml_per_l", low=0, high=1000, unit="mL/L", optional=True),
    Field("price_per_litre", low=0),
    Field("speed", str, choices=SPEEDS, optional=True),
    Field("pace", low=0.1, high=10, optional=True),
    Field("solvent", str, choices=SOLVENTS, optional=True),
    Field("solvent_share", low=0, above_low=True, high=1, optional=True),
    _span("air_c", *AIR_C, "degrees C", optional=True),
)
PRODUCT_FIELDS = (
    Field("name", str, unique=True),
    Field("kind", str, choices=KINDS),
    Field("water_borne", bool, optional=True),
    Field("paint", str),
    Field("mix", fields=tuple(Field(role, low=0, high=100) for role in ROLES)),
    Field("hardeners", str, many=True, optional=True),
    Field("reducers", str, many=True, optional=True),
    _span("tip_mm", *TIP_MM, "mm"),
    Field("coats", int, low=1, high=6),
    Field("film_um", low=0, above_low=True, high=FILM_MAX_UM, unit="um"),
    _minutes("wet_edge_min"),
    _minutes("flash_min"),
    _minutes("final_flash_min"),
    _minutes("recoat_max_min"),
    _minutes("pot_life_min", optional=True),
    _minutes("dust_free_min"),
    Field(
        "cure",
        optional=True,
        fields=(
            Field("bake_panel_c", low=BAKE_C[0], high=BAKE_C[1], unit="degrees C"),
            _minutes("bake_min"),
            _minutes("air_dry_min"),
            Field("bake_max_c", low=BAKE_C[0], high=BAKE_C[1], unit="degrees C"),
        ),
    ),
    _span("air_c", *AIR_C, "degrees C"),
    _span("humidity_percent", 0, 100, "%"),
    Field("smallest_mix_ml", low=SMALLEST_MIX_ML[0], high=SMALLEST_MIX_ML[1], unit="mL"),
    Field("mix_step_ml", low=MIX_STEP_ML[0], above_low=True, high=MIX_STEP_ML[1], unit="mL"),
    Field("lightness", low=0, high=100, optional=True),
)
FILE = (
    Field("source", str),
    Field("tin", many=True, fields=TIN_FIELDS),
    Field("product", many=True, fields=PRODUCT_FIELDS),
)


def between_sheets(data: Mapping[str, Any]) -> Iterator[tuple[Place, str]]:
    """Rules between fields, for `faults.read`; each is asked wherever its fields were right by themselves."""
    tins = {row["name"]: row for row in data.get("tin", []) if "name" in row}
    for index, tin in enumerate(data.get("tin", [])):
        at = ("tin", index)
        yield from _balance(tin, at)
        if tin.get("role") == "reducer" and not {"solvent", "air_c"} <= tin.keys():
            yield at, "solvent and air_c: allowed is a reducer that has both."
        yield from _turned(tin, at)
    for index, sheet in enumerate(data.get("product", [])):
        at = ("product", index)
        for role, key in (("paint", "paint"), ("hardener", "hardeners"), ("reducer", "reducers")):
            names = [sheet[key]] if key == "paint" and key in sheet else sheet.get(key, [])
            names = [names] if isinstance(names, str) else names
            for name in names:
                if tins.get(name, {}).get("role", role if name in tins else "") != role:
                    yield (*at, key), f"{key}: {name!r} was given, allowed is a tin of the file that is a {role}."
            if role in sheet.get("mix", {}) and bool(sheet["mix"][role]) != bool(names):
                yield (*at, "mix"), f"mix: {role} has {sheet['mix'][role]:g} parts and {len(names)} tins."
            speeds = [tins[name].get("speed", "normal") for name in names if name in tins]
            if speeds and "normal" not in speeds:
                yield (*at, key), f"{key}: none is of normal speed, allowed is at least one."
            wet = {tins[name].get("solvent") == "water" for name in names if role == "reducer" and name in tins}
            if wet - {bool(sheet.get("water_borne"))}:
                yield (*at, key), f"{key}: allowed is water in a water-borne product, and solvent in the others."
        if bool(sheet.get("hardeners")) != ("pot_life_min" in sheet):
            yield at, "pot_life_min: allowed is a pot life where there is a hardener, and none where there is not."
        if (sheet.get("kind") == "sealer") != ("lightness" in sheet):
            yield at, "lightness: allowed is one for a sealer, and none for the others."
        yield from _order(sheet, at)
        yield from _turned(sheet, at)


def _balance(tin: dict[str, Any], at: Place) -> Iterator[tuple[Place, str]]:
    """Whether what a litre of a tin is said to hold fills that litre and weighs what it weighs."""
    if not {"density_g_per_ml", "volume_solids", "volatile_g_per_l"} <= tin.keys():
        return
    water, exempt, exempt_ml = (tin.get(key, 0.0) for key in ("water_g_per_l", "exempt_g_per_l", "exempt_ml_per_l"))
    volatile, litre_g = tin["volatile_g_per_l"], tin["density_g_per_ml"] * 1000
    place = (*at, "volatile_g_per_l")
    if water + exempt > volatile:
        yield place, "volatile_g_per_l: it is less than the water and exempt compounds in it."
        return
    if volatile > litre_g:
        yield place, "volatile_g_per_l: a litre of the tin is not as heavy as that."
        return
    if (exempt > 0) != (exempt_ml > 0):
        yield (*at, "exempt_ml_per_l"), "exempt_ml_per_l: allowed is a volume with a mass of exempt compounds, or none."
        return
    solvent_g = volatile - water - exempt
    least, most = (solvent_g / density + water / WATER_G_PER_ML + exempt_ml for density in SOLVENT_G_PER_ML[::-1])
    room = 1000 * (1 - tin["volume_solids"])
    if not least - LITRE_SLACK_ML <= room <= most + LITRE_SLACK_ML:
        yield (
            place,
            (
                f"volatile_g_per_l: {volatile:g} g of volatiles take {least:.0f} to {most:.0f} mL of a litre, and the "
                f"solids leave {room:.0f} mL, allowed are amounts that fill the litre."
            ),
        )
    solids_ml = 1000 * tin["volume_solids"]
    if solids_ml and not SOLIDS_G_PER_ML[0] <= (litre_g - volatile) / solids_ml <= SOLIDS_G_PER_ML[1]:
        yield (
            (*at, "density_g_per_ml"),
            (
                f"density_g_per_ml: the solids would weigh {(litre_g - volatile) / solids_ml:.2f} g/mL, allowed is "
                f"from {SOLIDS_G_PER_ML[0]:g} to {SOLIDS_G_PER_ML[1]:g}."
            ),
        )


# On every sheet the first is over before the second.
_EARLIER = (
    ("flash_min", "final_flash_min"),
    ("final_flash_min", "recoat_max_min"),
)


def _order(sheet: dict[str, Any], at: Place) -> Iterator[tuple[Place, str]]:
    for early, late in _EARLIER:
        if {early, late} <= sheet.keys() and sheet[early] > sheet[late]:
            yield (*at, late), f"{late}: {sheet[late]:g} was given, allowed is no less than {early}, {sheet[early]:g}."
    cure = sheet.get("cure", {})
    if {"bake_min", "air_dry_min"} <= cure.keys() and cure["air_dry_min"] <= cure["bake_min"]:
        yield (*at, "cure"), "cure: allowed is an air drying that takes longer than the bake."
    if {"bake_panel_c", "bake_max_c"} <= cure.keys() and cure["bake_max_c"] < cure["bake_panel_c"]:
        yield (*at, "cure"), "cure: allowed is a hottest air that is no colder than the panel at bake."
    if "air_dry_min" in cure and sheet.get("dust_free_min", 0) > cure["air_dry_min"]:
        yield (*at, "dust_free_min"), "dust_free_min: allowed is no more than the air drying."


def _turned(row: dict[str, Any], at: Place) -> Iterator[tuple[Place, str]]:
    for name, value in row.items():
        if isinstance(value, tuple) and len(value) == 2 and value[0] >= value[1]:
            yield (*at, name), f"{name}: {list(value)} was given, allowed is a lower and then a higher number."
