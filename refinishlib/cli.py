"""The console command `refinish`.

Every command is a row of the table below and a module with two functions:

    add_arguments(parser)      its own arguments, if it has any
    run(arguments) -> int      does it, in the course's folder; 0 when all went well

A module is imported only when its command is given, so that `refinish --help` is quick. A command that cannot go on
raises BadEntry; its sentence is shown instead of a traceback.
"""

from __future__ import annotations

import argparse
import importlib
import os
import sys
from collections.abc import Sequence
from pathlib import Path

import refinishlib
from refinishlib.course.folder import course_folder
from refinishlib.entry import BadEntry

COMMANDS = {
    "open": ("refinishlib.course.lab.opening", "open the course in JupyterLab; with --teach, an instructor's way in"),
    "bench": ("refinishlib.course.lab.calculators", "open the calculators, without the lessons"),
    "class": ("refinishlib.grading.classlist", "take the class list from a table: id, first name, last name, class"),
    "due": ("refinishlib.grading.duedates", "take the due dates from a table: lesson, due"),
    "grade": ("refinishlib.grading.classroom", "grade what the class handed in"),
    "feedback": ("refinishlib.grading.giveback", "write the apprentices' pages, where something changed"),
    "answers": ("refinishlib.grading.answerspage", "show what an apprentice typed, beside the right values"),
    "report": ("refinishlib.grading.report", "write the class report, with an answers page for each hand-in"),
    "release": (
        "refinishlib.grading.release",
        "write a lesson from its solution, also after a change there",
    ),
    "collect": ("refinishlib.grading.collect", "sort handed-in files or zips into submitted/"),
    "build": ("refinishlib.course.builder", "for who writes lessons: make the notebooks from the lessons' texts"),
    "new-lesson": ("refinishlib.course.newlesson", "begin a lesson that already runs and grades"),
    "upgrade": ("refinishlib.grading.upgrade", "bring a class to the lessons that are here now; with --back, undo it"),
    "forget": ("refinishlib.grading.forget", "remove one apprentice from everything in the course's folder"),
    "bundle": ("refinishlib.grading.bundle", "pack lessons and library for the apprentices"),
    "demo-class": ("refinishlib.grading.democlass", "see it all with an invented class of 24"),
    "nbgrader": ("refinishlib.course.passing_on", "any command of nbgrader, in the course's folder"),
}

HANGS_THE_GUARD_IN = Path(__file__).parent / "course" / "etc"


def main(words: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code.

    Works without an activated environment: the environment's own programs come first on PATH, for what it starts. What
    it starts also finds the guard of grading, wherever the library is installed.
    """
    words = list(sys.argv[1:] if words is None else words)
    parser = argparse.ArgumentParser(prog="refinish", description="A course and a bench for vehicle refinishing.")
    rows = parser.add_subparsers(dest="command", metavar="command", required=True)
    here = {name: row for name, row in COMMANDS.items() if _is_here(row[0])}
    parsers = {name: rows.add_parser(name, help=line, description=line) for name, (_, line) in here.items()}
    try:
        chosen = None
        if words and words[0] in here:
            chosen = importlib.import_module(COMMANDS[words[0]][0])
            if hasattr(chosen, "add_arguments"):
                chosen.add_arguments(parsers[words[0]])
        arguments = parser.parse_args(words)
        assert chosen is not None  # parse_args has ended the program for anything else
        _put_first("PATH", Path(sys.executable).parent, os.defpath)
        _put_first("JUPYTER_CONFIG_PATH", HANGS_THE_GUARD_IN)
        os.chdir(course_folder())
        return chosen.run(arguments) or 0
    except BadEntry as bad:
        print(bad, file=sys.stderr)
        return 2


def _is_here(module: str) -> bool:
    """Whether a command's module is installed; the apprentices' package has only some of them. Imports nothing."""
    below = Path(refinishlib.__file__).parent.joinpath(*module.split(".")[1:])
    return below.with_suffix(".py").is_file() or below.is_dir()


def _put_first(variable: str, folder: Path, usual: str = "") -> None:
    before = os.environ.get(variable, usual)
    os.environ[variable] = os.pathsep.join([str(folder), *([before] if before else [])])


if __name__ == "__main__":
    sys.exit(main())
