"""What the mix sheet says: its records, and the words and tables made from what the engine worked out."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import Literal

from refinishlib.bench.way_out import SlipAdvice
from refinishlib.mixing.progress import Made, Step, in_cup
from refinishlib.mixing.rescue import Finish, accept, price_per_gram, rescue
from refinishlib.mixing.scale import ALLOWED_CHANGE, Way, mix_volume, rounded, smallest_mix, to_mass
from refinishlib.picture.ink import inks
from refinishlib.shop.paint import Formula
from refinishlib.units import METRIC, ShopUnits, show

WayChosen = Literal["", "open", "rescue", "leave"]

# Digits after the point for each readability.
DECIMALS = {0.1: 1, 0.01: 2}


@dataclass(frozen=True)
class Turn:
    """One pour that was made, and what was decided when it went over ("open" until it is)."""

    pour: Made
    choice: WayChosen


@dataclass(frozen=True)
class SheetJob:
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
    return [toner.density_g_per_ml for toner in formula.toners]


def finishes(job: SheetJob, turns: tuple[Turn, ...]) -> dict[str, Finish]:
    parts = job.formula.parts
    prices = [price_per_gram(toner.price_per_litre, toner.density_g_per_ml) for toner in job.formula.toners]
    there = in_cup([turn.pour for turn in turns], len(parts))
    return {
        "rescue": rescue(parts, there, job.wanted_g, cup_g=job.cup_g, price_per_g=prices),
        "leave": accept(parts, there, job.wanted_g, price_per_g=prices),
    }


def grams(job: SheetJob, value: float) -> str:
    return show(value, "g", decimals=job.decimals)


def now(job: SheetJob, turns: tuple[Turn, ...], left: tuple[Step, ...], plan: Finish) -> str:
    """What to do next, with the figure to watch on the scale."""
    if not left:
        return (
            f'<div class="refinish-say">All poured. <b>Stir well.</b></div>'
            f'<div class="refinish-figure" role="status">{grams(job, plan.total_g)}</div>'
            f'<div class="refinish-own">is in the cup. {_worst(plan)}</div>'
        )
    step = left[0]
    again = any(turn.pour.toner == step.toner for turn in turns)
    until = "Set the scale to zero, then pour" if step.tared else "Pour"
    first = step.add_g == step.reading_g
    own = "&nbsp;" if first else f"that is {grams(job, step.add_g)} of it"
    return (
        f'<div class="refinish-say">{until} {"more " if again else ""}{_swatch(job, step.name)}'
        f"<b>{escape(step.name)}</b> until the scale shows</div>"
        f'<div class="refinish-figure" role="status">{grams(job, step.reading_g)}</div>'
        f'<div class="refinish-own">{own}</div>'
    )


def offer(job: SheetJob, in_it_g: float, what: str, when: str) -> str:
    """Before anything: a cup that was begun earlier."""
    return (
        f'<div class="refinish-say">This cup was begun before. In it: {escape(what)}. '
        f"The last of it was poured {escape(when)}.</div>"
        f'<div class="refinish-figure" role="status">{grams(job, in_it_g)}</div>'
        f'<div class="refinish-own">Is that what stands on the scale?</div>'
    )


def slip(job: SheetJob, pour: Made, advice: SlipAdvice) -> str:
    """What happened, and what is best."""
    verb = "Rescue it" if advice.best == "rescue" else "Leave it"
    return (
        f'<div class="refinish-say" role="status">{_swatch(job, pour.name)}<b>{escape(pour.name)}</b> went over by '
        f"<b>{grams(job, pour.over_g)}</b>.</div>"
        f'<div class="refinish-best"><b>{verb}:</b> {escape(advice.reason)}</div>'
    )


def ways_out(job: SheetJob, ways: dict[str, Finish], advice: SlipAdvice) -> str:
    """The two ways out of an over-pour side by side, the better one first: colour, grams, paint and price."""
    order: tuple[Literal["rescue", "leave"], ...] = (
        ("rescue", "leave") if advice.best == "rescue" else ("leave", "rescue")
    )
    mend, left = ways["rescue"], ways["leave"]
    heads = {"rescue": "Rescue:<br>still add", "leave": "Leave:<br>share off"}

    def line(name: str, rescue: str, leave: str) -> str:
        cells = {"rescue": rescue, "leave": leave}
        return f"<tr><th scope='row'>{name}</th>" + "".join(f"<td>{cells[way]}</td>" for way in order) + "</tr>"

    rows = "".join(
        line(_named(job, name), _plus(job, more), f"{error:+.1f} %")
        for name, more, error in zip(mend.names, mend.add_g, left.share_error_percent, strict=True)
    )
    sums = line("In the cup then", grams(job, mend.total_g), grams(job, left.total_g))
    sums += line("More than wanted", grams(job, mend.surplus_g), grams(job, left.surplus_g))
    sums += line("What that costs", f"{mend.surplus_cost:.2f}", f"{left.surplus_cost:.2f}")
    cup = ""
    if not mend.fits:
        cup = (
            f"With every ratio right it would be {grams(job, mend.needed_g)}, and the cup holds "
            f"{grams(job, job.cup_g)}. Filled up, this stays: {_worst(mend)} A larger cup mends it all."
        )
    if left.total_g > job.cup_g:
        cup += " Left as it is, the rest does not fit into the cup either."
    caution = f'<div class="refinish-caution">{cup}</div>' if cup else ""
    words = {"rescue": advice.rescue, "leave": advice.leave}
    shades = {"rescue": advice.rescued, "leave": advice.left}
    names = {"rescue": "Rescued", "leave": "Left"}
    colours = "".join(
        f"<li>{_chips(advice.meant, shades[way])}<span><b>{names[way]}.</b> {escape(words[way])}</span></li>"
        for way in order
    )
    place = f", {advice.place}" if advice.place else ""
    return (
        f"<ul class='refinish-colours'>{colours}</ul>"
        f"<div class='refinish-hint'>Left half: as meant. Right half: what it would be{escape(place)}.</div>"
        f"{caution}<table class='refinish-table'><thead><tr><th scope='col'>Toner</th>"
        + "".join(f"<th scope='col'>{heads[way]}</th>" for way in order)
        + f"</tr></thead><tbody>{rows}</tbody><tfoot>{sums}</tfoot></table>"
    )


def table(job: SheetJob, turns: tuple[Turn, ...], left: tuple[Step, ...], open_turn: bool) -> str:
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


def _row(job: SheetJob, mark: str, line: Step | Made, note: str, kind: str, tared: bool) -> str:
    own, together = (
        show(value, "g", decimals=job.decimals, with_unit=False) for value in (line.add_g, line.cumulative_g)
    )
    own_class, together_class = ("refinish-read", "") if tared else ("", "refinish-read")
    small = f"<div class='refinish-note'>{escape(note)}</div>" if note else ""
    return (
        f"<tr class='{kind}'><th scope='row'><span class='refinish-mark'>{mark}</span>"
        f"{_named(job, line.name)}{small}</th>"
        f"<td class='{own_class}'>{own}</td><td class='{together_class}'>{together}</td></tr>"
    )


def about(job: SheetJob, units: ShopUnits = METRIC, colour_rule_g: float | None = None) -> str:
    """The amount in mass and volume, what rounding does, and the smallest sensible mix by both rules.

    colour_rule_g : the smallest mix of which nobody sees the rounding, once the engine of colour has said it
    """
    pour = to_mass(job.formula.parts, job.wanted_g)
    shown = rounded(pour, job.readability_g, job.way)
    volume = float(mix_volume(pour.own_g, densities(job.formula)))
    errors = [round(error, 2) for error in shown.share_error_percent]
    error, name = max(zip(errors, pour.names, strict=True), key=lambda pair: abs(pair[0]))
    least = share_rule_g(job)
    rarest = min(zip(pour.shares, pour.names, strict=True))[1]
    rule = (
        f"Smallest sensible mix of this colour on this scale: {show(least, 'g')}. In less, rounding can "
        f"change {escape(rarest)} by more than {show(100 * ALLOWED_CHANGE, '%', decimals=0)}."
    )
    if colour_rule_g is not None:
        rule += f" For a card or a panel that is only looked at, {show(colour_rule_g, 'g')} are enough."
    small = job.wanted_g < (least if colour_rule_g is None else min(least, colour_rule_g))
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
        f"{too_much}<div>{grams(job, job.wanted_g)} of this colour are {units.say(volume, 'volume')}. "
        f"Rounding to the scale {rounding}.</div>"
        f'<div class="{"refinish-caution" if small else "refinish-hint"}">{rule}</div>'
    )


def share_rule_g(job: SheetJob) -> float:
    """The smallest mix in which the scale leaves the smallest toner's share nearly alone, g."""
    return smallest_mix(
        min(to_mass(job.formula.parts, job.wanted_g).shares), job.readability_g, ALLOWED_CHANGE, job.way
    )


def as_text(job: SheetJob, turns: tuple[Turn, ...], left: tuple[Step, ...]) -> str:
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


def _chips(meant: str, then: str) -> str:
    return (
        f'<span class="refinish-chips" aria-hidden="true"><span style="background: {meant}"></span>'
        f'<span style="background: {then}"></span></span>'
    )


def _worst(plan: Finish) -> str:
    """Which toner is off the most, as a sentence; empty when all are right to what is printed."""
    errors = [round(error, 1) for error in plan.share_error_percent]
    error, name = max(zip(errors, plan.names, strict=True), key=lambda pair: abs(pair[0]))
    return f"{escape(name)} is off by {error:+.1f} % of its share." if error else ""


def _plus(job: SheetJob, mass_g: float) -> str:
    return f"+ {grams(job, mass_g)}" if mass_g >= job.readability_g / 2 else "nothing"


def _swatch(job: SheetJob, name: str) -> str:
    return (
        f'<span class="refinish-swatch" style="background: {inks(job.formula.toners)[name]}" aria-hidden="true"></span>'
    )


def _named(job: SheetJob, name: str) -> str:
    """A toner's swatch and name; a long name wraps beside the swatch, not below it."""
    return f'<span class="refinish-toner">{_swatch(job, name)}<span>{escape(name)}</span></span>'
