"""What ipywidgets lacks, made once: copy, print, remembered entries, a line when nothing counts, names for sliders.

``Page`` is a row with the buttons *Copy* and *Print*. Its browser side is ``page.js``; ``page.css``, after the tokens
of the house, is the style sheet of all calculators. Put one into every calculator, with ``sheet`` around the whole:

    page = Page("mix sheet", {"amount": amount, "colour": colour})
    page.text = "what Copy puts on the clipboard, kept up to date by whoever draws"
    sheet("Mix sheet", grid(amount, colour), problem, table, page)

Classes that a calculator's own HTML may use: ``refinish-table`` (with ``refinish-now`` and ``refinish-done`` rows),
``refinish-caution``, ``refinish-hint``, ``refinish-screen-only`` and ``refinish-paper-only``. A box of the class
``refinish-settings`` folds into one line on a phone.

What the browser does by itself, so that it holds while the kernel is busy or gone: whatever ``fields.live`` draws is
dimmed from the moment an entry changes until the kernel has answered; a button that acts on a figure which is about to
change is not heard; and when the kernel is gone a line says so, all else is disabled, and one button brings it back.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from html import escape
from pathlib import Path as File
from typing import Any

import anywidget
import ipywidgets as widgets
import traitlets

from refinishlib.bench.fields import EntryField
from refinishlib.picture import tokens


class Page(anywidget.AnyWidget):
    """Copies, prints, remembers and names, for the calculator (``sheet``) in which it stands.

    text : what *Copy* puts on the clipboard; the button shows only when there is something
    summary : the settings in one line, for the phone
    entries : what is entered now, by the name of the field; the browser keeps it under ``key``
    east_of_utc_min : the clock of whoever looks at the page, known once something was remembered
    job : what the job says, by the names of ``registry.JOB``: what was typed or chosen, as text. The page that serves
        several calculators hands it over and takes it back; where nobody does, nothing is carried
    hands : what *Take this into the job* adds to it
    address : of this calculator on the bench, where the way to it is shown when it stands in a lesson

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

    # As text: anywidget watches a file given by its path, and the watcher keeps every calculator alive for good.
    _esm = File(__file__).with_suffix(".js").read_text("utf-8")
    _css = tokens.css() + File(__file__).with_suffix(".css").read_text("utf-8")

    key = traitlets.Unicode("").tag(sync=True)
    text = traitlets.Unicode("").tag(sync=True)
    entries = traitlets.Dict().tag(sync=True)
    remembered = traitlets.Dict().tag(sync=True)
    summary = traitlets.Unicode("").tag(sync=True)
    east_of_utc_min = traitlets.Float(0).tag(sync=True)
    job = traitlets.Dict().tag(sync=True)
    hands = traitlets.Dict().tag(sync=True)
    address = traitlets.Unicode("").tag(sync=True)

    def __init__(
        self,
        key: str = "",
        fields: Mapping[str, EntryField] | None = None,
        *,
        more: Mapping[str, Callable[[Any], None]] | None = None,
        carries: Mapping[str, EntryField] | None = None,
        address: str = "",
    ) -> None:
        """
        key : under which the browser remembers, one for each calculator; empty remembers nothing
        fields : those to remember, by a name that stays the same in later versions
        more : names of what `keep` keeps beside them, each with who takes it when it comes back
        carries : names of what the job carries, each with the field that stands for it here

        >>> from refinishlib.bench.fields import choice_field
        >>> colour = choice_field("Colour", ["red", "blue"])
        >>> page = Page(carries={"colour": colour})
        >>> page.job = {"colour": "blue", "amount": "500 g"}
        >>> colour.reading
        'blue'
        >>> colour.entry.value = "red"
        >>> page.job
        {'colour': 'red', 'amount': '500 g'}
        """
        super().__init__(key=key, address=address)
        self._fields = dict(fields or {})
        self._more = dict(more or {})
        self._kept: dict[str, Any] = {}
        self._carries = dict(carries or {})
        for field in self._fields.values():
            field.entry.observe(self._note, _kept(field))
        for field in self._carries.values():
            field.observe(self._hand_over, "reading")
        self.observe(self._take_up, "job")
        self.observe(self._restore, "remembered")
        self.on_msg(self._answer)

    def keep(self, name: str, value: Any) -> None:
        """Keep plain values that are no field's, such as what was poured."""
        self._kept[name] = value
        self._note()

    def _note(self, change: Any = None) -> None:
        self.entries = {name: getattr(field.entry, _kept(field)) for name, field in self._fields.items()} | self._kept

    def _hand_over(self, change: Any = None) -> None:
        """Let the job know what was entered here, once there is a job."""
        if self.job:
            good = {name: one.entry for name, one in self._carries.items() if one.reading is not None}
            self.job = dict(self.job) | {name: as_text(entry) for name, entry in good.items()}

    def _take_up(self, change: Any) -> None:
        """Enter what the job says; what a field here does not take is left as it is."""
        for name, field in self._carries.items():
            if name in self.job and as_text(field.entry) != self.job[name]:
                _enter(field, self.job[name])

    def _answer(self, page: Page, content: Any, buffers: Any) -> None:
        """Say that everything asked before this was done; the browser waits for it before it trusts a figure."""
        if isinstance(content, dict) and "ask" in content:
            self.send({"answered": content["ask"]})

    def _restore(self, change: Any) -> None:
        # First what is no field's: each field that changes writes all entries into the browser anew.
        self._kept |= {name: self.remembered[name] for name in self._more if name in self.remembered}
        for name, take in self._more.items():
            if name in self.remembered:
                take(self.remembered[name])
        for name, entry in self.remembered.items():
            if name not in self._fields:
                continue
            _enter(self._fields[name], entry)


def sheet(title: str, *children: widgets.Widget) -> widgets.VBox:
    """The calculator as a whole: its title and its parts, one below the other. This is what *Print* prints.

    >>> sheet("Mix sheet", Page()).children[0].value
    '<h3 class="refinish-title">Mix sheet</h3>'
    """
    box = widgets.VBox([widgets.HTML(f'<h3 class="refinish-title">{escape(title)}</h3>'), *children])
    box.add_class("refinish-sheet")
    return box


def as_text(entry: Any) -> Any:
    """What is entered in a control, as it is kept: the words of a choice, the value of anything else."""
    return entry.label if entry.has_trait("label") else entry.value


def _enter(field: EntryField, entry: Any) -> None:
    try:
        setattr(field.entry, _kept(field), entry)
    except (traitlets.TraitError, ValueError, TypeError):
        return


def _kept(field: EntryField) -> str:
    """The trait of a field's control that is remembered: the words of a choice, the value of anything else."""
    return "label" if field.entry.has_trait("label") else "value"
