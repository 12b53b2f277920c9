"""An apprentice works the mixing lesson in real JupyterLab, comes back another day, and it is graded."""

import csv
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from refinishlib.course.keys import right

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]

LESSON = "lessons/mixing/mixing.ipynb"
LAST_WIDGET = "practise-amount"


def graded(lab, apprentice):
    """Hand in the saved notebook and grade it with nbgrader; the marks of the apprentice by the export."""
    course = lab.server.course
    folder = course / "submitted" / apprentice / "mixing"
    folder.mkdir(parents=True, exist_ok=True)
    shutil.copy(course / LESSON, folder)
    environment = os.environ | {"PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"}
    release = course.parent / "released"  # the apprentice's own copy in lessons/ stays as it is
    for words in (
        ["generate_assignment", "mixing", "--force", f"--CourseDirectory.release_directory={release}"],
        ["autograde", "mixing", f"--student={apprentice}", "--force"],
        ["export"],
    ):
        run = subprocess.run(["nbgrader", *words], cwd=course, env=environment, capture_output=True, text=True)
        assert run.returncode == 0, run.stderr
    with (course / "grades.csv").open(newline="", encoding="utf-8") as table:
        return {row["student_id"]: float(row["raw_score"]) for row in csv.DictReader(table)}[apprentice]


def test_an_apprentice_works_the_lesson_and_it_is_graded(lab):
    apprentice = "dark" if lab.page.evaluate("matchMedia('(prefers-color-scheme: dark)').matches") else "light"
    shutil.copy(Path(__file__).parents[2] / LESSON, lab.server.course / LESSON)
    lab.open_notebook(LESSON)

    # Untouched: the whole lesson runs to its last widget, and every question says what it waits for.
    lab.run_whole_lesson()
    assert lab.cell(LAST_WIDGET).locator(".refinish-sheet h3").inner_text() == "Practice: how much to mix"
    assert "Type your id" in lab.output("card-1-1")
    assert "not answered yet" in lab.output("check-1-1")
    assert lab.page.locator(".jp-Notebook [data-mime-type*=stderr]").count() == 0

    # With an id the cards carry numbers; a slip of the typing gives one sentence and stops nothing.
    own_g = right("mixing", "1.1", apprentice)["own_g"]
    lab.answer("answer-my-id", my_id=f'"{apprentice}"')
    lab.answer("answer-1-1", own_g=f'"{own_g:.1f} g"')
    lab.answer("answer-5-1", smallest_g="7 grams")
    lab.run_whole_lesson()
    assert f"for {apprentice}" in lab.output("card-1-1")
    assert "The form is fine" in lab.output("check-1-1")
    slip = lab.output("answer-5-1")
    assert "7 g" in slip and "Traceback" not in slip and "SyntaxError" not in slip and len(slip.splitlines()) <= 2
    assert lab.cell(LAST_WIDGET).locator(".refinish-sheet h3").is_visible()

    # The mix sheet: another amount, another table and picture; garbage gets a sentence and loses nothing.
    sheet = lab.cell("mix-sheet")
    wanted = sheet.get_by_label("How much is wanted")
    before = sheet.locator("svg desc").first.text_content()
    wanted.fill("1 kg")
    sheet.locator(".refinish-table").get_by_text("1000.0").first.wait_for()
    assert sheet.locator("svg desc").first.text_content() != before
    wanted.fill("a good deal")
    sheet.locator(".refinish-sentence").first.wait_for()
    assert wanted.input_value() == "a good deal"
    assert sheet.locator(".refinish-table").get_by_text("1000.0").first.is_visible()
    wanted.fill("1 kg")
    lab.look(f"mix-sheet-{apprentice}")

    # Next day: no error, no dead widget, the answers are there, and the mix sheet remembers.
    saved = lab.save()
    kept = [output for cell in saved["cells"] for output in cell.get("outputs", [])]
    assert not any(output["output_type"] == "error" or "widget-view" in str(output) for output in kept)
    lab.server.restart()
    lab.open_notebook(LESSON)
    assert (
        lab.page.locator(".jp-Notebook [data-mime-type*=stderr], .jp-Notebook .jupyter-widgets-disconnected").count()
        == 0
    )
    assert f"{own_g:.1f} g" in lab.cell("answer-1-1").inner_text()
    lab.run_whole_lesson()
    lab.cell("mix-sheet").locator(".refinish-table").get_by_text("1000.0").first.wait_for()
    lab.save()

    assert graded(lab, apprentice) == 3.0
