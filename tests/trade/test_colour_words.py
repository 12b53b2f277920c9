"""What painters say about toners: common practice, no source. Each a case that the engine must bear out."""

from paints import SHOP

from refinishlib.colour import effects

SILVER = SHOP.picked("medium silver", "soft black", "deep blue"), [92.0, 3.0, 5.0]
WHITE = SHOP.picked("white", "yellow oxide", "soft black"), [97.0, 2.0, 1.0]


def effect(paint, name):
    toners, masses = paint
    return next(e for e in effects.chart(toners, masses, others=SHOP.picked(name)) if e.toner.name == name)


def test_coarser_flake_is_brighter_in_the_face_and_darker_in_the_flop_than_a_finer_one():
    coarse, fine = effect(SILVER, "coarse silver").shift, effect(SILVER, "fine silver").shift
    assert coarse[0, 0] > fine[0, 0] and coarse[-1, 0] < fine[-1, 0]


def test_white_in_a_metallic_dulls_the_face_and_lifts_the_flop():
    shift = effect(SILVER, "white").shift
    assert shift[0, 0] < 0 < shift[-1, 0]


def test_a_solid_that_is_a_touch_too_light_takes_a_little_black():
    black = effect(WHITE, "soft black")
    assert "darker" in black.words[0]
    # Less than a gram in a cup of 100 g for a step that an eye sees, where white would need dozens.
    assert black.grams_for_one < 1.0 and effect(WHITE, "white").grams_for_one > 20 * black.grams_for_one


def test_a_blue_toner_in_a_silver_pulls_the_flop_more_than_a_small_part_of_the_face():
    shift = effect(SILVER, "deep blue").shift
    assert shift[-1, 2] < 0 and shift[0, 0] < 0
