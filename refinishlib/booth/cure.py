"""Cure and pot life: Arrhenius' law with the energy that a sheet's own two cures give, and the panel's own temperature.

A sheet's bake and its air drying are taken to end at the same cure; the energy between them then holds for the pot life
too. A bake counts from the temperature of the panel, which follows the air as a thin plate does: one time constant, the
heat capacity of the panel over the heat that the air gives it.

Left out: the ramp of the booth itself, the filler or seat behind a panel, radiant heat, and what a film does above its
glass transition.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from refinishlib.booth.climate import ZERO_C_IN_K, Reals
from refinishlib.entry import BadEntry, number, numbers, one_of
from refinishlib.shop.product import Cure, ProductSheet, hardener

GAS_J_PER_MOL_K = 8.314462618
AIR_DRY_C = 20.0
PANEL_C = (-20.0, 150.0)
BAKE_AIR_C = (20.0, 150.0)
ENERGY_MAX_J_PER_MOL = 250e3
MINUTES_MAX = 100e3
HEAT_W_PER_M2_K = 10.0
FACES = 2
THINNEST_MM = 0.3
THICKEST_MM = 10.0
MATERIALS: dict[str, tuple[float, float, float]] = {
    "steel": (7850.0, 460.0, 0.8),
    "aluminium": (2700.0, 900.0, 1.1),
    "plastic": (905.0, 1900.0, 3.0),
}
HOTTEST_PART_C: dict[str, float] = {"steel": 90.0, "aluminium": 90.0, "plastic": 80.0}

SOURCES = {
    "GAS_J_PER_MOL_K": "CODATA (2018)",
    "AIR_DRY_C": "teaching value: the shop's sheets air dry at 20 degrees C",
    "PANEL_C": "teaching value: from a vehicle left out in winter to above any bake of a repaired vehicle",
    "BAKE_AIR_C": "teaching value: range of an entry; what the part, the sheet and the vehicle allow is far below",
    "HOTTEST_PART_C": "common practice, no source: covers and trim of plastic warp above it, and with metal the seals, "
    "wiring and trim around it suffer; the vehicle maker's own figure goes first and is often lower",
    "ENERGY_MAX_J_PER_MOL": "teaching value",
    "MINUTES_MAX": "teaching value: ten weeks",
    "HEAT_W_PER_M2_K": "Incropera, DeWitt (2007), Fundamentals of Heat and Mass Transfer, 6th edition, table 1.1: 2 to "
    "25 for gases in free and 25 to 250 in forced convection; 10 a face is a teaching value for slow booth air",
    "THINNEST_MM": "teaching value",
    "THICKEST_MM": "teaching value",
    "FACES": "teaching value: the panel is warmed from both faces",
    "MATERIALS": "density and heat capacity of mild steel, aluminium and polypropylene after Incropera, DeWitt (2007), "
    "appendix A, from memory; the usual thickness of a panel, 0.8, 1.1 and 3 mm, is common practice",
}


def rate_ratio(energy_j_per_mol: ArrayLike, from_c: ArrayLike, to_c: ArrayLike) -> Reals:
    """How many times faster a reaction runs at `to_c` than at `from_c`.

    Parameters
    ----------
    energy_j_per_mol : activation energy, 0-250000 J/mol
    from_c, to_c : -20 to 150 degrees C

    Raises
    ------
    BadEntry : a value outside its range

    Source
    ------
    Arrhenius (1889): k = A exp(-E / R T).

    >>> round(float(rate_ratio(51_000, 20, 30)), 2)
    1.99
    """
    energy = numbers("activation energy", energy_j_per_mol, low=0, high=ENERGY_MAX_J_PER_MOL, unit="J/mol")
    return np.exp(energy / GAS_J_PER_MOL_K * (1 / _kelvin("from", from_c) - 1 / _kelvin("to", to_c)))


def activation_energy(minutes_a: float, at_a_c: float, minutes_b: float, at_b_c: float) -> float:
    """Activation energy from two cures that end at the same state, in J/mol.

    Parameters
    ----------
    minutes_a, minutes_b : above 0 to 100000 minutes
    at_a_c, at_b_c : two different temperatures, -20 to 150 degrees C

    Raises
    ------
    BadEntry : a value outside its range, equal temperatures, or a hotter cure that is not the shorter one

    Source
    ------
    Arrhenius (1889) solved for the energy.

    >>> round(activation_energy(30, 60, 16 * 60, 20) / 1000, 1)
    70.4
    """
    times = [
        number("cure time", m, low=0, high=MINUTES_MAX, unit="min", above_low=True) for m in (minutes_a, minutes_b)
    ]
    colder, hotter = sorted(zip((number("cure temperature", t) for t in (at_a_c, at_b_c)), times, strict=True))
    if colder[0] == hotter[0] or colder[1] <= hotter[1]:
        raise BadEntry(
            f"cure: {colder[1]:g} min at {colder[0]:g} degrees C and {hotter[1]:g} min at {hotter[0]:g} degrees C were "
            "given, allowed are two temperatures with the shorter time at the higher one."
        )
    span = 1 / _kelvin("cure", colder[0]) - 1 / _kelvin("cure", hotter[0])
    return float(GAS_J_PER_MOL_K * np.log(colder[1] / hotter[1]) / span)


@cache
def sheet_energy(cure: Cure) -> float:
    """Activation energy of a sheet from its own bake and air drying, in J/mol.

    >>> from refinishlib.shop.shop import load
    >>> round(sheet_energy(load().product("clear").cure), -3)
    70000.0
    """
    return activation_energy(cure.bake_min, cure.bake_panel_c, cure.air_dry_min, AIR_DRY_C)


def minutes_at(minutes: ArrayLike, at_c: ArrayLike, to_c: ArrayLike, energy_j_per_mol: ArrayLike) -> Reals:
    """The minutes at another temperature that do the same: bake for air drying, pot life on a hot day.

    Parameters
    ----------
    minutes : at `at_c`, 0-100000
    at_c, to_c : -20 to 150 degrees C
    energy_j_per_mol : 0-250000 J/mol

    Raises
    ------
    BadEntry : a value outside its range

    Source
    ------
    Arrhenius (1889).

    >>> round(float(minutes_at(30, 60, 50, 70_358)))
    66
    """
    time = numbers("minutes", minutes, low=0, high=MINUTES_MAX, unit="min")
    return time / rate_ratio(energy_j_per_mol, at_c, to_c)


def energy_of(sheet: ProductSheet) -> float:
    """The activation energy of a product's cure, J/mol; 0 for one that only dries.

    >>> from refinishlib.shop.shop import load
    >>> energy_of(load().product("water base"))
    0.0
    """
    return sheet_energy(sheet.cure) if sheet.cure else 0.0


def pot_life_min(sheet: ProductSheet, hardener_name: str, air_c: ArrayLike) -> Reals | None:
    """How long a cup lives once its hardener is in, minutes; None where nothing reacts in it.

    Parameters
    ----------
    sheet : the product; its pot life is that with the normal hardener at 20 degrees C
    hardener_name : fast, normal, slow, or the name of a tin
    air_c : of the air, and with it of the cup, -20 to 150 degrees C

    Raises
    ------
    BadEntry : a hardener that the sheet does not have, air out of range

    Source
    ------
    Arrhenius (1889).

    >>> from refinishlib.shop.shop import load
    >>> clear = load().product("clear")
    >>> [round(float(pot_life_min(clear, "normal", air_c))) for air_c in (20, 30)]
    [90, 35]
    """
    used = hardener(sheet, hardener_name)
    if sheet.pot_life_min is None or used is None:
        return None
    return minutes_at(sheet.pot_life_min * used.pace, AIR_DRY_C, air_c, energy_of(sheet))


def time_constant_min(material: str, thickness_mm: float | None = None) -> float:
    """Minutes in which a panel closes 63 % of the gap to the air around it.

    Parameters
    ----------
    material : steel, aluminium or plastic
    thickness_mm : 0.3-10 mm; the usual one of the material if not given

    Raises
    ------
    BadEntry : an unknown material, or a thickness outside the range

    Source
    ------
    Lumped capacity, Incropera, DeWitt (2007), chapter 5: density x heat capacity x thickness / heat transfer.

    >>> round(time_constant_min("steel"), 1), round(time_constant_min("plastic"), 1)
    (2.4, 4.3)
    """
    density_kg_per_m3, heat_j_per_kg_k, usual_mm = MATERIALS[one_of("material", material, MATERIALS)]
    thick_mm = (
        usual_mm
        if thickness_mm is None
        else number("thickness", thickness_mm, low=THINNEST_MM, high=THICKEST_MM, unit="mm")
    )
    per_face_s = density_kg_per_m3 * heat_j_per_kg_k * thick_mm / 1000 / HEAT_W_PER_M2_K
    return per_face_s / FACES / 60


def panel_temperature_c(minutes: ArrayLike, air_c: ArrayLike, start_c: ArrayLike, constant_min: float) -> Reals:
    """Temperature of a panel after minutes in air of another temperature, in degrees C.

    Parameters
    ----------
    minutes : 0-100000
    air_c, start_c : of the air, and of the panel at the start, -20 to 150 degrees C
    constant_min : as `time_constant_min` gives it, above 0

    Raises
    ------
    BadEntry : a value outside its range

    >>> panel_temperature_c([0, 2.4, 24], 70, 20, 2.4).round(1).tolist()
    [20.0, 51.6, 70.0]
    """
    time = numbers("minutes", minutes, low=0, high=MINUTES_MAX, unit="min")
    air = _celsius("air", air_c)
    return air - (air - _celsius("panel", start_c)) * np.exp(-time / _constant(constant_min))


def heat_up_minutes(air_c: ArrayLike, start_c: ArrayLike, panel_c: ArrayLike, constant_min: float) -> Reals:
    """Minutes until the panel has reached a temperature: 0 if it is there, infinite if the air is not hotter.

    Parameters
    ----------
    air_c, start_c, panel_c : of the air, of the panel at the start, and wanted, -20 to 150 degrees C
    constant_min : as `time_constant_min` gives it, above 0

    Raises
    ------
    BadEntry : a value outside its range

    >>> round(float(heat_up_minutes(70, 20, 60, 2.4)), 1), float(heat_up_minutes(60, 20, 60, 2.4))
    (3.9, inf)
    """
    air, start, wanted = _celsius("air", air_c), _celsius("panel", start_c), _celsius("panel", panel_c)
    with np.errstate(divide="ignore", invalid="ignore"):
        minutes = _constant(constant_min) * np.log((air - start) / (air - wanted))
    return np.where(start >= wanted, 0.0, np.where(air > wanted, minutes, np.inf))


def bake_minutes(cure: Cure, air_c: ArrayLike, start_c: ArrayLike, constant_min: float) -> Reals:
    """Minutes with the booth at bake until the panel has had the sheet's bake at the sheet's panel temperature.

    The sheet's minutes count from the moment at which the panel has reached the sheet's temperature.

    Parameters
    ----------
    cure : of the sheet
    air_c : of the booth at bake, -20 to 150 degrees C
    start_c : of the panel when the bake begins
    constant_min : as `time_constant_min` gives it

    Raises
    ------
    BadEntry : a value outside its range

    >>> from refinishlib.shop.shop import load
    >>> round(float(bake_minutes(load().product("clear").cure, 70, 20, time_constant_min("steel"))))
    34
    """
    return heat_up_minutes(air_c, start_c, cure.bake_panel_c, constant_min) + cure.bake_min


def cured_share(minutes: ArrayLike, panel_c: ArrayLike, cure: Cure) -> Reals:
    """Share of the sheet's full cure that a log of panel temperatures has reached, at each reading, 0 to above 1.

    Parameters
    ----------
    minutes : (n,) times of the readings, rising
    panel_c : (..., n) panel temperatures, -20 to 150 degrees C
    cure : of the sheet

    Raises
    ------
    BadEntry : a value outside its range, or times that do not rise

    Source
    ------
    Arrhenius (1889), summed over the log with the trapezium rule.

    >>> from refinishlib.shop.shop import load
    >>> cured_share([0, 15, 30], [60, 60, 60], load().product("clear").cure).tolist()
    [0.0, 0.5, 1.0]
    """
    time = numbers("minutes", minutes, low=0, high=MINUTES_MAX, unit="min", shape=(None,))
    if (np.diff(time) <= 0).any():
        raise BadEntry("minutes: times that do not rise were given, allowed are times in rising order.")
    panel = numbers("panel temperature", panel_c, low=PANEL_C[0], high=PANEL_C[1], unit="degrees C", shape=time.shape)
    rate = rate_ratio(sheet_energy(cure), cure.bake_panel_c, panel) / cure.bake_min
    steps = (rate[..., 1:] + rate[..., :-1]) / 2 * np.diff(time)
    return np.concatenate([np.zeros_like(rate[..., :1]), np.cumsum(steps, axis=-1)], axis=-1)


def _celsius(what: str, celsius: ArrayLike) -> Reals:
    return numbers(f"{what} temperature", celsius, low=PANEL_C[0], high=PANEL_C[1], unit="degrees C")


def _kelvin(what: str, celsius: ArrayLike) -> Reals:
    return _celsius(what, celsius) + ZERO_C_IN_K


def _constant(minutes: float) -> float:
    return number("time constant", minutes, low=0, above_low=True, unit="min")
