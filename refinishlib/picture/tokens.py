"""The look of the house, for everything that has to write it into a page: calculators, feedback, report.

``tokens.css`` beside this file is the one place where type, space and colour are said. JupyterLab takes it as a file;
a page that must stand alone takes `css` into its own style sheet.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

_PAIR = re.compile(r"--refinish-([a-z-]+): light-dark\((#[0-9a-f]{6}), (#[0-9a-f]{6})\);")


@dataclass(frozen=True)
class Shade:
    """One colour by day and by night, as #rrggbb."""

    light: str
    dark: str


@cache
def css() -> str:
    """The style sheet with all tokens, to be put before any other of ours.

    >>> "--refinish-ink" in css()
    True
    """
    return files(__package__).joinpath("tokens.css").read_text(encoding="utf-8")


@cache
def shades() -> dict[str, Shade]:
    """Every colour by its name without the prefix.

    >>> shades()["ink"]
    Shade(light='#25272a', dark='#ecebe6')
    """
    return {name: Shade(light, dark) for name, light, dark in _PAIR.findall(css())}
