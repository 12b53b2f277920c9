"""The mix sheet: a colour by weight, poured step by step, with the rescue when too much went in.

    from refinishlib.bench.mix_sheet import MixSheet
    MixSheet()

Everything that is worked out here comes from ``refinishlib.mixing``; this room only asks and shows.
"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from math import inf
from typing import Any, Literal

import ipywidgets as widgets

from refinishlib.bench.fields import choice_field, grid, live, text_field
from refinishlib.bench.page import Page, sheet
from refinishlib.entry import BadEntry
from refinishlib.mixing.progress import Made, Step, in_cup, made, steps
from refinishlib.mixing.rescue import Finish, accept, price_per_gram, rescue
from refinishlib.mixing.scale import (
    ALLOWED_CHANGE,
    LARGEST_MIX_G,
    Way,
    mix_volume,
    rounded,
    smallest_mix,
    to_mass,
    to_volume,
)
from refinishlib.picture import pour as picture
from refinishlib.shop.paint import Formula, formulas, toner
from refinishlib.units import parse, parse_either, show, unit_names

Choice = Literal["", "open", "rescue", "leave"]

READABILITIES = [("0.1 g", 0.1), ("0.01 g", 0.01)]
DECIMALS = {0.1: 1, 0.01: 2}
WAYS = [("not tared between toners", "cumulative"), ("tared before each toner", "tared")]
CAUTION = (
    "Gloves, glasses and the respirator that the safety data sheet names; extraction on, no flame or spark near. "
    "Lids back on the tins."
)


@dataclass(frozen=True)
class Turn:
    """One pour that was made, and what was decided when it went over ("open" until it is)."""

    pour: Made
    choice: Choice


@dataclass(frozen=True)
class Job:
    """What is asked of the sheet: the formula, the wanted mass, the scale and the cup."""

    formula: Formula
    wanted_g: float
    readability_g: float
    way: Way
    cup_g: float

    @property
    def decimals(self) -> int:
        return DECIMALS[self.readability_g]


class MixSheet(widgets.VBox):
    """The mix sheet as a widget.

    colour, amount, scale, way, cup : what is asked, fields
    shows : what the scale really shows, a field; empty stands for what it should show
    poured, undo, fresh, choose_rescue, choose_leave : buttons
    """

    def __init__(self, colour: str | None = None, amount: str = "500 g") -> None:
        self._history: dict[str, list[tuple[Turn, ...]]] = {}
        self._job: Job | None = None
        self._next: tuple[Step, ...] = ()

        units = ", ".join((*unit_names("mass"), *unit_names("volume")))
        self.colour = choice_field("Colour", formulas(), colour)
        self.amount = text_field("How much is wanted", _amount, amount, hint=f"In {units}.")
        self.scale = choice_field("The scale shows steps of", READABILITIES)
        self.way = choice_field("The scale is", WAYS)
        self.cup = text_field("The cup holds", _cup, "", hint="A mass or a volume; may stay empty.")
        self.shows = text_field("Scale shows something else? Type it here", _reading)
        self.shows.entry.on_msg(self._typed_enter)

        self.poured = _button("Poured", self._pour, "refinish-go")
        self.undo = _button("Undo", self._undo)
        self.fresh = _button("Start a fresh cup", self._start_afresh)
        self.choose_rescue = _button("Rescue it", lambda: self._choose("rescue"), "refinish-go")
        self.choose_leave = _button("Leave it", lambda: self._choose("leave"), "refinish-go")
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
        self.page = Page("mix sheet", asked)
        problem = live(self._ask, self._asked, result=shown)
        caution = widgets.HTML(f'<div class="refinish-caution">{CAUTION}</div>')
        super().__init__([sheet("Mix sheet", grid(*self._asked), problem, shown, caution, self.page)])

    def _ask(
        self, title: str, amount: tuple[str, float], readability_g: float, way: Way, cup: tuple[str, float]
    ) -> None:
        formula = formulas()[title]
        self._job = None
        job = Job(formula, _mass(formula, amount), readability_g, way, _mass(formula, cup))
        rounded(to_mass(formula.parts, job.wanted_g), readability_g, way)  # refuses what the scale cannot show
        _finishes(job, self.turns)  # refuses a cup that is too small for what is in it
        self._job = job
        self._draw()

    def _ready(self) -> bool:
        """Whether the figures on the screen belong to what is asked; nothing is poured by figures that do not."""
        return self._job is not None and all(field.reading is not None for field in self._asked)

    @property
    def turns(self) -> tuple[Turn, ...]:
        """What was poured so far of this colour."""
        return self._past()[-1]

    def _past(self) -> list[tuple[Turn, ...]]:
        return self._history.setdefault(self.colour.reading, [()])

    def _turn_to(self, turns: tuple[Turn, ...]) -> None:
        self._past().append(turns)
        self._draw()

    def _typed_enter(self, widget: Any, content: dict, buffers: Any) -> None:
        if content.get("event") == "submit":
            self._pour()

    def _pour(self) -> None:
        if not self._job or not self._ready() or not self._next or self.shows.reading is None:
            return
        try:
            pour = made(self._next[0], None if self.shows.reading == "" else self.shows.reading)
            turns = (*self.turns, Turn(pour, "open" if pour.over_g else ""))
            _finishes(self._job, turns)  # refuses more than the cup holds
        except BadEntry as bad:
            self.shows.complain(str(bad))
            return
        self.shows.entry.value = ""
        self._turn_to(turns)

    def _choose(self, choice: Choice) -> None:
        if self._ready() and self.turns and self.turns[-1].choice == "open":
            self._turn_to((*self.turns[:-1], Turn(self.turns[-1].pour, choice)))

    def _undo(self) -> None:
        if self._ready() and len(self._past()) > 1:
            self._past().pop()
            self._draw()

    def _start_afresh(self) -> None:
        if self._ready() and self.turns:
            self._turn_to(())

    def _draw(self) -> None:
        job = self._job
        if job is None:
            return
        turns = self.turns
        open_turn = bool(turns) and turns[-1].choice == "open"
        ways = _finishes(job, turns)
        decided = [turn.choice for turn in turns if turn.choice in ("rescue", "leave")]
        plan = ways["leave" if decided[-1:] == ["leave"] else "rescue"]
        # While the painter has not chosen, the table shows what the rescue would be.
        left = steps(ways["rescue"] if open_turn else plan, job.readability_g, job.way)
        self._next = () if open_turn else left

        stack = picture.layers([turn.pour for turn in turns], left, job.decimals)
        self.drawing.value = picture.pour(stack, cup_g=job.cup_g)
        self.now.value = _slip(job, turns[-1].pour, ways) if open_turn else _now(job, turns, left, plan)
        self.table.value = _table(job, turns, left, open_turn)
        self.about.value = _about(job)
        self.page.text = _as_text(job, turns, left)

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
    return to_volume(formula.parts, value, _densities(formula)).total_g if kind == "volume" else value


def _densities(formula: Formula) -> list[float]:
    return [toner(name).density_g_per_ml for name, _ in formula.parts]


def _finishes(job: Job, turns: tuple[Turn, ...]) -> dict[str, Finish]:
    parts = job.formula.parts
    prices = [price_per_gram(toner(name).price_per_litre, toner(name).density_g_per_ml) for name, _ in parts]
    there = in_cup([turn.pour for turn in turns], len(parts))
    return {
        "rescue": rescue(parts, there, job.wanted_g, cup_g=job.cup_g, price_per_g=prices),
        "leave": accept(parts, there, job.wanted_g, price_per_g=prices),
    }


def _grams(job: Job, value: float) -> str:
    return show(value, "g", decimals=job.decimals)


def _now(job: Job, turns: tuple[Turn, ...], left: tuple[Step, ...], plan: Finish) -> str:
    """What to do next, with the figure to watch on the scale."""
    if not left:
        return (
            f'<div class="refinish-say">All poured: stir well.</div>'
            f'<div class="refinish-figure">{_grams(job, plan.total_g)}</div>'
            f'<div class="refinish-say">are in the cup. {_worst(plan)}</div>'
        )
    step = left[0]
    again = any(turn.pour.toner == step.toner for turn in turns)
    until = "Set the scale to zero, then pour" if step.tared else "Pour"
    first = step.add_g == step.reading_g
    own = "" if first else f'<div class="refinish-say">that is {_grams(job, step.add_g)} of it</div>'
    return (
        f'<div class="refinish-say">{until} {"more " if again else ""}{_swatch(step.name)}<b>{escape(step.name)}</b> '
        f"until the scale shows</div>"
        f'<div class="refinish-figure" role="status">{_grams(job, step.reading_g)}</div>{own}'
    )


def _slip(job: Job, pour: Made, ways: dict[str, Finish]) -> str:
    """The two ways out of an over-pour, side by side."""
    mend, leave = ways["rescue"], ways["leave"]
    rows = "".join(
        f"<tr><th scope='row'>{_named(name)}</th><td>{_plus(job, more)}</td><td>{error:+.1f} %</td></tr>"
        for name, more, error in zip(mend.names, mend.add_g, leave.share_error_percent, strict=True)
    )
    cup = ""
    if not mend.fits:
        cup = (
            f"With every ratio right it would be {_grams(job, mend.needed_g)}, and the cup holds "
            f"{_grams(job, job.cup_g)}. Filled up, this stays: {_worst(mend)} A larger cup mends it all."
        )
    if leave.total_g > job.cup_g:
        cup += " Left as it is, the rest does not fit into the cup either."
    caution = f'<div class="refinish-caution">{cup}</div>' if cup else ""
    return (
        f'<div class="refinish-say" role="status">{_swatch(pour.name)}<b>{escape(pour.name)}</b> went over by '
        f"<b>{_grams(job, pour.over_g)}</b>. Rescue it, or leave it?</div>{caution}"
        f"<table class='refinish-table'><thead><tr><th scope='col'>Toner</th><th scope='col'>Rescue:<br>add</th>"
        f"<th scope='col'>Leave:<br>share off</th></tr></thead><tbody>{rows}</tbody>"
        f"<tfoot><tr><th scope='row'>In the cup then</th><td>{_grams(job, mend.total_g)}</td>"
        f"<td>{_grams(job, leave.total_g)}</td></tr>"
        f"<tr><th scope='row'>More than wanted</th><td>{_grams(job, mend.surplus_g)}</td>"
        f"<td>{_grams(job, leave.surplus_g)}</td></tr>"
        f"<tr><th scope='row'>What that costs</th><td>{mend.surplus_cost:.2f}</td>"
        f"<td>{leave.surplus_cost:.2f}</td></tr></tfoot></table>"
    )


def _table(job: Job, turns: tuple[Turn, ...], left: tuple[Step, ...], open_turn: bool) -> str:
    """Every pour, made and to come, with its own mass and the cumulative one."""
    tared = job.way == "tared"
    rows = []
    for turn in turns:
        notes = []
        if turn.pour.over_g:
            notes.append(f"{_grams(job, turn.pour.over_g)} too much")
        if turn.choice == "leave":
            notes.append("left")
        rows.append(_row(job, "✓", turn.pour, ", ".join(notes), "refinish-done", tared))
    poured = {turn.pour.toner for turn in turns}
    for k, step in enumerate(left):
        note = "more" if step.toner in poured else ""
        rows.append(_row(job, "☐", step, note, "refinish-now" if k == 0 and not open_turn else "", tared))
    own, together = ("Scale shows", "In the cup") if tared else ("Own", "Scale shows")
    return (
        f"<table class='refinish-table refinish-pour'><caption>{escape(job.formula.title)}, "
        f"{_grams(job, job.wanted_g)}{', with the rescue' if open_turn else ''}</caption><thead><tr>"
        f"<th scope='col'>Toner</th><th scope='col'>{own}, g</th><th scope='col'>{together}, g</th></tr></thead>"
        f"<tbody>{''.join(rows)}</tbody></table>"
    )


def _row(job: Job, mark: str, line: Step | Made, note: str, kind: str, tared: bool) -> str:
    own, together = (
        show(value, "g", decimals=job.decimals, with_unit=False) for value in (line.add_g, line.cumulative_g)
    )
    own_class, together_class = ("refinish-read", "") if tared else ("", "refinish-read")
    small = f"<div class='refinish-note'>{escape(note)}</div>" if note else ""
    return (
        f"<tr class='{kind}'><th scope='row'><span class='refinish-mark'>{mark}</span>{_named(line.name)}{small}</th>"
        f"<td class='{own_class}'>{own}</td><td class='{together_class}'>{together}</td></tr>"
    )


def _about(job: Job) -> str:
    """The amount in mass and volume, what rounding does, and the smallest sensible mix."""
    pour = to_mass(job.formula.parts, job.wanted_g)
    shown = rounded(pour, job.readability_g, job.way)
    volume = float(mix_volume(pour.own_g, _densities(job.formula)))
    errors = [round(error, 2) for error in shown.share_error_percent]
    error, name = max(zip(errors, pour.names, strict=True), key=lambda pair: abs(pair[0]))
    least = smallest_mix(min(pour.shares), job.readability_g, ALLOWED_CHANGE, job.way)
    rarest = min(zip(pour.shares, pour.names, strict=True))[1]
    rule = (
        f"Smallest sensible mix of this colour on this scale: {show(least, 'g')}. In less, rounding can "
        f"change {escape(rarest)} by more than {show(100 * ALLOWED_CHANGE, '%', decimals=0)}."
    )
    small = job.wanted_g < least
    too_much = ""
    if job.wanted_g > job.cup_g:
        too_much = (
            f'<div class="refinish-caution">The cup holds {_grams(job, job.cup_g)} of this colour, less than wanted: '
            "the sheet fills it.</div>"
        )
    rounding = f"changes the share of {escape(name)} most, by {error:+.2f} %"
    if not error:
        rounding = "changes no toner's share"
    return (
        f"{too_much}<div>{_grams(job, job.wanted_g)} of this colour are {show(volume, 'mL')}. "
        f"Rounding to the scale {rounding}.</div>"
        f'<div class="{"refinish-caution" if small else "refinish-hint"}">{rule}</div>'
    )


def _as_text(job: Job, turns: tuple[Turn, ...], left: tuple[Step, ...]) -> str:
    """The sheet as plain text, for the clipboard."""
    wide = max(len(name) for name, _ in job.formula.parts) + 2
    lines: list[tuple[str, Step | Made]] = [("[x]", turn.pour) for turn in turns] + [("[ ]", step) for step in left]
    head = f"{job.formula.title}, {_grams(job, job.wanted_g)}\n    {'toner':<{wide}}{'own':>12}{'cumulative':>14}"
    return "\n".join(
        [head]
        + [
            f"{mark} {line.name:<{wide}}{_grams(job, line.add_g):>12}{_grams(job, line.cumulative_g):>14}"
            for mark, line in lines
        ]
    )


def _worst(plan: Finish) -> str:
    """Which toner is off the most, as a sentence; empty when all are right to what is printed."""
    errors = [round(error, 1) for error in plan.share_error_percent]
    error, name = max(zip(errors, plan.names, strict=True), key=lambda pair: abs(pair[0]))
    return f"{escape(name)} is off by {error:+.1f} % of its share." if error else ""


def _plus(job: Job, mass_g: float) -> str:
    return f"+ {_grams(job, mass_g)}" if mass_g >= job.readability_g / 2 else "nothing"


def _swatch(name: str) -> str:
    return f'<span class="refinish-swatch" style="background: {picture.ink(name)}" aria-hidden="true"></span>'


def _named(name: str) -> str:
    """A toner's swatch and name; a long name wraps beside the swatch, not below it."""
    return f'<span class="refinish-toner">{_swatch(name)}<span>{escape(name)}</span></span>'


def _visible(widget: widgets.DOMWidget, visible: bool) -> None:
    widget.layout.display = None if visible else "none"


def _button(words: str, act: Any, *classes: str) -> widgets.Button:
    button = widgets.Button(description=words)
    for name in classes:
        button.add_class(name)
    button.on_click(lambda _: act())
    return button
