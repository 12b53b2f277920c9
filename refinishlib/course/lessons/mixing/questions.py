"""The questions of the mixing lesson, and the values that compete for each answer.

A value that a known mistake leads to is, where it can be, the engine asked for the wrong thing: a density of 1, one
coat, the other rule.
"""

from __future__ import annotations

from html import escape
from itertools import accumulate

from refinishlib.booth.quantity import paint_needed
from refinishlib.colour import surface
from refinishlib.colour.pour_error import ALLOWED
from refinishlib.course.lessons.mixing.job import (
    ALLOWED_SHARE,
    SLIPS,
    MixingJob,
    Ratio,
    colour_rule_g,
    densities,
    in_cup_g,
    judged,
    one_step_apart,
    share_rule_g,
)
from refinishlib.course.question import Number, Order, Part, Question, Table, decision
from refinishlib.mixing.ratio import by_ratio
from refinishlib.mixing.rescue import rescue
from refinishlib.mixing.scale import RoundedPour, rounded, to_mass, to_volume
from refinishlib.picture.table import html_table
from refinishlib.shop.paint import Formula

MASS = Number("mass", "g")
VOLUME = Number("volume", "mL")

WEIGHING = "reading the pour"
VOLUMES = "volume and weight"
RATIOS = "mixing by ratio"
RESCUE = "saving an over-pour"
COLOUR = "does the colour care"
SMALLEST = "the smallest mix"
AMOUNT = "how much to mix"
BENCH = "order at the bench"

MOST_TONERS = 5
BENCH_TASKS = (
    "check the colour and its variant",
    "gloves and mask on",
    "hardener and reducer into the job's paint",
    "pour the toners",
    "spray a card and clear it",
    "stir the mix",
    "stir the toners",
    "tare the empty cup",
)
LEAVE, POUR_ON, AFRESH = "leave it", "pour the others after it", "start with a clean cup"
UNSEEN = "nobody will see it"
SEEN_FITS = "it would show, and the saved mix fits the largest cup"
SEEN_TOO_MUCH = "it would show, and the saved mix does not fit the largest cup"
SMALL_PART = "it is a small part of the mix"
ALWAYS = "a slip must always be put right"
SHOWS_MOST = "one step of it shows most"
LIGHTEST = "it weighs least"
HEAVIEST = "it weighs most"
FIRST_IN = "it goes in first"
ENOUGH, TOO_SMALL = "big enough", "too small"
COLOUR_HOLDS = "the colour rule is met, and the card shows the colour"
COLOUR_FAILS = "the colour rule is not met, and the card would lie"
SHARE_FAILS = "the share rule is not met, so it cannot do"
SCALE_SHOWS = "each toner shows on the scale"

# How near an entry must come: what rounding on the way does, and never less than what the scale can show.
SCALE_G = 0.16
CLOSE = 0.005
WORKED = 0.01
ALL_IN = 0.0039

SOURCES = {
    "MOST_TONERS": "definition: the longest formula of the course's world has five",
    "SCALE_G": "teaching value: what a scale of 0.1 g can show, and the rounding of an entry to its tenth",
    "CLOSE": "teaching value: what rounding one intermediate result does",
    "WORKED": "teaching value: what rounding several intermediate results does",
    "ALL_IN": "teaching value: the reading without the reducer is 0.8 % from the millilitres of some products",
}


def questions(mine: MixingJob) -> tuple[Question, ...]:
    """The graded questions with this apprentice's numbers."""
    return (
        Question("1.1", "Own weight", WEIGHING, _own_text(mine), _own(mine)),
        Question("1.2", "The wrong reading", WEIGHING, _wrong_reading_text(mine), _wrong_reading(mine)),
        Question("2.1", "From volume to weight", VOLUMES, _by_volume_text(mine), _by_volume(mine)),
        Question("3.1", "Hardener and reducer", RATIOS, _by_ratio_text(mine), _by_ratio(mine)),
        Question("4.1", "The new total", RESCUE, _over_pour_text(mine), _rescue(mine)),
        Question("5.1", "Leave it, or not?", COLOUR, _care_text(mine), _care(mine)),
        Question("6.1", "How much to mix", AMOUNT, _amount_text(mine), _amount(mine)),
        Question("7.1", "The other scale", SMALLEST, _other_scale_text(mine), _other_scale(mine)),
        Question("7.2", "Enough for a card?", SMALLEST, _card_text(mine), _card(mine)),
        Question("8.1", "Order at the bench", BENCH, _order_text(), (Part("order", "Order of work", Order(BENCH_TASKS), 3),)),
    )


# --- the job cards ---------------------------------------------------------------------------------------------------


def _own_text(mine: MixingJob) -> str:
    return (
        f"<p>This mix was tinted, so it is not on the mix sheet. You want <b>{mine.wanted_g:g} g</b> of "
        f"{mine.formula.title}.</p><p>What does <b>{mine.toner}</b> weigh on its own?</p>{formula_table(mine.formula)}"
    )


def _wrong_reading_text(mine: MixingJob) -> str:
    readings = list(rounded(to_mass(mine.formula.parts, mine.wanted_g), mine.readability_g).cumulative_g)
    readings[mine.wrong.at] = mine.wrong.shown_g
    rows = [
        [f"{at}  {name}", f"{parts:g}", f"{reading:.1f}"]
        for at, ((name, parts), reading) in enumerate(zip(mine.formula.parts, readings, strict=True), 1)
    ]
    return (
        f"<p>Your mate wrote this list for the same mix: <b>{mine.wanted_g:g} g</b>, one cup, no tare. One of his "
        f"readings is wrong.</p><p>What should the scale show after each toner? Which row is wrong? What did he "
        f"write there?</p>" + html_table(["row, toner", "parts by weight", "his reading, g"], rows)
    )


def _by_volume_text(mine: MixingJob) -> str:
    return (
        f"<p>The job needs <b>{mine.wanted_ml:g} mL</b> of {mine.heavy_formula.title}.</p><p>What does the whole mix "
        f"weigh? What does <b>{mine.heavy_toner}</b> weigh in it, on its own?</p>"
        f"{formula_table(mine.heavy_formula, with_densities=True)}"
    )


def _by_ratio_text(mine: MixingJob) -> str:
    return (
        f"<p>You need <b>{mine.ready_ml:g} mL</b> of {mine.ratio.product}, ready to spray.</p><p>What does the "
        f"hardener weigh on its own? What does the scale show when all three are in?</p>{ratio_table(mine.ratio)}"
    )


def _over_pour_text(mine: MixingJob) -> str:
    plan = planned(mine)
    at = plan.names.index(mine.over_toner)
    return (
        f"<p>You mix <b>{mine.pour_wanted_g:g} g</b> of {mine.pour_formula.title} in one cup. You do not tare. After "
        f"<b>{mine.over_toner}</b> the scale should show {plan.cumulative_g[at]:.1f} g. It shows "
        f"<b>{plan.cumulative_g[at] + mine.over_g:.1f} g</b>.</p><p>You pour the other toners after it. What is the "
        f"new total?</p>" + _plan_table(mine.pour_formula, plan)
    )


def _care_text(mine: MixingJob) -> str:
    care, advice = mine.care, judged(mine.care)
    angles = [[f"{angle:g} degrees", f"{off:.2f}"] for angle, off in _angles(advice.accepted_difference[0])]
    return (
        f"<p>You want <b>{care.wanted_g:g} g</b> of {care.formula.title}. You pour <b>{care.over_g:g} g</b> too much "
        f"<b>{care.toner}</b>. That is {care.over_g / care.wanted_g:.1%} of the mix.</p>"
        f"<p>You can leave it. The table shows how far the colour is then off. Up to {ALLOWED:.2f} at the worst "
        f"angle nobody sees.</p><p>Or you can save the mix. It grows to <b>{advice.rescued.needed_g:.0f} g</b>. Your "
        f"largest cup holds <b>{care.cup_g:g} g</b>.</p><p>What do you do, and why?</p>"
        + html_table(["seen at", "off by"], angles)
    )


def _other_scale_text(mine: MixingJob) -> str:
    own = to_mass(mine.scale_formula.parts, mine.scale_mix_g).own_g
    rows = [
        [f"{at}  {toner.name}", f"{mass:.1f}", f"{mine.readability_g / mass:.1%}", f"{off:.3f}"]
        for at, (toner, mass, off) in enumerate(
            zip(mine.scale_formula.toners, own, one_step_apart(mine.scale_formula, mine.scale_mix_g), strict=True), 1
        )
    ]
    head = ["row, toner", "own weight, g", "one step, of the toner", "one step, colour off by"]
    return (
        f"<p>You mix <b>{mine.scale_mix_g:g} g</b> of {mine.scale_formula.title} for a panel. Your scale shows steps "
        f"of {mine.readability_g:g} g. A finer scale stands beside it, for <b>one</b> toner only.</p><p>The panel "
        f"must look right. Which toner do you weigh on the finer scale, and why?</p>" + html_table(head, rows)
    )


def _card_text(mine: MixingJob) -> str:
    small = min(to_mass(mine.card_formula.parts, mine.card_g).own_g)
    return (
        f"<p>You want to spray a card. You have weighed <b>{mine.card_g:g} g</b> of {mine.card_formula.title} on the "
        f"{mine.readability_g:g} g scale, in one cup, without tare. The smallest toner is {small:.2f} g of it.</p>"
        + html_table(
            ["rule", "smallest mix"],
            [
                [f"share rule: the smallest toner is off by {ALLOWED_SHARE:.0%} at most", f"{share_rule_g(mine.card_formula):.0f} g"],
                [f"colour rule: the colour is off by {ALLOWED:.2f} at most", f"{colour_rule_g(mine.card_formula):.0f} g"],
            ],
        )
        + "<p>The card is only looked at. The grams are not kept. Is the mix big enough for it, and why?</p>"
    )


def _amount_text(mine: MixingJob) -> str:
    return "<p>How much base coat do you mix for this job, ready to spray? Put the waste on top.</p>" + html_table(
        ["", "on the job"],
        [
            ["area", f"{mine.area_m2:g} m²"],
            ["coats", mine.coats],
            ["dry film of one coat", f"{mine.film_um:g} µm"],
            ["volume solids, ready to spray", f"{mine.volume_solids:.0%}"],
            ["transfer efficiency", f"{mine.transfer_efficiency:.0%}"],
            ["waste on top", f"{mine.waste:.0%}"],
        ],
    )


def _order_text() -> str:
    listed = "<br>".join(f"<code>{escape(task, quote=False)}</code>" for task in BENCH_TASKS)
    return f"<p>Put these tasks in an order that works.</p><p>{listed}</p>"


def _plan_table(formula: Formula, plan: RoundedPour) -> str:
    rows = [
        [name, f"{parts:g}", f"{own:.1f}", f"{reading:.1f}"]
        for (name, parts), own, reading in zip(formula.parts, plan.own_g, plan.cumulative_g, strict=True)
    ]
    return html_table(["toner, in pouring order", "parts by weight", "own weight, g", "scale should show, g"], rows)


def _angles(off: object) -> list[tuple[float, float]]:
    return list(zip(surface.ANGLES_DEG, map(float, off), strict=True))  # type: ignore[call-overload]


def formula_table(formula: Formula, *, with_densities: bool = False) -> str:
    """A formula as parts by weight, with its toners' densities where the question needs them."""
    if with_densities:
        heavy = densities(formula)
        rows = [[name, f"{parts:g}", f"{heavy[name]:.2f}"] for name, parts in formula.parts]
        return html_table(["toner, in pouring order", "parts by weight", "density, g/mL"], rows)
    return html_table(["toner, in pouring order", "parts by weight"], [[n, f"{p:g}"] for n, p in formula.parts])


def ratio_table(ratio: Ratio) -> str:
    """A mixing ratio by volume with the densities."""
    rows = [
        [name, f"{parts:g}", f"{density:.2f}"]
        for name, parts, density in zip(ratio.names, ratio.parts, ratio.density_g_per_ml, strict=True)
    ]
    return html_table(["part", "parts by volume", "density, g/mL"], rows)


def planned(mine: MixingJob) -> RoundedPour:
    """The pour of question 4.1 as it was meant to be read on the scale."""
    return rounded(to_mass(mine.pour_formula.parts, mine.pour_wanted_g), mine.readability_g)


# --- the values that compete for each answer --------------------------------------------------------------------------


def _own(mine: MixingJob) -> tuple[Part, ...]:
    pour = to_mass(mine.formula.parts, mine.wanted_g)
    at = pour.names.index(mine.toner)
    parts = mine.formula.parts[at][1]
    all_parts = sum(p for _, p in mine.formula.parts)
    values = {
        "own weight": pour.own_g[at],
        "scale reading": pour.cumulative_g[at],
        "parts": parts,
        "scaled down": parts * all_parts / mine.wanted_g,
    }
    return (Part("own_g", "Own weight", MASS, 2, "", values, SCALE_G, CLOSE),)


def _wrong_reading(mine: MixingJob) -> tuple[Part, ...]:
    pour = to_mass(mine.formula.parts, mine.wanted_g)
    readings = {
        "readings after": pour.cumulative_g,
        "readings before": (0.0, *pour.cumulative_g[:-1]),
        "own weights": pour.own_g,
        "parts added up": tuple(accumulate(parts for _, parts in mine.formula.parts)),
    }
    last = len(pour.names) - 1
    rows = {
        "the wrong one": mine.wrong.at,
        "the one beside it": mine.wrong.at + 1 if mine.wrong.at < last else mine.wrong.at - 1,
        "the largest step": pour.own_g.index(max(pour.own_g)),
    }
    form = Table(pour.names, MASS, "toner", MOST_TONERS)
    return (
        Part("readings_g", "Right readings of the scale", form, 2, "", readings, SCALE_G, WORKED / 4),
        *decision(
            "wrong_row",
            "Row that is wrong",
            [_row(at) for at in range(MOST_TONERS)],
            SLIPS,
            why="What he wrote there",
            values={name: _row(at) for name, at in rows.items()},
        ),
    )


def _row(at: int) -> str:
    return f"row {at + 1} on your card"


def _by_volume(mine: MixingJob) -> tuple[Part, ...]:
    parts, heavy = mine.heavy_formula.parts, densities(mine.heavy_formula)
    mean = sum(heavy.values()) / len(heavy)
    pour = to_volume(parts, mine.wanted_ml, heavy)
    ways = {
        "by the room in the cup": pour,
        "like water": to_volume(parts, mine.wanted_ml, dict.fromkeys(heavy, 1.0)),
        "by the mean density": to_volume(parts, mine.wanted_ml, dict.fromkeys(heavy, mean)),
        "upside down": to_mass(parts, mine.wanted_ml**2 / pour.total_g),
    }
    at = pour.names.index(mine.heavy_toner)
    totals = {way: one.total_g for way, one in ways.items()}
    own = {way: one.own_g[at] for way, one in ways.items()}
    return (
        Part("total_g", "Weight of the whole mix", MASS, 2, "", totals, SCALE_G, CLOSE),
        Part("toner_g", "Own weight of the toner on your card", MASS, 2, "", own, SCALE_G, CLOSE),
    )


def _by_ratio(mine: MixingJob) -> tuple[Part, ...]:
    ratio = mine.ratio
    mixed = by_ratio(ratio.names, ratio.parts, ratio.density_g_per_ml, mine.ready_ml)
    _, hardener_g, reducer_g = mixed.pour.own_g
    hardener = {
        "hardener, g": hardener_g,
        "hardener, mL": mixed.own_ml[1],
        "of the first part": mine.ready_ml * ratio.parts[1] / ratio.parts[0] * ratio.density_g_per_ml[1],
        "reducer, g": reducer_g,
    }
    all_in = {
        "all three, g": mixed.pour.total_g,
        "all three, mL": mine.ready_ml,
        "reducer, g": reducer_g,
        "without the reducer": mixed.pour.cumulative_g[1],
    }
    return (
        Part("hardener_g", "Weight of the hardener alone", MASS, 1, "", hardener, SCALE_G, CLOSE),
        Part("all_in_g", "Reading when all three are in", MASS, 1, "", all_in, SCALE_G, ALL_IN),
    )


def _rescue(mine: MixingJob) -> tuple[Part, ...]:
    plan, parts = planned(mine), mine.pour_formula.parts
    at = plan.names.index(mine.over_toner)
    there = in_cup_g(mine.pour_formula, mine.pour_wanted_g, mine.over_toner, mine.over_g)
    totals = {
        "all brought up": rescue(parts, there, mine.pour_wanted_g).total_g,
        "slip left in": mine.pour_wanted_g + mine.over_g,
        "by the reading": mine.pour_wanted_g * (plan.cumulative_g[at] + mine.over_g) / plan.cumulative_g[at],
        "as planned": mine.pour_wanted_g,
    }
    return (Part("new_total_g", "New total", MASS, 2, "", totals, SCALE_G, CLOSE),)


def _care(mine: MixingJob) -> tuple[Part, ...]:
    ways = (LEAVE, POUR_ON, AFRESH)
    return decision(
        "slip",
        "What you do with the slip",
        ways,
        (UNSEEN, SEEN_FITS, SEEN_TOO_MUCH, SMALL_PART, ALWAYS),
        values={way: way for way in ways},
    )


def _other_scale(mine: MixingJob) -> tuple[Part, ...]:
    own = to_mass(mine.scale_formula.parts, mine.scale_mix_g).own_g
    apart = one_step_apart(mine.scale_formula, mine.scale_mix_g)
    rows = {
        "by the colour": apart.index(max(apart)),
        "by the share": own.index(min(own)),
        "by the weight": own.index(max(own)),
    }
    return decision(
        "fine_scale",
        "Toner for the finer scale",
        [_row(at) for at in range(MOST_TONERS)],
        (SHOWS_MOST, LIGHTEST, HEAVIEST, FIRST_IN),
        values={name: _row(at) for name, at in rows.items()},
    )


def _card(mine: MixingJob) -> tuple[Part, ...]:
    return decision(
        "for_a_card",
        "The mix is",
        (ENOUGH, TOO_SMALL),
        (COLOUR_HOLDS, COLOUR_FAILS, SHARE_FAILS, SCALE_SHOWS),
        values={ENOUGH: ENOUGH, TOO_SMALL: TOO_SMALL},
    )


def _amount(mine: MixingJob) -> tuple[Part, ...]:
    def ask(**change: float) -> float:
        asked = {
            "area_m2": mine.area_m2,
            "coats": mine.coats,
            "film_um": mine.film_um,
            "volume_solids": mine.volume_solids,
            "transfer_efficiency": mine.transfer_efficiency,
            "waste": mine.waste,
        } | change
        return float(paint_needed(**asked))

    values = {
        "from film to cup": ask(),
        "transfer multiplied": ask(transfer_efficiency=1.0) * mine.transfer_efficiency,
        "dry for wet": ask(volume_solids=1.0),
        "one coat": ask(coats=1),
        "no overspray": ask(transfer_efficiency=1.0),
        "no waste": ask(waste=0.0),
    }
    return (Part("ready_ml", "Ready to spray", VOLUME, 3, "", values, SCALE_G, WORKED),)
