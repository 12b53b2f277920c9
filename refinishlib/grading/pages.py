"""Pages that stand alone: one file, nothing loaded from elsewhere, every text escaped, the look of the house."""

from __future__ import annotations

import base64
import datetime
import hashlib
import re
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from jinja2 import Environment, PackageLoader
from markupsafe import Markup

import refinishlib
from refinishlib.course.keys import key_folder
from refinishlib.picture import tokens

_MADE_FROM = re.compile(rb'<meta name="refinish-made-from" content="([0-9a-f]{16})">')


def render(template: str, **values: Any) -> str:
    """A page from one of the templates beside this file; it is told its style sheet and its policy."""
    script = _file("report.js") if template == "report.html.j2" else ""
    allowed = f"script-src 'sha256-{_sha256(script)}'; " if script else ""
    policy = (
        f"default-src 'none'; {allowed}img-src data:; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
    )
    page = _environment().get_template(template)
    return page.render(**values, style=Markup(tokens.css() + _file("pages.css")), script=Markup(script), policy=policy)


def made_from(*values: Any) -> str:
    """A short hash of all that a page is made of, its template included; the page carries it."""
    return hashlib.sha256(repr([values, _templates()]).encode()).hexdigest()[:16]


def hash_of_lesson(lesson: str) -> str:
    """A hash of all that decides what a page says about a lesson: the library and the lesson's key."""
    key = key_folder() / f"{lesson}_key.py"
    return hashlib.sha256(_library() + (key.read_bytes() if key.is_file() else b"")).hexdigest()


def is_fresh(path: Path, mark: str) -> bool:
    """Whether a page is there already and was made from the same."""
    try:
        with path.open("rb") as file:
            found = _MADE_FROM.search(file.read(2_000))
    except OSError:
        return False
    return found is not None and found[1].decode() == mark


def points(value: float) -> str:
    """Points as a person writes them.

    >>> points(3.0), points(2.5), points(2 / 3)
    ('3', '2.5', '0.7')
    """
    return f"{round(value, 1):g}"


def clock(when: datetime.datetime | None) -> str:
    """A day and a time as they are said; "" for none."""
    return f"{when.day} {when:%b %Y, %H:%M}" if when else ""


def day(when: datetime.datetime) -> str:
    """A day without its year.

    >>> day(datetime.datetime(2030, 3, 1, 16, 0))
    '1 Mar'
    """
    return f"{when.day} {when:%b}"


def many(count: int, one: str) -> str:
    """A count with its word.

    >>> many(1, "lesson"), many(3, "lesson")
    ('1 lesson', '3 lessons')
    """
    return f"{count} {one}" if count == 1 else f"{count} {one}s"


def hours(late_h: float) -> str:
    """How late, in the unit that is said.

    >>> hours(0.4), hours(30), hours(80)
    ('24 min', '30 h', '3 d')
    """
    if late_h < 1:
        return f"{max(1, round(60 * late_h))} min"
    return f"{round(late_h)} h" if late_h < 48 else f"{round(late_h / 24)} d"


@cache
def _environment() -> Environment:
    found = Environment(
        loader=PackageLoader("refinishlib.grading"), autoescape=True, trim_blocks=True, lstrip_blocks=True
    )
    found.filters |= {"points": points, "clock": clock, "day": day, "many": many, "hours": hours, "html": Markup}
    return found


@cache
def _templates() -> str:
    folder = files("refinishlib.grading").joinpath("templates")
    texts = [one.read_text(encoding="utf-8") for one in folder.iterdir() if one.name.endswith((".j2", ".css", ".js"))]
    return hashlib.sha256("".join(sorted(texts)).encode()).hexdigest()


@cache
def _library() -> bytes:
    root = Path(refinishlib.__file__).parent
    digest = hashlib.sha256()
    for path in sorted(root.rglob("*")):
        if path.suffix in (".py", ".toml"):
            digest.update(path.relative_to(root).as_posix().encode() + path.read_bytes())
    return digest.digest()


@cache
def _file(name: str) -> str:
    return files("refinishlib.grading").joinpath("templates", name).read_text(encoding="utf-8")


def _sha256(text: str) -> str:
    return base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
