"""Names that one system takes and another does not: refused everywhere, with a sentence, before a folder is made."""

import json
from pathlib import Path

import pytest

from refinishlib.course.folder import can_be_a_folder
from refinishlib.course.lab.desk import checked_id
from refinishlib.course.newlesson import new_lesson
from refinishlib.course.world import world
from refinishlib.entry import BadEntry
from refinishlib.grading import classlist, collect
from refinishlib.grading.handedin import is_plain_id

ROOT = Path(__file__).parents[1]
# What Windows refuses or changes, see "Naming Files, Paths, and Namespaces" in Microsoft's documentation (2024).
DEVICES = ["con", "CON", "prn", "aux", "nul", "com1", "COM9", "lpt1", "com0", "con.txt", "nul.tar.gz", "aux .x"]
CHANGED = ["a07.", "a07 ", "a07..", ".", ".."]
FORBIDDEN = ["a:07", "a/07", "a\\07", "a*", "a?", 'a"', "a<b", "a|b", "a\n07", "a\x00"]
EVERYWHERE = ["a07", "a.07", "console", "com10", "auxiliary", "nula", "gwen.p", "o-neil", "a_7"]


@pytest.mark.parametrize("name", [*DEVICES, *CHANGED, *FORBIDDEN, ""])
def test_a_name_that_some_system_does_not_take_is_none(name):
    assert not can_be_a_folder(name) and not is_plain_id(name)


@pytest.mark.parametrize("name", EVERYWHERE)
def test_a_name_that_only_looks_like_one_is_fine(name):
    assert can_be_a_folder(name) and is_plain_id(name) and checked_id(name) == name


@pytest.mark.parametrize("name", ["con", "NUL", "lpt1", "con.txt", "a07.", "a:07", "a/07", "."])
def test_an_apprentice_is_asked_for_another_id(name):
    with pytest.raises(BadEntry, match=r"^Your id: "):
        checked_id(name)


@pytest.mark.parametrize("name", ["con", "NUL", "com1", "aux.x", "a07.", "a:07"])
def test_a_class_list_with_such_an_id_is_refused_with_its_row(tmp_path, name):
    (tmp_path / "class.csv").write_text(f"id\na06\n{name}\n", encoding="utf-8")
    with pytest.raises(BadEntry, match=r"^class\.csv, apprentice 2: "):
        classlist.read(tmp_path / "class.csv")


def test_two_ids_that_differ_only_in_capitals_are_one_and_the_class_list_says_so(tmp_path):
    (tmp_path / "class.csv").write_text("id\nA07\na07\n", encoding="utf-8")
    with pytest.raises(BadEntry, match='the id "a07" stands there twice'):
        classlist.read(tmp_path / "class.csv")


def test_nothing_is_filed_under_a_name_that_cannot_be_carried_to_another_machine(tmp_path):
    root, inbox = tmp_path / "course", tmp_path / "inbox"
    notebook = json.dumps({"cells": [], "metadata": {}, "nbformat": 4, "nbformat_minor": 5})
    (root / "lessons/mixing").mkdir(parents=True)
    (root / "lessons/mixing/mixing.ipynb").write_text(notebook)
    for who in ("con", "nul", "com1", "a07"):
        (inbox / who).mkdir(parents=True)
        (inbox / who / "mixing.ipynb").write_text(notebook)
    collect.collect(root, "mixing", inbox)
    assert {path.name for path in (root / "submitted").iterdir()} == {"a07"}


@pytest.mark.parametrize("name", ["con", "nul", "com1", "lpt9", "a.b", "Sealing", "seal ing", "seal:ing", ""])
def test_no_lesson_gets_such_a_name(tmp_path, name):
    with pytest.raises(BadEntry, match=r"^name: "):
        new_lesson(tmp_path, name, "Sealing")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("version", ["con", "../1", "1.", "1 ", "1:"])
def test_no_world_is_looked_for_under_such_a_name(version):
    with pytest.raises(BadEntry, match=r"^world: "):
        world(version)


def test_the_project_itself_can_be_copied_to_any_system():
    below = [path.relative_to(ROOT) for room in ("refinishlib", "tests", "solutions", "lessons") for path in
             (ROOT / room).rglob("*") if "__pycache__" not in path.parts]  # fmt: skip
    assert [path for path in below if not all(map(can_be_a_folder, path.parts))] == []
    seen: dict[str, Path] = {}
    assert [path for path in below if seen.setdefault(str(path).casefold(), path) != path] == []
