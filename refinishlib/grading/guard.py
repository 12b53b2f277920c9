"""Nothing that was handed in is touched before the whole chain that will run is proven to be the course's own.

The settings lie in ``nbgrader_config.py``, a file that can be broken; nbgrader then goes on with settings of its own
and executes what was handed in. So the proof lives here, in the library, and asks nbgrader's own objects what they
would do. It is hung in three times, each enough:

-   ``refinish grade`` asks before it makes a converter, ``sanitize`` and ``feedback`` before each notebook.
-   ``refinishlib/course/etc/nbgrader_config.json`` is installed into the environment's ``etc/jupyter``, where every
    program of nbgrader looks. It holds no code: it names a hook of this module, and nbgrader imports a hook when it
    makes a converter. Importing this module puts the proof before ``Autograde.start``. If the import fails, making the
    converter fails, and nothing runs.
-   ``refinish`` adds the folder of that file to ``JUPYTER_CONFIG_PATH`` for whatever it starts.

To grade the stock way, which executes the apprentices' notebooks: REFINISH_GRADING=stock, for that one command.
"""

from __future__ import annotations

import functools
import importlib
import inspect
import os
import traceback
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from nbgrader.converters import Autograde, GenerateFeedback, NbGraderException
from nbgrader.preprocessors import ClearSolutions
from traitlets.utils.importstring import import_item

from refinishlib.entry import BadEntry
from refinishlib.grading.borrowed import what_changed

ASKED_IN = "REFINISH_GRADING"
SETTINGS = "nbgrader_config.py"
REMEDY = f"Nothing was graded. Put {SETTINGS} back as it came with the course."
HOOK = "refinishlib.grading.guard.stand"

FOLDERS = {
    "course_id": "refinishing",
    "source_directory": "solutions",
    "release_directory": "lessons",
    "submitted_directory": "submitted",
    "autograded_directory": "autograded",
    "feedback_directory": "feedback",
    "directory_structure": str(Path("{nbgrader_step}") / "{student_id}" / "{assignment_id}"),
}
STUBS = {"code_stub": {"python": ""}, "text_stub": "*Write your answer here.*"}
GRADING: dict[str, str | tuple[str, ...] | None] = {
    "exporter_class": "refinishlib.grading.sanitize.SubmissionExporter",
    "pre_convert_hook": "refinishlib.grading.sanitize.move_aside",
    "post_convert_hook": "refinishlib.grading.sanitize.note",
    "sanitize_preprocessors": ("refinishlib.grading.sanitize.Rebuild",),
    "autograde_preprocessors": (
        "refinishlib.grading.mark.Evaluate",
        "refinishlib.grading.mark.SaveScores",
        "nbgrader.preprocessors.AssignLatePenalties",
    ),
}
GIVING_BACK: dict[str, str | tuple[str, ...] | None] = {
    "exporter_class": "refinishlib.grading.feedback.FeedbackExporter",
    "pre_convert_hook": "refinishlib.grading.feedback.move_aside",
    "post_convert_hook": None,
    "preprocessors": (),
}
MARKDOWN = "refinishlib.grading.clean.markdown2html"
TEMPLATES = "grading/templates"
# These alone may be switched off, or come in by a template: points off for lateness, and a page's colours.
FREE = ("nbgrader.preprocessors.AssignLatePenalties", "nbconvert.preprocessors.CSSHTMLHeaderPreprocessor")


class Refused(BadEntry):
    """The chain is not the course's own. Its sentence says what is wrong and what to do."""


def stand(**about: Any) -> None:
    """The hook that brings this module in. Does nothing when called: the proof stands before the converter."""


def stock_is_asked_for() -> bool:
    """Whether somebody asked for nbgrader's own grading, which executes what was handed in.

    Raises
    ------
    Refused : REFINISH_GRADING holds anything but that one word
    """
    given = os.environ.get(ASKED_IN, "")
    if given not in ("", "stock"):
        raise Refused(f"{ASKED_IN}: {given!r} was given, allowed is stock, or nothing. Nothing was graded.")
    return given == "stock"


def prove(converter: Any) -> None:
    """Prove that what a converter of nbgrader would run is the course's own, by name and by object.

    Parameters
    ----------
    converter : nbgrader's Autograde or GenerateFeedback, made with the settings of the run

    Raises
    ------
    Refused : the first thing that is not as it must be
    """
    stock = stock_is_asked_for()
    if stock and isinstance(converter, Autograde):
        return
    root = Path(converter.coursedir.root).absolute()
    if not (root / SETTINGS).is_file():
        raise Refused(
            f"{SETTINGS} is not in {root}. {REMEDY} To let nbgrader execute what was handed in, as it does in a course "
            f"of another kind, set {ASKED_IN}=stock for that one command."
        )
    changed = what_changed()
    if changed:
        raise Refused(f"nbgrader is not the one that the course knows: {changed[0]}. Nothing was graded.")
    try:
        _prove_folders(converter.coursedir)
        _prove_stubs(ClearSolutions(config=converter.config))
        for kind, wanted in ((Autograde, GRADING), (GenerateFeedback, GIVING_BACK)):
            if stock and kind is Autograde:
                continue
            mine = isinstance(converter, kind)
            one = converter if mine else kind(coursedir=converter.coursedir, config=converter.config)
            for setting, names in wanted.items():
                _prove_setting(f"c.{kind.__name__}.{setting}", getattr(one, setting), names)
                if isinstance(names, tuple):
                    _prove_switched_on([import_item(name)(parent=one) for name in names if name not in FREE])
        _prove_pages(converter)
    except Refused:
        raise
    except Exception as problem:
        raise Refused(f"{SETTINGS}: {_one_line(problem)}. {REMEDY}") from problem


def prove_steps(steps: Sequence[Any], chain: str) -> None:
    """Prove that the steps which are about to run on one notebook are objects of the course's own, and switched on.

    Parameters
    ----------
    steps : the exporter's own list
    chain : a list's name in GRADING or GIVING_BACK

    Raises
    ------
    Refused : another step, one too many or too few, or one that is switched off
    """
    names = GRADING.get(chain, GIVING_BACK.get(chain))
    assert isinstance(names, tuple)
    free = [import_item(name) for name in FREE]
    steps = [step for step in steps if type(step) not in free]
    names = tuple(name for name in names if name not in FREE)
    if [type(step) for step in steps] != [_own(name) for name in names]:
        shown = ", ".join(_name_of(type(step)) for step in steps) or "nothing"
        raise Refused(f"{SETTINGS}: {chain} would run {shown}, allowed is {', '.join(names)}. {REMEDY}")
    _prove_switched_on(steps)


def hang_in() -> None:
    """Put the proof before nbgrader's converters, whoever starts them. Doing it twice changes nothing."""
    for kind in (Autograde, GenerateFeedback):
        if not hasattr(kind.start, "proves"):
            kind.start = _proven(kind.start)


def what_is_wrong_in(error: BaseException) -> str:
    """One line that says where in the settings an error stands."""
    lines = [place.lineno for place in traceback.extract_tb(error.__traceback__) if place.filename.endswith(SETTINGS)]
    line = error.lineno if isinstance(error, SyntaxError) else lines[-1] if lines else None
    return f"{SETTINGS}{f', line {line}' if line else ''}: {_one_line(error)}. {REMEDY}"


def _proven(start: Callable[[Any], None]) -> Callable[[Any], None]:
    @functools.wraps(start)
    def proven(converter: Any) -> None:
        try:
            prove(converter)
        except Refused as refused:
            converter.log.error("%s", refused)
            raise NbGraderException(str(refused)) from refused
        start(converter)

    proven.proves = True  # type: ignore[attr-defined]
    return proven


def _prove_folders(coursedir: Any) -> None:
    for setting, wanted in FOLDERS.items():
        given = getattr(coursedir, setting)
        if given != wanted:
            raise Refused(f"{SETTINGS}: c.CourseDirectory.{setting} is {given!r}, allowed is {wanted!r}. {REMEDY}")
    book = f"sqlite:///{Path(coursedir.root).absolute() / 'gradebook.db'}"
    if os.path.realpath(coursedir.db_url.removeprefix("sqlite:///")) != os.path.realpath(
        book.removeprefix("sqlite:///")
    ):
        raise Refused(f"{SETTINGS}: c.CourseDirectory.db_url is {coursedir.db_url!r}, allowed is {book!r}. {REMEDY}")


def _prove_stubs(clear: ClearSolutions) -> None:
    for setting, wanted in STUBS.items():
        given = getattr(clear, setting)
        if given != wanted:
            raise Refused(f"{SETTINGS}: c.ClearSolutions.{setting} is {given!r}, allowed is {wanted!r}. {REMEDY}")


def _prove_setting(setting: str, given: Any, wanted: str | tuple[str, ...] | None) -> None:
    many = isinstance(wanted, tuple)
    names = wanted if isinstance(wanted, tuple) else () if wanted is None else (wanted,)
    things = list(given) if many else [] if given is None or (_name_of(given) == HOOK and wanted is None) else [given]
    found = [import_item(thing) if isinstance(thing, str) else thing for thing in things]
    own = [_own(name) for name in names]
    if len(found) != len(own) or any(one is not other for one, other in zip(found, own, strict=True)):
        shown = ", ".join(map(_name_of, found)) or "empty"
        raise Refused(f"{SETTINGS}: {setting} is {shown}, allowed is {', '.join(names) or 'nothing'}. {REMEDY}")


def _prove_switched_on(steps: Sequence[Any]) -> None:
    for step in steps:
        if not step.enabled:
            raise Refused(f"{SETTINGS}: c.{type(step).__name__}.enabled is False, allowed is True. {REMEDY}")


def _prove_pages(converter: Any) -> None:
    """The filter and the templates of every page that shows what somebody else wrote."""
    from nbconvert.exporters import HTMLExporter

    pages = HTMLExporter(config=converter.config)
    given = pages.filters.get("markdown2html")
    found = import_item(given) if isinstance(given, str) else given
    if found is not _own(MARKDOWN):
        shown = _name_of(found) if found else "empty"
        raise Refused(f"{SETTINGS}: c.HTMLExporter.filters is {shown}, allowed is {MARKDOWN}. {REMEDY}")
    ours = Path(__file__).parents[1] / TEMPLATES
    folders = [Path(folder) for folder in pages.extra_template_basedirs]
    if not folders or not folders[0].is_dir() or not folders[0].samefile(ours):
        shown = str(folders[0]) if folders else "empty"
        raise Refused(f"{SETTINGS}: c.HTMLExporter.extra_template_basedirs is {shown}, allowed is {ours}. {REMEDY}")
    if pages.preprocessors:
        shown = ", ".join(map(_name_of, pages.preprocessors))
        raise Refused(f"{SETTINGS}: c.HTMLExporter.preprocessors is {shown}, allowed is nothing. {REMEDY}")


def _own(name: str) -> Any:
    """The object of a dotted name; it must still be the one that was written under that name."""
    thing = import_item(name)
    module, _, last = name.rpartition(".")
    if name.startswith("refinishlib."):
        home = Path(inspect.getfile(importlib.import_module(module))).resolve()
        replaced = (thing.__module__, thing.__qualname__) != (module, last)
        if replaced or not home.is_relative_to(Path(__file__).resolve().parents[1]):
            raise Refused(f"{name} was replaced by {_name_of(thing)} from {home}. Nothing was graded.")
    return thing


def _name_of(thing: Any) -> str:
    if isinstance(thing, str):
        return thing
    return f"{getattr(thing, '__module__', '')}.{getattr(thing, '__qualname__', type(thing).__qualname__)}".strip(".")


def _one_line(error: BaseException) -> str:
    text = " ".join(str(error).split())[:200]
    return f"{type(error).__name__}: {text}".rstrip(".")


hang_in()
