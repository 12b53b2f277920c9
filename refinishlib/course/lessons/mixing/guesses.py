"""What is guessed before each idea of the mixing lesson, and the live picture that answers it."""

from __future__ import annotations

import ipywidgets as widgets

from refinishlib.bench.fields import choice_field, slider_field
from refinishlib.booth.quantity import paint_needed
from refinishlib.colour.pour_error import ALLOWED, accept_or_rescue
from refinishlib.course.guess import Guess, moving
from refinishlib.course.lessons.mixing import figures
from refinishlib.course.lessons.mixing.job import colour_rule_g, densities, in_cup_g, ratios, share_rule_g
from refinishlib.mixing.ratio import by_ratio
from refinishlib.mixing.rescue import rescue
from refinishlib.mixing.scale import to_mass, to_volume
from refinishlib.shop.shop import Shop

MUCH_MORE = 2.0

SOURCES = {"MUCH_MORE": "teaching value: from here on more is much more"}


def _colours(shop: Shop) -> list[str]:
    return [formula.title for formula in shop.colours]


def _pour(shop: Shop) -> tuple[str, str]:
    pour = to_mass(shop.colour(figures.EXAMPLE).parts, figures.EXAMPLE_G)
    why = f"{pour.names[1]} weighs {pour.own_g[1]:.0f} g. The scale shows {pour.cumulative_g[1]:.0f} g: both toners."
    return "both toners together", why


def _watch_pour(shop: Shop) -> widgets.Widget:
    count = len(shop.colour(figures.EXAMPLE).toners)
    return moving(
        lambda poured, wanted_g: figures.staircase(shop, wanted_g, int(poured)),
        slider_field("Toners in the cup", 0, count, 2),
        slider_field("You want", 100, 800, figures.EXAMPLE_G, step=50, unit="g"),
    )


def _litre(shop: Shop) -> tuple[str, str]:
    formula = shop.colour(figures.SMALL_EXAMPLE)
    mass_g = to_volume(formula.parts, figures.LITRE_ML, densities(formula)).total_g
    happens = "more than 1000 g" if mass_g > figures.LITRE_ML else "less than 1000 g"
    return happens, f"One litre of {formula.title} weighs {mass_g:.0f} g. White is heavy."


def _ratio(shop: Shop) -> tuple[str, str]:
    mixing = figures.ratio_of(shop, figures.RATIO_EXAMPLE)
    mixed = by_ratio(mixing.names, mixing.parts, mixing.density_g_per_ml, figures.RATIO_EXAMPLE_ML)
    times = mixed.pour.own_g[0] / mixed.pour.own_g[1]
    cups = mixing.parts[0] / mixing.parts[1]
    happens = "more" if times > cups else "less"
    why = f"In the cup it is {cups:g} times the hardener. On the scale it is {times:.1f} times. Filler is heavy."
    return happens, why


def _watch_ratio(shop: Shop) -> widgets.Widget:
    return moving(
        lambda product, ready_ml: figures.ratio(shop, product, ready_ml),
        choice_field("Product", [one.product for one in ratios(shop)], figures.RATIO_EXAMPLE),
        slider_field("Ready to spray", 100, 1200, figures.RATIO_EXAMPLE_ML, step=100, unit="mL"),
    )


def _over_pour(shop: Shop) -> tuple[str, str]:
    formula = shop.colour(figures.EXAMPLE)
    plan = to_mass(formula.parts, figures.EXAMPLE_G)
    saved = rescue(formula.parts, [plan.own_g[0], plan.own_g[1] + figures.OVER_G, 0, 0], figures.EXAMPLE_G)
    more_g = saved.total_g - figures.EXAMPLE_G
    happens = "much more than 20 g" if more_g > MUCH_MORE * figures.OVER_G else "about 20 g"
    why = f"The mix grows by {more_g:.0f} g. Each of the other toners has to follow."
    return happens, why


def _care(shop: Shop) -> tuple[str, str]:
    off = {}
    for title in (figures.SMALL_EXAMPLE, "Night Ferry, as built"):
        formula = shop.colour(title)
        name = formula.toners[1].name
        there = in_cup_g(formula, figures.SLIP_IN_G, name, figures.SLIP_EXAMPLE_G)
        advice = accept_or_rescue(formula, there, figures.SLIP_IN_G)
        off[title] = float(advice.accepted_difference.max())
    light, dark = off.values()
    happens = {
        (True, True): "in both",
        (True, False): "in the light one",
        (False, True): "in the black",
        (False, False): "in none of them",
    }[light > ALLOWED, dark > ALLOWED]
    why = f"The light one is off by {light:.2f}, the black by {dark:.2f}. Up to {ALLOWED:.2f} nobody sees it."
    return happens, why


def _watch_care(shop: Shop) -> widgets.Widget:
    return moving(
        lambda title, over_g: figures.care(shop, title, over_g),
        choice_field("Colour", _colours(shop), figures.SMALL_EXAMPLE),
        slider_field("Too much", 0.5, 8, figures.SLIP_EXAMPLE_G, step=0.5, unit="g"),
    )


def _amount(shop: Shop) -> tuple[str, str]:
    area_m2, coats, film_um, solids, transfer, waste = figures.PANEL
    dry = float(paint_needed(area_m2, coats, film_um, 1.0, 1.0, 0.0))
    mixed = float(paint_needed(area_m2, coats, film_um, solids, transfer, waste))
    part = mixed / dry
    happens = "one in eight" if part > 6 else "one in four" if part > 3 else "one in two"
    return happens, f"{mixed:.0f} mL go into the cup. {dry:.0f} mL of that stay on the panel as dry film."


def _watch_amount(shop: Shop) -> widgets.Widget:
    return moving(
        lambda coats, landed: figures.amount(shop, int(coats), landed / 100),
        slider_field("Coats", 1, 4, figures.PANEL[1]),
        slider_field("Of the spray lands", 40, 80, 60, step=5, unit="%"),
    )


def _shake(shop: Shop) -> tuple[str, str]:
    formula = shop.colour(figures.SMALL_EXAMPLE)
    share_g, colour_g, mix_g = share_rule_g(formula), colour_rule_g(formula), figures.SMALL_EXAMPLE_G
    happens = "no: it can show" if mix_g < colour_g else "yes: nobody sees it"
    why = f"The colour rule asks for {colour_g:.0f} g of this colour, the share rule for {share_g:.0f} g."
    return happens, why


def _watch_shake(shop: Shop) -> widgets.Widget:
    return moving(
        lambda title, mix_g: figures.shake(shop, title, mix_g),
        choice_field("Colour", _colours(shop), figures.SMALL_EXAMPLE),
        slider_field("The mix", 20, 400, figures.SMALL_EXAMPLE_G, step=10, unit="g"),
    )


GUESSES = {
    "pour": Guess(
        "You pour two toners into one cup. You do not tare. What does the scale show after the second one?",
        ("both toners together", "the second toner alone"),
        _pour,
        _watch_pour,
    ),
    "litre": Guess(
        "You need one litre of a light colour. It is nearly all white. What does it weigh?",
        ("less than 1000 g", "1000 g", "more than 1000 g"),
        _litre,
        lambda shop: moving(
            lambda title: figures.litre(shop, title), choice_field("Colour", _colours(shop), figures.SMALL_EXAMPLE)
        ),
    ),
    "ratio": Guess(
        "The sheet says 4 cups of primer to 1 cup of hardener. On the scale, is the primer 4 times the hardener?",
        ("yes, 4 times", "less", "more"),
        _ratio,
        _watch_ratio,
    ),
    "over_pour": Guess(
        "You pour 20 g too much of the second toner. You want to save the mix. How much does it grow?",
        ("not at all", "about 20 g", "much more than 20 g"),
        _over_pour,
        lambda shop: moving(
            lambda over_g: figures.over_pour(shop, over_g),
            slider_field("Too much", 0, 40, figures.OVER_G, unit="g"),
        ),
    ),
    "care": Guess(
        "1 g too much of the second toner goes into 200 g. Where does it show: in a light colour, or in a black?",
        ("in the light one", "in the black", "in both", "in none of them"),
        _care,
        _watch_care,
    ),
    "amount": Guess(
        "You fill the cup. How much of it stays on the panel as dry film?",
        ("one in two", "one in four", "one in eight"),
        _amount,
        _watch_amount,
    ),
    "shake": Guess(
        "You mix 60 g of a light colour in one cup, on the 0.1 g scale. Is the colour good enough?",
        ("yes: nobody sees it", "no: it can show"),
        _shake,
        _watch_shake,
    ),
}
