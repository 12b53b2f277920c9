"""The price of a slip: what it takes to mend a place that was sanded through, on this panel and on those that join in.

Through the clear into the colour asks for colour and then clear. Into primer or down to metal or plastic asks for the
sheet's primer or sealer first. Colour that comes too near to an edge goes on over it, so that panel joins in, and clear
runs over the whole of every panel that got colour. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from refinishlib.booth.clock import Coating, Plan, lay_out, steps_for
from refinishlib.booth.day import steady_day
from refinishlib.booth.flash import SHEET_C, SHEET_HUMIDITY
from refinishlib.booth.hours import Hours, panel_area
from refinishlib.booth.quantity import Bill, application, bill
from refinishlib.entry import BadEntry, number, one_of
from refinishlib.job.price import Added, Price, added, price
from refinishlib.prep.scratch import EDGE, zone_named
from refinishlib.shop.product import ProductSheet
from refinishlib.shop.vehicle import Panel, Vehicle, neighbours

INTO = ("clear", "colour", "primer", "bare")
# In the order in which they are sprayed.
NEEDS = ("primer", "sealer", "colour", "clear")
SPOT_M2 = 0.05
BLEND_MAX_M = 5.0
# What each panel that is sprayed has done to it, and what the sprayed coats of a need are called.
PREPARED = (
    "degrease",
    "rinse",
    "blow dry",
    "protect edges and trim",
    "sand",
    "edge by hand",
    "scuff with paste",
    "rinse again",
    "dry again",
    "mask fully",
    "final clean",
    "blow out",
    "tack",
    "unmask",
)
COATS = {"primer": "epoxy primer", "sealer": "sealer", "colour": "base", "clear": "clear"}

SOURCES = {
    "SPOT_M2": "teaching value: primer and sealer go over a place about as large as a hand's span each way",
    "BLEND_MAX_M": "teaching value: longer than any panel",
}


@dataclass(frozen=True)
class Sheets:
    """What the shop mends with: primer on metal, promoter on plastic, sealer, base and clear."""

    metal_primer: ProductSheet
    plastic_primer: ProductSheet
    sealer: ProductSheet
    base: ProductSheet
    clear: ProductSheet

    def of(self, need: str, panel: Panel) -> ProductSheet:
        primer = self.plastic_primer if panel.material == "plastic" else self.metal_primer
        return {"primer": primer, "sealer": self.sealer, "colour": self.base, "clear": self.clear}[need]


@dataclass(frozen=True)
class PanelNeed:
    """What one panel needs now that it did not need before.

    needs : some of primer, sealer, colour, clear, in the order in which they are sprayed
    colour_m2 : of it that gets colour
    film_um : dry film that it gains on its flat
    """

    panel: str
    needs: tuple[str, ...]
    why: str
    colour_m2: float
    film_um: float


@dataclass(frozen=True)
class Slip:
    """What a place that was sanded through asks for, beyond what was planned.

    panels : that need something more, the one with the place first
    paint : bill of the whole job with the slip
    added : work, booth, paint and money beyond the plan
    joins_next : for each panel that joined in, those that would join next if it were cut through at its edge too
    """

    panels: tuple[PanelNeed, ...]
    paint: Bill
    added: Added
    joins_next: Mapping[str, tuple[str, ...]]

    @property
    def sentence(self) -> str:
        if not self.panels:
            return "Nothing more has to be sprayed than was planned."
        named = "; ".join(f"{one.panel}: {', '.join(one.needs)}" for one in self.panels)
        return f"{named}. {self.added.sentence}"


def consequence(
    vehicle: Vehicle,
    sheets: Sheets,
    hours: Hours,
    panel: str,
    zone: str,
    into: str,
    *,
    blend_m: float,
    towards: str | None = None,
    to_edge_m: Mapping[str, float] | None = None,
    planned: Mapping[str, Iterable[str]] | None = None,
) -> Slip:
    """What a place that was sanded through asks for, on this panel and on those that join in.

    Parameters
    ----------
    vehicle, sheets, hours : panels and seams, what is mended with, and the shop's working times
    panel, zone : where it happened: a panel, and its flat, crown or edge
    into : how deep: "clear" (thin, not through), "colour", "primer", or "bare" metal or plastic
    blend_m : length that a blend of this colour needs, above 0 to 5 m, such as `refinishlib.colour.joint.plan` gives
    towards : at an edge, the neighbour on its other side
    to_edge_m : for other neighbours, how far the place is from the shared edge; where nothing is said, far enough
    planned : for each panel, what it gets anyway: colour, clear

    Raises
    ------
    BadEntry : an unknown panel, zone, depth or neighbour, an edge without a neighbour named, or a length out of range

    Source
    ------
    Common practice, no source: a neighbour joins when the blend is longer than the place is far from its edge, and when
    the eye sees both at once.

    >>> from refinishlib.booth.hours import shop_hours
    >>> from refinishlib.shop.shop import load
    >>> mends = Sheets(*map(load().product, ("epoxy primer", "plastic primer", "grey sealer", "water base", "clear")))
    >>> car = load().vehicle
    >>> slip = consequence(car, mends, shop_hours(), "left front door", "edge", "colour", blend_m=0.4,
    ...                    towards="left rear door", planned={"left front door": ["colour", "clear"]})
    >>> [(one.panel, one.needs) for one in slip.panels], slip.joins_next["left rear door"]
    ([('left rear door', ('colour', 'clear'))], ('left quarter panel',))
    """
    vehicle.panel(panel)
    one_of("how deep", into, INTO)
    length = number("blend length", blend_m, low=0, high=BLEND_MAX_M, unit="m", above_low=True)
    around = neighbours(vehicle, vehicle.panel(panel))
    distances = {
        one_of(f"neighbour of {panel}", name, around): number(f"distance to {name}", metres, low=0, unit="m")
        for name, metres in (to_edge_m or {}).items()
    }
    if zone_named(zone).name == EDGE:
        if towards is None:
            raise BadEntry("edge: no neighbour was named, allowed is the panel on the other side of it.")
        distances[one_of(f"neighbour of {panel}", towards, around)] = 0.0
    before = {
        vehicle.panel(name).name: {one_of("planned", need, NEEDS) for need in needs}
        for name, needs in (planned or {}).items()
    }
    why: dict[str, str] = {}
    after = {name: set(needs) for name, needs in before.items()}
    reach = {panel: 2 * length}
    _need(after, why, panel, {"clear"} if into == "clear" else {"colour", "clear"}, _own_reason(into))
    after[panel] |= {"primer": {"sealer"}, "bare": {"primer", "sealer"}}.get(into, set())
    joined: list[str] = []
    if into != "clear":
        for name, metres in distances.items():
            if around[name].faces == "same way" and length > metres:
                reach[name] = length - metres
                joined.append(name)
                reason = f"the blend of {length:.2f} m ends on it: the place is {metres:.2f} m from its edge"
                _need(after, why, name, {"colour", "clear"}, reason)
    _clear_to_a_line(vehicle, after, why)
    reach = {name: metres for name, metres in reach.items() if "colour" not in before.get(name, set())}
    needed = tuple(
        _panel_need(vehicle.panel(name), sheets, sorted(more, key=NEEDS.index), why[name], reach.get(name, 0.0))
        for name in (panel, *(name for name in after if name != panel))
        if (more := after[name] - before.get(name, set()))
    )
    paint = _bill(vehicle, sheets, after, reach)
    cheap = _price(vehicle, sheets, hours, before, reach)
    dear = _price(vehicle, sheets, hours, after, reach)
    next_in = {
        name: tuple(
            other
            for other, seam in neighbours(vehicle, vehicle.panel(name)).items()
            if seam.faces == "same way" and "colour" not in after.get(other, set())
        )
        for name in joined
    }
    return Slip(needed, paint, added(cheap, dear), next_in)


def _own_reason(into: str) -> str:
    return {
        "clear": "its clear is too thin to stay the last coat",
        "colour": "the paper went through the clear: colour, and then clear over the whole panel",
        "primer": "the paper went through the colour: sealer first, then colour, then clear over the whole panel",
        "bare": "the paper went to the ground: primer and sealer first, then colour, then clear over the whole panel",
    }[into]


def _need(after: dict[str, set[str]], why: dict[str, str], panel: str, needs: set[str], reason: str) -> None:
    after[panel] = after.get(panel, set()) | needs
    why.setdefault(panel, reason)


def _clear_to_a_line(vehicle: Vehicle, after: dict[str, set[str]], why: dict[str, str]) -> None:
    """Clear goes on over every seam that has no line to stop at; the clear's sheet may allow to fade it out instead."""
    waiting = [name for name in after if name in why and "clear" in after[name]]
    while waiting:
        here = waiting.pop()
        for name, seam in neighbours(vehicle, vehicle.panel(here)).items():
            if seam.clear_break == "none" and "clear" not in after.get(name, set()):
                reason = (
                    f"there is no line towards the {here} where clear could stop, unless its sheet lets it fade out"
                )
                _need(after, why, name, {"clear"}, reason)
                waiting.append(name)


def _colour_m2(panel: Panel, reach_m: float) -> float:
    """Of a panel that gets colour: a square around the place, a strip along the seam, or all of it."""
    return min(panel.area_m2, reach_m * max(reach_m, panel.width_m)) if reach_m else panel.area_m2


def _panel_need(panel: Panel, sheets: Sheets, needs: Sequence[str], why: str, reach_m: float) -> PanelNeed:
    film = sum(sheet.coats * sheet.film_um for sheet in (sheets.of(need, panel) for need in needs))
    return PanelNeed(panel.name, tuple(needs), why, _colour_m2(panel, reach_m) if "colour" in needs else 0.0, film)


def _bill(vehicle: Vehicle, sheets: Sheets, needs: Mapping[str, Iterable[str]], reach: Mapping[str, float]) -> Bill:
    areas: dict[str, tuple[ProductSheet, list[float]]] = {}
    for need in NEEDS:
        for name in needs:
            if need in needs[name]:
                panel = vehicle.panel(name)
                sheet = sheets.of(need, panel)
                area = {"clear": panel.area_m2, "colour": _colour_m2(panel, reach.get(name, 0.0))}.get(need, SPOT_M2)
                areas.setdefault(sheet.name, (sheet, []))[1].append(area)
    return bill(application(sheet, spots) for sheet, spots in areas.values())


def _price(
    vehicle: Vehicle,
    sheets: Sheets,
    hours: Hours,
    needs: Mapping[str, Iterable[str]],
    reach: Mapping[str, float],
) -> Price:
    sprayed = {need for wanted in needs.values() for need in wanted}
    tasks = (*PREPARED, *(COATS[need] for need in NEEDS if need in sprayed), "mix", "clean the gun")
    panels = [vehicle.panel(name) for name, wanted in needs.items() if wanted]
    areas = [panel_area(panel) for panel in panels]
    order = [
        sheets.of(need, next(vehicle.panel(name) for name in needs if need in needs[name]))
        for need in NEEDS
        if need in sprayed
    ]
    return price(hours, tasks, areas, bill=_bill(vehicle, sheets, needs, reach), booth_min=_booth_min(order))


def _booth_min(order: Sequence[ProductSheet]) -> float:
    """Minutes in the booth on the sheets' own day, one product after the other, the clear baked."""
    if not order:
        return 0.0
    end = "bake" if order[-1].cure else ""
    layout = lay_out(
        Plan(steps_for([Coating(sheet) for sheet in order], end), steady_day(SHEET_C, SHEET_HUMIDITY)), [0.0]
    )
    return float(layout.ends[-1, 0])
