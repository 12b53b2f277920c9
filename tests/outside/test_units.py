"""Unit conversions against their published definitions."""

import pytest

from refinishlib.units import from_house, parse, to_house

# NIST Special Publication 811 (2008 edition), appendix B.8 and its footnotes, and NIST Handbook 44 (2023), appendix C,
# which gives the exact values of the US liquid measures. Exact by definition:
EXACT = {
    "1 lb": ("mass", 453.59237),
    "1 oz": ("mass", 28.349523125),
    "1 kg": ("mass", 1000.0),
    "1 L": ("volume", 1000.0),
    "1 US gal": ("volume", 3785.411784),
    "1 US qt": ("volume", 946.352946),
    "1 US pint": ("volume", 473.176473),
    "1 US fl oz": ("volume", 29.5735295625),
    # The imperial gallon is 4.54609 L exactly (NIST SP 811, appendix B.8; Weights and Measures Act 1985): 160 fl oz.
    "1 imp gal": ("volume", 4546.09),
    "1 imp pint": ("volume", 568.26125),
    "1 imp fl oz": ("volume", 28.4130625),
    "1 ft/min": ("air speed", 0.00508),
    "1 bar": ("pressure", 100.0),
    "1 h": ("time", 60.0),
    "1 mil": ("film", 25.4),
    "1 mm": ("film", 1000.0),
    "1 ft2": ("area", 0.09290304),
    "32 degF": ("temperature", 0.0),
    "212 degF": ("temperature", 100.0),
    "-40 degF": ("temperature", -40.0),
}

# The seven digits that SP 811 prints for the factors that it does not mark as exact.
PRINTED = {
    "1 oz": ("mass", 28.34952),
    "1 US gal": ("volume", 3785.412),
    "1 psi": ("pressure", 6.894757),
    "1 lb/gal": ("content", 119.8264),
    "1 US qt": ("volume", 946.3529),
    "1 US pint": ("volume", 473.1765),
    "1 US fl oz": ("volume", 29.57353),
}


@pytest.mark.parametrize("typed", EXACT)
def test_exact_definitions_to_the_last_digit(typed):
    kind, value = EXACT[typed]
    assert parse(typed, kind, field="entry") == value


@pytest.mark.parametrize("typed", PRINTED)
def test_printed_factors_to_seven_digits(typed):
    kind, value = PRINTED[typed]
    assert float(f"{parse(typed, kind, field='entry'):.7g}") == value


def test_measures_hang_together():
    # NIST Handbook 44, appendix C: 16 oz = 1 lb; 1 gal = 4 qt = 8 pints = 128 fl oz = 231 cubic inches.
    assert to_house(16, "oz") == to_house(1, "lb")
    assert to_house(4, "US qt") == to_house(8, "US pint") == to_house(128, "US fl oz") == to_house(1, "US gal")
    assert to_house(1, "US gal") == pytest.approx(231 * 2.54**3, rel=1e-15)
    assert from_house(37.0, "degF") == 98.6
