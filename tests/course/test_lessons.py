"""Notebooks are what the texts build, lessons/ what they generate; exercises have the shape that apprentices know."""

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from refinishlib.course import builder, lessons
from refinishlib.course.question import fields

ROOT = Path(__file__).parents[2]
NBGRADER = (Path(sys.executable).parent / "nbgrader",)
SOURCES = sorted((ROOT / "solutions").glob("*/*.ipynb"))


def cells(path):
    return json.loads(path.read_text(encoding="utf-8"))["cells"]


def marked(cell):
    return cell["metadata"].get("nbgrader", {})


def text(cell):
    return "".join(cell["source"])


def test_every_lesson_of_the_library_has_its_notebook():
    assert {path.parent.name for path in SOURCES} == set(lessons.names())


@pytest.mark.parametrize("lesson", lessons.names())
def test_the_notebook_is_byte_for_byte_what_the_text_builds(lesson):
    path = ROOT / "solutions" / lesson / f"{lesson}.ipynb"
    assert path.read_text(encoding="utf-8") == builder.written(lesson, ROOT), f"type: refinish build {lesson}"


def test_lessons_are_byte_for_byte_what_solutions_generate(tmp_path):
    shutil.copytree(ROOT / "solutions", tmp_path / "solutions")
    shutil.copy(ROOT / "nbgrader_config.py", tmp_path)
    for lesson in sorted({path.parent.name for path in SOURCES}):
        words = [*NBGRADER, "generate_assignment", lesson, "--no-db"]
        subprocess.run(words, cwd=tmp_path, check=True, capture_output=True)
    made = {p.relative_to(tmp_path): p.read_bytes() for p in (tmp_path / "lessons").rglob("*") if p.is_file()}
    kept = {
        p.relative_to(ROOT): p.read_bytes()
        for p in (ROOT / "lessons").rglob("*")
        if p.is_file() and ".ipynb_checkpoints" not in p.parts
    }
    assert made == kept


@pytest.mark.parametrize("path", SOURCES, ids=lambda p: p.stem)
def test_notebooks_are_committed_clean(path):
    notebook = json.loads(path.read_text(encoding="utf-8"))
    assert notebook["metadata"]["kernelspec"]["name"] == "python3"
    ids = [cell["id"] for cell in notebook["cells"]]
    assert len(set(ids)) == len(ids)
    for cell in notebook["cells"]:
        assert not cell.get("outputs") and cell.get("execution_count") is None
    grade_ids = [marked(cell).get("grade_id") for cell in notebook["cells"]]
    assert None not in grade_ids and len(set(grade_ids)) == len(grade_ids)


@pytest.mark.parametrize("path", SOURCES, ids=lambda p: p.stem)
def test_exercises_have_the_shape_that_apprentices_know(path):
    lesson = path.parent.name
    asked = lessons.questions(lesson, "demo")
    by_id = {marked(cell)["grade_id"]: cell for cell in cells(path)}
    released = {marked(cell)["grade_id"]: cell for cell in cells(ROOT / "lessons" / lesson / path.name)}
    for name, question in asked.items():
        slug = name.replace(".", "-")
        answer, check = released[f"answer-{slug}"], by_id[f"check-{slug}"]
        # Only `name = ...` lines with a comment each; the part's name is what the check reads.
        lines = [line for line in text(answer).splitlines() if line.strip() and not line.startswith("#")]
        assert [re.fullmatch(r"(\w+) = \.\.\.  # .+", line)[1] for line in lines] == [p.name for p in question.parts]
        assert marked(check)["points"] == question.points
        assert answer["metadata"]["refinish"]["answer"] == fields(question)
        assert "HIDDEN" not in text(released[f"check-{slug}"]) and "mark(" not in text(released[f"check-{slug}"])
        assert "mark(" in text(check)
    for cell in released.values():
        if cell["cell_type"] == "code":
            assert text(cell).startswith("# "), "the first line says in plain words what the cell does"
            assert "raises-exception" in cell["metadata"]["tags"]
            hidden = cell["metadata"].get("jupyter", {}).get("source_hidden", False)
            assert hidden == marked(cell)["locked"], marked(cell)["grade_id"]
    assert sum(marked(c).get("points", 0) for c in by_id.values() if c["cell_type"] == "code") == sum(
        question.points for question in asked.values()
    )


def test_no_key_and_no_solution_in_what_apprentices_get():
    for path in (ROOT / "lessons").rglob("*.ipynb"):
        whole = path.read_text(encoding="utf-8")
        assert (
            "SOLUTION" not in whole and "course.keys" not in whole and "_key" not in whole and "check.mark" not in whole
        )
