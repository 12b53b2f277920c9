"""Practice for the lesson on edges. The working is the engine's numbers put into words."""

from __future__ import annotations

from dataclasses import replace

from refinishlib.course.draw import Draw
from refinishlib.course.lessons.edges.job import (
    EDGES,
    PAPERS,
    RANGES,
    STROKES,
    ZONES,
    CutThrough,
    PassLimit,
    SandedFilm,
    asked_for,
    hours,
    left_um,
    limits,
    reads_the_same,
    taken_um,
)
from refinishlib.course.practice import Drill, Problem, step
from refinishlib.course.question import Choice, Number
from refinishlib.picture.table import html_table
from refinishlib.prep.grades import grade
from refinishlib.prep.removal import INTERFACE_CUT, removed_um
from refinishlib.prep.scratch import machines, zones
from refinishlib.shop.shop import Shop
from refinishlib.shop.vehicle import neighbours

NUMBER = Number("number", "")
FILM = Number("film", "um")
GRADES = ("P400", "P500", "P600", "P800", "P1000")
YES, NO = "yes", "no"
ROOM_UM = (24, 96, 1)
AN_HOUR = (52, 96, 2)
STEP_UM, WHOLE_PASSES = 0.06, 0.0
MONEY = 0.3

SOURCES = {
    "GRADES": "teaching value: papers of the last steps",
    "ROOM_UM": "teaching value: clear on the flat, lowest, highest and step",
    "AN_HOUR": "teaching value: what an hour of work costs in one shop or another, lowest, highest and step",
    "STEP_UM": "teaching value: what rounding an entry to its tenth does, micrometres",
    "WHOLE_PASSES": "definition",
    "MONEY": "teaching value: what the tenth of a minute leaves open",
}


def _one_pass(draw: Draw, shop: Shop) -> Problem:
    paper, stroke, zone = draw.one_of(GRADES), draw.one_of(STROKES), draw.one_of(tuple(zones()))
    passes = int(draw.step(2, 8, 1))
    grain = grade(paper).grain_um
    base = float(removed_um(grain))
    moved = float(removed_um(grain, machine=stroke))
    there = float(removed_um(grain, machine=stroke, interface_pad=True, zone=zone))
    right = float(removed_um(grain, machine=stroke, interface_pad=True, zone=zone, passes=passes))
    times, harder = machines()[stroke].cut, zones()[zone].pressure
    rows = [[f"the {stroke} orbit", f"{times:g} times"], ["soft pad", f"{INTERFACE_CUT:g} times"]]
    rows.append([f"pressed on the {zone}", f"{harder:g} times"])
    return Problem(
        f"<p>One pass of <b>{paper}</b> takes <b>{base:.2f} µm</b> off the flat, with the 3/32 inch orbit and no pad. You "
        f"make <b>{passes} passes</b> on the <b>{zone}</b>, with the <b>{stroke}</b> orbit and a <b>soft pad</b>. How "
        f"much comes off?</p>{html_table(['', 'one pass takes'], rows)}",
        (
            step(
                "One pass with this orbit",
                FILM,
                moved,
                "look what the orbit does. Multiply.",
                f"This orbit: {base:.2f} x {times:g} = {moved:.2f} µm.",
                near=STEP_UM,
            ),
            step(
                "One pass there, with the pad",
                FILM,
                there,
                "multiply by what the pad does, and by how hard it is pressed there.",
                f"Pad and zone: {moved:.2f} x {INTERFACE_CUT:g} x {harder:g} = {there:.2f} µm.",
                near=STEP_UM,
            ),
            step(
                "All passes",
                FILM,
                right,
                "multiply by the passes.",
                f"All passes: {there:.2f} x {passes} = {right:.1f} µm.",
                (there, "that is one pass."),
                near=STEP_UM,
                near_share=0.02,
            ),
        ),
    )


def _until_through(draw: Draw, shop: Shop) -> Problem:
    one = draw.until(
        lambda: PassLimit(draw.one_of(ZONES), draw.step(*ROOM_UM), draw.one_of(STROKES), draw.one_of((True, False))),
        reads_the_same,
    )
    here = limits(one)[one.zone]
    room = round(here.clear_um, 1) - round(here.scratch_um, 2)
    soft = "with a soft pad" if one.interface_pad else "without a soft pad"
    return Problem(
        f"<p>More clear follows. The <b>{one.zone}</b> has <b>{here.clear_um:.1f} µm</b> of clear. With {PAPERS[0]} and "
        f"the {one.machine} orbit, {soft}, one pass takes <b>{here.per_pass_um:.2f} µm</b>. The scratch is "
        f"<b>{here.scratch_um:.2f} µm</b> deep. How many whole passes until it is through?</p>",
        (
            step(
                "Clear that you may take",
                FILM,
                room,
                "leave room for the scratch: take its depth off the clear.",
                f"Room: {here.clear_um:.1f} - {here.scratch_um:.2f} = {room:.2f} µm.",
                (here.clear_um, "leave room for the scratch."),
                near=STEP_UM,
                near_share=0.0,
            ),
            step(
                "Passes",
                NUMBER,
                here.through_passes,
                "divide by what one pass takes. Round down.",
                f"{room:.2f} / {here.per_pass_um:.2f} = {room / here.per_pass_um:.2f}. Round down: {here.through_passes}.",
                (here.through_passes + 1, "that last pass would be through. Round down."),
                near_share=WHOLE_PASSES,
            ),
        ),
    )


def _left(draw: Draw, shop: Shop) -> Problem:
    zone = draw.one_of(ZONES)
    one = draw.until(
        lambda: SandedFilm(
            draw.step(*RANGES["clear_um"]),
            int(draw.step(*RANGES["coarse_passes"])),
            int(draw.step(*RANGES["fine_passes"])),
            draw.one_of(STROKES),
            draw.one_of((True, False)),
        ),
        lambda made: left_um(made, "crown") > 1,
    )
    there = one.clear_um * zones()[zone].film
    each = [taken_um(one, zone, paper, 1) for paper in PAPERS]
    taken = [taken_um(one, zone, PAPERS[0], one.coarse_passes), taken_um(one, zone, PAPERS[1], one.fine_passes)]
    right = left_um(one, zone)
    rows = [
        [paper, count, f"{took:.2f}"]
        for paper, count, took in zip(PAPERS, (one.coarse_passes, one.fine_passes), each, strict=True)
    ]
    return Problem(
        f"<p>The <b>{zone}</b> had <b>{there:.1f} µm</b> of clear. Two papers went over it. How much is left?</p>"
        + html_table(["paper", "passes", "one pass takes there, µm"], rows),
        (
            step(
                f"{PAPERS[0]} takes",
                FILM,
                taken[0],
                "multiply one pass by the passes.",
                f"{PAPERS[0]}: {one.coarse_passes} x {each[0]:.2f} = {taken[0]:.1f} µm.",
                near=STEP_UM,
            ),
            step(
                f"{PAPERS[1]} takes",
                FILM,
                taken[1],
                "multiply one pass by the passes.",
                f"{PAPERS[1]}: {one.fine_passes} x {each[1]:.2f} = {taken[1]:.1f} µm.",
                near=STEP_UM,
            ),
            step(
                "Clear left",
                FILM,
                right,
                "take both off the clear that was there.",
                f"Left: {there:.1f} - {taken[0]:.1f} - {taken[1]:.1f} = {right:.1f} µm.",
                (there - taken[0], "the second paper takes film too."),
                (sum(taken), "that is what came off."),
                near=2 * STEP_UM,
            ),
        ),
    )


def _who_joins(draw: Draw, shop: Shop) -> Problem:
    panel, towards = draw.one_of(EDGES)
    away_m, blend_m = draw.until(
        lambda: (draw.step(*RANGES["away_m"]), draw.step(*RANGES["blend_m"])), lambda pair: pair[0] != pair[1]
    )
    found = asked_for(shop, CutThrough(panel, towards, away_m, blend_m, "colour"), {})
    names = [one.panel for one in found.panels if "colour" in one.needs]
    over, both = len(names) > 1, f"both of them, the {towards} too"
    alone = f"the {panel} alone"
    return Problem(
        f"<p>The paper went through the clear of the <b>{panel}</b>, <b>{away_m * 100:.0f} cm</b> from its edge to the "
        f"<b>{towards}</b>. The blend needs <b>{blend_m * 100:.0f} cm</b>. The eye sees both panels at once. Which of the "
        "two get colour?</p>",
        (
            step(
                "Does the blend cross the edge?",
                Choice((YES, NO)),
                YES if over else NO,
                "hold the length of the blend against the way to the edge.",
                f"{blend_m * 100:.0f} cm of blend, {away_m * 100:.0f} cm to the edge: {YES if over else NO}.",
            ),
            step(
                "Colour goes on",
                Choice((alone, both)),
                both if over else alone,
                "where the blend crosses the edge, it goes on behind it.",
                f"So colour goes on {both if over else alone}.",
            ),
        ),
    )


def _the_bill(draw: Draw, shop: Shop) -> Problem:
    cut = CutThrough(*draw.one_of(_seen_together(shop)), 0.0, draw.step(*RANGES["blend_m"]), draw.one_of(("primer", "bare")))
    rates = replace(hours().rates, labour_per_hour=draw.step(*AN_HOUR))
    more = asked_for(shop, cut, {cut.panel: ("colour", "clear")}, at=replace(hours(), rates=rates)).added
    work = more.work_min / 60 * rates.labour_per_hour
    booth = more.booth_min / 60 * rates.booth_per_hour
    rest = more.money - work - booth
    return Problem(
        f"<p>The {cut.panel} was cut through at its edge to the {cut.towards}. That adds <b>{more.work_min:.1f} min</b> of work and "
        f"<b>{more.booth_min:.1f} min</b> in the booth. In this shop an hour of work costs {rates.labour_per_hour:.2f}, an hour in the "
        f"booth {rates.booth_per_hour:.2f}. Paint, paper and tape cost <b>{rest:.2f}</b>. What does the slip cost?</p>",
        (
            step(
                "The work",
                NUMBER,
                work,
                "divide the minutes by sixty. Multiply by the price of an hour.",
                f"Work: {more.work_min:.1f} / 60 x {rates.labour_per_hour:g} = {work:.2f}.",
                near=MONEY,
            ),
            step(
                "The booth",
                NUMBER,
                booth,
                "the same, with the price of the booth.",
                f"Booth: {more.booth_min:.1f} / 60 x {rates.booth_per_hour:g} = {booth:.2f}.",
                near=MONEY,
            ),
            step(
                "All of it",
                NUMBER,
                more.money,
                "add up work, booth and material.",
                f"All: {work:.2f} + {booth:.2f} + {rest:.2f} = {more.money:.2f}.",
                (rest, "that is the material alone."),
                near=2 * MONEY,
            ),
        ),
    )


def _seen_together(shop: Shop) -> list[tuple[str, str]]:
    """All edges of the car over which the eye sees both panels."""
    car = shop.vehicle
    return [
        (panel.name, name)
        for panel in car.panels
        for name, seam in neighbours(car, panel).items()
        if seam.faces == "same way"
    ]


DRILLS = (
    Drill("What comes off", _one_pass),
    Drill("Until it is through", _until_through),
    Drill("Film left", _left),
    Drill("Who joins in", _who_joins),
    Drill("The bill", _the_bill),
)
