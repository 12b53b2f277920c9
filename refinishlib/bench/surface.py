"""The surface plan: which papers, moved by what, how far out, how many passes are left, and the price of a slip."""

from __future__ import annotations

from functools import cache

from refinishlib.bench.calculator import Calculator, Reply
from refinishlib.bench.fields import choice_field, text_field, tick_field
from refinishlib.booth.hours import shop_hours
from refinishlib.job.slip import Sheets, consequence
from refinishlib.picture.bars import Bar, bars
from refinishlib.picture.table import html_table
from refinishlib.prep.grades import grades
from refinishlib.prep.removal import BurnThrough, burn_through, how_far_out
from refinishlib.prep.scratch import (
    COLOURS,
    EDGE,
    GLOSS,
    HAND,
    final_scratch,
    final_scratches,
    ladder_for,
    ways_to_sand,
)
from refinishlib.shop.shop import Shop, load
from refinishlib.shop.vehicle import neighbours
from refinishlib.units import METRIC, ShopUnits

NEXT_COAT = "blend into old clear"
CLEAR_UM = 50.0
PANEL = "left rear door"
BLEND_M = 0.4
MENDS = ("epoxy primer", "plastic primer", "grey sealer", "water base", "clear")

SOURCES = {
    "NEXT_COAT": "definition",
    "CLEAR_UM": "teaching value: clear of a usual finish",
    "PANEL": "definition",
    "BLEND_M": "teaching value: the start value of a blend's length; the blend plan computes it",
    "MENDS": "invented for the demo",
}


def SurfacePlan(
    next_coat: str = NEXT_COAT,
    start: str = GLOSS,
    clear: str = "",
    panel: str = PANEL,
    *,
    remember: bool = True,
    shop: Shop | None = None,
    units: ShopUnits = METRIC,
) -> Calculator:
    """The surface plan as a widget.

    next_coat, start, clear, panel : what it begins with: a row of the finishing table, the scratch that is there or
        "gloss", the clear on the flat (50 µm if not given), and the panel

    >>> SurfacePlan(remember=False).shown.figure
    'P800'
    """
    here = shop or load()
    mends = Sheets(*(here.product(name) for name in MENDS))

    @cache
    def slip(name: str) -> str:
        part = here.vehicle.panel(name)
        over = [other for other, seam in neighbours(here.vehicle, part).items() if seam.faces == "same way"]
        if not over:
            return f"The {name} has no neighbour that is seen with it: a slip through its edge stays on it."
        planned = {name: ["colour", "clear"]}
        found = consequence(
            here.vehicle, mends, shop_hours(), name, EDGE, "colour", blend_m=BLEND_M, towards=over[0], planned=planned
        )
        return f"Through the clear at the edge to the {over[0]}, with a blend of {BLEND_M:g} m: {found.sentence}"

    def show(next_coat: str, start: str, colour: str, clear: float, panel: str, pad: bool) -> Reply:
        row = final_scratch(next_coat)
        papers = [one.name for one in ladder_for(next_coat, start)]
        more_clear = row.is_coated
        way = ways_to_sand(next_coat, colour=colour)[0]
        soft = pad or way.interface_pad
        title = f"{next_coat}, from {start}"
        if not papers:
            return Reply(
                "Nothing to sand",
                reason=f"The scratch that is there, {start}, is right for it already. Clean it and go on.",
                summary=title,
                text=f"{title}: nothing to sand",
                tasks=("degrease",),
            )
        last = papers[-1]
        left = burn_through(clear, last, machine=way.machine, interface_pad=soft)
        reaches = how_far_out(clear, papers, more_clear=more_clear, machine=way.machine, interface_pad=soft)
        steps = html_table(
            ("paper", "moved by", "where", "stay off the edge"),
            [
                (one.grade, way.machine, " and ".join(one.zones) or "nowhere by machine", f"{one.keep_off_mm:.0f} mm")
                for one in reaches
            ]
            + [("by hand", "grey pad", "edges and shiny spots", "")],
            caption="In this order",
        )
        because = "" if way.why.lower() in row.why.lower() else f": {way.why}"
        mover = "By hand" if way.machine == HAND else f"With the {way.machine} orbit"
        return Reply(
            figure=" then ".join(papers),
            lead=f"Next: {row.name}.",
            reason=f"{mover}{', over an interface pad' if soft else ''}{because}. "
            f"{row.why[:1].upper()}{row.why[1:].rstrip('.')}.",
            picture=_passes(left, last, more_clear),
            detail=f'<div class="refinish-words">{steps}</div>',
            about=f"<p><b>Edges:</b> {row.edges[:1].upper()}{row.edges[1:].rstrip('.')}.</p>"
            f"<p><b>The price of a slip.</b> {slip(panel)}</p>",
            text="\n".join([title, *(f"{one.grade}: {' and '.join(one.zones)}" for one in reaches)]),
            summary=f"{title}, {colour}, {units.say(clear, 'film')} of clear, {panel}",
            tasks=("degrease", "sand", "scuff with paste"),
        )

    fields = {
        "next_coat": choice_field("What comes next", list(final_scratches()), next_coat),
        "start": choice_field("What is there now", [GLOSS, *grades()], start),
        "colour": choice_field("Kind of colour", list(COLOURS), COLOURS[-1]),
        "clear": text_field(
            "Clear on the flat",
            lambda text: units.read(text, "film", field="Clear on the flat", low=0, high=500),
            clear or units.say(CLEAR_UM, "film"),
            hint="A film, such as 50 µm or 2 mil.",
        ),
        "panel": choice_field("Panel", [one.name for one in here.vehicle.panels], panel),
        "pad": tick_field("Interface pad anyway"),
    }
    return Calculator(
        "surface",
        "Surface plan",
        fields,
        show,
        names={"next coat": "next_coat", "start": "start", "grade": "start", "clear": "clear"},
        carries={"panel": "panel"},
        remember=remember,
    )


def _passes(left: dict[str, BurnThrough], paper: str, more_clear: bool) -> str:
    rows = [
        Bar(
            f"{zone.zone}{', by hand only' if zone.by_hand else ''}",
            zone.passes(more_clear=more_clear),
            f"{zone.passes(more_clear=more_clear)} passes",
            look="warn" if zone.passes(more_clear=more_clear) == 0 else "soft" if zone.by_hand else "plain",
        )
        for zone in left.values()
    ]
    until = "it is through" if more_clear else "the clear is thin"
    return bars(rows, f"Passes of {paper} until {until}")
