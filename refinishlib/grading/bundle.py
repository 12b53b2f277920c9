"""``refinish bundle``: the apprentices' package, with lessons and library, without solutions, keys and grading.

The package has a short README of its own; what it leaves out is an instructor's, commands included.
"""

from __future__ import annotations

import argparse
import zipfile
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path

NAME = "refinishing-course.zip"
TOP = "refinishing-course"
README = "bundle_readme.md"
_GOES_ALONG = ("LICENSE", "pyproject.toml", "nbgrader_config.py")
# An instructor's: grading, the command `refinish nbgrader`, and what makes lessons with their keys.
_STAYS = tuple(
    f"refinishlib/{place}"
    for place in ("grading", "course/passing_on.py", "course/builder.py", "course/newlesson.py", "course/skeleton")
)
_NOT_A_SOURCE = ("__pycache__", ".ipynb_checkpoints")
_WHEN = (2020, 1, 1, 0, 0, 0)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--to", type=Path, default=Path(NAME), help=f"where to write it (the usual: {NAME})")


def run(arguments: argparse.Namespace) -> int:
    from refinishlib.course.folder import course_folder

    target = arguments.to.absolute()
    count = bundle(course_folder(), target)
    print(f"{target} holds {count} files for the apprentices.")
    return 0


def bundle(root: Path, target: Path) -> int:
    """Write the package and return how many files it holds. The same files give the same bytes."""
    contents = {path.relative_to(root).as_posix(): path.read_bytes() for path in set(_files(root))}
    contents["README.md"] = files("refinishlib.grading").joinpath("templates", README).read_bytes()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in sorted(contents.items()):
            about = zipfile.ZipInfo(f"{TOP}/{name}", _WHEN)
            about.compress_type = zipfile.ZIP_DEFLATED
            about.external_attr = 0o644 << 16
            archive.writestr(about, content)
    return len(contents)


def _files(root: Path) -> Iterator[Path]:
    for name in _GOES_ALONG:
        if (root / name).is_file():
            yield root / name
    for folder in ("lessons", "refinishlib"):
        for path in (root / folder).rglob("*"):
            relative = path.relative_to(root)
            stays = any(relative.is_relative_to(place) for place in _STAYS)
            if path.is_file() and not path.is_symlink() and not stays and not set(relative.parts) & set(_NOT_A_SOURCE):
                yield path
