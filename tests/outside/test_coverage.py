"""Coverage against constants that stand in every coatings handbook, through pint's exact definitions of the units."""

import pint
import pytest

from refinishlib.booth.film import coverage_m2_per_l, wet_from_dry
from refinishlib.booth.quantity import paint_needed

UNITS = pint.UnitRegistry()


def test_a_us_gallon_covers_1604_square_feet_at_one_mil():
    # NIST Handbook 44 (2024), appendix C: 1 US gallon = 231 in3; spread 0.001 in high that is 231000 in2 = 1604.17 ft2.
    mil_um = UNITS.Quantity(1, "thou").to("um").magnitude
    coverage = UNITS.Quantity(coverage_m2_per_l(mil_um, 1.0), "m**2 / L").to("ft**2 / US_liquid_gallon").magnitude
    assert coverage == pytest.approx(231_000 / 144, rel=1e-9)
    assert coverage == pytest.approx(1604, abs=0.5)


def test_a_litre_covers_a_thousand_square_metres_at_one_micrometre():
    assert coverage_m2_per_l(1, 1.0) == 1000
    assert paint_needed(100, 5, 2, 1.0, transfer_efficiency=1.0, waste=0.0) == 1000


@pytest.mark.parametrize(("dry_mil", "solids", "wet_mil"), [(2.0, 0.5, 4.0), (1.0, 0.25, 4.0), (3.0, 0.6, 5.0)])
def test_wet_film_is_dry_film_over_volume_solids(dry_mil, solids, wet_mil):
    # The relation of ASTM D2697 (2022) in use: wet = dry / volume solids, whatever the unit.
    assert wet_from_dry(dry_mil, solids) == pytest.approx(wet_mil)
