"""Amount, cost, emissions and hours of a whole job, from its panels and its products."""

from __future__ import annotations

from html import escape

from refinishlib.bench.calculator import Calculator, Reply
from refinishlib.bench.fields import choice_field, several_field, slider_field
from refinishlib.booth.emissions import job_emissions
from refinishlib.booth.hours import panel_area, shop_hours
from refinishlib.booth.quantity import application, bill
from refinishlib.entry import BadEntry
from refinishlib.job.price import price
from refinishlib.picture.bars import Bar, bars
from refinishlib.picture.table import html_table
from refinishlib.prep.order import good_order, jobs
from refinishlib.shop.product import ready_to_spray
from refinishlib.shop.shop import Shop, load
from refinishlib.units import METRIC, ShopUnits

PANELS = ("left rear door",)
JOB = "blend panel"
GROUND, COLOUR, CLEAR, NONE = "grey sealer", "water base", "clear", "none"
COATS = 3

SOURCES = {
    "PANELS": "definition",
    "JOB": "definition",
    "GROUND": "invented for the demo",
    "COLOUR": "invented for the demo",
    "CLEAR": "invented for the demo",
    "NONE": "definition",
    "COATS": "teaching value: where the slider stands first",
}


def WholeAmount(
    panels: tuple[str, ...] = PANELS,
    coats: float = COATS,
    *,
    remember: bool = True,
    shop: Shop | None = None,
    units: ShopUnits = METRIC,
) -> Calculator:
    """Amount, cost, emissions and hours as a widget, beginning with these panels.

    >>> WholeAmount(remember=False).shown.lead
    'To mix, of all products together:'
    """
    here = shop or load()
    sheets = {sheet.name: sheet for sheet in here.products}
    known = jobs()

    def ml(volume: float) -> str:
        return units.say(volume, "volume")

    def show(job: str, panels: tuple[str, ...], ground: str, colour: str, coats: float, clear: str) -> Reply:
        parts = [here.vehicle.panel(name) for name in panels]
        if not parts:
            raise BadEntry("panels: none was ticked, allowed is at least one.")
        used = [
            (sheets[name], count)
            for name, count in ((ground, None), (colour, int(coats)), (clear, None))
            if name != NONE
        ]
        if not used:
            raise BadEntry("products: none was given, allowed is at least one that is sprayed.")
        areas = [part.area_m2 for part in parts]
        paint = bill([application(sheet, areas, coats=count) for sheet, count in used])
        mixed = [
            (sheet.name, ready_to_spray(sheet), one.mixed_ml)
            for (sheet, _), one in zip(used, paint.amounts, strict=True)
        ]
        air = job_emissions(mixed)
        cost = price(shop_hours(), good_order(known[job]), [panel_area(part) for part in parts], bill=paint)
        where = ", ".join(panels)
        money = html_table(
            ("what", "cost"),
            [
                ("paint", f"{cost.paint:.2f}"),
                (f"abrasives, {cost.discs} discs", f"{cost.abrasives:.2f}"),
                ("sundries", f"{cost.sundries:.2f}"),
                (f"work, {cost.work_min / 60:.1f} h", f"{cost.labour:.2f}"),
                ("together, without the booth", f"{cost.money:.2f}"),
            ],
            caption="In the shop's own money and minutes",
        )
        to_air = html_table(
            ("product", "to mix", "over", "solvent, g"),
            [
                (one.product, ml(one.mixed_ml), ml(one.left_ml), f"{given.voc_g:.0f}")
                for one, given in zip(paint.amounts, air.products, strict=True)
            ],
            caption="What to mix, what stays over, what goes to the air",
        )
        sentences = " ".join(
            f"{one.product[:1].upper()}{one.product[1:]}: mix {ml(one.mixed_ml)}. "
            f"Sprayed {ml(one.sprayed_ml)}, left in "
            f"cup and gun {ml(one.lost_ml)}, spare {ml(one.spare_ml)}, over {ml(one.left_ml)}."
            for one in paint.amounts
        )
        base = next((one for one in paint.amounts if one.product == colour), None)
        return Reply(
            figure=ml(paint.mixed_ml),
            lead="To mix, of all products together:",
            reason=sentences,
            picture=bars(
                [Bar(one.product, one.needed_ml, f"{ml(one.mixed_ml)} to mix") for one in paint.amounts],
                f"For {where}",
            ),
            detail=to_air,
            about=f"{money}<p>All that is mixed gives {air.voc_g:.0f} g of solvent to the air, and {air.water_g:.0f} g "
            f"of water. The job is: {escape(known[job].title)}.</p>",
            text=f"{where}: {sentences} {cost.work_min / 60:.1f} h of work, {cost.money:.2f} in all without the booth.",
            summary=f"{where}, {colour}, {int(coats)} coats",
            tasks=("mix",),
            hands={"amount": ml(base.mixed_ml), "panels": where} if base else {"panels": where},
        )

    grounds = [name for name in sheets if "sealer" in name or "primer" in name]
    bases = [name for name in sheets if "base" in name]
    clears = [name for name in sheets if "clear" in name]
    fields = {
        "job": choice_field("Job", [(one.title, name) for name, one in known.items()], JOB),
        "panels": several_field("Panels", [one.name for one in here.vehicle.panels], panels),
        "ground": choice_field("Sealer or primer", [NONE, *grounds], NONE),
        "colour": choice_field("Colour", [NONE, *bases], COLOUR if COLOUR in bases else NONE),
        "coats": slider_field("Coats of colour", 1, 6, coats),
        "clear": choice_field("Clear", [NONE, *clears], CLEAR if CLEAR in clears else NONE),
    }
    return Calculator(
        "amount",
        "Amount, cost and hours",
        fields,
        show,
        names={"panels": "panels", "products": "colour"},
        carries={"coats": "coats"},
        remember=remember,
    )
