"""The pictures of the mixing lesson: each is drawn from numbers that can be moved, computed by the engine."""

from __future__ import annotations

from html import escape

import numpy as np

from refinishlib.booth.quantity import paint_needed
from refinishlib.colour import optics, predict
from refinishlib.colour.pour_error import ALLOWED, accept_or_rescue, scatter
from refinishlib.course.lessons.mixing.job import (
    ALLOWED_SHARE,
    BENCH_READABILITY_G,
    Ratio,
    colour_rule_g,
    densities,
    in_cup_g,
    ratios,
    share_rule_g,
)
from refinishlib.mixing.ratio import by_ratio
from refinishlib.mixing.rescue import rescue
from refinishlib.mixing.scale import to_mass, to_volume
from refinishlib.picture.bars import Bar, bars
from refinishlib.picture.ink import on_screen
from refinishlib.shop.paint import Formula
from refinishlib.shop.shop import Shop

EXAMPLE = "Tarn Evening, as built"
EXAMPLE_G = 400.0
OVER_G = 20.0
LITRE_ML = 1000.0
RATIO_EXAMPLE = "filling primer"
RATIO_EXAMPLE_ML = 600.0
SMALL_EXAMPLE = "Chalk Barn, as built"
SMALL_EXAMPLE_G = 60.0
SLIP_EXAMPLE_G = 1.0
SLIP_IN_G = 200.0
# One panel: area, coats, film, volume solids, transfer efficiency, waste.
PANEL = (2.0, 2, 15.0, 0.25, 0.6, 0.15)

SOURCES = {
    "EXAMPLE": "definition",
    "EXAMPLE_G": "teaching value: a mix for one panel",
    "OVER_G": "teaching value: a slip that is seen in a picture",
    "LITRE_ML": "definition",
    "RATIO_EXAMPLE": "definition",
    "RATIO_EXAMPLE_ML": "teaching value: primer for one panel",
    "SMALL_EXAMPLE": "definition",
    "SMALL_EXAMPLE_G": "teaching value: a chip repair",
    "SLIP_EXAMPLE_G": "teaching value: what a hand pours too much",
    "SLIP_IN_G": "teaching value: a mix for a small panel",
    "PANEL": "teaching value: a job as a small shop has them",
}


def staircase(shop: Shop, wanted_g: float = EXAMPLE_G, poured: int | None = None) -> str:
    """Each toner starts where the one before it ended: own weights and readings of one pour."""
    pour = to_mass(shop.colour(EXAMPLE).parts, wanted_g)
    done = len(pour.names) if poured is None else poured
    rows = [
        Bar(
            name,
            own,
            f"+{own:.0f} g, scale shows {reading:.0f} g",
            start=reading - own,
            look="plain" if at < done else "later",
        )
        for at, (name, own, reading) in enumerate(zip(pour.names, pour.own_g, pour.cumulative_g, strict=True))
    ]
    return bars(rows, f"{EXAMPLE}, {wanted_g:g} g: each toner lands on top of the ones before")


def litre(shop: Shop, title: str = SMALL_EXAMPLE) -> str:
    """What one litre of a colour and of its toners weighs."""
    formula = shop.colour(title)
    density = densities(formula)
    mix_g = to_volume(formula.parts, LITRE_ML, density).total_g
    rows = [Bar(title, mix_g, f"{mix_g:.0f} g", look="warn")]
    rows += [Bar(name, LITRE_ML * density[name], f"{LITRE_ML * density[name]:.0f} g") for name in density]
    return bars(rows, "One litre on the scale", limit=LITRE_ML, limit_words="water, 1000 g")


def ratio(shop: Shop, product: str = RATIO_EXAMPLE, ready_ml: float = RATIO_EXAMPLE_ML) -> str:
    """A ratio by volume beside what it weighs."""
    mixing = ratio_of(shop, product)
    mixed = by_ratio(mixing.names, mixing.parts, mixing.density_g_per_ml, ready_ml)
    rows = []
    for name, volume, mass in zip(mixing.names, mixed.own_ml, mixed.pour.own_g, strict=True):
        rows += [Bar(f"{name}, in the cup", volume, f"{volume:.0f} mL", look="soft")]
        rows += [Bar(f"{name}, on the scale", mass, f"{mass:.0f} g")]
    parts = " : ".join(f"{part:g}" for part in mixing.parts)
    return bars(rows, f"{product}, {parts} by volume, {ready_ml:g} mL")


def over_pour(shop: Shop, over_g: float = OVER_G) -> str:
    """A slip, and how the other toners follow it."""
    formula = shop.colour(EXAMPLE)
    plan = to_mass(formula.parts, EXAMPLE_G)
    slipped = plan.names[1]
    saved = rescue(formula.parts, [plan.own_g[0], plan.own_g[1] + over_g, 0, 0], EXAMPLE_G)
    rows = []
    for name, own, new in zip(plan.names, plan.own_g, saved.own_g, strict=True):
        rows.append(Bar(f"{name}, planned", own, f"{own:.1f} g", look="soft"))
        rows.append(Bar(f"{name}, saved", new, f"{new:.1f} g", look="warn" if name == slipped else "plain"))
    grown, total_g = saved.total_g / EXAMPLE_G, saved.total_g
    return bars(rows, f"{over_g:g} g too much {slipped}: all grow by {grown:.3f}, the mix to {total_g:.0f} g")


def care(shop: Shop, title: str = SMALL_EXAMPLE, over_g: float = SLIP_EXAMPLE_G) -> str:
    """The same slip of each toner of a colour: how far off it turns, and what it turns to."""
    formula = shop.colour(title)
    rows, chips = [], []
    meant, *slipped = predict.lab(
        optics.mixture(formula.toners, np.array([formula.weights, *_slipped(formula, over_g)]))
    )[:, 0]
    for place, toner in enumerate(formula.toners):
        there = in_cup_g(formula, SLIP_IN_G, toner.name, over_g)
        off = accept_or_rescue(formula, there, SLIP_IN_G).accepted_difference[0]
        worst = int(off.argmax())
        rows.append(
            Bar(toner.name, float(off.max()), f"off by {off.max():.2f}", look="warn" if off.max() > ALLOWED else "plain")
        )
        chips.append(_chip(toner.name, on_screen(meant[worst]), on_screen(slipped[place][worst])))
    drawn = bars(
        rows,
        f"{over_g:g} g too much in {SLIP_IN_G:g} g of {title}, one toner at a time",
        limit=ALLOWED,
        limit_words=f"{ALLOWED:.2f}: nobody sees it",
    )
    return f'{drawn}<p class="refinish-hint">As meant, and with the slip, at the worst angle:</p>{"".join(chips)}'


def shake(shop: Shop, title: str = SMALL_EXAMPLE, mix_g: float = SMALL_EXAMPLE_G) -> str:
    """What a scale of 0.1 g does to a mix of this size, by the share rule and by the colour rule."""
    formula = shop.colour(title)
    share_g, colour_g = share_rule_g(formula), colour_rule_g(formula)
    shares = to_mass(formula.parts, mix_g)
    least = shares.own_g.index(min(shares.own_g))
    # The share rule's limit tells the error of any mix: it falls as the mix grows.
    off_share = ALLOWED_SHARE * share_g / mix_g
    off_colour = scatter(formula, mix_g, BENCH_READABILITY_G).nearly_always
    by_share = bars(
        [Bar(shares.names[least], off_share, f"off by {off_share:.1%} of itself", look=_look(mix_g, share_g))],
        f"Share rule: {title} needs {share_g:.0f} g",
        limit=ALLOWED_SHARE,
        limit_words=f"{ALLOWED_SHARE:.0%}",
    )
    by_colour = bars(
        [Bar("colour", off_colour, f"off by {off_colour:.2f}", look=_look(mix_g, colour_g))],
        f"Colour rule: {title} needs {colour_g:.0f} g",
        limit=ALLOWED,
        limit_words=f"{ALLOWED:.2f}",
    )
    return f"<p><b>{mix_g:g} g on the scale</b></p>{by_share}{by_colour}"


def amount(shop: Shop, coats: int = 2, transfer: float = 0.6) -> str:
    """From the dry film back to the cup."""
    area_m2, _, film_um, solids, _, waste = PANEL
    steps = (
        ("dry film on the panel", (1.0, 1.0, 0.0)),
        ("wet film on the panel", (solids, 1.0, 0.0)),
        ("out of the gun", (solids, transfer, 0.0)),
        ("to mix, with the waste", (solids, transfer, waste)),
    )
    rows = []
    for label, (solid, landed, extra) in steps:
        need_ml = float(paint_needed(area_m2, coats, film_um, solid, landed, extra))
        rows.append(Bar(label, need_ml, f"{need_ml:.0f} mL"))
    return bars(rows, f"{area_m2:g} m², {coats} coats of {film_um:g} µm dry: what that takes")


def ratio_of(shop: Shop, product: str) -> Ratio:
    """The mixing ratio of a product."""
    return next(one for one in ratios(shop) if one.product == product)


def _slipped(formula: Formula, over_g: float) -> list[list[float]]:
    own = to_mass(formula.parts, SLIP_IN_G).own_g
    return [[mass + over_g * (at == one) for at, mass in enumerate(own)] for one in range(len(own))]


def _look(mix_g: float, needed_g: float) -> str:
    return "warn" if mix_g < needed_g else "plain"


def _chip(name: str, meant: str, slipped: str) -> str:
    halves = f'<span style="background:{meant}"></span><span style="background:{slipped}"></span>'
    return f'<div class="refinish-pair"><span class="refinish-chips">{halves}</span>{escape(name)}</div>'
