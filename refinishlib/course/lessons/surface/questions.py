"""The questions of the surface lesson, and the values that compete for each answer."""

from __future__ import annotations

from html import escape
from math import ceil

from refinishlib.course.lessons.surface.job import BASE, EXTRAS, SHELF, SurfaceJob, next_papers, passes
from refinishlib.course.question import Number, Order, Part, Question, decision
from refinishlib.picture.table import html_table
from refinishlib.prep.grades import grade
from refinishlib.prep.removal import removed_um, scratch_depth_um
from refinishlib.prep.scratch import final_scratch

COUNT = Number("number", "", 0, 1000)

CLEAN = "clean before you sand"
ORDER = "the order of work"
LADDER = "the paper ladder"
LAST = "the last scratch"
PADS = "pads in the corners"

SLIP_WHY = {
    "sanded on grease": "the paper rubs the grease into the scratches",
    "water first": "water alone does not take grease off",
    "taped while wet": "tape does not stick where it is wet",
    "nothing taped": "the sander may slip on to the next part",
    "paste first": "the sander works the paste into the scratches",
    "rinsed before the paste": "the paste would stay on and keep paint off",
}
CLEAN_AGAIN, DRY, SAND = "clean it again, and wider", "blow it dry now", "begin to sand"
TAPE, CLOGS, DRIES, READY = (
    "tape must hold out there too",
    "the paper is full of what was not cleaned off",
    "water that dries by itself leaves what it carries",
    "it is clean and dry as far as the tape goes",
)
WATER_ENOUGH, PAPER_CLEANS = "water has taken all of it off", "the paper takes the rest off anyway"
DOOR_TASKS = (
    "hang the door to see if it fits",
    "last wipe, blow out, then tack",
    "mask what stays clean",
    "rinse and blow dry",
    "rinse and dry once more",
    "rub the edges by hand",
    "sand the flat by machine",
    "scuff the corners with pad and paste",
    "wash with water and soap",
    "wipe with cleaner, out round the edges",
)
TAKES_OUT, COAT_HIDES, FINER_BETTER, EACH_ONE = (
    "it still takes out the scratch that is there",
    "the coat hides what is left",
    "a finer paper is always the safer one",
    "each paper on the shelf has its turn",
)
PAPERS = ("P180", "P240", "P320", "P400", "P600", "P800", "P1500", "P2000")
HIDES, NO_FILL, CLEAR_ALONE = (
    "sealer covers this scratch, and holds on to it",
    "colour fills nothing, so the scratch must be fine already",
    "only clear lies over the scratch, and it shows each one",
)
SMOOTH_HOLDS, COARSE_HOLDS = "the smoother it is, the better paint holds", "the deeper the scratch, the better it is"
MAROON, GREY = "a maroon pad, with paste", "a grey pad, with paste"
MACHINE, NOTHING = "the machine, on its edge", "nothing: paint runs in there"
AS_PAPER_320 = "it scratches like P320, and the sealer covers that"
AS_PAPER_800 = "it scratches like P800, and clear shows what is coarser"
QUICK, HARD_TO_SEE = "it is the quickest way", "nobody looks in there"
SCUFF, LOOK, GO_ON = "scuff on, there", "rinse, dry, then look", "go on: it is ready"
PEELS, WET_HIDES, DULL = (
    "paint peels where it is bright",
    "water hides what is still bright",
    "it is dull all over, and it was seen dry",
)
PASTE_DID, FLAT_FIRST = "the paste has been there already", "a flat panel is what counts, dull is not enough"


def questions(mine: SurfaceJob) -> tuple[Question, ...]:
    """The graded questions with this apprentice's numbers."""
    return (
        Question("1.1", "What next?", CLEAN, _state_text(mine), _state()),
        Question("2.1", "Too early", ORDER, _slip_text(mine), _slip(mine)),
        Question("2.2", "A new door", ORDER, _order_text(), (Part("order", "Order of work", Order(DOOR_TASKS), 2),)),
        Question("3.1", "The next paper", LADDER, _next_text(mine), _next(mine)),
        Question("3.2", "How often over it?", LADDER, _passes_text(mine), _passes(mine)),
        Question("3.3", "The last paper", LAST, _last_text(mine), _last()),
        Question("4.1", "In the fold", PADS, _pad_text(mine), _pad()),
        Question("4.2", "Is it ready?", PADS, _seen_text(mine), _seen()),
    )


# --- the job cards ---------------------------------------------------------------------------------------------------


def _state_text(mine: SurfaceJob) -> str:
    told = {
        "only where it is sanded": "It was washed, wiped with cleaner, rinsed and blown dry. The cleaner went as far "
        "as you will sand. The tape will stand a hand's width further out.",
        "paper clogs": "It came in from the road this morning. Ivo has begun to sand. After three strokes the first "
        "paper is full of grey lumps.",
        "wet after the rinse": "It was washed. It was wiped with cleaner, out over the edges and as far as the tape "
        "goes. It was rinsed. Drops stand on it, and water stands in the seam.",
        "clean and dry": "It was washed. It was wiped with cleaner, out over the edges and as far as the tape goes. "
        "It was rinsed and blown dry, the seams too.",
    }[mine.state]
    return f"<p>Look at the <b>{mine.state_panel}</b>.</p><p>{told}</p><p>What do you do next, and why?</p>"


def _slip_text(mine: SurfaceJob) -> str:
    rows = [[at, task] for at, task in enumerate(mine.slip.order, 1)]
    return (
        "<p>Ivo wrote this list for the left front door. It hangs on the car, and colour will run out on it.</p>"
        "<p>One task stands too early. Which one, and what comes of it?</p>"
        f'<div class="refinish-words">{html_table(["", "what he does"], rows)}</div>'
    )


def _order_text() -> str:
    listed = "<br>".join(f"<code>{escape(task, quote=False)}</code>" for task in DOOR_TASKS)
    return (
        "<p>The new left rear door comes out of its box. It gets sealer first, then Kiln Red.</p>"
        f"<p>Put these tasks in an order that works.</p><p>{listed}</p>"
    )


def _next_text(mine: SurfaceJob) -> str:
    shelf = ", ".join(SHELF)
    return (
        f"<p>There is a <b>{mine.start}</b> scratch on the panel. Your last paper will be <b>{mine.finish}</b>.</p>"
        f"<p>On the shelf: {shelf}.</p>"
        "<p>You want as few papers as you can. No scratch may stay. Which paper comes next, and why?</p>"
    )


def _passes_text(mine: SurfaceJob) -> str:
    one = mine.scratch
    soft = "with a soft pad" if one.interface_pad else "without a soft pad"
    rows = [
        [
            name,
            f"{grade(name).grain_um:.1f}",
            f"{float(scratch_depth_um(grade(name).grain_um, machine=one.machine)):.2f}",
            f"{_per_pass_um(mine, name):.2f}",
        ]
        for name in (one.coarse, one.fine)
    ]
    return (
        f"<p>The {one.machine} orbit left a <b>{one.coarse}</b> scratch. You go over it with <b>{one.fine}</b>, "
        f"{soft}.</p><p>How many whole passes does it take until that scratch is gone?</p>"
        + html_table(["paper", "its grain, µm", "its scratch, µm deep", "one pass takes off, µm"], rows)
    )


def _last_text(mine: SurfaceJob) -> str:
    row = final_scratch(mine.last_coat)
    return (
        f"<p>The <b>{mine.last_panel}</b>: {row.surface}.</p><p>Next comes: <b>{row.before}</b>.</p>"
        "<p>Which is the last paper on the flat, and why?</p>"
    )


def _pad_text(mine: SurfaceJob) -> str:
    row = final_scratch(mine.pad_coat)
    return (
        f"<p>There is a fold at the edge of the <b>{mine.pad_panel}</b>. No sander gets into it.</p>"
        f"<p>The panel: {row.surface}. Next comes: <b>{row.before}</b>.</p>"
        "<p>What do you use in the fold, and why?</p>"
    )


def _seen_text(mine: SurfaceJob) -> str:
    told = {
        "bright after a dry scuff": "The fold was scuffed dry, then with paste, and rinsed. It is dry now. Most of "
        "it is dull. Some spots still shine.",
        "even, but wet with paste": "The fold was scuffed with paste. It is still wet. It looks dull from end to end.",
        "even when dry": "The fold was scuffed with paste, rinsed and blown dry. It is dull from end to end. The peel "
        "can still be felt.",
    }[mine.seen]
    return f"<p>Look at the fold of the <b>{mine.seen_panel}</b>.</p><p>{told}</p><p>What now, and why?</p>"


# --- the values that compete for each answer --------------------------------------------------------------------------


def _state() -> tuple[Part, ...]:
    ways = (CLEAN_AGAIN, DRY, SAND)
    whys = (TAPE, CLOGS, DRIES, READY, WATER_ENOUGH, PAPER_CLEANS)
    return decision("next_step", "What you do next", ways, whys, values={way: way for way in ways})


def _slip(mine: SurfaceJob) -> tuple[Part, ...]:
    wrong = mine.slip.wrong
    assert wrong.rule is not None
    values = {
        "too early": wrong.task,
        "what should be done by then": wrong.rule.first,
        "the one before it": mine.slip.order[wrong.step - 2],
    }
    whys = SLIP_WHY.values()
    return decision("too_early", "This stands too early", (*BASE, *EXTRAS), whys, why="What comes of it", values=values)


def _next(mine: SurfaceJob) -> tuple[Part, ...]:
    [right] = next_papers(mine.start, mine.finish)
    at = SHELF.index(right)
    values = {"skips one at most": right, "one paper too far": SHELF[at + 1], "straight to the last": mine.finish}
    if values["one paper too far"] == mine.finish:
        del values["straight to the last"]
    if SHELF[at - 1] != mine.start:
        values["the very next one"] = SHELF[at - 1]
    whys = (TAKES_OUT, COAT_HIDES, FINER_BETTER, EACH_ONE)
    return decision("next_paper", "Next paper", SHELF, whys, values=values)


def _passes(mine: SurfaceJob) -> tuple[Part, ...]:
    one = mine.scratch
    depth_um = float(scratch_depth_um(grade(one.coarse).grain_um, machine=one.machine))
    right = passes(one)
    values = {
        "until it is gone": right,
        "rounded down": right - 1,
        "by the coarse paper": ceil(depth_um / _per_pass_um(mine, one.coarse)),
        "by the grain": ceil(grade(one.coarse).grain_um / _per_pass_um(mine, one.fine)),
    }
    return (Part("passes", "Passes", COUNT, 2, "", {name: float(value) for name, value in values.items()}),)


def _per_pass_um(mine: SurfaceJob, paper: str) -> float:
    one = mine.scratch
    return float(removed_um(grade(paper).grain_um, machine=one.machine, interface_pad=one.interface_pad))


def _last() -> tuple[Part, ...]:
    whys = (HIDES, NO_FILL, CLEAR_ALONE, SMOOTH_HOLDS, COARSE_HOLDS)
    return decision("last_paper", "Last paper", PAPERS, whys)


def _pad() -> tuple[Part, ...]:
    ways = (MAROON, GREY, MACHINE, NOTHING)
    return decision("in_the_fold", "In the fold", ways, (AS_PAPER_320, AS_PAPER_800, QUICK, HARD_TO_SEE))


def _seen() -> tuple[Part, ...]:
    ways = (SCUFF, LOOK, GO_ON)
    return decision("what_now", "What you do now", ways, (PEELS, WET_HIDES, DULL, PASTE_DID, FLAT_FIRST))


