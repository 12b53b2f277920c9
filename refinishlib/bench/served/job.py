"""The job that all pages of a bench share: what was typed or chosen, as text, with a number that rises."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

from refinishlib.entry import BadEntry

LONGEST_TEXT = 200
MOST_NAMES = 40
NOTHING: dict[str, str] = {"vehicle": ""}

SOURCES = {
    "LONGEST_TEXT": "teaching value: longer text is no entry of a calculator",
    "MOST_NAMES": "teaching value: more than a job carries",
    "NOTHING": "definition",
}


class StaleJob(BadEntry):
    """Somebody else has changed the job in the meantime."""


class SharedJob:
    """The job of one bench, kept in a file, whole or not at all.

    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     job = SharedJob(Path(folder) / "job.json")
    ...     revision = job.put({"colour": "Kiln Red, as built"}, based_on=0)
    ...     again = SharedJob(Path(folder) / "job.json")
    >>> again.revision, again.values["colour"]
    (1, 'Kiln Red, as built')
    """

    def __init__(self, file: Path) -> None:
        self._file = file
        self.revision, self.values = 0, dict(NOTHING)
        try:
            found = json.loads(file.read_text(encoding="utf-8"))
            self.revision, self.values = int(found["revision"]), _checked(found["values"])
        except (OSError, ValueError, KeyError, TypeError):
            pass  # there is none yet, or none that can be read: a new job begins

    def put(self, values: Any, *, based_on: int) -> int:
        """Take another state of the job, and return its number.

        Raises
        ------
        StaleJob : it is based on an older number; the newer job stays
        BadEntry : what is no job
        """
        fresh = _checked(values)
        if based_on != self.revision:
            raise StaleJob(f"job: change {based_on} was given, allowed is {self.revision}: it was changed elsewhere.")
        self.revision, self.values = self.revision + 1, fresh
        self._file.parent.mkdir(parents=True, exist_ok=True)
        whole = self._file.with_suffix(f".{os.getpid()}.new")
        whole.write_text(json.dumps({"revision": self.revision, "values": self.values}), encoding="utf-8")
        whole.replace(self._file)
        return self.revision


def _checked(values: Any) -> dict[str, str]:
    plain = isinstance(values, dict) and 0 < len(values) <= MOST_NAMES
    if not plain or not all(
        isinstance(one, str) and len(one) <= LONGEST_TEXT for pair in values.items() for one in pair
    ):
        raise BadEntry(f"job: allowed are up to {MOST_NAMES} names, each with a text of up to {LONGEST_TEXT} letters.")
    return dict(values)
