"""An apprentice's desk in the course's folder: who sits there, where each lesson stands, and handing in."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from refinishlib.course.folder import can_be_a_folder
from refinishlib.course.lab.entries import of_lesson, same_entries, whose
from refinishlib.course.reading import CANNOT_BE_READ, READ, Said
from refinishlib.entry import BadEntry

HAND_IN = "hand-in"
REMEMBERED = ".local/apprentice.json"
ID = re.compile(r"[a-z0-9][a-z0-9._-]{0,62}[a-z0-9]|[a-z0-9]")
NOT_BEGUN, BEGUN, ALL_ANSWERED, HANDED_IN = "not begun", "begun", "all answered", "handed in"


@dataclass(frozen=True)
class LessonStanding:
    """Where one lesson stands: its state, how many of its fields are filled in, and what was handed in."""

    whose: str
    state: str
    answered: int
    asked: int
    unreadable: tuple[str, ...] = ()
    handed_in: str = ""
    changed: bool = False


def checked_id(typed: Any) -> str:
    """An id as it is kept: small letters, digits, and points or dashes between them.

    Raises
    ------
    BadEntry : it is none

    >>> checked_id(" A07 ")
    'a07'
    """
    who = " ".join(str(typed).casefold().split())
    if not ID.fullmatch(who) or not can_be_a_folder(who):
        given = f'"{who[:40]}" was given' if who else "nothing was given"
        raise BadEntry(
            f"Your id: {given}, type the id from your instructor, letters and digits without blanks, like a07."
        )
    return who


def remember(root: Path, typed: Any) -> str:
    """Keep who sits here, for all lessons of the course's folder.

    Raises
    ------
    BadEntry : what was typed is no id
    """
    who = checked_id(typed)
    path = root / REMEMBERED
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps({"id": who}), encoding="utf-8")
    return who


def remembered(root: Path) -> str:
    """Who sits here, empty where nobody has said so yet."""
    try:
        return checked_id(json.loads((root / REMEMBERED).read_text(encoding="utf-8"))["id"])
    except (OSError, ValueError, KeyError, TypeError, BadEntry):
        return ""


def standing(lesson: str, notebook: Mapping[str, Any], handed_in: Mapping[str, Any] | None) -> LessonStanding:
    """Where a lesson stands, from the notebook itself and from the file that was handed in, if there is one."""
    fields = [said for _, said in of_lesson(lesson, notebook)]
    answered = sum(said.state == READ for said in fields)
    unreadable = tuple(said.sentence for said in fields if said.state == CANNOT_BE_READ)
    state = BEGUN if answered or unreadable else NOT_BEGUN
    if answered == len(fields):
        state = ALL_ANSWERED
    when = handed_in_at(handed_in)
    return LessonStanding(
        whose=whose(notebook),
        state=HANDED_IN if when else state,
        answered=answered,
        asked=len(fields),
        unreadable=unreadable,
        handed_in=when,
        changed=bool(when) and not same_entries(notebook, handed_in or {"cells": []}),
    )


def handed_in_at(notebook: Mapping[str, Any] | None) -> str:
    """When a notebook was handed in, as it says itself; empty where it was not."""
    about = (notebook or {}).get("metadata", {}).get("refinish", {})
    when = about.get("handed_in", "") if isinstance(about, Mapping) else ""
    return when if isinstance(when, str) else ""


def path_of(lesson: str) -> str:
    """Where a lesson's notebook lies in the course's folder."""
    return f"lessons/{lesson}/{lesson}.ipynb"


def file_name(who: str, lesson: str) -> str:
    """What a handed-in lesson is called.

    >>> file_name("a07", "mixing")
    'a07-mixing.ipynb'
    """
    return f"{who}-{lesson}.ipynb"


def not_ready(lesson: str, notebook: Mapping[str, Any]) -> tuple[tuple[str, Said], ...]:
    """The fields that are empty or cannot be read, with their question's name: what to know before handing in."""
    return tuple((name, said) for name, said in of_lesson(lesson, notebook) if said.state != READ)


def handed_in_copy(notebook: Mapping[str, Any], lesson: str, now: datetime | None = None) -> dict[str, Any]:
    """The notebook as it is handed in: the same, and saying when."""
    metadata = dict(notebook.get("metadata", {}))
    about = metadata.get("refinish")
    when = (now or datetime.now(UTC)).isoformat(timespec="seconds")
    metadata["refinish"] = {**(about if isinstance(about, dict) else {}), "lesson": lesson, "handed_in": when}
    return {**notebook, "metadata": metadata}
