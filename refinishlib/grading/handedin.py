"""What was handed in, before anything opens it: which files may stay, and what a notebook says in its answer cells.

Two rules. Whatever is not a plain file that the lesson asks for is moved aside, never followed. A notebook is read as
JSON, and only the texts (and pasted pictures) of its cells are taken, whatever else the file claims about itself.
"""

from __future__ import annotations

import base64
import binascii
import datetime
import json
import os
import re
import stat
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from refinishlib.course.folder import can_be_a_folder

LARGEST_NOTEBOOK = 10_000_000
LARGEST_TIMESTAMP = 100
MOST_CELLS = 5_000
LONGEST_TEXT = 50_000
# Own cells of one notebook, and letters of one: more than the reader of answers takes.
MOST_OWN = 100
LONGEST_OWN = 7_000
MOST_PICTURES = 12
LARGEST_PICTURE = 6_000_000
ASIDE = "set_aside"
_USUAL_TIME = r"\d{4}-\d\d-\d\d \d\d:\d\d:\d\d(\.\d{1,6})? UTC"

_PICTURES = {
    "image/png": b"\x89PNG\r\n\x1a\n",
    "image/jpeg": b"\xff\xd8\xff",
    "image/gif": b"GIF8",
    "image/webp": b"RIFF",
}


class Unreadable(Exception):
    """A notebook that cannot be read. Its text says why and what to do, in one line."""


@dataclass(frozen=True)
class Answer:
    """The last cell that was handed in under one grade id.

    above : the texts of the apprentice's own code cells between this cell and the graded one before it
    """

    text: str
    pictures: dict[str, dict[str, str]] = field(default_factory=dict)
    copies: int = 1
    above: tuple[str, ...] = ()


def lessons_of(root: Path) -> list[str]:
    """The lessons of a course folder: those that have a source notebook of their own name."""
    return sorted(path.parent.name for path in (root / "solutions").glob("*/*.ipynb") if path.stem == path.parent.name)


def who_handed_in(root: Path, lesson: str) -> list[str]:
    """Who has a folder for the lesson among the submissions of a course folder, whatever it holds."""
    return sorted(folder.parent.name for folder in (root / "submitted").glob(f"*/{lesson}"))


def submitted_file(root: Path, who: str, lesson: str) -> Path:
    """Where an apprentice's notebook lies when it is handed in."""
    return root / "submitted" / who / lesson / f"{lesson}.ipynb"


def graded_file(root: Path, who: str, lesson: str) -> Path:
    """Where an apprentice's notebook lies when it is graded."""
    return root / "autograded" / who / lesson / f"{lesson}.ipynb"


def sweep_submission(folder: Path, root: Path) -> list[str]:
    """Move aside whatever may not lie in ``<step>/<apprentice>/<lesson>``; says what was moved."""
    lesson = folder.name
    try:
        released = [entry.name for entry in os.scandir(root / "lessons" / lesson) if entry.name.endswith(".ipynb")]
    except OSError:
        released = []
    return sweep(folder, [*released, "timestamp.txt"], root / ASIDE / folder.parent.name / lesson)


def is_plain_id(name: str) -> bool:
    """Whether an apprentice's id is one that a school gives: letters, digits and . _ - @ +, at most 64.

    It names a folder, so that it must be one that every system takes.

    >>> is_plain_id("a.07"), is_plain_id("<img src=x>"), is_plain_id(".."), is_plain_id("con")
    (True, False, False, False)
    """
    return re.fullmatch(r"\w[\w.@+-]{0,63}", name) is not None and can_be_a_folder(name)


def read_notebook(path: Path) -> dict[str, Answer]:
    """The answers in a notebook file by grade id, last copy of each.

    Raises
    ------
    Unreadable : missing, not a plain file, too large, or not a notebook
    """
    return answers_in(_load(path))


def notebook_data(path: Path) -> Any:
    """A notebook file's data, whatever it is. Only for what is compared, never for what is shown.

    Raises
    ------
    Unreadable : as `read_notebook`
    """
    return _load(path)


def school_cells(notebook: Any) -> set[str]:
    """The grade ids of a notebook's cells.

    >>> school_cells({"cells": [{"metadata": {"nbgrader": {"grade_id": "title"}}}, {}]})
    {'title'}
    """
    return {grade_id for cell in (_cells(notebook) or [])[:MOST_CELLS] if (grade_id := _grade_id(cell))}


def answers_in(notebook: Any) -> dict[str, Answer]:
    """The answers in a notebook's data, of any format version, by grade id."""
    cells = _cells(notebook)
    if cells is None:
        raise Unreadable("is not a notebook; ask for the file again")
    if len(cells) > MOST_CELLS:
        raise Unreadable(f"has {len(cells)} cells, more than {MOST_CELLS}; ask for the file again")
    found: dict[str, Answer] = {}
    own: list[str] = []
    left = MOST_OWN
    for cell in cells:
        grade_id = _grade_id(cell)
        if grade_id is None:
            if isinstance(cell, dict) and cell.get("cell_type") == "code" and left > 0:
                left -= 1
                own.append(_text(cell)[:LONGEST_OWN])
            continue
        before = found.get(grade_id, Answer("", copies=0))
        found[grade_id] = Answer(_text(cell), _pictures(cell), before.copies + 1, (*before.above, *own))
        own = []
    return found


def _load(path: Path) -> Any:
    try:
        descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0))
    except OSError:
        raise Unreadable("is missing or not a plain file; ask for the file again") from None
    with os.fdopen(descriptor, "rb") as file:
        status = os.fstat(file.fileno())
        if not stat.S_ISREG(status.st_mode):
            raise Unreadable("is not a plain file; ask for the file again")
        if status.st_size > LARGEST_NOTEBOOK:
            raise Unreadable(
                f"has {status.st_size / 1e6:.0f} MB, more than {LARGEST_NOTEBOOK / 1e6:.0f} MB; ask for a copy with "
                "smaller pictures"
            )
        raw = file.read(LARGEST_NOTEBOOK + 1)
    try:
        return json.loads(raw)
    except (ValueError, RecursionError):
        raise Unreadable("is damaged or was cut short; ask for the file again") from None


def _cells(notebook: Any) -> list[Any] | None:
    if not isinstance(notebook, dict):
        return None
    if isinstance(notebook.get("cells"), list):
        return notebook["cells"]
    sheets = notebook.get("worksheets")
    if isinstance(sheets, list) and sheets and isinstance(sheets[0], dict) and isinstance(sheets[0].get("cells"), list):
        return sheets[0]["cells"]
    return None


def _grade_id(cell: Any) -> str | None:
    inner = cell
    for key in ("metadata", "nbgrader", "grade_id"):
        if not isinstance(inner, dict):
            return None
        inner = inner.get(key)
    return inner if isinstance(inner, str) and inner else None


def _text(cell: dict[str, Any]) -> str:
    source = cell.get("source", cell.get("input", ""))
    if isinstance(source, list):
        source = "".join(part for part in source if isinstance(part, str))
    text = source if isinstance(source, str) else ""
    return text.encode("utf-8", "replace").decode("utf-8")


def _pictures(cell: dict[str, Any]) -> dict[str, dict[str, str]]:
    attachments = cell.get("attachments")
    kept: dict[str, dict[str, str]] = {}
    if not isinstance(attachments, dict):
        return kept
    for name, bundle in list(attachments.items())[:MOST_PICTURES]:
        for kind, data in bundle.items() if isinstance(bundle, dict) else ():
            if re.fullmatch(r"[\w .()+-]{1,100}", name) and _is_picture(kind, data):
                kept[name] = {kind: "".join(data.split())}
    return kept


def _is_picture(kind: str, data: Any) -> bool:
    if kind not in _PICTURES or not isinstance(data, str) or len(data) > LARGEST_PICTURE:
        return False
    try:
        raw = base64.b64decode("".join(data.split()), validate=True)
    except (binascii.Error, ValueError):
        return False
    return raw.startswith(_PICTURES[kind])


def sweep(folder: Path, keep: Iterable[str], aside: Path) -> list[str]:
    """Move everything aside that is not a plain file of one of the names to keep, and say what was moved.

    Parameters
    ----------
    folder : ``<step>/<apprentice>/<lesson>``; it and the folder above it are moved aside when they are links
    keep : names of files that may stay, as they are spelled
    aside : folder to move to; made when needed

    Nothing is opened and no link is followed. What cannot be moved is left and named all the same.
    """
    moved: list[str] = []
    for outer in (folder.parent, folder):
        if outer.is_symlink():
            _move(outer, aside)
            return [f"{outer.name} (a link)"]
    try:
        entries = sorted(os.scandir(folder), key=lambda entry: entry.name)
    except OSError:
        return moved
    allowed = set(keep)
    for entry in entries:
        try:
            status = entry.stat(follow_symlinks=False)
        except OSError:
            continue
        plain = stat.S_ISREG(status.st_mode)
        if plain and entry.name in allowed and (entry.name != "timestamp.txt" or _is_timestamp(Path(entry.path))):
            continue
        if entry.name == ".ipynb_checkpoints" and stat.S_ISDIR(status.st_mode):
            _move(Path(entry.path), aside)
            continue
        _move(Path(entry.path), aside)
        moved.append(f"{_printable(entry.name)} ({_kind(status.st_mode)})")
    return moved


def _is_timestamp(path: Path) -> bool:
    try:
        if path.stat().st_size > LARGEST_TIMESTAMP:
            return False
        text = path.read_text(encoding="ascii").strip()
        if re.fullmatch(_USUAL_TIME, text):
            datetime.datetime.fromisoformat(text[:19])
            return True
        if not text:
            return True
        from nbgrader.utils import parse_utc  # takes seconds to load

        return parse_utc(text) is not None
    except Exception:
        return False


def _move(path: Path, aside: Path) -> None:
    aside.mkdir(parents=True, exist_ok=True)
    number = 1 + sum(1 for _ in os.scandir(aside))
    name = re.sub(r"[^\w.-]", "_", path.name)[:80]
    while os.path.lexists(target := aside / f"{number:03d}-{name}.aside"):
        number += 1
    try:
        path.rename(target)
    except OSError:
        if path.is_symlink() or not path.is_dir():
            path.unlink(missing_ok=True)


def _kind(mode: int) -> str:
    if stat.S_ISLNK(mode):
        return "a link"
    if stat.S_ISDIR(mode):
        return "a folder"
    return "an extra file" if stat.S_ISREG(mode) else "a special file"


def _printable(name: str) -> str:
    return "".join(letter if letter.isprintable() else "?" for letter in name)[:80]
