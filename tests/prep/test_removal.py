"""The stock removal model and the burn-through estimate."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refinishlib.entry import BadEntry
from refinishlib.prep.grades import grade, grades
from refinishlib.prep.removal import (
    LEAVES_OUT,
    burn_through,
    how_far_out,
    passes_to_clear,
    removed_um,
    scratch_depth_um,
)
from refinishlib.prep.scratch import machines, zones

GRAIN = st.floats(1, 2000)
PRESSURE = st.floats(2, 50)
PASSES = st.integers(1, 200)
MACHINE = st.sampled_from(list(machines()))
ZONE = st.sampled_from(list(zones()))


@settings(max_examples=40)
@given(GRAIN, PRESSURE, PASSES, MACHINE, ZONE, st.booleans(), st.floats(1.01, 10))
def test_removal_is_in_proportion_to_grain_pressure_and_passes(grain, pressure, passes, machine, zone, pad, times):
    settings = {"machine": machine, "zone": zone, "interface_pad": pad}
    once = removed_um(grain, pressure_kpa=pressure, passes=passes, **settings)
    assert removed_um(grain, pressure_kpa=pressure, passes=passes * times, **settings) == pytest.approx(once * times)
    assert removed_um(grain, pressure_kpa=pressure * 2, passes=passes, **settings) == pytest.approx(once * 2)
    if grain * times <= 2000:
        assert removed_um(grain * times, pressure_kpa=pressure, passes=passes, **settings) == pytest.approx(
            once * times
        )
    assert removed_um(grain, pressure_kpa=pressure, passes=passes, machine=machine, zone=zone) >= once


@settings(max_examples=40)
@given(GRAIN, MACHINE, st.floats(1.01, 10))
def test_coarser_scratches_deeper(grain, machine, times):
    depth = scratch_depth_um(grain, machine=machine)
    assert depth < scratch_depth_um(min(2000, grain * times), machine=machine) or grain * times > 2000
    assert 0 < scratch_depth_um(grain, machine=machine, interface_pad=True) < depth < grain


def test_arrays_go_through_with_their_shape():
    grain = np.array([g.grain_um for g in grades("P").values()])
    assert scratch_depth_um(grain).shape == grain.shape
    both = removed_um(grain[:, None], passes=np.arange(5))
    assert both.shape == (len(grain), 5)
    assert both[3, 4] == pytest.approx(float(removed_um(grain[3], passes=4)))


SAFE_UM = 40  # what a finished film keeps, common practice


@settings(max_examples=60)
@given(
    st.floats(0, 200), st.sampled_from(["P800", "P1000", "P1500", "P2000", "P3000"]), PRESSURE, MACHINE, st.booleans()
)
def test_after_the_last_pass_a_limit_holds_and_one_more_breaks_it(clear, name, pressure, machine, pad):
    grain = grade(name).grain_um
    settings = {"pressure_kpa": pressure, "machine": machine, "interface_pad": pad}
    deep = float(scratch_depth_um(grain, machine=machine, interface_pad=pad))
    for zone, found in burn_through(clear, name, **settings).items():
        assert found.clear_um == pytest.approx(clear * zones()[zone].film)
        for passes, keep in ((found.thin_passes, SAFE_UM), (found.through_passes, 0)):
            left = found.clear_um - deep - removed_um(grain, passes=passes, zone=zone, **settings)
            one_more = found.clear_um - deep - removed_um(grain, passes=passes + 1, zone=zone, **settings)
            assert left >= keep - 1e-9 or passes == 0
            assert one_more < keep + 1e-9


@settings(max_examples=30)
@given(st.floats(0, 500), st.floats(0, 500), st.sampled_from(list(grades("P"))))
def test_an_edge_goes_through_first_and_more_clear_lasts_longer(thin, thick, name):
    thin, thick = sorted((thin, thick))
    less, more = burn_through(thin, name), burn_through(thick, name)
    for zone in zones():
        assert less[zone].thin_passes <= more[zone].thin_passes <= more[zone].through_passes
        assert less[zone].through_passes <= more[zone].through_passes
        assert more[zone].by_hand == (zone == "edge")
    for limit in ("thin_passes", "through_passes"):
        assert getattr(more["edge"], limit) <= getattr(more["crown"], limit) <= getattr(more["flat"], limit)
    assert more["edge"].per_pass_um > more["crown"].per_pass_um > more["flat"].per_pass_um


def test_one_coat_of_clear_can_be_sanded_for_a_blend_because_more_clear_follows():
    """0 passes were given at every edge, since 35 um of clear were below the finished 40 before anybody sanded."""
    one_coat = burn_through(28, "P800")
    assert one_coat["flat"].passes(more_clear=False) == 0
    assert all(zone.passes(more_clear=True) > 3 for zone in one_coat.values())
    edge = burn_through(50, "P600", machine="3/16 in")["edge"]
    assert edge.clear_um == 35 and edge.passes(more_clear=False) == 0 and edge.passes(more_clear=True) == 4


@settings(max_examples=40)
@given(st.floats(0, 120), st.booleans(), st.integers(1, 20), MACHINE, st.booleans())
def test_a_finer_paper_goes_at_least_as_far_out_and_never_cuts_deeper(clear, more_clear, passes, machine, pad):
    names = ["P320", "P500", "P600", "P800", "P1000", "P1500"]
    settings = {"machine": machine, "interface_pad": pad}
    found = how_far_out(clear, names, more_clear=more_clear, passes=passes, **settings)
    assert [reach.grade for reach in found] == names
    for coarse, fine in pairwise(found):
        assert set(coarse.zones) <= set(fine.zones) <= {"flat", "crown"}
        assert coarse.keep_off_mm > fine.keep_off_mm or fine.keep_off_mm == 10
        cut = [float(removed_um(grade(one.grade).grain_um, passes=passes, **settings)) for one in (coarse, fine)]
        assert cut[0] > cut[1]
    for zone in ("flat", "crown"):  # whatever they take together, none of them is through
        worked = [reach.grade for reach in found if zone in reach.zones]
        taken = sum(float(removed_um(grade(n).grain_um, passes=passes, zone=zone, **settings)) for n in worked)
        keep = 0 if more_clear else SAFE_UM
        assert not worked or clear * zones()[zone].film - taken >= keep - 1e-9


def test_a_coarser_paper_and_a_longer_stroke_leave_fewer_passes():
    passes = [burn_through(90, name)["flat"].thin_passes for name in ("P800", "P1000", "P1500", "P2000", "P3000")]
    assert passes == sorted(passes)
    assert (
        burn_through(90, "P1500", machine="3/16 in")["flat"].thin_passes < burn_through(90, "P1500")["flat"].thin_passes
    )


def test_a_worked_example_by_hand():
    """P1500 (12.6 um) at the reference: 0.5 um a pass, scratch 0.15 x 12.6 = 1.89 um.

    60 um of clear, 40 um to keep: 18.11 um to spare on the flat, 36 passes. Crown: 54 - 40 - 1.89 = 12.11 um at 0.8 um
    a pass, 15 passes. Edge: 42 - 40 - 1.89 = 0.11 um at 1.5 um a pass, none.
    """
    found = burn_through(60, "P1500")
    assert [found[zone].thin_passes for zone in ("flat", "crown", "edge")] == [36, 15, 0]
    # through: 58.11 um in halves, 52.11 in 0.8, 40.11 in 1.5
    assert [found[zone].through_passes for zone in ("flat", "crown", "edge")] == [116, 65, 26]
    assert found["flat"].scratch_um == pytest.approx(1.89)
    assert [found[zone].per_pass_um for zone in ("flat", "crown", "edge")] == pytest.approx([0.5, 0.8, 1.5])


def test_a_thumb_s_width_with_p800_and_in_proportion_to_the_grain():
    """Teaching value: 20 mm with the 21.8 um of P800, so 42 mm with the 46.2 of P320, and never below 10."""
    found = how_far_out(200, ["P320", "P800", "P3000"], more_clear=True)
    assert [reach.keep_off_mm for reach in found] == pytest.approx([20 * 46.2 / 21.8, 20, 10])


def test_a_soft_pad_takes_a_fifth_less_and_scratches_a_fifth_less_deep():
    """Teaching values, by hand: 12.6 um at the reference cut 0.5 um a pass, scratch 1.89; with a pad 0.4, 1.512."""
    assert removed_um(12.6, interface_pad=True) == pytest.approx(0.4)
    assert scratch_depth_um(12.6, interface_pad=True) == pytest.approx(1.512)
    assert removed_um(12.6, machine="3/16 in") == pytest.approx(1.0)
    assert scratch_depth_um(12.6, machine="3/16 in") == pytest.approx(1.89 * 1.3)
    assert removed_um(12.6, machine="hand") == pytest.approx(0.2)


def test_the_model_says_what_it_leaves_out():
    assert all(word in LEAVES_OUT for word in ("wear", "pressure", "heat", "runs", "orange peel", "Gauge the film"))


def test_skipping_a_grade_costs_passes_and_the_passes_take_out_the_scratch():
    for coarse, fine in (("P180", "P320"), ("P320", "P500"), ("P800", "P1500")):
        passes = passes_to_clear(coarse, fine)
        depth = float(scratch_depth_um(grade(coarse).grain_um))
        taken = removed_um(grade(fine).grain_um, passes=passes)
        assert depth <= taken < depth + removed_um(grade(fine).grain_um)
    finer = [passes_to_clear("P180", name) for name in ("P240", "P320", "P500", "P800", "P1500")]
    assert finer == sorted(finer) and finer[0] < finer[-1]
    assert passes_to_clear("P180", "P320", machine="3/16 in") < passes_to_clear("P180", "P320")


@pytest.mark.parametrize(
    "call, sentence",
    [
        (lambda: burn_through(-3, "P1500"), "clear: -3 was given, allowed is a number from 0 to 2000 um."),
        (lambda: burn_through(math.nan, "P1500"), "clear: nan was given"),
        (lambda: burn_through(60, "P1501"), "grade: 'P1501' was given"),
        (lambda: burn_through(60, "P1500", pressure_kpa=0), "pressure: 0 was given, allowed is a number above 0"),
        (lambda: burn_through(60, "P1500", machine="belt"), "machine: 'belt' was given, allowed are 3/16 in, 3/32 in"),
        (lambda: burn_through(60, "P1500", safe_um=-1), "least clear of a finished film: -1 was given"),
        (lambda: how_far_out(60, ["P1501"], more_clear=True), "grade: 'P1501' was given"),
        (lambda: how_far_out(60, ["P800"], more_clear=True, passes=0), "passes: 0 was given"),
        (lambda: removed_um(12.6, passes=-1), "passes: -1 was given"),
        (lambda: removed_um(12.6, zone="roof"), "zone: 'roof' was given, allowed are flat, crown, edge."),
        (lambda: scratch_depth_um([12.6, math.inf]), "grain: inf was given"),
        (lambda: passes_to_clear("P80", "P81"), "grade: 'P81' was given"),
        (lambda: passes_to_clear("P80", "P180", pressure_kpa=-2), "pressure: -2 was given"),
    ],
)
def test_bad_entries_are_refused_in_one_sentence(call, sentence):
    with pytest.raises(BadEntry) as caught:
        call()
    assert str(caught.value).startswith(sentence)
