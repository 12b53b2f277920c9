"""Right answers and known mistakes, lesson by lesson. This folder stays with the instructor."""

from __future__ import annotations

import importlib
from functools import lru_cache
from typing import Any

from refinishlib.course import apprentice
from refinishlib.course.key import PartKey


@lru_cache(maxsize=64)
def key(lesson: str, whose: str) -> dict[str, dict[str, PartKey]]:
    """The key of a lesson for one apprentice: for each question, for each part, its right answer and mistakes."""
    return importlib.import_module(f"refinishlib.course.keys.{lesson}").key(whose)


def right(lesson: str, name: str, my_id: Any) -> dict[str, Any]:
    """The right answers to one question, by the part's name, in the form in which they are typed."""
    parts = key(lesson, apprentice.current(my_id))[name]
    return {part: list(one.right) if isinstance(one.right, tuple) else one.right for part, one in parts.items()}
