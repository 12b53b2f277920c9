"""What a notebook may keep when it is saved."""

from __future__ import annotations

from typing import Any

from refinishlib.course.as_typed import READ_FROM, mark_of

WIDGET_VIEW = "application/vnd.jupyter.widget-view+json"


def drop_dead_outputs(model: dict[str, Any], **kwargs: Any) -> None:
    """Take out of a notebook that is about to be saved what would lie there dead tomorrow: widgets, errors, old checks.

    A widget lives in a kernel that is gone by then, and an error belongs to entries that may have changed. What a check
    said stays only while every text that it speaks of still stands in a cell. Answers, texts and other outputs stay.
    Jupyter calls this before each save with the contents model, which it changes.

    >>> cell = {"cell_type": "code", "source": "x = 1", "outputs": [{"output_type": "error"}], "metadata": {}}
    >>> notebook = {"cells": [cell], "metadata": {"widgets": {}}}
    >>> drop_dead_outputs({"type": "notebook", "content": notebook})
    >>> notebook
    {'cells': [{'cell_type': 'code', 'source': 'x = 1', 'outputs': [], 'metadata': {}}], 'metadata': {}}
    """
    if model.get("type") != "notebook" or not model.get("content"):
        return
    model["content"]["metadata"].pop("widgets", None)
    code = [cell for cell in model["content"]["cells"] if cell["cell_type"] == "code"]
    standing = {mark_of("".join(cell["source"])) for cell in code}
    for cell in code:
        cell["outputs"] = [output for output in cell["outputs"] if not _dead(output, standing)]


def _dead(output: dict[str, Any], standing: set[str]) -> bool:
    read_from = output.get("metadata", {}).get("refinish", {}).get(READ_FROM, [])
    return (
        output["output_type"] == "error"
        or WIDGET_VIEW in output.get("data", {})
        or any(mark not in standing for mark in read_from)
    )
