"""The air of one day, as the booth has it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from refinishlib.booth.climate import Reals, humidity_after_heating
from refinishlib.booth.flash import AIR_MAX_M_PER_S, SHEET_AIR_M_PER_S
from refinishlib.entry import BadEntry, number, numbers
from refinishlib.shop.product import AIR_C

DAY_MIN = 1440.0
HUMIDITY_MIN = 1.0

SOURCES = {
    "DAY_MIN": "definition: the minutes of a day",
    "HUMIDITY_MIN": "teaching value",
    "SPRING_DAY": "invented for the demo: a cool, damp morning and a mild afternoon",
    "SUMMER_DAY": "invented for the demo: a mild morning and a hot, dry afternoon",
}


@dataclass(frozen=True)
class Day:
    """Readings over one day; between them the values go straight, and after midnight the day begins again.

    minute : of the readings, minutes after midnight, rising, from 0 to below 1440
    air_c : temperature of the air in the booth, 0-50 degrees C
    humidity_percent : its relative humidity, 1-100 %
    surface_c : temperature of the panel, 0-50 degrees C
    air_m_per_s : speed of the air over the panel, 0-10 m/s

    Raises
    ------
    BadEntry : a reading outside its range, lists of unequal length, or times that do not rise
    """

    minute: tuple[float, ...]
    air_c: tuple[float, ...] = ()
    humidity_percent: tuple[float, ...] = ()
    surface_c: tuple[float, ...] = ()
    air_m_per_s: float = SHEET_AIR_M_PER_S

    def __post_init__(self) -> None:
        times = numbers("time", self.minute, low=0, high=DAY_MIN, unit="min", shape=(None,))
        if not len(times) or (np.diff(times) <= 0).any() or times[-1] >= DAY_MIN:
            raise BadEntry("time: allowed are one or more readings in rising order, from 0 to below 1440 min.")
        numbers("air temperature", self.air_c, low=AIR_C[0], high=AIR_C[1], unit="degrees C", shape=times.shape)
        numbers("humidity", self.humidity_percent, low=HUMIDITY_MIN, high=100, unit="%", shape=times.shape)
        numbers("panel temperature", self.surface_c, low=AIR_C[0], high=AIR_C[1], unit="degrees C", shape=times.shape)
        number("air speed", self.air_m_per_s, low=0, high=AIR_MAX_M_PER_S, unit="m/s")

    @cached_property
    def curves(self) -> tuple[Reals, ...]:
        """Times, air, humidity and panel with the neighbouring days' readings at both ends."""
        first, last = self.minute[0] + DAY_MIN, self.minute[-1] - DAY_MIN
        readings = (self.air_c, self.humidity_percent, self.surface_c)
        return np.array([last, *self.minute, first]), *(np.array([r[-1], *r, r[0]]) for r in readings)


class Air(NamedTuple):
    """Air and panel at some moments: arrays of one shape, and the air speed."""

    air_c: Reals
    humidity_percent: Reals
    surface_c: Reals
    air_m_per_s: float


def at(day: Day, minute: ArrayLike) -> Air:
    """Air and panel at some moments of a day.

    Parameters
    ----------
    day : the readings
    minute : minutes after midnight, any finite number; past midnight the day begins again

    Raises
    ------
    BadEntry : a time that is not a number

    >>> air = at(SPRING_DAY, [360, 900])
    >>> air.air_c.tolist(), air.humidity_percent.tolist()
    ([11.0, 21.0], [88.0, 52.0])
    """
    when = numbers("time", minute, unit="min") % DAY_MIN
    times, air_c, humidity, surface_c = day.curves
    return Air(
        np.interp(when, times, air_c),
        np.interp(when, times, humidity),
        np.interp(when, times, surface_c),
        day.air_m_per_s,
    )


def steady_day(
    air_c: float, humidity_percent: float, surface_c: float | None = None, air_m_per_s: float = SHEET_AIR_M_PER_S
) -> Day:
    """A day on which nothing changes; the panel is as warm as the air if not said otherwise.

    >>> steady_day(22, 45).surface_c
    (22.0,)
    """
    air = number("air temperature", air_c, low=AIR_C[0], high=AIR_C[1], unit="degrees C")
    return Day((0.0,), (air,), (humidity_percent,), (air if surface_c is None else surface_c,), air_m_per_s)


def heated(day: Day, to_c: float) -> Day:
    """The same day in a booth that is heated to a temperature where it would be colder; its water is kept.

    The panel is taken to have stood in that air until it has its temperature.

    Parameters
    ----------
    day : the readings before heating
    to_c : 0-50 degrees C

    Raises
    ------
    BadEntry : a temperature outside the range

    >>> warm = heated(steady_day(10, 90), 22)
    >>> warm.air_c, round(warm.humidity_percent[0])
    ((22.0,), 42)
    """
    warm = number("booth temperature", to_c, low=AIR_C[0], high=AIR_C[1], unit="degrees C")
    air = np.maximum(day.air_c, warm)
    return replace(
        day,
        air_c=tuple(air.tolist()),
        humidity_percent=tuple(humidity_after_heating(day.air_c, day.humidity_percent, air).tolist()),
        surface_c=tuple(np.maximum(day.surface_c, warm).tolist()),
    )


def panel_warmed(day: Day, to_c: float) -> Day:
    """The same day with the panel warmed to a temperature where it would be colder.

    >>> panel_warmed(steady_day(15, 80, surface_c=12), 16).surface_c
    (16.0,)
    """
    warm = number("panel temperature", to_c, low=AIR_C[0], high=AIR_C[1], unit="degrees C")
    return replace(day, surface_c=tuple(np.maximum(day.surface_c, warm).tolist()))


SPRING_DAY = Day(
    minute=(0, 360, 540, 720, 900, 1080, 1260),
    air_c=(13, 11, 15, 19, 21, 19, 15),
    humidity_percent=(80, 88, 72, 58, 52, 58, 72),
    surface_c=(13, 11, 13, 17, 20, 19, 16),
)
SUMMER_DAY = Day(
    minute=(0, 360, 540, 720, 900, 1080, 1260),
    air_c=(21, 19, 24, 30, 34, 31, 25),
    humidity_percent=(62, 70, 52, 36, 28, 34, 50),
    surface_c=(22, 20, 23, 30, 35, 32, 26),
)
