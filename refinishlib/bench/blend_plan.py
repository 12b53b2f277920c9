"""The blend plan: join, blend or correct first; how long; which panels get colour, and where clear ends."""

from __future__ import annotations

from functools import cache
from html import escape

from refinishlib.bench.calculator import Calculator, Reply
from refinishlib.bench.fields import choice_field, slider_field
from refinishlib.colour import joint
from refinishlib.colour.blend import Blend
from refinishlib.colour.conditions import Conditions
from refinishlib.colour.joint import Chance, Joint
from refinishlib.picture.screen import figure
from refinishlib.picture.strip import strip
from refinishlib.picture.swatch import along
from refinishlib.picture.table import html_table
from refinishlib.shop.shop import Shop, load
from refinishlib.shop.vehicle import neighbours

PANEL, NEW, OLD = "left rear door", "Kiln Red, as built", "Kiln Red, darker"
FAR = 0.6
GREY, DARKEST, LIGHTEST, GREY_STEP = 56, 36, 90, 2
WHOLE, DAMAGE = "the whole panel", "one place on it"

SOURCES = {
    "PANEL": "definition",
    "NEW": "definition",
    "OLD": "definition",
    "GREY": "teaching value: a grey over which the first colour hides quickly",
    "DARKEST": "teaching value: about the range of the demo's sealers",
    "LIGHTEST": "teaching value: about the range of the demo's sealers",
    "GREY_STEP": "teaching value: what a slider moves by",
    "WHOLE": "definition",
    "DAMAGE": "definition",
    "FAR": "teaching value: where the slider stands first, about the middle of a door",
}
# What the plan calls it, and how it is said here.
SAYS = {
    "edge to edge": "Spray to the edge",
    "blend inside the panel": "Blend inside the panel",
    "blend into the neighbours": "Blend into the neighbours",
    "put it right first": "Put the colour right first",
}


def BlendPlan(
    panel: str = PANEL, new: str = NEW, old: str = OLD, *, remember: bool = True, shop: Shop | None = None
) -> Calculator:
    """The blend plan as a widget, beginning with this panel, this colour in the gun and this one on the vehicle.

    >>> BlendPlan(remember=False).shown.hands["panel"]
    'left rear door'
    """
    here = shop or load()
    formulas = {one.title: one for one in here.colours}
    car = here.vehicle

    @cache
    def planned(panel: str, new: str, old: str, far_m: float | None, grey: float) -> tuple[Joint, Blend, Chance]:
        part = car.panel(panel)
        near = None if far_m is None else dict.fromkeys(neighbours(car, part), far_m)
        return joint.plan(
            car, part, formulas[new], formulas[old], to_edge_m=near, conditions=Conditions(undercoat=grey)
        )

    def show(panel: str, new: str, old: str, grey: float, where: str, far: float) -> Reply:
        made, faded, joins = planned(panel, new, old, far if where == DAMAGE else None, grey)
        coloured = {stop.panel: stop for stop in made.colour}
        runs = {name: stop.run_m(car.panel(name).length_m) for name, stop in coloured.items()}
        ends = [
            f"{name}; colour; {'all over' if run == car.panel(name).length_m else f'to {run:.2f} m from the edge'}"
            for name, run in runs.items()
        ] + [f"{one.panel}; clear; towards the {one.towards}: {one.words}" for one in made.clear]
        clear = html_table(
            ("clear on", "towards", "ends"),
            [(one.panel, one.towards, one.words) for one in made.clear],
            caption="Where clear ends",
        )
        length = f", {made.blend_m:.2f} m" if made.blend_m else ""
        others = [name for name in made.panels if name != panel]
        return Reply(
            figure=f"{SAYS.get(made.way, made.way[:1].upper() + made.way[1:])}{length}",
            lead=f"{new}, onto {old}, {panel}:",
            reason=made.why,
            picture=(strip(car, car.panel(panel), runs, made.panels, "Along the side of the car") if runs else "")
            + figure(along(faded), short=True),
            detail=f'<div class="refinish-words">{clear}</div>' if made.clear else "",
            about=f"<p>{escape(joins.why)}</p>",
            text=f"{panel}: {made.way}{length}. {made.why} "
            + " ".join(f"Clear on {one.panel} towards {one.towards}: {one.words}." for one in made.clear),
            summary=f"{panel}, {new}, onto {old}",
            tasks=("base for the blend", "clear for the blend") if others else ("base", "clear"),
            hands={"panel": panel, "panels": ", ".join(made.panels), "colour": new, "ends": "\n".join(ends)},
        )

    fields = {
        "panel": choice_field("Panel", [one.name for one in car.panels], panel),
        "new": choice_field("In the gun", list(formulas), new),
        "old": choice_field("On the vehicle", list(formulas), old),
        "grey": slider_field("Undercoat, L*", DARKEST, LIGHTEST, GREY, step=GREY_STEP),
        "where": choice_field("What is painted", [WHOLE, DAMAGE]),
        "far": slider_field("From each edge", 0, 1.5, FAR, step=0.05, unit="m", hint=f"Counts with “{DAMAGE}”."),
    }
    return Calculator(
        "blend",
        "Blend plan",
        fields,
        show,
        names={"distance": "far", "panel": "panel"},
        carries={"panel": "panel", "colour": "new", "undercoat": "grey"},
        remember=remember,
    )
