"""The pictures of the lesson on edges: what a pass takes, what a zone can pay, and what a slip asks for."""

from __future__ import annotations

from html import escape

from refinishlib.course.lessons.edges.job import PAPERS, STROKES, CutThrough, asked_for
from refinishlib.picture.bars import Bar, bars
from refinishlib.picture.strip import strip
from refinishlib.picture.table import html_table
from refinishlib.prep.grades import grade
from refinishlib.prep.removal import LEAVES_OUT, SAFE_CLEAR_UM, burn_through, removed_um, scratch_depth_um
from refinishlib.prep.scratch import EDGE, HAND, zones
from refinishlib.shop.shop import Shop

CLEAR_UM = 50.0
PAPER = PAPERS[0]
PASSES = 8
CUT = CutThrough("left rear door", "left quarter panel", 0.0, 0.4, "colour")

SOURCES = {
    "CLEAR_UM": "teaching value: clear of a usual finish",
    "PASSES": "teaching value: passes of somebody who chases the peel",
    "CUT": "teaching value: the edge that everybody fears",
}


def strokes(shop: Shop, paper: str = PAPER, pad: str = "no") -> str:
    """What one pass takes and how deep its scratch is, by what moves the paper."""
    soft, grain = pad == "yes", grade(paper).grain_um
    takes, deep = [], []
    for name in (*STROKES, HAND):
        each = float(removed_um(grain, machine=name, interface_pad=soft and name != HAND))
        depth = float(scratch_depth_um(grain, machine=name, interface_pad=soft and name != HAND))
        words = "by hand" if name == HAND else f"{name} orbit"
        takes.append(Bar(words, each, f"{each:.2f} µm"))
        deep.append(Bar(words, depth, f"{depth:.2f} µm", look="soft"))
    return bars(takes, f"{paper}: one pass takes off") + bars(deep, f"{paper}: its scratch is deep") + _note()


def zone_passes(shop: Shop, clear_um: float = CLEAR_UM, paper: str = PAPER, stroke: str = STROKES[1]) -> str:
    """How many passes each zone takes until the clear is through."""
    found = burn_through(clear_um, paper, machine=stroke)
    rows = [
        Bar(
            f"{zone.zone}, {zone.clear_um:.0f} µm there",
            zone.through_passes,
            f"{zone.through_passes} passes",
            look="warn" if zone.by_hand else "plain",
        )
        for zone in found.values()
    ]
    return bars(rows, f"{paper}, {stroke} orbit, {clear_um:g} µm on the flat: passes until it is through") + _note()


def film(shop: Shop, passes: int = PASSES, paper: str = PAPER, stroke: str = STROKES[0]) -> str:
    """What is left of the clear in each zone when the same machine has gone over all of it."""
    rows = []
    for zone in zones().values():
        there = CLEAR_UM * zone.film
        taken = float(removed_um(grade(paper).grain_um, passes=passes, machine=stroke, zone=zone.name))
        left = max(0.0, there - taken)
        look = "plain" if left >= SAFE_CLEAR_UM else "soft" if left else "warn"
        rows.append(Bar(zone.name, left, f"{left:.0f} of {there:.0f} µm left" if left else "through", look=look))
    title = f"{passes:g} passes of {paper}, {stroke} orbit, edges too"
    limit = f"a finished film keeps {SAFE_CLEAR_UM:.0f} µm"
    return bars(rows, title, limit=SAFE_CLEAR_UM, limit_words=limit) + _note()


def slip(
    shop: Shop,
    panel: str = CUT.panel,
    towards: str = CUT.towards,
    into: str = CUT.into,
    blend_m: float = CUT.blend_m,
) -> str:
    """A slip at an edge: which panels get what now, and what that adds to the plan."""
    car, cut = shop.vehicle, CutThrough(panel, towards, 0.0, blend_m, into)
    found = asked_for(shop, cut, {panel: ("colour", "clear")})
    colour = {panel: car.panel(panel).length_m}
    colour |= {one.panel: blend_m for one in found.panels if "colour" in one.needs and one.panel != panel}
    clear = {panel, *(one.panel for one in found.panels if "clear" in one.needs)}
    drawn = strip(car, car.panel(panel), colour, clear, f"The {panel}, cut at its edge to the {towards}")
    rows = [[one.panel, ", then ".join(one.needs)] for one in found.panels]
    words = html_table(["on top of the plan", "gets"], rows) if rows else ""
    said = found.added.sentence if rows else "Nothing on top of the plan: colour and clear go on it anyway."
    return f'{drawn}<div class="refinish-words">{words}</div><p><b>{escape(said)}</b></p>'


def edge_of(panel: str, towards: str) -> str:
    """How an edge is called in the lesson's fields."""
    return f"{panel}, {EDGE} to the {towards}"


def _note() -> str:
    return f'<p class="refinish-hint">{escape(LEAVES_OUT)}</p>'
