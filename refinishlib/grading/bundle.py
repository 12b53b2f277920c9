"""``refinish bundle``: the apprentices' package, with lessons and library, without solutions, keys and grading."""

from __future__ import annotations

import argparse
import zipfile
from collections.abc import Iterator
from pathlib import Path

NAME = "refinishing-course.zip"
TOP = "refinishing-course"
_GOES_ALONG = ("README.md", "LICENSE", "pyproject.toml", "nbgrader_config.py")
# The builder and its skeleton make lessons with their keys; an apprentice has no use for them.
_STAYS = tuple(
    f"refinishlib/{place}" for place in ("grading", "course/builder.py", "course/newlesson.py", "course/skeleton")
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
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        paths = sorted(set(_files(root)))
        for path in paths:
            about = zipfile.ZipInfo(f"{TOP}/{path.relative_to(root).as_posix()}", _WHEN)
            about.compress_type = zipfile.ZIP_DEFLATED
            about.external_attr = 0o644 << 16
            archive.writestr(about, path.read_bytes())
    return len(paths)


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
