"""Toners and colours of the invented shop."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from refinishlib.entry import one_of


@dataclass(frozen=True)
class Toner:
    """One tin of the mixing bench.

    density_g_per_ml : of the toner as it stands in the tin
    volume_solids : share of its volume that stays in the dry film, 0-1
    price_per_litre : in the shop's own money
    """

    name: str
    kind: str
    density_g_per_ml: float
    volume_solids: float
    price_per_litre: float


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
    return {row["name"]: Toner(**row) for row in _table("toners.toml", "toner")}


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


def _table(file: str, key: str) -> list[dict]:
    return tomllib.loads(files(__package__).joinpath(file).read_text(encoding="utf-8"))[key]
