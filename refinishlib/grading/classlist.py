"""``refinish class FILE``: who is in the class, from the school's own table. Kept as ``class_list.csv``."""

from __future__ import annotations

import argparse
import difflib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from refinishlib.entry import BadEntry
from refinishlib.grading.table import read_table, write_table

NAME = "class_list.csv"
COLUMNS = ("id", "first name", "last name", "class")
NEAREST = 3


@dataclass(frozen=True)
class Apprentice:
    """One row of the class list. group is the school's class, "" where there is only one."""

    id: str
    first: str = ""
    last: str = ""
    group: str = ""

    @property
    def name(self) -> str:
        return f"{self.first} {self.last}".strip()


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", type=Path, nargs="?", help="a CSV table: id, first name, last name, class")


def run(arguments: argparse.Namespace) -> int:
    from refinishlib.course.folder import course_folder

    root = course_folder()
    if arguments.file is None:
        people = load(root)
        print(
            _count(people)
            if people
            else f"There is no class list yet. Type: refinish class FILE ({', '.join(COLUMNS)})"
        )
        return 0 if people else 1
    people, strangers = take(root, arguments.file)
    print(f"{_count(people)} Kept in {NAME} and in the grade book.")
    if strangers:
        shown = ", ".join(strangers[:8]) + (" ..." if len(strangers) > 8 else "")
        print(f"In the grade book, but not in this list: {shown}. Their marks stay.")
    return 0


def take(root: Path, file: Path) -> tuple[list[Apprentice], list[str]]:
    """Make a table the class list: kept in the course's folder, its names in the grade book.

    Returns the apprentices, and the ids that the grade book has and the list has not.

    Raises
    ------
    BadEntry : a table that cannot be used; nothing is changed then
    """
    people = read(file)
    if not people:
        raise BadEntry(f"{file.name}: no apprentice was given, allowed is a table with a row for each.")
    from refinishlib.grading.standing import open_book

    with open_book(root) as book:
        known = {student.id for student in book.students}
        for one in people:
            book.update_or_create_student(one.id, first_name=one.first, last_name=one.last)
    save(root, people)
    return people, sorted(known - {one.id for one in people})


def save(root: Path, people: Iterable[Apprentice]) -> None:
    rows = [dict(zip(COLUMNS, (one.id, one.first, one.last, one.group), strict=True)) for one in people]
    write_table(root / NAME, COLUMNS, rows)


def load(root: Path) -> list[Apprentice]:
    """The class list of a course folder, empty when there is none."""
    return read(root / NAME) if (root / NAME).exists() else []


def read(file: Path) -> list[Apprentice]:
    """The apprentices in a table.

    Raises
    ------
    BadEntry : an id that cannot be one, or that stands there twice (capitals do not matter)
    """
    from refinishlib.grading.handedin import is_plain_id

    people: dict[str, Apprentice] = {}
    for number, row in enumerate(read_table(file, COLUMNS, ("id",)), 1):
        who = row["id"].casefold()
        if not is_plain_id(who):
            raise BadEntry(
                f'{file.name}, apprentice {number}: "{row["id"][:40]}" was given as id, allowed are letters and '
                "figures without blanks, like a07."
            )
        if who in people:
            raise BadEntry(f'{file.name}, apprentice {number}: the id "{who}" stands there twice, allowed is once.')
        people[who] = Apprentice(who, row["first name"], row["last name"], row["class"])
    return list(people.values())


def nearest(who: str, known: Iterable[str]) -> list[str]:
    """The ids that somebody may have meant, the likeliest first.

    >>> nearest("a7", ["a06", "a07", "b07"]), nearest("zz9", ["a06"])
    (['a07', 'b07', 'a06'], [])
    """
    ids = sorted(known)
    by_figures = {_without_zeros(one): one for one in reversed(ids)}
    meant = [by_figures[_without_zeros(who)]] if _without_zeros(who) in by_figures else []
    close = difflib.get_close_matches(who.casefold(), ids, n=NEAREST + 1, cutoff=0.4)
    return list(dict.fromkeys([*meant, *close]))[:NEAREST]


def _without_zeros(who: str) -> str:
    head = who.casefold().rstrip("0123456789")
    return head + who[len(head) :].lstrip("0")


def _count(people: list[Apprentice]) -> str:
    groups = sorted({one.group for one in people} - {""})
    return f"{len(people)} apprentices{f' in {len(groups)} classes: ' + ', '.join(groups) if groups else ''}."
