"""Every name of nbgrader and nbconvert that the grading leans on although no document promises it, with the reason.

A newer version may drop or rename any of them. The guard asks for each before anything is graded, so that a change
stops grading with a sentence instead of changing what happens to a submission.

To move to a newer nbgrader: read its changes for each row, run the whole suite, then raise ``KNOWN``, ``BELOW`` and the
bound in ``pyproject.toml`` together.
"""

from __future__ import annotations

import contextlib
import gc
import importlib
import inspect
import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.metadata import version
from typing import Any

KNOWN = (0, 9, 6)
BELOW = (0, 10)


@dataclass(frozen=True)
class Name:
    """One name that must be there.

    where : module, colon, dotted path inside it
    why : what would go wrong without it
    takes : for a function, the parameters that it must still have
    """

    where: str
    why: str
    takes: tuple[str, ...] = ()


BORROWED = (
    Name(
        "nbgrader.converters.autograde:Autograde._sanitizing",
        "tells the exporter which of the two passes runs: hand-ins are read as data in the first",
    ),
    Name(
        "nbgrader.converters.autograde:Autograde._init_preprocessors",
        "puts the chain of the pass into the exporter; the class's worker is handed over there",
    ),
    Name("nbgrader.converters.base:BaseConverter.start", "the guard stands before it, whoever calls it", ("self",)),
    Name(
        "nbgrader.converters.base:BaseConverter.init_notebooks",
        "finds the submissions; only those that are due are kept",
    ),
    Name(
        "nbgrader.converters.base:BaseConverter.assignments",
        "the folders of this run: those that are nobody's id leave",
    ),
    Name("nbgrader.converters.base:BaseConverter._format_source", "says where submissions lie"),
    Name("nbgrader.converters.base:BaseConverter.notebooks", "the notebooks of the submission that was just graded"),
    Name("nbgrader.converters.base:BaseConverter.exporter", "carries what is noted from one pass to the other"),
    Name("nbgrader.converters.base:BaseConverter.exporter_class", "must be the course's own"),
    Name(
        "nbgrader.converters.base:BaseConverter.run_post_convert_hook",
        "called when a submission's scores and file are safe; the ledger is written then",
    ),
    Name(
        "nbgrader.converters.base:BaseConverter._validate_pre_convert_hook",
        "imports a hook given by its dotted name, which is how the guard is hung in from outside the course's folder",
    ),
    Name(
        "nbgrader.converters.autograde:Gradebook",
        "replaced by one that stays open while a class is graded",
        ("db_url", "course_id"),
    ),
    Name("nbgrader.preprocessors.latesubmissions:Gradebook", "as above", ("db_url", "course_id")),
    Name("nbgrader.api:Gradebook.__exit__", "ends the session and keeps the connection in the one that stays open"),
    Name("nbgrader.apps.baseapp:NbGrader.coursedir", "the course's folders as nbgrader itself reads its settings"),
    Name("nbgrader.utils:determine_grade", "turns a check's output into its score", ("cell", "log")),
    Name("nbgrader.utils:compute_checksum", "tells an answer that was left as it was handed out", ("cell",)),
    Name("nbgrader.utils:parse_utc", "reads an unusual time of handing in as nbgrader will", ("ts",)),
    Name("nbgrader.utils:capture_log", "formgrader's button calls a converter through it and shows its sentence"),
    Name(
        "nbconvert.exporters.exporter:Exporter._preprocessors",
        "the steps that will really run, which are proven one by one",
    ),
    Name("nbconvert.exporters.exporter:Exporter._init_resources", "gives the steps a copy of their own"),
    Name(
        "nbconvert.filters.markdown_mistune:IPythonRenderer._embed_image_or_attachment",
        "no picture is fetched from a file or from elsewhere",
        ("self", "src"),
    ),
    Name("nbconvert.filters.markdown_mistune:IPythonRenderer.block_mermaidjs", "a diagram stays text"),
    Name("nbconvert.filters.markdown_mistune:IPythonRenderer.multiline_math", "a formula becomes MathML"),
    Name("nbconvert.filters.markdown_mistune:MarkdownWithMath", "finds formulas as the notebook does"),
    Name("nbconvert.filters.markdown_mistune:MathBlockParser.SPECIFICATION", "its patterns get a limit, see clean"),
    Name("nbconvert.filters.markdown_mistune:MathInlineParser.SPECIFICATION", "as above"),
)

# Read with plain SQL, so that a class in which nothing changed needs no nbgrader.
TABLES = {
    "assignment": ("id", "name"),
    "notebook": ("id", "name", "assignment_id"),
    "base_cell": ("id", "name", "notebook_id"),
    "grade_cells": ("id", "max_score", "cell_type"),
    "source_cell": ("name", "source", "notebook_id"),
    "submitted_assignment": ("id", "assignment_id", "student_id"),
    "submitted_notebook": ("id", "notebook_id", "assignment_id"),
    "grade": ("id", "cell_id", "notebook_id", "auto_score", "needs_manual_grade"),
    "comment": ("id", "cell_id", "notebook_id", "auto_comment"),
}


@contextlib.contextmanager
def quick_start() -> Iterator[None]:
    """Load nbgrader without what it never uses here, which takes a third of the time.

    jsonschema builds a grammar of web addresses for its format checker where the package rfc3987_syntax is to be had,
    and does without where it is not. nbformat checks no formats.
    """
    grammar = "rfc3987_syntax"
    collecting = gc.isenabled()
    gc.disable()
    if grammar not in sys.modules:
        sys.modules[grammar] = None  # type: ignore[assignment]
    try:
        yield
    finally:
        if sys.modules[grammar] is None:
            del sys.modules[grammar]
        if collecting:
            gc.enable()


def what_changed() -> list[str]:
    """What of the borrowed is not as it is known, one line each; nothing when all is there."""
    found = []
    have = version("nbgrader")
    if _numbers(have)[: len(BELOW)] >= BELOW:
        below = ".".join(map(str, BELOW))
        found.append(f"nbgrader {have} is installed, allowed is one below {below}; the course was never tried with it")
    for name in BORROWED:
        try:
            thing = _get(name.where)
        except (ImportError, AttributeError):
            found.append(f"{name.where} is gone: {name.why}")
            continue
        if name.takes and not set(name.takes) <= set(inspect.signature(thing).parameters):
            found.append(f"{name.where} no longer takes {', '.join(name.takes)}: {name.why}")
    tables = importlib.import_module("nbgrader.api").Base.metadata.tables
    for table, columns in TABLES.items():
        missing = [column for column in columns if table not in tables or column not in tables[table].columns]
        if missing:
            found.append(f"the grade book's table {table} has no {', '.join(missing)}")
    return found


def _get(where: str) -> Any:
    module, path = where.split(":")
    thing: Any = importlib.import_module(module)
    for part in path.split("."):
        thing = getattr(thing, part)
    return thing


def _numbers(text: str) -> tuple[int, ...]:
    return tuple(int(part) for part in re.findall(r"\d+", text))
