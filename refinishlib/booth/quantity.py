"""How much to mix for a list of panels, what it costs, and what is left over."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from numpy.typing import ArrayLike

from refinishlib.booth.climate import Reals
from refinishlib.booth.film import FILM_MAX_UM, wet_from_dry
from refinishlib.entry import BadEntry, number, numbers
from refinishlib.shop.product import ProductSheet, ready_to_spray

AREA_MAX_M2 = 500.0
COATS_MAX = 20
TRANSFER_MIN = 0.05
TRANSFER_EFFICIENCY = 0.65
WASTE_MAX = 1.0
WASTE = 0.1
SPARE = 0.05
LOST_ML = 60.0
LOST_MAX_ML = 1000.0
SMALLEST_MIX_ML = 100.0
MIX_STEP_ML = 50.0
# Rounding errors must not push a need of exactly 300 mL up to the next step.
SAME_ML = 1e-6

SOURCES = {
    "AREA_MAX_M2": "teaching value: far more than one large vehicle",
    "COATS_MAX": "teaching value",
    "TRANSFER_MIN": "teaching value: below 5 % nothing lands",
    "TRANSFER_EFFICIENCY": "South Coast Air Quality Management District, rule 1151 (2005): the least transfer of a "
    "gun that counts as low in overspray; from memory, and real panels are often below it",
    "WASTE_MAX": "teaching value: as much again as is sprayed",
    "WASTE": "common practice, no source: the short rule, a tenth on top for everything that stays behind",
    "SPARE": "teaching value: a twentieth, so that the last panel is not short",
    "LOST_ML": "common practice, no source: some tens of millilitres stay in cup, strainer and gun, 200 with a hose",
    "LOST_MAX_ML": "teaching value: range of an entry, a pressure pot with its hose",
    "SMALLEST_MIX_ML": "teaching value: below it a hardener cannot be weighed in well",
    "MIX_STEP_ML": "teaching value: the marks on the mixing cup",
    "SAME_ML": "teaching value: a millionth of a millilitre",
}


@dataclass(frozen=True)
class Application:
    """One product over some panels.

    areas_m2 : area of each panel it goes on, each above 0
    coats : number of coats
    film_um : dry film of one coat
    volume_solids : of the mix ready to spray
    price_per_litre : of the mix ready to spray, in the shop's own money
    smallest_mix_ml, mix_step_ml : the least that can be mixed well, and the steps above it
    """

    product: str
    areas_m2: tuple[float, ...]
    coats: int
    film_um: float
    volume_solids: float
    price_per_litre: float = 0.0
    smallest_mix_ml: float = SMALLEST_MIX_ML
    mix_step_ml: float = MIX_STEP_ML


@dataclass(frozen=True)
class Amount:
    """What one product takes.

    sprayed_ml : leaves the gun
    lost_ml : stays in cup, strainer, hose and gun, however much is sprayed
    spare_ml : on top, so that nobody mixes a second time for the last door
    needed_ml : all three together
    mixed_ml, left_ml : after rounding up, and what is over then
    cost : of the whole mix
    """

    product: str
    sprayed_ml: float
    lost_ml: float
    spare_ml: float
    needed_ml: float
    mixed_ml: float
    left_ml: float
    cost: float

    @property
    def words(self) -> str:
        """The amount with what it is made of, in a sentence."""
        return (
            f"{self.product}: mix {self.mixed_ml:.0f} mL, of which {self.sprayed_ml:.0f} are sprayed, "
            f"{self.lost_ml:.0f} stay in cup and gun, {self.spare_ml:.0f} are spare and {self.left_ml:.0f} are over."
        )


@dataclass(frozen=True)
class Bill:
    """All products of a job and their sums."""

    amounts: tuple[Amount, ...]
    mixed_ml: float
    left_ml: float
    cost: float


def application(
    sheet: ProductSheet,
    areas_m2: Iterable[float],
    *,
    coats: int | None = None,
    film_um: float | None = None,
    hardener: str = "normal",
    reducer: str = "normal",
) -> Application:
    """One product of a sheet over some panels; coats and film as on the sheet if not given.

    Parameters
    ----------
    sheet : the product
    areas_m2 : of the panels
    coats, film_um : number of coats, and dry film of one
    hardener, reducer : what is mixed in: fast, normal, slow, or the name of a tin

    Raises
    ------
    BadEntry : a speed or tin that the sheet does not have

    >>> from refinishlib.shop.shop import load
    >>> application(load().product("clear"), (1.2, 0.8)).coats
    2
    """
    mix = ready_to_spray(sheet, hardener, reducer)
    return Application(
        sheet.name,
        tuple(areas_m2),
        sheet.coats if coats is None else coats,
        sheet.film_um if film_um is None else film_um,
        mix.volume_solids,
        mix.price_per_litre,
        sheet.smallest_mix_ml,
        sheet.mix_step_ml,
    )


def paint_needed(
    area_m2: ArrayLike,
    coats: ArrayLike,
    film_um: ArrayLike,
    volume_solids: ArrayLike,
    transfer_efficiency: ArrayLike = TRANSFER_EFFICIENCY,
    waste: ArrayLike = WASTE,
    lost_ml: ArrayLike = 0.0,
) -> Reals:
    """Paint ready to spray, in millilitres.

    Parameters
    ----------
    area_m2 : area to cover, 0-500
    coats : number of coats, 0-20
    film_um : dry film of one coat, micrometres, 0-5000
    volume_solids : of the mix ready to spray, 0.01-1
    transfer_efficiency : share of what leaves the gun that lands on the panel, 0.05-1
    waste : allowance on top, as a share of what is sprayed, 0-1
    lost_ml : what stays in cup, strainer and gun, whatever is sprayed, 0-1000; none where nothing is sprayed

    Raises
    ------
    BadEntry : a value outside its range

    Source
    ------
    Balance of volumes: area x coats x film / volume solids / transfer efficiency x (1 + waste) + lost;
    1 um x 1 m2 = 1 mL.

    >>> float(paint_needed(2.0, 2, 25, 0.5, transfer_efficiency=0.5, waste=0.25))
    500.0
    >>> float(paint_needed(2.0, 2, 25, 0.5, transfer_efficiency=0.5, waste=0.25, lost_ml=60))
    560.0
    """
    area = numbers("area", area_m2, low=0, high=AREA_MAX_M2, unit="m2")
    times = numbers("coats", coats, low=0, high=COATS_MAX)
    wet = wet_from_dry(numbers("film", film_um, low=0, high=FILM_MAX_UM, unit="um"), volume_solids)
    landed = numbers("transfer efficiency", transfer_efficiency, low=TRANSFER_MIN, high=1)
    sprayed = area * times * wet / landed
    lost = numbers("lost in cup and gun", lost_ml, low=0, high=LOST_MAX_ML, unit="mL")
    return sprayed * (1 + numbers("waste", waste, low=0, high=WASTE_MAX)) + lost * (sprayed > 0)


def mix_size(needed_ml: float, smallest_mix_ml: float = SMALLEST_MIX_ML, mix_step_ml: float = MIX_STEP_ML) -> float:
    """What to mix for a need: rounded up to the next step, and not below the smallest mix; nothing for nothing.

    Parameters
    ----------
    needed_ml : 0 or more
    smallest_mix_ml : 0 or more
    mix_step_ml : above 0

    Raises
    ------
    BadEntry : a value outside its range

    >>> mix_size(440.0), mix_size(30.0), mix_size(0.0)
    (450.0, 100.0, 0.0)
    """
    need = number("amount needed", needed_ml, low=0, unit="mL")
    least = number("smallest mix", smallest_mix_ml, low=0, unit="mL")
    step = number("step of the mix", mix_step_ml, low=0, above_low=True, unit="mL")
    if need == 0:
        return 0.0
    return max(least, math.ceil((need - SAME_ML) / step) * step)


def bill(
    applications: Iterable[Application],
    *,
    transfer_efficiency: float = TRANSFER_EFFICIENCY,
    spare: float = SPARE,
    lost_ml: float = LOST_ML,
) -> Bill:
    """Amount, cost and left-over of each product of a job, and the sums.

    Parameters
    ----------
    applications : what goes on which panels
    transfer_efficiency : as in `paint_needed`
    spare : on top of what is sprayed, as a share of it, 0-1
    lost_ml : of each product, in cup, strainer and gun, 0-1000

    Raises
    ------
    BadEntry : no panel, or a value outside its range, naming the product

    >>> job = [Application("clear", (1.2, 0.8), 2, 25, 0.5, price_per_litre=40)]
    >>> print(bill(job, transfer_efficiency=0.625, spare=0.05, lost_ml=60).amounts[0].words)
    clear: mix 400 mL, of which 320 are sprayed, 60 stay in cup and gun, 16 are spare and 4 are over.
    """
    amounts = tuple(_amount(one, transfer_efficiency, spare, lost_ml) for one in applications)
    return Bill(
        amounts,
        math.fsum(amount.mixed_ml for amount in amounts),
        math.fsum(amount.left_ml for amount in amounts),
        math.fsum(amount.cost for amount in amounts),
    )


def _amount(one: Application, transfer_efficiency: float, spare: float, lost_ml: float) -> Amount:
    if not one.areas_m2:
        raise BadEntry(f"{one.product}, panels: none was given, allowed is at least one area.")
    try:
        area = float(numbers("area", one.areas_m2, low=0, high=AREA_MAX_M2, unit="m2").sum())
        film = (area, one.coats, one.film_um, one.volume_solids, transfer_efficiency)
        sprayed = float(paint_needed(*film, waste=0))
        with_spare = float(paint_needed(*film, waste=number("spare", spare, low=0, high=WASTE_MAX)))
        needed = float(paint_needed(*film, waste=spare, lost_ml=lost_ml))
        mixed = mix_size(needed, one.smallest_mix_ml, one.mix_step_ml)
        cost = mixed / 1000 * number("price per litre", one.price_per_litre, low=0)
    except BadEntry as fault:
        raise BadEntry(f"{one.product}, {fault}") from None
    lost = needed - with_spare
    return Amount(one.product, sprayed, lost, with_spare - sprayed, needed, mixed, mixed - needed, cost)
