"""Which version of a lesson was handed out, handed in, and is here: a mark is only given where all three are one."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Mapping
from dataclasses import asdict
from functools import cache, lru_cache
from importlib.metadata import version
from pathlib import Path
from typing import Any

import refinishlib
from refinishlib.course import keys, lessons, release
from refinishlib.course.release import Release
from refinishlib.grading.handedin import Unreadable, notebook_data, school_cells

# A notebook that lost its metadata is taken for an older version when so many of its cells are no cells of the lesson.
STRANGERS = 3
LONGEST_SAID = 80
KEPT = Path(".local") / "releases.json"
COMPUTES = ("numpy", "scipy", "colour-science", "pint", "networkx")

SOURCES = {
    "KEPT": "definition",
    "COMPUTES": "definition",
    "LONGEST_SAID": "teaching value: what somebody may write into a sentence for the instructor",
    "STRANGERS": "teaching value: more than somebody who tries things out leaves in a notebook",
}


@lru_cache(maxsize=16)
def handed_out(released: str) -> Release | None:
    """What a released notebook, as text, says that it is; None when it is from before lessons had versions."""
    return release.stated(json.loads(released).get("metadata", {}))


def about(released: str) -> dict[str, Any]:
    """What a ledger row carries of the released notebook: version, world, library."""
    out = handed_out(released)
    return {name: getattr(out, name, None) for name in ("version", "world", "library")}


def moved_on(lesson: str, released: str) -> str:
    """Why what was handed out is not what is here, when it is not; else "".

    released : the released notebook, as text
    """
    if lesson not in lessons.names():
        return ""
    out, here = handed_out(released), now(lesson)
    if out is not None and _rules(out) == _rules(here):
        return ""
    was = str(out) if out else f"{lesson} {release.FIRST}, from before lessons had versions,"
    return (
        f"{was} was handed out, and {here} is here, which asks or marks something else; type refinish upgrade to see "
        f"what would move, or go back to the library that it was handed out with"
    )


def same_version(lesson: str, released: str) -> bool:
    """Whether what was handed out calls itself the version that is here, whatever an engine makes of it today."""
    if lesson not in lessons.names():
        return True
    out, record = handed_out(released), lessons.record(lesson)
    return out is not None and (out.version, out.world) == (record.version, record.world)


def why_not(path: Path, lesson: str, released: str) -> str:
    """Why a hand-in cannot be graded by the lesson as it is handed out and as it is here; "" when it can.

    Parameters
    ----------
    path : the notebook that was handed in; one that cannot be read is for others to tell
    released : the released notebook, as text
    """
    if why := moved_on(lesson, released):
        return why
    out = handed_out(released)
    try:
        data = notebook_data(path)
    except Unreadable:
        return ""
    theirs = release.stated(_metadata(data))
    if out is None or (theirs and _rules(theirs)[:3] == _rules(out)[:3]):
        return ""
    strangers = school_cells(data) - _cells_of(released)
    if theirs is None and len(strangers) < STRANGERS:
        return ""
    made_from = str(theirs)[:LONGEST_SAID] if theirs else f"an earlier version of {lesson}"
    return (
        f"it was made from {made_from}, and the class has {out}; ask for the lesson as it is now, or grade it in a "
        "course folder of its own version"
    )


@lru_cache(maxsize=16)
def _cells_of(released: str) -> set[str]:
    return school_cells(json.loads(released))


def _rules(one: Release) -> tuple[str, int, int, str, str]:
    return one.lesson, one.version, one.world, one.cards, one.marks


def _metadata(data: Any) -> Mapping[str, Any]:
    found = data.get("metadata") if isinstance(data, dict) else None
    return found if isinstance(found, dict) else {}


def now(lesson: str) -> Release:
    """The lesson as it is here, with the key of this course folder.

    To know it, the questions of a few ids are drawn, which loads the colour engine. So it is kept in the course's
    folder, under a hash of everything that it follows from: the whole library, the key, and the libraries that compute.

    Raises
    ------
    BadEntry : no key here, as in a course folder from before keys lay among the solutions
    """
    return _now(lesson, keys.written(lesson))[0]


def points(lesson: str) -> dict[str, float]:
    """What each question of the lesson counts, by its name.

    Raises
    ------
    BadEntry : no key here
    """
    return _now(lesson, keys.written(lesson))[1]


@cache
def _now(lesson: str, key: tuple[Path, int]) -> tuple[Release, dict[str, float]]:
    kept = key[0].parents[1] / KEPT
    follows_from = f"{_library()} {hashlib.sha256(key[0].read_bytes()).hexdigest()}"
    rows = _read(kept)
    row = rows.get(lesson)
    if isinstance(row, dict) and row.get("follows_from") == follows_from:
        found = release.stated({"refinish": row.get("release")})
        if found is not None:
            return found, row["points"]
    found = release.release(lesson)
    counts = {name: question.points for name, question in lessons.questions(lesson, release.PROBES[0]).items()}
    _keep(kept, rows | {lesson: {"follows_from": follows_from, "release": asdict(found), "points": counts}})
    return found, counts


@cache
def _library() -> str:
    """A hash of all code and data of the library, and of the versions of what computes for it."""
    folder = Path(refinishlib.__file__).parent
    digest = hashlib.sha256()
    for path in sorted(path for path in folder.rglob("*") if path.suffix in (".py", ".toml")):
        digest.update(path.relative_to(folder).as_posix().encode() + b"\0" + path.read_bytes())
    digest.update("".join(f"{name} {version(name)}\n" for name in COMPUTES).encode())
    return digest.hexdigest()


def _read(path: Path) -> dict[str, Any]:
    try:
        rows = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return rows if isinstance(rows, dict) else {}


def _keep(path: Path, rows: dict[str, Any]) -> None:
    """Write it whole or not at all; where nothing can be written, it is drawn again the next time."""
    fresh = path.with_suffix(f".{os.getpid()}.new")
    try:
        path.parent.mkdir(exist_ok=True)
        fresh.write_text(json.dumps(rows, indent=1), encoding="utf-8")
        fresh.replace(path)
    except OSError:
        return
