"""Toners, sealers and colours: what stands on the shelf of a shop, and what is mixed from it.

A shop's own are in `refinishlib.shop.shop.Shop`, which reads them from data files; here is what such a file must have.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

from refinishlib.shop.faults import Field, Place

Kind = Literal["solid", "metallic", "pearl"]
Shape = tuple[float, float, float]

PAINT_KINDS: tuple[Kind, ...] = ("solid", "metallic", "pearl")
TONER_KINDS = ("solid", "flake", "pearl")
NM = (200.0, 1000.0)
DENSITY_G_PER_ML = (0.5, 5.0)
PER_UM_MAX = 10.0
MEASURED_AT_NM = tuple(range(400, 701, 10))
POWER_MAX = 4.0
TILT_MAX_DEG = 30.0

SOURCES = {
    "NM": "teaching value: bands and edges beyond the ultraviolet and the infrared do nothing to a colour",
    "DENSITY_G_PER_ML": "teaching value: lighter than any solvent or heavier than any filler or zinc-rich primer",
    "PER_UM_MAX": "teaching value: a film of one micrometre never absorbs or scatters as much",
    "MEASURED_AT_NM": "ASTM E2194 (2014): 400 to 700 nm at 10 nm",
    "POWER_MAX": "Rayleigh (1871), Phil. Mag. 41, 107: the smallest particles scatter by the fourth power",
    "TILT_MAX_DEG": "teaching value: flakes that stand up further are no leaves any more",
    "OPTICS_FIELDS": "definition: shares lie between 0 and 1",
    "FLAKE_FIELDS": "definition: shares lie between 0 and 1",
    "COLOUR_FILE": "definition: parts by weight are above 0",
    "TIN_FIELDS": "definition: shares lie between 0 and 1",
}


@dataclass(frozen=True)
class Optics:
    """What one micrometre of a dry toner does to diffuse light, as a few smooth shapes.

    scattering_per_um : at 550 nm
    scattering_power : how fast it falls with the wavelength
    floor_per_um : absorption at every wavelength
    bands : absorption bands, each (centre in nm, standard deviation in nm, height per um)
    edges : absorption below an edge, each (edge in nm, width in nm, height per um)
    measured_absorption_per_um, measured_scattering_per_um : of a tin that was measured, at 400-700 nm, 10 nm; where
        one is given it counts instead of the shapes
    """

    scattering_per_um: float = 0.0
    scattering_power: float = 0.0
    floor_per_um: float = 0.0
    bands: tuple[Shape, ...] = ()
    edges: tuple[Shape, ...] = ()
    measured_absorption_per_um: tuple[float, ...] = ()
    measured_scattering_per_um: tuple[float, ...] = ()


@dataclass(frozen=True)
class Flake:
    """The flakes of a silver or a pearl toner.

    cover_per_um : flake area per area of panel in one micrometre of the dry toner
    tilt_deg : standard deviation of the flakes' tilt out of the panel in a normally sprayed coat
    reflectance : of one flake's face, 0-1
    absorptance : share of the light that the flake keeps; what is neither reflected nor kept passes through
    dips : where the face reflects less, each (centre in nm, standard deviation in nm, share taken away, 0-1)
    """

    cover_per_um: float
    tilt_deg: float
    reflectance: float
    absorptance: float
    dips: tuple[Shape, ...] = ()

    @property
    def opaque(self) -> bool:
        """Whether no light passes through a flake, as with metal; a pearl lets some through."""
        return self.reflectance + self.absorptance >= 1


@dataclass(frozen=True)
class Toner:
    """One tin of the mixing bench, or one tin of sealer.

    kind : solid, flake or pearl; sealer for a sealer
    density_g_per_ml : of the toner as it stands in the tin
    volume_solids : share of its volume that stays in the dry film, 0-1
    price_per_litre : in the shop's own money
    optics : what its pigment does to light
    flake : its flakes, if it has any
    ink : its colour in pictures as #rrggbb, if it is known beforehand; the same toner with and without
    """

    name: str
    kind: str
    density_g_per_ml: float
    volume_solids: float
    price_per_litre: float
    optics: Optics = field(default_factory=Optics)
    flake: Flake | None = None
    ink: str = field(default="", compare=False)


@dataclass(frozen=True)
class Formula:
    """One variant of a colour, in pouring order.

    toners : what it is mixed from
    weights : parts by weight of each
    """

    name: str
    variant: str
    toners: tuple[Toner, ...]
    weights: tuple[float, ...]

    @property
    def title(self) -> str:
        return f"{self.name}, {self.variant}"

    @property
    def kind(self) -> Kind:
        """Pearl with any toner of flakes that let light through, else metallic with any of metal, else solid."""
        return kind_of([toner.flake for toner in self.toners if toner.flake])

    @property
    def parts(self) -> tuple[tuple[str, float], ...]:
        """Name and parts by weight of each toner, as they are written on a mixing sheet."""
        return tuple((toner.name, weight) for toner, weight in zip(self.toners, self.weights, strict=True))


def kind_of(flakes: Sequence[Flake]) -> Kind:
    """What painters call a paint with these flakes.

    >>> kind_of([]), kind_of([Flake(0.1, 8.0, 0.8, 0.2)]), kind_of([Flake(0.1, 8.0, 0.3, 0.1)])
    ('solid', 'metallic', 'pearl')
    """
    if not flakes:
        return "solid"
    return "metallic" if all(flake.opaque for flake in flakes) else "pearl"


# --- what a file must have -------------------------------------------------------------------------------------------


def _shapes(name: str, *, centre: str, width: str, height: Field) -> Field:
    row = (
        Field(centre, low=NM[0], high=NM[1], unit="nm"),
        Field(width, low=0, high=NM[1], unit="nm", above_low=True),
        height,
    )
    return Field(name, row=row, many=True, optional=True)


def _per_um(name: str) -> Field:
    return Field(name, low=0, high=PER_UM_MAX, unit="per um")


def _measured(name: str) -> Field:
    return Field(name, row=tuple(_per_um(f"{nm} nm") for nm in MEASURED_AT_NM), optional=True)


OPTICS_FIELDS = (
    Field("scattering_per_um", low=0, high=PER_UM_MAX, unit="per um", optional=True),
    Field("scattering_power", low=0, high=POWER_MAX, optional=True),
    Field("floor_per_um", low=0, high=PER_UM_MAX, unit="per um", optional=True),
    _shapes("bands", centre="centre", width="standard deviation", height=_per_um("height")),
    _shapes("edges", centre="edge", width="width", height=_per_um("height")),
    _measured("measured_absorption_per_um"),
    _measured("measured_scattering_per_um"),
)
FLAKE_FIELDS = (
    Field("cover_per_um", low=0, high=PER_UM_MAX, above_low=True, unit="per um"),
    Field("tilt_deg", low=0, high=TILT_MAX_DEG, above_low=True, unit="degrees"),
    Field("reflectance", low=0, high=1),
    Field("absorptance", low=0, high=1),
    _shapes("dips", centre="centre", width="standard deviation", height=Field("share", low=0, high=1)),
)
TIN_FIELDS = (
    Field("name", str, unique=True),
    Field("density_g_per_ml", low=DENSITY_G_PER_ML[0], high=DENSITY_G_PER_ML[1], unit="g/mL"),
    Field("volume_solids", low=0, high=1, above_low=True),
    Field("price_per_litre", low=0),
    Field("optics", fields=OPTICS_FIELDS, optional=True),
)
TONER_FILE = (
    Field("source", str),
    Field(
        "toner",
        many=True,
        fields=(
            *TIN_FIELDS,
            Field("kind", str, choices=TONER_KINDS),
            Field("ink", str, optional=True),
            Field("flake", fields=FLAKE_FIELDS, optional=True),
        ),
    ),
    Field("sealer", many=True, fields=(*TIN_FIELDS, Field("kind", str, choices=("sealer",)))),
)
COLOUR_FILE = (
    Field("source", str),
    Field(
        "colour",
        many=True,
        fields=(
            Field("name", str),
            Field("variant", str),
            Field("kind", str, choices=PAINT_KINDS),
            Field("parts", many=True, row=(Field("toner", str), Field("parts", low=0, above_low=True))),
        ),
    ),
)


def between_toners(data: Mapping[str, Any]) -> Iterator[tuple[Place, str]]:
    """Rules between the fields of a toner file, for `faults.read`."""
    for index, row in enumerate(data["toner"]):
        at = ("toner", index, "flake" if "flake" in row else "kind")
        flake = Flake(**row["flake"]) if "flake" in row else None
        if flake and flake.reflectance + flake.absorptance > 1:
            yield at, "flake: reflectance and absorptance above 1 were given, allowed is 1 or less together."
        elif (kind := _toner_kind(flake)) != row["kind"]:
            yield ("toner", index, "kind"), f"kind: {row['kind']!r} was given, allowed for its flake is {kind}."
        if not re.fullmatch("#[0-9a-f]{6}", row.get("ink", "#000000")):
            yield ("toner", index, "ink"), f"ink: {row['ink']!r} was given, allowed is a colour such as #b10b24."
    if len(data["sealer"]) != 2:
        yield ("sealer",), f"sealer: {len(data['sealer'])} were given, allowed are 2, a white one and then a black one."


def toners_of(rows: Sequence[Mapping[str, Any]]) -> tuple[Toner, ...]:
    """Toners of the checked rows of a file."""
    return tuple(
        Toner(
            **{
                **row,
                "optics": Optics(**{key: _fixed(value) for key, value in row.get("optics", {}).items()}),
                "flake": Flake(**{k: _fixed(v) for k, v in row["flake"].items()}) if "flake" in row else None,
            }
        )
        for row in rows
    )


def between_colours(data: Mapping[str, Any], shelf: Mapping[str, Toner]) -> Iterator[tuple[Place, str]]:
    """Rules between a colour file and the toners on the shelf, for `faults.read`."""
    titles: set[tuple[str, str]] = set()
    for index, row in enumerate(data["colour"]):
        at = ("colour", index)
        names = [name for name, _ in row["parts"]]
        if (row["name"], row["variant"]) in titles:
            yield (*at, "variant"), f"variant: {row['variant']!r} was given twice, allowed is once for a colour."
        titles.add((row["name"], row["variant"]))
        if not names:
            yield (*at, "parts"), "parts: no toner was given, allowed is one or more."
        for name in dict.fromkeys(names):
            if name not in shelf:
                yield (*at, "parts"), f"parts: {name!r} was given, allowed are {', '.join(shelf)}."
            elif names.count(name) > 1:
                yield (*at, "parts"), f"parts: {name!r} was given twice, allowed is once."
        kind = kind_of([flake for name in names if name in shelf and (flake := shelf[name].flake)])
        if kind != row["kind"] and all(name in shelf for name in names):
            yield (*at, "kind"), f"kind: {row['kind']!r} was given, allowed for its toners is {kind}."


def formulas_of(rows: Sequence[Mapping[str, Any]], shelf: Mapping[str, Toner]) -> tuple[Formula, ...]:
    """Colours of the checked rows of a file."""
    return tuple(
        Formula(
            row["name"],
            row["variant"],
            tuple(shelf[name] for name, _ in row["parts"]),
            tuple(weight for _, weight in row["parts"]),
        )
        for row in rows
    )


def _toner_kind(flake: Flake | None) -> str:
    return {"solid": "solid", "metallic": "flake", "pearl": "pearl"}[kind_of([flake] if flake else [])]


def _fixed(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value
