"""Filled-in lessons for trying the grading out: the released notebook with answers typed into it."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from refinishlib.course.key import PartKey
from refinishlib.course.keys import key

Pick = Callable[[str, str, PartKey], Any]


def right_answer(question: str, part: str, one: PartKey) -> Any:
    """Picks the right answer to every part."""
    return one.right


def wrong_answer(number: int) -> Pick:
    """Picks known mistake 0, 1, 2, ... where a part has so many, and the last one where it has fewer."""

    def pick(question: str, part: str, one: PartKey) -> Any:
        if one.mistakes:
            return one.mistakes[min(number, len(one.mistakes) - 1)].value
        if one.rules:
            rule = one.rules[min(number, len(one.rules) - 1)]
            order = [task for task in one.right if task != rule.first]
            order.insert(order.index(rule.then) + 1, rule.first)
            return tuple(order)
        return one.right

    return pick


def typed(value: Any) -> str:
    """A value as an apprentice types it after the = sign.

    >>> typed((12.3456, 7.0)), typed("yes")
    ('[12.35, 7.0]', '"yes"')
    """
    if isinstance(value, bool) or value is ...:
        return "..." if value is ... else str(value)
    if isinstance(value, float):
        return repr(round(value, 2))
    if isinstance(value, tuple | list | frozenset):
        return "[" + ", ".join(typed(item) for item in value) + "]"
    return json.dumps(value, ensure_ascii=False) if isinstance(value, str) else repr(value)


def texts(lesson: str, apprentice: str, pick: Pick = right_answer, only: int | None = None) -> dict[str, str]:
    """The text of every answer cell of a lesson by grade id, as this apprentice would have typed it.

    only : answer only so many questions, the first ones
    """
    found = {"answer-my-id": f"my_id = {typed(apprentice)}"}
    for question, parts in list(key(lesson, apprentice).items())[:only]:
        lines = [f"{part} = {typed(pick(question, part, one))}" for part, one in parts.items()]
        found[f"answer-{question.replace('.', '-')}"] = "\n".join(lines)
    return found


def filled(released: Mapping[str, Any], cells: Mapping[str, str]) -> dict[str, Any]:
    """The released notebook's data with the texts of some cells replaced, by grade id."""
    notebook = copy.deepcopy(dict(released))
    for cell in notebook["cells"]:
        grade_id = cell["metadata"].get("nbgrader", {}).get("grade_id")
        if grade_id in cells:
            cell["source"] = cells[grade_id]
    return notebook


def hand_in(root: Path, apprentice: str, lesson: str, notebook: Mapping[str, Any] | bytes) -> Path:
    """Put a notebook among the submissions of a course folder; says where it lies now."""
    folder = root / "submitted" / apprentice / lesson
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{lesson}.ipynb"
    path.write_bytes(notebook if isinstance(notebook, bytes) else json.dumps(notebook).encode())
    return path
