"""``refinish upgrade``: bring a class to the lessons that are here now, after saying what that would move.

A lesson whose version was raised asks or marks something else. What the class has for the old version stays as it is,
hand-ins and marks, under the old version's name (``mixing-1``), and the lesson is handed out anew. A lesson of the same
version takes over its new text; where an engine or a key gives other marks today, the instructor is told which before
they move. All that could change is kept in ``backup/`` first, and ``--back`` brings the last of these back.
"""

from __future__ import annotations

import argparse
import datetime
import json
import os
import shutil
import sqlite3
import sys
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import refinishlib
from refinishlib.course import builder, lessons, release
from refinishlib.course.keys import COURSE_IN
from refinishlib.course.release import Release
from refinishlib.entry import BadEntry
from refinishlib.grading import handedout, record
from refinishlib.grading.classroom import grade, moved, would_move
from refinishlib.grading.ledger import NAME as LEDGER
from refinishlib.grading.ledger import Ledger, question_of
from refinishlib.grading.release import release as releasing

BACKUP = "backup"
SETTINGS = "nbgrader_config.py"
STEPS = ("submitted", "autograded", "feedback", "set_aside")
KEPT = (record.BOOK, LEDGER, SETTINGS, "solutions", "lessons", *STEPS)

Moves = dict[str, dict[str, tuple[float, float]]]


@dataclass
class LessonChange:
    """What an upgrade would do with one lesson.

    was : what was handed out; None where it is from before lessons had versions
    handed_in : whose hand-ins there are
    unmarked : written answers that nobody marked yet
    own_points : question to the points that the class has for it and that the lesson's text has
    moves : marks that would be others, by apprentice and check
    """

    lesson: str
    was: Release | None
    now: Release
    handed_in: list[str] = field(default_factory=list)
    unmarked: int = 0
    own_points: dict[str, tuple[float, float]] = field(default_factory=dict)
    moves: Moves = field(default_factory=dict)

    @property
    def version(self) -> int:
        return self.was.version if self.was else release.FIRST

    @property
    def new_version(self) -> bool:
        return (self.version, self.was.world if self.was else None) != (self.now.version, self.now.world)

    @property
    def old_name(self) -> str:
        return f"{self.lesson}-{self.version}"

    @property
    def lines(self) -> list[str]:
        """What would happen, in sentences."""
        if not self.new_version:
            same = "No job card moves."
            lines = [f"{self.lesson} {self.version}: its text is taken over. {same}", *self._moved()]
            return lines + [
                f"  {name}: {was:g} points in your course, {most:g} in the lesson's text; the text's points count then."
                for name, (was, most) in self.own_points.items()
            ]
        lines = [f"{self.lesson} {self.version} becomes {self.now}: job cards, questions or points are others."]
        if self.handed_in:
            count = "1 hand-in" if len(self.handed_in) == 1 else f"{len(self.handed_in)} hand-ins"
            lines.append(f"  {count} and all marks stay as they are, under the name {self.old_name}. No mark moves.")
        if self.unmarked:
            lines.append(f"  {self.unmarked} written answers of {self.lesson} {self.version} are not marked yet.")
        lines.append(f"  Hand out lessons/{self.lesson} anew. Hand-ins made from the old one are then refused.")
        return lines

    def _moved(self) -> list[str]:
        return [f"  {moved(self.moves)} They move."] if self.moves else ["  No mark moves."]


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--yes", action="store_true", help="go on without asking")
    parser.add_argument("--back", action="store_true", help="bring back what was there before the last upgrade")


def run(arguments: argparse.Namespace) -> int:
    from refinishlib.course.folder import course_folder

    root = course_folder()
    if arguments.back:
        print(f"{back(root)} is back. What was there is in {BACKUP}/ too.")
        return 0
    changes = plan(root)
    if not changes:
        print("Nothing to do: the class has the lessons that are here.")
        return 0
    print("\n".join(line for change in changes for line in change.lines))
    if not arguments.yes and not _agreed():
        print("Nothing was changed.")
        return 1
    kept = upgrade(root, changes).relative_to(root)
    print(f"Done. What was there is in {kept}; refinish upgrade --back brings it back.")
    return 0


def _agreed() -> bool:
    if not sys.stdin.isatty():
        raise BadEntry("upgrade: nobody is there to ask; look at the lines above and add --yes.")
    return input("Go on? Type yes: ").strip().casefold() in ("y", "yes")


def plan(root: Path) -> list[LessonChange]:
    """What an upgrade would do with each lesson that the class has; nothing is changed.

    Raises
    ------
    BadEntry : a key that is neither in the course's folder nor where the library lies
    """
    os.chdir(root)
    changes = []
    for lesson in lessons.names():
        released = root / "lessons" / lesson / f"{lesson}.ipynb"
        on_record = _on_record(root, lesson)
        if not released.is_file() and not on_record:
            continue
        _bring_keys_in_reach(root, lesson)
        text = released.read_text(encoding="utf-8") if released.is_file() else '{"cells": []}'
        change = LessonChange(lesson, handedout.handed_out(text), handedout.now(lesson))
        change.handed_in = sorted({folder.parent.name for folder in root.glob(f"submitted/*/{lesson}")})
        change.unmarked = sum(not cell.is_check for cells in _open(root, lesson).values() for cell in cells)
        if change.new_version:
            changes.append(change)
            continue
        change.moves = _moves(root, lesson) if change.handed_in else {}
        as_built = builder.written(lesson, root)
        change.own_points = _own_points(root, lesson, json.loads(as_built)) if change.handed_in else {}
        source = root / "solutions" / lesson / f"{lesson}.ipynb"
        behind = not source.is_file() or source.read_text(encoding="utf-8") != as_built
        unlike = bool(on_record) and on_record != _school_cells(json.loads(as_built))
        if change.moves or behind or unlike or handedout.moved_on(lesson, text):
            changes.append(change)
    return changes


def upgrade(root: Path, changes: list[LessonChange]) -> Path:
    """Do what `plan` said; says where the backup is."""
    os.chdir(root)
    kept = back_up(root)
    for change in changes:
        if change.new_version:
            _put_by(root, change)
    _bring(root, [change.lesson for change in changes])
    for change in changes:
        path = root / "solutions" / change.lesson / f"{change.lesson}.ipynb"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(builder.written(change.lesson, root), encoding="utf-8")
        released = releasing(root, change.lesson)
        if change.moves:
            ledger = Ledger(root)
            for who in change.moves:
                ledger.add(ledger.rows[change.lesson, who] | {"handed_in": ""})
        if change.moves or released.points:
            grade(root, change.lesson)
    return kept


def back_up(root: Path) -> Path:
    """Copy all that an upgrade could change into a folder of its own, named by the time; says which."""
    when = datetime.datetime.now().strftime("%Y-%m-%d %H-%M-%S")
    names = [when, *(f"{when} ({number})" for number in range(2, 99))]
    kept = next(folder for name in names if not (folder := root / BACKUP / name).exists())
    kept.mkdir(parents=True)
    for name in KEPT:
        path = root / name
        if name == record.BOOK and path.is_file():
            with closing(sqlite3.connect(path)) as book, closing(sqlite3.connect(kept / name)) as copy:
                book.backup(copy)
        elif path.is_dir():
            shutil.copytree(path, kept / name, symlinks=True)
        elif path.is_file():
            shutil.copy2(path, kept / name)
    return kept


def back(root: Path) -> str:
    """Bring back the last backup, and keep what is there now in one of its own; says which was brought back.

    Raises
    ------
    BadEntry : there is no backup
    """
    folders = sorted(one for one in (root / BACKUP).glob("*") if one.is_dir() and not one.name.endswith("back"))
    if not folders:
        raise BadEntry(f"upgrade: there is no backup in {root / BACKUP}.")
    kept = back_up(root)
    kept.rename(kept.with_name(f"{kept.name}, before going back"))
    for name in KEPT:
        path, old = root / name, folders[-1] / name
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path)
        else:
            path.unlink(missing_ok=True)
        if old.exists():
            old.rename(path)
    shutil.rmtree(folders[-1])
    return folders[-1].name


# --- what is there ---------------------------------------------------------------------------------------------------


def _on_record(root: Path, lesson: str) -> set[str]:
    try:
        with record.opened(root / record.BOOK) as book:
            return {name for name, _ in book.execute(record.SCHOOL_CELLS, (lesson, lesson))}
    except record.NotOnRecord:
        return set()


def _open(root: Path, lesson: str) -> dict[str, list[record.Open]]:
    try:
        return record.still_open(root, lesson)
    except record.NotOnRecord:
        return {}


def _moves(root: Path, lesson: str) -> Moves:
    """Marks that would be others if they were graded today; those who were never graded have none to lose."""
    released = root / "lessons" / lesson / f"{lesson}.ipynb"
    try:
        on_record = record.load(released, f"sqlite:///{root / record.BOOK}", lesson, lesson)
    except record.LessonDiffers:
        return {}
    ledger = Ledger(root)
    graded = [who for (of, who), row in ledger.rows.items() if of == lesson and row.get("outcomes")]
    return would_move(root, lesson, on_record, ledger, sorted(set(graded) & record.graded(root, lesson)))


def _own_points(root: Path, lesson: str, notebook: dict[str, Any]) -> dict[str, tuple[float, float]]:
    """Questions that count other points in this course than in a notebook: both."""
    about = [cell["metadata"]["nbgrader"] for cell in notebook["cells"] if "nbgrader" in cell["metadata"]]
    text = {one["grade_id"]: float(one["points"]) for one in about if one.get("grade")}
    try:
        on_record = record.points(root, lesson)
    except record.NotOnRecord:
        return {}
    return {question_of(name): (most, text[name]) for name, most in on_record.items() if text.get(name, most) != most}


def _school_cells(notebook: dict[str, Any]) -> set[str]:
    return {cell["metadata"]["nbgrader"]["grade_id"] for cell in notebook["cells"] if "nbgrader" in cell["metadata"]}


def _checkout() -> Path:
    return Path(refinishlib.__file__).resolve().parents[1]


def _bring_keys_in_reach(root: Path, lesson: str) -> None:
    """Let keys be found beside the library while the course's folder has none yet."""
    if (root / "solutions" / f"{lesson}_key.py").is_file():
        os.environ.pop(COURSE_IN, None)
    elif (_checkout() / "solutions" / f"{lesson}_key.py").is_file():
        os.environ[COURSE_IN] = str(_checkout())
    else:
        raise BadEntry(
            f"upgrade: there is no {lesson}_key.py in {root / 'solutions'}, allowed is the folder solutions/ of the "
            "course as it is now; put its files there and type the command again."
        )


# --- the steps -------------------------------------------------------------------------------------------------------


def _bring(root: Path, names: list[str]) -> None:
    """Keys, rubrics and settings from beside the library, where the course's folder has them not or in an old form."""
    origin = _checkout()
    os.environ.pop(COURSE_IN, None)
    if origin == root.resolve() or not (origin / "solutions").is_dir():
        return
    wanted = [f"solutions/{lesson}_{what}" for lesson in names for what in ("key.py", "rubric.md")]
    for name in [SETTINGS, *wanted]:
        if (origin / name).is_file():
            (root / name).parent.mkdir(exist_ok=True)
            shutil.copyfile(origin / name, root / name)


def _put_by(root: Path, change: LessonChange) -> None:
    """Keep a class's hand-ins and marks of an old version under a name of their own."""
    lesson, name = change.lesson, change.old_name
    if (root / record.BOOK).is_file():
        with closing(sqlite3.connect(root / record.BOOK)) as book, book:
            book.execute("UPDATE assignment SET name = ? WHERE name = ?", (name, lesson))
    for step in STEPS:
        for folder in (root / step).glob(f"*/{lesson}"):
            folder.rename(folder.with_name(name))
    ledger = Ledger(root)
    renamed = {(of, who): row for (of, who), row in ledger.rows.items() if of != lesson}
    for (of, who), row in ledger.rows.items():
        if of == lesson:
            renamed[name, who] = {"version": change.version} | row | {"lesson": name}
    ledger.keep(renamed)
    for place in ("lessons", "solutions"):
        shutil.rmtree(root / place / lesson, ignore_errors=True)
