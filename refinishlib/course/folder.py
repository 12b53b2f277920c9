"""Where the course lies: the folder that holds nbgrader_config.py."""

from __future__ import annotations

from pathlib import Path

import refinishlib
from refinishlib.entry import BadEntry


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
