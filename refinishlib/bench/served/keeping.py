"""What the bench keeps for all devices, in its folder: the job, jobs put aside, entries and settings.

Each is a small file of plain JSON, written whole or not at all, so that a power cut leaves the one before.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
from dataclasses import asdict, fields
from pathlib import Path
from typing import Any

from refinishlib.entry import BadEntry
from refinishlib.units import ShopUnits

LONGEST_TEXT = 2000
LONGEST_NAME = 60
MOST_NAMES = 60
MOST_KEPT_BYTES = 200_000
MOST_JOBS = 2000
NOTHING: dict[str, str] = {"vehicle": ""}
FORMAT = "refinish job 1"

SOURCES = {
    "LONGEST_TEXT": "teaching value: longer text is no entry of a calculator",
    "LONGEST_NAME": "teaching value: longer is no name of a vehicle",
    "MOST_NAMES": "teaching value: more than a job carries",
    "MOST_KEPT_BYTES": "teaching value: more than any calculator remembers",
    "MOST_JOBS": "teaching value: jobs put aside, more than a shop has open at once",
    "NOTHING": "definition",
    "FORMAT": "definition",
}


class StaleJob(BadEntry):
    """Somebody else has changed the job in the meantime."""


class BenchFolder:
    """The folder of one bench.

    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     bench = BenchFolder(Path(folder))
    ...     revision = bench.put({"colour": "Kiln Red, as built", "vehicle": "demo 7"}, based_on=0)
    ...     name = bench.put_aside()
    ...     again = BenchFolder(Path(folder))
    ...     again.put_aside_jobs(), again.values["colour"], again.revision
    (('demo 7',), 'Kiln Red, as built', 1)
    """

    def __init__(self, root: Path) -> None:
        self._root = root
        self.revision, self.values = 0, dict(NOTHING)
        found = _read(root / "job.json")
        if isinstance(found, dict):
            # Of nothing that can be read a new job begins.
            with contextlib.suppress(BadEntry, ValueError, KeyError, TypeError):
                self.revision, self.values = int(found["revision"]), checked(found["values"])

    def put(self, values: Any, *, based_on: int) -> int:
        """Take another state of the job, and return its number.

        Raises
        ------
        StaleJob : it is based on an older number; the newer job stays
        BadEntry : what is no job
        """
        fresh = checked(values)
        if based_on != self.revision:
            raise StaleJob(f"job: change {based_on} was given, allowed is {self.revision}: it was changed elsewhere.")
        self.revision, self.values = self.revision + 1, fresh
        _write(self._root / "job.json", {"revision": self.revision, "values": self.values})
        return self.revision

    # --- jobs put aside: a file each, which can be carried to another bench -------------------------------------------

    def put_aside(self) -> str:
        """Keep the job as it stands under the name of its vehicle, over an earlier state of the same; its name.

        Raises
        ------
        BadEntry : the job has no vehicle yet
        """
        name = job_name(self.values.get("vehicle", ""))
        if len(self.put_aside_jobs()) >= MOST_JOBS:
            raise BadEntry(f"job: {MOST_JOBS} jobs lie in {self._root / 'jobs'}, allowed are no more: clear it first.")
        _write(self._root / "jobs" / f"{name}.json", as_file(self.values))
        return name

    def put_aside_jobs(self) -> tuple[str, ...]:
        """Names of the jobs that were put aside, the last one first."""
        found = sorted((self._root / "jobs").glob("*.json"), key=lambda file: -file.stat().st_mtime)
        return tuple(file.stem for file in found)

    def take_up(self, name: str) -> None:
        """Make one that was put aside the job of the bench.

        Raises
        ------
        BadEntry : there is none of this name, or it cannot be read
        """
        if name not in self.put_aside_jobs():
            raise BadEntry(f"job: {name[:LONGEST_NAME]!r} was given, allowed is one that was put aside.")
        self.put(from_file((self._root / "jobs" / f"{name}.json").read_text("utf-8")), based_on=self.revision)

    # --- entries of each calculator -----------------------------------------------------------------------------------

    def entries(self, key: str) -> Any:
        """What was last entered in a calculator, on whatever device; empty where nothing was."""
        found = _read(self._root / "entries" / f"{key}.json")
        return found if isinstance(found, dict) else {}

    def keep_entries(self, key: str, entries: Any) -> None:
        """
        Raises
        ------
        BadEntry : what is no entries, or too much
        """
        if not isinstance(entries, dict) or len(json.dumps(entries)) > MOST_KEPT_BYTES:
            raise BadEntry(f"entries: allowed are names with values, up to {MOST_KEPT_BYTES} letters.")
        _write(self._root / "entries" / f"{key}.json", entries)

    # --- units --------------------------------------------------------------------------------------------------------

    @property
    def units(self) -> ShopUnits:
        """The shop's units; the house's own where none were chosen."""
        found = _read(self._root / "units.json")
        known = {one.name for one in fields(ShopUnits)}
        try:
            return ShopUnits(**{name: value for name, value in found.items() if name in known})
        except (BadEntry, AttributeError, TypeError):
            return ShopUnits()

    def choose_units(self, units: ShopUnits) -> None:
        """Keep them for all devices."""
        _write(self._root / "units.json", asdict(units))


def job_name(vehicle: str) -> str:
    """A file's name made of a vehicle's.

    Raises
    ------
    BadEntry : a vehicle without a name

    >>> job_name(" five-door / 7 "), job_name("../../x")
    ('five-door 7', 'x')
    """
    name = " ".join(re.sub(r"[^\w\- ]", " ", vehicle).split())[:LONGEST_NAME].strip()
    if not name:
        raise BadEntry("vehicle: nothing was given, allowed is what the shop calls it, with a letter or a number.")
    return name


def as_file(values: dict[str, str]) -> dict[str, Any]:
    """The job as the content of its file.

    >>> from_file(json.dumps(as_file({"vehicle": "demo 7"})))
    {'vehicle': 'demo 7'}
    """
    return {"format": FORMAT, "values": checked(values)}


def from_file(text: str) -> dict[str, str]:
    """The job of a file.

    Raises
    ------
    BadEntry : a text that is none
    """
    try:
        found = json.loads(text)
        if found["format"] == FORMAT:
            return checked(found["values"])
    except (ValueError, KeyError, TypeError):
        pass
    raise BadEntry("job: this file was given, allowed is one that the bench wrote with *Save as a file*.")


def checked(values: Any) -> dict[str, str]:
    """A job, if it is one.

    Raises
    ------
    BadEntry : anything else
    """
    plain = isinstance(values, dict) and 0 < len(values) <= MOST_NAMES
    if not plain or not all(
        isinstance(one, str) and len(one) <= LONGEST_TEXT for pair in values.items() for one in pair
    ):
        raise BadEntry(f"job: allowed are up to {MOST_NAMES} names, each with a text of up to {LONGEST_TEXT} letters.")
    return dict(values)


def _read(file: Path) -> Any:
    try:
        return json.loads(file.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None


def _write(file: Path, content: Any) -> None:
    file.parent.mkdir(parents=True, exist_ok=True)
    whole = file.with_suffix(f".{os.getpid()}.new")
    whole.write_text(json.dumps(content), encoding="utf-8")
    whole.replace(file)
