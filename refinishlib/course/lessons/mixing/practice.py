"""Practice for the mixing lesson. The working is the engine's numbers put into words."""

from __future__ import annotations

from refinishlib.booth.quantity import paint_needed
from refinishlib.course.draw import Draw
from refinishlib.course.key import Mistake, PartKey
from refinishlib.course.lessons.mixing.job import BENCH_READABILITY_G, densities, ratios
from refinishlib.course.lessons.mixing.questions import MASS, VOLUME, WAY_WORDS, formula_table, ratio_table
from refinishlib.course.practice import Drill, Problem
from refinishlib.course.question import Part
from refinishlib.shop.shop import Shop
from refinishlib.mixing.ratio import by_ratio
from refinishlib.mixing.rescue import rescue
from refinishlib.mixing.scale import WAYS, rounded, smallest_mix, to_mass, to_volume
from refinishlib.picture.table import html_table
from refinishlib.shop.paint import Formula

CLOSE = 0.01
YOUR_ANSWER = "Your answer"


def _mass(right: float, *mistakes: Mistake) -> tuple[Part, PartKey]:
    return Part("answer", YOUR_ANSWER, MASS, 1), PartKey(right, max(0.16, CLOSE * right), mistakes)


def _formula(draw: Draw, shop: Shop) -> Formula:
    return draw.one_of(shop.colours)


def _own_weight(draw: Draw, shop: Shop) -> Problem:
    formula, wanted_g = _formula(draw, shop), draw.step(150, 950, 10)
    pour = to_mass(formula.parts, wanted_g)
    at = draw.one_of(range(1, len(pour.names)))
    name, parts = formula.parts[at]
    all_parts = sum(p for _, p in formula.parts)
    wrong = Mistake("", pour.cumulative_g[at], 0, "that is what the scale shows with all before it in the cup.")
    part, key = _mass(pour.own_g[at], wrong)
    return Problem(
        f"<p>You want <b>{wanted_g:g} g</b> of {formula.title}. What does <b>{name}</b> weigh on its own?</p>"
        + formula_table(formula),
        part,
        key,
        (
            f"All parts together: {all_parts:g}.",
            f"The share of {name}: {parts:g} / {all_parts:g} = {pour.shares[at]:.4f}.",
            f"Its own weight: {pour.shares[at]:.4f} x {wanted_g:g} g = {pour.own_g[at]:.1f} g.",
        ),
    )


def _reading(draw: Draw, shop: Shop) -> Problem:
    formula, wanted_g = _formula(draw, shop), draw.step(150, 950, 10)
    pour = to_mass(formula.parts, wanted_g)
    at = draw.one_of(range(1, len(pour.names)))
    wrong = Mistake("", pour.own_g[at], 0, "that is its own weight. The scale shows it on top of what is in the cup.")
    part, key = _mass(pour.cumulative_g[at], wrong)
    steps = " + ".join(f"{own:.1f}" for own in pour.own_g[: at + 1])
    return Problem(
        f"<p>You want <b>{wanted_g:g} g</b> of {formula.title}, all in one cup without tare. What does the scale show "
        f"after <b>{pour.names[at]}</b>?</p>{formula_table(formula)}",
        part,
        key,
        (
            "Own weights up to this toner: "
            + ", ".join(f"{n} {g:.1f} g" for n, g in zip(pour.names, pour.own_g[: at + 1], strict=False))
            + ".",
            f"Added up: {steps} = {pour.cumulative_g[at]:.1f} g.",
        ),
    )


def _by_volume(draw: Draw, shop: Shop) -> Problem:
    formula, wanted_ml = _formula(draw, shop), draw.step(200, 1000, 10)
    density = densities(formula)
    pour = to_volume(formula.parts, wanted_ml, density)
    wrong = Mistake("", wanted_ml, 0, "that is the volume. A millilitre of this mix does not weigh one gram.")
    part, key = _mass(pour.total_g, *((wrong,) if abs(pour.total_g / wanted_ml - 1) > CLOSE else ()))
    rooms = [share / density[name] for name, share in zip(pour.names, pour.shares, strict=True)]
    return Problem(
        f"<p>The job needs <b>{wanted_ml:g} mL</b> of {formula.title}. What does the mix weigh?</p>"
        + formula_table(formula, with_densities=True),
        part,
        key,
        (
            "The room that each toner takes in one gram of the mix, share divided by density: "
            + ", ".join(f"{n} {room:.3f} mL" for n, room in zip(pour.names, rooms, strict=True))
            + ".",
            f"One gram of the mix fills {sum(rooms):.4f} mL, so 1 mL weighs {pour.total_g / wanted_ml:.4f} g.",
            f"{wanted_ml:g} mL x {pour.total_g / wanted_ml:.4f} g/mL = {pour.total_g:.1f} g.",
        ),
    )


def _ratio(draw: Draw, shop: Shop) -> Problem:
    ratio, ready_ml = draw.one_of(ratios(shop)), draw.step(200, 1200, 10)
    mixed = by_ratio(ratio.names, ratio.parts, ratio.density_g_per_ml, ready_ml)
    at = draw.one_of(range(len(ratio.names)))
    volume_ml, mass_g = mixed.own_ml[at], mixed.pour.own_g[at]
    wrong = Mistake("", volume_ml, 0, "that is millilitres. Multiply by the density to get grams.")
    part, key = _mass(mass_g, wrong)
    all_parts = sum(ratio.parts)
    return Problem(
        f"<p>You want <b>{ready_ml:g} mL</b> of {ratio.product}, ready to spray. How many grams of "
        f"<b>{ratio.names[at]}</b> go in?</p>{ratio_table(ratio)}",
        part,
        key,
        (
            f"All parts by volume together: {all_parts:g}.",
            f"Volume: {ready_ml:g} mL x {ratio.parts[at]:g} / {all_parts:g} = {volume_ml:.1f} mL.",
            f"Weight: {volume_ml:.1f} mL x {ratio.density_g_per_ml[at]:.2f} g/mL = {mass_g:.1f} g.",
        ),
    )


def _rescue(draw: Draw, shop: Shop) -> Problem:
    formula, wanted_g = _formula(draw, shop), draw.step(250, 900, 10)
    plan = rounded(to_mass(formula.parts, wanted_g), BENCH_READABILITY_G)
    at = draw.one_of(range(len(plan.names) - 1))
    over_g = max(1.0, round(plan.own_g[at] * draw.step(0.05, 0.30, 0.01), 1))
    in_cup = [*plan.own_g[:at], plan.own_g[at] + over_g, *(0.0 for _ in plan.own_g[at + 1 :])]
    saved = rescue(formula.parts, in_cup, wanted_g)
    factor = saved.total_g / wanted_g
    wrong = Mistake("", wanted_g + over_g, 0, "that is the cup with the slip left in. The other toners must follow.")
    part, key = _mass(saved.total_g, wrong)
    rows = [
        [name, f"{own:.1f}", f"{reading:.1f}"]
        for name, own, reading in zip(plan.names, plan.own_g, plan.cumulative_g, strict=True)
    ]
    return Problem(
        f"<p>The plan is <b>{wanted_g:g} g</b> of {formula.title}. After <b>{plan.names[at]}</b> the scale shows "
        f"<b>{plan.cumulative_g[at] + over_g:.1f} g</b>. What is the new total when the ratios are right again?</p>"
        + html_table(["toner, in pouring order", "own weight, g", "scale should show, g"], rows),
        part,
        key,
        (
            f"Too much in the cup: {over_g:.1f} g. So {plan.names[at]} is {in_cup[at]:.1f} g instead of "
            f"{plan.own_g[at]:.1f} g.",
            f"The factor: {in_cup[at]:.1f} / {plan.own_g[at]:.1f} = {factor:.4f}.",
            f"New total: {wanted_g:g} g x {factor:.4f} = {saved.total_g:.1f} g.",
        ),
    )


def _smallest(draw: Draw, shop: Shop) -> Problem:
    share, allowed = draw.step(0.004, 0.03, 0.001), draw.one_of((0.02, 0.04, 0.05, 0.08, 0.1))
    step_g, way = draw.one_of((0.1, 0.01)), draw.one_of(WAYS)
    right = smallest_mix(share, step_g, allowed, way)
    other = smallest_mix(share, step_g, allowed, next(w for w in WAYS if w != way))
    wrong = Mistake("", other, 0, "look at how you pour: with tare half a step counts, without a whole one.")
    part, key = _mass(right, wrong)
    off_g = share * allowed * right
    words = "a whole step" if way == "cumulative" else "half a step"
    return Problem(
        f"<p>The smallest toner is <b>{share:.1%}</b> of the mix. The scale reads {step_g:g} g. The toner may be off "
        f"by {allowed:.0%} of its own weight. You pour <b>{WAY_WORDS[way]}</b>. How small may the mix be?</p>",
        part,
        key,
        (
            f"Poured like this, the toner is off by {words} at most: {off_g:g} g.",
            f"That may be {allowed:.0%} of the toner, so the toner weighs at least {off_g:g} / {allowed:g} = "
            f"{off_g / allowed:g} g.",
            f"The toner is {share:.1%} of the mix, so the mix is at least {off_g / allowed:g} / {share:g} = "
            f"{right:.1f} g.",
        ),
    )


def _amount(draw: Draw, shop: Shop) -> Problem:
    area_m2, coats, film_um = draw.step(0.5, 4, 0.1), int(draw.step(2, 4, 1)), draw.step(8, 30, 1)
    solids, transfer, waste = draw.step(0.15, 0.5, 0.05), draw.step(0.5, 0.75, 0.05), draw.step(0.05, 0.2, 0.05)
    dry_ml = float(paint_needed(area_m2, coats, film_um, 1.0, 1.0, 0.0))
    wet_ml = float(paint_needed(area_m2, coats, film_um, solids, 1.0, 0.0))
    sprayed_ml = float(paint_needed(area_m2, coats, film_um, solids, transfer, 0.0))
    right = float(paint_needed(area_m2, coats, film_um, solids, transfer, waste))
    wrong = Mistake(
        "", wet_ml, 0, "that is what must land on the panel. Part of the spray misses, and some stays in the cup."
    )
    return Problem(
        f"<p>{area_m2:g} m², <b>{coats} coats</b> of {film_um:g} µm dry film each. Volume solids {solids:.0%}, "
        f"transfer efficiency {transfer:.0%}, waste {waste:.0%} on top. How many mL do you mix, ready to spray?</p>",
        Part("answer", YOUR_ANSWER, VOLUME, 1),
        PartKey(right, max(0.16, CLOSE * right), (wrong,)),
        (
            f"Dry film: {area_m2:g} x {film_um:g} x {coats} = {dry_ml:.1f} mL.",
            f"Wet on the panel: {dry_ml:.1f} / {solids:g} = {wet_ml:.1f} mL.",
            f"Out of the gun: {wet_ml:.1f} / {transfer:g} = {sprayed_ml:.1f} mL.",
            f"With the waste: {sprayed_ml:.1f} x {1 + waste:g} = {right:.1f} mL.",
        ),
    )


DRILLS = (
    Drill("Own weight", _own_weight),
    Drill("Scale reading", _reading),
    Drill("Volume to weight", _by_volume),
    Drill("Ratio by volume", _ratio),
    Drill("Saving an over-pour", _rescue),
    Drill("Smallest mix", _smallest),
    Drill("How much to mix", _amount),
)
