"""The frame of a calculator: what is asked, the answer with its reason, picture, table and cautions, copy and print.

A calculator is a handful of fields and one function from their readings to what is shown:

    def show(colour: Formula, coats: float) -> Reply:
        return Reply(figure=f"{coats:g} coats", reason="The ground no longer shows.", text="...", summary="...")

    def Undercoat(*, remember=True, shop=None) -> Calculator:
        fields = {"colour": choice_field("Colour", ...), "coats": slider_field("Coats", 1, 8, 3)}
        return Calculator("undercoat", "Undercoat and coats", fields, show, carries={"colour": "colour"})

The function asks engines for every number. A ``BadEntry`` that it raises stands beside the field that the engine named
(``names`` says which field that is), the last good answer stays, dimmed, and nothing else is lost.

On a phone the answer and the main button come first and the fields fold into one line; where there is room the fields
stand above, the answer at the left and the picture at the right.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Any

import ipywidgets as widgets

from refinishlib.bench.fields import EntryField, grid, live
from refinishlib.bench.page import Page, sheet
from refinishlib.booth.cautions import for_tasks
from refinishlib.entry import BadEntry


@dataclass(frozen=True)
class Reply:
    """What a calculator says.

    figure : the answer itself, a number with its unit or a few words, in large type; plain text
    lead : one line above it, plain text
    reason : a sentence or two below it, plain text
    picture : SVG or HTML, with its text alternative
    detail : a table or more of the answer, HTML
    about : what may be known besides, HTML over the whole width
    text : what *Copy* puts on the clipboard
    summary : what was asked, in one line, for the phone
    tasks : names of tasks whose cautions stand below the answer
    hands : what *Take this into the job* hands on, by names of ``registry.JOB``
    """

    figure: str
    lead: str = ""
    reason: str = ""
    picture: str = ""
    detail: str = ""
    about: str = ""
    text: str = ""
    summary: str = ""
    tasks: tuple[str, ...] = ()
    hands: Mapping[str, str] = field(default_factory=dict)


class Calculator(widgets.VBox):
    """A calculator as a widget.

    key : its address and under what it remembers
    title : its name on the screen
    fields : what is asked, by a name that stays the same in later versions
    show : from the readings of all fields, by their names, to what is shown
    rare : names of fields that are seldom changed; they fold away behind *More settings*
    names : what an engine calls a field, and the name of the field here, for its sentences
    carries : names of ``registry.JOB``, each with the field that stands for it
    buttons : more buttons below the answer, the main one first, which the calculator itself acts on
    below : more widgets between the answer and *Copy* and *Print*, such as a list that is worked off
    more : see ``Page``
    remember : whether it keeps its entries for the next time; a lesson that needs its own start says False

    fields, page, shown : the fields, the row with *Copy* and *Print*, what is shown now (None before the first answer)

    >>> from refinishlib.bench.fields import slider_field
    >>> coats = {"coats": slider_field("Coats", 1, 8, 3)}
    >>> one = Calculator("film", "Film", coats, lambda coats: Reply(f"{15 * coats:g} um"), remember=False)
    >>> one.shown.figure
    '45 um'
    >>> one.fields["coats"].entry.value = 4
    >>> one.shown.figure
    '60 um'
    """

    def __init__(
        self,
        key: str,
        title: str,
        fields: Mapping[str, EntryField],
        show: Callable[..., Reply],
        *,
        rare: Collection[str] = (),
        names: Mapping[str, str] | None = None,
        carries: Mapping[str, str] | None = None,
        buttons: Sequence[widgets.Button] = (),
        below: Sequence[widgets.DOMWidget] = (),
        more: Mapping[str, Callable[[Any], None]] | None = None,
        remember: bool = True,
    ) -> None:
        self.fields = dict(fields)
        self.shown: Reply | None = None
        self._show = show
        self._names = dict(names or {})
        self._now, self._picture, self._detail, self._about, self._cautions = (widgets.HTML() for _ in range(5))
        for part, name in ((self._detail, "table"), (self._picture, "drawing"), (self._about, "about")):
            part.add_class(f"refinish-part-{name}")

        row = widgets.HBox(list(buttons))
        row.add_class("refinish-buttons")
        asking = widgets.VBox([self._now, row, self._cautions] if buttons else [self._now, self._cautions])
        asking.add_class("refinish-asking")
        shown = widgets.VBox([asking, self._detail, self._picture, self._about])
        shown.add_class("refinish-shown")

        self.page = Page(
            key if remember else "",
            self.fields,
            more=more,
            carries={name: self.fields[which] for name, which in (carries or {}).items()},
            address=key,
        )
        often = [one for name, one in self.fields.items() if name not in rare]
        settings = widgets.VBox(
            [grid(*often), *self._rare([self.fields[name] for name in self.fields if name in rare])]
        )
        settings.add_class("refinish-settings")
        problem = live(self._draw, tuple(self.fields.values()), result=shown)
        whole = sheet(title, settings, problem, shown, *below, self.page)
        whole.add_class("refinish-calculator")
        super().__init__([whole])
        self.add_class("refinish-place")

    def _rare(self, fields: Sequence[EntryField]) -> list[widgets.DOMWidget]:
        if not fields:
            return []
        box = grid(*fields)
        box.layout.display = "none"
        button = widgets.Button(description="More settings")
        button.add_class("refinish-more")

        def turned(_: Any) -> None:
            closed = box.layout.display == "none"
            box.layout.display = None if closed else "none"
            button.description = "Fewer settings" if closed else "More settings"

        button.on_click(turned)
        return [button, box]

    def again(self) -> None:
        """Draw anew though no field has changed, after something else did that ``show`` looks at."""
        if all(one.reading is not None for one in self.fields.values()):
            self._draw(*(one.reading for one in self.fields.values()))

    def _draw(self, *readings: Any) -> None:
        for one in self.fields.values():
            one.blame("")
        try:
            shown = self._show(**dict(zip(self.fields, readings, strict=True)))
        except BadEntry as bad:
            named, mark, rest = str(bad).partition(": ")
            culprit = self.fields.get(self._names.get(named, named)) if mark else None
            if culprit is None:
                raise
            label = culprit.entry.description.partition(": ")[0]
            culprit.blame(f"{label}: {rest}")
            raise BadEntry(f"{label}: {rest}") from None
        self.shown = shown
        lead = f'<div class="refinish-say">{escape(shown.lead)}</div>' if shown.lead else ""
        reason = f'<div class="refinish-reason">{escape(shown.reason)}</div>' if shown.reason else ""
        self._now.value = f'{lead}<div class="refinish-answer" role="status">{escape(shown.figure)}</div>{reason}'
        for part, html in (
            (self._picture, shown.picture),
            (self._detail, shown.detail),
            (self._about, shown.about),
            (self._cautions, cautions(shown.tasks)),
        ):
            part.value = html
            part.layout.display = None if html else "none"
        self.page.text = shown.text
        self.page.summary = shown.summary
        self.page.hands = dict(shown.hands)


def cautions(tasks: Sequence[str], place: str = "What can hurt here") -> str:
    """What can hurt at these tasks, folded into one line; the words are the booth's. Empty where nothing can.

    >>> cautions(()), "isocyanates" in cautions(("mix",))
    ('', True)
    """
    found = {one.name: one for of_task in for_tasks(tasks).values() for one in of_task}.values()
    if not found:
        return ""
    rows = "".join(
        f"<dt>{_WARNING}{escape(one.title)}</dt><dd>{escape(one.danger)} {escape(one.usual)}</dd>" for one in found
    )
    names = ", ".join(one.name for one in found)
    last = "".join(f"<p><b>{escape(words)}</b></p>" for words in dict.fromkeys(one.defer for one in found))
    return (
        f'<details class="refinish-caution"><summary>{_WARNING}<span><b>{escape(place)}:</b> {escape(names)}.'
        f"</span></summary>{last}<dl>{rows}</dl></details>"
    )


# A triangle with a mark, drawn, since not every machine has the sign among its letters.
_WARNING = (
    '<svg class="refinish-sign" viewBox="0 0 20 20" width="20" height="20" aria-hidden="true">'
    '<path d="M10 2.2 18.6 17.5H1.4Z" fill="none" stroke="currentColor" stroke-width="1.8" stroke-linejoin="round"/>'
    '<path d="M10 7.5v5M10 14.2v1.6" stroke="currentColor" stroke-width="1.9"/></svg>'
)
