"""The numbers of the lesson on edges: what moves the paper, how much film there is, and what a slip asks for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from math import floor

from refinishlib.booth.hours import Hours, shop_hours
from refinishlib.course.draw import Draw
from refinishlib.job.slip import Sheets, Slip, consequence
from refinishlib.prep.grades import grade
from refinishlib.prep.removal import BurnThrough, burn_through, how_far_out, removed_um
from refinishlib.prep.scratch import COLOURS, EDGE, ways_to_sand, zones
from refinishlib.shop.shop import Shop

STROKES = ("3/16 in", "3/32 in")
COATS = ("sealer wet on wet on a new part", "blend into old clear", "clear only")
MOVED_BY = {"short": {"3/32 in"}, "both": set(STROKES), "hand": {"hand"}}
PANELS = ("left rear door", "left front door", "left quarter panel", "right rear door", "bonnet", "left front wing")
ZONES = ("flat", "crown")
PAPERS = ("P600", "P800")
ON_THE_CROWN = {"both": ("P600", "P800"), "the finer": ("P800",), "none": ()}
SEEN = ("mostly bright", "dull with bright dots", "dull, and peel is felt")
# A panel, and the neighbour on the other side of the edge that is cut.
EDGES = (
    ("left rear door", "left quarter panel"),
    ("left rear door", "left front door"),
    ("left front door", "left rear door"),
    ("left front door", "left front wing"),
    ("left front wing", "left front door"),
    ("left front wing", "bonnet"),
    ("left front wing", "left pillar"),
    ("bonnet", "left front wing"),
)
DEPTHS = ("clear", "colour", "primer", "bare")
COSTLY = ("primer", "bare")
MENDS = ("epoxy primer", "plastic primer", "grey sealer", "water base", "clear")
# Lowest, highest and step of what is drawn; the unit stands in the name.
RANGES = {
    "clear_um": (36, 70, 1),
    "crown_clear_um": (14, 70, 1),
    "passes": (4, 10, 1),
    "coarse_passes": (2, 6, 1),
    "fine_passes": (2, 6, 1),
    "blend_m": (0.2, 0.6, 0.05),
    "away_m": (0.1, 0.7, 0.05),
}
LEAST_LEFT_UM = 2.0
LEAST_APART_M = 0.04

SOURCES = {
    "STROKES": "definition",
    "MOVED_BY": "definition",
    "PAPERS": "common practice, no source: the two papers of a panel that is blended",
    "ON_THE_CROWN": "definition",
    "RANGES": "teaching value: films and lengths as a shop meets them",
    "LEAST_LEFT_UM": "teaching value: less than this nobody should be told to trust",
    "LEAST_APART_M": "teaching value: a blend that ends nearer to the edge than this is no clear case",
}


@dataclass(frozen=True)
class PaperMover:
    """What is to be sanded, for what coat and colour, so that one stroke, both, or only the hand will do."""

    case: str
    coat: str
    colour: str
    zone: str
    panel: str


@dataclass(frozen=True)
class PassLimit:
    """A zone that is sanded with one paper until it would be through."""

    zone: str
    clear_um: float
    machine: str
    interface_pad: bool


@dataclass(frozen=True)
class CrownWork:
    """A crown that two papers may go over by machine, both, the finer one, or none of them."""

    case: str
    clear_um: float
    passes: int
    machine: str


@dataclass(frozen=True)
class SandedFilm:
    """A panel that two papers have gone over: the clear that was on its flat, and the passes of each."""

    clear_um: float
    coarse_passes: int
    fine_passes: int
    machine: str
    interface_pad: bool


@dataclass(frozen=True)
class CutThrough:
    """A place that was sanded through: on which panel, next to which, how far from the edge, how deep."""

    panel: str
    towards: str
    away_m: float
    blend_m: float
    into: str


@dataclass(frozen=True)
class EdgesJob:
    """The numbers of one apprentice."""

    mover: PaperMover
    limit: PassLimit
    crown: CrownWork
    film: SandedFilm
    seen: str
    seen_panel: str
    joins: CutThrough
    first: CutThrough
    bill: CutThrough


def job(draw: Draw, shop: Shop) -> EdgesJob:
    """The numbers of one apprentice, whose id the draw comes from."""
    case = draw.one_of(tuple(MOVED_BY))
    mover = draw.until(
        lambda: PaperMover(
            case, draw.one_of(COATS), draw.one_of(COLOURS), draw.one_of(tuple(zones())), draw.one_of(PANELS)
        ),
        lambda one: moved_by(one) == MOVED_BY[case],
    )
    limit = draw.until(
        lambda: PassLimit(
            draw.one_of(ZONES), draw.step(*RANGES["clear_um"]), draw.one_of(STROKES), draw.one_of((True, False))
        ),
        reads_the_same,
    )
    far = draw.one_of(tuple(ON_THE_CROWN))
    crown = draw.until(
        lambda: CrownWork(
            far, draw.step(*RANGES["crown_clear_um"]), int(draw.step(*RANGES["passes"])), draw.one_of(STROKES)
        ),
        lambda one: papers_on_the_crown(one) == ON_THE_CROWN[far],
    )
    film = draw.until(
        lambda: SandedFilm(
            draw.step(*RANGES["clear_um"]),
            int(draw.step(*RANGES["coarse_passes"])),
            int(draw.step(*RANGES["fine_passes"])),
            draw.one_of(STROKES),
            draw.one_of((True, False)),
        ),
        lambda one: left_um(one, "crown") >= LEAST_LEFT_UM,
    )
    return EdgesJob(
        mover=mover,
        limit=limit,
        crown=crown,
        film=film,
        seen=draw.one_of(SEEN),
        seen_panel=draw.one_of(PANELS),
        joins=_away_from_the_edge(draw),
        first=CutThrough(*draw.one_of(EDGES), 0.0, draw.step(*RANGES["blend_m"]), draw.one_of(DEPTHS)),
        bill=CutThrough(*draw.one_of(EDGES), 0.0, draw.step(*RANGES["blend_m"]), draw.one_of(COSTLY)),
    )


def moved_by(one: PaperMover) -> set[str]:
    """What may move the last paper there."""
    return {way.machine for way in ways_to_sand(one.coat, zone=one.zone, colour=one.colour)}


def limits(one: PassLimit) -> dict[str, BurnThrough]:
    """How many passes of P600 each zone takes."""
    return burn_through(one.clear_um, PAPERS[0], machine=one.machine, interface_pad=one.interface_pad)


def reads_the_same(one: PassLimit) -> bool:
    """Whether the two decimals on paper give the same number of passes."""
    return all(
        floor((zone.clear_um - round(zone.scratch_um, 2)) / round(zone.per_pass_um, 2)) == zone.through_passes
        and floor((round(zone.clear_um, 1) - round(zone.scratch_um, 2)) / round(zone.per_pass_um, 2))
        == zone.through_passes
        for zone in limits(one).values()
        if zone.zone in ZONES
    )


def papers_on_the_crown(one: CrownWork) -> tuple[str, ...]:
    """Which of the two papers may go over the crown by machine, before more clear."""
    reaches = how_far_out(one.clear_um, PAPERS, more_clear=True, passes=one.passes, machine=one.machine)
    return tuple(reach.grade for reach in reaches if "crown" in reach.zones)


def taken_um(one: SandedFilm, zone: str, paper: str, passes: int) -> float:
    """Film that one of the papers took off a zone."""
    grain = grade(paper).grain_um
    return float(removed_um(grain, passes=passes, machine=one.machine, interface_pad=one.interface_pad, zone=zone))


def left_um(one: SandedFilm, zone: str) -> float:
    """Clear that is left on a zone when both papers have gone over it."""
    taken = taken_um(one, zone, PAPERS[0], one.coarse_passes) + taken_um(one, zone, PAPERS[1], one.fine_passes)
    return one.clear_um * zones()[zone].film - taken


def asked_for(
    shop: Shop, cut: CutThrough, planned: Mapping[str, tuple[str, ...]], *, at: Hours | None = None
) -> Slip:
    """What a place that was cut through asks for, with the shop's own sheets, and its hours if no others are given."""
    at_edge = not cut.away_m
    return consequence(
        shop.vehicle,
        mends(shop),
        at or hours(),
        cut.panel,
        EDGE if at_edge else "flat",
        cut.into,
        blend_m=cut.blend_m,
        towards=cut.towards if at_edge else None,
        to_edge_m=None if at_edge else {cut.towards: cut.away_m},
        planned=planned,
    )


def mends(shop: Shop) -> Sheets:
    """What the shop mends with."""
    return Sheets(*(shop.product(name) for name in MENDS))


@cache
def hours() -> Hours:
    """The shop's working times and rates."""
    return shop_hours()


def _away_from_the_edge(draw: Draw) -> CutThrough:
    joins = draw.one_of((True, False))
    edge = draw.one_of(EDGES)
    away_m, blend_m = draw.until(
        lambda: (draw.step(*RANGES["away_m"]), draw.step(*RANGES["blend_m"])),
        lambda pair: abs(pair[0] - pair[1]) >= LEAST_APART_M and (pair[1] > pair[0]) == joins,
    )
    return CutThrough(*edge, away_m, blend_m, "colour")
