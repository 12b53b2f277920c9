"""An invented class of 30 in the middle of a course of 11 lessons, written straight into a grade book and a ledger.

Grading 300 notebooks takes minutes; the report only reads what grading leaves, so that is what is made here. The
lessons' notebooks are small, but what they hold is answered, marked, flagged and late as in a real class.
"""

from __future__ import annotations

import datetime
import json
import os
import random
import shutil
import warnings
from pathlib import Path

# Names that no lesson of the course has: their keys are nowhere.
LESSONS = {
    "weighing": "Weighing a colour",
    "two_lights": "Light and two colours",
    "variants": "The right variant of a colour",
    "covering": "Covering the undercoat",
    "closer": "Bringing a colour closer",
    "stopping": "Where the colour may stop",
    "abrasives": "From grade to grade",
    "sequence": "The order of work",
    "thickness": "How thick it lies",
    "weather": "Today's weather in the booth",
    "one_panel": "One panel from bare to clear",
}
SKILLS = ("reading the card", "the right order", "working it out", "deciding", "saying why it holds")
MISTAKES = ("units mixed up", "the last step left out", "taken from the wrong row", "too thick", "rounded too early")
TODAY = datetime.datetime(2030, 4, 20, 12, 0)
_FIRST = "Ada Ben Cleo Dov Edda Finn Gwen Hal Ines Jon Kaya Lev Mina Nils Oda Per Quin Rosa Sten Tove Ugo Vera"
_LAST = "Sander Masker Primer Stirrer Taper Sprayer Polisher Blender Tinter Grinder Washer Weigher Filler Baker"
FIRST, LAST = _FIRST.split(), _LAST.split()


def people() -> list[tuple[str, str, str, str]]:
    """id, first name, last name, class; not in the order of the ids, as a school's list is."""
    rows = [
        (f"a{n:02}", FIRST[n % len(FIRST)], LAST[(3 * n) % len(LAST)], "1 B" if n % 2 else "1 A") for n in range(1, 31)
    ]
    return sorted(rows, key=lambda row: (row[3], row[2], row[1]))


def notebook(lesson: str) -> dict:
    """A small lesson of five questions and a written answer."""

    def cell(kind: str, source: str, grade_id: str, **about: object) -> dict:
        about = {"grade": False, "solution": False, "locked": True, "schema_version": 3, "task": False} | about
        found: dict = {"cell_type": kind, "metadata": {"nbgrader": {"grade_id": grade_id} | about}, "source": source}
        return found | ({"outputs": [], "execution_count": None} if kind == "code" else {})

    cells = [cell("markdown", f"# {LESSONS[lesson]}\n\nInvented for a test.", "title")]
    for number, skill in enumerate(SKILLS, 1):
        cells += [
            cell("markdown", f"## {number}  {skill}\n\nWhat does the card say?", f"text-{number}-1"),
            cell("code", "answer = ...  # a number", f"answer-{number}-1", solution=True, locked=False),
            cell("code", "4.0", f"check-{number}-1", grade=True, points=4),
        ]
    cells.append(cell("markdown", "## 6  Say why\n\nWhy does it hold?", "written-text"))
    cells.append(cell("markdown", "", "written-1", grade=True, solution=True, locked=False, points=4))
    return {"cells": cells, "metadata": {}, "nbformat": 4, "nbformat_minor": 5}


def build(course: Path, root: Path) -> Path:
    """Make the course folder with its class; the same every time."""
    from nbgrader.api import Gradebook

    from refinishlib.grading import classlist, duedates
    from refinishlib.grading.ledger import NAME as LEDGER

    root.mkdir(parents=True)
    shutil.copy(course / "nbgrader_config.py", root)
    home, chance, rows = Path.cwd(), random.Random(2030), []
    listed = people()
    dates = {}
    with warnings.catch_warnings(), Gradebook(f"sqlite:///{root}/gradebook.db", "refinishing") as book:
        warnings.simplefilter("ignore")
        for who, first, last, _ in listed:
            book.add_student(who, first_name=first, last_name=last)
        for place, lesson in enumerate(LESSONS):
            for folder in ("lessons", "solutions"):
                path = root / folder / lesson / f"{lesson}.ipynb"
                path.parent.mkdir(parents=True)
                path.write_text(json.dumps(notebook(lesson)), encoding="utf-8")
            due = TODAY + datetime.timedelta(days=14 * (place - 8), hours=4)
            dates[lesson] = due.replace(tzinfo=datetime.UTC).astimezone()
            book.add_assignment(lesson, duedate=due)
            book.add_notebook(lesson, lesson)
            for cell in notebook(lesson)["cells"]:
                about = cell["metadata"]["nbgrader"]
                if about["grade"]:
                    kind = cell["cell_type"]
                    book.add_grade_cell(about["grade_id"], lesson, lesson, max_score=about["points"], cell_type=kind)
            for number, (who, *_) in enumerate(listed):
                if (
                    place > 8
                    or (place == 8 and number % 3)
                    or chance.random() < (0.25 if number in (4, 17, 23) else 0.03)
                ):
                    continue
                hand_in = (book, root, who, lesson, due, number)
                rows.append(_one(*hand_in, chance))
    (root / LEDGER).write_text("".join(json.dumps(row) + "\n" for row in rows), encoding="utf-8")
    classlist.save(root, [classlist.Apprentice(*one) for one in listed])
    duedates.save(root, dates)
    os.chdir(home)
    return root


def _one(book, root: Path, who: str, lesson: str, due, number: int, chance: random.Random) -> dict:
    skill = 0.35 if number in (4, 11) else 0.9 - 0.1 * (number % 4)
    late = datetime.timedelta(hours=chance.choice([3, 30, 80])) if chance.random() < 0.08 else None
    stamp = due + (late or -datetime.timedelta(hours=chance.randint(1, 90)))
    submission = book.add_submission(lesson, who, timestamp=stamp)
    flag = chance.choice(["holds code", "made for another id", "check failed"]) if chance.random() < 0.03 else ""
    outcomes = {}
    for grade in submission.notebooks[0].grades:
        if grade.name == "written-1":
            grade.auto_score, marked = None, due < TODAY - datetime.timedelta(days=20)
            grade.manual_score = float(chance.randint(1, 4)) if marked else None
            grade.needs_manual_grade = not marked
            continue
        at = int(grade.name.split("-")[1]) - 1
        right = chance.random() < skill - 0.1 * at + 0.15
        grade.auto_score = 4.0 if right else float(chance.choice([0, 1, 2]))
        flagged = flag if at == 2 else ""
        grade.needs_manual_grade = bool(flagged)
        mistakes = [] if right else [MISTAKES[chance.choice([at, at, (at + 1) % 5])]]
        said = ["Right."] if right else ["Not right. Work it once more from the job card, step by step."]
        outcomes[grade.name] = {"points": grade.auto_score, "sentences": said, "flag": flagged, "error": ""}
        outcomes[grade.name] |= {"skill": SKILLS[at], "mistakes": mistakes}
    book.db.commit()
    path = root / "autograded" / who / lesson / f"{lesson}.ipynb"
    path.parent.mkdir(parents=True)
    answered = notebook(lesson)
    for cell in answered["cells"]:
        if cell["metadata"]["nbgrader"]["solution"]:
            cell["source"] = "answer = 34.2" if cell["cell_type"] == "code" else "Because the card says so."
    path.write_text(json.dumps(answered), encoding="utf-8")
    row = {"lesson": lesson, "apprentice": who, "handed_in": "x", "checks": "x", "outcomes": outcomes}
    return row | {"unreadable": "", "copies": [], "missing": [], "aside": [], "words": {}, "claimed": ""}
