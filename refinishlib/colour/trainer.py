"""The eye trainer: two panels, which way is it off? It finds the difference that one's own eye can just tell.

The next pair is always as hard as what was answered so far makes it worth. The threshold is for one's own use: it
depends on screen, room and day, so no mark is ever made of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import verdict
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.reading import HIGHEST_LIGHTNESS, Reading
from refinishlib.colour.verdict import CHROMATIC_FROM, FLOP_FROM_DEG, PAIRS
from refinishlib.entry import BadEntry, number, one_of

AXES = ("lightness", "hue", "flop")
STEEPNESS = 3.5
SLIPS = 0.01
GUESSED = 0.5
FIRST_CIEDE2000 = 1.0
PRIOR_DECADES = 0.5
SMALLEST = 0.1
LARGEST = 10.0
GRID = 401
SETTLED_DECADES = 0.05
FEWEST_TRIALS = 20
MOST_TRIALS = 120
PERCENT = (0.025, 0.975)
TURN_DEG = 1.0
TURN_UP_TO_DEG = 90.0
STEP_UP_TO = 60.0

SOURCES = {
    "AXES": "definition: what a painter says first of a colour, and of its flop",
    "STEEPNESS": "Watson and Pelli (1983), Perception and Psychophysics 33, 113: slope of the Weibull function over "
    "decades of size",
    "SLIPS": "Watson and Pelli (1983): share of answers given without looking",
    "GUESSED": "definition: of two answers half are right by luck",
    "FIRST_CIEDE2000": "teaching value: what is tried first, about what an eye that is not trained tells on a screen",
    "PRIOR_DECADES": "teaching value: a standard deviation of a factor of three, so that the answers soon count more",
    "SMALLEST": "teaching value: no eye tells less, and no screen shows it",
    "LARGEST": "teaching value: whoever does not tell this does not look",
    "GRID": "teaching value: thresholds that are kept in mind, a factor of 1.012 apart",
    "SETTLED_DECADES": "teaching value: a standard deviation of 12 per cent is known well enough to stop",
    "FEWEST_TRIALS": "teaching value: before these nothing is said to be settled",
    "MOST_TRIALS": "teaching value: an eye tires",
    "PERCENT": "definition: the middle 95 of 100",
    "TURN_DEG": "teaching value: a small turn, to see what a turn of this hue is called",
    "TURN_UP_TO_DEG": "teaching value: largest turn of a hue that is looked for",
    "STEP_UP_TO": "teaching value: largest step in CIELAB that is looked for",
}


@dataclass(frozen=True)
class Trial:
    """One pair that was answered. size : CIEDE2000."""

    size: float
    right: bool


@dataclass(frozen=True, eq=False)
class Training:
    """One run: begin, and then in turn `next_pair` and `answered`.

    axis : one of AXES
    panel : the colour that is trained on
    seed : of this run; the same seed and answers give the same pairs
    trials : what was answered
    """

    axis: str
    panel: Reading
    seed: int
    trials: tuple[Trial, ...] = ()


@dataclass(frozen=True, eq=False)
class Pair:
    """Two panels to look at.

    panel_lab, card_lab : CIELAB for D65, (angles, 3), to be drawn by a picture
    size : CIEDE2000 between them where they differ
    answers : the two words to choose from, of the card
    right : which of them is right
    """

    panel_lab: NDArray[np.float64]
    card_lab: NDArray[np.float64]
    size: float
    answers: tuple[str, str]
    right: str


@dataclass(frozen=True)
class Threshold:
    """What one's eye just tells: about eight of ten such pairs are answered right.

    size : CIEDE2000, the median of what the answers leave possible
    low, high : 19 of 20 lie between
    trials : answers so far
    settled : whether more of them would change little
    """

    size: float
    low: float
    high: float
    trials: int
    settled: bool


def begin(axis: str, panel: Reading, *, seed: int = 0) -> Training:
    """A run for one axis and one colour.

    Parameters
    ----------
    axis : "lightness", "hue" or "flop"
    panel : reading of the colour, at any angles; the flop needs 75 or 110 degrees

    Raises
    ------
    BadEntry : another axis, a flop without its angles

    >>> from refinishlib.colour.reading import from_lab
    >>> next_pair(begin("lightness", from_lab({45: (40.0, 30.0, 10.0)}))).answers
    ('lighter', 'darker')
    """
    one_of("axis", axis, AXES)
    if axis == "flop" and not any(angle >= FLOP_FROM_DEG for angle in panel.angles_deg):
        given = ", ".join(map(str, panel.angles_deg))
        raise BadEntry(f"aspecular angles: {given} was given, allowed for the flop is one of 75 and 110 among them.")
    return Training(axis, panel, seed)


def next_pair(training: Training) -> Pair:
    """The pair that tells most about the eye.

    >>> from refinishlib.colour.reading import from_lab
    >>> pair = next_pair(begin("hue", from_lab({45: (40.0, 30.0, 10.0)}), seed=3))
    >>> pair.answers, round(pair.size, 2), float(ciede2000(pair.panel_lab, pair.card_lab).round(2)[0])
    (('yellower', 'bluer'), 1.0, 1.0)
    """
    size = next_size(training.trials)
    up = bool(np.random.default_rng([training.seed, len(training.trials)]).integers(2))
    panel = training.panel.lab
    card = panel.copy()
    for i, angle in enumerate(training.panel.angles_deg):
        if training.axis != "flop" or angle >= FLOP_FROM_DEG:
            card[i] = off_by(panel[i], "hue" if training.axis == "hue" else "lightness", size if up else -size)
    answers = _answers(training)
    return Pair(panel, card, size, answers, answers[0 if up else 1])


def answered(training: Training, answer: str) -> Training:
    """The run with one more answer to its `next_pair`.

    Raises
    ------
    BadEntry : a word that was not among the answers

    >>> from refinishlib.colour.reading import from_lab
    >>> run = begin("lightness", from_lab({45: (40.0, 30.0, 10.0)}), seed=1)
    >>> easier = answered(run, {"lighter": "darker", "darker": "lighter"}[next_pair(run).right])
    >>> harder = answered(run, next_pair(run).right)
    >>> next_pair(harder).size < next_pair(run).size < next_pair(easier).size
    True
    """
    pair = next_pair(training)
    one_of("answer", answer, pair.answers)
    return replace(training, trials=(*training.trials, Trial(pair.size, answer == pair.right)))


def next_size(trials: Sequence[Trial]) -> float:
    """CIEDE2000 of the pair to show next: the mean of what the answers leave possible, over decades.

    Source
    ------
    QUEST, Watson and Pelli (1983), Perception and Psychophysics 33, 113; placed at the mean as King-Smith et al.
    (1994), Vision Research 34, 885 find best.

    >>> next_size(())
    1.0
    """
    logs, chance = _possible(trials)
    return round(float(np.clip(10 ** (chance @ logs), SMALLEST, LARGEST)), 6)


def threshold(trials: Sequence[Trial]) -> Threshold:
    """What the answers so far say of the eye.

    Source
    ------
    Bayes' rule over the Weibull function, as in QUEST: Watson and Pelli (1983), Perception and Psychophysics 33, 113.

    >>> threshold([Trial(1.0, True), Trial(0.5, False)]).settled
    False
    """
    logs, chance = _possible(trials)
    below = np.cumsum(chance)
    low, middle, high = (float(10 ** np.interp(share, below, logs)) for share in (PERCENT[0], 1 / 2, PERCENT[1]))
    deviation = float(np.sqrt(chance @ np.square(logs - chance @ logs)))
    enough = len(trials) >= FEWEST_TRIALS and deviation <= SETTLED_DECADES
    return Threshold(middle, low, high, len(trials), enough or len(trials) >= MOST_TRIALS)


def chance_of_right(size: ArrayLike, threshold_ciede2000: ArrayLike, *, steepness: float = STEEPNESS) -> NDArray[Any]:
    """How often an eye with this threshold answers a pair of this size right, (...), 0.5-1.

    Source
    ------
    Watson and Pelli (1983), Perception and Psychophysics 33, 113, equation of the Weibull function over the logarithm.

    >>> chance_of_right([0.1, 1.0, 5.0], 1.0).round(2).tolist()
    [0.5, 0.81, 1.0]
    """
    decades = np.log10(np.asarray(size, dtype=float)) - np.log10(np.asarray(threshold_ciede2000, dtype=float))
    seen = 1 - (1 - GUESSED) * np.exp(-(10.0 ** (steepness * decades)))
    found: NDArray[Any] = SLIPS * GUESSED + (1 - SLIPS) * seen
    return found


def off_by(lab: ArrayLike, axis: str, size: float) -> NDArray[np.float64]:
    """The colour (3,) that is off from another by so much in one way: lighter or darker, or turned in hue.

    Parameters
    ----------
    lab : CIELAB, (3,)
    axis : "lightness", or "hue": a turn towards yellower or redder, of a grey towards yellow
    size : CIEDE2000, above 0 for lighter or for the first of the two words

    Raises
    ------
    BadEntry : a size that no such colour is off by

    >>> float(ciede2000([40.0, 30.0, 10.0], off_by([40.0, 30.0, 10.0], "hue", -0.8)).round(6))
    0.8
    """
    from scipy.optimize import brentq

    start = np.asarray(lab, dtype=float)
    wanted = number("size", abs(size), low=0, high=LARGEST)
    sign = np.sign(size) * (_turns_up(start) if axis == "hue" else 1.0)
    coloured = np.hypot(*start[1:]) >= CHROMATIC_FROM
    most = TURN_UP_TO_DEG if axis == "hue" and coloured else STEP_UP_TO

    def moved(by: float) -> NDArray[np.float64]:
        found = start.copy()
        if axis == "lightness":
            found[0] += sign * by
        elif coloured:
            turn = np.radians(sign * by)
            found[1:] = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]]) @ start[1:]
        else:
            found[2] += sign * by
        return found

    def left(by: float) -> float:
        return float(ciede2000(start, moved(by))) - wanted

    if left(most) < 0:
        allowed = f"up to {left(most) + wanted:g}"
        raise BadEntry(f"size: {wanted:g} was given, allowed for the {axis} of this colour is {allowed}.")
    found = moved(float(brentq(left, 0.0, most))) if wanted else start
    if not 0 <= found[0] <= HIGHEST_LIGHTNESS:
        raise BadEntry(f"size: {wanted:g} was given, allowed is what leaves L* from 0 to {HIGHEST_LIGHTNESS:g}.")
    return found


def _possible(trials: Sequence[Trial]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Logarithms of thresholds, and how likely each is after these answers."""
    logs = np.linspace(np.log10(SMALLEST), np.log10(LARGEST), GRID)
    weight = -(((logs - np.log10(FIRST_CIEDE2000)) / PRIOR_DECADES) ** 2) / 2
    if trials:
        right = chance_of_right(np.array([trial.size for trial in trials])[:, None], 10**logs)
        was_right = np.array([trial.right for trial in trials])[:, None]
        weight = weight + np.log(np.where(was_right, right, 1 - right)).sum(axis=0)
    chance = np.exp(weight - weight.max())
    return logs, chance / chance.sum()


def _called(lab: NDArray[Any]) -> tuple[int, float]:
    """Which of PAIRS a turn of this hue is called by, and whether a positive turn is the first word of it."""
    if np.hypot(*lab[1:]) < CHROMATIC_FROM:
        return 2, 1.0
    turn = np.radians(TURN_DEG)
    turned = lab.copy()
    turned[1:] = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]]) @ lab[1:]
    told = verdict.weighed(lab, turned)[1:3]
    largest = int(np.argmax(np.abs(told)))
    return 1 + largest, float(np.sign(told[largest]))


def _turns_up(lab: NDArray[Any]) -> float:
    return _called(lab)[1]


def _answers(training: Training) -> tuple[str, str]:
    if training.axis == "hue":
        return PAIRS[_called(training.panel.lab[0])[0]]
    if training.axis == "flop":
        return (f"{PAIRS[0][0]} on the flop", f"{PAIRS[0][1]} on the flop")
    return PAIRS[0]
