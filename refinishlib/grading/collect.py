"""``refinish collect``: sort a folder of handed-in files or zips into ``submitted/``, without trusting any of them.

Whose a file is follows from where it lies: ``<apprentice>/...``, ``<apprentice>-lesson.ipynb``, ``<apprentice>.zip``
and the like. A zip is never unpacked as such: only the lesson's notebook is read out of it, within bounds.
"""

from __future__ import annotations

import argparse
import datetime
import os
import re
import stat
import time
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from refinishlib.entry import BadEntry, one_of
from refinishlib.grading.handedin import LARGEST_NOTEBOOK, is_plain_id

MOST_ENTRIES = 2_000
DEEPEST = 6


@dataclass
class Collected:
    """Who was collected, and which files were left where they are, with the reason."""

    taken: dict[str, str] = field(default_factory=dict)
    left: dict[str, str] = field(default_factory=dict)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("lesson", help="the lesson's name")
    parser.add_argument("folder", type=Path, help="the folder with what was handed in: notebooks or zips")


def run(arguments: argparse.Namespace) -> int:
    from refinishlib.course.folder import course_folder

    result = collect(course_folder(), arguments.lesson, arguments.folder)
    print(f"{len(result.taken)} collected for {arguments.lesson}; grade them with: refinish grade {arguments.lesson}")
    for name, why in result.left.items():
        print(f"  left: {name}, {why}")
    return int(bool(result.left))


def collect(root: Path, lesson: str, folder: Path) -> Collected:
    """Copy each apprentice's newest notebook of the lesson into ``submitted/<apprentice>/<lesson>/``.

    Parameters
    ----------
    root : the course's folder
    lesson : the lesson's name
    folder : a folder with notebooks or zips, at most a few folders deep; links are not followed

    The time at which a file was last written becomes the time of handing in.

    Raises
    ------
    BadEntry : an unknown lesson, or a folder that is not there
    """
    lessons = sorted(path.parent.name for path in (root / "lessons").glob("*/*.ipynb"))
    one_of("lesson", lesson, lessons)
    if not folder.is_dir():
        raise BadEntry(f"folder: {folder} was given, allowed is the folder with what was handed in.")
    result = Collected()
    newest: dict[str, tuple[float, Path, str]] = {}
    for path in _files(folder, result):
        shown = _shown(path.relative_to(folder))
        who = whose(path.relative_to(folder), lesson)
        if not is_plain_id(who):
            result.left[shown] = "whose it is cannot be told; name it like a07.zip or a07-" + lesson + ".ipynb"
            continue
        try:
            _, written = _read(path, lesson)
        except BadEntry as problem:
            result.left[shown] = str(problem)
            continue
        if who not in newest or written >= newest[who][0]:
            newest[who] = (written, path, shown)
    for who, (written, path, shown) in sorted(newest.items()):
        _put(root / "submitted" / who / lesson, lesson, _read(path, lesson)[0], written)
        result.taken[who] = shown
    return result


def whose(path: Path, lesson: str) -> str:
    """The apprentice's id in a file's place: its folder's name, or its own name less the lesson's.

    >>> {whose(Path(one), "mixing") for one in ("a07/mixing.ipynb", "a07-mixing.ipynb", "mixing_a07.ipynb", "a07.zip")}
    {'a07'}
    """
    if len(path.parts) > 1:
        return path.parts[0]
    return re.sub(rf"[\s_.-]*{re.escape(lesson)}$|^{re.escape(lesson)}[\s_.-]+", "", path.stem).strip()


def _files(folder: Path, result: Collected, depth: int = 0, top: Path | None = None) -> Iterator[Path]:
    top = top or folder
    for entry in sorted(os.scandir(folder), key=lambda one: one.name):
        path = Path(entry.path)
        mode = entry.stat(follow_symlinks=False).st_mode
        if stat.S_ISDIR(mode) and depth < DEEPEST and entry.name not in (".ipynb_checkpoints", "__MACOSX"):
            yield from _files(path, result, depth + 1, top)
        elif stat.S_ISREG(mode) and path.suffix.lower() in (".ipynb", ".zip"):
            yield path
        elif not stat.S_ISDIR(mode):
            result.left[_shown(path.relative_to(top))] = "it is not a notebook or a zip"


def _read(path: Path, lesson: str) -> tuple[bytes, float]:
    return (_from_zip if path.suffix.lower() == ".zip" else _from_file)(path, lesson)


def _from_file(path: Path, lesson: str) -> tuple[bytes, float]:
    if not path.stem.startswith(lesson) and not path.stem.endswith(lesson):
        raise BadEntry(f"it is not the notebook of {lesson}")
    status = path.stat()
    if status.st_size > LARGEST_NOTEBOOK:
        raise BadEntry(f"it has {status.st_size / 1e6:.0f} MB, more than {LARGEST_NOTEBOOK / 1e6:.0f} MB")
    return path.read_bytes(), status.st_mtime


def _from_zip(path: Path, lesson: str) -> tuple[bytes, float]:
    """The lesson's notebook out of a zip. Names inside are only compared; nothing is written by them."""
    try:
        with zipfile.ZipFile(path) as archive:
            entries = archive.infolist()
            if len(entries) > MOST_ENTRIES:
                raise BadEntry(f"the zip holds {len(entries)} files, more than {MOST_ENTRIES}")
            wanted = [one for one in entries if _is_lesson(one, lesson)]
            if len(wanted) != 1:
                raise BadEntry(f"the zip holds {len(wanted)} files named {lesson}.ipynb, allowed is one")
            if wanted[0].file_size > LARGEST_NOTEBOOK:
                raise BadEntry(f"{lesson}.ipynb in the zip would have {wanted[0].file_size / 1e6:.0f} MB")
            with archive.open(wanted[0]) as file:
                content = file.read(LARGEST_NOTEBOOK + 1)
    except (zipfile.BadZipFile, zlib.error, RuntimeError, NotImplementedError, EOFError, OSError, ValueError):
        raise BadEntry("the zip is damaged, locked with a password or of an unusual kind") from None
    if len(content) > LARGEST_NOTEBOOK:
        raise BadEntry(f"{lesson}.ipynb in the zip is larger than it says")
    return content, path.stat().st_mtime


def _is_lesson(one: zipfile.ZipInfo, lesson: str) -> bool:
    name = one.filename.replace("\\", "/").rsplit("/", 1)[-1]
    inside = ".ipynb_checkpoints" in one.filename or "__MACOSX" in one.filename
    plain = not stat.S_ISLNK(one.external_attr >> 16)
    return name == f"{lesson}.ipynb" and plain and not one.is_dir() and not inside


def _put(folder: Path, lesson: str, content: bytes, written: float) -> None:
    for part in (folder.parent, folder):
        if part.is_symlink():
            part.unlink()
    folder.mkdir(parents=True, exist_ok=True)
    handed_in = datetime.datetime.fromtimestamp(min(max(written, 0.0), time.time()), datetime.UTC)
    stamp = handed_in.strftime("%Y-%m-%d %H:%M:%S UTC")
    for name, data in ((f"{lesson}.ipynb", content), ("timestamp.txt", stamp.encode())):
        fresh = folder / f".{name}.fresh"
        fresh.unlink(missing_ok=True)
        fresh.write_bytes(data)
        target = folder / name
        if target.is_dir() and not target.is_symlink():
            target.rename(folder / f".{name}.aside")
        fresh.replace(target)


def _shown(path: Path) -> str:
    return "".join(letter if letter.isprintable() else "?" for letter in str(path))[:120]
