"""The course's own world: a shop that stands still, so that no job card moves when the shop's shelf grows.

Each version is a folder in ``worlds/`` with the four data files of a shop. A version that a lesson was handed out with
is never edited: a new one is copied from it, and a lesson takes it up with a new version of its own.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

from refinishlib.entry import one_of
from refinishlib.shop.shop import FILES, Shop, load

WORLDS = Path(__file__).parent / "worlds"


@cache
def world(version: int) -> Shop:
    """The shop that lessons of this version of the world draw from.

    Raises
    ------
    BadEntry : an unknown version, or a fault in its files

    >>> world(1).colour("Kiln Red, as built").parts[0]
    ('warm red', 71.0)
    """
    known = sorted(folder.name for folder in WORLDS.iterdir() if all((folder / name).is_file() for name in FILES))
    return load(WORLDS / one_of("world", str(version), known))
