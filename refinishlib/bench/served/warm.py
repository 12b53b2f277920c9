"""What a kernel that waits for a page has made already: calculators that need no engine of colour, with their states.

The page then needs to run nothing: it draws from the states and speaks to the widgets that stand in the kernel.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from ipywidgets import Widget
from ipywidgets.widgets import widget as all_widgets

STANDING: list[Widget] = []  # what was made, for as long as the kernel lives


def made_ahead(codes: Mapping[str, str]) -> str:
    """Make a calculator by each code; the states of all its widgets, as JSON.

    codes : by address, lines of Python whose last one is the calculator

    >>> code = "from refinishlib.bench.ratio import ByRatio\\nByRatio()"
    >>> found = json.loads(made_ahead({"ratio": code}))["ratio"]
    >>> found["state"][found["root"]]["model_name"]
    'VBoxModel'
    """
    found: dict[str, dict[str, Any]] = {}
    for key, code in codes.items():
        before = set(all_widgets._instances)
        *lines, last = code.splitlines()
        room: dict[str, Any] = {}
        exec("\n".join(lines), room)
        calculator: Widget = eval(last, room)
        STANDING.append(calculator)
        own = [one for model_id, one in all_widgets._instances.items() if model_id not in before]
        state = Widget.get_manager_state(drop_defaults=False, widgets=own)["state"]
        found[key] = {"root": calculator.model_id, "state": state}
    return json.dumps(found)
