"""Grades and their conversion."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refinishlib.entry import BadEntry
from refinishlib.prep.grades import convert, grade, grades, pads, same_number
from refinishlib.sources import is_source

EVERY = [*grades("P").values(), *grades("CAMI").values()]


@pytest.mark.parametrize("scale", ["P", "CAMI"])
def test_a_higher_number_is_always_finer(scale):
    for coarse, fine in pairwise(grades(scale).values()):
        assert int(coarse.name.lstrip("P")) < int(fine.name.lstrip("P"))
        assert coarse.grain_um > fine.grain_um


def test_every_grade_says_where_its_grain_comes_from():
    assert all(is_source(g.source) for g in EVERY)
    assert {g.name for g in EVERY if g.source.startswith("teaching value")} == {"P3000", "P4000", "P5000"}


@given(st.sampled_from(EVERY))
def test_a_conversion_lies_between_its_neighbours(here):
    found = convert(here.name)
    others = grades("CAMI" if here.scale == "P" else "P").values()
    assert found.nearest in (found.coarser, found.finer)
    assert found.nearest == min(others, key=lambda g: max(g.grain_um / here.grain_um, here.grain_um / g.grain_um))
    if found.coarser:
        assert found.coarser.grain_um == min(g.grain_um for g in others if g.grain_um >= here.grain_um)
    if found.finer:
        assert found.finer.grain_um == max(g.grain_um for g in others if g.grain_um <= here.grain_um)
    assert (found.coarser is None) == all(g.grain_um < here.grain_um for g in others)
    assert (found.finer is None) == all(g.grain_um > here.grain_um for g in others)


def test_the_same_number_is_a_finer_paper_on_the_cami_scale_from_240_on():
    for name, cami in grades("CAMI").items():
        if f"P{name}" in grades("P"):
            ratio = grade(f"P{name}").grain_um / cami.grain_um
            assert ratio > 1.1 if int(name) >= 240 else 0.9 < ratio < 1.2
            assert ("agree" in same_number(name)) == (ratio == 1)


def test_pads_stand_for_papers_that_exist():
    for pad in pads().values():
        assert grade(pad.coarsest).grain_um >= grade(pad.finest).grain_um
        assert pad.source.startswith("common practice, no source")
    assert (pads()["maroon pad"].coarsest, pads()["maroon pad"].finest) == ("P320", "P400")
    assert pads()["grey pad"].coarsest == "P800"


@pytest.mark.parametrize("name", ["P700", "p600", "601", "", 600, None, float("nan"), ["P600"]])
def test_a_grade_that_does_not_exist_is_refused_with_those_that_do(name):
    with pytest.raises(BadEntry, match=r"^grade: .* was given, allowed are P12, P16, .*, 1000\.$"):
        grade(name)


@pytest.mark.parametrize("number", ["P600", "16", "1200"])
def test_a_number_that_only_one_scale_has_has_no_counterpart(number):
    with pytest.raises(BadEntry, match=r"^number: "):
        same_number(number)
