"""In the notebook's kernel: what the answer cells say, kept by their text, so that no old value is taken for a new one.

Before each cell is run its text is read by the grader's own reader. What it says replaces what the kernel held under
those names; a line that is no Python but can be read ("own_g = 34,2 g") is given to the kernel as the text that it is.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from refinishlib.course.answers import CODE, CellRead, assigned_names, read_cell
from refinishlib.course.question import Part
from refinishlib.course.reading import Said, said, slip_of

# Cells of the school's own: nbgrader's mark in an instructor's notebook, the set-up cell, the checks.
SCHOOLS_OWN = ("### BEGIN SOLUTION", "from refinishlib.course.lesson import", "check.form(")
READ_FROM = "read_from"


@dataclass(frozen=True)
class Typed:
    """What the last cell that was run says about one name: its text, the value, and why there is none."""

    text: str
    value: Any
    slip: str


class Cells:
    """The answer cells of one kernel, as they were run last."""

    def __init__(self) -> None:
        self.by_name: dict[str, Typed] = {}

    def run(self, text: str) -> tuple[CellRead, dict[str, Any]]:
        """Note a cell that is about to be run. Returns its reading, and what the kernel must hold before it runs."""
        reading = read_cell(text, self.values(), self.lost())
        names = dict.fromkeys((*reading.values, *reading.slips, *assigned_names(text)))
        if any(mark in text for mark in SCHOOLS_OWN):
            for name in names:
                self.by_name.pop(name, None)
            return reading, {}
        for name in names:
            slip = slip_of(name, reading, text) or ("" if name in reading.values else reading.sentence)
            self.by_name[name] = Typed(text, reading.values.get(name, ...), slip)
        if reading.problem == CODE:
            return reading, {}
        return reading, {name: reading.values.get(name, ...) for name in names}

    def say(self, parts: Sequence[Part], answers: Mapping[str, Any]) -> list[Said]:
        """What was read for each part: from its cell's text, or, where no cell was seen, from the kernel's value."""
        lines = []
        for part in parts:
            typed = self.by_name.get(part.name)
            value, slip = (typed.value, typed.slip) if typed else (answers.get(part.name, ...), "")
            lines.append(said(part, value, slip))
        return lines

    def read_from(self, parts: Sequence[Part]) -> list[str]:
        """Marks of the texts that the parts were read from."""
        texts = {self.by_name[part.name].text for part in parts if part.name in self.by_name}
        return sorted(mark_of(text) for text in texts)

    def values(self) -> dict[str, Any]:
        """The answers so far, by name."""
        return {name: typed.value for name, typed in self.by_name.items() if not typed.slip}

    def lost(self) -> list[str]:
        """Names whose cell could not be read."""
        return [name for name, typed in self.by_name.items() if typed.slip]


def mark_of(text: str) -> str:
    """A short mark of a cell's text, by which a saved notebook tells whether an output still belongs to it.

    >>> mark_of("own_g = 34.2") == mark_of("own_g = 34.2 "), len(mark_of("own_g = 34.2"))
    (False, 16)
    """
    return hashlib.sha256(text.encode("utf-8", "replace")).hexdigest()[:16]


cells = Cells()


def watch() -> None:
    """Read each cell of this kernel before it is run, from now on. Without IPython it does nothing."""
    from IPython import get_ipython

    shell = get_ipython()
    if shell is None or any(getattr(one, "refinish", False) for one in shell.input_transformers_cleanup):
        return

    def before(info: Any) -> None:
        _, held = cells.run(info.raw_cell or "")
        shell.user_ns.update(held)

    def as_read(lines: list[str]) -> list[str]:
        """Lines that only our reader can read, in the form that the kernel takes."""
        reading = read_cell("".join(lines), cells.values(), cells.lost())
        if not reading.loose or reading.problem:
            return lines
        return [f"{name} = {value!r}\n" for name, value in reading.values.items()]

    as_read.refinish = True  # type: ignore[attr-defined]
    shell.events.register("pre_run_cell", before)
    shell.input_transformers_cleanup.append(as_read)


def show(text: str, parts: Sequence[Part]) -> None:
    """Show what a check says, with the marks of the texts that it speaks of; `saving` keeps it only beside those."""
    from IPython import get_ipython

    marks = cells.read_from(parts)
    if get_ipython() is None or not marks:
        print(text)
        return
    from IPython.display import display

    display({"text/plain": text}, raw=True, metadata={"refinish": {READ_FROM: marks}})
