"""What ipywidgets lacks, made once: copy, print, remembered entries, and names for sliders.

``Page`` is a row with the buttons *Copy* and *Print*. Its browser side is ``page.js``; ``page.css`` is the style sheet
of all calculators. Put one into every calculator, with ``sheet`` around the whole:

    page = Page("mix sheet", {"amount": amount, "colour": colour})
    page.text = "what Copy puts on the clipboard, kept up to date by whoever draws"
    sheet("Mix sheet", grid(amount, colour), problem, table, page)

Classes that a calculator's own HTML may use: ``refinish-table`` (with ``refinish-now`` and ``refinish-done`` rows),
``refinish-caution``, ``refinish-hint``, ``refinish-screen-only`` and ``refinish-paper-only``.
"""

from __future__ import annotations

from collections.abc import Mapping
from html import escape
from pathlib import Path as File
from typing import Any

import anywidget
import ipywidgets as widgets
import traitlets

from refinishlib.bench.fields import Field


class Page(anywidget.AnyWidget):
    """Copies, prints, remembers and names, for the calculator (``sheet``) in which it stands.

    text : what *Copy* puts on the clipboard; the button shows only when there is something
    entries : what is entered now, by the name of the field; the browser keeps it under ``key``

    The entries come back when a calculator with the same key is made again in the same browser. An entry that the
    field no longer takes (a colour that is gone) is left out.

    >>> from refinishlib.bench.fields import choice_field
    >>> colour = choice_field("Colour", ["red", "blue"])
    >>> page = Page("paint", {"colour": colour})
    >>> colour.entry.value = "blue"
    >>> page.entries
    {'colour': 'blue'}
    >>> page.remembered = {"colour": "red", "size": "small"}
    >>> colour.reading
    'red'
    """

    _esm = File(__file__).with_suffix(".js")
    _css = File(__file__).with_suffix(".css")

    key = traitlets.Unicode("").tag(sync=True)
    text = traitlets.Unicode("").tag(sync=True)
    entries = traitlets.Dict().tag(sync=True)
    remembered = traitlets.Dict().tag(sync=True)

    def __init__(self, key: str = "", fields: Mapping[str, Field] | None = None) -> None:
        """
        key : under which the browser remembers, one for each calculator; empty remembers nothing
        fields : those to remember, by a name that stays the same in later versions
        """
        super().__init__(key=key)
        self._fields = dict(fields or {})
        for field in self._fields.values():
            field.entry.observe(self._note, _kept(field))
        self.observe(self._restore, "remembered")

    def _note(self, change: Any) -> None:
        self.entries = {name: getattr(field.entry, _kept(field)) for name, field in self._fields.items()}

    def _restore(self, change: Any) -> None:
        for name, entry in self.remembered.items():
            if name not in self._fields:
                continue
            try:
                setattr(self._fields[name].entry, _kept(self._fields[name]), entry)
            except (traitlets.TraitError, ValueError, TypeError):
                continue


def sheet(title: str, *children: widgets.Widget) -> widgets.VBox:
    """The calculator as a whole: its title and its parts, one below the other. This is what *Print* prints.

    >>> sheet("Mix sheet", Page()).children[0].value
    '<h3>Mix sheet</h3>'
    """
    box = widgets.VBox([widgets.HTML(f"<h3>{escape(title)}</h3>"), *children])
    box.add_class("refinish-sheet")
    return box


def _kept(field: Field) -> str:
    """The trait of a field's control that is remembered: the words of a choice, the value of anything else."""
    return "label" if field.entry.has_trait("label") else "value"
