"""``refinish new-lesson NAME TITLE``: a lesson that already runs, grades and passes the tests, to be written over."""

from __future__ import annotations

import argparse
import re
from pathlib import Path

from refinishlib.course import builder, lessons
from refinishlib.course.folder import can_be_a_folder, course_folder
from refinishlib.course.world import WORLDS
from refinishlib.entry import BadEntry

SKELETON = Path(__file__).parent / "skeleton"
IN_SOLUTIONS = ("key.py", "rubric.md")
LONGEST_NAME = 20

SOURCES = {
    "LONGEST_NAME": "teaching value: it stands in every path",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name", help="of its folders, small letters: sealing")
    parser.add_argument("title", help='as the start page shows it: "Sealing before colour"')


def run(arguments: argparse.Namespace) -> int:
    course = course_folder()
    places = new_lesson(course, arguments.name, arguments.title)
    builder.build(arguments.name, course)
    print("The lesson runs and grades. Now write over:\n" + "\n".join(f"  {place}" for place in places))
    print(f"Then type: refinish build {arguments.name}")
    return 0


def new_lesson(course: Path, name: str, title: str) -> list[Path]:
    """Write the files of a new lesson; says which.

    Raises
    ------
    BadEntry : a name that is taken, reserved, or no plain word; a title that is empty
    """
    if not re.fullmatch(r"[a-z][a-z0-9_]*", name) or len(name) > LONGEST_NAME or not can_be_a_folder(name):
        raise BadEntry(f"name: {name[:40]!r} was given, allowed is one word of small letters, up to {LONGEST_NAME}.")
    if name in lessons.names() or (course / "solutions" / name).exists():
        raise BadEntry(f"name: {name} was given, which is a lesson already; allowed is another one.")
    if not title.strip() or '"' in title or "\\" in title:
        raise BadEntry(f"title: {title[:40]!r} was given, allowed are a few words without double quotes.")
    known = [lessons.record(one) for one in lessons.names()]
    filled = {
        "LESSON": name,
        "TITLE": title.strip(),
        "ORDER": str(1 + max((one.order for one in known), default=0)),
        "WORLD": str(max(int(folder.name) for folder in WORLDS.iterdir())),
    }
    written = []
    for template in sorted(SKELETON.glob("*.txt")):
        file = template.name.removesuffix(".txt")
        place = course / "solutions" / f"{name}_{file}" if file in IN_SOLUTIONS else lessons.FOLDER / name / file
        place.parent.mkdir(parents=True, exist_ok=True)
        text = re.sub(r"\b(LESSON|TITLE|ORDER|WORLD)\b", lambda found: filled[found[1]], template.read_text("utf-8"))
        place.write_text(text, encoding="utf-8")
        written.append(place)
    return written
