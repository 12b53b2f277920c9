"""The lessons: each is a folder in here, found because it is there. No answers: those are the instructor's.

In a lesson's folder lie

    lesson.toml   its record: title, what it is good for, minutes, order, version, world, skills, needs
    lesson.md     its text, with one line where something else stands; the builder makes the notebook from it
    job.py        job(draw, shop): one apprentice's numbers
    questions.py  questions(mine): what is asked with these numbers, and which values compete for each answer
    practice.py   DRILLS, if there is something to practise
    figures.py    functions that give a picture (HTML) or a widget, if the text shows any
"""

from __future__ import annotations

import importlib
import tomllib
from dataclasses import dataclass, fields
from functools import cache, lru_cache
from pathlib import Path
from types import ModuleType
from typing import Any

from refinishlib.course.draw import kept_apart
from refinishlib.course.question import Question
from refinishlib.course.world import world
from refinishlib.shop.shop import Shop
from refinishlib.entry import BadEntry, one_of

FOLDER = Path(__file__).parent
RECORD = "lesson.toml"


@dataclass(frozen=True)
class LessonRecord:
    """What stands about a lesson in its lesson.toml.

    title : as the start page and the lesson's first line show it
    good_for : what it is good for at work, one sentence for the start page
    minutes : how long it takes
    order : its place in the course
    version : raised whenever job cards or marks become others; 0 while the lesson is a draft
    world : the version of the course's world that its numbers are drawn from
    skills : what its questions are counted under, in the order of the report
    needs : skills of earlier lessons that it builds on
    """

    name: str
    title: str
    good_for: str
    minutes: int
    order: int
    version: int
    world: int
    skills: tuple[str, ...]
    needs: tuple[str, ...]

    @property
    def shop(self) -> Shop:
        """The shop that the lesson's numbers are drawn from."""
        return world(self.world)


def names() -> tuple[str, ...]:
    """All lessons in the order of the course.

    >>> "mixing" in names()
    True
    """
    found = (path.parent.name for path in FOLDER.glob(f"*/{RECORD}"))
    return tuple(sorted(found, key=lambda name: (record(name).order, name)))


@cache
def record(lesson: str) -> LessonRecord:
    """The record of a lesson.

    Raises
    ------
    BadEntry : an unknown lesson, or a record with an entry missing, unknown or of another kind

    >>> record("mixing").title
    'Mixing a colour by weight'
    """
    one_of("lesson", lesson, sorted(path.parent.name for path in FOLDER.glob(f"*/{RECORD}")))
    path = FOLDER / lesson / RECORD
    try:
        given = tomllib.loads(path.read_text(encoding="utf-8"))
    except ValueError as problem:
        raise BadEntry(f"{lesson}/{RECORD}: {problem}.") from None
    wanted = [field.name for field in fields(LessonRecord) if field.name != "name"]
    for name in [*wanted, *given]:
        if name not in given or name not in wanted:
            said = "nothing" if name in wanted else "it"
            raise BadEntry(f"{lesson}/{RECORD}: {name}: {said} was given, allowed are {', '.join(wanted)}.")
    for name, value in given.items():
        kind: type = str if name in ("title", "good_for") else list if name in ("skills", "needs") else int
        if type(value) is not kind or (isinstance(value, list) and not all(isinstance(one, str) for one in value)):
            word = {str: "a text", list: "a list of texts", int: "a whole number"}[kind]
            raise BadEntry(f"{lesson}/{RECORD}: {name}: {value!r} was given, allowed is {word}.")
    lists = {name: tuple(given[name]) for name in ("skills", "needs")}
    return LessonRecord(**{"name": lesson, **given, **lists})


def place(lesson: str) -> tuple[int, str]:
    """Where a lesson stands among others, to sort by. An old version that a class keeps stands beside the new one.

    >>> sorted(["welding", "mixing-1", "mixing"], key=place)
    ['mixing', 'mixing-1', 'welding']
    """
    known = names()
    name = lesson if lesson in known else lesson.rpartition("-")[0]
    return (known.index(name) if name in known else len(known), lesson)


def skills() -> dict[str, tuple[str, ...]]:
    """The map of skills: each skill in the order of the course, with the lessons that build on it.

    >>> skills()["reading the pour"]
    ()
    """
    known = [record(name) for name in names()]
    taught = dict.fromkeys(skill for one in known for skill in one.skills)
    return {skill: tuple(one.name for one in known if skill in one.needs) for skill in taught}


def text(lesson: str) -> str:
    """A lesson's text, as it is written.

    >>> "{widget MixSheet" in text("mixing")
    True
    """
    return (FOLDER / record(lesson).name / "lesson.md").read_text(encoding="utf-8")


def module(lesson: str, name: str) -> ModuleType:
    """One of the modules in a lesson's folder: "job", "questions", "practice" or "figures"."""
    record(lesson)
    return importlib.import_module(f"refinishlib.course.lessons.{lesson}.{name}")


def has(lesson: str, name: str) -> bool:
    """Whether a lesson has such a module.

    >>> has("mixing", "practice"), has("mixing", "secrets")
    (True, False)
    """
    return (FOLDER / record(lesson).name / f"{name}.py").is_file()


@lru_cache(maxsize=64)
def _drawn(lesson: str, apprentice: str) -> tuple[Any, dict[str, Question]]:
    asks, draws, shop = module(lesson, "questions").questions, module(lesson, "job").job, record(lesson).shop
    mine = kept_apart(f"{lesson}/{apprentice}", lambda draw: draws(draw, shop), asks)
    return mine, {question.name: question for question in asks(mine)}


def job(lesson: str, apprentice: str) -> Any:
    """The numbers of one apprentice in one lesson, always the same for the same id.

    Raises
    ------
    BadEntry : an unknown lesson

    >>> job("mixing", "a07") == job("mixing", "a07"), job("mixing", "a07") == job("mixing", "a08")
    (True, False)
    """
    return _drawn(lesson, apprentice)[0]


def questions(lesson: str, apprentice: str) -> dict[str, Question]:
    """All graded questions of a lesson for one apprentice, by name, in the lesson's order.

    Raises
    ------
    BadEntry : an unknown lesson

    >>> list(questions("mixing", "demo"))[:2]
    ['1.1', '1.2']
    """
    return _drawn(lesson, apprentice)[1]


def question(lesson: str, name: str, apprentice: str) -> Question:
    """One question of a lesson for one apprentice.

    Raises
    ------
    BadEntry : an unknown lesson or question
    """
    asked = questions(lesson, apprentice)
    return asked[one_of("question", name, asked)]
