"""What is guessed before each idea of the lesson on edges, and the live picture that answers it."""

from __future__ import annotations

import ipywidgets as widgets

from refinishlib.bench.fields import choice_field, slider_field
from refinishlib.course.guess import Guess, moving
from refinishlib.course.lessons.edges import figures
from refinishlib.course.lessons.edges.job import STROKES, asked_for
from refinishlib.prep.grades import grade
from refinishlib.prep.removal import burn_through, removed_um
from refinishlib.shop.shop import Shop

PAPERS = ("P400", "P500", "P600", "P800", "P1000")
CUTS = (
    ("left rear door", "left quarter panel"),
    ("left rear door", "left front door"),
    ("left front door", "left front wing"),
)
INTO = {"the colour": "colour", "the primer": "primer", "the bare ground": "bare", "nothing, only thin": "clear"}
AS_MUCH, THRICE = 1.2, 2.5

SOURCES = {
    "PAPERS": "teaching value: papers of the last steps",
    "AS_MUCH": "teaching value: up to here it is about as much",
    "THRICE": "teaching value: from here on it is a few times as much",
}


def _stroke(shop: Shop) -> tuple[str, str]:
    grain = grade(figures.PAPER).grain_um
    long, short = (float(removed_um(grain, machine=name)) for name in STROKES)
    happens = "more" if long > AS_MUCH * short else "less" if short > AS_MUCH * long else "as much"
    return happens, f"The long stroke takes {long:.1f} µm a pass, the short one {short:.1f} µm. Its path is longer."


def _watch_stroke(shop: Shop) -> widgets.Widget:
    return moving(
        lambda paper, pad: figures.strokes(shop, paper, pad),
        choice_field("Paper", PAPERS, figures.PAPER),
        choice_field("Soft pad", ("no", "yes"), "no"),
    )


def _edge(shop: Shop) -> tuple[str, str]:
    found = burn_through(figures.CLEAR_UM, figures.PAPER)
    flat, edge = found["flat"].through_passes, found["edge"].through_passes
    happens = "far fewer" if flat > THRICE * edge else "as many" if flat <= AS_MUCH * edge else "half"
    return happens, f"The flat takes {flat} passes, the edge {edge}. Less film is there, and the pad presses harder."


def _watch_edge(shop: Shop) -> widgets.Widget:
    return moving(
        lambda clear, paper, stroke: figures.zone_passes(shop, clear, paper, stroke),
        slider_field("Clear on the flat", 20, 100, figures.CLEAR_UM, step=10, unit="µm"),
        choice_field("Paper", PAPERS, figures.PAPER),
        choice_field("Orbit", STROKES, STROKES[1]),
    )


def _flat(shop: Shop) -> tuple[str, str]:
    found = burn_through(figures.CLEAR_UM, figures.PAPER, machine=STROKES[0])
    through = figures.PASSES > found["edge"].through_passes
    happens = "no: it is through" if through else "yes"
    return happens, f"The edge can take {found['edge'].through_passes} passes, the flat {found['flat'].through_passes}."


def _watch_flat(shop: Shop) -> widgets.Widget:
    return moving(
        lambda passes, paper, stroke: figures.film(shop, int(passes), paper, stroke),
        slider_field("Passes", 0, 12, figures.PASSES),
        choice_field("Paper", PAPERS, figures.PAPER),
        choice_field("Orbit", STROKES, STROKES[0]),
    )


def _price(shop: Shop) -> tuple[str, str]:
    found = asked_for(shop, figures.CUT, {figures.CUT.panel: ("colour", "clear")})
    more = len(found.panels)
    happens = {0: "none", 1: "one more"}.get(more, "more than one")
    names = ", ".join(one.panel for one in found.panels)
    return happens, f"Now there is work on: {names}. It costs {found.added.work_min:.0f} min more."


def _watch_price(shop: Shop) -> widgets.Widget:
    edges = {figures.edge_of(*cut): cut for cut in CUTS}
    return moving(
        lambda blend, edge, into: figures.slip(shop, *edges[edge], INTO[into], blend / 100),
        slider_field("The blend needs", 20, 60, 40, step=10, unit="cm"),
        choice_field("Edge", list(edges)),
        choice_field("The paper went into", ["the colour", *(one for one in INTO if one != "the colour")]),
    )


GUESSES = {
    "stroke": Guess(
        "Two orbits, 3/16 inch and 3/32 inch. Same paper, same hand. What does one pass of the 3/16 inch take off?",
        ("less", "as much", "more"),
        _stroke,
        _watch_stroke,
    ),
    "edge": Guess(
        "The flat of a panel takes many passes before it is through. How many does the edge take?",
        ("as many", "half", "far fewer"),
        _edge,
        _watch_edge,
    ),
    "flat": Guess(
        "Ivo wants the peel flat. He makes eight passes with P600 and the long stroke, edges too. Does the edge last?",
        ("yes", "no: it is through"),
        _flat,
        _watch_flat,
    ),
    "price": Guess(
        "Only the rear door was to be painted. Its rear edge is cut through. How many more panels get paint?",
        ("none", "one more", "more than one"),
        _price,
        _watch_price,
    ),
}
