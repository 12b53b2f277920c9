"""The mixing lesson as an apprentice works it, in real JupyterLab, light and dark."""

import json
import shutil
from pathlib import Path

import pytest

from refinishlib.course.keys import right

pytestmark = [pytest.mark.browser]

LESSON = "lessons/mixing/mixing.ipynb"
WIDGET = "application/vnd.jupyter.widget-view+json"


def outputs(notebook: dict) -> list[dict]:
    return [output for cell in notebook["cells"] for output in cell.get("outputs", [])]


def test_a_day_with_the_lesson_and_the_next_morning(lab, course, classroom):
    page = lab.page
    own_g = f'"{right("mixing", "1.1", "a07")["own_g"]:.1f} g"'
    untouched = Path(__file__).parents[2] / LESSON
    shutil.copy(untouched, course / LESSON)

    # Untouched, the whole lesson runs to its last cell, and the reader stays where they are.
    lab.open_notebook(LESSON)
    lab.run_whole_lesson()
    code = [cell for cell in json.loads(untouched.read_text("utf-8"))["cells"] if cell["cell_type"] == "code"]
    assert "not answered yet" in lab.output(code[-1]["metadata"]["nbgrader"]["grade_id"])
    assert lab.cell("title").is_visible()
    sheet = lab.cell("mix-sheet").locator(".refinish-sheet").first
    sheet.wait_for()

    # One id, one good answer, one mistyped: the check comes along with the answer.
    lab.answer("answer-my-id", my_id='"a07"')
    lab.run_whole_lesson()
    assert "for a07" in lab.output("card-1-1")
    lab.answer("answer-1-1", own_g=own_g)
    page.keyboard.press("Shift+Enter")
    lab.wait_idle()
    assert "The form is fine" in lab.output("check-1-1")
    lab.answer("answer-1-2", readings_g="7 grams")
    page.keyboard.press("Shift+Enter")
    lab.wait_idle()
    said = 'readings_g = 7 grams: type the number with its unit in quotes, "7 grams", or only the number, 7.'
    assert lab.output("answer-1-2").strip() == said

    # The widget answers: the table and the picture are others.
    before = sheet.locator(".refinish-part-drawing svg").evaluate("it => it.outerHTML")
    sheet.get_by_label("How much is wanted").fill("1 lb")
    sheet.locator("caption, table, h3", has_text="453.6 g").first.wait_for()
    assert sheet.locator(".refinish-part-drawing svg").evaluate("it => it.outerHTML") != before
    lab.look("lesson")

    # What is saved: the answers as they were typed, and nothing that would lie there dead.
    saved = lab.save()
    text = "".join("".join(cell["source"]) for cell in saved["cells"])
    assert f"own_g = {own_g}" in text
    assert "readings_g = 7 grams" in text
    assert outputs(saved)
    assert all(output["output_type"] != "error" and WIDGET not in output.get("data", {}) for output in outputs(saved))

    # The next morning: no error, no dead widget, the answers are there.
    lab.next_day()
    lab.open_notebook(LESSON)
    assert page.locator(".jp-RenderedError, [data-mime-type='application/vnd.jupyter.error']").count() == 0
    assert page.locator(".jupyter-widgets").count() == 0
    assert page.get_by_text("Error displaying widget").count() == 0
    assert f"own_g = {own_g}" in lab.cell("answer-1-1").text_content()
    lab.run_whole_lesson()
    lab.cell("mix-sheet").locator(".refinish-sheet").first.wait_for()
    assert sheet.get_by_label("How much is wanted").input_value() == "1 lb"

    # Handed in as it was saved, it is graded: the good answer counts, the mistyped one stops nothing.
    lab.save()
    handed_in = classroom.root / "submitted" / "a07" / "mixing"
    handed_in.mkdir(parents=True)
    shutil.copy(course / LESSON, handed_in)
    graded = classroom.nbgrader("autograde", "mixing")
    assert graded.returncode == 0, graded.stderr
    scores = {cell: score for cell, (score, _) in classroom.scores()["a07"].items()}
    assert scores.pop("check-1-1") == classroom.most["check-1-1"]
    assert set(scores.values()) <= {0.0, None}
