"""Numbers are everybody's own, always the same, and such that a known mistake never passes for the right answer."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refinishlib.course.draw import MOST_DRAWS, Draw, kept_apart, together
from refinishlib.course.question import Choice, Number, Part, Question, Table
from refinishlib.entry import BadEntry

MASS = Number("mass", "g")
IDS = [f"a{number:03d}" for number in range(50)]


def asked(part: Part) -> tuple[Question, ...]:
    return (Question("1", "a title", "a skill", "text", (part,)),)


def pour(mine: float) -> tuple[Question, ...]:
    """Own weight and reading fall together where the cup was empty; 1 to 5 of ten draws."""
    return asked(Part("own_g", "Own weight", MASS, 2, values={"own": 30.0, "reading": 30.0 + mine}, near=0.5))


@given(st.text(max_size=30))
def test_values_that_fall_together_are_drawn_again_and_always_the_same(seed):
    mine = kept_apart(seed, lambda draw: draw.step(0, 10, 1), pour)
    assert mine == kept_apart(seed, lambda draw: draw.step(0, 10, 1), pour)
    assert mine > 1 and together(pour(mine)[0].parts[0]) is None


def test_a_draw_that_need_not_be_repeated_is_the_first_one():
    for who in IDS:
        first = Draw(who).step(0, 10, 1)
        if first > 1:
            assert kept_apart(who, lambda draw: draw.step(0, 10, 1), pour) == first


def test_a_lesson_without_room_ends_in_a_sentence_and_not_in_a_loop():
    count = []
    with pytest.raises(BadEntry, match='"own" and "reading" as one value of 1 own_g'):
        kept_apart("a07", lambda draw: count.append(1) or 0.0, pour)
    assert len(count) == MOST_DRAWS


@pytest.mark.parametrize(
    ("one", "other", "apart"),
    [(100.0, 101.1, True), (100.0, 100.9, False), ((1.0, 50.0), (1.0, 90.0), True), ((1.0, 50.0), (1.1, 50.2), False)],
)
def test_two_values_are_apart_when_no_entry_is_near_both(one, other, apart):
    form = MASS if isinstance(one, float) else Table(("white", "black"), MASS)
    part = Part("own_g", "Own weight", form, 2, values={"one": one, "other": other}, near=0.1, near_share=0.005)
    assert (together(part) is None) == apart
    words = Part("panel", "Panel", Choice(("a", "b", "c", "d", "e")), 1, values={"one": "a", "other": "a"})
    assert together(words) == ("one", "other")
