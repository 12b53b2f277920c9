"""What is guessed before each idea of the surface lesson, and the live picture that answers it."""

from __future__ import annotations

import ipywidgets as widgets

from refinishlib.bench.fields import choice_field, slider_field
from refinishlib.course.guess import Guess, moving
from refinishlib.course.lessons.surface import figures
from refinishlib.course.lessons.surface.job import COATS, rule, told
from refinishlib.prep.grades import grade
from refinishlib.prep.order import plan
from refinishlib.prep.removal import passes_to_clear, removed_um, scratch_depth_um
from refinishlib.shop.shop import Shop

EARLY = ("sand", "nothing", "edge by hand", "scuff with paste", "protect edges and trim", "rinse")
HALF = 0.5
MOST_PASSES = 24

SOURCES = {
    "HALF": "definition",
    "MOST_PASSES": "teaching value: nobody goes over a place more often",
}


def _grease(shop: Shop) -> tuple[str, str]:
    return "it goes into the scratches", told(rule("degrease", "sand"))


def _watch_grease(shop: Shop) -> widgets.Widget:
    return moving(
        lambda task: figures.sanded_first(shop, task), choice_field("Straight after the wash", EARLY, EARLY[0])
    )


def _fit(shop: Shop) -> tuple[str, str]:
    return "before any paper touches it", told(rule("test fit", "sand"))


def _watch_fit(shop: Shop) -> widgets.Widget:
    return moving(
        lambda task: figures.before_and_after(shop, task), choice_field("Task", figures.NEW_PART[1:-1], "test fit")
    )


def _left(shop: Shop) -> tuple[str, str]:
    depth = float(scratch_depth_um(grade(figures.COARSE).grain_um))
    left = depth - float(removed_um(grade(figures.FINE).grain_um, passes=figures.USUAL_PASSES))
    takes = passes_to_clear(figures.COARSE, figures.FINE)
    happens = "nothing" if left <= 0 else "more than half" if left > HALF * depth else "less than half"
    return happens, f"{left:.0f} of {depth:.0f} µm are left. It takes {takes} passes to get to the ground of it."


def _watch_left(shop: Shop) -> widgets.Widget:
    return moving(
        lambda coarse, fine, passes: figures.scratch(shop, coarse, fine, int(passes)),
        choice_field("Scratch that is there", ("P80", "P120", "P180", "P240"), figures.COARSE),
        choice_field("Next paper", ("P180", "P240", "P320", "P400", "P500", "P600", "P800"), figures.FINE),
        slider_field("Passes", 0, MOST_PASSES, figures.USUAL_PASSES),
    )


def _wet(shop: Shop) -> tuple[str, str]:
    look = plan().tasks["scuff with paste"].look.split(";")[0]
    return "nobody knows yet", f"{look}."


def _watch_wet(shop: Shop) -> widgets.Widget:
    return moving(lambda coat: figures.pads_before(shop, coat), choice_field("What comes next", COATS, figures.COAT))


GUESSES = {
    "grease": Guess(
        "Ivo sands a door that nobody wiped with cleaner. What happens to the grease?",
        ("the paper takes it off", "it goes into the scratches", "nothing"),
        _grease,
        _watch_grease,
    ),
    "fit": Guess(
        "The new door is out of its box. When do you hang it to see if it fits?",
        ("before any paper touches it", "when it is sanded", "when it is painted"),
        _fit,
        _watch_fit,
    ),
    "left": Guess(
        "A P80 scratch is on the panel. You go over it four times with P320. How much of the scratch is left?",
        ("nothing", "less than half", "more than half"),
        _left,
        _watch_left,
    ),
    "wet": Guess(
        "You scuff a fold with pad and paste. It is wet, and looks dull all over. Is it dull?",
        ("yes", "nobody knows yet", "no"),
        _wet,
        _watch_wet,
    ),
}
