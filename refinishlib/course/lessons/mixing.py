"""The questions of the mixing lesson."""

from __future__ import annotations

from html import escape

from refinishlib.course.question import Number, Order, Part, Question, Table, decision
from refinishlib.mixing.scale import RoundedPour, rounded, to_mass
from refinishlib.picture.table import html_table
from refinishlib.shop.job import MixingJob, Ratio, job
from refinishlib.shop.paint import Formula, toner

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


def questions(apprentice: str) -> tuple[Question, ...]:
    """The graded questions with this apprentice's numbers."""
    mine: MixingJob = job("mixing", apprentice)
    return (
        Question(
            "1.1",
            "Own weight",
            WEIGHING,
            f"<p>Mix <b>{mine.wanted_g:g} g</b> of {mine.formula.title}. What does <b>{mine.toner}</b> weigh on its "
            f"own?</p>{formula_table(mine.formula)}",
            (Part("own_g", "Own weight", MASS, 3),),
        ),
        Question(
            "1.2",
            "The whole pour",
            WEIGHING,
            f"<p>The same mix: <b>{mine.wanted_g:g} g</b> of {mine.formula.title}, one cup, no tare in between. What "
            f"does the scale show after each toner?</p>{formula_table(mine.formula)}",
            (
                Part(
                    "readings_g",
                    "Readings of the scale",
                    Table(tuple(name for name, _ in mine.formula.parts), MASS, "toner", MOST_TONERS),
                    4,
                ),
            ),
        ),
        Question(
            "2.1",
            "From volume to weight",
            VOLUMES,
            f"<p>The job needs <b>{mine.wanted_ml:g} mL</b> of {mine.heavy_formula.title}. What does the whole mix "
            f"weigh, and what does <b>{mine.heavy_toner}</b> weigh in it on its own?</p>"
            f"{formula_table(mine.heavy_formula, densities=True)}",
            (
                Part("total_g", "Weight of the whole mix", MASS, 2),
                Part("toner_g", "Own weight of the toner on your card", MASS, 2),
            ),
        ),
        Question(
            "3.1",
            "Two-part product by ratio",
            RATIOS,
            f"<p>Mix <b>{mine.ready_ml:g} mL</b> of {mine.ratio.product}, ready to spray. What does the hardener weigh "
            f"on its own, and what does the scale show when all three are in?</p>{ratio_table(mine.ratio)}",
            (
                Part("hardener_g", "Weight of the hardener alone", MASS, 2),
                Part("all_in_g", "Reading when all three are in", MASS, 2),
            ),
        ),
        Question(
            "4.1",
            "The rescue",
            RESCUE,
            _over_pour_text(mine),
            (
                Part("new_total_g", "New total", MASS, 2),
                Part("add_first_g", "To add of the first toner", MASS, 2),
                *decision(
                    "fits_the_cup",
                    "Does it all fit the cup?",
                    ("yes", "no"),
                    FIT_REASONS,
                    why="What did you hold against the cup?",
                ),
            ),
        ),
        Question(
            "5.1",
            "The smallest sensible mix",
            SMALLEST,
            f"<p>The smallest toner is <b>{mine.small_share:.1%}</b> of the mix by weight. The scale reads "
            f"{mine.small_readability_g:g} g. The toner may be off by <b>{mine.small_allowed:.0%}</b> of its own "
            f"weight at most. You pour <b>{WAY_WORDS[mine.small_way]}</b>. How small may the mix be?</p>",
            (Part("smallest_g", "Smallest mix", MASS, 3),),
        ),
        Question(
            "6.1",
            "How much to mix",
            AMOUNT,
            "<p>Work out the base coat for this job, ready to spray, with the waste on top.</p>"
            + html_table(
                ["", "on the job"],
                [
                    ["area", f"{mine.area_m2:g} m²"],
                    ["coats", mine.coats],
                    ["dry film of one coat", f"{mine.film_um:g} µm"],
                    ["volume solids, ready to spray", f"{mine.volume_solids:.0%}"],
                    ["transfer efficiency", f"{mine.transfer_efficiency:.0%}"],
                    ["waste on top", f"{mine.waste:.0%}"],
                ],
            ),
            (Part("ready_ml", "Ready to spray", VOLUME, 4),),
        ),
        Question(
            "7.1",
            "Order at the bench",
            BENCH,
            "<p>Put these tasks in an order that works.</p><p>"
            + "<br>".join(f"<code>{escape(task, quote=False)}</code>" for task in BENCH_TASKS)
            + "</p>",
            (Part("order", "Order of work", Order(BENCH_TASKS), 3),),
        ),
    )


WAY_WORDS = {"tared": "with tare before each toner", "cumulative": "all into one cup without tare"}


def formula_table(formula: Formula, *, densities: bool = False) -> str:
    """A formula as parts by weight, with its toners' densities where the question needs them."""
    if densities:
        rows = [[name, f"{parts:g}", f"{toner(name).density_g_per_ml:.2f} g/mL"] for name, parts in formula.parts]
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

