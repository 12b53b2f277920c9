"""Where the course lies: the folder that holds nbgrader_config.py; and what a folder in it may be called."""

from __future__ import annotations

import re
from pathlib import Path

import refinishlib
from refinishlib.entry import BadEntry

# Windows keeps these for devices, with any ending; a folder of such a name cannot be copied there.
RESERVED = ("con", "prn", "aux", "nul", *(f"{port}{number}" for port in ("com", "lpt") for number in "0123456789¹²³"))
FORBIDDEN = re.compile(r'[\x00-\x1f<>:"/\\|?*]')

SOURCES = {
    "RESERVED": "definition: names that Windows keeps",
    "FORBIDDEN": "definition: letters that a name cannot have on Windows",
}


def course_folder(start: Path | None = None) -> Path:
    """The folder of the course: the nearest one upwards that holds nbgrader_config.py, or where the library came from.

    Raises
    ------
    BadEntry : there is none
    """
    here = (start or Path.cwd()).resolve()
    for folder in (here, *here.parents, Path(refinishlib.__file__).resolve().parents[1]):
        if (folder / "nbgrader_config.py").is_file():
            return folder
    raise BadEntry(
        f"The course is not here: neither {here} nor a folder above it holds nbgrader_config.py. "
        "Change to the folder of the course and type the command again."
    )


def can_be_a_folder(name: str) -> bool:
    """Whether a folder or file can have this name on every system that a course is carried to.

    >>> [can_be_a_folder(name) for name in ("a07", "console", "con", "NUL.txt", "a07.", "a:7", "a/7", "")]
    [True, True, False, False, False, False, False, False]
    """
    stem = name.split(".")[0].rstrip().casefold()
    return bool(stem) and stem not in RESERVED and name[-1] not in ". " and not FORBIDDEN.search(name)
