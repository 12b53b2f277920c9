"""What a notebook may keep when it is saved."""

from __future__ import annotations

from typing import Any

WIDGET_VIEW = "application/vnd.jupyter.widget-view+json"


def drop_dead_outputs(model: dict[str, Any], **kwargs: Any) -> None:
    """Take out of a notebook that is about to be saved what would lie there dead tomorrow: widgets and errors.

    A widget lives in a kernel that is gone by then, and an error belongs to entries that may have changed. Answers,
    texts and printed outputs stay. Jupyter calls this before each save with the contents model, which it changes.

    >>> cell = {"cell_type": "code", "source": "x = 1", "outputs": [{"output_type": "error"}], "metadata": {}}
    >>> notebook = {"cells": [cell], "metadata": {"widgets": {}}}
    >>> drop_dead_outputs({"type": "notebook", "content": notebook})
    >>> notebook
    {'cells': [{'cell_type': 'code', 'source': 'x = 1', 'outputs': [], 'metadata': {}}], 'metadata': {}}
    """
    if model.get("type") != "notebook" or not model.get("content"):
        return
    model["content"]["metadata"].pop("widgets", None)
    for cell in model["content"]["cells"]:
        if cell["cell_type"] == "code":
            cell["outputs"] = [output for output in cell["outputs"] if not _dead(output)]


def _dead(output: dict[str, Any]) -> bool:
    return output["output_type"] == "error" or WIDGET_VIEW in output.get("data", {})
