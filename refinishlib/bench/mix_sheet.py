"""The mix sheet: a colour by weight, poured step by step, with the rescue when too much went in.

    from refinishlib.bench.mix_sheet import MixSheet
    MixSheet()

Everything that is worked out here comes from ``refinishlib.mixing``; this room only asks and shows.
"""

from __future__ import annotations

from collections.abc import Callable
from math import inf
from time import monotonic

import ipywidgets as widgets

from refinishlib.bench import mix_view as view
from refinishlib.bench.fields import choice_field, grid, live, text_field
from refinishlib.bench.page import Page, sheet
from refinishlib.entry import BadEntry
from refinishlib.mixing.progress import Step, made, steps
from refinishlib.mixing.scale import LARGEST_MIX_G, Way, rounded, to_mass, to_volume
from refinishlib.picture import pour as picture
from refinishlib.shop.paint import Formula, formulas
from refinishlib.units import parse, parse_either, unit_names

READABILITIES = [("0.1 g", 0.1), ("0.01 g", 0.01)]
DOUBLE_TAP_S = 0.35  # a second tap this soon is the same tap: with gloves on, nobody means two
WAYS = [("not tared between toners", "cumulative"), ("tared before each toner", "tared")]
CAUTION = (
    "Gloves, glasses and the respirator that the safety data sheet names; extraction on, no flame or spark near. "
    "Lids back on the tins."
)


class MixSheet(widgets.VBox):
    """The mix sheet as a widget, beginning with this colour and amount, or with what was entered here before.

    remember : whether the browser keeps the entries for the next time; a lesson that needs its own start says False

    colour, amount, scale, way, cup : what is asked, fields
    shows : what the scale really shows, a field; empty stands for what it should show
    poured, undo, fresh, choose_rescue, choose_leave : buttons
    """

    def __init__(self, colour: str | None = None, amount: str = "500 g", *, remember: bool = True) -> None:
        self._history: dict[str, list[tuple[view.Turn, ...]]] = {}
        self._job: view.Job | None = None
        self._next: tuple[Step, ...] = ()
        self._tapped_s = -inf

        units = ", ".join((*unit_names("mass"), *unit_names("volume")))
        self.colour = choice_field("Colour", formulas(), colour)
        self.amount = text_field("How much is wanted", _amount, amount, hint=f"In {units}.")
        self.scale = choice_field("The scale shows steps of", READABILITIES)
        self.way = choice_field("The scale is", WAYS)
        self.cup = text_field("The cup holds", _cup, "", hint="A mass or a volume; may stay empty.")
        self.shows = text_field("Scale shows something else? Type it here", _reading)
        # Sent when it is complete: while every key is on its way by itself, a tap on the button can overtake the last.
        self.shows.entry.continuous_update = False
        self.shows.observe(lambda change: self._say(), "reading")

        self.poured = self._button("Poured", self._pour, "refinish-go")
        self.undo = self._button("Undo", self._undo)
        self.fresh = self._button("Start a fresh cup", self._start_afresh)
        self.choose_rescue = self._button("Rescue it", lambda: self._choose("rescue"), "refinish-go")
        self.choose_leave = self._button("Leave it", lambda: self._choose("leave"), "refinish-go")
        self.now, self.table, self.drawing, self.about = (widgets.HTML() for _ in range(4))

        self._buttons = widgets.HBox([self.choose_rescue, self.choose_leave, self.poured, self.undo, self.fresh])
        self._buttons.add_class("refinish-buttons")
        self._asking = widgets.VBox([self.now, self.shows, self._buttons])
        self._asking.add_class("refinish-asking")
        self.shows.add_class("refinish-screen-only")
        steps_side = widgets.VBox([self._asking, self.table])
        result = grid(steps_side, self.drawing)
        result.add_class("refinish-result")
        shown = widgets.VBox([result, self.about])
        for box in (steps_side, shown):
            box.add_class("refinish-parts")
        asked = {"colour": self.colour, "amount": self.amount, "scale": self.scale, "way": self.way, "cup": self.cup}
        self._asked = tuple(asked.values())
        self.page = Page("mix sheet" if remember else "", asked)
        problem = live(self._ask, self._asked, result=shown)
        caution = widgets.HTML(f'<div class="refinish-caution">{CAUTION}</div>')
        super().__init__([sheet("Mix sheet", grid(*self._asked), problem, shown, caution, self.page)])

    def _ask(
        self, title: str, amount: tuple[str, float], readability_g: float, way: Way, cup: tuple[str, float]
    ) -> None:
        formula = formulas()[title]
        self._job = None
        job = view.Job(formula, _mass(formula, amount), readability_g, way, _mass(formula, cup))
        rounded(to_mass(formula.parts, job.wanted_g), readability_g, way)  # refuses what the scale cannot show
        view.finishes(job, self.turns)  # refuses a cup that is too small for what is in it
        self._job = job
        self._draw()

    def _ready(self) -> bool:
        """Whether the figures on the screen belong to what is asked; nothing is poured by figures that do not."""
        return self._job is not None and all(field.reading is not None for field in self._asked)

    @property
    def turns(self) -> tuple[view.Turn, ...]:
        """What was poured so far of this colour."""
        return self._past()[-1]

    def _past(self) -> list[tuple[view.Turn, ...]]:
        return self._history.setdefault(self.colour.reading, [()])

    def _turn_to(self, turns: tuple[view.Turn, ...]) -> None:
        self._past().append(turns)
        self._draw_again()

    def _button(self, words: str, act: Callable[[], None], *classes: str) -> widgets.Button:
        def tapped(button: widgets.Button) -> None:
            before, self._tapped_s = self._tapped_s, monotonic()
            if self._tapped_s - before > DOUBLE_TAP_S:
                act()

        button = widgets.Button(description=words)
        for name in classes:
            button.add_class(name)
        button.on_click(tapped)
        return button

    def _say(self) -> None:
        """Let the button say the reading that was typed, so that it is seen before it counts."""
        job, reading = self._job, self.shows.reading
        self.poured.description = (
            f"Poured: {view.grams(job, reading)}" if job and isinstance(reading, float) else "Poured"
        )

    def _pour(self) -> None:
        if not self._job or not self._ready() or not self._next or self.shows.reading is None:
            return
        try:
            pour = made(self._next[0], None if self.shows.reading == "" else self.shows.reading)
            turns = (*self.turns, view.Turn(pour, "open" if pour.over_g else ""))
            view.finishes(self._job, turns)  # refuses more than the cup holds
        except BadEntry as bad:
            self.shows.complain(str(bad))
            return
        self.shows.entry.value = ""
        self._turn_to(turns)

    def _choose(self, choice: view.Choice) -> None:
        if self._ready() and self.turns and self.turns[-1].choice == "open":
            self._turn_to((*self.turns[:-1], view.Turn(self.turns[-1].pour, choice)))

    def _undo(self) -> None:
        if self._ready() and len(self._past()) > 1:
            self._past().pop()
            self._draw_again()

    def _start_afresh(self) -> None:
        if self._ready() and self.turns:
            self._turn_to(())

    def _draw_again(self) -> None:
        try:
            self._draw()
        except BadEntry as bad:  # an earlier cup held more than the one that is entered now
            self.cup.complain(str(bad))

    def _draw(self) -> None:
        job = self._job
        if job is None:
            return
        turns = self.turns
        open_turn = bool(turns) and turns[-1].choice == "open"
        ways = view.finishes(job, turns)
        decided = [turn.choice for turn in turns if turn.choice in ("rescue", "leave")]
        plan = ways["leave" if decided[-1:] == ["leave"] else "rescue"]
        # While the painter has not chosen, the table shows what the rescue would be.
        left = steps(ways["rescue"] if open_turn else plan, job.readability_g, job.way)
        self._next = () if open_turn else left

        stack = picture.layers([turn.pour for turn in turns], left, job.decimals)
        self.drawing.value = picture.pour(stack, cup_g=job.cup_g)
        self.now.value = view.slip(job, turns[-1].pour, ways) if open_turn else view.now(job, turns, left, plan)
        self.table.value = view.table(job, turns, left, open_turn)
        self.about.value = view.about(job)
        self.page.text = view.as_text(job, turns, left)

        _visible(self.shows, bool(self._next))
        _visible(self.poured, bool(self._next))
        _visible(self.choose_rescue, open_turn)
        _visible(self.choose_leave, open_turn)
        _visible(self.undo, len(self._past()) > 1)
        _visible(self.fresh, bool(turns))


def _amount(text: str) -> tuple[str, float]:
    return parse_either(text, ("mass", "volume"), field="amount", low=0, high=LARGEST_MIX_G, above_low=True)


def _cup(text: str) -> tuple[str, float]:
    if not text.strip():
        return "mass", inf
    return parse_either(text, ("mass", "volume"), field="cup", low=0, high=LARGEST_MIX_G, above_low=True, unit="mL")


def _reading(text: str) -> float | str:
    return parse(text, "mass", field="scale shows", low=0, high=LARGEST_MIX_G) if text.strip() else ""


def _mass(formula: Formula, quantity: tuple[str, float]) -> float:
    kind, value = quantity
    return to_volume(formula.parts, value, view.densities(formula)).total_g if kind == "volume" else value


def _visible(widget: widgets.DOMWidget, visible: bool) -> None:
    widget.layout.display = None if visible else "none"
