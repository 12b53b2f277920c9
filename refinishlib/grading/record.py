"""What the grade book has on record about a lesson's notebook: the school's own cells, with their hidden parts."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from nbgrader.api import Gradebook


class LessonDiffers(Exception):
    """The released lesson is not what the grade book has on record; says what to type."""


@dataclass(frozen=True)
class Record:
    """The released notebook as JSON, and for each grade id the recorded source and the most points."""

    released: str
    source: dict[str, str]
    points: dict[str, float]


def load(released: Path, db_url: str, lesson: str, notebook: str) -> Record:
    """The record of one notebook, checked against the released file.

    Raises
    ------
    LessonDiffers : a cell is missing on one side, or the released file is not there
    """
    with Gradebook(db_url) as gradebook:
        row = gradebook.find_notebook(notebook, lesson)
        source = {cell.name: cell.source for cell in row.source_cells}
        points = {cell.name: float(cell.max_score) for cell in row.grade_cells}
    remedy = f"type: refinish release {lesson}, which says what changed and keeps every mark"
    try:
        data = json.loads(released.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        raise LessonDiffers(f"{released.name} cannot be read; {remedy}") from None
    for cell in data["cells"]:
        cell["source"] = "".join(cell["source"])
    ids = {cell["metadata"]["nbgrader"]["grade_id"] for cell in data["cells"] if "nbgrader" in cell["metadata"]}
    if ids != set(source):
        differ = ", ".join(sorted(ids ^ set(source))[:3])
        raise LessonDiffers(f"lessons/{lesson} and the grade book differ in {differ}; {remedy}")
    return Record(json.dumps(data), source, points)
