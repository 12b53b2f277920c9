"""What a lesson notebook calls: one line a cell."""

from __future__ import annotations

from html import escape
from typing import Any

from IPython import get_ipython
from IPython.display import HTML, display

from refinishlib.bench.mix_sheet import MixSheet
from refinishlib.booth.cautions import for_task
from refinishlib.course import apprentice, as_typed, check, lessons, practice
from refinishlib.course.guess import guess
from refinishlib.course.plain_errors import use_plain_errors
from refinishlib.course.practice import mixed, practise

__all__ = [
    "MixSheet", "card", "cautions", "check", "figure", "guess", "mixed", "practise", "shown", "start"
]  # fmt: skip

NO_ID = "Type your id at <i>Who you are</i>. Then your card shows."


def start() -> None:
    """Get a lesson ready: from here on cells are read as a grader reads them, and a typing slip gives one sentence.

    An id that is not there yet, or was mistyped, counts as not filled in.
    """
    use_plain_errors()
    as_typed.watch()
    shell = get_ipython()
    if shell is not None:
        shell.user_ns.setdefault("my_id", ...)


def card(lesson: str, name: str, my_id: Any) -> None:
    """Show the job card of a question with this apprentice's own numbers."""
    whose = apprentice.current(my_id)
    if not whose:
        _show(f"<p>{NO_ID}</p>")
        return
    asked = lessons.question(lesson, name, whose)
    points = "1 point" if asked.points == 1 else f"{asked.points:g} points"
    _show(f"<p><b>Job card {escape(name)}</b>, for {escape(whose)}, {points}</p>{asked.text}")


def cautions(task: str) -> None:
    """Show the usual cautions for a task that can hurt, and who has the last word."""
    found = for_task(task)
    rows = "".join(
        f"<p><b>{escape(c.name[0].upper() + c.name[1:])}.</b> {escape(c.danger)} {escape(c.usual)}</p>" for c in found
    )
    last = "".join(f"<p><b>{escape(words)}</b></p>" for words in dict.fromkeys(c.defer for c in found))
    _show(f'<div class="refinish-caution">{last}{rows}</div>')


def shown(lesson: str, skill: str) -> None:
    """Show one worked example of what is practised next."""
    _show(practice.shown(lesson, skill))


def figure(lesson: str, name: str) -> None:
    """Show one of a lesson's own pictures or widgets."""
    found = getattr(lessons.module(lesson, "figures"), name)(lessons.record(lesson).shop)
    if isinstance(found, str):
        _show(found)
    else:
        display(found)


def _show(html: str) -> None:
    display(HTML(f'<div class="refinish-sheet refinish-card">{html}</div>'))
