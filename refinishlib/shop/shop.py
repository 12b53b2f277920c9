"""A shop as a value: toners, sealers, colours, product sheets and the vehicle, with the prices of all tins.

    shop = load()                   # the invented shop that comes with the library
    shop = load(Path("my shop"))    # somebody's own folder
    shop.colour("Kiln Red, as built")

Names are looked up here, where somebody chose one. What comes out is a value, and engines are handed values.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any, TypeVar

from refinishlib.entry import BadEntry, one_of
from refinishlib.shop import faults as data_file
from refinishlib.shop import paint, product, vehicle
from refinishlib.shop.faults import Check, Field
from refinishlib.shop.paint import Formula, Toner
from refinishlib.shop.product import ProductSheet
from refinishlib.shop.vehicle import Vehicle

T = TypeVar("T")
TONERS, COLOURS, PRODUCTS, PANELS = FILES = ("toners.toml", "colours.toml", "products.toml", "panels.toml")


@dataclass(frozen=True)
class Shop:
    """All that a shop has, in the order of its files; two shops with the same things are equal.

    toners : of the mixing bench
    sealers : the white and the black one that undercoat greys are mixed from
    colours : formulas
    products : product sheets with their tins
    vehicle : panels and the edges they share
    """

    toners: tuple[Toner, ...]
    sealers: tuple[Toner, Toner]
    colours: tuple[Formula, ...]
    products: tuple[ProductSheet, ...]
    vehicle: Vehicle

    def toner(self, name: str) -> Toner:
        """One toner by its name.

        Raises
        ------
        BadEntry : an unknown toner, with the names that exist

        >>> load().toner("jet black").density_g_per_ml
        0.96
        """
        return _named("toner", name, {toner.name: toner for toner in self.toners})

    def picked(self, *names: str) -> tuple[Toner, ...]:
        """Several toners by their names, in this order.

        >>> [toner.price_per_litre for toner in load().picked("white", "jet black")]
        [62.0, 70.0]
        """
        shelf = {toner.name: toner for toner in self.toners}
        return tuple(_named("toner", name, shelf) for name in names)

    def colour(self, title: str) -> Formula:
        """One formula by its title, "colour, variant".

        >>> load().colour("Kiln Red, as built").parts[0]
        ('warm red', 71.0)
        """
        return _named("colour", title, {formula.title: formula for formula in self.colours})

    def variants(self, name: str) -> tuple[Formula, ...]:
        """All variants of a colour.

        >>> [formula.variant for formula in load().variants("Tarn Evening")]
        ['as built', 'greener']
        """
        one_of("colour", name, dict.fromkeys(formula.name for formula in self.colours))
        return tuple(formula for formula in self.colours if formula.name == name)

    def product(self, name: str) -> ProductSheet:
        """One product sheet by its name.

        >>> load().product("clear").mix
        (2.0, 1.0, 0.1)
        """
        return _named("product", name, {sheet.name: sheet for sheet in self.products})


def load(folder: Path | None = None) -> Shop:
    """The shop of a folder with toners.toml, colours.toml, products.toml, panels.toml; the built-in one without.

    A file that the folder does not have is the built-in one, so that somebody may begin with colours alone.

    Raises
    ------
    BadEntry : every fault of every file with its line, one sentence each; then nothing is loaded. No such folder,
        or one with none of these files

    >>> load() == load(), len({load(), load()})
    (True, 1)
    """
    if folder is None:
        return _built_in()
    own = [name for name in FILES if (folder / name).is_file()]
    if not own:
        raise BadEntry(f"shop: {folder} was given, allowed is a folder with at least one of {', '.join(FILES)}.")
    return _read({name: folder / name if name in own else _ours(name) for name in FILES})


@cache
def _built_in() -> Shop:
    return _read({name: _ours(name) for name in FILES})


def _ours(name: str) -> Traversable:
    return files(__package__).joinpath(name)


def _read(places: Mapping[str, Path | Traversable]) -> Shop:
    faults: list[str] = []

    def checked(name: str, fields: Sequence[Field], also: Check) -> dict[str, Any]:
        try:
            return data_file.load(places[name], fields, also=also)
        except BadEntry as bad:
            faults.append(str(bad))
            return {}

    tins = checked(TONERS, paint.TONER_FILE, paint.between_toners)
    shelf = {toner.name: toner for toner in paint.toners_of(tins.get("toner", ()))}
    # Without a shelf no colour can be held against it; each of its toners would be a fault that is none.
    colours = checked(COLOURS, paint.COLOUR_FILE, lambda data: paint.between_colours(data, shelf) if tins else ())
    sheets = checked(PRODUCTS, product.FILE, product.between_sheets)
    body = checked(PANELS, vehicle.FILE, vehicle.between_panels)
    if faults:
        raise BadEntry("\n".join(faults))
    white, black = paint.toners_of(tins["sealer"])
    return Shop(
        toners=tuple(shelf.values()),
        sealers=(white, black),
        colours=paint.formulas_of(colours["colour"], shelf),
        products=product.sheets_of(sheets),
        vehicle=vehicle.vehicle_of(body),
    )


def _named(what: str, name: str, known: Mapping[str, T]) -> T:
    return known[one_of(what, name, known)]
