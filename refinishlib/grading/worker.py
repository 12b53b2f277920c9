"""The process that reads answers and runs the school's own checks. It lives outside of every submission.

It is started as ``python -I -m refinishlib.grading.worker`` with an empty folder as working folder, so that no
file that was handed in can be imported. One request and one reply are each a line of JSON.
"""

from __future__ import annotations

import ast
import builtins
import contextlib
import io
import json
import math
import os
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from types import CodeType
from typing import Any, TextIO

from refinishlib.course.answers import CODE, SLIP, assigned_names, read_cell
from refinishlib.course.apprentice import HANDED_OVER_IN
from refinishlib.course.keys import COURSE_IN
from refinishlib.course.reading import CANNOT_BE_READ

MOST_PRINTED = 20_000
HOLDS_CODE = "holds code"
CHECK_FAILED = "check failed"
OWN_CELL = "uses a cell of one's own"
ANSWER_MISSING = "answer missing"
MISSING = 'The name "{}" is missing. Write it in the answer cell, as the lesson shows it.'
FROM_OWN_CELL = 'The name "{}" has its value from a cell of your own.'


@dataclass
class _Sheet:
    """What is known while one notebook is read from the top.

    answers : name to value
    lost : names that an unreadable cell of the apprentice's own would have given
    own : names whose value, or lack of one, comes from a cell of the apprentice's own
    slips : what to say about the answer cells since the last check
    flag : why an instructor should look at the next check
    """

    answers: dict[str, Any] = field(default_factory=lambda: {"my_id": ...})
    lost: set[str] = field(default_factory=set)
    own: set[str] = field(default_factory=set)
    slips: list[str] = field(default_factory=list)
    flag: str = ""

    def read(self, text: str, *, own: bool) -> None:
        reading = read_cell(text, self.answers, self.lost)
        unread = set(reading.slips) if reading.problem in ("", SLIP) else set(assigned_names(text))
        if own:
            self.answers |= reading.values
            self.lost = self.lost - set(reading.values) | unread
            self.own |= {*reading.values, *unread} - {"my_id"}  # only the grader's id counts
            return
        kept = {name: value for name, value in self.answers.items() if name not in unread}
        self.answers = {**kept, **reading.values}
        self.lost -= {*reading.values, *unread}
        self.own -= {*reading.values, *unread}
        if reading.problem:
            self.slips += list(reading.slips.values()) or [reading.sentence]
            worst = OWN_CELL if reading.own else CANNOT_BE_READ
            self.flag = HOLDS_CODE if reading.problem == CODE else self.flag or worst


def evaluate(apprentice: str, steps: list[dict[str, Any]]) -> dict[str, dict[str, Any]]:
    """The outcome of every check of one notebook.

    Parameters
    ----------
    apprentice : the id that the grade book knows
    steps : in the order of the notebook, ``{"answer": grade_id, "text": ...}``, ``{"own": ..., "text": ...}`` for a
        cell of the apprentice's own, or ``{"check": grade_id, "source": ..., "points": most}``

    A name that no cell gives, or whose line cannot be read, counts as not answered in every check that uses it, and
    costs no more than its own points.

    Returns, for each check, ``points`` (a plain float, or None when the check did not finish), ``sentences`` (what it
    printed), ``flag`` ("" or why an instructor should look), ``error`` (for the instructor only), and for the class
    report ``skill`` and ``mistakes``.
    """
    os.environ[HANDED_OVER_IN] = apprentice
    sheet = _Sheet()
    space: dict[str, Any] = {}
    outcomes = {}
    for step in steps:
        if "check" not in step:
            sheet.read(step["text"], own="own" in step)
            continue
        outcomes[step["check"]] = _check(step, sheet, space)
        sheet.slips, sheet.flag = [], ""
    return outcomes


def _outcome(points: float | None, sentences: list[str], flag: str = "", error: str = "") -> dict[str, Any]:
    return {"points": points, "sentences": sentences, "flag": flag, "error": error, "skill": "", "mistakes": []}


def _check(step: dict[str, Any], sheet: _Sheet, space: dict[str, Any]) -> dict[str, Any]:
    from refinishlib.course import check

    names = {**space, **sheet.answers, "check": check, "__builtins__": builtins}
    printed = io.StringIO()
    flag, said = sheet.flag, list(sheet.slips)
    try:
        body, last, used = _compiled(step["source"])
        missing = [name for name in used if name not in names and not hasattr(builtins, name)]
        names |= dict.fromkeys(missing, ...)
        before = set(names)
        if sheet.own.intersection(used):
            flag = flag or OWN_CELL
            said += [FROM_OWN_CELL.format(name) for name in used if name in sheet.own]
        if missing and not said:
            flag = flag or ANSWER_MISSING
            said += [MISSING.format(name) for name in missing]
        with contextlib.redirect_stdout(printed), contextlib.redirect_stderr(io.StringIO()):
            exec(body, names)
            value = eval(last, names) if last else None
    except Exception as error:
        return _outcome(None, said, CHECK_FAILED, f"{type(error).__name__}: {error}")
    space.update({name: names[name] for name in set(names) - before})
    said += printed.getvalue()[:MOST_PRINTED].splitlines()
    verdict = value.verdict if isinstance(value, check.Mark) else None
    value = float(value) if isinstance(value, check.Mark) else value
    if verdict and verdict.max_points:
        value = value * step["points"] / verdict.max_points  # a school may count a question more or less
    if type(value) is not float or not math.isfinite(value) or not 0.0 <= value <= step["points"]:
        return _outcome(None, said, CHECK_FAILED, f"ended in {value!r}, not in a number from 0 to {step['points']}")
    outcome = _outcome(value, said, flag)
    if verdict:
        outcome |= {"skill": verdict.skill, "mistakes": [*verdict.mistakes]}
        outcome["flag"] = flag or "".join(verdict.flags[:1])
    return outcome


_cache: dict[str, tuple[CodeType, CodeType | None, tuple[str, ...]]] = {}


def _compiled(source: str) -> tuple[CodeType, CodeType | None, tuple[str, ...]]:
    """A check's statements, its last expression, and the names that it uses and does not give itself."""
    if source not in _cache:
        tree = ast.parse(source)
        named = [node for node in ast.walk(tree) if isinstance(node, ast.Name)]
        given = {node.id for node in named if not isinstance(node.ctx, ast.Load)}
        used = tuple(dict.fromkeys(node.id for node in named if node.id not in given))
        last = tree.body[-1] if tree.body else None
        if isinstance(last, ast.Expr):
            tree.body.pop()
            value = compile(ast.Expression(last.value), "<check>", "eval")
        body = compile(tree, "<check>", "exec")
        _cache[source] = (body, value if isinstance(last, ast.Expr) else None, used)
    return _cache[source]


def serve(requests: Iterator[str], replies: TextIO) -> None:
    """Answer requests, one line each, until there are no more."""
    for line in requests:
        request = json.loads(line)
        os.environ[COURSE_IN] = request["course"]
        outcomes = evaluate(request["apprentice"], request["steps"])
        replies.write(json.dumps(outcomes) + "\n")
        replies.flush()


def main() -> None:
    """Serve standard input and output; what a check prints by accident goes nowhere."""
    replies = os.fdopen(os.dup(1), "w", encoding="utf-8")
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    replies.write("ready\n")
    replies.flush()
    serve(iter(sys.stdin.readline, ""), replies)


if __name__ == "__main__":
    main()
