"""The mixing lesson as an apprentice who never sees code works it: by form, to a file that earns what it should."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from classrooms import copy_of

from refinishlib.course import lessons
from refinishlib.course.keys import key, right

pytestmark = [pytest.mark.browser]

WHO, NAME = "a07", "mixing"
TITLE = lessons.record(NAME).title
LESSON = f"lessons/{NAME}/{NAME}.ipynb"
RELEASED = Path(__file__).parents[2] / LESSON
WIDGET = "application/vnd.jupyter.widget-view+json"
WRITTEN = "Half a per cent of 60 g is 0.3 g. The scale shows steps of 0.1 g.\n\nSo I mix more, and keep the rest."
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True}


def typed(value):
    """A right answer as somebody fills it in: decimal commas, units left out."""
    if isinstance(value, float):
        return f"{value:.1f}".replace(".", ",")
    if isinstance(value, frozenset | set | list | tuple):
        return [typed(one) for one in value]
    return str(value)


def answers() -> dict[str, dict]:
    """What is filled in, by answer cell: a known mistake in 1.1, something unreadable in 6.1, all else right."""
    filled = {
        f"answer-{name.replace('.', '-')}": {part: typed(one) for part, one in right(NAME, name, WHO).items()}
        for name in lessons.questions(NAME, WHO)
    }
    [(part, one)] = key(NAME, WHO)["1.1"].items()
    filled["answer-1-1"][part] = f"{one.mistakes[0].value:.1f} g"
    [part] = key(NAME, WHO)["6.1"]
    filled["answer-6-1"][part] = "a mugful"
    return filled


def expected() -> dict[str, float]:
    points = {f"check-{name.replace('.', '-')}": one.points for name, one in lessons.questions(NAME, WHO).items()}
    [mistaken] = key(NAME, WHO)["1.1"].values()
    return points | {"check-1-1": mistaken.mistakes[0].points, "check-6-1": 0.0}


@pytest.fixture
def desk(own_course, serve, new_lab):
    """A course folder of the test's own, with nobody known in it, and a JupyterLab on it."""
    server = serve("open", folder=own_course)
    labs = []

    def opened(theme="light", **more):
        labs.append(new_lab(server, theme, **more))
        return labs[-1]

    yield opened
    for lab in labs:
        lab.assert_no_complaints()
        lab.page.context.close()


def work(lab, keyboard=False) -> None:
    """Fill in the whole lesson, and look at what the form says on the way."""
    filled = answers()
    for cell, values in filled.items():
        lab.fill(cell, values, keyboard=keyboard)
    lab.fill("written-1", {"written-1": WRITTEN if not keyboard else WRITTEN.replace("\n\n", " ")}, keyboard=keyboard)
    for cell, sentence in (("answer-1-1", "Read as"), ("answer-6-1", "a volume such as")):
        form = lab.form(cell)
        if keyboard:
            lab.tab_to(form.get_by_role("button", name="Check my entry"))
            lab.page.keyboard.press("Enter")
        else:
            form.get_by_role("button", name="Check my entry").click()
        form.locator(".refinish-form-said", has_text=sentence).wait_for()
    assert lab.form("answer-6-1").locator("[aria-invalid=true]").count() == 1


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
        found.append({cell: score for cell, (score, _) in room.scores()[WHO].items() if cell.startswith("check-")})
    return found


@pytest.mark.parametrize("theme, more", [("light", {}), ("dark", PHONE)], ids=["light", "dark on a phone"])
def test_an_apprentice_works_the_lesson_by_form_and_the_file_earns_what_it_should(
    desk, theme, more, fresh_course, tmp_path, monkeypatch, back_home
):
    lab = desk(theme, **more)
    page = lab.page
    lab.begin(WHO, TITLE, LESSON)

    # It runs by itself, with the apprentice's numbers; no code, no prompt, no bracket is in sight.
    assert f"for {WHO}" in lab.output("card-1-1")
    assert (
        page.locator(".jp-Notebook :is(.cm-editor, .jp-InputPrompt, .jp-OutputPrompt, .jp-Collapser):visible").count()
        == 0
    )
    assert not page.locator("#jp-MainMenu").is_visible()
    lab.cell("mix-sheet").locator(".refinish-sheet").first.wait_for()
    work(lab)

    # No old word stands below a new entry.
    said = lab.form("answer-1-1").locator(".refinish-form-said:visible")
    assert said.count() == 1
    lab.fill("answer-1-1", {next(iter(key(NAME, WHO)["1.1"])): "5 g"})
    assert said.count() == 0
    lab.fill("answer-1-1", answers()["answer-1-1"])
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
    page.wait_for_function("document.querySelector('.jp-NotebookPanel').dataset.refinishRun === 'done'")
    boxes = lab.form("answer-1-2").get_by_role("textbox")
    values = right(NAME, "1.2", WHO)["readings_g"]
    assert boxes.evaluate_all("all => all.map(one => one.value)")[: len(values)] == typed(values)

    # Handed in: it says what cannot be read, and where the file is.
    page.locator(".jp-NotebookPanel").get_by_role("button", name="Hand in").first.click()
    window = page.get_by_role("dialog", name="Before you hand in")
    assert "a volume such as" in window.inner_text()
    window.get_by_role("button", name="Go back").click()
    handed_in = lab.hand_in()
    assert handed_in.name == f"{WHO}-{NAME}.ipynb"
    assert json.loads(handed_in.read_text("utf-8"))["metadata"]["refinish"]["handed_in"].startswith("20")
    page.get_by_role("tab", name="Start").click()
    card.get_by_text("Handed in on").wait_for()

    by_refinish, by_stock = grade_both_ways(handed_in, fresh_course, tmp_path, monkeypatch)
    assert by_refinish == pytest.approx(expected())
    assert by_stock == pytest.approx(expected())


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
    page.wait_for_function(
        "document.querySelector('.jp-NotebookPanel').dataset.refinishRun === 'done'", timeout=120_000
    )
    work(lab, keyboard=True)
    handed_in = lab.hand_in(keyboard=True)
    [by_refinish, _] = grade_both_ways(handed_in, fresh_course, tmp_path, monkeypatch)
    assert by_refinish == pytest.approx(expected())


def test_a_forged_form_changes_no_mark(fresh_course, tmp_path, monkeypatch, back_home):
    from refinishlib.grading import handin

    released = json.loads(RELEASED.read_text("utf-8"))
    notebook = handin.filled(released, handin.texts(NAME, WHO, handin.wrong_answer(0)))
    folders = [tmp_path / "plain", tmp_path / "forged"]
    for folder in folders:
        folder.mkdir()
    (folders[0] / f"{WHO}-{NAME}.ipynb").write_text(json.dumps(notebook))
    for cell in notebook["cells"]:
        if "refinish" in cell["metadata"]:
            cell["metadata"]["refinish"] = {
                "answer": [{"kind": "choice", "name": "own_g", "points": 99, "options": ["right"]}]
            }
    (folders[1] / f"{WHO}-{NAME}.ipynb").write_text(json.dumps(notebook))
    scores = []
    for folder in folders:
        scores.append(
            grade_both_ways(folder / f"{WHO}-{NAME}.ipynb", fresh_course, tmp_path / f"{folder.name}-room", monkeypatch)
        )
    assert scores[0] == scores[1]
