"""Collecting hand-ins, the apprentices' bundle, the class report, and the demo class."""

import csv
import io
import json
import os
import re
import stat
import subprocess
import sys
import zipfile
from html import unescape
from pathlib import Path

import pytest

from refinishlib import cli
from refinishlib.course import lessons
from refinishlib.course.keys import key
from refinishlib.entry import BadEntry
from refinishlib.grading import bundle, democlass, handin
from refinishlib.grading import classroom as grading
from refinishlib.grading.answerspage import right_words
from refinishlib.grading.collect import collect

ROOT = Path(__file__).parents[2]
FULL = sum(question.points for question in lessons.questions("mixing", "demo").values())


def zipped(path: Path, files: dict[str, bytes], link: str = "") -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
        if link:
            about = zipfile.ZipInfo("mixing.ipynb")
            about.external_attr = (stat.S_IFLNK | 0o777) << 16
            archive.writestr(about, link)
    return path


def honest(classroom, who: str) -> bytes:
    return json.dumps(handin.filled(classroom.released, handin.texts("mixing", who))).encode()


def test_notebooks_and_zips_are_sorted_in_by_whose_they_are(classroom, tmp_path):
    inbox = tmp_path / "inbox"
    (inbox / "a03/their folder").mkdir(parents=True)
    notebooks = {
        who: json.dumps(handin.filled(classroom.released, handin.texts("mixing", who))).encode() for who in "abc"
    }
    (inbox / "a01-mixing.ipynb").write_bytes(notebooks["a"])
    zipped(inbox / "a02.zip", {"course/lessons/mixing/mixing.ipynb": notebooks["b"], "README.md": b"x"})
    (inbox / "a03/their folder/mixing.ipynb").write_bytes(notebooks["c"])
    (inbox / "a03/old.txt").write_text("x")
    os.utime(inbox / "a01-mixing.ipynb", (1_700_000_000, 1_700_000_000))
    result = collect(classroom.root, "mixing", inbox)
    assert sorted(result.taken) == ["a01", "a02", "a03"]
    assert list(result.left) == ["a03/old.txt"]
    assert (classroom.root / "submitted/a02/mixing/mixing.ipynb").read_bytes() == notebooks["b"]
    assert (classroom.root / "submitted/a01/mixing/timestamp.txt").read_text() == "2023-11-14 22:13:20 UTC"
    grading.grade(classroom.root, "mixing")
    assert set(classroom.scores()) == {"a01", "a02", "a03"}


def test_the_newest_of_two_counts(classroom, tmp_path):
    for name, when in (("a01-mixing.ipynb", 2_000), ("a01.zip", 1_000)):
        path = tmp_path / name
        path.write_bytes(b"new") if when == 2_000 else zipped(path, {"mixing.ipynb": b"old"})
        os.utime(path, (when, when))
    collect(classroom.root, "mixing", tmp_path)
    assert (classroom.root / "submitted/a01/mixing/mixing.ipynb").read_bytes() == b"new"


def hostile_inbox(inbox: Path, root: Path) -> None:
    zipped(inbox / "slip.zip", {"../../../../mixing.ipynb": b"{}", "/etc/mixing.ipynb": b"{}"})
    zipped(inbox / "slip-one.zip", {"../../../../gradebook/mixing.ipynb": b"{}"})
    zipped(inbox / "link.zip", {}, link=str(root / "gradebook.db"))
    zipped(inbox / "bomb.zip", {"mixing.ipynb": b"\0" * 300_000_000})
    zipped(inbox / "many.zip", {f"{n}.txt": b"" for n in range(3000)})
    (inbox / "not.zip").write_bytes(b"PK\3\4 and then nothing")
    whole = zipped(inbox / "cut.zip", {"mixing.ipynb": b"{}" * 500}).read_bytes()
    (inbox / "cut.zip").write_bytes(whole[: len(whole) // 2])
    # A zip that promises two bytes and gives more.
    raw = bytearray(zipped(inbox / "liar.zip", {"mixing.ipynb": b"x" * 100_000}).read_bytes())
    for at in [found.start() for found in re.finditer(rb"\xa0\x86\x01\x00", bytes(raw))]:
        raw[at : at + 4] = (2).to_bytes(4, "little")
    (inbox / "liar.zip").write_bytes(raw)
    (inbox / "<img src=x>-mixing.ipynb").write_bytes(b"{}")
    (inbox / "sly").symlink_to(root)
    (inbox / "sly-mixing.ipynb").symlink_to(root / "gradebook.db")
    os.mkfifo(inbox / "pipe-mixing.ipynb")
    with (inbox / "huge-mixing.ipynb").open("wb") as file:
        file.truncate(200_000_000)


def test_hostile_files_write_nothing_outside_and_are_each_one_line(classroom, tmp_path):
    inbox = tmp_path / "inbox"
    inbox.mkdir()
    hostile_inbox(inbox, classroom.root)
    (inbox / "ann-mixing.ipynb").write_text(
        json.dumps(handin.filled(classroom.released, handin.texts("mixing", "ann")))
    )
    before = {path for path in tmp_path.rglob("*") if "submitted" not in path.parts}
    result = collect(classroom.root, "mixing", inbox)
    after = {path for path in tmp_path.rglob("*") if "submitted" not in path.parts}
    assert after - before == {classroom.root / "collected.csv"} and before <= after
    assert set(result.taken) == {"ann", "slip-one"}, "a path inside a zip is only a name to compare"
    assert {path.relative_to(classroom.root).parts[0] for path in classroom.root.rglob("*.ipynb")} <= {
        *("lessons", "solutions", "submitted")
    }
    for name in ("slip", "link", "bomb", "many", "not", "cut", "liar"):
        assert any(line.startswith(f"{name}.zip") for line in result.left), name
    assert all("\n" not in why and len(why) < 150 for why in result.left.values())


def test_collecting_names_a_folder_that_is_not_there(classroom, tmp_path):
    with pytest.raises(BadEntry, match="folder"):
        collect(classroom.root, "mixing", tmp_path / "none")
    with pytest.raises(BadEntry, match="lesson"):
        collect(classroom.root, "baking", tmp_path)


def test_the_bundle_holds_lessons_and_library_and_no_solution_and_no_key(tmp_path):
    count = bundle.bundle(ROOT, tmp_path / "one.zip")
    assert bundle.bundle(ROOT, tmp_path / "two.zip") == count
    assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.zip").read_bytes()
    with zipfile.ZipFile(tmp_path / "one.zip") as archive:
        names = archive.namelist()
        archive.extractall(tmp_path / "theirs")
    theirs = tmp_path / "theirs" / bundle.TOP
    assert "refinishing-course/lessons/mixing/mixing.ipynb" in names
    assert not [name for name in names if re.search(r"solutions|_key\.py|_rubric|/grading/|\.db|submitted|tests", name)]
    for path in theirs.rglob("*"):
        if path.is_file() and path.suffix in (".py", ".ipynb", ".md"):
            text = path.read_text(encoding="utf-8")
            assert "BEGIN HIDDEN" not in text and "END SOLUTION" not in text, path
    work = (
        "from refinishlib.course import check\nimport refinishlib\n"
        "check.form('mixing', '1.1', 'ann', {'own_g': 12.0})\nprint(refinishlib.__file__)\n"
        "try:\n    check.mark('mixing', '1.1', 'ann', {'own_g': 12.0})\n"
        "except refinishlib.entry.BadEntry as bad: print(str(bad).split(':')[0])"
    )
    command = [sys.executable, "-c", f"import sys; sys.path.insert(0, {str(theirs)!r})\n{work}"]
    done = subprocess.run(command, cwd=theirs, capture_output=True, text=True)
    said = done.stdout.splitlines()
    assert said[0] == "Own weight: read as 12 g." and said[1].startswith("The form is fine"), done.stderr
    assert said[-1] == "There is no key of the lesson mixing here", done.stderr
    assert said[-2].startswith(str(theirs))


def test_the_bundle_has_a_readme_without_dead_links_and_only_its_own_commands(tmp_path):
    bundle.bundle(ROOT, tmp_path / "one.zip")
    with zipfile.ZipFile(tmp_path / "one.zip") as archive:
        archive.extractall(tmp_path)
    theirs = tmp_path / bundle.TOP
    readme = (theirs / "README.md").read_text(encoding="utf-8")
    assert not re.findall(r"\]\(", readme) and "INSTRUCTOR" not in readme and "demo-class" not in readme

    def refinish(*words: str) -> subprocess.CompletedProcess:
        run = f"import sys; sys.path.insert(0, {str(theirs)!r}); from refinishlib.cli import main; sys.exit(main())"
        return subprocess.run([sys.executable, "-c", run, *words], cwd=theirs, capture_output=True, text=True)

    listed = re.findall(r"^    ([a-z-]+)  ", refinish("--help").stdout, re.MULTILINE)
    assert listed == ["open", "bench"]
    for command in cli.COMMANDS:
        done = refinish(command, "--help")
        assert (done.returncode == 0) == (command in listed) and "Traceback" not in done.stderr, command
    for command in re.findall(r"refinish ([a-z-]+)", readme):
        assert command in listed


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    home, path = Path.cwd(), os.environ["PATH"]
    os.environ["PATH"] = f"{Path(sys.executable).parent}{os.pathsep}{path}"
    root = tmp_path_factory.mktemp("demo") / "class"
    summary, page = democlass.build(ROOT, root)
    os.chdir(home)
    os.environ["PATH"] = path
    return root, summary, page


def rows(root: Path, name: str) -> list[dict]:
    return list(csv.DictReader(io.StringIO((root / f"report/{name}.csv").read_text(encoding="utf-8-sig"))))


def test_the_demo_class_shows_every_kind_of_hand_in(demo):
    root, summary, page = demo
    assert summary.handed_in == 23 and len(summary.graded) == 23 and summary.failed == {}
    assert set(summary.needs) == {"a13", "a14", "a15", "a20", "a21", "a22"}
    marks = {row["apprentice"]: row for row in rows(root, "marks")}
    assert len(marks) == 24 and marks["a24"]["to_look_at"] == "not handed in, overdue" and marks["a24"]["score"] == ""
    assert float(marks["a05"]["late_h"]) == 30.0 and float(marks["a01"]["late_h"]) == 0.0
    assert float(marks["a10"]["score"]) == 0.0 and float(marks["a01"]["score"]) == FULL
    assert marks["a15"]["to_look_at"] == "holds code (6.1)"
    assert "a file that was cut short" not in page.read_text() and "cut short" in marks["a21"]["to_look_at"]


def test_the_report_says_who_needs_the_instructor_with_the_numbers_of_its_tables(demo):
    root, _, page = demo
    text = unescape(page.read_text(encoding="utf-8"))
    assert "http://" not in text and "https://" not in text and "src=" not in text
    for row in rows(root, "mistakes"):
        assert row["mistake"] in text and len(row["apprentices"].split()) == int(row["count"])
    counts = [int(row["count"]) for row in rows(root, "mistakes")]
    assert counts == sorted(counts, reverse=True) and counts[0] >= 3
    skills = rows(root, "skills")
    assert len({row["skill"] for row in skills}) >= 6
    earned = sum(float(row["points"]) for row in skills if row["apprentice"] == "a01")
    assert earned == pytest.approx(FULL)
    heads = {name: int(count) for name, count in re.findall(r"<h3>([A-Z][a-z ]+) <b>(\d+)</b>", text)}
    written = sum(int(row["to_mark"]) for row in rows(root, "marks"))
    assert heads["To look at"] == 6 and heads["Behind"] == 1 and heads["To mark by hand"] == written > 10
    assert "a24: mixing; due 2 Mar" in text and "a20, mixing: made for another id, a01" in text


def test_a_notebook_for_another_id_says_whose_it_is_and_what_it_would_earn(demo):
    page = (demo[0] / "report/answers/a20-mixing.html").read_text(encoding="utf-8")
    said = " ".join(re.sub(r"<[^>]+>", " ", page).split())
    assert "made for the id a01 , Ada Sander" in said
    assert f"would earn {FULL:g} of {FULL:g} points" in said


def test_an_answers_page_shows_card_right_value_typed_value_and_verdict(demo):
    page = unescape((demo[0] / "report/answers/a15-mixing.html").read_text(encoding="utf-8"))
    for name, asked in lessons.questions("mixing", "a15").items():
        assert asked.text in page and f"{name} {asked.title}" in page
        for part in asked.parts:
            assert right_words(part, key("mixing", "a15")[name][part.name]) in page
    assert "math.ceil(199.5)" in page and "holds code" in page
    assert "<script" not in page and "instructor only" in page


def test_a_demo_class_never_replaces_something_else(tmp_path):
    (tmp_path / "mine.txt").write_text("x")
    with pytest.raises(BadEntry, match="demo class"):
        democlass.build(ROOT, tmp_path)
    assert (tmp_path / "mine.txt").exists()


def test_the_command_tells_by_its_exit_code_whether_a_human_is_needed(classroom):
    command = [Path(sys.executable).parent / "refinish", "grade", "mixing"]
    bare = {name: value for name, value in os.environ.items() if name != "PATH"} | {"PATH": "/usr/bin:/bin"}

    def grade() -> subprocess.CompletedProcess:
        return subprocess.run(command, cwd=classroom.root / "lessons", env=bare, capture_output=True, text=True)

    (classroom.root / "gradebook.db").unlink()  # nbgrader calls alembic from PATH to make a new one
    classroom.hand_in("ann")
    done = grade()
    assert (done.returncode, done.stdout.count("1 graded now")) == (0, 1), done.stderr
    classroom.hand_in("ben", {"answer-1-1": "own_g = print()"})
    done = grade()
    assert done.returncode == 1 and "ben: holds code (1.1)" in done.stdout
    assert grade().returncode == 1, "it still needs a human"
