"""Marking compares; it never raises for what was typed and always ends in a plain float within the points."""

import math

from hypothesis import given, settings
from hypothesis import strategies as st

from refinishlib.course.key import Before, Mistake, PartKey, judge_parts, same
from refinishlib.course.question import Choice, Chosen, Number, Order, Part, Question, Table, decision

MASS = Number("mass", "g")
QUESTION = Question(
    "1",
    "a title",
    "a skill",
    "text",
    (
        Part("own_g", "Own weight", MASS, 2),
        Part("panel", "Which panel", Choice(("hood", "wing", "left door", "right door", "roof")), 1),
        Part("tools", "Tools", Chosen(("scale", "cup", "stick")), 1),
        Part("order", "Order of work", Order(("stir", "tare", "pour")), 2),
        Part("readings", "Readings", Table(("white", "black"), MASS), 2),
    ),
)
KEY = {
    "own_g": PartKey(41.7, 0.15, (Mistake("cumulative", 90.0, 0.5, "That is what the scale shows in all."),)),
    "panel": PartKey("left door"),
    "tools": PartKey(frozenset({"scale", "cup"})),
    "order": PartKey(
        ("stir", "tare", "pour"),
        rules=(
            Before(
                "stir", "pour", "poured unstirred", 1, "Pigment lies on the ground of the tin: stir before you pour."
            ),
            Before("tare", "pour", "forgot the cup", 0, "The cup has a weight: tare it first."),
        ),
    ),
    "readings": PartKey((30.0, 45.0), 0.15, (Mistake("own weights", (30.0, 15.0), 0.5, "These are own weights."),)),
}
RIGHT = {
    "own_g": "41.7 g",
    "panel": "Left-Door",
    "tools": ["cup", "scale"],
    "order": ["tare", "stir", "pour"],
    "readings": {"black": 45, "white": 30},
}


def test_right_answers_earn_everything_in_any_form_that_is_allowed():
    verdict = judge_parts(QUESTION, KEY, RIGHT)
    assert (verdict.points, verdict.mistakes) == (8.0, ())
    assert judge_parts(QUESTION, KEY, {**RIGHT, "own_g": 6 * 6.95}).points == 8.0


def test_a_known_mistake_is_named_and_earns_its_points():
    wrong = {**RIGHT, "own_g": 90, "order": ["pour", "stir", "tare"], "readings": [30, 15]}
    verdict = judge_parts(QUESTION, KEY, wrong)
    assert verdict.mistakes == ("cumulative", "poured unstirred", "own weights")
    assert verdict.points == 0.5 + 1 + 1 + 1 + 0.5
    assert any("Pigment" in sentence for sentence in verdict.sentences)


def test_a_table_earns_by_the_row():
    assert judge_parts(QUESTION, KEY, {**RIGHT, "readings": [30, 99]}).points == 7.0


def test_unanswered_parts_earn_nothing_and_say_so():
    verdict = judge_parts(QUESTION, KEY, {})
    assert verdict.points == 0.0
    assert set(verdict.mistakes) == {"not answered"}


ANYTHING = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=20)
    | st.just(...)
    | st.complex_numbers(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)


@settings(max_examples=200, deadline=None)
@given(st.fixed_dictionaries({part.name: ANYTHING for part in QUESTION.parts}))
def test_whatever_was_typed_the_points_are_a_plain_float_in_range(answers):
    verdict = judge_parts(QUESTION, KEY, answers)
    assert type(verdict.points) is float
    assert math.isfinite(verdict.points) and 0 <= verdict.points <= verdict.max_points
    assert len(verdict.sentences) == len(QUESTION.parts)


def test_a_value_at_the_very_edge_of_its_tolerance_is_right_and_one_past_it_is_not():
    # 0.1 + 0.2 is not 0.3 to a computer, which is no slip of an apprentice.
    assert same(0.1 + 0.2, 0.3, 0) and not same(0.3001, 0.3, 0)
    assert same(41.85, 41.7, 0.15) and same(41.55, 41.7, 0.15) and not same(41.86, 41.7, 0.15)


def test_a_further_right_answer_earns_as_much_as_the_first():
    key = {**KEY, "panel": PartKey("left door", also=("right door",))}
    for panel, points in (("left door", 8.0), ("right door", 8.0), ("roof", 7.0)):
        assert judge_parts(QUESTION, key, {**RIGHT, "panel": panel}).points == points


DECIDED = Question(
    "2",
    "a title",
    "a skill",
    "text",
    decision("act", "What you do", ("rescue", "leave"), ("it shows", "it does not show"), why="Why", points=1),
)
RULING = {"act": PartKey("rescue"), "act_reason": PartKey("it shows")}


def test_one_of_two_options_earns_only_with_its_reason_and_the_reason_only_with_it():
    both = judge_parts(DECIDED, RULING, {"act": "rescue", "act_reason": "it shows"})
    assert both.points == 3.0
    guessed = judge_parts(DECIDED, RULING, {"act": "rescue", "act_reason": "it does not show"})
    assert guessed.points == 0.0 and any("counts only with its right reason" in said for said in guessed.sentences)
    assert judge_parts(DECIDED, RULING, {"act": "leave", "act_reason": "it shows"}).points == 0.0


def test_an_answer_of_another_form_is_flagged_and_a_wrong_one_is_not():
    assert judge_parts(QUESTION, KEY, {**RIGHT, "own_g": "plenty"}).flags == ("cannot be read",)
    assert judge_parts(QUESTION, KEY, {**RIGHT, "own_g": 12}).flags == ()


def test_no_mistake_of_a_key_lifts_a_question_above_its_points():
    generous = {**KEY, "own_g": PartKey(41.7, 0.15, (Mistake("cumulative", 90.0, 50.0, "Too kind."),))}
    assert judge_parts(QUESTION, generous, {**RIGHT, "own_g": 90}).points == QUESTION.points
