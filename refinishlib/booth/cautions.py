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
    defer : what comes before it; belongs under it wherever it is shown
    tasks : names of the tasks that need it: those of the order of work, and work at the mixing bench
    sources : rules and standards on the topic, or common practice
    """

    name: str
    danger: str
    usual: str
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
            row["name"], row["danger"], row["usual"], data["defer"], tuple(row["tasks"]), tuple(row["sources"])
        )
        for row in data["caution"]
    }


def for_task(task: str) -> tuple[Caution, ...]:
    """The cautions that a task needs, none if it needs none of its own.

    Raises
    ------
    BadEntry : an unknown task, so that a wrong name is never mistaken for a harmless task

    >>> [caution.name for caution in for_task("blow out")]
    ['compressed air']
    >>> for_task("record")
    ()
    """
    at = _by_task()
    return at[one_of("task", task, at)]


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
    at: dict[str, tuple[Caution, ...]] = {task: () for task in _file()["plain_tasks"]}
    for caution in cautions().values():
        for task in caution.tasks:
            at[task] = (*at.get(task, ()), caution)
    return at


@cache
def _file() -> dict[str, Any]:
    caution = (
        Field("name", str, unique=True),
        Field("danger", str),
        Field("usual", str),
        Field("tasks", str, many=True),
        Field("sources", str, many=True),
    )
    tables = (
        Field("source", str),
        Field("defer", str),
        Field("plain_tasks", str, many=True),
        Field("caution", fields=caution, many=True),
    )
    return load(files(__package__) / "cautions.toml", tables, also=_faults)


def _faults(data: dict[str, Any]) -> Faults:
    for index, row in enumerate(data["caution"]):
        for task in row["tasks"]:
            if task in data["plain_tasks"]:
                yield ("caution", index, "tasks"), f"tasks: {task!r} has a caution, allowed is not to call it plain."
