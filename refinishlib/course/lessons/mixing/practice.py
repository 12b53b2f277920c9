"""Practice for the mixing lesson. The working is the engine's numbers put into words."""

from __future__ import annotations

from refinishlib.booth.quantity import paint_needed
from refinishlib.colour import surface
from refinishlib.colour.pour_error import ALLOWED, accept_or_rescue
from refinishlib.course.draw import Draw
from refinishlib.course.lessons.mixing.job import BENCH_READABILITY_G, LEAVES, SHOWS, densities, in_cup_g, ratios
from refinishlib.course.lessons.mixing.questions import MASS, VOLUME, formula_table, ratio_table
from refinishlib.course.practice import Drill, Problem, DrillStep, step
from refinishlib.course.question import Choice, Number
from refinishlib.mixing.ratio import by_ratio
from refinishlib.mixing.rescue import rescue
from refinishlib.mixing.scale import WAYS, Way, rounded, smallest_mix, to_mass, to_volume
from refinishlib.picture.table import html_table
from refinishlib.shop.paint import Formula
from refinishlib.shop.shop import Shop

PLAIN = Number("number", "")
SCALE_G = 0.16
WAY_WORDS = {"tared": "with tare before each toner", "cumulative": "all into one cup without tare"}
SEEN, NOT_SEEN = "it shows: save the mix", "nobody sees it: leave it"
MANY_TONERS = 4

SOURCES = {
    "SCALE_G": "teaching value: what a scale of 0.1 g can show, and the rounding of an entry to its tenth",
    "MANY_TONERS": "teaching value: with fewer toners there is little to add up",
}


def _mass(label: str, right: float, hint: str, working: str, *mistakes: tuple[float, str]) -> DrillStep:
    return step(label, MASS, right, hint, working, *mistakes, near=SCALE_G)


def _volume(label: str, right: float, hint: str, working: str, *mistakes: tuple[float, str]) -> DrillStep:
    return step(label, VOLUME, right, hint, working, *mistakes, near=SCALE_G)


def _number(label: str, right: float, hint: str, working: str, *mistakes: tuple[float, str]) -> DrillStep:
    return step(label, PLAIN, right, hint, working, *mistakes)


def _own_weight(draw: Draw, shop: Shop) -> Problem:
    formula, wanted_g = draw.one_of(shop.colours), draw.step(150, 950, 10)
    pour = to_mass(formula.parts, wanted_g)
    at = draw.one_of(range(1, len(pour.names)))
    name, parts = formula.parts[at]
    all_parts = sum(p for _, p in formula.parts)
    return Problem(
        f"<p>You want <b>{wanted_g:g} g</b> of {formula.title}. What does <b>{name}</b> weigh on its own?</p>"
        + formula_table(formula),
        (
            _number(
                "All parts",
                all_parts,
                "add up the parts of all toners.",
                f"All parts: {all_parts:g}.",
            ),
            _number(
                "Share of the toner",
                pour.shares[at],
                "divide the parts of this toner by all parts.",
                f"Its share: {parts:g} / {all_parts:g} = {pour.shares[at]:.4f}.",
                (100 * pour.shares[at], "that is in per cent. As a share, all of it is 1."),
            ),
            _mass(
                "Own weight",
                pour.own_g[at],
                "multiply its share by the grams you want.",
                f"Its own weight: {pour.shares[at]:.4f} x {wanted_g:g} g = {pour.own_g[at]:.1f} g.",
                (pour.cumulative_g[at], "that is what the scale shows with the others in the cup."),
                (parts, "those are its parts. Parts are not grams."),
            ),
        ),
    )


def _reading(draw: Draw, shop: Shop) -> Problem:
    formula = draw.one_of([one for one in shop.colours if len(one.toners) >= MANY_TONERS])
    wanted_g = draw.step(150, 950, 10)
    pour = to_mass(formula.parts, wanted_g)
    at = draw.one_of(range(2, len(pour.names)))
    name = pour.names[at]
    before = ", ".join(f"{one} {own:.1f} g" for one, own in zip(pour.names[:at], pour.own_g, strict=False))
    return Problem(
        f"<p>You want <b>{wanted_g:g} g</b> of {formula.title}. All goes into one cup, and you do not tare. What does "
        f"the scale show after <b>{name}</b>?</p>{formula_table(formula)}",
        (
            _mass(
                "In the cup before it",
                pour.cumulative_g[at - 1],
                "work out the own weight of each toner above it, and add them up.",
                f"In the cup before it: {before}. Together {pour.cumulative_g[at - 1]:.1f} g.",
            ),
            _mass(
                "Own weight",
                pour.own_g[at],
                "its parts by all parts, times the grams you want.",
                f"Own weight of {name}: {pour.own_g[at]:.1f} g.",
            ),
            _mass(
                "The scale shows",
                pour.cumulative_g[at],
                "put its own weight on top of what is in the cup.",
                f"The scale shows {pour.cumulative_g[at - 1]:.1f} + {pour.own_g[at]:.1f} = "
                f"{pour.cumulative_g[at]:.1f} g.",
                (pour.own_g[at], "that is its own weight. The scale shows all that is in the cup."),
            ),
        ),
    )


def _by_volume(draw: Draw, shop: Shop) -> Problem:
    formula, wanted_ml = draw.one_of(shop.colours), draw.step(200, 1000, 10)
    density = densities(formula)
    pour = to_volume(formula.parts, wanted_ml, density)
    one_ml_g = pour.total_g / wanted_ml
    rooms = [share / density[name] for name, share in zip(pour.names, pour.shares, strict=True)]
    mean = sum(density.values()) / len(density)
    each = " + ".join(f"{room:.3f}" for room in rooms)
    return Problem(
        f"<p>The job needs <b>{wanted_ml:g} mL</b> of {formula.title}. What does the mix weigh?</p>"
        + formula_table(formula, with_densities=True),
        (
            _number(
                "Room that 1 g of the mix takes, in mL",
                sum(rooms),
                "divide each toner's share by its density. Then add up.",
                f"Room of 1 g: {each} = {sum(rooms):.4f} mL.",
            ),
            _number(
                "Density of the mix, in g per mL",
                one_ml_g,
                "divide 1 g by the room that it takes.",
                f"Density: 1 g / {sum(rooms):.4f} mL = {one_ml_g:.4f} g per mL.",
                (mean, "that is the plain average. Each toner counts by the room that it takes."),
            ),
            _mass(
                "Weight of the mix",
                pour.total_g,
                "multiply the volume by the density.",
                f"Weight: {wanted_ml:g} mL x {one_ml_g:.4f} = {pour.total_g:.1f} g.",
                (wanted_ml, "that is the volume. One millilitre of this mix does not weigh one gram."),
                (wanted_ml / one_ml_g, "you divided by the density. Heavy paint weighs more: multiply."),
            ),
        ),
    )


def _ratio(draw: Draw, shop: Shop) -> Problem:
    ratio, ready_ml = draw.one_of(ratios(shop)), draw.step(200, 1200, 10)
    mixed = by_ratio(ratio.names, ratio.parts, ratio.density_g_per_ml, ready_ml)
    at = draw.one_of(range(len(ratio.names)))
    volume_ml, mass_g, all_parts = mixed.own_ml[at], mixed.pour.own_g[at], sum(ratio.parts)
    return Problem(
        f"<p>You want <b>{ready_ml:g} mL</b> of {ratio.product}, ready to spray. What does <b>{ratio.names[at]}</b> "
        f"weigh in it?</p>{ratio_table(ratio)}",
        (
            _number(
                "All parts", all_parts, "add up the parts of the ratio.", f"All parts by volume: {all_parts:g}."
            ),
            _volume(
                "Its volume",
                volume_ml,
                "divide the volume you want by all parts. Multiply by its parts.",
                f"Its volume: {ready_ml:g} mL x {ratio.parts[at]:g} / {all_parts:g} = {volume_ml:.1f} mL.",
                (
                    ready_ml * ratio.parts[at] / ratio.parts[0],
                    "you divided by the first part only. Divide by all parts.",
                ),
            ),
            _mass(
                "Its weight",
                mass_g,
                "multiply its volume by its density.",
                f"Its weight: {volume_ml:.1f} mL x {ratio.density_g_per_ml[at]:.2f} = {mass_g:.1f} g.",
                (volume_ml, "that is in mL. Multiply by the density to get grams."),
            ),
        ),
    )


def _slip(draw: Draw, shop: Shop) -> tuple[Formula, float, int, float]:
    formula, wanted_g = draw.one_of(shop.colours), draw.step(250, 900, 10)
    at = draw.one_of(range(len(formula.toners) - 1))
    own_g = to_mass(formula.parts, wanted_g).own_g[at]
    return formula, wanted_g, at, max(1.0, round(own_g * draw.step(0.05, 0.30, 0.01), 1))


def _rescue(draw: Draw, shop: Shop) -> Problem:
    formula, wanted_g, at, over_g = _slip(draw, shop)
    plan = rounded(to_mass(formula.parts, wanted_g), BENCH_READABILITY_G)
    name, shows_g = plan.names[at], plan.cumulative_g[at] + over_g
    there = in_cup_g(formula, wanted_g, name, over_g)
    saved = rescue(formula.parts, there, wanted_g)
    factor = saved.total_g / wanted_g
    rows = [
        [one, f"{own:.1f}", f"{reading:.1f}"]
        for one, own, reading in zip(plan.names, plan.own_g, plan.cumulative_g, strict=True)
    ]
    return Problem(
        f"<p>You want <b>{wanted_g:g} g</b> of {formula.title}. After <b>{name}</b> the scale shows "
        f"<b>{shows_g:.1f} g</b>. You pour the others after it. What is the new total?</p>"
        + html_table(["toner, in pouring order", "own weight, g", "scale should show, g"], rows),
        (
            _mass(
                "In the cup of this toner",
                there[at],
                "see how much went over. Put that on top of its own weight.",
                f"Too much: {over_g:.1f} g. So there are {there[at]:.1f} g of {name}, not {plan.own_g[at]:.1f} g.",
                (over_g, "that is what went over. Put it on top of its own weight."),
            ),
            _number(
                "All grow by the factor",
                factor,
                "divide what is in the cup of it by what should be there.",
                f"The factor: {there[at]:.1f} / {plan.own_g[at]:.1f} = {factor:.4f}.",
                (
                    shows_g / plan.cumulative_g[at],
                    "you took the whole reading. Take this one toner alone.",
                ),
            ),
            _mass(
                "New total",
                saved.total_g,
                "multiply the grams you wanted by the factor.",
                f"New total: {wanted_g:g} g x {factor:.4f} = {saved.total_g:.1f} g.",
                (wanted_g + over_g, "that is the cup with the slip left in. The other toners must follow."),
            ),
        ),
    )


def _care(draw: Draw, shop: Shop) -> Problem:
    low, high = draw.one_of((LEAVES, SHOWS))

    def slip() -> tuple[Formula, float, str, float, list[float]]:
        formula, wanted_g = draw.one_of(shop.colours), draw.step(100, 400, 20)
        name, over_g = draw.one_of(formula.toners[1:]).name, draw.step(0.5, 8, 0.5)
        advice = accept_or_rescue(formula, in_cup_g(formula, wanted_g, name, over_g), wanted_g)
        return formula, wanted_g, name, over_g, [float(value) for value in advice.accepted_difference[0]]

    formula, wanted_g, name, over_g, off = draw.until(slip, lambda made: low <= max(made[-1]) <= high)
    worst = round(max(off), 2)
    rows = [[f"{angle:g} degrees", f"{value:.2f}"] for angle, value in zip(surface.ANGLES_DEG, off, strict=True)]
    shows = worst > ALLOWED
    says = "more" if shows else "no more"
    return Problem(
        f"<p><b>{over_g:g} g</b> too much {name} went into {wanted_g:g} g of {formula.title}. This is how far the "
        f"colour is off if you leave it. Up to {ALLOWED:.2f} at the worst angle nobody sees.</p>"
        + html_table(["seen at", "off by"], rows),
        (
            _number(
                "Worst angle: off by",
                worst,
                "look for the largest number in the table.",
                f"At the worst angle the colour is off by {worst:.2f}.",
                (sum(off) / len(off), "that is the average. The worst angle counts."),
                (min(off), "that is the best angle. The worst one counts."),
            ),
            step(
                "So",
                Choice((SEEN, NOT_SEEN)),
                SEEN if shows else NOT_SEEN,
                f"hold the worst angle against {ALLOWED:.2f}.",
                f"{worst:.2f} is {says} than {ALLOWED:.2f}. So {SEEN if shows else NOT_SEEN}.",
            ),
        ),
    )


def _smallest(draw: Draw, shop: Shop) -> Problem:
    share, allowed = draw.step(0.004, 0.03, 0.001), draw.one_of((0.02, 0.04, 0.05, 0.08, 0.1))
    step_g: float = draw.one_of((0.1, 0.01))
    way: Way = draw.one_of(WAYS)
    right = smallest_mix(share, step_g, allowed, way)
    other = smallest_mix(share, step_g, allowed, next(one for one in WAYS if one != way))
    off_g = share * allowed * right
    words = "a whole step" if way == "cumulative" else "half a step"
    return Problem(
        f"<p>The smallest toner is <b>{share:.1%}</b> of the mix. The scale shows steps of {step_g:g} g. The toner may "
        f"be off by {allowed:.0%} of itself. You pour <b>{WAY_WORDS[way]}</b>. How small may the mix be, by the share "
        f"rule?</p>",
        (
            step(
                "Off by at most",
                MASS,
                off_g,
                "with tare it is half a step of the scale, without tare a whole one.",
                f"Poured like this, it is off by {words} at most: {off_g:g} g.",
            ),
            step(
                "Least weight of the toner",
                MASS,
                off_g / allowed,
                "divide that by the part of itself that is allowed.",
                f"That may be {allowed:.0%} of it. So it weighs at least {off_g:g} / {allowed:g} = {off_g / allowed:g} g.",
            ),
            _mass(
                "Smallest mix",
                right,
                "divide that by its share of the mix. One per cent is 0.01.",
                f"It is {share:.1%} of the mix. So the mix is at least {off_g / allowed:g} / {share:g} = {right:.1f} g.",
                (other, "look at how you pour. With tare half a step counts, without tare a whole one."),
                (right / 100, "one per cent is 0.01, not 1."),
            ),
        ),
    )


def _amount(draw: Draw, shop: Shop) -> Problem:
    area_m2, coats, film_um = draw.step(0.5, 4, 0.1), int(draw.step(2, 4, 1)), draw.step(8, 30, 1)
    solids, transfer, waste = draw.step(0.15, 0.5, 0.05), draw.step(0.5, 0.75, 0.05), draw.step(0.05, 0.2, 0.05)
    dry_ml = float(paint_needed(area_m2, coats, film_um, 1.0, 1.0, 0.0))
    wet_ml = float(paint_needed(area_m2, coats, film_um, solids, 1.0, 0.0))
    sprayed_ml = float(paint_needed(area_m2, coats, film_um, solids, transfer, 0.0))
    right = float(paint_needed(area_m2, coats, film_um, solids, transfer, waste))
    return Problem(
        f"<p><b>{area_m2:g} m²</b>, <b>{coats} coats</b> of {film_um:g} µm dry film each. Volume solids {solids:.0%}. "
        f"Transfer efficiency {transfer:.0%}. Waste {waste:.0%} on top. How much do you mix, ready to spray?</p>",
        (
            _volume(
                "Dry film",
                dry_ml,
                "multiply area, film and coats. 1 µm on 1 m² is 1 mL.",
                f"Dry film: {area_m2:g} x {film_um:g} x {coats} = {dry_ml:.1f} mL.",
                (dry_ml / coats, "that is one coat."),
            ),
            _volume(
                "Wet on the panel",
                wet_ml,
                "divide by the volume solids.",
                f"Wet on the panel: {dry_ml:.1f} / {solids:g} = {wet_ml:.1f} mL.",
                (dry_ml * solids, "you multiplied. Wet paint is more than dry film: divide."),
            ),
            _volume(
                "Out of the gun",
                sprayed_ml,
                "divide by the transfer efficiency.",
                f"Out of the gun: {wet_ml:.1f} / {transfer:g} = {sprayed_ml:.1f} mL.",
                (wet_ml * transfer, "you multiplied. More must leave the gun than lands: divide."),
            ),
            _volume(
                "To mix",
                right,
                "put the waste on top.",
                f"With the waste: {sprayed_ml:.1f} x {1 + waste:g} = {right:.1f} mL.",
                (sprayed_ml, "the waste is missing."),
            ),
        ),
    )


DRILLS = (
    Drill("Own weight", _own_weight),
    Drill("Scale reading", _reading),
    Drill("Volume to weight", _by_volume),
    Drill("Ratio by volume", _ratio),
    Drill("Saving an over-pour", _rescue),
    Drill("Does it show?", _care),
    Drill("How much to mix", _amount),
    Drill("Smallest mix", _smallest),
)
