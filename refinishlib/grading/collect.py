"""``refinish collect``: sort a folder of handed-in files or zips into ``submitted/``, without trusting any of them.

Whose a file is follows from its name or from where it lies: ``<apprentice>/...``, ``<apprentice>-lesson.ipynb``,
``<apprentice>.zip`` and the like. With a class list only ids of the list are taken; any other is shown with the ids
that may be meant, and waits until the instructor says whose it is. A zip is never unpacked as such: only the lesson's
notebook is read out of it, within bounds.
"""

from __future__ import annotations

import argparse
import contextlib
import datetime
import json
import os
import re
import stat
import time
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from refinishlib.entry import BadEntry, one_of
from refinishlib.grading.classlist import Apprentice, load, nearest, save
from refinishlib.grading.handedin import LARGEST_NOTEBOOK, is_plain_id
from refinishlib.grading.table import read_table, write_table

MOST_ENTRIES = 2_000
DEEPEST = 6
MOST_LINES = 5
UNKNOWN = "unknown_ids.csv"
UNKNOWN_COLUMNS = ("handed in as", "id", "nearest")
RECORD = "collected.csv"
RECORD_COLUMNS = ("lesson", "apprentice", "handed in as", "time", "time from")
CLAIMED, FROM_FILE = "the notebook's own record", "the file only"
_NOT_OURS = (".ipynb_checkpoints", "__MACOSX")
_NOT_A_LESSON = "it is not a notebook or a zip"
# What browsers and JupyterLab put behind a name when it is taken already.
_COPY = re.compile(r"(\s*\(\d{1,3}\)|[\s_-]+copy\s*\d{0,3})$", re.IGNORECASE)
_COPY_NUMBER = re.compile(r"[\s_-]\d{1,2}$")


@dataclass(frozen=True)
class Found:
    """One readable file that may be somebody's, and when it was handed in, by its own word or by the file's."""

    path: Path
    shown: str
    handed_in: float
    time_from: str


@dataclass
class Collected:
    """What one run of collecting did.

    taken : apprentice to the file that was filed
    left : file to why it was left where it is
    unknown : file to the id that its name says, which the class list has not
    times : apprentice to how the time of handing in was told
    """

    taken: dict[str, str] = field(default_factory=dict)
    left: dict[str, str] = field(default_factory=dict)
    unknown: dict[str, str] = field(default_factory=dict)
    times: dict[str, str] = field(default_factory=dict)
    nearest: dict[str, list[str]] = field(default_factory=dict)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("lesson", help="the lesson's name")
    parser.add_argument("folder", type=Path, help="the folder with what was handed in: notebooks or zips")
    parser.add_argument("--new", nargs="+", default=[], metavar="ID", help="these ids are right; add them to the list")
    parser.add_argument("--names", type=Path, metavar="FILE", help=f"a table that says whose a file is, like {UNKNOWN}")


def run(arguments: argparse.Namespace) -> int:
    from refinishlib.course.folder import course_folder

    root = course_folder()
    names = read_names(arguments.names) if arguments.names else {}
    result = collect(root, arguments.lesson, arguments.folder, new=arguments.new, names=names)
    print("\n".join(lines_of(arguments.lesson, result)))
    if result.unknown:
        rows = [
            {"handed in as": name, "nearest": " ".join(result.nearest.get(name, []))} for name in sorted(result.unknown)
        ]
        write_table(root / UNKNOWN, UNKNOWN_COLUMNS, rows)
    return int(bool(result.left or result.unknown))


def lines_of(lesson: str, result: Collected) -> list[str]:
    """What to tell the instructor, a line for each file that needs a decision."""
    if not result.taken and not result.left and not result.unknown:
        return [f"Nothing was handed in for {lesson}: there is no notebook and no zip in that folder."]
    lines = [f"{len(result.taken)} collected for {lesson}; grade them with: refinish grade {lesson}"]
    by_file = sum(how == FROM_FILE for how in result.times.values())
    if by_file:
        lines.append(
            f"  {by_file} of them do not say when they were handed in; the time is that of the file, which copying "
            "may have changed."
        )
    lines += [f"  left: {name}, {why}" for name, why in result.left.items()]
    for name, who in result.unknown.items():
        near = result.nearest.get(name, [])
        meant = f"; nearest: {', '.join(near)}" if near else ""
        lines.append(f"  nobody yet: {name}, the class list has no id {who!r}{meant}" if who else _nobody(name, near))
    if result.unknown:
        lines.append(
            f"Say whose they are in {UNKNOWN} (column id), and type the command again with --names {UNKNOWN}; "
            "or with --new and the ids, if they are new apprentices. Nothing of these was filed."
        )
    return lines


def _nobody(name: str, near: list[str]) -> str:
    return f"  nobody yet: {name}, its name holds no id" + (f"; nearest: {', '.join(near)}" if near else "")


def read_names(file: Path) -> dict[str, str]:
    """What a table of names says: file, as collecting showed it, to id. Rows without an id wait on."""
    return {row["handed in as"]: row["id"].casefold() for row in read_table(file, UNKNOWN_COLUMNS) if row["id"]}


def collect(
    root: Path,
    lesson: str,
    folder: Path,
    *,
    new: Iterable[str] = (),
    names: dict[str, str] | None = None,
) -> Collected:
    """Copy each apprentice's newest notebook of the lesson into ``submitted/<apprentice>/<lesson>/``.

    Parameters
    ----------
    root : the course's folder; with a class list in it, only ids of the list are filed
    lesson : the lesson's name
    folder : a folder with notebooks or zips, at most a few folders deep; links are not followed
    new : ids that are right although the list has them not; they are added to it
    names : whose a file is, by the name that collecting showed

    The time of handing in is what the notebook claims, if it claims one, else when the file was last written.

    Raises
    ------
    BadEntry : an unknown lesson, a folder that is not there, or an id in new or names that cannot be one
    """
    lessons = sorted(path.parent.name for path in (root / "lessons").glob("*/*.ipynb"))
    one_of("lesson", lesson, lessons)
    if not folder.is_dir():
        raise BadEntry(f"folder: {folder} was given, allowed is the folder with what was handed in.")
    listed = load(root)
    added = [Apprentice(who.casefold()) for who in new]
    for who in [*(one.id for one in added), *(names or {}).values()]:
        if not is_plain_id(who):
            raise BadEntry(f'id: "{who[:40]}" was given, allowed are letters and figures without blanks, like a07.')
    known = {one.id for one in [*listed, *added]} if listed else set()
    for shown, who in (names or {}).items():
        if known and who not in known:
            raise BadEntry(
                f'{shown[:60]}: the id "{who}" was given, allowed is one of the class list; add --new {who} if it '
                "is new."
            )
    result = Collected()
    newest: dict[str, Found] = {}
    for path in _files(folder, result):
        shown = _shown(path.relative_to(folder))
        try:
            who, found = _look(path, folder, shown, lesson, known, names or {})
        except _Nobody as nobody:
            result.unknown[shown] = nobody.who
            result.nearest[shown] = nearest(nobody.who, known) if nobody.who else []
        except BadEntry as problem:
            result.left[shown] = str(problem)
        except Exception as problem:  # whatever a file is, it is one line and the others are collected
            result.left[shown] = f"it cannot be read ({type(problem).__name__}); ask for the file again"
        else:
            if who not in newest or found.handed_in >= newest[who].handed_in:
                newest[who] = found
    for who, found in sorted(newest.items()):
        try:
            content = _content(found.path, lesson)[0]
            _put(root / "submitted" / who / lesson, lesson, content, found.handed_in)
        except Exception as problem:
            result.left[found.shown] = f"it could not be filed: {_reason(problem)}"
            continue
        result.taken[who] = found.shown
        result.times[who] = found.time_from
    if added and listed:
        have = {one.id for one in listed}
        save(root, [*listed, *(one for one in added if one.id not in have)])
    _note(root, lesson, {who: newest[who] for who in result.taken})
    return result


class _Nobody(Exception):
    """A readable file whose apprentice cannot be told. who : the id that its name says, "" if none."""

    def __init__(self, who: str):
        super().__init__(who)
        self.who = who


def _look(
    path: Path, folder: Path, shown: str, lesson: str, known: set[str], names: dict[str, str]
) -> tuple[str, Found]:
    content, written = _content(path, lesson)
    claimed = claimed_time(content)
    found = Found(path, shown, claimed or written, CLAIMED if claimed else FROM_FILE)
    if shown in names:
        return names[shown], found
    who = whose(path.relative_to(folder), lesson, known)
    if known:
        if who not in known:
            raise _Nobody(who)
        return who, found
    if not is_plain_id(who):
        raise BadEntry(f"whose it is cannot be told; name it like a07.zip or a07-{lesson}.ipynb")
    return who, found


def whose(path: Path, lesson: str, known: Iterable[str] = ()) -> str:
    """The apprentice's id in a file's place, in small letters: in its own name, or in the folder's where it lies.

    known : the ids of the class list; with them, the folder and the file must not name two of them

    Raises
    ------
    BadEntry : the folder is one apprentice's and the file another's

    >>> {whose(Path(one), "mixing") for one in ("a07/mixing.ipynb", "A07-mixing.ipynb", "mixing_a07 (1).ipynb")}
    {'a07'}
    >>> whose(Path("mixing-Copy1.ipynb"), "mixing"), whose(Path("mixing-2.ipynb"), "mixing")
    ('', '')
    """
    ids = set(known)
    places = [id_in(part, lesson, ids) for part in (*path.parts[:-1], path.stem)]
    if not ids:
        return places[0]
    named = list(dict.fromkeys(who for who in places if who in ids))
    if len(named) > 1:
        raise BadEntry(f"its place says {named[0]} and its name says {named[1]}; put it where it belongs")
    return named[0] if named else next((who for who in places if who), "")


def id_in(name: str, lesson: str, known: Iterable[str] = ()) -> str:
    """The id in a file's or a folder's name: less the lesson's name, less what marks a copy. "" when none is left.

    >>> [id_in(one, "mixing") for one in ("a07-mixing-Copy1", "A10", "a7-", "mixing (2)")]
    ['a07', 'a10', 'a7', '']
    """
    ids = set(known)
    plain = " ".join(name.split()).casefold()
    while True:
        if plain in ids:
            return plain
        shorter = _COPY.sub("", plain).strip(" _.-")
        if (
            re.fullmatch(rf"{re.escape(lesson)}{_COPY_NUMBER.pattern}", shorter)
            and shorter[len(lesson) + 1 :] not in ids
        ):
            return ""
        shorter = re.sub(rf"(^|[\s_.-]+){re.escape(lesson)}$|^{re.escape(lesson)}([\s_.-]+|$)", "", shorter).strip(
            " _.-"
        )
        if shorter == plain:
            return plain
        plain = shorter


def claimed_time(content: bytes) -> float | None:
    """When a notebook says it was handed in, as seconds since 1970; None when it does not say, or not sensibly."""
    if b'"handed_in"' not in content:
        return None
    try:
        said = json.loads(content)["metadata"]["refinish"]["handed_in"]
        when = datetime.datetime.fromisoformat(said)
        seconds = (when if when.tzinfo else when.astimezone()).timestamp()
    except (ValueError, KeyError, TypeError, RecursionError, OverflowError, OSError):
        return None
    return seconds if 0 < seconds <= time.time() + 86_400 else None


def collected(root: Path) -> dict[tuple[str, str], dict[str, str]]:
    """What collecting noted, by lesson and apprentice; empty when it never ran or its record cannot be read."""
    with contextlib.suppress(BadEntry):
        return {(row["lesson"], row["apprentice"]): row for row in read_table(root / RECORD, RECORD_COLUMNS)}
    return {}


def _note(root: Path, lesson: str, filed: dict[str, Found]) -> None:
    if not filed:
        return
    rows = collected(root) if (root / RECORD).exists() else {}
    for who, found in filed.items():
        when = datetime.datetime.fromtimestamp(found.handed_in).strftime("%Y-%m-%d %H:%M")
        values = (lesson, who, found.shown, when, found.time_from)
        rows[lesson, who] = dict(zip(RECORD_COLUMNS, values, strict=True))
    write_table(root / RECORD, RECORD_COLUMNS, [rows[one] for one in sorted(rows)])


def _files(folder: Path, result: Collected) -> Iterator[Path]:
    """The notebooks and zips below a folder. What is too deep, too much, unreadable or of no use is one line each."""
    waiting: list[tuple[Path, int]] = [(folder, 0)]
    while waiting:
        here, depth = waiting.pop()
        shown = _shown(here.relative_to(folder)) if depth else str(folder)
        try:
            entries = _entries(here, None if depth == 0 else MOST_ENTRIES)
        except BadEntry as problem:
            result.left[f"{shown}/"] = str(problem)
            continue
        except OSError as problem:
            result.left[f"{shown}/"] = f"the folder cannot be opened: {_reason(problem)}"
            continue
        folders, of_no_use = [], []
        for entry in entries:
            path = Path(entry.path)
            try:
                mode = entry.stat(follow_symlinks=False).st_mode
            except OSError as problem:
                result.left[_shown(path.relative_to(folder))] = f"it cannot be looked at: {_reason(problem)}"
                continue
            if stat.S_ISDIR(mode):
                if entry.name not in _NOT_OURS:
                    folders.append((path, depth + 1))
            elif stat.S_ISREG(mode) and path.suffix.lower() in (".ipynb", ".zip"):
                yield path
            else:
                of_no_use.append(_shown(path.relative_to(folder)))
        if len(of_no_use) > MOST_LINES:
            result.left[f"{shown}/"] = f"{len(of_no_use)} files in it are neither a notebook nor a zip"
        else:
            result.left.update(dict.fromkeys(of_no_use, _NOT_A_LESSON))
        if depth == DEEPEST:
            for path, _ in folders[:1]:
                result.left[_shown(path.relative_to(folder)) + "/"] = f"it lies more than {DEEPEST} folders deep"
            continue
        waiting += reversed(folders)


def _entries(folder: Path, most: int | None) -> list[os.DirEntry[str]]:
    found = []
    with os.scandir(folder) as entries:
        for entry in entries:
            found.append(entry)
            if most is not None and len(found) > most:
                raise BadEntry(f"the folder holds more than {most} files; ask for the notebook alone")
    return sorted(found, key=lambda one: one.name)


def _content(path: Path, lesson: str) -> tuple[bytes, float]:
    return (_from_zip if path.suffix.lower() == ".zip" else _from_file)(path, lesson)


def _from_file(path: Path, lesson: str) -> tuple[bytes, float]:
    if not is_named_for(path.stem, lesson):
        raise BadEntry(f"it is not the notebook of {lesson}")
    try:
        status = path.stat()
        if status.st_size > LARGEST_NOTEBOOK:
            raise BadEntry(f"it has {status.st_size / 1e6:.0f} MB, more than {LARGEST_NOTEBOOK / 1e6:.0f} MB")
        return path.read_bytes(), status.st_mtime
    except OSError as problem:
        raise BadEntry(f"it cannot be opened: {_reason(problem)}") from None


def is_named_for(stem: str, lesson: str) -> bool:
    """Whether a notebook's name says that it is this lesson's, a browser's copy of it too.

    >>> [is_named_for(one, "mixing") for one in ("mixing", "a07-mixing (1)", "Mixing-Copy2", "remixing")]
    [True, True, True, False]
    """
    return re.search(rf"(^|[\s_.-]){re.escape(lesson)}($|[\s_.(-])", stem.casefold()) is not None


def _from_zip(path: Path, lesson: str) -> tuple[bytes, float]:
    """The lesson's notebook out of a zip. Names inside are only compared; nothing is written by them."""
    try:
        with zipfile.ZipFile(path) as archive:
            entries = archive.infolist()
            if len(entries) > MOST_ENTRIES:
                raise BadEntry(f"the zip holds {len(entries)} files, more than {MOST_ENTRIES}")
            wanted = [one for one in entries if _is_lesson(one, lesson)]
            if len(wanted) != 1:
                raise BadEntry(f"the zip holds {len(wanted)} notebooks of {lesson}, allowed is one")
            if wanted[0].file_size > LARGEST_NOTEBOOK:
                raise BadEntry(f"{lesson}.ipynb in the zip would have {wanted[0].file_size / 1e6:.0f} MB")
            with archive.open(wanted[0]) as file:
                content = file.read(LARGEST_NOTEBOOK + 1)
    except BadEntry:
        raise
    except Exception:  # each way of packing has errors of its own
        raise BadEntry("the zip is damaged, locked with a password or of an unusual kind") from None
    if len(content) > LARGEST_NOTEBOOK:
        raise BadEntry(f"{lesson}.ipynb in the zip is larger than it says")
    return content, path.stat().st_mtime


def _is_lesson(one: zipfile.ZipInfo, lesson: str) -> bool:
    parts = one.filename.replace("\\", "/").split("/")
    plain = not stat.S_ISLNK(one.external_attr >> 16) and not set(parts) & set(_NOT_OURS)
    name = parts[-1].casefold()
    return plain and not one.is_dir() and name.endswith(".ipynb") and is_named_for(name.removesuffix(".ipynb"), lesson)


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


def _reason(problem: BaseException) -> str:
    return getattr(problem, "strerror", None) or type(problem).__name__


def _shown(path: Path) -> str:
    return "".join(letter if letter.isprintable() else "?" for letter in str(path))[:120]
