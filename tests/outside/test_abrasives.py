"""Abrasive grades against the published tables."""

import pytest

from refinishlib.prep.grades import convert, grade, grades

# CAMI (PS 8-67; ANSI B74.18-1996), average grain size, um, as reprinted in open tables (two compared); 280 from
# memory (open charts of CAMI say 42 and 45.8).
CAMI = {
    "24": 708, "30": 632, "36": 530, "40": 425, "50": 348, "60": 265, "80": 190, "100": 140, "120": 115, "150": 92,
    "180": 82, "220": 68, "240": 53.0, "280": 44.0, "320": 36.0, "360": 28.0, "400": 23.0, "500": 20.0, "600": 16.0,
    "800": 12.6, "1000": 10.3,
}  # fmt: skip

# A trade chart of CAMI beside P that was made for wood finishing, independent of the tables above: the P grade that
# stands in the line of a CAMI grade. (It puts 500 beside P1000; by grain P800 is as near, within half a percent.)
CHART = {"180": "P180", "220": "P220", "240": "P280", "320": "P400", "400": "P800", "600": "P1200"}


def test_the_whole_fepa_table(units):
    """P12 to P2500 against GNU units, whose table comes from the page of the federation whose grades ISO 6344 took."""
    ours = {name: g.grain_um for name, g in grades("P").items() if g.grain_um >= 8.4}
    assert len(ours) == 28
    assert {name: units(f"grit_P({name[1:]})", "um") for name in ours} == ours


def test_the_grades_that_part_3_of_2021_adds():
    """ISO 6344-3:2021, "Microgrit sizes P240 to P5000". The standard's own sizes were not at hand.

    An open grit table for metallography that is right in every grade up to P2500 goes on with 6.5, 5.0 and 4.0 um. A
    second, in whole micrometres, has 6 and 5 and stops there. A third, for polishing clay, has 5 for P4000.
    """
    assert {g.name: g.grain_um for g in grades("P").values() if g.grain_um < 8.4} == {
        "P3000": 6.5,
        "P4000": 5.0,
        "P5000": 4.0,
    }
    for name in ("P3000", "P4000", "P5000"):
        assert grade(name).source.startswith("teaching value: ISO 6344-3:2021")


def test_the_cami_table():
    assert {g.name: g.grain_um for g in grades("CAMI").values()} == CAMI


def test_cami_600_lies_between_p1000_and_p1200():
    found = convert("600")
    assert (found.coarser.name, found.finer.name) == ("P1000", "P1200")
    assert grade("P1000").grain_um > grade("600").grain_um > grade("P1200").grain_um


def test_p800_is_the_nearest_p_grade_below_cami_400():
    assert convert("400").finer.name == "P800"


@pytest.mark.parametrize("cami, fepa", CHART.items())
def test_conversion_agrees_with_a_trade_chart(cami, fepa):
    assert convert(cami).nearest.name == fepa
