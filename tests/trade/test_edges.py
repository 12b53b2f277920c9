"""What the trade does at edges and with thin film: common practice, no source. Each names its question or picture."""

import pytest

from refinishlib.course import lessons
from refinishlib.course.guess import guesses
from refinishlib.course.keys import key
from refinishlib.course.lessons.edges.job import CutThrough, asked_for
from refinishlib.prep.order import jobs
from refinishlib.prep.removal import how_far_out, removed_um, scratch_depth_um
from refinishlib.prep.scratch import final_scratch, ways_to_sand

IDS = [f"a{number:02d}" for number in range(40)]
SHOP = lessons.record("edges").shop
FIRST = {"clear": "clear", "colour": "colour", "primer": "sealer", "bare": "primer, as its sheet says"}


def happens(name):
    return guesses("edges")[name].outcome(SHOP)[0]


def test_the_long_stroke_cuts_faster_and_the_short_one_leaves_the_finer_scratch_picture_stroke():
    long, short = "3/16 in", "3/32 in"
    assert removed_um(25.8, machine=long) > removed_um(25.8, machine=short)
    assert scratch_depth_um(25.8, machine=long) > scratch_depth_um(25.8, machine=short)
    assert happens("stroke") == "more"


def test_under_silver_the_short_stroke_under_sealer_on_a_solid_both_1_1():
    for whose in IDS:
        one, right = lessons.job("edges", whose).mover, key("edges", whose)["1.1"]["mover"]
        accepted = {right.right, *right.also}
        if one.zone == "edge":
            assert accepted == {"a pad, by hand"}
        elif one.colour == "silver":
            assert accepted == {"the 3/32 inch orbit"}
        elif "sealer" in one.coat:
            assert accepted == {"the 3/16 inch orbit", "the 3/32 inch orbit"}


def test_a_soft_pad_lies_between_machine_and_paper_on_a_blend_and_a_hand_is_light_and_even():
    assert all(way.interface_pad for way in ways_to_sand("blend into old clear", colour="dark solid"))
    [sand] = [task for task in jobs()["blend panel"].tasks if task.name == "sand"]
    assert "a light, even hand on the machine, and lift off before the edge" in sand.look
    assert "peel is dulled, not levelled" in sand.look


def test_the_finer_paper_goes_further_out_and_the_coarser_is_kept_off_the_edges_2_2():
    coarse, fine = how_far_out(60, final_scratch("blend into old clear").grades, more_clear=True)
    assert (coarse.grade, fine.grade) == ("P600", "P800") and coarse.keep_off_mm > fine.keep_off_mm
    assert {key("edges", whose)["2.2"]["on_the_crown"].right for whose in IDS} == {
        "both papers",
        "P800 only",
        "none of them",
    }


def test_the_edge_is_through_long_before_the_flat_pictures_edge_and_flat():
    assert (happens("edge"), happens("flat")) == ("far fewer", "no: it is through")


def test_dull_is_enough_and_the_last_dots_are_dulled_by_hand_3_2():
    right = {lessons.job("edges", whose).seen: key("edges", whose)["3.2"]["what_now"].right for whose in IDS}
    assert right == {
        "mostly bright": "go on with the machine",
        "dull with bright dots": "stop, and pad the dots by hand",
        "dull, and peel is felt": "stop: it is ready",
    }


@pytest.mark.parametrize(("into", "first"), FIRST.items())
def test_through_to_the_colour_asks_for_colour_through_to_the_primer_for_sealer_first_4_2(into, first):
    keys = {
        key("edges", one)["4.2"]["sprayed_first"].right for one in IDS if lessons.job("edges", one).first.into == into
    }
    assert keys == {first}


def test_an_edge_cut_through_drags_colour_to_the_next_panel_and_bill_and_clock_show_it_4_1_4_3():
    slip = asked_for(SHOP, CutThrough("left rear door", "left quarter panel", 0.0, 0.4, "colour"), {})
    assert [one.panel for one in slip.panels if "colour" in one.needs] == ["left rear door", "left quarter panel"]
    assert "left roof side" in {one.panel for one in slip.panels if one.needs == ("clear",)}
    assert slip.added.money > 0 and slip.added.work_min > 0
    far = asked_for(SHOP, CutThrough("left rear door", "left quarter panel", 0.5, 0.4, "colour"), {})
    assert [one.panel for one in far.panels] == ["left rear door"]
    assert happens("price") == "more than one"
