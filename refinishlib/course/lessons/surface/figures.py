"""The pictures of the surface lesson: an order that goes wrong, a scratch that goes, and what fits before a coat."""

from __future__ import annotations

from html import escape

from refinishlib.course.lessons.surface.job import BASE, pad_fits, part_of, told, too_early
from refinishlib.picture.bars import Bar, bars
from refinishlib.picture.table import html_table
from refinishlib.prep.grades import grade, pads
from refinishlib.prep.ladder import is_leap
from refinishlib.prep.order import first_violation
from refinishlib.prep.removal import removed_um, scratch_depth_um
from refinishlib.prep.scratch import final_scratch
from refinishlib.shop.shop import Shop

NEW_PART = (
    "wash",
    "test fit",
    "degrease",
    "rinse",
    "blow dry",
    "sand",
    "edge by hand",
    "scuff with paste",
    "rinse again",
    "dry again",
    "mask fully",
    "final clean",
    "blow out",
    "tack",
    "sealer",
)
COARSE, FINE = "P80", "P320"
USUAL_PASSES = 4
COAT = "blend into old clear"

SOURCES = {
    "NEW_PART": "common practice, no source: the middle of a new part's job",
    "COARSE": "teaching value: a scratch that everybody has seen",
    "FINE": "teaching value: the paper that is reached for too soon",
    "USUAL_PASSES": "common practice, no source: twice along and twice across",
    "COAT": "definition",
}


def sanded_first(shop: Shop, task: str = "sand") -> str:
    """The work on a panel with one task done straight after the wash: where it goes wrong, and why."""
    job = part_of(BASE)
    order = BASE if task == "nothing" else too_early(BASE, task, "degrease")
    wrong = first_violation(job, order)
    rows = [[at, one, "here" if wrong and wrong.step == at else ""] for at, one in enumerate(order, 1)]
    said = "Nothing goes wrong." if wrong is None else told(wrong.rule) if wrong.rule else wrong.sentence
    table = html_table(["step", "task", "goes wrong"], rows, caption=f"Straight after the wash: {task}")
    return f"{_words(table)}<p><b>{escape(said)}</b></p>"


def before_and_after(shop: Shop, task: str = "test fit") -> str:
    """What must be done before a task, and what must wait for it, each with its reason."""
    rules = part_of(NEW_PART).rules
    rows = [[f"after: {rule.first}", told(rule)] for rule in rules if rule.then == task and not rule.at_once]
    rows += [[f"before: {rule.then}", told(rule)] for rule in rules if rule.first == task and not rule.at_once]
    return _words(html_table([task, "why"], rows, caption=f"When it is time for: {task}"))


def scratch(shop: Shop, coarse: str = COARSE, fine: str = FINE, passes: int = USUAL_PASSES) -> str:
    """How much of a scratch is left when a finer paper has gone over it."""
    depth = float(scratch_depth_um(grade(coarse).grain_um))
    taken = float(removed_um(grade(fine).grain_um, passes=passes))
    left = max(0.0, depth - taken)
    rows = [
        Bar(f"{coarse} scratch", depth, f"{depth:.1f} µm deep", look="soft"),
        Bar(f"{fine}, {passes:g} passes", taken, f"takes off {taken:.1f} µm"),
        Bar("left of the scratch", left, f"{left:.1f} µm", look="warn" if left else "plain"),
    ]
    leap = "This is a leap: two usual papers or more lie between." if is_leap(coarse, fine) else "This is no leap."
    return bars(rows, f"{coarse}, then {fine}") + f"<p>{leap}</p>"


def pads_before(shop: Shop, next_coat: str = COAT) -> str:
    """The scratch of each pad, between the coarsest and the finest that a coat takes."""
    row = final_scratch(next_coat)
    rows = [Bar(f"coarsest: {row.coarsest}", *_grain(row.coarsest), look="soft")]
    for pad in pads().values():
        said = pad_fits(next_coat, pad.name)
        words = f"{pad.name}, like {pad.coarsest}"
        rows.append(Bar(words, grade(pad.coarsest).grain_um, said, look="plain" if said == "right" else "warn"))
    rows.append(Bar(f"finest: {row.finest}", *_grain(row.finest), look="soft"))
    return bars(rows, f"Next: {row.before}, on {row.surface}")


def _words(table: str) -> str:
    return f'<div class="refinish-words">{table}</div>'


def _grain(paper: str) -> tuple[float, str]:
    grain = grade(paper).grain_um
    return grain, f"grain {grain:.0f} µm"
