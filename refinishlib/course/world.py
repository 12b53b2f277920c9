"""The course's own world: the shop as it stood when a lesson was made, so that no job card moves when the shop grows."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from refinishlib.shop.paint import Formula, Toner, formulas, toners
from refinishlib.shop.product import ProductSheet, products


@dataclass(frozen=True)
class Shop:
    toners: tuple[Toner, ...]
    formulas: tuple[Formula, ...]
    products: tuple[ProductSheet, ...]


@cache
def world(version: int) -> Shop:
    return Shop(tuple(toners().values()), tuple(formulas().values()), tuple(products().values()))
