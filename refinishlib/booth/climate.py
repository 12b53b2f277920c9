"""The air in the booth: saturation, dew point, wet bulb, and whether a surface is fit to be sprayed.

Saturation is the Magnus formula over water with the constants of the World Meteorological Organization, -45 to 60
degrees C; it can be turned round without a search. Below freezing the values are those over undercooled water.
The surface rule is three degrees C above the dew point (ISO 8502-4:2017, ISO 12944-7:2017).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.entry import numbers

Reals = NDArray[np.float64]

MAGNUS_PA = 611.2
MAGNUS_SLOPE = 17.62
MAGNUS_C = 243.12
AIR_MIN_C = -45.0
AIR_MAX_C = 60.0
HUMIDITY_MIN = 0.1
LEAST_VAPOUR_PA = 0.001
PRESSURE_PA = 101325.0
PRESSURE_MIN_PA = 50000.0
PRESSURE_MAX_PA = 110000.0
WATER_TO_AIR = 0.621945
WATER_GAS_J_PER_KG_K = 461.52
ZERO_C_IN_K = 273.15
HEAT_OF_VAPOUR = 2501.0
HEAT_DRY_AIR = 1.006
HEAT_WATER_VAPOUR = 1.86
HEAT_WATER = 4.186
HEAT_OF_VAPOUR_SLOPE = 2.326
NEWTON_STEPS = 6
SURFACE_MARGIN_C = 3.0

SOURCES = {
    "MAGNUS_PA": "World Meteorological Organization (2018), Guide No. 8, volume I, annex 4.B",
    "MAGNUS_SLOPE": "World Meteorological Organization (2018), Guide No. 8, volume I, annex 4.B",
    "MAGNUS_C": "World Meteorological Organization (2018), Guide No. 8, volume I, annex 4.B",
    "AIR_MIN_C": "World Meteorological Organization (2018), Guide No. 8, annex 4.B: the range of the formula",
    "AIR_MAX_C": "World Meteorological Organization (2018), Guide No. 8, annex 4.B: the range of the formula",
    "PRESSURE_MIN_PA": "teaching value: a shop at 5500 m",
    "PRESSURE_MAX_PA": "teaching value: above any barometer reading at sea level",
    "HUMIDITY_MIN": "teaching value: perfectly dry air has no dew point",
    "LEAST_VAPOUR_PA": "teaching value: less than the driest air at the lowest temperature holds",
    "PRESSURE_PA": "International Civil Aviation Organization (1993), Doc 7488, standard atmosphere at sea level",
    "WATER_TO_AIR": "ASHRAE Handbook, Fundamentals (2017), chapter 1: molar mass of water over that of dry air",
    "WATER_GAS_J_PER_KG_K": "IAPWS R6-95 (2018): the gas constant over the molar mass of water",
    "ZERO_C_IN_K": "definition",
    "HEAT_OF_VAPOUR": "ASHRAE Handbook, Fundamentals (2017), chapter 1, equation 33, kJ/kg",
    "HEAT_DRY_AIR": "ASHRAE Handbook, Fundamentals (2017), chapter 1, equation 33, kJ/(kg K)",
    "HEAT_WATER_VAPOUR": "ASHRAE Handbook, Fundamentals (2017), chapter 1, equation 33, kJ/(kg K)",
    "HEAT_WATER": "ASHRAE Handbook, Fundamentals (2017), chapter 1, equation 33, kJ/(kg K)",
    "HEAT_OF_VAPOUR_SLOPE": "ASHRAE Handbook, Fundamentals (2017), chapter 1, equation 33, kJ/(kg K)",
    "NEWTON_STEPS": "teaching value: the search for the wet bulb stands still after five steps",
    "SURFACE_MARGIN_C": "ISO 8502-4 (2017) and ISO 12944-7 (2017): surface at least 3 degrees C above the dew point",
}


def air(air_c: ArrayLike, field: str = "air temperature") -> Reals:
    """Temperatures as an array, if all are from -45 to 60 degrees C."""
    return numbers(field, air_c, low=AIR_MIN_C, high=AIR_MAX_C, unit="degrees C")


def humidity(humidity_percent: ArrayLike) -> Reals:
    """Relative humidities as an array, if all are from 0.1 to 100 %."""
    return numbers("humidity", humidity_percent, low=HUMIDITY_MIN, high=100, unit="%")


def _pressure(pressure_pa: ArrayLike) -> Reals:
    return numbers("air pressure", pressure_pa, low=PRESSURE_MIN_PA, high=PRESSURE_MAX_PA, unit="Pa")


def saturation(air_c: Reals) -> Reals:
    """The saturation pressure at temperatures that were checked already; see `saturation_pressure_pa`."""
    return MAGNUS_PA * np.exp(MAGNUS_SLOPE * air_c / (MAGNUS_C + air_c))


def saturation_pressure_pa(air_c: ArrayLike) -> Reals:
    """Pressure of water vapour over a flat water surface, in pascal.

    Parameters
    ----------
    air_c : temperature, -45 to 60 degrees C; below 0 over undercooled water

    Raises
    ------
    BadEntry : a temperature outside the range

    Source
    ------
    World Meteorological Organization (2018), Guide No. 8, annex 4.B: 6.112 hPa exp(17.62 t / (243.12 + t)).

    >>> round(float(saturation_pressure_pa(20)))
    2333
    """
    return saturation(air(air_c))


def vapour_pressure_pa(air_c: ArrayLike, humidity_percent: ArrayLike) -> Reals:
    """Pressure of the water vapour that the air holds, in pascal.

    Parameters
    ----------
    air_c : -45 to 60 degrees C
    humidity_percent : relative humidity, 0.1 to 100 %

    Raises
    ------
    BadEntry : a value outside its range
    """
    return humidity(humidity_percent) / 100 * saturation_pressure_pa(air_c)


def dew_point_c(air_c: ArrayLike, humidity_percent: ArrayLike) -> Reals:
    """Temperature at which this air begins to wet a surface, in degrees C.

    Parameters
    ----------
    air_c : -45 to 60 degrees C
    humidity_percent : relative humidity, 0.1 to 100 %

    Raises
    ------
    BadEntry : a value outside its range

    Source
    ------
    The Magnus formula turned round.

    >>> round(float(dew_point_c(20, 50)), 1)
    9.3
    """
    return saturated_at_c(vapour_pressure_pa(air_c, humidity_percent))


def saturated_at_c(vapour_pa: ArrayLike) -> Reals:
    """Temperature at which a pressure of water vapour is all that the air can hold, in degrees C.

    Parameters
    ----------
    vapour_pa : above 0 to 110000 Pa

    Raises
    ------
    BadEntry : a pressure outside the range

    Source
    ------
    The Magnus formula turned round.

    >>> round(float(saturated_at_c(saturation_pressure_pa(20))), 9)
    20.0
    """
    pressure = numbers("vapour pressure", vapour_pa, low=LEAST_VAPOUR_PA, high=PRESSURE_MAX_PA, unit="Pa")
    level = np.log(pressure / MAGNUS_PA)
    return MAGNUS_C * level / (MAGNUS_SLOPE - level)


def surface_margin_c(surface_c: ArrayLike, air_c: ArrayLike, humidity_percent: ArrayLike) -> Reals:
    """How far a surface is above the dew point, in degrees C; fit to be sprayed from `SURFACE_MARGIN_C` on.

    Parameters
    ----------
    surface_c : temperature of the panel, -45 to 60 degrees C
    air_c, humidity_percent : of the air at the panel

    Raises
    ------
    BadEntry : a value outside its range

    Source
    ------
    ISO 8502-4 (2017) and ISO 12944-7 (2017): at least 3 degrees C.

    >>> round(float(surface_margin_c(11, 20, 50)), 1)
    1.7
    """
    return air(surface_c, "surface temperature") - dew_point_c(air_c, humidity_percent)


def humidity_ratio(air_c: ArrayLike, humidity_percent: ArrayLike, pressure_pa: ArrayLike = PRESSURE_PA) -> Reals:
    """Kilograms of water vapour to one kilogram of dry air.

    Parameters
    ----------
    air_c : -45 to 60 degrees C
    humidity_percent : 0.1 to 100 %
    pressure_pa : 50000 to 110000 Pa

    Raises
    ------
    BadEntry : a value outside its range

    Source
    ------
    ASHRAE Handbook, Fundamentals (2017), chapter 1, equation 20.

    >>> round(float(humidity_ratio(20, 50)), 4)
    0.0072
    """
    vapour = vapour_pressure_pa(air_c, humidity_percent)
    return WATER_TO_AIR * vapour / (_pressure(pressure_pa) - vapour)


def moisture_g_per_m3(air_c: ArrayLike, humidity_percent: ArrayLike) -> Reals:
    """Grams of water vapour in one cubic metre of air.

    Parameters
    ----------
    air_c : -45 to 60 degrees C
    humidity_percent : 0.1 to 100 %; at 100 the value is all that the air can hold

    Raises
    ------
    BadEntry : a value outside its range

    Source
    ------
    Law of ideal gases with the gas constant of water, IAPWS R6-95 (2018).

    >>> room = moisture_g_per_m3(20, 100) - moisture_g_per_m3(20, 50)   # what it can still take
    >>> round(float(room), 1)
    8.6
    """
    kelvin = air(air_c) + ZERO_C_IN_K
    return vapour_pressure_pa(air_c, humidity_percent) * 1000 / (WATER_GAS_J_PER_KG_K * kelvin)


def humidity_after_heating(air_c: ArrayLike, humidity_percent: ArrayLike, heated_c: ArrayLike) -> Reals:
    """Relative humidity after the same air is heated or cooled with its water kept, in percent, at most 100.

    Parameters
    ----------
    air_c, humidity_percent : of the air that is drawn in
    heated_c : temperature in the booth, -45 to 60 degrees C

    Raises
    ------
    BadEntry : a value outside its range

    >>> round(float(humidity_after_heating(8, 90, 22)))
    37
    """
    kept = vapour_pressure_pa(air_c, humidity_percent) / saturation(air(heated_c, "booth temperature"))
    return np.minimum(100 * kept, 100)


def wet_bulb_c(air_c: ArrayLike, humidity_percent: ArrayLike, pressure_pa: ArrayLike = PRESSURE_PA) -> Reals:
    """Temperature to which a wet surface cools in this air, in degrees C.

    Parameters
    ----------
    air_c : -45 to 60 degrees C; results below 0 are for water that has not frozen
    humidity_percent : 0.1 to 100 %
    pressure_pa : 50000 to 110000 Pa

    Raises
    ------
    BadEntry : a value outside its range

    Source
    ------
    ASHRAE Handbook, Fundamentals (2017), chapter 1, equation 33, solved with Newton's method.

    >>> round(float(wet_bulb_c(20, 50)), 1)
    13.8
    """
    dry = air(air_c)
    return cooled(dry, humidity(humidity_percent) / 100 * saturation(dry), _pressure(pressure_pa))


def cooled(dry: Reals, vapour_pa: Reals, pressure: Reals | float = PRESSURE_PA) -> Reals:
    """The wet bulb of air whose values were checked already; see `wet_bulb_c`."""
    held = WATER_TO_AIR * vapour_pa / (pressure - vapour_pa)
    wet = dry + np.zeros_like(held)
    for _ in range(NEWTON_STEPS):
        vapour = saturation(wet)
        full = WATER_TO_AIR * vapour / (pressure - vapour)
        rise = full * pressure / (pressure - vapour) * MAGNUS_SLOPE * MAGNUS_C / (MAGNUS_C + wet) ** 2
        heat = HEAT_OF_VAPOUR - HEAT_OF_VAPOUR_SLOPE * wet
        off = heat * full - HEAT_DRY_AIR * (dry - wet)
        off = off - held * (HEAT_OF_VAPOUR + HEAT_WATER_VAPOUR * dry - HEAT_WATER * wet)
        slope = heat * rise - HEAT_OF_VAPOUR_SLOPE * full + HEAT_DRY_AIR + HEAT_WATER * held
        wet = wet - off / slope
    return wet
