"""Where each constant comes from.

A module that holds constants has a dictionary ``SOURCES`` beside them: the constant's name, and one sentence.
The sentence is a publication with its year, or starts with one of the tags below. A data file (TOML) has a top
level key ``source`` that follows the same rule. ``tests/test_sources.py`` walks all of them.
"""

from __future__ import annotations

import importlib
import pkgutil
import re
import tomllib
from dataclasses import dataclass
from pathlib import Path

COMMON_PRACTICE = "common practice, no source"
TEACHING_VALUE = "teaching value"
INVENTED = "invented for the demo"
DEFINITION = "definition"

TAGS = (COMMON_PRACTICE, TEACHING_VALUE, INVENTED, DEFINITION)


@dataclass(frozen=True)
class SourceRow:
    """One constant, or one data file, and where it comes from."""

    place: str
    name: str
    source: str


def is_source(sentence: str) -> bool:
    """Whether a sentence names an origin: a tag first, or a publication with its year.

    >>> is_source("teaching value"), is_source("Kubelka (1948), J. Opt. Soc. Am. 38, 448"), is_source("known")
    (True, True, False)
    """
    return sentence.startswith(TAGS) or re.search(r"\b(18|19|20)\d\d\b", sentence) is not None


def table() -> list[SourceRow]:
    """Every constant and data file of the library with its source, in order of place and name."""
    root = Path(__file__).parent
    rows = []
    for module in pkgutil.walk_packages([str(root)], "refinishlib."):
        if module.name.split(".")[1] in ("bench", "course", "cli"):
            continue
        sources: dict[str, str] = getattr(importlib.import_module(module.name), "SOURCES", {})
        rows += [SourceRow(module.name, name, source) for name, source in sources.items()]
    # A lesson's record says what the lesson is; its numbers are the course's, not the trade's.
    for path in (path for path in root.rglob("*.toml") if path.name != "lesson.toml"):
        data = tomllib.loads(path.read_text(encoding="utf-8"))
        rows.append(SourceRow(path.relative_to(root).as_posix(), "(file)", str(data.get("source", ""))))
    return sorted(rows, key=lambda row: (row.place, row.name))
