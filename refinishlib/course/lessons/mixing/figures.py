"""The still pictures of the mixing lesson: one example each, computed by the engine."""

from __future__ import annotations

from refinishlib.booth.quantity import paint_needed
from refinishlib.course.lessons.mixing.job import ratios
from refinishlib.shop.shop import Shop
from refinishlib.mixing.ratio import by_ratio
from refinishlib.mixing.rescue import rescue
from refinishlib.mixing.scale import smallest_mix, to_mass
from refinishlib.picture.bars import Bar, bars
from refinishlib.shop.paint import Formula

EXAMPLE = "Tarn Evening, as built"
EXAMPLE_G = 400.0
OVER_G = 20.0
RATIO_EXAMPLE = "filling primer"
RATIO_EXAMPLE_ML = 600.0


def _example(shop: Shop) -> Formula:
    return shop.colour(EXAMPLE)


def staircase(shop: Shop) -> str:
    """Each toner starts where the one before it ended: own weights and readings of one pour."""
    pour = to_mass(_example(shop).parts, EXAMPLE_G)
    rows = [
        Bar(name, own, f"+{own:.0f} g, scale shows {reading:.0f}", start=reading - own)
        for name, own, reading in zip(pour.names, pour.own_g, pour.cumulative_g, strict=True)
    ]
    return bars(rows, f"{EXAMPLE}, {EXAMPLE_G:g} g: every toner lands on top of the ones before")


def litre(shop: Shop) -> str:
    """What one litre of some toners weighs."""
    names = ("white", "red oxide", "yellow oxide", "deep blue", "jet black")
    density = {toner.name: toner.density_g_per_ml for toner in shop.toners}
    rows = [Bar(name, density[name], f"{1000 * density[name]:.0f} g") for name in names]
    return bars(rows, "One litre of each, on the scale", limit=1.0, limit_words="water")


def ratio(shop: Shop) -> str:
    """A ratio by volume beside what it weighs."""
    product = next(ratio for ratio in ratios(shop) if ratio.product == RATIO_EXAMPLE)
    mixed = by_ratio(product.names, product.parts, product.density_g_per_ml, RATIO_EXAMPLE_ML)
    rows = []
    for name, volume, mass in zip(product.names, mixed.own_ml, mixed.pour.own_g, strict=True):
        rows += [Bar(f"{name}, in the cup", volume, f"{volume:.0f} mL", look="soft")]
        rows += [Bar(f"{name}, on the scale", mass, f"{mass:.0f} g")]
    parts = " : ".join(f"{part:g}" for part in product.parts)
    return bars(rows, f"{product.product}, {parts} by volume, {RATIO_EXAMPLE_ML:g} mL")


def over_pour(shop: Shop) -> str:
    """A slip, and how the other toners follow it."""
    formula = _example(shop)
    plan = to_mass(formula.parts, EXAMPLE_G)
    slipped = plan.names[1]
    saved = rescue(formula.parts, [plan.own_g[0], plan.own_g[1] + OVER_G, 0, 0], EXAMPLE_G)
    rows = []
    for name, own, new in zip(plan.names, plan.own_g, saved.own_g, strict=True):
        rows.append(Bar(f"{name}, planned", own, f"{own:.1f} g", look="soft"))
        rows.append(Bar(f"{name}, saved", new, f"{new:.1f} g", look="warn" if name == slipped else "plain"))
    factor, total_g = saved.total_g / EXAMPLE_G, saved.total_g
    return bars(rows, f"{OVER_G:g} g too much {slipped}: all grow by {factor:.3f}, the mix to {total_g:.0f} g")


def smallest(shop: Shop) -> str:
    """How far a small toner may be off, in mixes of different size."""
    share, step_g, allowed = 0.005, 0.1, 0.05
    # The smallest mix for an allowed error of 1 (all of the toner) tells the error of any larger mix.
    whole_g = smallest_mix(share, step_g, 1.0, "cumulative")
    mixes_g = (60, 100, 200, 400, 800)
    rows = [Bar(f"{mix:g} g mix", whole_g / mix, f"{100 * whole_g / mix:.2g}% of the toner") for mix in mixes_g]
    title = f"A toner of {share:.1%}, scale reads {step_g:g} g, poured without tare: how far it may be off"
    return bars(rows, title, limit=allowed, limit_words=f"{allowed:.0%} allowed")


def amount(shop: Shop) -> str:
    """From the dry film back to the cup."""
    area_m2, coats, film_um, solids, transfer, waste = 2.0, 2, 15.0, 0.25, 0.6, 0.15
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
