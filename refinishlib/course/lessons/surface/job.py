"""The numbers of the surface lesson: one apprentice's door, its papers, and what went wrong at the next bay."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import ceil

from refinishlib.course.draw import Draw
from refinishlib.prep.grades import grade, pads
from refinishlib.prep.ladder import USUAL, is_leap, ladder
from refinishlib.prep.order import Job, Rule, Violation, first_violation, good_order, make_job, plan
from refinishlib.prep.removal import passes_to_clear, removed_um, scratch_depth_um
from refinishlib.prep.scratch import final_scratch
from refinishlib.shop.shop import Shop

BASE = (
    "wash",
    "degrease",
    "rinse",
    "blow dry",
    "protect edges and trim",
    "sand",
    "edge by hand",
    "scuff with paste",
    "rinse again",
    "dry again",
)
EXTRAS = ("gauge the film", "polish a reference area", "read the colour")
# What is done too early, and before which task.
SLIPS = {
    "sanded on grease": ("sand", "degrease"),
    "water first": ("rinse", "degrease"),
    "taped while wet": ("protect edges and trim", "blow dry"),
    "nothing taped": ("sand", "protect edges and trim"),
    "paste first": ("scuff with paste", "sand"),
    "rinsed before the paste": ("rinse again", "scuff with paste"),
}
STATES = ("only where it is sanded", "paper clogs", "wet after the rinse", "clean and dry")
SEEN = ("bright after a dry scuff", "even, but wet with paste", "even when dry")
SHELF = tuple(name for name in USUAL if grade("P1000") <= grade(name) <= grade("P80"))
STARTS = ("P80", "P120", "P180", "P240")
FINISHES = ("P240", "P320", "P400", "P500", "P600", "P800")
FEWEST_STEPS = 2
COARSE, FINE = ("P180", "P240", "P320", "P400"), ("P320", "P400", "P500", "P600", "P800")
MOST_PASSES = 24
COATS = (
    "sealer wet on wet on a new part",
    "base on a new part",
    "sealer on sanded surfacer",
    "blend into old clear",
    "clear only",
)
PADDED = ("sealer wet on wet on a new part", "sealer on sanded surfacer", "blend into old clear", "clear only")
# The trade's words where a learner needs easier ones.
PLAINER = {
    "Sanding before degreasing works the contamination into the scratches.": "Paper rubs the grease in.",
    "Sanding an edge before degreasing works the contamination into the scratches.": "Paper rubs grease in, at an edge too.",
    "Sanding after the paste works its residue into the scratches.": "The sander works what is left of the paste in.",
}
PANELS = ("left rear door", "left front door", "left quarter panel", "right rear door", "bonnet", "left front wing")

SOURCES = {
    "SHELF": "common practice, no source: papers on the shelf of a shop, without the coarsest and the finest",
    "STARTS": "teaching value: scratches that surface work begins on",
    "FINISHES": "teaching value: last papers before a coat",
    "FEWEST_STEPS": "teaching value: with one paper alone there is nothing to choose",
    "COARSE": "teaching value: scratches that a finer paper is asked to take out",
    "FINE": "teaching value: papers that follow them",
    "MOST_PASSES": "teaching value: nobody goes over a place more often",
}


@dataclass(frozen=True)
class HastyOrder:
    """An order of work with one task too early: what is written, which slip it is, and where the engine stops."""

    name: str
    order: tuple[str, ...]
    wrong: Violation


@dataclass(frozen=True)
class Scratch:
    """A scratch that is sanded out: the paper that left it, the one that follows, and what moves both."""

    coarse: str
    fine: str
    machine: str
    interface_pad: bool


@dataclass(frozen=True)
class SurfaceJob:
    """The numbers of one apprentice: an order with a slip, states of a panel, papers, and coats."""

    slip: HastyOrder
    state: str
    state_panel: str
    start: str
    finish: str
    scratch: Scratch
    last_coat: str
    last_panel: str
    pad_coat: str
    pad_panel: str
    seen: str
    seen_panel: str


def job(draw: Draw, shop: Shop) -> SurfaceJob:
    """The numbers of one apprentice, whose id the draw comes from."""
    start, finish = draw.until(
        lambda: (draw.one_of(STARTS), draw.one_of(FINISHES)),
        lambda pair: len(ladder(*pair, shelf=SHELF)) >= FEWEST_STEPS and len(next_papers(*pair)) == 1,
    )
    scratch = draw.until(
        lambda: Scratch(draw.one_of(COARSE), draw.one_of(FINE), draw.one_of(("3/16 in", "3/32 in")), draw.one_of((True, False))),
        can_be_asked,
    )
    return SurfaceJob(
        slip=_slip(draw),
        state=draw.one_of(STATES),
        state_panel=_panel(draw, shop),
        start=start,
        finish=finish,
        scratch=scratch,
        last_coat=draw.one_of(COATS),
        last_panel=_panel(draw, shop),
        pad_coat=draw.one_of(PADDED),
        pad_panel=_panel(draw, shop),
        seen=draw.one_of(SEEN),
        seen_panel=_panel(draw, shop),
    )


def next_papers(start: str, finish: str, shelf: Sequence[str] = SHELF) -> list[str]:
    """All papers of a shelf that may come next on a ladder with the fewest papers."""
    fewest = len(ladder(start, finish, shelf=shelf))
    return [
        name
        for name in shelf
        if grade(finish) <= grade(name) < grade(start)
        and not is_leap(start, name)
        and 1 + len(ladder(name, finish, shelf=shelf)) == fewest
    ]


def passes(one: Scratch) -> int:
    """Passes until the scratch is gone."""
    return passes_to_clear(one.coarse, one.fine, machine=one.machine, interface_pad=one.interface_pad)


def can_be_asked(one: Scratch) -> bool:
    """Whether the second paper is finer, few enough passes do, and the two decimals on paper give the same count."""
    if grade(one.fine) >= grade(one.coarse) or passes(one) > MOST_PASSES:
        return False
    depth_um = float(scratch_depth_um(grade(one.coarse).grain_um, machine=one.machine))
    each_um = float(removed_um(grade(one.fine).grain_um, machine=one.machine, interface_pad=one.interface_pad))
    return ceil(round(depth_um, 2) / round(each_um, 2)) == passes(one)


def fits(next_coat: str, paper: str) -> str:
    """Whether a paper's scratch is "right" before this coat, "too coarse" or "too fine"."""
    row = final_scratch(next_coat)
    if grade(paper) > grade(row.coarsest):
        return "too coarse"
    return "too fine" if grade(paper) < grade(row.finest) else "right"


def pad_fits(next_coat: str, pad: str) -> str:
    """The same for a scuff pad, both ends of which must fit."""
    known = pads()[pad]
    return next((said for said in (fits(next_coat, known.coarsest), fits(next_coat, known.finest)) if said != "right"), "right")


def rule(first: str, then: str) -> Rule:
    """The rule of the trade between two tasks."""
    return next(one for one in plan().rules if (one.first, one.then) == (first, then))


def told(one: Rule) -> str:
    """The reason of a rule, in words that a learner knows."""
    return PLAINER.get(one.reason, one.reason)


def part_of(tasks: Iterable[str]) -> Job:
    """A few tasks as a job of their own."""
    return make_job("part", "Part of a job", tasks)


def too_early(order: Sequence[str], task: str, before: str) -> tuple[str, ...]:
    """The order with one task moved up to just before another; what must follow it at once comes along."""
    follows = part_of(order).follows
    moved = [task, *([follows[task].then] if task in follows else [])]
    left = [one for one in order if one not in moved]
    at = left.index(before)
    return (*left[:at], *moved, *left[at:])


def _slip(draw: Draw) -> HastyOrder:
    extras = [one for one in EXTRAS if draw.one_of((True, False))]
    name = draw.one_of(tuple(SLIPS))
    whole = part_of((*BASE, *extras))
    order = too_early(good_order(whole), *SLIPS[name])
    wrong = first_violation(whole, order)
    assert wrong is not None
    return HastyOrder(name, order, wrong)


def _panel(draw: Draw, shop: Shop) -> str:
    return shop.vehicle.panel(draw.one_of(PANELS)).name
