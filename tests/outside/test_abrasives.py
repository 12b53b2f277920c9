"""Abrasive grades against the published tables."""

import pytest

from refinishlib.prep.grades import convert, grade, grades

# ISO 6344-2 (1998, same in 2021), macrogrits: mean grain size, um; ISO 6344-3 (1998, 2013), microgrits: d50, um.
# As reprinted in tables of coated abrasives that are open to everybody (two of them compared).
ISO_6344 = {
    "P12": 1815, "P16": 1324, "P20": 1000, "P24": 764, "P30": 642, "P36": 538, "P40": 425, "P50": 336, "P60": 269,
    "P80": 201, "P100": 162, "P120": 125, "P150": 100, "P180": 82, "P220": 68,
    "P240": 58.5, "P280": 52.2, "P320": 46.2, "P360": 40.5, "P400": 35.0, "P500": 30.2, "P600": 25.8, "P800": 21.8,
    "P1000": 18.3, "P1200": 15.3, "P1500": 12.6, "P2000": 10.3, "P2500": 8.4,
}  # fmt: skip

# What three open grit tables say of the grades that ISO 6344-3:2021 adds, um; the standard's own were not at hand. The
# first, for metallography, is right in every grade up to P2500. The second, too, is for metallography and in whole
# micrometres, the third for polishing clay.
FINEST = [{"P3000": 6.5, "P4000": 5.0, "P5000": 4.0}, {"P3000": 6, "P4000": 5}, {"P4000": 5}]

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


def test_the_whole_fepa_table_of_iso_6344():
    assert {g.name: g.grain_um for g in grades("P").values() if g.name not in FINEST[0]} == ISO_6344


def test_gnu_units_has_the_same_table(units):
    """Its definitions say that they come from the web page of the federation whose grades ISO 6344 took over."""
    assert {name: units(f"grit_P({name[1:]})", "um") for name in ISO_6344} == ISO_6344


def test_the_grades_that_part_3_of_2021_adds():
    assert list(grades("P"))[-4:] == ["P2500", "P3000", "P4000", "P5000"]
    for table in FINEST:
        for name, grain_um in table.items():
            assert grade(name).grain_um == pytest.approx(grain_um, abs=0.5)
    for name, grain_um in FINEST[0].items():
        assert grade(name).grain_um == grain_um
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
