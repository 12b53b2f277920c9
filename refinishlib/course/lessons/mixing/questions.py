"""The questions of the mixing lesson, and the values that compete for each answer.

A value that a known mistake leads to is, where it can be, the engine asked for the wrong thing: a density of 1, one
coat, the other way to pour.
"""

from __future__ import annotations

from html import escape
from itertools import accumulate

from refinishlib.booth.quantity import paint_needed
from refinishlib.course.lessons.mixing.job import MixingJob, Ratio, densities
from refinishlib.course.question import Number, Order, Part, Question, Table, decision
from refinishlib.mixing.ratio import by_ratio
from refinishlib.mixing.rescue import rescue
from refinishlib.mixing.scale import RoundedPour, Way, rounded, smallest_mix, to_mass, to_volume
from refinishlib.picture.table import html_table
from refinishlib.shop.paint import Formula

MASS = Number("mass", "g")
VOLUME = Number("volume", "mL")

WEIGHING = "reading the pour"
VOLUMES = "volume and weight"
RATIOS = "mixing by ratio"
RESCUE = "saving an over-pour"
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
FIT_REASONS = ("only what still goes in", "the new total", "the planned total", "the planned total and what went over")

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
        Question("1.2", "The whole pour", WEIGHING, _whole_pour_text(mine), _whole_pour(mine)),
        Question("2.1", "From volume to weight", VOLUMES, _by_volume_text(mine), _by_volume(mine)),
        Question("3.1", "Two-part product by ratio", RATIOS, _by_ratio_text(mine), _by_ratio(mine)),
        Question("4.1", "The rescue", RESCUE, _over_pour_text(mine), _rescue(mine)),
        Question("5.1", "The smallest sensible mix", SMALLEST, _smallest_text(mine), _smallest(mine)),
        Question("6.1", "How much to mix", AMOUNT, _amount_text(mine), _amount(mine)),
        Question("7.1", "Order at the bench", BENCH, _order_text(), (Part("order", "Order of work", Order(BENCH_TASKS), 3),)),
    )


# --- the job cards ---------------------------------------------------------------------------------------------------


def _own_text(mine: MixingJob) -> str:
    return (
        f"<p>Mix <b>{mine.wanted_g:g} g</b> of {mine.formula.title}. What does <b>{mine.toner}</b> weigh on its "
        f"own?</p>{formula_table(mine.formula)}"
    )


def _whole_pour_text(mine: MixingJob) -> str:
    return (
        f"<p>The same mix: <b>{mine.wanted_g:g} g</b> of {mine.formula.title}, one cup, no tare in between. What "
        f"does the scale show after each toner?</p>{formula_table(mine.formula)}"
    )


def _by_volume_text(mine: MixingJob) -> str:
    return (
        f"<p>The job needs <b>{mine.wanted_ml:g} mL</b> of {mine.heavy_formula.title}. What does the whole mix "
        f"weigh, and what does <b>{mine.heavy_toner}</b> weigh in it on its own?</p>"
        f"{formula_table(mine.heavy_formula, with_densities=True)}"
    )


def _by_ratio_text(mine: MixingJob) -> str:
    return (
        f"<p>Mix <b>{mine.ready_ml:g} mL</b> of {mine.ratio.product}, ready to spray. What does the hardener weigh "
        f"on its own, and what does the scale show when all three are in?</p>{ratio_table(mine.ratio)}"
    )


def _over_pour_text(mine: MixingJob) -> str:
    plan = planned(mine)
    at = plan.names.index(mine.over_toner)
    rows = [
        [name, f"{parts:g}", f"{own:.1f}", f"{reading:.1f}"]
        for (name, parts), own, reading in zip(mine.pour_formula.parts, plan.own_g, plan.cumulative_g, strict=True)
    ]
    return (
        f"<p>You mix <b>{mine.pour_wanted_g:g} g</b> of {mine.pour_formula.title} in one cup, without tare. After "
        f"<b>{mine.over_toner}</b> the scale should show {plan.cumulative_g[at]:.1f} g. It shows "
        f"<b>{plan.cumulative_g[at] + mine.over_g:.1f} g</b>. The cup holds {mine.cup_g:g} g. What is the new total "
        f"when all ratios are right again? How much more {plan.names[0]} goes in? Does it all fit the cup? What did you "
        f"hold against the cup: {', '.join(FIT_REASONS)}?</p>"
        + html_table(["toner, in pouring order", "parts by weight", "own weight, g", "scale should show, g"], rows)
    )


def _smallest_text(mine: MixingJob) -> str:
    return (
        f"<p>The smallest toner is <b>{mine.small_share:.1%}</b> of the mix by weight. The scale reads "
        f"{mine.small_readability_g:g} g. The toner may be off by <b>{mine.small_allowed:.0%}</b> of its own "
        f"weight at most. You pour <b>{WAY_WORDS[mine.small_way]}</b>. How small may the mix be?</p>"
    )


def _amount_text(mine: MixingJob) -> str:
    return "<p>Work out the base coat for this job, ready to spray, with the waste on top.</p>" + html_table(
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


WAY_WORDS = {"tared": "with tare before each toner", "cumulative": "all into one cup without tare"}


def formula_table(formula: Formula, *, with_densities: bool = False) -> str:
    """A formula as parts by weight, with its toners' densities where the question needs them."""
    if with_densities:
        heavy = densities(formula)
        rows = [[name, f"{parts:g}", f"{heavy[name]:.2f} g/mL"] for name, parts in formula.parts]
        return html_table(["toner, in pouring order", "parts by weight", "density"], rows)
    return html_table(["toner, in pouring order", "parts by weight"], [[n, f"{p:g}"] for n, p in formula.parts])


def ratio_table(ratio: Ratio) -> str:
    """A mixing ratio by volume with the densities."""
    rows = [
        [name, f"{parts:g}", f"{density:.2f} g/mL"]
        for name, parts, density in zip(ratio.names, ratio.parts, ratio.density_g_per_ml, strict=True)
    ]
    return html_table(["part", "parts by volume", "density"], rows)


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
    return (Part("own_g", "Own weight", MASS, 3, "", values, SCALE_G, CLOSE),)


def _whole_pour(mine: MixingJob) -> tuple[Part, ...]:
    pour = to_mass(mine.formula.parts, mine.wanted_g)
    values = {
        "readings after": pour.cumulative_g,
        "readings before": (0.0, *pour.cumulative_g[:-1]),
        "own weights": pour.own_g,
        "parts added up": tuple(accumulate(parts for _, parts in mine.formula.parts)),
    }
    form = Table(pour.names, MASS, "toner", MOST_TONERS)
    return (Part("readings_g", "Readings of the scale", form, 4, "", values, SCALE_G, WORKED / 4),)


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
        Part("hardener_g", "Weight of the hardener alone", MASS, 2, "", hardener, SCALE_G, CLOSE),
        Part("all_in_g", "Reading when all three are in", MASS, 2, "", all_in, SCALE_G, ALL_IN),
    )


def _rescue(mine: MixingJob) -> tuple[Part, ...]:
    plan, parts = planned(mine), mine.pour_formula.parts
    at = plan.names.index(mine.over_toner)
    in_cup = [*plan.own_g[:at], plan.own_g[at] + mine.over_g, *(0.0 for _ in plan.own_g[at + 1 :])]
    saved = rescue(parts, in_cup, mine.pour_wanted_g)
    by_reading = mine.pour_wanted_g * (plan.cumulative_g[at] + mine.over_g) / plan.cumulative_g[at]
    fits = "yes" if saved.needed_g <= mine.cup_g else "no"
    totals = {
        "all brought up": saved.total_g,
        "slip left in": mine.pour_wanted_g + mine.over_g,
        "by the reading": by_reading,
        "as planned": mine.pour_wanted_g,
    }
    additions = {
        "what is missing": saved.add_g[0],
        "the over-pour": mine.over_g,
        "all of it": saved.own_g[0],
        "by the reading": to_mass(parts, by_reading).own_g[0] - plan.own_g[0],
    }
    cup = {"new total compared": fits, "plan compared": "no" if fits == "yes" else "yes"}
    return (
        Part("new_total_g", "New total", MASS, 2, "", totals, SCALE_G, CLOSE),
        Part("add_first_g", "To add of the first toner", MASS, 2, "", additions, SCALE_G, CLOSE),
        *decision(
            "fits_the_cup",
            "All of it fits the cup",
            ("yes", "no"),
            FIT_REASONS,
            why="What you held against the cup",
            values=cup,
        ),
    )


def _smallest(mine: MixingJob) -> tuple[Part, ...]:
    share, step_g, allowed = mine.small_share, mine.small_readability_g, mine.small_allowed
    other: Way = "cumulative" if mine.small_way == "tared" else "tared"
    right = smallest_mix(share, step_g, allowed, mine.small_way)
    values = {
        "this way": right,
        "the other way": smallest_mix(share, step_g, allowed, other),
        "all of the toner": smallest_mix(share, step_g, 1.0, mine.small_way),
        "per cent as a number": right / 100,
    }
    return (Part("smallest_g", "Smallest mix", MASS, 3, "", values, SCALE_G, WORKED),)


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
    return (Part("ready_ml", "Ready to spray", VOLUME, 4, "", values, SCALE_G, WORKED),)
