"""``refinish due FILE``: by when each lesson is to be handed in, from a table. Kept as ``due_dates.csv``."""

from __future__ import annotations

import argparse
import datetime
from pathlib import Path

from refinishlib.entry import BadEntry, one_of
from refinishlib.grading.table import read_table, write_table

NAME = "due_dates.csv"
COLUMNS = ("lesson", "due")
_FORMS = ("%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M", "%Y-%m-%d", "%d.%m.%Y %H:%M", "%d.%m.%Y")
_END_OF_DAY = datetime.time(23, 59)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", type=Path, nargs="?", help="a CSV table: lesson, due (2030-03-01 16:00, local time)")


def run(arguments: argparse.Namespace) -> int:
    from refinishlib.course.folder import course_folder

    root = course_folder()
    dates = take(root, arguments.file) if arguments.file is not None else load(root)
    for lesson, due in sorted(dates.items(), key=lambda one: one[1]):
        print(f"{lesson}: due {due:%Y-%m-%d %H:%M}")
    if not dates:
        print("There are no due dates yet. Type: refinish due FILE (lesson, due)")
    return 0 if dates else 1


def take(root: Path, file: Path) -> dict[str, datetime.datetime]:
    """Make a table the due dates: kept in the course's folder, and in the grade book, which knows who is late by it.

    Raises
    ------
    BadEntry : an unknown lesson, or a time that cannot be read; nothing is changed then
    """
    dates = read(file)
    known = sorted(path.parent.name for path in (root / "lessons").glob("*/*.ipynb"))
    for lesson in dates:
        one_of(f"{file.name}, lesson", lesson, known)
    from refinishlib.grading.standing import open_book

    with open_book(root) as book:
        for lesson, due in dates.items():
            book.update_or_create_assignment(lesson, duedate=due.astimezone(datetime.UTC).replace(tzinfo=None))
    save(root, dates)
    return dates


def save(root: Path, dates: dict[str, datetime.datetime]) -> None:
    rows = [{"lesson": lesson, "due": f"{due:%Y-%m-%d %H:%M}"} for lesson, due in dates.items()]
    write_table(root / NAME, COLUMNS, rows)


def load(root: Path) -> dict[str, datetime.datetime]:
    """The due dates of a course folder, empty when there are none."""
    return read(root / NAME) if (root / NAME).exists() else {}


def read(file: Path) -> dict[str, datetime.datetime]:
    """For each lesson in a table, when it is due, in local time. A day without an hour lasts to its end."""
    return {
        row["lesson"]: _time(f"{file.name}, {row['lesson']}", row["due"])
        for row in read_table(file, COLUMNS, COLUMNS)
        if row["due"]
    }


def _time(field: str, text: str) -> datetime.datetime:
    for form in _FORMS:
        try:
            found = datetime.datetime.strptime(text, form)
        except ValueError:
            continue
        return (found if "%H" in form else datetime.datetime.combine(found, _END_OF_DAY)).astimezone()
    raise BadEntry(f'{field}: "{text[:40]}" was given, allowed is a day and a time like 2030-03-01 16:00.')
