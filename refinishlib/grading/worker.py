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
from types import CodeType
from typing import Any, TextIO

from refinishlib.course.answers import CODE, read_cell
from refinishlib.course.apprentice import HANDED_OVER_IN

MOST_PRINTED = 20_000
HOLDS_CODE = "holds code"
CHECK_FAILED = "check failed"


def evaluate(apprentice: str, steps: list[dict[str, Any]]) -> dict[str, dict[str, Any]]:
    """The outcome of every check of one notebook.

    Parameters
    ----------
    apprentice : the id that the grade book knows
    steps : in the order of the notebook, ``{"answer": grade_id, "text": ...}`` or
        ``{"check": grade_id, "source": ..., "points": most}``

    Returns, for each check, ``points`` (a plain float, or None when the check did not finish), ``sentences`` (what it
    printed), ``flag`` ("" or why an instructor should look), ``error`` (for the instructor only), and for the class
    report ``skill`` and ``mistakes``.
    """
    os.environ[HANDED_OVER_IN] = apprentice
    answers: dict[str, Any] = {"my_id": ...}
    space: dict[str, Any] = {}
    problems: list[tuple[str, str]] = []
    outcomes = {}
    for step in steps:
        if "answer" in step:
            reading = read_cell(step["text"], answers)
            answers.update(reading.values)
            if reading.problem:
                problems.append((reading.problem, reading.sentence))
            continue
        sentences = [sentence for _, sentence in problems]
        _verdicts.clear()
        if any(problem == CODE for problem, _ in problems):
            outcomes[step["check"]] = _outcome(0.0, sentences, flag=HOLDS_CODE)
        else:
            outcomes[step["check"]] = _check(step, {**space, **answers}, space, sentences)
        for verdict in _verdicts:
            outcomes[step["check"]]["skill"] = verdict.skill
            outcomes[step["check"]]["mistakes"] += verdict.mistakes
            outcomes[step["check"]]["flag"] = outcomes[step["check"]]["flag"] or "".join(verdict.flags[:1])
        problems = []
    return outcomes


def _outcome(points: float | None, sentences: list[str], flag: str = "", error: str = "") -> dict[str, Any]:
    return {"points": points, "sentences": sentences, "flag": flag, "error": error, "skill": "", "mistakes": []}


def _check(step: dict[str, Any], names: dict[str, Any], space: dict[str, Any], sentences: list[str]) -> dict[str, Any]:
    from refinishlib.course import check

    names |= {"check": check, "__builtins__": builtins}
    printed = io.StringIO()
    before = set(names)
    try:
        body, last = _compiled(step["source"])
        with contextlib.redirect_stdout(printed), contextlib.redirect_stderr(io.StringIO()):
            exec(body, names)
            value = eval(last, names) if last else None
    except NameError as error:
        missing = f'The name "{error.name}" is missing. Write it in the answer cell, as the lesson shows it.'
        return _outcome(0.0, [*sentences, *([] if sentences else [missing])])
    except Exception as error:
        return _outcome(None, sentences, CHECK_FAILED, f"{type(error).__name__}: {error}")
    space.update({name: names[name] for name in set(names) - before})
    if len(_verdicts) == 1 and type(value) is float and value == _verdicts[0].points:
        value = value * step["points"] / _verdicts[0].max_points  # a school may count a question more or less
    said = [*sentences, *printed.getvalue()[:MOST_PRINTED].splitlines()]
    if type(value) is not float or not math.isfinite(value) or not 0.0 <= value <= step["points"]:
        return _outcome(None, said, CHECK_FAILED, f"ended in {value!r}, not in a number from 0 to {step['points']}")
    return _outcome(value, said)


_verdicts: list[Any] = []


def _listen() -> None:
    """Note every verdict that a check reaches, for the class report."""
    from refinishlib.course import check

    judge = check.judge

    def noted(*given: Any, **named: Any) -> Any:
        verdict = judge(*given, **named)
        _verdicts.append(verdict)
        return verdict

    check.judge = noted


_cache: dict[str, tuple[CodeType, CodeType | None]] = {}


def _compiled(source: str) -> tuple[CodeType, CodeType | None]:
    if source not in _cache:
        tree = ast.parse(source)
        last = tree.body[-1] if tree.body else None
        if isinstance(last, ast.Expr):
            tree.body.pop()
            value = compile(ast.Expression(last.value), "<check>", "eval")
        _cache[source] = (compile(tree, "<check>", "exec"), value if isinstance(last, ast.Expr) else None)
    return _cache[source]


def serve(requests: Iterator[str], replies: TextIO) -> None:
    """Answer requests, one line each, until there are no more."""
    for line in requests:
        request = json.loads(line)
        outcomes = evaluate(request["apprentice"], request["steps"])
        replies.write(json.dumps(outcomes) + "\n")
        replies.flush()


def main() -> None:
    """Serve standard input and output; what a check prints by accident goes nowhere."""
    replies = os.fdopen(os.dup(1), "w", encoding="utf-8")
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    _listen()
    replies.write("ready\n")
    replies.flush()
    serve(iter(sys.stdin.readline, ""), replies)


if __name__ == "__main__":
    main()
