"""``refinish feedback LESSON``: a page for each apprentice, written anew where something changed."""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass, field
from pathlib import Path

from refinishlib.entry import BadEntry, one_of


@dataclass
class Given:
    """What one run wrote. older : those who handed in again since they were graded."""

    lesson: str
    written: list[Path] = field(default_factory=list)
    unchanged: int = 0
    unmarked: int = 0
    older: list[str] = field(default_factory=list)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("lesson", nargs="?", default="all", help="a lesson's name, or all (the usual)")


def run(arguments: argparse.Namespace) -> int:
    from refinishlib.course.folder import course_folder

    given = give_back(course_folder(), arguments.lesson, show=sys.stderr.isatty())
    if not given:
        print("Nothing is graded yet, so there is nothing to give back. Type: refinish grade")
    for one in given:
        print(f"{one.lesson}: {len(one.written)} pages written in feedback/, {one.unchanged} had not changed.")
        if one.unmarked:
            print(f"  {one.unmarked} written answers are not marked yet; their pages say so. Type this again after.")
        if one.older:
            print(f"  handed in again and not graded yet: {', '.join(one.older)}. Type: refinish grade {one.lesson}")
    return 0 if given else 1


def give_back(root: Path, lesson: str = "all", *, show: bool = False) -> list[Given]:
    """Write the feedback pages that do not show what the grade book has now.

    Raises
    ------
    BadEntry : an unknown lesson, or a released lesson that is not the one on record
    """
    from refinishlib.grading import feedback, pages, standing
    from refinishlib.grading.ledger import hash_of_submission
    from refinishlib.grading.record import LessonDiffers

    now = standing.load(root)
    names = [one.name for one in now.lessons if one.is_here]
    if lesson != "all":
        names = [one_of("lesson", lesson, names)]
    given = []
    for name in names:
        people = [one.id for one in now.people if (one.id, name) in now.hand_ins]
        result, on_record = Given(name), None
        for who in people:
            hand_in = now.hand_ins[who, name]
            files = [f"{name}.ipynb", "timestamp.txt"]
            if hand_in.row.get("handed_in", "") not in ("", hash_of_submission(root / "submitted" / who / name, files)):
                result.older.append(who)
            result.unmarked += hand_in.to_mark
            path = feedback.page_path(root, who, name)
            if pages.is_fresh(path, feedback.made_from(root, now, who, name)):
                result.unchanged += 1
                continue
            if on_record is None:
                try:
                    on_record = feedback.recorded(root, name)
                except LessonDiffers as problem:
                    raise BadEntry(str(problem)) from None
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(feedback.page(root, now, who, name, on_record), encoding="utf-8")
            result.written.append(path)
            if show:
                sys.stderr.write(f"\r{name}: {len(result.written) + result.unchanged} of {len(people)}\x1b[K")
        if show and result.written:
            sys.stderr.write("\r\x1b[K")
        if people:
            given.append(result)
    return given
