"""Practice tells right from wrong at once, shows the working when it was wrong, and never runs out."""

from itertools import islice

import pytest

from refinishlib.course import lessons
from refinishlib.course.practice import drills, practise, problems, verdict
from refinishlib.entry import BadEntry

SHOP = lessons.record("mixing").shop
DRILLS = [(lesson, drill) for lesson in lessons.names() for drill in drills(lesson)]


@pytest.mark.parametrize(("lesson", "drill"), DRILLS, ids=[f"{lesson}: {drill.title}" for lesson, drill in DRILLS])
def test_problems_are_fresh_and_their_verdicts_hold(lesson, drill):
    row = list(islice(problems(drill, "test", SHOP), 60))
    assert len({problem.text for problem in row}) > 50
    for problem in row:
        right, sentences = verdict(problem, f"{problem.key.right:.1f} {problem.part.form.unit}")
        assert right, (problem.text, problem.key.right)
        wrong, sentences = verdict(problem, f"{problem.key.right * 1.2:.2f}")
        assert not wrong and len(sentences) > 1
        # The working ends in the right answer.
        assert f"{problem.key.right:.1f}" in sentences[-1]


def test_an_entry_of_the_wrong_form_is_a_sentence_not_a_verdict():
    problem = next(problems(DRILLS[0][1], "test", SHOP))
    with pytest.raises(BadEntry, match="Your answer"):
        verdict(problem, "a bit")


def _part(sheet, kind, text):
    found = [w for w in _walk(sheet) if type(w).__name__ == kind and text in getattr(w, "description", "")]
    assert len(found) == 1, (kind, text, found)
    return found[0]


def _walk(widget):
    yield widget
    for child in getattr(widget, "children", ()):
        yield from _walk(child)


def test_the_sheet_keeps_what_was_typed_and_counts_first_tries_only():
    sheet = practise("mixing", start="test")
    answer, check, again = (
        _part(sheet, "Text", "Your answer"),
        _part(sheet, "Button", "Check"),
        _part(sheet, "Button", "Next"),
    )
    first = next(problems(DRILLS[0][1], "test", SHOP))

    def said():
        return " ".join(w.value for w in _walk(sheet) if type(w).__name__ == "HTML")

    assert first.text in said()
    answer.value = "seven"
    check.click()
    assert answer.value == "seven" and "Your answer:" in said()
    answer.value = f"{first.key.right * 2:.1f}"
    check.click()
    assert "Not yet." in said() and "0 of 1 right" in said()
    answer.value = f"{first.key.right:.1f}"
    check.click()
    assert "Right." in said() and "0 of 1 right" in said()
    again.click()
    assert answer.value == "" and first.text not in said()
