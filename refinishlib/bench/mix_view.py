"""What the mix sheet says: its records, and the words and tables made from what the engine worked out."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import Literal

from refinishlib.mixing.progress import Made, Step, in_cup
from refinishlib.mixing.rescue import Finish, accept, price_per_gram, rescue
from refinishlib.mixing.scale import ALLOWED_CHANGE, Way, mix_volume, rounded, smallest_mix, to_mass
from refinishlib.picture import pour as picture
from refinishlib.shop.paint import Formula, toner
from refinishlib.units import show

Choice = Literal["", "open", "rescue", "leave"]

# Digits after the point for each readability.
DECIMALS = {0.1: 1, 0.01: 2}


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


def densities(formula: Formula) -> list[float]:
    return [toner(name).density_g_per_ml for name, _ in formula.parts]


def finishes(job: Job, turns: tuple[Turn, ...]) -> dict[str, Finish]:
    parts = job.formula.parts
    prices = [price_per_gram(toner(name).price_per_litre, toner(name).density_g_per_ml) for name, _ in parts]
    there = in_cup([turn.pour for turn in turns], len(parts))
    return {
        "rescue": rescue(parts, there, job.wanted_g, cup_g=job.cup_g, price_per_g=prices),
        "leave": accept(parts, there, job.wanted_g, price_per_g=prices),
    }


def grams(job: Job, value: float) -> str:
    return show(value, "g", decimals=job.decimals)


def now(job: Job, turns: tuple[Turn, ...], left: tuple[Step, ...], plan: Finish) -> str:
    """What to do next, with the figure to watch on the scale."""
    if not left:
        return (
            f'<div class="refinish-say">All poured: stir well.</div>'
            f'<div class="refinish-figure">{grams(job, plan.total_g)}</div>'
            f'<div class="refinish-say">are in the cup. {_worst(plan)}</div>'
        )
    step = left[0]
    again = any(turn.pour.toner == step.toner for turn in turns)
    until = "Set the scale to zero, then pour" if step.tared else "Pour"
    first = step.add_g == step.reading_g
    own = "" if first else f'<div class="refinish-say">that is {grams(job, step.add_g)} of it</div>'
    return (
        f'<div class="refinish-say">{until} {"more " if again else ""}{_swatch(step.name)}<b>{escape(step.name)}</b> '
        f"until the scale shows</div>"
        f'<div class="refinish-figure" role="status">{grams(job, step.reading_g)}</div>{own}'
    )


def slip(job: Job, pour: Made, ways: dict[str, Finish]) -> str:
    """The two ways out of an over-pour, side by side."""
    mend, leave = ways["rescue"], ways["leave"]
    rows = "".join(
        f"<tr><th scope='row'>{_named(name)}</th><td>{_plus(job, more)}</td><td>{error:+.1f} %</td></tr>"
        for name, more, error in zip(mend.names, mend.add_g, leave.share_error_percent, strict=True)
    )
    cup = ""
    if not mend.fits:
        cup = (
            f"With every ratio right it would be {grams(job, mend.needed_g)}, and the cup holds "
            f"{grams(job, job.cup_g)}. Filled up, this stays: {_worst(mend)} A larger cup mends it all."
        )
    if leave.total_g > job.cup_g:
        cup += " Left as it is, the rest does not fit into the cup either."
    caution = f'<div class="refinish-caution">{cup}</div>' if cup else ""
    return (
        f'<div class="refinish-say" role="status">{_swatch(pour.name)}<b>{escape(pour.name)}</b> went over by '
        f"<b>{grams(job, pour.over_g)}</b>. Rescue it, or leave it?</div>{caution}"
        f"<table class='refinish-table'><thead><tr><th scope='col'>Toner</th><th scope='col'>Rescue:<br>add</th>"
        f"<th scope='col'>Leave:<br>share off</th></tr></thead><tbody>{rows}</tbody>"
        f"<tfoot><tr><th scope='row'>In the cup then</th><td>{grams(job, mend.total_g)}</td>"
        f"<td>{grams(job, leave.total_g)}</td></tr>"
        f"<tr><th scope='row'>More than wanted</th><td>{grams(job, mend.surplus_g)}</td>"
        f"<td>{grams(job, leave.surplus_g)}</td></tr>"
        f"<tr><th scope='row'>What that costs</th><td>{mend.surplus_cost:.2f}</td>"
        f"<td>{leave.surplus_cost:.2f}</td></tr></tfoot></table>"
    )


def table(job: Job, turns: tuple[Turn, ...], left: tuple[Step, ...], open_turn: bool) -> str:
    """Every pour, made and to come, with its own mass and the cumulative one."""
    tared = job.way == "tared"
    rows = []
    for turn in turns:
        notes = []
        if turn.pour.over_g:
            notes.append(f"{grams(job, turn.pour.over_g)} too much")
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
        f"{grams(job, job.wanted_g)}{', with the rescue' if open_turn else ''}</caption><thead><tr>"
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


def about(job: Job) -> str:
    """The amount in mass and volume, what rounding does, and the smallest sensible mix."""
    pour = to_mass(job.formula.parts, job.wanted_g)
    shown = rounded(pour, job.readability_g, job.way)
    volume = float(mix_volume(pour.own_g, densities(job.formula)))
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
            f'<div class="refinish-caution">The cup holds {grams(job, job.cup_g)} of this colour, less than wanted: '
            "the sheet fills it.</div>"
        )
    rounding = f"changes the share of {escape(name)} most, by {error:+.2f} %"
    if not error:
        rounding = "changes no toner's share"
    return (
        f"{too_much}<div>{grams(job, job.wanted_g)} of this colour are {show(volume, 'mL')}. "
        f"Rounding to the scale {rounding}.</div>"
        f'<div class="{"refinish-caution" if small else "refinish-hint"}">{rule}</div>'
    )


def as_text(job: Job, turns: tuple[Turn, ...], left: tuple[Step, ...]) -> str:
    """The sheet as plain text, for the clipboard."""
    wide = max(len(name) for name, _ in job.formula.parts) + 2
    lines: list[tuple[str, Step | Made]] = [("[x]", turn.pour) for turn in turns] + [("[ ]", step) for step in left]
    head = f"{job.formula.title}, {grams(job, job.wanted_g)}\n    {'toner':<{wide}}{'own':>12}{'cumulative':>14}"
    return "\n".join(
        [head]
        + [
            f"{mark} {line.name:<{wide}}{grams(job, line.add_g):>12}{grams(job, line.cumulative_g):>14}"
            for mark, line in lines
        ]
    )


def _worst(plan: Finish) -> str:
    """Which toner is off the most, as a sentence; empty when all are right to what is printed."""
    errors = [round(error, 1) for error in plan.share_error_percent]
    error, name = max(zip(errors, plan.names, strict=True), key=lambda pair: abs(pair[0]))
    return f"{escape(name)} is off by {error:+.1f} % of its share." if error else ""


def _plus(job: Job, mass_g: float) -> str:
    return f"+ {grams(job, mass_g)}" if mass_g >= job.readability_g / 2 else "nothing"


def _swatch(name: str) -> str:
    return f'<span class="refinish-swatch" style="background: {picture.ink(name)}" aria-hidden="true"></span>'


def _named(name: str) -> str:
    """A toner's swatch and name; a long name wraps beside the swatch, not below it."""
    return f'<span class="refinish-toner">{_swatch(name)}<span>{escape(name)}</span></span>'
