"""Toners and colours of the invented shop."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from typing import Any

from refinishlib.entry import one_of

Shape = tuple[float, float, float]


@dataclass(frozen=True)
class Optics:
    """What one micrometre of a dry toner does to diffuse light, as a few smooth shapes.

    scattering_per_um : at 550 nm
    scattering_power : how fast it falls with the wavelength
    floor_per_um : absorption at every wavelength
    bands : absorption bands, each (centre in nm, standard deviation in nm, height per um)
    edges : absorption below an edge, each (edge in nm, width in nm, height per um)
    """

    scattering_per_um: float = 0.0
    scattering_power: float = 0.0
    floor_per_um: float = 0.0
    bands: tuple[Shape, ...] = ()
    edges: tuple[Shape, ...] = ()


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


@dataclass(frozen=True)
class Toner:
    """One tin of the mixing bench, or one tin of sealer.

    density_g_per_ml : of the toner as it stands in the tin
    volume_solids : share of its volume that stays in the dry film, 0-1
    price_per_litre : in the shop's own money
    optics : what its pigment does to light
    flake : its flakes, if it has any
    """

    name: str
    kind: str
    density_g_per_ml: float
    volume_solids: float
    price_per_litre: float
    optics: Optics = field(default_factory=Optics)
    flake: Flake | None = None


@dataclass(frozen=True)
class Formula:
    """One variant of a colour: parts by weight, in pouring order."""

    name: str
    variant: str
    kind: str
    parts: tuple[tuple[str, float], ...]

    @property
    def title(self) -> str:
        return f"{self.name}, {self.variant}"


@cache
def toners() -> dict[str, Toner]:
    """All toners of the shop by name, in the order of the shelf.

    >>> toners()["jet black"].density_g_per_ml
    0.96
    """
    return {row["name"]: _toner(row) for row in _table("toners.toml", "toner")}


@cache
def sealers() -> dict[str, Toner]:
    """The white and the black sealer that undercoat greys are mixed from, by name.

    >>> list(sealers())
    ['white sealer', 'black sealer']
    """
    return {row["name"]: _toner(row) for row in _table("toners.toml", "sealer")}


def toner(name: str) -> Toner:
    """One toner by its name.

    Raises
    ------
    BadEntry : an unknown toner, with the names that exist
    """
    return toners()[one_of("toner", name, toners())]


@cache
def formulas() -> dict[str, Formula]:
    """All formulas of the shop by title, "colour, variant".

    >>> formulas()["Kiln Red, as built"].parts[0]
    ('warm red', 71.0)
    """
    rows = (
        Formula(row["name"], row["variant"], row["kind"], tuple((name, parts) for name, parts in row["parts"]))
        for row in _table("colours.toml", "colour")
    )
    return {formula.title: formula for formula in rows}


def _toner(row: dict) -> Toner:
    optics = Optics(**{key: _shapes(value) for key, value in row.get("optics", {}).items()})
    flake = Flake(**{key: _shapes(value) for key, value in row["flake"].items()}) if "flake" in row else None
    return Toner(**{**row, "optics": optics, "flake": flake})


def _shapes(value: Any) -> Any:
    return tuple(tuple(shape) for shape in value) if isinstance(value, list) else value


def _table(file: str, key: str) -> list[dict]:
    return tomllib.loads(files(__package__).joinpath(file).read_text(encoding="utf-8"))[key]
