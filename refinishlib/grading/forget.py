"""``refinish forget a07``: remove one apprentice from everything in the course's folder.

That is the grade book, hand-ins, graded copies, feedback, what was set aside, the ledger, the report, tables such as
the class list, nbgrader's log, and all of these in ``backup/``. What lies elsewhere (an inbox, a mail, a copy of the
folder) is the instructor's to remove.
"""

from __future__ import annotations

import argparse
import csv
import io
import re
import shutil
import sqlite3
import sys
from contextlib import closing
from pathlib import Path

from refinishlib.entry import BadEntry
from refinishlib.grading import record
from refinishlib.grading.handedin import is_plain_id
from refinishlib.grading.ledger import NAME as LEDGER
from refinishlib.grading.ledger import Ledger
from refinishlib.grading.upgrade import BACKUP, STEPS

REPORT = "report"
LOGS = (".nbgrader.log",)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("apprentice", help="the id, as the grade book has it")
    parser.add_argument("--yes", action="store_true", help="go on without asking")


def run(arguments: argparse.Namespace) -> int:
    from refinishlib.course.folder import course_folder

    root, who = course_folder(), arguments.apprentice
    if not arguments.yes:
        if not sys.stdin.isatty():
            raise BadEntry("forget: nobody is there to ask; add --yes. It cannot be undone.")
        print(f"{who} and all marks are removed, also from {BACKUP}/. This cannot be undone.")
        if input(f"Type {who} to go on: ").strip() != who:
            print("Nothing was changed.")
            return 1
    places = forget(root, who)
    print(f"{who} is removed from {', '.join(places)}.")
    return 0


def forget(root: Path, who: str) -> list[str]:
    """Remove an apprentice from a course's folder; says from where.

    Raises
    ------
    BadEntry : not an id, or nobody of that id
    """
    if not is_plain_id(who):
        raise BadEntry(f"apprentice: {who[:40]!r} was given, allowed is an id of the class.")
    found: dict[str, None] = {}
    for folder in (root, *(root / BACKUP).glob("*")):
        found |= dict.fromkeys(_forget_in(folder, who))
    if not found:
        raise BadEntry(f"apprentice: {who} was given, allowed is an id that is somewhere in {root.name}.")
    report = root / REPORT
    if report.is_dir():
        shutil.rmtree(report)
        found[REPORT] = None
        if (root / record.BOOK).is_file():
            from refinishlib.grading.report import write

            write(root)
    return list(found)


def _forget_in(folder: Path, who: str) -> list[str]:
    found = []
    if _out_of_the_book(folder / record.BOOK, who):
        found.append("the grade book")
    for step in STEPS:
        for path in (folder / step).glob("*"):
            if path.name == who:
                shutil.rmtree(path) if path.is_dir() and not path.is_symlink() else path.unlink()
                found.append(step)
    if (folder / LEDGER).is_file():
        ledger = Ledger(folder)
        if any(key[1] == who for key in ledger.rows):
            found.append("the ledger")
        ledger.keep({key: row for key, row in ledger.rows.items() if key[1] != who})
    for table in folder.glob("*.csv"):
        if _out_of_the_table(table, who):
            found.append(table.name)
    for name in LOGS:
        if (folder / name).is_file():
            lines = (folder / name).read_text(encoding="utf-8", errors="replace").splitlines(keepends=True)
            kept = [line for line in lines if not _names(line, who)]
            if kept != lines:
                (folder / name).write_text("".join(kept), encoding="utf-8")
                found.append(name)
    return found


def _out_of_the_book(path: Path, who: str) -> bool:
    """Delete somebody's rows, and the pages of the file where they were."""
    if not path.is_file():
        return False
    with closing(sqlite3.connect(path)) as book:
        known = book.execute("SELECT count(*) FROM student WHERE id = ?", (who,)).fetchone()[0]
        if not known:
            return False
        theirs = "SELECT id FROM submitted_assignment WHERE student_id = ?"
        notebooks = f"SELECT id FROM submitted_notebook WHERE assignment_id IN ({theirs})"
        for table, those in (
            ("grade", f"notebook_id IN ({notebooks})"),
            ("comment", f"notebook_id IN ({notebooks})"),
            ("submitted_notebook", f"assignment_id IN ({theirs})"),
            ("submitted_assignment", "student_id = ?"),
            ("student", "id = ?"),
        ):
            book.execute(f"DELETE FROM {table} WHERE {those}", (who,))
        book.commit()
        book.execute("VACUUM")
    return True


def _out_of_the_table(path: Path, who: str) -> bool:
    """Leave out the rows of a table that are about somebody; other lines stay byte for byte."""
    text = path.read_text(encoding="utf-8-sig", errors="replace")
    kept = []
    for line in text.splitlines(keepends=True):
        cells = [cell for row in csv.reader(io.StringIO(line)) for cell in row]
        if who.casefold() not in (cell.strip().casefold() for cell in cells):
            kept.append(line)
    if "".join(kept) == text:
        return False
    path.write_text("".join(kept), encoding="utf-8-sig")
    return True


def _names(line: str, who: str) -> bool:
    return re.search(rf"(?<![\w.@+-]){re.escape(who)}(?![\w.@+-])", line) is not None
