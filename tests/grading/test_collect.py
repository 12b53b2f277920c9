"""Collecting what a class hands in: every file is one line, nobody is invented, everybody else is collected."""

import bz2
import csv
import datetime
import json
import lzma
import os
import random
import zipfile
from pathlib import Path

import pytest

from refinishlib.entry import BadEntry
from refinishlib.grading import classlist, collect
from refinishlib.grading.classlist import Apprentice
from refinishlib.grading.collect import CLAIMED, FROM_FILE

CLASS = ("a06", "a07", "a10", "b07", "gwen.p")
NOTEBOOK = json.dumps({"cells": [], "metadata": {}, "nbformat": 4, "nbformat_minor": 5}).encode()


@pytest.fixture
def course(tmp_path):
    """A course folder with one lesson, and an inbox in which one apprentice did everything right."""
    root = tmp_path / "course"
    (root / "lessons/mixing").mkdir(parents=True)
    (root / "lessons/mixing/mixing.ipynb").write_bytes(NOTEBOOK)
    (tmp_path / "inbox").mkdir()
    (tmp_path / "inbox/gwen.p-mixing.ipynb").write_bytes(NOTEBOOK)
    return root


@pytest.fixture
def inbox(course):
    return course.parent / "inbox"


def with_class(course: Path) -> Path:
    classlist.save(course, [Apprentice(who) for who in CLASS])
    return course


def filed(course: Path) -> set[str]:
    return {path.parent.parent.name for path in course.glob("submitted/*/mixing/mixing.ipynb")}


def claiming(when: object) -> bytes:
    return json.dumps({"cells": [], "metadata": {"refinish": {"handed_in": when}}}).encode()


def zipped(
    path: Path, kind: int = zipfile.ZIP_DEFLATED, name: str = "mixing.ipynb", content: bytes = NOTEBOOK
) -> bytes:
    with zipfile.ZipFile(path, "w", kind) as archive:
        archive.writestr(name, content)
    return path.read_bytes()


def damaged_lzma(path: Path) -> None:
    raw = bytearray(zipped(path, zipfile.ZIP_LZMA, content=random.Random(1).randbytes(5000)))
    raw[60:90] = b"\xff" * 30
    path.write_bytes(raw)


def damaged_bzip2(path: Path) -> None:
    raw = bytearray(zipped(path, zipfile.ZIP_BZIP2, content=random.Random(1).randbytes(5000)))
    raw[60:90] = b"\0" * 30
    path.write_bytes(raw)


def wrong_checksum(path: Path) -> None:
    raw = bytearray(zipped(path, zipfile.ZIP_STORED))
    raw[raw.index(NOTEBOOK)] ^= 1
    path.write_bytes(raw)


def unknown_packing(path: Path) -> None:
    raw = bytearray(zipped(path))
    for at in (8, raw.index(b"PK\1\2") + 10):
        raw[at : at + 2] = (97).to_bytes(2, "little")
    path.write_bytes(raw)


def with_password(path: Path) -> None:
    raw = bytearray(zipped(path))
    for at in (6, raw.index(b"PK\1\2") + 8):
        raw[at] |= 1
    path.write_bytes(raw)


def two_notebooks(path: Path) -> None:
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("monday/mixing.ipynb", NOTEBOOK)
        archive.writestr("tuesday/mixing.ipynb", NOTEBOOK)


def another_lesson(path: Path) -> None:
    zipped(path, name="baking.ipynb")


def zip_in_a_zip(path: Path) -> None:
    zipped(path, name="a07.zip")


# How somebody's zip can be broken, and a word of the one line that says so.
BROKEN = {
    "lzma": (damaged_lzma, "damaged"),
    "bzip2": (damaged_bzip2, "damaged"),
    "checksum": (wrong_checksum, "damaged"),
    "packing": (unknown_packing, "unusual"),
    "password": (with_password, "password"),
    "two": (two_notebooks, "2 notebooks"),
    "another": (another_lesson, "0 notebooks"),
    "nested": (zip_in_a_zip, "0 notebooks"),
    "empty": (lambda path: path.write_bytes(b""), "damaged"),
    "text": (lambda path: path.write_text("this is my homework"), "damaged"),
    "picture": (lambda path: path.write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(500)), "damaged"),
    "bz2 file": (lambda path: path.write_bytes(bz2.compress(NOTEBOOK)), "damaged"),
    "xz file": (lambda path: path.write_bytes(lzma.compress(NOTEBOOK)), "damaged"),
}


@pytest.mark.parametrize("kind", BROKEN)
def test_one_damaged_zip_is_one_line_and_the_others_are_collected(course, inbox, kind):
    make, word = BROKEN[kind]
    make(inbox / "a07.zip")
    result = collect.collect(with_class(course), "mixing", inbox)
    assert list(result.left) == ["a07.zip"] and word in result.left["a07.zip"]
    assert "\n" not in result.left["a07.zip"] and "Error" not in result.left["a07.zip"]
    assert filed(course) == {"gwen.p"}


@pytest.mark.parametrize("kind", [zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_whole_zips_of_every_kind_are_collected(course, inbox, kind):
    zipped(inbox / "a07.zip", kind)
    assert set(collect.collect(with_class(course), "mixing", inbox).taken) == {"a07", "gwen.p"}


def refuse(monkeypatch, name: str, target: Path) -> None:
    """Let the operating system refuse one path, as it does for a file that belongs to somebody else."""
    module, attribute = (os, "scandir") if name == "scandir" else (Path, name)
    real = getattr(module, attribute)

    def refused(path, *more, **named):
        if Path(os.fsdecode(path)) == target:
            raise PermissionError(13, "Permission denied", str(path))
        return real(path, *more, **named)

    monkeypatch.setattr(module, attribute, refused)


def test_an_unreadable_file_is_one_line(course, inbox, monkeypatch):
    (inbox / "a07-mixing.ipynb").write_bytes(NOTEBOOK)
    refuse(monkeypatch, "read_bytes", inbox / "a07-mixing.ipynb")
    result = collect.collect(with_class(course), "mixing", inbox)
    assert result.left == {"a07-mixing.ipynb": "it cannot be opened: Permission denied"}
    assert filed(course) == {"gwen.p"}


def test_an_unreadable_folder_is_one_line(course, inbox, monkeypatch):
    (inbox / "a07").mkdir()
    refuse(monkeypatch, "scandir", inbox / "a07")
    result = collect.collect(with_class(course), "mixing", inbox)
    assert result.left == {"a07/": "the folder cannot be opened: Permission denied"}
    assert filed(course) == {"gwen.p"}


def test_a_folder_nine_deep_is_one_line(course, inbox):
    deep = inbox.joinpath("a07", *"bcdefghi")
    deep.mkdir(parents=True)
    for number in range(40):
        (deep / f"{number}-mixing.ipynb").write_bytes(NOTEBOOK)
    result = collect.collect(with_class(course), "mixing", inbox)
    assert len(result.left) == 1 and "deep" in next(iter(result.left.values()))
    assert filed(course) == {"gwen.p"}


def test_a_folder_of_20_000_files_is_one_line(course, inbox):
    (inbox / "a07").mkdir()
    for number in range(20_000):
        (inbox / "a07" / f"{number}.txt").touch()
    result = collect.collect(with_class(course), "mixing", inbox)
    assert result.left == {"a07/": "the folder holds more than 2000 files; ask for the notebook alone"}
    assert filed(course) == {"gwen.p"}


def test_twenty_thousand_files_beside_the_hand_ins_are_one_line_too(course, inbox):
    for number in range(20_000):
        (inbox / f"photo {number}.jpg").touch()
    result = collect.collect(with_class(course), "mixing", inbox)
    assert len(result.left) == 1 and "20000 files" in next(iter(result.left.values()))
    assert filed(course) == {"gwen.p"}


def test_a_place_that_cannot_be_written_is_one_line(course, inbox):
    (course / "submitted").mkdir()
    (course / "submitted/a07").write_text("not a folder")
    (inbox / "a07-mixing.ipynb").write_bytes(NOTEBOOK)
    result = collect.collect(with_class(course), "mixing", inbox)
    assert "could not be filed" in result.left["a07-mixing.ipynb"] and filed(course) == {"gwen.p"}


def test_a_bad_entry_is_not_swallowed_as_a_damaged_zip(course, inbox):
    with zipfile.ZipFile(inbox / "a07.zip", "w") as archive:
        for number in range(collect.MOST_ENTRIES + 1):
            archive.writestr(f"{number}.txt", "")
    result = collect.collect(course, "mixing", inbox)
    assert result.left["a07.zip"] == "the zip holds 2001 files, more than 2000"


# What a file can be called, and whose it is in the class of CLASS; None where nobody can say.
NAMES = {
    "a07-mixing.ipynb": "a07",
    "A10-mixing.ipynb": "a10",
    "A07.zip": "a07",
    "a07-.zip": "a07",
    "a07_mixing.ipynb": "a07",
    "mixing-a07.ipynb": "a07",
    "mixing a07.ipynb": "a07",
    "  a07 - mixing.ipynb": "a07",
    "a07-mixing (1).ipynb": "a07",
    "a07-mixing(2).ipynb": "a07",
    "a07-mixing-Copy1.ipynb": "a07",
    "a07-mixing - Copy.ipynb": "a07",
    "a07 (3).zip": "a07",
    "a07-mixing-Copy1 (1).ipynb": "a07",
    "gwen.P-mixing.ipynb": "gwen.p",
    "a07/mixing.ipynb": "a07",
    "A07/mixing-Copy1.ipynb": "a07",
    "a07-mixing/mixing.ipynb": "a07",
    "class 1/a07-mixing.ipynb": "a07",
    "group/a07/work/mixing.ipynb": "a07",
    "a7-.zip": None,
    "a7-mixing.ipynb": None,
    "mixing-2.ipynb": None,
    "mixing.ipynb": None,
    "mixing (1).ipynb": None,
    "mixing-Copy1.ipynb": None,
    "Copy of mixing.ipynb": None,
    "a11-mixing.ipynb": None,
    "somebody/mixing.ipynb": None,
    "аnn-mixing.ipynb": None,
}


@pytest.mark.parametrize("name", NAMES)
def test_with_a_class_list_no_unknown_id_becomes_an_apprentice(course, inbox, name):
    (inbox / "gwen.p-mixing.ipynb").unlink()
    path = inbox / name
    path.parent.mkdir(parents=True, exist_ok=True)
    zipped(path) if name.endswith(".zip") else path.write_bytes(NOTEBOOK)
    result = collect.collect(with_class(course), "mixing", inbox)
    assert filed(course) == ({NAMES[name]} if NAMES[name] else set())
    assert list(result.unknown) == ([] if NAMES[name] else [str(Path(name))])
    assert result.left == {}


def test_an_unknown_id_is_shown_with_the_nearest_known_ones(course, inbox):
    (inbox / "a7-mixing.ipynb").write_bytes(NOTEBOOK)
    result = collect.collect(with_class(course), "mixing", inbox)
    assert result.nearest["a7-mixing.ipynb"][0] == "a07"
    said = "\n".join(collect.lines_of("mixing", result))
    assert "nobody yet: a7-mixing.ipynb, the class list has no id 'a7'; nearest: a07" in said
    assert "--new" in said and "--names unknown_ids.csv" in said


def test_the_instructor_says_whose_it_is_with_a_table(course, inbox, monkeypatch, capsys):
    (inbox / "mixing (1).ipynb").write_bytes(NOTEBOOK)
    (inbox / "a7-mixing.ipynb").write_bytes(NOTEBOOK)
    with_class(course)
    monkeypatch.setattr("refinishlib.course.folder.course_folder", lambda: course)
    (course / "nbgrader_config.py").touch()
    words = {"lesson": "mixing", "folder": inbox, "new": [], "names": None}
    assert collect.run(type("Given", (), words)) == 1
    table = course / "unknown_ids.csv"
    with table.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert {row["handed in as"] for row in rows} == {"mixing (1).ipynb", "a7-mixing.ipynb"}
    table.write_text("handed in as;id;nearest\nmixing (1).ipynb;a06;\na7-mixing.ipynb;A07;a07\n")
    assert collect.run(type("Given", (), words | {"names": table})) == 0
    assert filed(course) == {"gwen.p", "a06", "a07"}
    assert "3 collected" in capsys.readouterr().out


def test_a_table_of_names_cannot_make_an_apprentice_either(course, inbox):
    (inbox / "mixing.ipynb").write_bytes(NOTEBOOK)
    with pytest.raises(BadEntry, match="a99"):
        collect.collect(with_class(course), "mixing", inbox, names={"mixing.ipynb": "a99"})
    with pytest.raises(BadEntry, match="id"):
        collect.collect(with_class(course), "mixing", inbox, names={"mixing.ipynb": "../a06"})
    assert filed(course) == set()


def test_new_ids_are_added_to_the_class_list_and_no_other(course, inbox):
    for who in ("a31", "a32"):
        (inbox / f"{who}-mixing.ipynb").write_bytes(NOTEBOOK)
    result = collect.collect(with_class(course), "mixing", inbox, new=["A31"])
    assert filed(course) == {"a31", "gwen.p"} and list(result.unknown) == ["a32-mixing.ipynb"]
    assert [one.id for one in classlist.load(course)] == [*CLASS, "a31"]


def test_a_file_of_one_in_the_folder_of_another_is_left(course, inbox):
    (inbox / "a06").mkdir()
    (inbox / "a06/a07-mixing.ipynb").write_bytes(NOTEBOOK)
    result = collect.collect(with_class(course), "mixing", inbox)
    assert "its place says a06 and its name says a07" in result.left[str(Path("a06/a07-mixing.ipynb"))]


def test_without_a_class_list_copies_are_still_no_apprentices(course, inbox):
    for name in ("mixing-Copy1.ipynb", "mixing-2.ipynb", "mixing (1).ipynb", "A10-mixing (1).ipynb"):
        (inbox / name).write_bytes(NOTEBOOK)
    result = collect.collect(course, "mixing", inbox)
    assert filed(course) == {"a10", "gwen.p"} and len(result.left) == 3


def test_the_newest_of_several_copies_counts(course, inbox):
    for hour, name in enumerate(("a07-mixing.ipynb", "a07-mixing (1).ipynb", "A07-mixing-Copy1.ipynb"), 1):
        (inbox / name).write_bytes(claiming(f"2026-03-02T{hour:02}:00:00+00:00"))
    result = collect.collect(with_class(course), "mixing", inbox)
    assert result.taken["a07"] == "A07-mixing-Copy1.ipynb"


@pytest.mark.parametrize(
    "said", ["2999-01-01T00:00:00+00:00", "yesterday", 20260302, None, ["2026"], "", "0001-01-01T00:00:00+00:00"]
)
def test_a_time_that_cannot_be_is_not_believed(course, inbox, said):
    path = inbox / "a07-mixing.ipynb"
    path.write_bytes(claiming(said))
    os.utime(path, (1_700_000_000, 1_700_000_000))
    result = collect.collect(with_class(course), "mixing", inbox)
    assert result.times["a07"] == FROM_FILE
    assert (course / "submitted/a07/mixing/timestamp.txt").read_text() == "2023-11-14 22:13:20 UTC"


def test_the_time_of_handing_in_is_the_notebooks_own_and_is_said_to_be(course, inbox):
    (inbox / "a07-mixing.ipynb").write_bytes(claiming("2026-03-02T15:30:00+01:00"))
    result = collect.collect(with_class(course), "mixing", inbox)
    assert result.times == {"a07": CLAIMED, "gwen.p": FROM_FILE}
    assert (course / "submitted/a07/mixing/timestamp.txt").read_text() == "2026-03-02 14:30:00 UTC"
    record = collect.collected(course)
    assert record["mixing", "a07"]["time from"] == CLAIMED
    local = datetime.datetime(2026, 3, 2, 14, 30, tzinfo=datetime.UTC).astimezone()
    assert record["mixing", "a07"]["time"] == f"{local:%Y-%m-%d %H:%M}"
    assert "1 of them do not say when" in "\n".join(collect.lines_of("mixing", result))


def test_an_empty_inbox_is_said_to_be_empty(course, inbox):
    (inbox / "gwen.p-mixing.ipynb").unlink()
    assert collect.lines_of("mixing", collect.collect(course, "mixing", inbox))[0].startswith("Nothing was handed in")
