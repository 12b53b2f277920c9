"""Too much in the cup: which way out is the better one, by what each does to the colour, in a painter's words.

The judgement is ``colour.pour_error``'s; here it is only put into words. The colour engine is loaded when it is asked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from typing import Literal

from refinishlib.mixing.rescue import Finish
from refinishlib.mixing.scale import Way
from refinishlib.shop.paint import Formula

WayOut = Literal["rescue", "leave"]


@dataclass(frozen=True)
class SlipAdvice:
    """Which way out is the better one.

    best : "rescue" or "leave"
    reason : why, in a sentence
    rescue, leave : what each does to the colour, in a sentence
    meant, left, rescued : the three colours on a screen, #rrggbb, where the left one is off the most
    place : where that is, such as "on the flop"; empty for a solid colour
    """

    best: WayOut
    reason: str
    rescue: str
    leave: str
    meant: str
    left: str
    rescued: str
    place: str


def advise(formula: Formula, in_cup_g: Sequence[float], wanted_g: float, cup_g: float = inf) -> SlipAdvice:
    """Judge an over-pour by its colour.

    Parameters
    ----------
    in_cup_g : what is in the cup of each toner, in pouring order
    wanted_g : what the job asked for
    cup_g : what the cup holds

    >>> from refinishlib.shop.shop import load
    >>> advise(load().colour("Tarn Evening, as built"), [310, 92.5, 0, 0], 500).best
    'leave'
    """
    import numpy as np

    from refinishlib.colour import optics, predict, surface
    from refinishlib.colour.pour_error import ALLOWED, accept_or_rescue
    from refinishlib.colour.verdict import FACE_UP_TO_DEG, FLOP_FROM_DEG, direction
    from refinishlib.picture.ink import on_screen

    choice = accept_or_rescue(formula, in_cup_g, wanted_g, cup_g=cup_g)
    mixes = np.array([formula.weights, choice.accepted.own_g, choice.rescued.own_g])
    meant, left, rescued = predict.lab(optics.mixture(formula.toners, mixes))[:, 0]
    worst = int(choice.accepted_difference[0].argmax())
    angle = surface.ANGLES_DEG[worst]
    place = ""
    if formula.kind != "solid":
        place = "on the face" if angle <= FACE_UP_TO_DEG else "on the flop" if angle >= FLOP_FROM_DEG else "straight on"
    off_left, off_rescued = float(choice.accepted_difference.max()), float(choice.rescued_difference.max())
    turns = f"{direction(meant[worst], left[worst])} {place}".strip()
    leave = _leave(off_left, ALLOWED, turns)
    mend = _rescue(choice.rescued, off_rescued, ALLOWED)
    fits = choice.accepted.total_g <= cup_g
    if choice.word == "accept" and fits:
        best: WayOut = "leave"
        more = choice.rescued.total_g - choice.accepted.total_g
        reason = f"nobody will see the difference, and a rescue would take {more:.0f} g more paint."
    elif not fits:
        best, reason = "rescue", "left as it is, the rest does not fit into the cup."
    else:
        best, reason = "rescue", f"left as it is, it would show: {turns}."
    shown = [on_screen(lab[worst]) for lab in (meant, left, rescued)]
    return SlipAdvice(best, reason, mend, leave, shown[0], shown[1], shown[2], place)


def _leave(off: float, allowed: float, turns: str) -> str:
    if off <= allowed:
        return f"The colour stays as good as right: off by {off:.2f}, and up to {allowed:.2f} passes."
    return f"The colour turns {turns}: off by {off:.2f}, and only up to {allowed:.2f} passes."


def _rescue(plan: Finish, off: float, allowed: float) -> str:
    if plan.fits:
        return "The colour comes out as meant."
    if off <= allowed:
        return f"The cup is full before every ratio is right, but nobody will see what stays: {off:.2f}."
    return f"The cup is too small: filled to the brim, the colour is still off by {off:.2f}. Take a larger one."


def colour_rule_g(formula: Formula, readability_g: float, way: Way) -> float:
    """The smallest mix of which nobody sees what the scale rounds, g.

    >>> from refinishlib.shop.shop import load
    >>> colour_rule_g(load().colour("Kiln Red, as built"), 0.1, "cumulative") < 100
    True
    """
    from refinishlib.colour.pour_error import smallest_mix_by_colour

    return smallest_mix_by_colour(formula, readability_g, way=way)


def load_engine() -> None:
    """Load the colour engine, so that the first slip need not wait for it."""
    from refinishlib.shop.shop import load

    formula = load().colours[0]
    advise(formula, formula.weights, 1.0)
