"""What the trade does before paint: common practice, no source. Each is named with the question that teaches it."""

import pytest

from refinishlib.course import lessons
from refinishlib.course.keys import key
from refinishlib.course.lessons.surface.job import PADDED, pad_fits
from refinishlib.prep.ladder import skipped
from refinishlib.prep.order import first_violation, good_order, jobs
from refinishlib.prep.scratch import final_scratch, ladder_for

IDS = [f"a{number:02d}" for number in range(30)]
NEW, BLEND = jobs()["new metal part"], jobs()["blend panel"]


def stops(job, task, before):
    """Why a good order of the job does not work any more when one task is moved up to before another."""
    order = [one for one in good_order(job) if one != task]
    order.insert(order.index(before), task)
    return first_violation(job, order).sentence


def said(question, part):
    """All right answers to a part, over many job cards."""
    return {key("surface", whose)[question][part].right for whose in IDS}


def test_clean_before_sanding_and_wider_1_1():
    assert "works the contamination into the scratches" in stops(BLEND, "sand", "degrease")
    [task] = [one for one in BLEND.tasks if one.name == "degrease"]
    assert "wider than you will sand" in task.look and "tape" in task.look
    assert "clean it again, and wider" in said("1.1", "next_step")


def test_rinse_and_blow_dry_rather_than_let_it_dry_1_1():
    follow = BLEND.follows["rinse"]
    assert follow.then == "blow dry" and "dries by itself leaves what it carries" in follow.reason
    assert "water that dries by itself leaves what it carries" in said("1.1", "next_step_reason")


def test_an_unwashed_panel_clogs_the_first_paper_1_1():
    assert "the paper is full of what was not cleaned off" in said("1.1", "next_step_reason")


def test_a_part_is_test_fitted_before_it_is_prepared_and_tacked_last_2_2():
    assert "A part that does not fit goes back" in stops(NEW, "sand", "test fit")
    assert NEW.follows["tack"].then == "sealer"
    [order] = [key("surface", "a01")["2.2"]["order"]]
    assert order.right.index("hang the door to see if it fits") < order.right.index(
        "wipe with cleaner, out round the edges"
    )
    assert order.right[-1] == "last wipe, blow out, then tack"


def test_each_slip_of_an_order_is_found_where_the_key_says_2_1():
    for whose in IDS:
        slip = lessons.job("surface", whose).slip
        assert key("surface", whose)["2.1"]["too_early"].right == slip.wrong.task
        assert slip.order.index(slip.wrong.task) < slip.order.index(slip.wrong.rule.first)


def test_p320_is_the_coarse_end_before_sealer_and_p600_then_p800_before_a_blend_3_3():
    assert final_scratch("sealer wet on wet on a new part").coarsest == "P320"
    assert [one.name for one in ladder_for("blend into old clear", "P240")][-2:] == ["P600", "P800"]
    by_coat = {lessons.job("surface", whose).last_coat: key("surface", whose)["3.3"]["last_paper"] for whose in IDS}
    right = {coat: {one.right, *one.also} for coat, one in by_coat.items()}
    assert right["sealer wet on wet on a new part"] == {"P320", "P400"}
    assert right["blend into old clear"] == {"P600", "P800"}
    assert right["clear only"] == {"P800"}


def test_two_usual_papers_are_never_skipped_3_1():
    for whose in IDS:
        mine = lessons.job("surface", whose)
        assert len(skipped(mine.start, key("surface", whose)["3.1"]["next_paper"].right)) == 1


@pytest.mark.parametrize("coat", PADDED)
def test_a_maroon_pad_before_sealer_and_a_grey_one_before_clear_4_1(coat):
    maroon, grey = ("right", "too fine") if "sealer" in coat else ("too coarse", "right")
    assert (pad_fits(coat, "maroon pad"), pad_fits(coat, "grey pad")) == (maroon, grey)


def test_a_dry_scuff_shows_what_a_wet_one_hides_and_an_even_dull_sheen_is_ready_4_2():
    by_name = {one.name: one for one in BLEND.tasks}
    assert "a first scuff dry shows the bright spots that a wet one hides" in by_name["scuff with paste"].look
    assert "an even dull sheen means ready for paint" in by_name["sand"].look
    assert said("4.2", "what_now") == {"scuff on, there", "rinse, dry, then look", "go on: it is ready"}
