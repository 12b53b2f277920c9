"""What can hurt at a task and what is usually done about it.

Nothing here computes: it never says that an exposure, a respirator or a way of working is safe. Every caution defers
to the product's safety data sheet, the local code and trained people.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from refinishlib.entry import one_of
from refinishlib.shop.faults import Faults, Field, load


@dataclass(frozen=True)
class Caution:
    """One danger.

    danger : what can hurt
    usual : what is usually done about it
    short : the same in a few words, for a card or a screen without room
    defer : what comes before it; belongs under it wherever it is shown
    tasks : names of the tasks that need it: those of the order of work, and work at the mixing bench
    sources : rules and standards on the topic, or common practice
    """

    name: str
    danger: str
    usual: str
    short: str
    defer: str
    tasks: tuple[str, ...]
    sources: tuple[str, ...]

    @property
    def title(self) -> str:
        """The name as a heading."""
        return self.name[:1].upper() + self.name[1:]

    @property
    def text(self) -> str:
        """Danger, usual practice and what it defers to, fit to be shown."""
        return f"{self.danger} {self.usual} {self.defer}"


@cache
def cautions() -> dict[str, Caution]:
    """All cautions by name.

    Source
    ------
    Topics of OSHA, EPA, NFPA and REACH, each caution with its own.

    >>> "batteries" in cautions()["heat, batteries and plastics"].name
    True
    """
    data = _file()
    return {
        row["name"]: Caution(
            row["name"],
            row["danger"],
            row["usual"],
            row["short"],
            data["defer"],
            tuple(row["tasks"]),
            tuple(row["sources"]),
        )
        for row in data["caution"]
    }


def for_task(task: str) -> tuple[Caution, ...]:
    """The cautions that a task needs; where it has none of its own, `why_none` says why.

    Raises
    ------
    BadEntry : an unknown task, so that a wrong name is never mistaken for a harmless task

    >>> [caution.name for caution in for_task("blow out")]
    ['compressed air', 'noise']
    """
    at = _by_task()
    return at[one_of("task", task, at)]


def why_none(task: str) -> str:
    """Why a task has no caution of its own, in a sentence; an empty text for a task that has one.

    Raises
    ------
    BadEntry : an unknown task

    >>> why_none("record")
    'It has no caution of its own, because it is writing; what lies around it may still hurt.'
    """
    one_of("task", task, _by_task())
    reason = _reasons().get(task)
    return f"It has no caution of its own, because {reason}; what lies around it may still hurt." if reason else ""


def notice(task: str) -> str:
    """The cautions of a task in a few words, and what comes before them, for a card or a screen without room.

    Raises
    ------
    BadEntry : an unknown task

    >>> notice("acid etch")
    Traceback (most recent call last):
        ...
    refinishlib.entry.BadEntry: task: 'acid etch' was given, allowed are agree the scope, find the code, ...
    >>> notice("blow out").startswith("Eyes covered, reduced pressure, never towards people. Ears protected")
    True
    """
    found = for_task(task)
    if not found:
        return why_none(task)
    return " ".join([*(f"{caution.short}." for caution in found), found[0].defer])


def for_tasks(tasks: Iterable[str]) -> dict[str, tuple[Caution, ...]]:
    """The cautions of each task that needs any, in the order of the tasks.

    Raises
    ------
    BadEntry : an unknown task

    >>> list(for_tasks(["record", "blow out", "etch primer"]))
    ['blow out', 'etch primer']
    """
    return {task: found for task in tasks if (found := for_task(task))}


@cache
def _by_task() -> dict[str, tuple[Caution, ...]]:
    at: dict[str, tuple[Caution, ...]] = dict.fromkeys(_reasons(), ())
    for caution in cautions().values():
        for task in caution.tasks:
            at[task] = (*at.get(task, ()), caution)
    return at


@cache
def _reasons() -> dict[str, str]:
    return {row["task"]: row["reason"] for row in _file()["plain"]}


@cache
def _file() -> dict[str, Any]:
    caution = (
        Field("name", str, unique=True),
        Field("danger", str),
        Field("usual", str),
        Field("short", str),
        Field("tasks", str, many=True),
        Field("sources", str, many=True),
    )
    tables = (
        Field("source", str),
        Field("defer", str),
        Field("plain", fields=(Field("task", str, unique=True), Field("reason", str)), many=True),
        Field("caution", fields=caution, many=True),
    )
    data: dict[str, Any] = load(files(__package__) / "cautions.toml", tables, also=_faults)
    return data


def _faults(data: dict[str, Any]) -> Faults:
    plain = {row["task"] for row in data["plain"]}
    for index, row in enumerate(data["caution"]):
        for task in row["tasks"]:
            if task in plain:
                yield ("caution", index, "tasks"), f"tasks: {task!r} has a caution, allowed is not to call it plain."
