"""The mix sheet: a colour by weight, poured step by step, with the way out when too much went in.

    from refinishlib.bench.mix_sheet import MixSheet
    MixSheet()

Everything that is worked out here comes from ``refinishlib.mixing`` and ``refinishlib.colour``; this room only asks
and shows.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from math import inf
from threading import Thread, current_thread
from time import monotonic, time
from typing import Any

import ipywidgets as widgets

from refinishlib.bench import cup as cups
from refinishlib.bench import mix_view as view
from refinishlib.bench import way_out
from refinishlib.bench.calculator import cautions
from refinishlib.bench.fields import choice_field, grid, live, text_field
from refinishlib.bench.page import Page, sheet
from refinishlib.entry import BadEntry
from refinishlib.mixing.progress import Step, in_cup, made, steps
from refinishlib.mixing.scale import LARGEST_MIX_G, Way, rounded, to_mass, to_volume
from refinishlib.picture import pour as picture
from refinishlib.picture.ink import inks
from refinishlib.shop.paint import Formula
from refinishlib.shop.shop import Shop, load
from refinishlib.units import METRIC, ShopUnits, parse, parse_either, to_house, unit_names

READABILITIES = [("0.1 g", 0.1), ("0.01 g", 0.01)]
DOUBLE_TAP_S = 0.35  # a second tap this soon is the same tap: with gloves on, nobody means two
WAYS = [("not tared between toners", "cumulative"), ("tared before each toner", "tared")]
# The names on the screen, also in sentences; beside each, what the engines call it.
WANTED, CUP, SHOWS = "How much is wanted", "The cup holds", "What the scale shows"
ENGINE_NAMES = {"wanted mass": WANTED, "cup": CUP, "scale shows": SHOWS}


class MixSheet(widgets.VBox):
    """The mix sheet as a widget, beginning with this colour and amount, or with what was entered here before.

    remember : whether the browser keeps the entries and the cup for the next time; a lesson that needs its own start
        says False
    shop : whose colours; the built-in one if not given

    colour, amount, scale, way, cup : what is asked, fields
    shows : what the scale really shows, a field; empty stands for what it should show
    poured, undo, fresh, go_on, choose_rescue, choose_leave : buttons
    judging : the thread that asks what the colour says of a small mix; None before there was one
    """

    def __init__(
        self,
        colour: str | None = None,
        amount: str = "500 g",
        *,
        remember: bool = True,
        shop: Shop | None = None,
        units: ShopUnits = METRIC,
    ) -> None:
        self._units = units
        self._by_colour: dict[tuple[Any, ...], float] = {}
        self.judging: Thread | None = None
        self._formulas = {formula.title: formula for formula in (shop or load()).colours}
        self._history: dict[str, list[tuple[view.Turn, ...]]] = {}
        self._poured_s: dict[str, float] = {}
        self._offers: dict[str, cups.Cup] = {}
        self._job: view.SheetJob | None = None
        self._next: tuple[Step, ...] = ()
        self._tapped_s = -inf

        self.colour = choice_field("Colour", self._formulas, colour)
        self.amount = text_field(WANTED, _amount, amount, hint="A mass or a volume, such as 500 g or 1 US pint.")
        self.scale = choice_field("The scale shows steps of", READABILITIES)
        self.way = choice_field("The scale is", WAYS)
        self.cup = text_field(CUP, _cup, "", hint="A mass or a volume; may stay empty.")
        self.shows = text_field(SHOWS, _reading, hint="Only if it is not the figure above.")
        # Sent when it is complete: while every key is on its way by itself, a tap on the button can overtake the last.
        self.shows.entry.continuous_update = False
        self.shows.observe(lambda change: self._say(), "reading")

        self.poured = self._button("Poured", self._pour, "refinish-go")
        self.undo = self._button("Undo", self._undo)
        self.fresh = self._button("Fresh cup", self._start_afresh)
        self.go_on = self._button("Continue this cup", self._go_on, "refinish-go")
        self.choose_rescue = self._button("Rescue it", lambda: self._choose("rescue"), "refinish-go")
        self.choose_leave = self._button("Leave it", lambda: self._choose("leave"), "refinish-go")
        self.now, self.detail, self.table, self.drawing, self.about = (widgets.HTML() for _ in range(5))

        self._main = widgets.HBox([self.poured])
        self._aside = widgets.HBox([self.undo, self.fresh])
        for box in (self._main, self._aside):
            box.add_class("refinish-buttons")
        caution = widgets.HTML(cautions(("mix",), "At the mixing bench"))
        asking = widgets.VBox([self.now, self._main, self.shows, self._aside, self.detail, caution])
        asking.add_class("refinish-asking")
        self.shows.add_class("refinish-screen-only")
        shown = widgets.VBox([asking, self.table, self.drawing, self.about])
        for part, name in ((self.table, "table"), (self.drawing, "drawing"), (self.about, "about")):
            part.add_class(f"refinish-part-{name}")
        shown.add_class("refinish-shown")
        asked = {"colour": self.colour, "amount": self.amount, "scale": self.scale, "way": self.way, "cup": self.cup}
        self._asked = tuple(asked.values())
        self.page = Page(
            "mix sheet" if remember else "",
            asked,
            more={"cups": self._take_cups},
            carries={"colour": self.colour, "amount": self.amount},
            address="mix",
        )
        settings = widgets.VBox([grid(*self._asked)])
        settings.add_class("refinish-settings")
        problem = live(self._ask, self._asked, result=shown)
        for field in self._asked:
            field.observe(self._refuse_or_allow, "reading")
        whole = sheet("Mix sheet", settings, problem, shown, self.page)
        whole.add_class("refinish-calculator")
        whole.add_class("refinish-mix")
        super().__init__([whole])
        self.add_class("refinish-place")
        self._refuse_or_allow()
        _in_the_background(_load_units)

    def _ask(
        self, title: str, amount: tuple[str, float], readability_g: float, way: Way, cup: tuple[str, float]
    ) -> None:
        formula = self._formulas[title]
        self._job = None
        try:
            job = view.SheetJob(formula, _mass(formula, amount), readability_g, way, _mass(formula, cup))
            rounded(to_mass(formula.parts, job.wanted_g), readability_g, way)  # refuses what the scale cannot show
            view.finishes(job, self.turns)  # refuses a cup that is too small for what is in it
        except BadEntry as bad:
            raise _as_on_the_screen(bad) from None
        self._job = job
        tared = self.way.entry.label.partition(" between")[0].partition(" before")[0]
        self.page.summary = f"{title}, {self.amount.entry.value}, {self.scale.entry.label} steps, {tared}"
        self._say()
        self._draw()

    def _ready(self) -> bool:
        """Whether the figures on the screen belong to what is asked; nothing is poured by figures that do not."""
        return self._job is not None and all(field.reading is not None for field in self._asked)

    def _refuse_or_allow(self, change: Any = None) -> None:
        for button in (
            self.poured, self.undo, self.fresh, self.go_on, self.choose_rescue, self.choose_leave
        ):  # fmt: skip
            button.disabled = not self._ready()

    @property
    def turns(self) -> tuple[view.Turn, ...]:
        """What was poured so far of this colour."""
        return self._past()[-1]

    def _past(self) -> list[tuple[view.Turn, ...]]:
        return self._history.setdefault(self.colour.reading, [()])

    def _turn_to(self, turns: tuple[view.Turn, ...]) -> None:
        self._past().append(turns)
        self._keep()
        self._draw_again()

    def _keep(self) -> None:
        """Let the browser keep what is in every cup, also in those that were found and not decided about yet."""
        self._poured_s[self.colour.reading] = time()
        own = {title: cups.Cup(past[-1], self._poured_s[title]) for title, past in self._history.items() if past[-1]}
        self.page.keep("cups", {title: cups.as_entry(cup) for title, cup in (self._offers | own).items()})

    def _take_cups(self, kept: Any) -> None:
        """Offer the cups that the browser kept, unless something of that colour was poured here already."""
        if not isinstance(kept, dict):
            return
        for title, entry in kept.items():
            if title in self._formulas and not self._history.get(title, [()])[-1]:
                cup = cups.from_entry(entry, self._formulas[title])
                if cup:
                    self._offers[title] = cup
        if self._ready():
            self._draw_again()

    def _offer(self) -> cups.Cup | None:
        return None if self.turns else self._offers.get(self.colour.reading)

    def _go_on(self) -> None:
        cup = self._offer()
        if cup and self._ready():
            self._history[self.colour.reading] = [cup.turns[:count] for count in range(len(cup.turns) + 1)]
            self._poured_s[self.colour.reading] = cup.at_s
            self._offers.pop(self.colour.reading)
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
            shown = None if self.shows.reading == "" else self.shows.reading
            pour = made(self._next[0], shown, readability_g=self._job.readability_g)
            turns = (*self.turns, view.Turn(pour, "open" if pour.over_g else ""))
            view.finishes(self._job, turns)  # refuses more than the cup holds
        except BadEntry as bad:
            self.shows.complain(str(_as_on_the_screen(bad, cup=SHOWS)))
            return
        self.shows.entry.value = ""
        _in_the_background(way_out.load_engine)
        self._turn_to(turns)

    def _choose(self, choice: view.WayChosen) -> None:
        if self._ready() and self.turns and self.turns[-1].choice == "open":
            self._turn_to((*self.turns[:-1], view.Turn(self.turns[-1].pour, choice)))

    def _undo(self) -> None:
        if self._ready() and len(self._past()) > 1:
            self._past().pop()
            self._keep()
            self._draw_again()

    def _start_afresh(self) -> None:
        if not self._ready():
            return
        if self._offer():
            self._offers.pop(self.colour.reading)
            self._keep()
            self._draw_again()
        elif self.turns:
            self._turn_to(())

    def _draw_again(self) -> None:
        try:
            self._draw()
        except BadEntry as bad:  # an earlier cup held more than the one that is entered now
            self.cup.complain(str(_as_on_the_screen(bad)))

    def _draw(self) -> None:
        job = self._job
        if job is None:
            return
        turns, offer = self.turns, self._offer()
        open_turn = bool(turns) and turns[-1].choice == "open"
        ways = view.finishes(job, turns)
        decided = [turn.choice for turn in turns if turn.choice in ("rescue", "leave")]
        plan = ways["leave" if decided[-1:] == ["leave"] else "rescue"]
        # While the painter has not chosen, the table shows what the rescue would be.
        left = steps(ways["rescue"] if open_turn else plan, job.readability_g, job.way)
        self._next = () if open_turn or offer else left

        main: tuple[widgets.Button, ...] = (self.poured,) if self._next else ()
        self.detail.value = ""
        if offer:
            main = (self.go_on, self.fresh)
            when = cups.when(offer.at_s, time(), self.page.east_of_utc_min)
            self.now.value = view.offer(job, offer.in_it_g, cups.poured_in(offer.turns), when)
        elif open_turn:
            there = in_cup([turn.pour for turn in turns], len(job.formula.parts))
            _colour_engine()
            advice = way_out.advise(job.formula, there, job.wanted_g, job.cup_g)
            main = (self.choose_rescue, self.choose_leave)
            if advice.best == "leave":
                main = main[::-1]
            self.now.value = view.slip(job, turns[-1].pour, advice)
            self.detail.value = view.ways_out(job, ways, advice)
        else:
            self.now.value = view.now(job, turns, left, plan)

        stack = picture.layers([turn.pour for turn in turns], left, job.decimals, inks(job.formula.toners))
        self.drawing.value = picture.pour(stack, cup_g=job.cup_g)
        self.table.value = view.table(job, turns, left, open_turn)
        self._draw_about(job)
        self.page.text = view.as_text(job, turns, left)

        self._main.children = main
        aside = [self.undo] if len(self._past()) > 1 else []
        self._aside.children = [*aside, *([self.fresh] if turns else [])]
        _visible(self.shows, bool(self._next))
        _visible(self.detail, open_turn)
        self._refuse_or_allow()

    def _draw_about(self, job: view.SheetJob) -> None:
        """What the amount is, and, for a mix that is small by its grams, what the colour says: that takes a moment."""
        asked = (job.formula, job.readability_g, job.way)
        self.about.value = view.about(job, self._units, self._by_colour.get(asked))
        if asked in self._by_colour or job.wanted_g >= view.share_rule_g(job) or self._is_judging():
            return

        def judge() -> None:
            _colour_engine()
            self._by_colour[asked] = way_out.colour_rule_g(*asked)
            if self._job:
                self._draw_about(self._job)

        self.judging = Thread(target=judge, daemon=True)
        self.judging.start()

    def _is_judging(self) -> bool:
        return self.judging is not None and self.judging.is_alive() and self.judging is not current_thread()


def _amount(text: str) -> tuple[str, float]:
    return parse_either(text, ("mass", "volume"), field=WANTED, low=0, high=LARGEST_MIX_G, above_low=True)


def _cup(text: str) -> tuple[str, float]:
    if not text.strip():
        return "mass", inf
    return parse_either(text, ("mass", "volume"), field=CUP, low=0, high=LARGEST_MIX_G, above_low=True, unit="mL")


def _reading(text: str) -> float | str:
    return parse(text, "mass", field=SHOWS, low=0, high=LARGEST_MIX_G) if text.strip() else ""


def _mass(formula: Formula, quantity: tuple[str, float]) -> float:
    kind, value = quantity
    return to_volume(formula.parts, value, view.densities(formula)).total_g if kind == "volume" else value


def _visible(widget: widgets.DOMWidget, visible: bool) -> None:
    widget.layout.display = None if visible else "none"


def _as_on_the_screen(bad: BadEntry, **other: str) -> BadEntry:
    """The sentence of an engine, with the field called as on the screen."""
    field, mark, rest = str(bad).partition(": ")
    return BadEntry((ENGINE_NAMES | other).get(field, field) + mark + rest)


@cache
def _in_the_background(load: Callable[[], None]) -> Thread:
    """Load something beside everything else, once, so that nobody waits for it later."""
    thread = Thread(target=load, daemon=True)
    thread.start()
    return thread


def _colour_engine() -> None:
    """Wait until it is loaded: two threads that load it at once can find each other's modules half made."""
    _in_the_background(way_out.load_engine).join()


def _load_units() -> None:
    """The first ounce would wait half a second for the unit library."""
    for kind in ("mass", "volume"):
        for unit in unit_names(kind):
            to_house(1.0, unit)
