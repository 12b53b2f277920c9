"""How long a coat stays open and how long it has to flash on another day than the sheet's.

Solvent-borne: the solvent leaves as fast as the vapour pressure of the leading solvent pushes it. Water-borne: as fast
as the air can take it up from a film that its own drying has cooled to the wet bulb. Both: as fast as the air stream
carries it off, which goes with the square root of its speed over a plate in laminar flow.

Left out: the other solvents of the blend and what the resin holds back at the end, the heat stored in a warm panel,
the vapour of the solvent that is in the air already, and the shape of the panel.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from refinishlib.booth.climate import AIR_MAX_C, Reals, cooled, humidity, saturation
from refinishlib.booth.solvent import vapour_pressure_pa
from refinishlib.entry import numbers
from refinishlib.shop.product import ProductSheet, ready_to_spray, reducer

SHEET_C = 20.0
SHEET_HUMIDITY = 50.0
SHEET_AIR_M_PER_S = 0.3
STILL_AIR_M_PER_S = 0.05
AIR_MAX_M_PER_S = 10.0
SPEED_POWER = 0.5
FILM_RATIO_MIN = 0.05
FILM_RATIO_MAX = 20.0
SATURATED_PA = 0.5
LEADING_SOLVENT = "n-butyl acetate"

SOURCES = {
    "SHEET_C": "teaching value: the shop's sheets hold at 20 degrees C",
    "SHEET_HUMIDITY": "teaching value: the shop's water-borne sheets hold at 50 %",
    "SHEET_AIR_M_PER_S": "common practice, no source: a down-draught booth moves about 0.2 to 0.4 m/s past the vehicle",
    "STILL_AIR_M_PER_S": "teaching value: below it the draught of the room itself carries the vapour off",
    "AIR_MAX_M_PER_S": "teaching value: an air gun close to the panel",
    "SPEED_POWER": "Incropera, DeWitt (2007), Fundamentals of Heat and Mass Transfer, 6th edition, chapter 7: mass "
    "transfer at a flat plate in laminar flow goes with the square root of the speed",
    "FILM_RATIO_MIN": "teaching value",
    "FILM_RATIO_MAX": "teaching value",
    "SATURATED_PA": "teaching value: with less than this to pull it, water stays in the film",
}


def air_speed_factor(air_m_per_s: ArrayLike) -> Reals:
    """How much slower a coat dries than in the air stream of the sheet; 1 at 0.3 m/s.

    Parameters
    ----------
    air_m_per_s : speed of the air over the panel, 0-10 m/s; below 0.05 it counts as 0.05

    Raises
    ------
    BadEntry : a speed outside the range

    Source
    ------
    Incropera, DeWitt (2007), chapter 7, laminar flow over a flat plate.

    >>> float(air_speed_factor(1.2))
    0.5
    """
    speed = numbers("air speed", air_m_per_s, low=0, high=AIR_MAX_M_PER_S, unit="m/s")
    return (SHEET_AIR_M_PER_S / np.maximum(speed, STILL_AIR_M_PER_S)) ** SPEED_POWER


def solvent_factor(
    air_c: ArrayLike,
    solvent: str = "n-butyl acetate",
    sheet_solvent: str = "n-butyl acetate",
    *,
    share: ArrayLike = 1.0,
    sheet_share: ArrayLike = 1.0,
) -> Reals:
    """How much slower a solvent-borne coat dries than at 20 degrees C with the sheet's own leading solvent.

    Parameters
    ----------
    air_c : temperature of air and panel, 0-50 degrees C
    solvent : that the reducer of this mix is led by
    sheet_solvent : that the reducer of the sheet's mix is led by
    share, sheet_share : how much of all that leaves the coat is that solvent, 0-1; the rest is taken to be the shop's
        own leading solvent, which is in the paint and in the hardener

    Raises
    ------
    BadEntry : an unknown solvent, or a temperature or share outside its range

    Source
    ------
    Each solvent takes a time in proportion to its amount and against its vapour pressure, see
    `refinishlib.booth.solvent`; that the times add up is a teaching value, as if one left after the other.

    >>> round(float(solvent_factor(30)), 2)
    0.55
    >>> round(float(solvent_factor(20, "1,2-xylene", share=0.07)), 2)
    1.05
    """
    part = numbers("share of the reducer", share, low=0, high=1)
    usual = numbers("share of the sheet's reducer", sheet_share, low=0, high=1)
    here = part / vapour_pressure_pa(solvent, air_c) + (1 - part) / vapour_pressure_pa(LEADING_SOLVENT, air_c)
    sheet = usual / _sheet_pressure_pa(sheet_solvent) + (1 - usual) / _sheet_pressure_pa(LEADING_SOLVENT)
    return here / sheet


def reducer_share(sheet: ProductSheet, hardener_speed: str = "normal", reducer_speed: str = "normal") -> float:
    """How much of all that leaves a coat of this mix came in with the solvent that leads its reducer, by mass, 0-1.

    Raises
    ------
    BadEntry : a speed or tin that the sheet does not have

    >>> from refinishlib.shop.shop import load
    >>> round(reducer_share(load().product("clear")), 3), round(reducer_share(load().product("solvent base")), 3)
    (0.071, 0.561)
    """
    mix = ready_to_spray(sheet, hardener_speed, reducer_speed)
    used = reducer(sheet, reducer_speed)
    if used is None or not mix.volatile_g_per_l:
        return 0.0
    poured = sum(share for tin, share in mix.parts if tin == used)
    return poured * used.volatile_g_per_l * used.solvent_share / mix.volatile_g_per_l


@cache
def _sheet_pressure_pa(solvent: str) -> float:
    return float(vapour_pressure_pa(solvent, SHEET_C))


@cache
def _sheet_pull_pa() -> float:
    return float(water_pull_pa(SHEET_C, SHEET_HUMIDITY))


def water_pull_pa(air_c: ArrayLike, humidity_percent: ArrayLike) -> Reals:
    """Pressure with which water leaves a film that has cooled to the wet bulb, in pascal; 0 in full air.

    Parameters
    ----------
    air_c : 0-60 degrees C
    humidity_percent : 0.1-100 %

    Raises
    ------
    BadEntry : a value outside its range

    Source
    ------
    Saturation at the wet bulb less the vapour in the air; ASHRAE Handbook, Fundamentals (2017), chapter 1.

    >>> round(float(water_pull_pa(20, 50)), -1)
    410.0
    """
    dry = numbers("air temperature", air_c, low=0, high=AIR_MAX_C, unit="degrees C")
    vapour = humidity(humidity_percent) / 100 * saturation(dry)
    return np.maximum(saturation(cooled(dry, vapour)) - vapour, 0)


def water_factor(air_c: ArrayLike, humidity_percent: ArrayLike) -> Reals:
    """How much slower a water-borne coat dries than at 20 degrees C and 50 %; infinite in full air.

    Parameters
    ----------
    air_c : 0-60 degrees C
    humidity_percent : 0.1-100 %

    Raises
    ------
    BadEntry : a value outside its range

    >>> [round(float(water_factor(20, humidity)), 1) for humidity in (30, 50, 80)]
    [0.7, 1.0, 2.7]
    """
    pull = water_pull_pa(air_c, humidity_percent)
    with np.errstate(divide="ignore"):
        return np.asarray(np.where(pull > SATURATED_PA, _sheet_pull_pa() / pull, np.inf))


def drying_factor(
    sheet: ProductSheet,
    air_c: ArrayLike,
    humidity_percent: ArrayLike,
    air_m_per_s: ArrayLike = SHEET_AIR_M_PER_S,
    *,
    hardener_speed: str = "normal",
    reducer_speed: str = "normal",
    film_ratio: ArrayLike = 1.0,
) -> Reals:
    """What to multiply the sheet's wet edge and flash times with on this day.

    Parameters
    ----------
    sheet : the product
    air_c : 0-60 degrees C, of air and panel
    humidity_percent : 0.1-100 %; counts for water-borne products
    air_m_per_s : air over the panel, 0-10 m/s
    hardener_speed, reducer_speed : fast, normal or slow, as far as the sheet has them, or the name of a tin; the
        reducer counts by its share of what leaves the coat
    film_ratio : wet film of the coat to that of the sheet, 0.05-20; twice as thick takes twice as long

    Raises
    ------
    BadEntry : a value outside its range

    Source
    ------
    `solvent_factor` or `water_factor`, times `air_speed_factor`; the film ratio is a balance of the solvent to be lost.

    >>> from refinishlib.shop.shop import load
    >>> round(float(drying_factor(load().product("clear"), 28, 50, reducer_speed="slow")), 2)
    0.65
    """
    film = numbers("film ratio", film_ratio, low=FILM_RATIO_MIN, high=FILM_RATIO_MAX)
    used, usual = reducer(sheet, reducer_speed), reducer(sheet)
    share = reducer_share(sheet, hardener_speed, reducer_speed)
    pull: Reals
    if sheet.water_borne:
        pull = water_factor(air_c, humidity_percent) * (1 + share * ((used.pace if used else 1) - 1))
    else:
        numbers("humidity", humidity_percent, low=0, high=100, unit="%")
        pull = solvent_factor(
            air_c,
            used.solvent if used else LEADING_SOLVENT,
            usual.solvent if usual else LEADING_SOLVENT,
            share=share,
            sheet_share=reducer_share(sheet),
        )
    return pull * air_speed_factor(air_m_per_s) * film


def flash_minutes(
    sheet: ProductSheet,
    air_c: ArrayLike,
    humidity_percent: ArrayLike,
    air_m_per_s: ArrayLike = SHEET_AIR_M_PER_S,
    *,
    hardener_speed: str = "normal",
    reducer_speed: str = "normal",
    film_ratio: ArrayLike = 1.0,
    final: bool = False,
) -> Reals:
    """Minutes a coat has to flash before the next coat, or, final, before the next product or the bake.

    Parameters and errors as in `drying_factor`.

    >>> from refinishlib.shop.shop import load
    >>> [round(float(flash_minutes(load().product("water base"), 20, humidity)), 1) for humidity in (50, 75)]
    [6.0, 12.7]
    """
    minutes = sheet.final_flash_min if final else sheet.flash_min
    return minutes * drying_factor(
        sheet,
        air_c,
        humidity_percent,
        air_m_per_s,
        hardener_speed=hardener_speed,
        reducer_speed=reducer_speed,
        film_ratio=film_ratio,
    )
