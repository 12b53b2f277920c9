"""For many apprentices: the right answer scores full marks, every known mistake scores what it should and is named."""

import pytest

from refinishlib.course import lessons
from refinishlib.course.key import judge_parts
from refinishlib.course.keys import key
from refinishlib.course.question import Order

IDS = [f"a{number:03d}" for number in range(500)]
FEW = IDS[:25]
MANY = [pytest.param(FEW, id="25 ids"), pytest.param(IDS, id="500 ids", marks=pytest.mark.deep)]


def typed(value):
    """A value as an apprentice would type it: readings to the scale's tenth, lists in square brackets."""
    if isinstance(value, tuple):
        return [typed(v) for v in value]
    if isinstance(value, float):
        return round(value, 1)
    return value


def orders_breaking(rule, tasks, rules):
    """An order in which this rule is the first of the list that is broken."""
    for position in range(len(tasks)):
        order = [task for task in tasks if task != rule.then]
        order.insert(position, rule.then)
        broken = [r for r in rules if order.index(r.first) > order.index(r.then)]
        if broken and broken[0] == rule:
            return order
    raise AssertionError(f"no order shows the mistake {rule.mistake!r}")


@pytest.mark.parametrize("ids", MANY)
@pytest.mark.parametrize("lesson", lessons.names())
def test_right_answers_and_known_mistakes(lesson, ids):
    for whose in ids:
        asked, keys = lessons.questions(lesson, whose), key(lesson, whose)
        assert set(asked) == set(keys)
        for name, question in asked.items():
            right = {part: typed(one.right) for part, one in keys[name].items()}
            verdict = judge_parts(question, keys[name], right)
            assert (verdict.points, verdict.mistakes) == (question.points, ()), (whose, name)
            named = set()
            for part in question.parts:
                one = keys[name][part.name]
                wrong = [(m.name, typed(m.value), m.points) for m in one.mistakes] + [
                    (r.mistake, orders_breaking(r, one.right, one.rules), r.points) for r in one.rules
                ]
                for mistake, value, points in wrong:
                    verdict = judge_parts(question, keys[name], {**right, part.name: value})
                    where = (whose, name, part.name, mistake, value)
                    assert verdict.mistakes == (mistake,), (*where, verdict)
                    with_it = sum(other.points for other in question.parts if other.only_with == part.name)
                    expected = question.points - part.points + (0 if part.only_with else points) - with_it
                    assert verdict.points == pytest.approx(expected), where
                    assert points < part.points, where
                    named.add(mistake)
            assert len(named) >= 3, (name, named)


@pytest.mark.parametrize("ids", MANY)
@pytest.mark.parametrize("lesson", lessons.names())
def test_no_mistake_lies_near_the_right_answer(lesson, ids):
    for whose in ids:
        for name, question in lessons.questions(lesson, whose).items():
            for part in question.parts:
                one = key(lesson, whose)[name][part.name]
                if isinstance(one.right, float):
                    for mistake in one.mistakes:
                        assert abs(mistake.value - one.right) > 2 * one.tolerance, (whose, name, mistake.name)


@pytest.mark.parametrize("ids", MANY)
def test_everybody_has_numbers_of_their_own(ids):
    assert len({repr(lessons.job("mixing", whose)) for whose in ids}) == len(ids)


@pytest.mark.parametrize("lesson", lessons.names())
def test_the_sentences_never_give_the_right_value_away(lesson):
    for whose in FEW:
        for name, question in lessons.questions(lesson, whose).items():
            for part in question.parts:
                one = key(lesson, whose)[name][part.name]
                for mistake in one.mistakes:
                    if isinstance(one.right, float):
                        assert f"{one.right:.0f}" not in mistake.sentence and f"{one.right:.1f}" not in mistake.sentence
                    elif isinstance(one.right, str):
                        assert one.right not in mistake.sentence, (name, mistake.sentence)


@pytest.mark.parametrize("lesson", lessons.names())
def test_an_order_question_lists_its_tasks_but_not_in_an_order_that_works(lesson):
    for name, question in lessons.questions(lesson, "demo").items():
        for part in question.parts:
            if isinstance(part.form, Order):
                shown = sorted(part.form.tasks, key=question.text.index)
                verdict = judge_parts(question, key(lesson, "demo")[name], {part.name: shown})
                assert verdict.points < question.points
