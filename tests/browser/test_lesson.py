"""The mixing lesson as an apprentice who never sees code works it: by form, to a file that earns what it should."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from classrooms import copy_of

from refinishlib.course import lessons
from refinishlib.course.keys import key, right
from refinishlib.course.question import Number, Table

pytestmark = [pytest.mark.browser]

WHO, NAME = "a07", "mixing"
TITLE = lessons.record(NAME).title
LESSON = f"lessons/{NAME}/{NAME}.ipynb"
RELEASED = Path(__file__).parents[2] / LESSON
WIDGET = "application/vnd.jupyter.widget-view+json"
WRITTEN = "Half a per cent of 60 g is 0.3 g. The scale shows steps of 0.1 g.\n\nSo I mix more, and keep the rest."
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True}


ASKED = lessons.questions(NAME, WHO)
NUMBERS = [name for name, question in ASKED.items() if [type(part.form) for part in question.parts] == [Number]]
# Where a known mistake is made, where something is typed that nobody can read, and where a list is asked for.
MISTAKEN, UNREADABLE = NUMBERS[0], NUMBERS[-1]
LISTED = next(name for name, question in ASKED.items() if isinstance(question.parts[0].form, Table))
NOT_UNDERSTOOD = "was not understood"


def cell(name: str, kind: str = "answer") -> str:
    """The grade id of one of a question's cells."""
    return f"{kind}-{name.replace('.', '-')}"


def typed(value):
    """A right answer as somebody fills it in: decimal commas, units left out."""
    if isinstance(value, float):
        return f"{value:.1f}".replace(".", ",")
    if isinstance(value, frozenset | set | list | tuple):
        return [typed(one) for one in value]
    return str(value)


def answers() -> dict[str, dict]:
    """What is filled in, by answer cell: one known mistake, one entry that cannot be read, all else right."""
    filled = {cell(name): {part: typed(one) for part, one in right(NAME, name, WHO).items()} for name in ASKED}
    [(part, one)] = key(NAME, WHO)[MISTAKEN].items()
    filled[cell(MISTAKEN)][part] = f"{one.mistakes[0].value:.1f} g"
    [part] = key(NAME, WHO)[UNREADABLE]
    filled[cell(UNREADABLE)][part] = "a mugful"
    return filled


def expected() -> dict[str, float]:
    points = {cell(name, "check"): one.points for name, one in ASKED.items()}
    [mistaken] = key(NAME, WHO)[MISTAKEN].values()
    assert 0 < mistaken.mistakes[0].points < points[cell(MISTAKEN, "check")], "a mistake that earns something"
    return points | {cell(MISTAKEN, "check"): mistaken.mistakes[0].points, cell(UNREADABLE, "check"): 0.0}


@pytest.fixture
def desk(fresh, new_lab):
    """A course folder with nobody known in it, and a JupyterLab on it."""
    labs = []

    def opened(theme="light", **more):
        labs.append(new_lab(fresh, theme, **more))
        return labs[-1]

    yield opened
    for lab in labs:
        lab.assert_no_complaints()
        lab.page.context.close()


def work(lab, keyboard=False) -> None:
    """Fill in the whole lesson, and look at what the form says on the way."""
    filled = answers()
    for answer, values in filled.items():
        lab.fill(answer, values, keyboard=keyboard)
    lab.fill("written-1", {"written-1": WRITTEN if not keyboard else WRITTEN.replace("\n\n", " ")}, keyboard=keyboard)
    for answer, sentence in ((cell(MISTAKEN), "Read as"), (cell(UNREADABLE), NOT_UNDERSTOOD)):
        form = lab.form(answer)
        if keyboard:
            lab.tab_to(form.get_by_role("button", name="Check my entry"))
            lab.page.keyboard.press("Enter")
        else:
            form.get_by_role("button", name="Check my entry").click()
        form.locator(".refinish-form-said", has_text=sentence).wait_for()
    assert lab.form(cell(UNREADABLE)).locator("[aria-invalid=true]").count() == 1


def grade_both_ways(handed_in: Path, fresh_course, tmp_path, monkeypatch) -> list[dict[str, float]]:
    """The scores that the file earns by `refinish grade`, and by nbgrader as it is."""
    found = []
    for way in ("refinish", "stock"):
        room = copy_of(fresh_course, tmp_path / way)
        run = [Path(sys.executable).parent / "refinish", "collect", NAME, handed_in.parent]
        subprocess.run(run, cwd=room.root, check=True, capture_output=True)
        if way == "refinish":
            run = [Path(sys.executable).parent / "refinish", "grade", NAME]
            done = subprocess.run(run, cwd=room.root, capture_output=True, text=True)
            assert "1 graded now" in done.stdout, done.stderr
        else:
            done = room.nbgrader("autograde", NAME, REFINISH_GRADING="stock")
            assert done.returncode == 0, done.stderr[-3000:]
        found.append({name: score for name, (score, _) in room.scores()[WHO].items() if name.startswith("check-")})
    return found


@pytest.mark.parametrize(
    "theme, more",
    [
        pytest.param("light", {}, id="light"),
        pytest.param("dark", PHONE, id="dark on a phone", marks=pytest.mark.deep),
    ],
)
def test_an_apprentice_works_the_lesson_by_form_and_the_file_earns_what_it_should(
    desk, theme, more, fresh_course, tmp_path, monkeypatch, back_home
):
    lab = desk(theme, **more)
    page = lab.page
    lab.begin(WHO, TITLE, LESSON)

    # It runs by itself, with the apprentice's numbers; no code, no prompt, no bracket is in sight.
    assert f"for {WHO}" in lab.output(cell(MISTAKEN, "card"))
    assert (
        page.locator(".jp-Notebook :is(.cm-editor, .jp-InputPrompt, .jp-OutputPrompt, .jp-Collapser):visible").count()
        == 0
    )
    assert not page.locator("#jp-MainMenu").is_visible()
    lab.cell("mix-sheet").locator(".refinish-sheet").first.wait_for()
    work(lab)

    # No old word stands below a new entry.
    said = lab.form(cell(MISTAKEN)).locator(".refinish-form-said:visible")
    assert said.count() == 1
    lab.fill(cell(MISTAKEN), {next(iter(key(NAME, WHO)[MISTAKEN])): "5 g"})
    assert said.count() == 0
    lab.fill(cell(MISTAKEN), answers()[cell(MISTAKEN)])
    lab.look(f"lesson-{theme}")

    # What is saved: plain quoted texts, and nothing that would lie there dead.
    saved = lab.save()
    outputs = [output for cell in saved["cells"] for output in cell.get("outputs", [])]
    assert outputs and all(one["output_type"] != "error" and WIDGET not in one.get("data", {}) for one in outputs)

    # The next morning all of it is there again, and the start page knows.
    lab.next_day()
    lab.go()
    lab.settle()
    page.get_by_text(f"You are {WHO}").wait_for()
    card = page.locator(".refinish-start-lesson", has_text=TITLE)
    assert "Begun" in card.inner_text() and "cannot" not in card.locator(".refinish-start-stand").inner_text()
    card.get_by_role("button", name="Go on").click()
    lab.see_notebook(LESSON)
    lab.see_lesson_run()
    boxes = lab.form(cell(LISTED)).get_by_role("textbox")
    values = right(NAME, LISTED, WHO)[ASKED[LISTED].parts[0].name]
    assert boxes.evaluate_all("all => all.map(one => one.value)")[: len(values)] == typed(values)

    # Handed in: it says what cannot be read, and where the file is.
    page.locator(".jp-NotebookPanel").get_by_role("button", name="Hand in").first.click()
    window = page.get_by_role("dialog", name="Before you hand in")
    assert NOT_UNDERSTOOD in window.inner_text()
    window.get_by_role("button", name="Go back").click()
    handed_in = lab.hand_in()
    assert handed_in.name == f"{WHO}-{NAME}.ipynb"
    assert json.loads(handed_in.read_text("utf-8"))["metadata"]["refinish"]["handed_in"].startswith("20")
    page.get_by_role("tab", name="Start").click()
    card.get_by_text("Handed in on").wait_for()

    by_refinish, by_stock = grade_both_ways(handed_in, fresh_course, tmp_path, monkeypatch)
    assert by_refinish == pytest.approx(expected())
    assert by_stock == pytest.approx(expected())


@pytest.mark.deep
def test_the_keyboard_alone_is_enough_from_the_start_page_to_the_hand_in(
    desk, fresh_course, tmp_path, monkeypatch, back_home
):
    lab = desk()
    page = lab.page
    lab.go()
    lab.settle()
    lab.tab_to(page.get_by_label("Your id"))
    page.keyboard.type(f" {WHO.upper()}")
    page.keyboard.press("Enter")
    page.get_by_text(f"You are {WHO}").wait_for()
    lab.tab_to(page.get_by_role("button", name=f"Begin: {TITLE}"))
    page.keyboard.press("Enter")
    lab.see_notebook(LESSON)
    lab.see_lesson_run()
    work(lab, keyboard=True)
    handed_in = lab.hand_in(keyboard=True)
    [by_refinish, _] = grade_both_ways(handed_in, fresh_course, tmp_path, monkeypatch)
    assert by_refinish == pytest.approx(expected())


@pytest.mark.deep
def test_a_forged_form_changes_no_mark(fresh_course, tmp_path, monkeypatch, back_home):
    from refinishlib.grading import handin

    released = json.loads(RELEASED.read_text("utf-8"))
    notebook = handin.filled(released, handin.texts(NAME, WHO, handin.wrong_answer(0)))
    folders = [tmp_path / "plain", tmp_path / "forged"]
    for folder in folders:
        folder.mkdir()
    (folders[0] / f"{WHO}-{NAME}.ipynb").write_text(json.dumps(notebook))
    for one in notebook["cells"]:
        if "refinish" in one["metadata"]:
            one["metadata"]["refinish"] = {
                "answer": [{"kind": "choice", "name": "own_g", "points": 99, "options": ["right"]}]
            }
    (folders[1] / f"{WHO}-{NAME}.ipynb").write_text(json.dumps(notebook))
    scores = []
    for folder in folders:
        scores.append(
            grade_both_ways(folder / f"{WHO}-{NAME}.ipynb", fresh_course, tmp_path / f"{folder.name}-room", monkeypatch)
        )
    assert scores[0] == scores[1]
