"""``refinish demo-class``: an invented class of 24, handed in and graded, to see everything in one minute."""

from __future__ import annotations

import argparse
import datetime
import json
import os
import shutil
import webbrowser
from pathlib import Path
from typing import Any

from refinishlib.entry import BadEntry
from refinishlib.grading import classlist, duedates, report
from refinishlib.grading.classlist import Apprentice
from refinishlib.grading.classroom import Summary, grade
from refinishlib.grading.handin import filled, hand_in, right_answer, texts, wrong_answer
from refinishlib.grading.release import release

FOLDER = "demo-class"
LESSON = "mixing"
DUE = datetime.datetime(2026, 3, 2, 16, 0)
# Invented names: what they do at the bench, not who they are.
NAMES = (
    "Ada Sander", "Ben Masker", "Cleo Primer", "Dov Stirrer", "Edda Taper", "Finn Sprayer", "Gwen Polisher",
    "Hal Blender", "Ines Tinter", "Jon Grinder", "Kaya Washer", "Lev Weigher", "Mina Filler", "Nils Baker",
    "Oda Clearcoat", "Per Dabber", "Quin Brusher", "Rosa Degreaser", "Sten Matcher", "Tove Flattener",
    "Ugo Shaker", "Vera Strainer", "Wim Buffer", "Xenia Duster",
)  # fmt: skip
WRITTEN = (
    "Half a per cent of 60 g is only 0.3 g, and the scale shows steps of 0.1 g. The little toner may be a third off, "
    "and the colour with it. I mix at least the smallest amount.",
    "The scale is too coarse for such a small mix.",
    "No idea.",
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--to", type=Path, help=f"an empty or new folder (the usual: {FOLDER} in the course's folder)")
    parser.add_argument("--no-open", action="store_true", help="do not show the report in the browser")


def run(arguments: argparse.Namespace) -> int:
    from refinishlib.course.folder import course_folder

    course = course_folder()
    root = (arguments.to or course / FOLDER).absolute()
    summary, page = build(course, root, show=True)
    print("\n".join(summary.lines))
    print(f"The class is in {root}, its report is {page}")
    if not arguments.no_open:
        webbrowser.open(page.as_uri())
    return 0


def build(course: Path, root: Path, *, show: bool = False) -> tuple[Summary, Path]:
    """Make the class in a new folder, grade it and write its report.

    Raises
    ------
    BadEntry : the folder holds something that is not an earlier demo class
    """
    if root.exists() and any(root.iterdir()):
        if not (root / "demo-class.txt").is_file():
            raise BadEntry(f"--to: {root} was given, allowed is a new folder or an earlier demo class.")
        shutil.rmtree(root)
    new_course(course, root)
    (root / "demo-class.txt").write_text("An invented class. This folder can be thrown away.\n", encoding="utf-8")
    os.chdir(root)
    hand_in_all(root)
    release(root, LESSON)
    classlist.save(root, [_apprentice(number, name) for number, name in enumerate(NAMES, 1)])
    classlist.take(root, root / classlist.NAME)
    duedates.save(root, {LESSON: DUE.replace(tzinfo=datetime.UTC).astimezone()})
    duedates.take(root, root / duedates.NAME)
    [summary] = grade(root, LESSON, show=show)
    return summary, report.write(root)


def _apprentice(number: int, name: str) -> Apprentice:
    first, last = name.split()
    return Apprentice(f"a{number:02}", first, last, "1 A")


def new_course(course: Path, root: Path) -> None:
    """A course folder of its own: nbgrader's settings, the solutions and the lessons."""
    root.mkdir(parents=True, exist_ok=True)
    shutil.copy(course / "nbgrader_config.py", root)
    for folder in ("solutions", "lessons"):
        shutil.copytree(course / folder, root / folder, dirs_exist_ok=True)


def hand_in_all(root: Path) -> None:
    """What the 24 hand in: seven good (two of them late), six with known mistakes, and each kind of trouble."""
    released = json.loads((root / "lessons" / LESSON / f"{LESSON}.ipynb").read_text(encoding="utf-8"))
    for number in range(1, len(NAMES) + 1):
        who = f"a{number:02}"
        notebook = _notebook(released, who, number)
        if notebook is None:
            continue
        path = hand_in(root, who, LESSON, notebook)
        late = datetime.timedelta(hours=30 if number in (5, 16) else -number)
        stamp = (DUE + late).strftime("%Y-%m-%d %H:%M:%S UTC")
        (path.parent / "timestamp.txt").write_text(stamp, encoding="utf-8")


def _notebook(released: dict[str, Any], who: str, number: int) -> dict[str, Any] | bytes | None:
    kind = {
        10: "blank",
        11: "blank",
        12: "half",
        13: "typing slip",
        14: "copied cell",
        15: "code",
        20: "for another id",
        21: "cut short",
        22: "empty",
        23: "script",
        24: "not handed in",
    }.get(number, "mistakes" if number in (4, 6, 8, 17, 18, 19) else "good")
    cells = texts(LESSON, who, wrong_answer(number % 3) if kind == "mistakes" else right_answer)
    cells["written-1"] = WRITTEN[number % len(WRITTEN)]
    if kind == "blank":
        return filled(released, {"answer-my-id": f'my_id = "{who}"'})
    if kind == "half":
        cells = texts(LESSON, who, only=4)
    if kind == "typing slip":
        cells["answer-1-1"] = "own_g = 7 gramms or so"
    if kind == "code":
        cells["answer-6-1"] = "import math\nready_ml = math.ceil(199.5)"
    if kind == "for another id":
        cells = texts(LESSON, "a01")
    if kind == "script":
        cells["written-1"] = "The scale is too coarse.\n\n<script>alert('from an answer')</script>"
    notebook = filled(released, cells)
    if kind == "copied cell":
        notebook["cells"] += [cell for cell in notebook["cells"] if _grade_id(cell) == "answer-2-1"]
    if kind == "cut short":
        return json.dumps(notebook).encode()[:9000]
    if kind == "empty":
        return b""
    return None if kind == "not handed in" else notebook


def _grade_id(cell: dict[str, Any]) -> str:
    return str(cell["metadata"].get("nbgrader", {}).get("grade_id", ""))
