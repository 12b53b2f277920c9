"""Whether a card is off by how it was sprayed or by what was poured: spray it again, or add toner.

A silver that was sprayed wet is darker on the face, and toner can imitate that. So the spraying is fitted first: one
number for how the flakes lie and one for the film. A pour is fitted as the tint does. The one that leaves less and
needs fewer numbers is believed; where the two are too close to call, the card that would tell them apart is named.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import doubt, optics, predict, reading, search, tint, tolerance, weights
from refinishlib.colour.conditions import FLATTEST, STEEPEST, USUAL, Conditions
from refinishlib.colour.film import Layer
from refinishlib.colour.reading import Reading
from refinishlib.colour.tint import Addition, Pourable
from refinishlib.colour.tolerance import EDGE, NOT_YET, Ruling, Tolerance
from refinishlib.colour.verdict import direction
from refinishlib.entry import numbers
from refinishlib.shop.paint import Toner

DECISIONS = ("leave it", "spray it again", "add this", "spray it again, then look", "cannot tell", "neither")
FACE_DEG = 15
FLOP_DEG = 110
TILT_WIDTH = 0.12
FILM_WIDTH = 0.25
MODEL_SHARE = 0.12
FINEST = 0.05
TELLS = 6.0
ROUNDS = 6
STEP = 0.02
LONGEST_STEP = 0.25
WORTH = 0.2

SOURCES = {
    "DECISIONS": "definition: what comes out of it; the words are ours",
    "FACE_DEG": "ASTM E2194 (2014): the angle nearest the mirror",
    "FLOP_DEG": "ASTM E2194 (2014): the angle furthest from it",
    "TILT_WIDTH": "teaching value: standard deviation of the logarithm of the tilt of cards that went wrong",
    "FILM_WIDTH": "teaching value: standard deviation of the logarithm of the film of cards that went wrong",
    "MODEL_SHARE": "teaching value: error of a predicted change, as a share of it; rays thrown one by one in the tests",
    "FINEST": "teaching value: no instrument repeats CIELAB better than this",
    "TELLS": "Kass and Raftery (1995), J. Am. Stat. Assoc. 90, 773: twice the log of a Bayes factor that is strong",
    "ROUNDS": "teaching value: steps of the fit; it settles after three or four",
    "STEP": "teaching value: step of the logarithm over which a slope is felt",
    "LONGEST_STEP": "teaching value: longest step of the fit, as a logarithm",
    "WORTH": "teaching value: CIEDE2000 at the worst angle below which a fault of the spraying is not worth a word",
}


@dataclass(frozen=True, eq=False)
class Told:
    """What is behind a card that is off, and what to do.

    decision : one of DECISIONS
    tilt_factor, film_factor : of the card's spraying against the usual, as fitted
    spraying : how to spray it the next time: "drier", "wetter", "with less film", "with more film"; may be empty
    respray, lab : the verdict on the same paint sprayed as usual, and its CIELAB, (angles, 3)
    addition, promised : the toner that would do it without the spraying, and its verdict; where both are needed
        the toner for what the spraying leaves
    lead : how much better the spraying explains it than the pour, as twice the log of a Bayes factor; below 0 the
        pour does
    why : in sentences
    """

    decision: str
    tilt_factor: float
    film_factor: float
    spraying: tuple[str, ...]
    respray: Ruling
    lab: NDArray[np.float64]
    addition: Addition
    promised: Ruling
    lead: float
    why: str


def told_apart(
    toners: Sequence[Toner],
    cup_g: ArrayLike,
    card: Reading,
    panel: Reading,
    *,
    allowed: Tolerance | None = None,
    pourable: Pourable | None = None,
    below: Sequence[Layer] = (),
    above: Sequence[Layer] = (),
    conditions: Conditions = USUAL,
) -> Told:
    """Spray it again, or add toner?

    Parameters
    ----------
    toners, cup_g : of the formula, and grams of each in the cup, (toners,)
    card, panel : readings; the angles that both have count
    allowed : the tolerance for the kind of paint in the cup if not given
    pourable, below, above : as for `tint.correct`
    conditions : as the card was meant to be sprayed: film, undercoat, tilt

    Notes
    -----
    Both are judged in daylight by chi squared plus the number of fitted numbers times log(n), Schwarz's criterion, n
    being three for each angle. A residual's standard deviation is what the two readings scatter, and a share of what
    is off for the model's own error. How wrong a hand goes is part of chi squared.

    Source
    ------
    Schwarz (1978), Ann. Stat. 6, 461; Kass and Raftery (1995), J. Am. Stat. Assoc. 90, 773 for the scale of evidence.

    >>> from refinishlib.shop.shop import load
    >>> silver = load().colour("Millrace Silver, as built")
    >>> paint = optics.of_formula(silver)
    >>> panel, wet = (reading.from_spectra(predict.reflectance(paint, Conditions(tilt_factor=t))) for t in (1.0, 1.18))
    >>> told = told_apart(silver.toners, silver.weights, wet, panel)
    >>> told.decision, told.spraying
    ('spray it again', ('drier',))
    """
    card, panel = reading.in_common(card, panel)
    cup = numbers("grams in the cup", cup_g, low=0, unit="g", shape=(len(toners),))
    paint = optics.mixture(toners, cup)
    limits = allowed or tolerance.of_kind(paint.kind)
    usual = replace(conditions, angles_deg=card.angles_deg)

    def rule(lab: NDArray[Any]) -> Ruling:
        return tolerance.rule(limits.apart(panel.lab, lab), card.angles_deg, limits)

    def sprayed(logs: NDArray[Any]) -> NDArray[Any]:
        """CIELAB (rows, angles, 3) at these logarithms (rows, 2) of the factors on tilt and film."""
        tilt, film = np.exp(logs).T
        at = replace(
            usual,
            tilt_factor=np.clip(np.asarray(usual.tilt_factor) * tilt, FLATTEST, STEEPEST),
            film_um=np.asarray(usual.film_um) * film,
        )
        layers = (*below, Layer(paint, at.film_um), *above)
        found: NDArray[Any] = weights.lab(predict.of_layers(layers, at))[:, 0]
        return np.broadcast_to(found, (len(logs), *card.lab.shape))

    shape, apart = search.ellipsoid(panel.lab, card.lab, limits.apart)
    off = card.lab - panel.lab
    # The length of what a reading scatters, for one of its three numbers; never less than an instrument's own noise.
    scatter = np.hypot(*(np.maximum(doubt.deviation(one), FINEST) for one in (card, panel)))
    spot = np.linalg.norm(scatter[..., None] * shape, axis=(-2, -1)) / np.sqrt(scatter.shape[-1])
    scale = np.hypot(spot, MODEL_SHARE * apart)[:, None]

    def lengths(lab: NDArray[Any]) -> NDArray[Any]:
        found: NDArray[np.float64] = (search.stretched(lab, shape) / scale).reshape(*lab.shape[:-2], -1)
        return found

    logs = _fit(sprayed, lengths, off)
    ends = sprayed(np.vstack([np.zeros(2), logs, logs * [1, 0], logs * [0, 1]]))
    shift, tilt_alone, film_alone = ends[1:] - ends[0]
    resprayed = card.lab - shift
    added = tint.addition(
        toners, cup, card.lab, panel.lab, pourable=pourable, below=below, above=above, conditions=usual
    )
    respray, promised, ruling = rule(resprayed), rule(added.lab[0]), rule(card.lab)

    each = np.log(off.size)
    words = _words(logs, [float(limits.apart(card.lab, card.lab - part).max()) for part in (tilt_alone, film_alone)])
    by_spraying = _square(lengths(resprayed - panel.lab)) + _square(logs / [TILT_WIDTH, FILM_WIDTH]) + 2 * each
    by_pour = _square(lengths(added.lab[0] - panel.lab)) + len(added.toners) * each
    lead = by_pour - by_spraying

    def record(decision: str, addition: Addition, verdict: Ruling, why: str) -> Told:
        tilt, film = np.exp(logs)
        return Told(decision, float(tilt), float(film), words, respray, resprayed, addition, verdict, float(lead), why)

    seen = f"{ruling.worst:.2f} at {ruling.worst_deg} degrees"
    if ruling.verdict == EDGE:
        return record("leave it", added, promised, f"The card {EDGE} ({seen}).")
    how, cause = " and ".join(words), _cause(logs, words)
    pours = " and ".join(f"{grams:g} g {name}" for name, grams in zip(added.names, added.add_g, strict=True))
    works = {"spray": bool(words) and respray.verdict == EDGE, "pour": bool(pours) and promised.verdict == EDGE}
    again = f"Sprayed {how} it should come from {seen} to {respray.worst:.2f}"
    if works["spray"] and (not works["pour"] or lead >= TELLS):
        return record("spray it again", added, promised, f"{cause} {again}. Pour nothing.")
    if works["pour"] and (not works["spray"] or lead <= -TELLS):
        worst = card.angles_deg.index(ruling.worst_deg)
        why = f"It is the mix: {seen}, {direction(panel.lab[worst], card.lab[worst])} there. {pours} should do it"
        return record("add this", added, promised, f"{why}, spraying it another way would not.")
    if works["spray"]:
        why = (
            f"{again}; so should {pours}, and the readings cannot tell which it is. Spray the same cup once more, {how}"
        )
        why += ": if that card is in, it was the spraying; if not, add."
        if paint.flakes and not {FACE_DEG, FLOP_DEG} <= set(card.angles_deg):
            why += f" Or read both at {FACE_DEG} and {FLOP_DEG} degrees, where a spraying shows most."
        return record("cannot tell", added, promised, why)
    if words:
        rest = tint.addition(
            toners, cup, resprayed[None], panel.lab[None], pourable=pourable, below=below, above=above, conditions=usual
        )
        # Both faults at once: what the spraying leaves is fitted by a pour of its own.
        by_both = by_spraying + _square(lengths(rest.lab[0] - panel.lab)) - _square(lengths(resprayed - panel.lab))
        then = rule(rest.lab[0])
        if then.verdict != NOT_YET and by_pour - min(by_spraying, by_both + len(rest.toners) * each) >= TELLS:
            why = f"{cause} {again}; what is left may be the mix. Read that card before any toner is poured."
            return record("spray it again, then look", rest, then, why)
    return record("neither", added, promised, f"Neither another spraying nor a toner brings it in: {seen} now.")


def _fit(sprayed: Any, lengths: Any, off: NDArray[Any]) -> NDArray[Any]:
    """Logarithms of tilt and film (2,) that explain what is off, by damped Gauss-Newton steps."""
    logs, width = np.zeros(2), np.array([TILT_WIDTH, FILM_WIDTH])
    usual = sprayed(np.zeros((1, 2)))[0]
    for _ in range(ROUNDS):
        here = sprayed(np.vstack([logs, logs + STEP * np.eye(2)]))
        left = lengths(off - (here[0] - usual))
        slope = lengths(here[1:] - here[0]).T / STEP
        # (J'J + 1/w^2) x = J'r - logs/w^2
        normal = slope.T @ slope + np.diag(width**-2.0)
        step = np.linalg.solve(normal, slope.T @ left - logs / width**2)
        logs = logs + np.clip(step, -LONGEST_STEP, LONGEST_STEP)
    found: NDArray[Any] = logs
    return found


def _words(logs: NDArray[Any], reach: list[float]) -> tuple[str, ...]:
    pairs = (("drier", "wetter"), ("with less film", "with more film"))
    return tuple(
        pair[0] if log > 0 else pair[1]
        for log, pair, matters in zip(logs, pairs, reach, strict=True)
        if matters >= WORTH
    )


def _cause(logs: NDArray[Any], words: tuple[str, ...]) -> str:
    causes = {
        "drier": "The flakes stand up: it was sprayed wet.",
        "wetter": "The flakes lie flat: it was sprayed dry.",
        "with less film": "There is more film on the card than meant.",
        "with more film": "The film is thin: the undercoat shows.",
    }
    return " ".join(causes[word] for word in words)


def _square(values: ArrayLike) -> float:
    return float(np.square(values).sum())
