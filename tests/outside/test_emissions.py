"""VOC against the equations, worked examples and tables of the two rules."""

import tomllib
from pathlib import Path

import pytest

from refinishlib import booth
from refinishlib.booth.emissions import MixPart, UsVoc, eu_limits, eu_voc, ready_mix, us_limits, us_multi_stage, us_voc

POUNDS_PER_GALLON_G_PER_L = 119.8264  # 453.59237 g / 3.785411784 L, exact by definition (NIST SP 811, 2008)

# 40 CFR part 59 subpart B, table 1, VOC limits in grams per litre and in pounds per gallon. Both columns of the first
# six lines compared with a public-domain copy of the table in an open body shop guide; the last line from memory.
US = {
    "pretreatment wash primer": (780, 6.5),
    "primer or primer surfacer": (580, 4.8),
    "primer sealer": (550, 4.6),
    "single or two-stage topcoat": (600, 5.0),
    "topcoat of three or more stages": (630, 5.2),
    "multicolored topcoat": (680, 5.7),
    "specialty coating": (840, 7.0),
}

# Directive 2004/42/EC, annex II B, g/l from 1 January 2007, compared with the summary of a UK government guide (2024):
# category, limit, and whether water is discounted (all but category a).
EU = {
    "preparatory product": ("a", 850, False),
    "pre-cleaner": ("a", 200, False),
    "bodyfiller or stopper": ("b", 250, True),
    "surfacer, filler or general metal primer": ("c", 540, True),
    "wash primer": ("c", 780, True),
    "topcoat": ("d", 420, True),
    "special finish": ("e", 840, True),
}


def test_the_us_table_value_by_value():
    assert {name: row.g_per_l for name, row in us_limits().limits.items()} == {n: g for n, (g, _) in US.items()}
    raw = tomllib.loads((Path(booth.__file__).parent / "limits.toml").read_text(encoding="utf-8"))
    assert {row["name"]: row["lb_per_gal"] for row in raw["us"]["limit"]} == {n: lb for n, (_, lb) in US.items()}
    assert us_limits().since == "1999-01-11" and "40 CFR 59.102" in us_limits().source


@pytest.mark.parametrize("grams, pounds", US.values())
def test_the_two_columns_of_the_us_table_say_the_same(grams, pounds):
    """The rule rounds pounds to a tenth and grams to tens, so both must come from one value."""
    low, high = (pounds - 0.05) * POUNDS_PER_GALLON_G_PER_L - 5, (pounds + 0.05) * POUNDS_PER_GALLON_G_PER_L + 5
    assert low <= grams <= high


def test_the_eu_table_value_by_value():
    found = {n: (row.category, row.g_per_l, row.water_discounted) for n, row in eu_limits().limits.items()}
    assert found == EU
    assert eu_limits().since == "2007-01-01" and "2004/42/EC annex II B" in eu_limits().source


@pytest.mark.parametrize("table", [us_limits(), eu_limits()], ids=["us", "eu"])
def test_a_table_is_shown_with_its_note(table):
    assert table.stricter.startswith("Your local rule may be stricter")


def from_pounds(name, pounds_per_gallon):
    """A part without water that has so much VOC, in a litre that weighs 1200 g."""
    return MixPart(name, 1.2, pounds_per_gallon * POUNDS_PER_GALLON_G_PER_L / 1200)


def test_published_example_enamel_and_thinner():
    """1 gal of enamel at 2.5 lb/gal and 0.25 gal of thinner at 6.8 lb/gal: 3.36 lb/gal.

    Joseph, "Calculation of VOC in coatings", Metal Finishing Organic Finishing Guidebook (2013), appendix B.
    """
    mix = ready_mix([(from_pounds("enamel", 2.5), 1000), (from_pounds("thinner", 6.8), 250)])
    assert us_voc(mix).g_per_l / POUNDS_PER_GALLON_G_PER_L == pytest.approx(3.36, abs=0.005)


def test_published_example_two_parts_and_water():
    """3 parts at 3.1, 1 part at 1.8 lb/gal and 7 parts of water: 11.1 / 4 = 2.775 lb/gal less water.

    Same source; it prints 2.75 for the last step.
    """
    water = MixPart("water", 0.9982, 1.0, water_share=1.0)
    mix = ready_mix([(from_pounds("A", 3.1), 3000), (from_pounds("B", 1.8), 1000), (water, 7000)])
    assert us_voc(mix).g_per_l / POUNDS_PER_GALLON_G_PER_L == pytest.approx(11.1 / 4, rel=1e-6)
    assert eu_voc(mix, "topcoat").g_per_l == pytest.approx(us_voc(mix).g_per_l)


def test_the_equation_of_59_104_worked_by_hand():
    """A litre of water-borne base: 1010 g, of which 78 % leaves, 65 % is water and 4 % an exempt solvent of 0.79 g/mL.

    Wv = 787.8 g, Ww = 656.5 g, Wec = 40.4 g: VOC 90.9 g. Vw = 656.5/998.2 = 0.657684 L, Vec = 0.0404/0.79 =
    0.0511392 L, so 90.9 g in 0.291177 L: 312.2 g/L. The EU way: (787.8 - 656.5) g in 0.342316 L: 383.6 g/L.
    """
    base = ready_mix([(MixPart("base", 1.01, 0.78, 0.65, 0.04, 0.79), 1000)])
    assert us_voc(base).g_per_l == pytest.approx(312.2, abs=0.05)
    assert eu_voc(base, "topcoat").g_per_l == pytest.approx(383.6, abs=0.05)


def test_multi_stage_average_with_two_clears():
    """40 CFR 59.104(a)(2): (base + midcoats + 2 clear) / (midcoats + 3), the weights from memory.

    The text of the section (July 2003 edition) names the terms, base, midcoats 1 to M and clear; its equation is an
    image. Without midcoats it is (base + 2 clear) / 3, as Kern County rule 410.4A (1995) and others print it.
    """
    base, mid, clear = UsVoc(740), UsVoc(700), UsVoc(420)
    assert us_multi_stage(base, [], clear).g_per_l == pytest.approx((740 + 2 * 420) / 3)
    assert us_multi_stage(base, [mid], clear).g_per_l == pytest.approx((740 + 700 + 2 * 420) / 4)
    assert us_multi_stage(base, [mid, mid], clear).g_per_l == pytest.approx((740 + 2 * 700 + 2 * 420) / 5)
