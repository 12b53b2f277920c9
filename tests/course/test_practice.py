"""Practice fades, helps in three steps, remembers what went wrong, and never runs out."""

import datetime
import json
from itertools import islice, pairwise

import pytest

from refinishlib.course import lessons, practice
from refinishlib.course.practice import (
    UNTIL_AGAIN,
    DrillKind,
    asked,
    drills,
    first_slip,
    help_after,
    is_right,
    kinds,
    kinds_mixed,
    left_to_do,
    mixed,
    practise,
)
from refinishlib.course.question import Choice
from refinishlib.course.remembered import READY_AFTER, Memory, SkillStanding
from refinishlib.entry import BadEntry

KINDS = [DrillKind(lesson, drill) for lesson in lessons.names() for drill in drills(lesson)]


def typed(step, factor=1.0):
    """A right entry for a step, or a wrong one."""
    if isinstance(step.part.form, Choice):
        options = step.part.form.options
        return step.key.right if factor == 1 else next(one for one in options if one != step.key.right)
    return f"{step.key.right * factor:.6g} {step.part.form.unit}"


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_problems_are_fresh_and_their_steps_hold(kind):
    row = [kind.problem(str(number)) for number in range(60)]
    assert len({problem.text for problem in row}) > 50
    for problem in row:
        assert len(problem.steps) >= 2
        for step in problem.steps:
            assert is_right(step, typed(step)) and not is_right(step, typed(step, 1.2))
            value = step.key.right
            # What is shown as done says the value that is asked where it is not; a hint never does.
            shown = value if isinstance(value, str) else f"{value:.4g}"
            said = step.working.replace(",", "")
            assert isinstance(value, str) or any(abs(float(one) - value) <= step.key.tolerance for one in numbers(said))
            assert shown not in step.hint or len(shown) < 3
            for mistake in step.key.mistakes:
                wrong = mistake.value if isinstance(value, str) else f"{mistake.value:.6g}"
                assert not is_right(step, wrong)


def numbers(text):
    found = []
    for word in text.replace("x", " ").split():
        try:
            found.append(float(word.rstrip(".%")))
        except ValueError:
            continue
    return found


def test_first_the_last_step_is_left_to_do_then_two_then_all_and_three_in_a_row_is_ready():
    problem, standing, left = KINDS[0].problem("x"), SkillStanding(), []
    for _ in range(READY_AFTER):
        assert not standing.ready
        left.append(left_to_do(problem, standing))
        standing = standing.after(True)
    assert left == [1, 2, len(problem.steps)] and standing.ready
    assert left_to_do(problem, standing.after(False)) == 2


def test_after_a_slip_a_hint_then_the_step_then_the_working():
    [kind] = kinds("mixing", "Own weight")
    problem = kind.problem("x")
    right, wrong = [typed(one) for one in problem.steps], typed(problem.steps[1], 1.2)
    entries = [right[0], wrong, right[2]]
    assert first_slip(problem, right) is None and first_slip(problem, entries) == 1
    assert first_slip(problem, [wrong, right[2]]) == 1, "the entries of the last steps alone"
    once, twice, thrice = (help_after(problem, 1, wrong, slips) for slips in (1, 2, 3))
    assert len(once) == 1 and problem.steps[1].hint[1:] in once[0]
    assert problem.steps[1].part.label in twice[0] and "step 2" in twice[0]
    assert list(thrice[1:]) == [one.working for one in problem.steps]
    known = problem.steps[2].key.mistakes[0]
    assert known.sentence[1:] in help_after(problem, 2, f"{known.value:.6g}", 1)[0]
    with pytest.raises(BadEntry, match=problem.steps[0].part.label):
        is_right(problem.steps[0], "a bit")


def day(number):
    return lambda: datetime.date(2026, 5, number)


def test_what_went_wrong_comes_back_at_once_the_next_day_and_a_week_later_until_it_is_known(tmp_path):
    path, [kind] = tmp_path / "own" / "practice.json", kinds("mixing", "Own weight")

    def due(number):
        return [one.seed for one in Memory(path, "a07", day(number)).missed([kind.name])]

    Memory(path, "a07", day(1)).note(kind.name, "seed", False)
    assert due(1) == ["seed"] and Memory(path, "b01", day(1)).missed([kind.name]) == []
    Memory(path, "a07", day(1)).note(kind.name, "seed", True)
    assert (due(1), due(2)) == ([], ["seed"])
    Memory(path, "a07", day(2)).note(kind.name, "seed", True)
    assert (due(8), due(9)) == ([], ["seed"])
    Memory(path, "a07", day(9)).note(kind.name, "seed", False)
    assert due(9) == ["seed"], "a new slip begins anew"
    for number in (9, 10, 17):
        Memory(path, "a07", day(number)).note(kind.name, "seed", True)
    assert due(28) == []


@pytest.mark.parametrize(
    "content",
    [
        "",
        "{",
        "[]",
        '{"a07": 3}',
        '{"a07": {"standings": {"k": {"level": "x"}}, "missed": [{"kind": 1}, 2], "guesses": 4}}',
    ],
)
def test_a_file_that_cannot_be_read_is_as_good_as_none(tmp_path, content):
    path = tmp_path / "practice.json"
    path.write_text(content)
    memory = Memory(path, "a07")
    assert memory.standing("k") == SkillStanding() and memory.missed(["k"]) == [] and memory.guess("g") == ""
    memory.note("k", "seed", True)
    memory.keep_guess("g", "more")
    assert Memory(path, "a07").standing("k").in_a_row == 1 and Memory(path, "a07").guess("g") == "more"


def test_a_folder_that_cannot_be_written_stops_nobody(tmp_path):
    (tmp_path / "own").write_text("a file where the folder should be")
    memory = Memory(tmp_path / "own" / "practice.json", "a07")
    memory.note("k", "seed", True)
    memory.note("k", "seed 2", True)
    assert memory.standing("k").in_a_row == 2


def test_the_file_keeps_what_others_wrote_meanwhile(tmp_path):
    path = tmp_path / "practice.json"
    one, other = Memory(path, "a07"), Memory(path, "b01")
    one.note("k", "s", True)
    other.note("k", "s", True)
    one.keep_guess("g", "less")
    assert set(json.loads(path.read_text())) == {"a07", "b01"}
    assert not list(tmp_path.glob("practice.[0-9]*"))


@pytest.mark.parametrize("shuffled", [False, True])
def test_a_mixed_row_never_has_two_of_a_kind_together_and_brings_back_what_was_missed(shuffled):
    memory, known = Memory(), kinds("mixing")
    row = asked(known, memory, "x", shuffled=shuffled)
    found = []
    for number in range(60):
        kind, seed, before = next(row)
        assert before == (seed in {one for _, one in found})
        memory.note(kind.name, seed, number != 4)
        found.append((kind.name, seed))
    names = [name for name, _ in found]
    assert all(one != other for one, other in pairwise(names))
    assert set(names) == {kind.name for kind in known}
    again = [place for place, one in enumerate(found) if one == found[4]]
    assert len(again) == 2 and UNTIL_AGAIN < again[1] - again[0] <= UNTIL_AGAIN + 3


def test_one_kind_alone_also_brings_back_what_was_missed():
    memory, known = Memory(), kinds("mixing", "Own weight")
    row = asked(known, memory, "x")
    first = next(row)[:2]
    memory.note(first[0].name, first[1], False)
    assert [one[:2] == first for one in islice(row, 4)].index(True) == UNTIL_AGAIN


def _walk(widget):
    yield widget
    for child in getattr(widget, "children", ()):
        yield from _walk(child)


class Sheet:
    """A practice sheet as somebody sees it."""

    def __init__(self, widget):
        self.widget = widget

    def button(self, words):
        [found] = [w for w in _walk(self.widget) if type(w).__name__ == "Button" and words in w.description]
        return found

    @property
    def entries(self):
        return [w for w in _walk(self.widget) if type(w).__name__ in ("Text", "Dropdown")]

    @property
    def said(self):
        shown = (w for w in _walk(self.widget) if type(w).__name__ == "HTML" and w.layout.display != "none")
        return " ".join(w.value for w in shown)

    def fill(self, values):
        for entry, value in zip(self.entries, values, strict=True):
            entry.value = value
        self.button("Check").click()


def test_the_sheet_helps_counts_first_tries_and_keeps_what_was_typed():
    memory, [kind] = Memory(), kinds("mixing", "Own weight")
    sheet = Sheet(practise("mixing", "Own weight", start="x", memory=memory))
    problem = kind.problem("x/0")
    assert problem.text in sheet.said and len(sheet.entries) == 1
    assert problem.steps[0].working in sheet.said and problem.steps[2].working not in sheet.said

    sheet.fill(["a bit"])
    assert sheet.entries[0].value == "a bit" and "was not understood" in sheet.said
    sheet.fill([typed(problem.steps[2], 1.5)])
    assert "Not yet." in sheet.said and "0 of 3 in a row" in sheet.said
    # No old verdict stands below a new entry.
    sheet.entries[0].value = "7"
    assert "Not yet." not in sheet.said
    sheet.fill([typed(problem.steps[2])])
    assert "Right." in sheet.said and "0 of 3 in a row" in sheet.said
    assert memory.missed([kind.name])[0].seed == "x/0"

    sheet.button("Next").click()
    assert problem.text not in sheet.said and "Right." not in sheet.said and sheet.entries[0].value == ""


def test_the_sheet_fades_to_ready_and_goes_back_to_an_old_problem(tmp_path):
    path, [kind] = tmp_path / "practice.json", kinds("mixing", "Own weight")
    sheet = Sheet(practise("mixing", "Own weight", start="x", memory=Memory(path, "a07")))
    for number, left in enumerate((1, 2, 3)):
        assert len(sheet.entries) == left
        sheet.fill([typed(one) for one in kind.problem(f"x/{number}").steps[-left:]])
        assert ("You are ready" in sheet.said) == (number == 2)
        sheet.button("Next").click()
    sheet.fill([typed(one, 1.5) for one in kind.problem("x/3").steps])

    # The kernel is gone; what was missed is there again, and said so.
    again = Sheet(practise("mixing", "Own weight", start="y", memory=Memory(path, "a07")))
    assert kind.problem("x/3").text in again.said and "You missed this one before" in again.said
    assert "You are ready" in again.said


def test_the_third_slip_shows_the_working_and_ends_the_problem():
    [kind] = kinds("mixing", "Own weight")
    sheet = Sheet(practise("mixing", "Own weight", start="x", memory=Memory()))
    problem = kind.problem("x/0")
    for number, said in enumerate(("Not yet.", "Look at step 3", "This is how it goes")):
        sheet.fill([typed(problem.steps[2], 1.5 + number / 10)])
        assert said in sheet.said
    assert problem.steps[2].working in sheet.said and sheet.button("Check").disabled


def test_the_mixed_set_asks_the_answer_alone_and_ends():
    every = [kind.problem(f"x/{number}") for kind in kinds_mixed("mixing") for number in range(6)]
    sheet = Sheet(mixed("mixing", start="x", memory=Memory()))
    for number in range(practice.MIXED_AT_THE_END):
        assert f"{number + 1} of {practice.MIXED_AT_THE_END}: " in sheet.said and len(sheet.entries) == 1
        [problem] = [one for one in every if one.text in sheet.said]
        assert not any(one.working in sheet.said for one in problem.steps)
        sheet.fill([typed(problem.steps[-1], 1.5 if number == 1 else 1.0)])
        if number == 1:
            sheet.fill([typed(problem.steps[-1])])
        if number < practice.MIXED_AT_THE_END - 1:
            sheet.button("Next").click()
    assert "That was all. 3 of 4 right at the first try." in sheet.said
    sheet.button("4 more").click()
    assert "1 of 4: " in sheet.said
