"""Vapour pressure of the solvents that lead the drying of a coat.

Antoine's equation, log10 p = A - B / (t + C), each row as its handbook prints it. The handbooks fit most rows from
about 15-40 degrees C up to a little above the boiling point; a booth is often cooler, and `vapour_pressure_pa` allows
from 0 degrees C on. At 20 to 30 degrees C the rows were held against another handbook's equation that covers the range
(tests/outside/test_solvent.py).
"""

from __future__ import annotations

from dataclasses import dataclass

from numpy.typing import ArrayLike

from refinishlib.booth.climate import Reals
from refinishlib.entry import numbers, one_of
from refinishlib.shop.product import AIR_C

BAR_PA = 1e5
MMHG_PA = 133.322


@dataclass(frozen=True)
class Antoine:
    """One solvent: constants for log10 of the pressure in `unit_pa`, temperature in degrees C; normal boiling point."""

    a: float
    b: float
    c: float
    unit_pa: float
    boils_c: float


SOLVENTS: dict[str, Antoine] = {
    "acetone": Antoine(4.21840, 1197.010, 228.060, BAR_PA, 56.1),
    "butanone": Antoine(4.13860, 1232.630, 218.690, BAR_PA, 79.6),
    "ethyl acetate": Antoine(4.13361, 1195.130, 212.470, BAR_PA, 77.1),
    "n-propyl acetate": Antoine(4.05548, 1233.460, 203.080, BAR_PA, 101.0),
    "isobutyl acetate": Antoine(4.87562, 1801.230, 253.133, BAR_PA, 116.9),
    "n-butyl acetate": Antoine(7.12712, 1430.418, 210.745, MMHG_PA, 126.0),
    "4-methyl-2-pentanone": Antoine(3.82220, 1190.6904, 195.450, BAR_PA, 115.7),
    "toluene": Antoine(4.05043, 1327.620, 217.625, BAR_PA, 110.6),
    "ethylbenzene": Antoine(4.06861, 1415.770, 212.300, BAR_PA, 136.2),
    "1,3-xylene": Antoine(4.14051, 1468.703, 216.120, BAR_PA, 139.1),
    "1,2-xylene": Antoine(4.09789, 1458.706, 212.041, BAR_PA, 144.4),
    "ethanol": Antoine(5.33675, 1648.220, 230.918, BAR_PA, 78.2),
    "2-propanol": Antoine(5.24268, 1580.920, 219.610, BAR_PA, 82.2),
    "1-butanol": Antoine(4.64930, 1395.140, 182.739, BAR_PA, 117.6),
}

SOURCES = {
    "BAR_PA": "definition",
    "MMHG_PA": "definition: the conventional millimetre of mercury",
    "SOLVENTS": "Poling, Prausnitz, O'Connell (2001), The Properties of Gases and Liquids, 5th edition, appendix A, "
    "in bar; isobutyl acetate: fitted here from 0 to 120 degrees C to equation 101 of the open ChemSep data (2010), "
    "which it leaves by 0.3 % at most, because the handbook's row begins at 22 degrees C and is 11 % low at 5; "
    "n-butyl acetate: Dean (1999), Lange's Handbook of Chemistry, 15th edition, section 5, in mmHg; "
    "normal boiling points: CRC Handbook of Chemistry and Physics, 95th edition (2014)",
}


def solvent(name: str) -> Antoine:
    """Constants of one solvent.

    Raises
    ------
    BadEntry : an unknown solvent, with the names that exist
    """
    return SOLVENTS[one_of("solvent", name, SOLVENTS)]


def vapour_pressure_pa(name: str, liquid_c: ArrayLike) -> Reals:
    """Vapour pressure of a pure solvent, in pascal.

    Parameters
    ----------
    name : chemical name, a key of `SOLVENTS`
    liquid_c : 0 to 10 degrees C above the normal boiling point

    Raises
    ------
    BadEntry : an unknown solvent, or a temperature outside the range

    Source
    ------
    Antoine (1888), with the constants of the handbooks named at `SOLVENTS`.

    >>> round(float(vapour_pressure_pa("n-butyl acetate", 20)))
    1130
    """
    row = solvent(name)
    liquid = numbers("solvent temperature", liquid_c, low=AIR_C[0], high=row.boils_c + 10, unit="degrees C")
    return row.unit_pa * 10 ** (row.a - row.b / (liquid + row.c))
