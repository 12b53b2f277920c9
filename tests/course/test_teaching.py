"""A lesson teaches: a guess before each idea, decisions for half of its points, and no widget that gives them away."""

import json
import re
from html import unescape

import pytest

from refinishlib.bench.mix_sheet import MixSheet
from refinishlib.course import builder, lessons, minutes
from refinishlib.course.guess import guess, guesses
from refinishlib.course.keys import key
from refinishlib.course.practice import kinds, kinds_before, kinds_mixed, mixed
from refinishlib.course.question import Choice, Chosen, Order
from refinishlib.course.remembered import Memory

MOST_OFF_MINUTES = 3
MOST_OFF_ONE_WIDGET = 0.25
LESSONS = lessons.names()
GUESSES = [(lesson, name) for lesson in LESSONS for name in guesses(lesson)]


def directives(lesson):
    text = (lessons.FOLDER / lesson / "lesson.md").read_text(encoding="utf-8")
    return [piece.words for piece in builder.pieces(text, "lesson.md") if piece.words]


@pytest.mark.parametrize("lesson", LESSONS)
def test_half_of_the_automatic_points_are_decisions(lesson):
    parts = [part for question in lessons.questions(lesson, "demo").values() for part in question.parts]
    decided = sum(part.points for part in parts if isinstance(part.form, Choice | Chosen | Order))
    assert decided >= sum(part.points for part in parts) / 2


@pytest.mark.parametrize("lesson", LESSONS)
def test_the_minutes_that_are_stated_are_the_sum_of_what_is_in_the_lesson(lesson):
    assert abs(lessons.record(lesson).minutes - minutes.minutes(lesson)) <= MOST_OFF_MINUTES


@pytest.mark.parametrize("lesson", [lesson for lesson in LESSONS if guesses(lesson)])
def test_each_idea_is_guessed_shown_and_practised_before_it_is_proved(lesson):
    steps = [words for words in directives(lesson) if words[0] in ("guess", "shown", "practise", "question")]
    shape = re.sub("q+", "q", "".join(words[0][0] for words in steps))
    assert re.fullmatch("(gspq)+q?", shape), shape
    used = {name for words in directives(lesson) if words[0] == "guess" for name in words[1:]}
    practised = {title for words in directives(lesson) if words[0] == "practise" for title in words[1:]}
    assert used == set(guesses(lesson)) and practised == {kind.drill.title for kind in kinds(lesson)}


def walk(widget):
    yield widget
    for child in getattr(widget, "children", ()):
        yield from walk(child)


def words_of(widget):
    """All that a widget shows, as words without marks."""
    texts = []
    for one in walk(widget):
        if type(one).__name__ == "HTML" and one.layout.display != "none":
            texts.append(one.value)
        if type(one).__name__ == "Button" and one.layout.display != "none":
            texts.append(one.description)
    return unescape(re.sub(r"<[^>]+>", " ", " ".join(texts)))


@pytest.mark.parametrize(("lesson", "name"), GUESSES)
def test_a_guess_is_kept_and_shown_again_beside_what_happens(lesson, name, tmp_path):
    path, asked = tmp_path / "practice.json", guesses(lesson)[name]
    happens, why = asked.outcome(lessons.record(lesson).shop)
    why = why[0].upper() + why[1:]
    assert happens in asked.options and asked.options[0] != asked.options[-1]
    for option in asked.options:
        fresh = guess(lesson, name, memory=Memory(path, option))
        assert why not in words_of(fresh), "what happens is not shown before the guess"
        [button] = [one for one in walk(fresh) if getattr(one, "description", "") == option]
        button.click()
        for shown in (fresh, guess(lesson, name, memory=Memory(path, option))):
            said = words_of(shown)
            assert why in said
            assert ("That is what you guessed." in said) == (option == happens)
            assert option == happens or f"You guessed: {option}." in said


@pytest.mark.parametrize(("lesson", "name"), GUESSES)
def test_each_live_picture_moves_when_its_fields_do(lesson, name):
    watched = guesses(lesson)[name].watch(lessons.record(lesson).shop)
    picture = [one for one in walk(watched) if type(one).__name__ == "HTML"][-1]
    for entry in [one for one in walk(watched) if type(one).__name__ in ("Dropdown", "SelectionSlider")]:
        seen = set()
        for _, value in entry._options_full:
            entry.value = value
            seen.add(picture.value)
        assert len(seen) == len(entry._options_full)


def test_a_lesson_begins_with_earlier_ones_where_there_are_any(monkeypatch):
    first = next(lesson for lesson in LESSONS if kinds(lesson))
    assert kinds_before(first) == () and kinds_mixed(first) == kinds(first)
    built = json.loads(builder.written(first, builder.course_folder()))
    assert not [cell for cell in built["cells"] if cell["id"] in ("from-last-time", "mixed-before")]

    earlier = kinds("mixing", "Own weight", "Scale reading")
    monkeypatch.setattr("refinishlib.course.practice.kinds_before", lambda lesson: earlier)
    ids = [cell["id"] for cell in json.loads(builder.written(first, builder.course_folder()))["cells"]]
    assert ids.index("mixed-before") == ids.index("from-last-time") + 1 < ids.index("how")
    assert "1 of 3: " in words_of(mixed(first, before=True, memory=Memory()))


def test_practice_points_at_no_job_card():
    for lesson in LESSONS:
        for kind in kinds(lesson):
            for step in (problem := kind.problem("x")).steps:
                assert not re.search(r"\b(?:job|your) card", problem.text + step.hint + step.working)


# --- what one widget gives away --------------------------------------------------------------------------------------


def set_to(widget, wanted):
    """Set every field of a widget to what it takes of these values; says whether all that it needs was there."""
    for entry in walk(widget):
        kind = type(entry).__name__
        if kind in ("Dropdown", "SelectionSlider"):
            for label, value in entry._options_full:
                if label in wanted or value in wanted:
                    entry.value = value


def mix_sheets(mine):
    """The mix sheet, set to each mix of the job cards that it has."""
    for formula, amount in (
        (mine.formula, f"{mine.wanted_g} g"),
        (mine.heavy_formula, f"{mine.wanted_ml} mL"),
        (mine.pour_formula, f"{mine.pour_wanted_g} g"),
        (mine.care.formula, f"{mine.care.wanted_g} g"),
        (mine.scale_formula, f"{mine.scale_mix_g} g"),
        (mine.card_formula, f"{mine.card_g} g"),
    ):
        if formula in lessons.record("mixing").shop.colours:
            sheet = MixSheet(formula.title, amount, remember=False, shop=lessons.record("mixing").shop)
            yield words_of(sheet)
            if formula == mine.pour_formula:
                for name in [name for name, _ in formula.parts]:
                    if name == mine.over_toner:
                        break
                    sheet._tapped_s = 0.0
                    sheet.poured.click()
                at = [name for name, _ in formula.parts].index(mine.over_toner)
                planned = sheet._next[0].reading_g
                sheet.shows.entry.value = f"{planned + mine.over_g:.1f} g"
                sheet._tapped_s = 0.0
                sheet.poured.click()
                assert len(sheet.turns) == at + 1
                yield words_of(sheet)


def pictures(mine, name):
    """A live picture, set to the numbers of the job cards that its fields take."""
    numbers = [value for value in vars(mine).values() if isinstance(value, int | float)]
    formulas = [mine.heavy_formula, mine.pour_formula, mine.scale_formula, mine.card_formula]
    for formula in formulas:
        for number in (*numbers, mine.transfer_efficiency * 100):
            shown = guesses("mixing")[name].watch(lessons.record("mixing").shop)
            set_to(shown, {formula.title, mine.ratio.product, number})
            yield words_of(shown)


def read_off(lesson, whose, texts):
    """The points whose right entry stands somewhere in these texts, to the tenth of a gram or word for word.

    What competes with it may stand there too, as long as it is not the same.
    """
    points = 0.0
    keys = key(lesson, whose)
    for name, question in lessons.questions(lesson, whose).items():
        for part in question.parts:
            right = keys[name][part.name].right
            wanted = right if isinstance(right, tuple) else (right,)
            if any(all(stands(one, text) for one in wanted) for text in texts):
                points += part.points
    return points


def stands(value, text):
    if isinstance(value, float):
        return re.search(rf"(?<![\d.]){re.escape(f'{value:.1f}')}(?![\d])", text) is not None
    return str(value) in text


@pytest.mark.parametrize("whose", ["a01", "a07", "b12", "c30"])
def test_at_most_a_quarter_of_the_points_can_be_read_off_one_widget(whose):
    mine = lessons.job("mixing", whose)
    most = MOST_OFF_ONE_WIDGET * sum(question.points for question in lessons.questions("mixing", whose).values())
    shown = {"mix sheet": list(mix_sheets(mine))}
    shown |= {name: list(pictures(mine, name)) for name in guesses("mixing")}
    given = {name: read_off("mixing", whose, texts) for name, texts in shown.items()}
    # Two questions are answered by the two rules, and their picture shows both: those points are counted by hand.
    given["shake"] += sum(lessons.questions("mixing", whose)[name].points for name in ("7.1", "7.2"))
    assert given["mix sheet"] >= 4, "the measure finds what is there to read: the litre's weight"
    assert {name: points for name, points in given.items() if points > most} == {}


def test_the_written_question_and_its_rubric_say_what_the_engine_says():
    from refinishlib.colour.pour_error import scatter
    from refinishlib.course.lessons.mixing.job import BENCH_READABILITY_G, colour_rule_g, share_rule_g

    rubric = (builder.course_folder() / "solutions" / "mixing_rubric.md").read_text(encoding="utf-8")
    shop = lessons.record("mixing").shop
    light, dark = shop.colour("Chalk Barn, as built"), shop.colour("Night Ferry, as built")
    off = scatter(light, 60.0, BENCH_READABILITY_G).nearly_always
    assert f"at 60 g the colour can be off by about {off:.1f}" in rubric
    assert f"colour rule asks for {colour_rule_g(light):.0f} g" in rubric
    assert f"share rule asks for {share_rule_g(light):.0f} g" in rubric
    rules = f"the colour rule asks for {colour_rule_g(dark):.0f} g and the share rule for {share_rule_g(dark):.0f} g"
    assert rules in rubric
    assert colour_rule_g(dark) <= 60 < colour_rule_g(light), "60 g is fine in the one, and not in the other"


@pytest.mark.parametrize("lesson", LESSONS)
def test_a_lesson_runs_from_top_to_bottom_without_an_error(lesson):
    import nbformat
    from nbclient import NotebookClient

    folder = builder.course_folder() / "lessons" / lesson
    notebook = nbformat.read(folder / f"{lesson}.ipynb", as_version=4)
    notebook.metadata.kernelspec.name = "python3"
    NotebookClient(notebook, timeout=60, resources={"metadata": {"path": str(folder)}}).execute()
    outputs = [output for cell in notebook.cells for output in cell.get("outputs", [])]
    assert not [one for one in outputs if one["output_type"] == "error"]
    shown = {cell["id"] for cell in notebook.cells if cell.get("outputs")}
    assert {f"guess-{name.replace('_', '-')}" for name in guesses(lesson)} <= shown
