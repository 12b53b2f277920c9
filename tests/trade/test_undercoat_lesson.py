"""What the trade does about the ground, common practice, no source. Each is named with the question that teaches it."""

from refinishlib.colour.conditions import COAT_UM
from refinishlib.colour.tolerance import EDGE
from refinishlib.course import lessons
from refinishlib.course.keys import key
from refinishlib.course.lessons.undercoat import figures
from refinishlib.course.lessons.undercoat.guesses import GUESSES
from refinishlib.course.lessons.undercoat.job import coats, off_cleared, ruling

IDS = [f"a{number:02d}" for number in range(30)]
SHOP = lessons.record("undercoat").shop


def said(question, part):
    """All right answers to a part, over many job cards."""
    return {key("undercoat", whose)[question][part].right for whose in IDS}


def test_a_transparent_blue_needs_up_to_three_coats_over_a_middle_grey_and_more_over_a_light_one_1_1():
    blue = SHOP.colour(figures.BLUE)
    assert coats(blue, figures.MIDDLE, COAT_UM) <= 3 < coats(blue, figures.LIGHT, COAT_UM)
    assert min(said("1.1", "coats")) >= 3


def test_coats_are_stopped_when_nobody_sees_the_ground_1_2():
    assert said("1.2", "enough") == {"go on to clear", "one more coat"}


def test_a_middle_grey_is_better_under_a_transparent_colour_than_a_dark_or_a_light_one_2_1():
    assert GUESSES["grey"].outcome(SHOP)[0] == "a middle grey"
    for whose in IDS:
        mine, right = lessons.job("undercoat", whose), key("undercoat", whose)["2.1"]["grey"].right
        taken = mine.shelf[["grey A", "grey B", "grey C", "grey D"].index(right)]
        assert min(mine.shelf) < taken < max(mine.shelf)


def test_a_card_on_another_grey_than_the_job_misleads_and_is_sprayed_again_3_1():
    for whose in IDS:
        mine = lessons.job("undercoat", whose)
        right = key("undercoat", whose)["3.1"]["this_card"].right
        assert (right == "judge this card") == (ruling(mine.sprayed).verdict == EDGE)
    assert "a new card, on the job's grey" in said("3.1", "this_card")


def test_an_uncleared_card_misleads_and_one_wet_with_solvent_still_does_4_1():
    red = SHOP.colour(figures.RED)
    assert off_cleared(red, "bare") > off_cleared(red, "wiped") > 1 > off_cleared(red, "cleared") == 0
    for whose in IDS:
        bare = lessons.job("undercoat", whose).look != "cleared"
        assert (key("undercoat", whose)["4.1"]["look"].right == "put clear on it first") == bare


def test_a_sealer_is_ready_when_it_is_dull_and_the_sheets_time_is_over_5_2():
    assert said("5.2", "colour_on") == {"wait", "spray the colour", "sand it first"}
    for whose in IDS:
        state = lessons.job("undercoat", whose).waiting.state
        assert (key("undercoat", whose)["5.2"]["colour_on"].right == "spray the colour") == (state == "ready")
