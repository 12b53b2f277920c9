"""What practice remembers of one apprentice: how far each kind of problem is, what went wrong, and what was guessed.

It is a small plain file in the apprentice's course folder. No kernel is needed to keep it, and none that dies loses it.
Nothing in it counts for a mark. A file that cannot be read or written is as good as none: practice goes on without.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from IPython import get_ipython

from refinishlib.course import apprentice
from refinishlib.course.folder import course_folder
from refinishlib.entry import BadEntry

FILE = ".local/practice.json"
READY_AFTER = 3
# Days until a problem that went wrong comes back: at once, the next day, a week later; then it is known.
WAITS_DAYS = (0, 1, 7)
MOST_MISSED = 60

SOURCES = {
    "FILE": "definition",
    "READY_AFTER": "teaching value: three in a row at the first try",
    "WAITS_DAYS": "teaching value: growing gaps, as spaced practice is usually done",
    "MOST_MISSED": "teaching value: more old problems than this nobody comes back to",
}


@dataclass(frozen=True)
class SkillStanding:
    """How far somebody is with one kind of problem.

    level : 0, one step is left to do; 1, two steps; 2, all of them
    in_a_row : problems that were right at the first try since the last slip
    ready : whether there were three in a row once
    """

    level: int = 0
    in_a_row: int = 0
    ready: bool = False

    def after(self, first_try: bool) -> SkillStanding:
        """The standing after one more problem.

        >>> SkillStanding().after(True).after(True).after(True)
        SkillStanding(level=2, in_a_row=3, ready=True)
        >>> SkillStanding(2, 3, True).after(False)
        SkillStanding(level=1, in_a_row=0, ready=True)
        """
        if not first_try:
            return SkillStanding(max(self.level - 1, 0), 0, self.ready)
        row = self.in_a_row + 1
        return SkillStanding(min(self.level + 1, 2), row, self.ready or row >= READY_AFTER)


@dataclass(frozen=True)
class Missed:
    """A problem that went wrong.

    kind : such as "mixing/Own weight"
    seed : what it was drawn from
    right_since : how often it was right since
    due : the day on which it comes back, as 2026-05-01
    """

    kind: str
    seed: str
    right_since: int
    due: str


class Memory:
    """The file, for one apprentice. Each change is written at once, over what stands there by then.

    path : None keeps nothing beyond this object
    """

    def __init__(self, path: Path | None = None, whose: str = "", today: Callable[[], date] = date.today) -> None:
        self._path, self._whose, self._today = path, whose, today
        self._own: dict[str, Any] = {}

    def standing(self, kind: str) -> SkillStanding:
        """How far this apprentice is with a kind of problem."""
        found = self._read().get("standings", {}).get(kind)
        return _as(SkillStanding, found) or SkillStanding()

    def missed(self, kinds: Iterable[str]) -> list[Missed]:
        """What went wrong of these kinds and is due again, the oldest first."""
        wanted, today = set(kinds), self._today().isoformat()
        return [one for one in self._missed(self._read()) if one.kind in wanted and one.due <= today]

    def note(self, kind: str, seed: str, first_try: bool) -> SkillStanding:
        """Note how a problem went: right at the first try, or not. Returns the new standing."""
        kept = self._read()
        now = (_as(SkillStanding, kept.get("standings", {}).get(kind)) or SkillStanding()).after(first_try)
        missed = self._missed(kept)
        before = next((one for one in missed if (one.kind, one.seed) == (kind, seed)), None)
        missed = [one for one in missed if one != before]
        right_since = before.right_since + 1 if before and first_try else 0
        if not first_try or (before and right_since < len(WAITS_DAYS)):
            due = self._today() + timedelta(days=WAITS_DAYS[right_since])
            missed.append(Missed(kind, seed, right_since, due.isoformat()))
        standings = {**kept.get("standings", {}), kind: asdict(now)}
        self._write({**kept, "standings": standings, "missed": [asdict(one) for one in missed[-MOST_MISSED:]]})
        return now

    def guess(self, name: str) -> str:
        """What was guessed; empty where nothing was."""
        found = self._read().get("guesses", {}).get(name, "")
        return found if isinstance(found, str) else ""

    def keep_guess(self, name: str, option: str) -> None:
        kept = self._read()
        self._write({**kept, "guesses": {**kept.get("guesses", {}), name: option}})

    @staticmethod
    def _missed(kept: Mapping[str, Any]) -> list[Missed]:
        rows = kept.get("missed", [])
        return [one for row in (rows if isinstance(rows, list) else []) if (one := _as(Missed, row))]

    def _all(self) -> dict[str, Any]:
        try:
            found = json.loads(self._path.read_text(encoding="utf-8")) if self._path else {}
        except (OSError, ValueError):
            found = {}
        return found if isinstance(found, dict) else {}

    def _read(self) -> dict[str, Any]:
        mine = self._all().get(self._whose, {}) if self._path else self._own
        if not isinstance(mine, dict):
            return {}
        return {name: value for name, value in mine.items() if isinstance(value, list if name == "missed" else dict)}

    def _write(self, mine: dict[str, Any]) -> None:
        self._own = mine
        if self._path is None:
            return
        half = self._path.with_suffix(f".{os.getpid()}")
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True)
            half.write_text(json.dumps({**self._all(), self._whose: mine}), encoding="utf-8")
            half.replace(self._path)
        except OSError:
            self._path = None


def of_this_notebook() -> Memory:
    """The memory of whoever this notebook is for, in the course's folder; none that lasts outside of a course."""
    shell = get_ipython()
    whose = apprentice.current(shell.user_ns.get("my_id", ...)) if shell is not None else ""
    try:
        root = course_folder()
    except BadEntry:
        return Memory()
    return Memory(root / FILE, whose) if Path.cwd().resolve().is_relative_to(root) else Memory()


def _as(kind: type[Any], row: Any) -> Any:
    """A row of the file as what it should be; None where it is something else."""
    try:
        made = kind(**row)
    except TypeError:
        return None
    fits = all(type(getattr(made, name)).__name__ == wanted for name, wanted in kind.__annotations__.items())
    return made if fits and (kind is not Missed or 0 <= made.right_since < len(WAITS_DAYS)) else None
