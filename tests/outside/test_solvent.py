"""Vapour pressures against boiling points and against other handbooks' equations."""

import math

import numpy as np
import pytest

from refinishlib.booth.solvent import SOLVENTS, vapour_pressure_pa
from refinishlib.shop.product import SOLVENTS as OF_A_SHEET
from refinishlib.shop.shop import load

ATMOSPHERE_PA = 101325

# Perry's Chemical Engineers' Handbook, 8th edition (2007), table 2-8: ln p/Pa = C1 + C2/T + C3 ln T + C4 T^C5, T in K.
PERRY = {
    "acetone": (69.006, -5599.6, -7.0985, 6.2237e-06, 2),
    "butanone": (72.698, -6143.6, -7.5779, 5.6476e-06, 2),
    "ethyl acetate": (66.824, -6227.6, -6.41, 1.7914e-17, 6),
    "n-propyl acetate": (115.16, -8433.9, -13.934, 1.0346e-05, 2),
    "n-butyl acetate": (122.82, -9253.2, -14.99, 1.047e-05, 2),
    "4-methyl-2-pentanone": (80.503, -7421.8, -8.379, 1.8114e-17, 6),
    "toluene": (76.945, -6729.8, -8.179, 5.3017e-06, 2),
    "ethylbenzene": (89.063, -7733.7, -9.917, 5.986e-06, 2),
    "1,3-xylene": (85.099, -7615.9, -9.3072, 5.5643e-06, 2),
    "1,2-xylene": (90.405, -7955.2, -10.086, 5.9594e-06, 2),
    "ethanol": (73.304, -7122.3, -7.1424, 2.8853e-06, 2),
    "2-propanol": (96.094, -8575.4, -10.292, 1.6665e-17, 6),
    "1-butanol": (106.295, -9866.4, -11.655, 1.0832e-17, 6),
}


# Isobutyl acetate, which Perry's table leaves out: ChemSep's open data (2010), equation 101, read in a public copy:
# ln p/Pa = A + B/T + C ln T + D T^2, T in K.
CHEMSEP = {"isobutyl acetate": (28.45261, -5051.537, -0.615949, -1.95606e-06, 2)}


def perry_pa(name, liquid_c):
    c1, c2, c3, c4, c5 = (PERRY | CHEMSEP)[name]
    kelvin = liquid_c + 273.15
    return math.exp(c1 + c2 / kelvin + c3 * math.log(kelvin) + c4 * kelvin**c5)


def test_n_butyl_acetate_boils_at_126():
    # CRC Handbook of Chemistry and Physics, 95th edition (2014): normal boiling point 126 degrees C.
    assert vapour_pressure_pa("n-butyl acetate", 126) == pytest.approx(ATMOSPHERE_PA, rel=0.02)


@pytest.mark.parametrize("name", SOLVENTS)
def test_every_solvent_boils_at_its_boiling_point(name):
    # 3 % of the pressure is one degree of boiling point, about as far as handbooks differ.
    assert vapour_pressure_pa(name, SOLVENTS[name].boils_c) == pytest.approx(ATMOSPHERE_PA, rel=0.03)


def test_n_butyl_acetate_from_20_to_30_rises_alike_in_other_sets():
    ours = vapour_pressure_pa("n-butyl acetate", 30) / vapour_pressure_pa("n-butyl acetate", 20)
    # Poling, Prausnitz, O'Connell (2001), 5th edition, appendix A: log10 p/bar = 4.5 - 1596.7 / (t + 229.3).
    poling = [10 ** (4.5 - 1596.7 / (t + 229.3)) for t in (20, 30)]
    # NIST Chemistry WebBook after Kliment, Fried, Pick (1964), from memory: log10 p/bar, kelvin.
    kliment = [10 ** (4.26803 - 1440.231 / (t + 273.15 - 61.362)) for t in (20, 30)]
    perry = [perry_pa("n-butyl acetate", t) for t in (20, 30)]
    for cool, warm in (poling, kliment, perry):
        assert ours == pytest.approx(warm / cool, rel=0.03)


def test_every_solvent_of_a_sheet_is_held_against_another_handbook():
    used = {tin.solvent for sheet in load().products for tin in sheet.reducers} - {"water"}
    assert used <= set(PERRY | CHEMSEP)
    assert {*SOLVENTS, "water"} == set(OF_A_SHEET)


@pytest.mark.parametrize("liquid_c", [0, 5, 10, 15, 20, 30])
def test_isobutyl_acetate_is_no_longer_low_where_a_booth_is_cold(liquid_c):
    assert vapour_pressure_pa("isobutyl acetate", liquid_c) == pytest.approx(
        perry_pa("isobutyl acetate", liquid_c), rel=0.01
    )


@pytest.mark.parametrize("name", PERRY | CHEMSEP)
@pytest.mark.parametrize("liquid_c", [15, 20, 30, 40])
def test_booth_temperatures_hold_against_an_equation_that_covers_them(name, liquid_c):
    # The range that counts is below many Antoine rows; 1-butanol is the poorest at 15 degrees C.
    assert vapour_pressure_pa(name, liquid_c) == pytest.approx(perry_pa(name, liquid_c), rel=0.08)


def test_order_of_the_common_solvents_is_that_of_every_evaporation_table():
    order = ["acetone", "ethyl acetate", "n-propyl acetate", "isobutyl acetate", "n-butyl acetate", "1,2-xylene"]
    assert list(np.argsort([-vapour_pressure_pa(name, 20) for name in order])) == list(range(len(order)))


def test_leading_solvents_of_the_reducers_evaporate_about_as_tabulated():
    # Relative evaporation rates by ASTM D3539 (2011), n-butyl acetate = 1, as commonly tabulated, from memory. The rate
    # of a pure liquid goes with its vapour pressure and, weakly, its molar mass; a fast one also cools itself.
    tabulated = {"isobutyl acetate": 1.45, "1,2-xylene": 0.65, "4-methyl-2-pentanone": 1.6, "1-butanol": 0.44}
    for name, rate in tabulated.items():
        ratio = vapour_pressure_pa(name, 25) / vapour_pressure_pa("n-butyl acetate", 25)
        assert ratio == pytest.approx(rate, rel=0.3), name
