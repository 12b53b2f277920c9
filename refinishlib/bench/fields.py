"""Fields of a calculator: the label above, the entry, a sentence below when the entry cannot be used.

A calculator is made of a few fields, one function that draws from their readings, and one page around them:

    amount = text_field("How much do you need?", units.mass_g, "500 g")
    colour = choice_field("Colour", shop.formulas())
    table = widgets.HTML()

    def draw(amount_g, colour):
        table.value = ...

    problem = live(draw, [amount, colour], result=table)
    page = Page("mix sheet", {"amount": amount, "colour": colour})
    sheet("Mix sheet", grid(colour, amount), problem, table, page)

What was typed always stays as it is. Quantities are text with a parser of our own: the number fields of ipywidgets
turn "34,2" into 342 without a word.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from html import escape
from typing import Any

import ipywidgets as widgets
import traitlets

from refinishlib.entry import BadEntry


class EntryField(widgets.VBox):
    """One labelled entry.

    reading : what was entered, as the calculator uses it; None while the entry cannot be used. Observe this.
    sentence : what is wrong with the entry; empty while it is good
    entry : the ipywidgets control itself; its ``value`` is what was typed, chosen, moved or ticked
    """

    reading = traitlets.Any(allow_none=True)
    sentence = traitlets.Unicode("")

    def __init__(self, entry: widgets.ValueWidget, read: Callable[[Any], Any], hint: str = "") -> None:
        self.entry = entry
        self._read = read
        self._hint = f'<div class="refinish-hint">{escape(hint)}</div>' if hint else ""
        self._below = widgets.HTML()
        super().__init__([entry, self._below])
        self.add_class("refinish-field")
        entry.observe(lambda change: self._take(), "value")
        self._take()

    def _take(self) -> None:
        try:
            reading = self._read(self.entry.value)
        except BadEntry as bad:
            self.complain(str(bad))
        else:
            self.remove_class("refinish-bad")
            self.sentence = ""
            self._show(self._hint)
            self.reading = reading

    def complain(self, sentence: str) -> None:
        """Show a sentence below the entry and have no reading, until the entry changes."""
        self.add_class("refinish-bad")
        self.sentence = sentence
        self._show(_sentence(sentence))
        self.reading = None

    def blame(self, sentence: str) -> None:
        """Show a sentence of an engine below the entry, which is good by itself, or take it away again (empty)."""
        if self.sentence:
            return
        (self.add_class if sentence else self.remove_class)("refinish-bad")
        self._show(_sentence(sentence) if sentence else self._hint)

    def _show(self, html: str) -> None:
        self._below.value = html
        self._below.layout.display = None if html else "none"


def text_field(label: str, read: Callable[[str], Any], text: str = "", *, hint: str = "") -> EntryField:
    """A typed entry.

    Parameters
    ----------
    label : the words above it
    read : makes a reading out of the text; raises BadEntry with one sentence for text it cannot use
    text : what stands there first
    hint : a quiet line below it while the entry is good

    >>> from refinishlib.entry import number
    >>> field = text_field("Coats", lambda text: number("coats", float(text), low=1, high=9), "2")
    >>> field.reading
    2.0
    >>> field.entry.value = "20"
    >>> field.reading, field.entry.value, field.sentence
    (None, '20', 'coats: 20 was given, allowed is a number from 1 to 9.')
    """
    return EntryField(_dressed(widgets.Text(value=text, description=label)), read, hint)


def choice_field(label: str, options: Iterable[Any], value: Any = None, *, hint: str = "") -> EntryField:
    """A choice from a list of words, or of (words, reading) pairs; the first one if no value is given.

    >>> choice_field("Balance", [("0.1 g", 0.1), ("0.01 g", 0.01)]).reading
    0.1
    """
    entry = widgets.Dropdown(options=list(options), description=label)
    if value is not None:
        entry.value = value
    return EntryField(_dressed(entry), _as_it_is, hint)


def offer(field: EntryField, options: Iterable[Any]) -> None:
    """Give a choice other options; what is chosen stays, if it is still among them.

    >>> variant = choice_field("Variant", ["as built", "early"], "early")
    >>> offer(variant, ["early", "late"])
    >>> variant.reading
    'early'
    """
    chosen = field.entry.label
    options = list(options)
    labels = [one[0] if isinstance(one, tuple) else str(one) for one in options]
    field.entry.options = options
    if chosen in labels:
        field.entry.label = chosen


def lines_field(label: str, read: Callable[[str], Any], text: str = "", *, rows: int = 4, hint: str = "") -> EntryField:
    """A typed entry of several lines, such as a table of readings.

    >>> lines_field("Readings", str.splitlines, "15 42.1\\n45 30.2").reading
    ['15 42.1', '45 30.2']
    """
    return EntryField(_dressed(widgets.Textarea(value=text, description=label, rows=rows)), read, hint)


def slider_field(
    label: str, low: float, high: float, value: float, *, step: float = 1, unit: str = "", hint: str = ""
) -> EntryField:
    """A number that may be moved from step to step between two ends; the one nearest to value first.

    Its label ends with the number. Nothing can be typed into it. It is a row of choices below the surface, since the
    number sliders of ipywidgets send 25.000000000000004 back for 25.

    >>> film = slider_field("Dry film", 0, 60, 25, unit="µm")
    >>> film.entry.description, film.reading
    ('Dry film: 25 µm', 25)
    >>> slider_field("Share", 0, 1, 0.35, step=0.1).reading
    0.3
    """
    numbers = [round(low + n * step, 9) for n in range(round((high - low) / step) + 1)]
    options = [(f"{number:g}", number) for number in numbers]
    first = min(numbers, key=lambda number: abs(number - value))
    entry = _dressed(widgets.SelectionSlider(options=options, value=first, readout=False))

    def read(number: float) -> float:
        entry.description = f"{label}: {number:g} {unit}".rstrip()
        return number

    return EntryField(entry, read, hint)


def tick_field(label: str, value: bool = False, *, hint: str = "") -> EntryField:
    """A box to tick; its words stand beside it.

    >>> tick_field("Poured").reading
    False
    """
    entry = widgets.Checkbox(value=value, description=label, indent=False)
    entry.add_class("refinish-tick")
    return EntryField(entry, _as_it_is, hint)


class Several(widgets.VBox, widgets.ValueWidget):
    """Boxes to tick, below one name; its value is the labels of those that are ticked, in their order."""

    value = traitlets.Tuple()
    description = traitlets.Unicode("")

    def __init__(self, options: Sequence[str], value: Iterable[str], description: str) -> None:
        chosen = set(value)
        self._boxes = {
            option: widgets.Checkbox(value=option in chosen, description=option, indent=False) for option in options
        }
        name = widgets.HTML(f'<div class="refinish-legend">{escape(description)}</div>')
        boxes = widgets.Box(list(self._boxes.values()))
        boxes.add_class("refinish-boxes")
        super().__init__([name, boxes], description=description)
        self._ticked()
        for box in self._boxes.values():
            box.observe(self._ticked, "value")
        self.observe(self._set, "value")

    def _ticked(self, change: Any = None) -> None:
        self.value = tuple(option for option, box in self._boxes.items() if box.value)

    def _set(self, change: Any) -> None:
        wanted = set(self.value)
        if wanted - set(self._boxes):
            self.value = tuple(option for option in self._boxes if option in wanted)
            return
        for option, box in self._boxes.items():
            box.value = option in wanted


def several_field(label: str, options: Sequence[str], value: Iterable[str] = (), *, hint: str = "") -> EntryField:
    """Several of a few, each a box to tick.

    >>> panels = several_field("Panels", ["bonnet", "left front door"], ["bonnet"])
    >>> panels.reading
    ('bonnet',)
    >>> panels.entry.value = ("left front door",)
    >>> panels.reading
    ('left front door',)
    """
    return EntryField(_dressed(Several(options, value, label)), _as_it_is, hint)


def grid(*children: widgets.Widget) -> widgets.Box:
    """Fields side by side, as many in a row as the screen has room for; one below the other on a phone."""
    box = widgets.Box(children)
    box.add_class("refinish-grid")
    return box


def live(draw: Callable[..., Any], fields: Sequence[EntryField], *, result: widgets.DOMWidget) -> widgets.HTML:
    """Draw now, and again whenever a field changes, with the readings of all fields in their order.

    While one of them has no reading, or when draw raises BadEntry, the result stays and is dimmed, since it no longer
    belongs to what was entered. Returns the line in which the sentence of such a BadEntry appears.

    >>> coats = text_field("Coats", int, "2")
    >>> shown = widgets.HTML()
    >>> def draw(coats):
    ...     if coats > 9:
    ...         raise BadEntry("Nobody sprays more than nine coats.")
    ...     shown.value = f"{coats * 15} µm"
    >>> problem = live(draw, [coats], result=shown)
    >>> coats.entry.value = "3"
    >>> shown.value
    '45 µm'
    """
    problem = widgets.HTML()
    result.add_class("refinish-live")

    def again(change: Any = None) -> None:
        sentence = ""
        good = all(field.reading is not None for field in fields)
        if good:
            try:
                draw(*(field.reading for field in fields))
            except BadEntry as bad:
                sentence, good = str(bad), False
        problem.value = _sentence(sentence) if sentence else ""
        problem.layout.display = None if sentence else "none"
        (result.remove_class if good else result.add_class)("refinish-stale")

    for field in fields:
        field.observe(again, "reading")
    again()
    return problem


def _dressed(entry: widgets.DOMWidget) -> Any:
    entry.add_class("refinish-entry")
    return entry


def _as_it_is(value: Any) -> Any:
    return value


def _sentence(text: str) -> str:
    return f'<div class="refinish-sentence" role="alert">{escape(text)}</div>'
