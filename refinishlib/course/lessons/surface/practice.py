"""Practice for the surface lesson. The working is the trade's own rules and the engine's numbers put into words."""

from __future__ import annotations

from refinishlib.course.draw import Draw
from refinishlib.course.lessons.surface.figures import NEW_PART
from refinishlib.course.lessons.surface.job import (
    FINISHES,
    SHELF,
    STARTS,
    Scratch,
    can_be_asked,
    next_papers,
    pad_fits,
    part_of,
    passes,
    told,
)
from refinishlib.course.practice import Drill, Problem, step
from refinishlib.course.question import Choice, Number
from refinishlib.entry import BadEntry
from refinishlib.picture.table import html_table
from refinishlib.prep.grades import Grade, grade, grades, pads
from refinishlib.prep.ladder import ladder, skipped
from refinishlib.prep.removal import removed_um, scratch_depth_um
from refinishlib.prep.scratch import final_scratches
from refinishlib.shop.shop import Shop

COUNT = Number("number", "")
FITS = ("right", "too coarse", "too fine")
YES, NO = "yes", "no"
CLEANER, AIR, PAPER = "cleaner, further out", "the air gun", "sanding paper"
WORK = (*NEW_PART, "clean the inside edges", "protect edges and trim", "base", "flash the base", "clear", "cure", "unmask")
PLACES = ("the fold", "the jamb", "a corner", "a recess")
STEP_UM = 0.06
MISSING = 2
COARSEST, FINEST = "P120", "P1000"

SOURCES = {
    "STEP_UM": "teaching value: what rounding an entry to its tenth does, micrometres",
    "MISSING": "teaching value: papers that a shelf is out of",
    "COARSEST": "teaching value: papers of surface work",
    "FINEST": "teaching value: papers of surface work",
}


def _clean(draw: Draw, shop: Shop) -> Problem:
    sanded_cm = draw.step(10, 60, 5)
    tape_cm = sanded_cm + draw.step(5, 30, 5)
    cleaned_cm = draw.one_of((sanded_cm, tape_cm - 5, tape_cm, tape_cm + 10))
    dry = draw.one_of((True, False))
    far = cleaned_cm >= tape_cm
    what = CLEANER if not far else PAPER if dry else AIR
    wet = "It was rinsed and blown dry." if dry else "It was rinsed. Water stands in the seam."
    return Problem(
        f"<p>You will sand out to <b>{sanded_cm:g} cm</b>. The tape must hold as far as <b>{tape_cm:g} cm</b>. The "
        f"cleaner went as far as <b>{cleaned_cm:g} cm</b>. {wet}</p><p>What does the panel need next?</p>",
        (
            step(
                "Clean as far as the tape?",
                Choice((YES, NO)),
                YES if far else NO,
                "hold where the cleaner went against where the tape must hold.",
                f"Cleaned to {cleaned_cm:g} cm, tape to {tape_cm:g} cm: {YES if far else NO}.",
            ),
            step(
                "Next comes",
                Choice((CLEANER, AIR, PAPER)),
                what,
                "it must be clean, far enough out. Then it must be dry. Then you may sand.",
                f"So next comes {what}.",
                *([(AIR, "first the cleaner. Water does not take grease off.")] if what == CLEANER else []),
                *([(PAPER, "see what is still on the panel.")] if what != PAPER else []),
            ),
        ),
    )


def _first_and_last(draw: Draw, shop: Shop) -> Problem:
    panel = draw.one_of(shop.vehicle.panels).name
    rules = part_of(WORK).rules
    one, two = draw.one_of([(rule, after) for rule in rules for after in rules if rule.then == after.first])
    tasks = (one.first, one.then, two.then)
    said = ", ".join(f"<b>{task}</b>" for task in sorted(tasks))
    options = Choice(tasks)
    return Problem(
        f"<p>Three tasks on the {panel}: {said}.</p><p>Which one is first, and which one is last?</p>",
        (
            step("First", options, tasks[0], "ask which one must not wait for another.", f"First: {tasks[0]}. {told(one)}"),
            step("Last", options, tasks[2], "ask which one the others would spoil.", f"Last: {tasks[2]}. {told(two)}"),
        ),
    )


def _next_paper(draw: Draw, shop: Shop) -> Problem:
    def drawn() -> tuple[str, str, tuple[str, ...]]:
        gone = {draw.one_of(SHELF) for _ in range(MISSING)}
        return draw.one_of(STARTS), draw.one_of(FINISHES), tuple(paper for paper in SHELF if paper not in gone)

    start, finish, shelf = draw.until(drawn, lambda made: _one_way(*made))
    [right] = next_papers(start, finish, shelf)
    names = [one.name for one in ladder(start, finish, shelf=shelf)]
    left_out = skipped(start, right)
    said = f"It skips {left_out[0]} and no more." if left_out else "It skips none."
    return Problem(
        f"<p>The scratch is <b>{start}</b>. The last paper is <b>{finish}</b>. You may skip one usual paper at a "
        f"time. These are usual: {', '.join(SHELF)}.</p><p>On the shelf today: <b>{', '.join(shelf)}</b>.</p>"
        "<p>Which paper comes next, if you want as few as you can?</p>",
        (
            step(
                "Papers that it takes",
                COUNT,
                len(names),
                "count down the usual papers. Leave out one, then take one.",
                f"The shortest ladder: {', '.join(names)}. So it takes {len(names)}.",
                near_share=0.0,
            ),
            step(
                "Next paper",
                Choice(SHELF),
                right,
                "go down the usual papers. Leave out one at most.",
                f"Next is {right}. {said}",
                *([(finish, "that is the last paper. It is too far from the scratch.")] if finish != right else []),
            ),
        ),
    )


def _one_way(start: str, finish: str, shelf: tuple[str, ...]) -> bool:
    """Whether the shelf has the last paper, and exactly one paper that may come next."""
    try:
        return finish in shelf and len(next_papers(start, finish, shelf)) == 1
    except BadEntry:  # a gap that no allowed step gets across
        return False


def _passes(draw: Draw, shop: Shop) -> Problem:
    machines, papers = ("3/16 in", "3/32 in"), [one.name for one in grades("P").values() if _worked_with(one)]
    one = draw.until(
        lambda: Scratch(draw.one_of(papers), draw.one_of(papers), draw.one_of(machines), draw.one_of((True, False))),
        can_be_asked,
    )
    depths = {name: float(scratch_depth_um(grade(name).grain_um, machine=one.machine)) for name in (one.coarse, one.fine)}
    each = float(removed_um(grade(one.fine).grain_um, machine=one.machine, interface_pad=one.interface_pad))
    depth, right = depths[one.coarse], passes(one)
    soft = "with a soft pad" if one.interface_pad else "without a soft pad"
    return Problem(
        f"<p>A <b>{one.coarse}</b> scratch is on the panel, from the {one.machine} orbit. One pass of <b>{one.fine}</b>, "
        f"{soft}, takes off <b>{each:.2f} µm</b>. How many whole passes until the scratch is gone?</p>"
        + html_table(["paper", "its scratch, µm deep"], [[name, f"{deep:.2f}"] for name, deep in depths.items()]),
        (
            step(
                "Depth to take off, in µm",
                COUNT,
                depth,
                "look for the depth of the scratch that is there.",
                f"The {one.coarse} scratch is {depth:.2f} µm deep.",
                near=STEP_UM,
            ),
            step(
                "Passes",
                COUNT,
                right,
                "divide the depth by what one pass takes off. Round up.",
                f"{depth:.2f} / {each:.2f} = {depth / each:.2f}. Round up: {right} passes.",
                (right - 1, "the ground of the scratch is still there. Round up."),
                near_share=0.0,
            ),
        ),
    )


def _worked_with(one: Grade) -> bool:
    return grade(FINEST) <= one <= grade(COARSEST)


def _which_pad(draw: Draw, shop: Shop) -> Problem:
    row = draw.one_of([one for one in final_scratches().values() if len(_right_pads(one.name)) == 1])
    plastic = "plastic" in row.surface
    panel = draw.one_of([one.name for one in shop.vehicle.panels if (one.material == "plastic") == plastic])
    place = draw.one_of(PLACES)
    rows = [
        [pad.name, pad.coarsest if pad.coarsest == pad.finest else f"{pad.coarsest} to {pad.finest}"]
        for pad in pads().values()
    ]
    maroon = pad_fits(row.name, "maroon pad")
    [right] = _right_pads(row.name)
    return Problem(
        f"<p>{place[:1].upper()}{place[1:]} of the {panel}: {row.surface}. Next comes <b>{row.before}</b>. It takes a "
        f"scratch from <b>{row.coarsest}</b> to <b>{row.finest}</b>.</p><div class='refinish-words'>{html_table(['pad', 'scratches like'], rows)}</div>"
        "<p>Which pad do you take there?</p>",
        (
            step(
                "The maroon pad is",
                Choice(FITS),
                maroon,
                "a smaller P number is a coarser scratch.",
                f"The maroon pad scratches like P320 to P400. For this it is {maroon}.",
            ),
            step(
                "You take",
                Choice(tuple(pads())),
                right,
                "its scratch must lie between the two papers that are told.",
                f"So you take the {right}.",
            ),
        ),
    )


def _right_pads(next_coat: str) -> list[str]:
    return [pad for pad in pads() if pad_fits(next_coat, pad) == "right"]


DRILLS = (
    Drill("Ready for paper?", _clean),
    Drill("First and last", _first_and_last),
    Drill("Next paper", _next_paper),
    Drill("Passes", _passes),
    Drill("Which pad", _which_pad),
)
