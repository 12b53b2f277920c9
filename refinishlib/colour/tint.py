"""Tinting: the least addition that brings a mixed paint to the panel. Paint cannot be taken out of the cup."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import optics, predict, search, tolerance
from refinishlib.colour import weights as weights_of
from refinishlib.colour.conditions import USUAL, Conditions
from refinishlib.colour.difference import HIGHEST_LAB, ciede2000
from refinishlib.colour.lamp import Lamp, d65
from refinishlib.colour.reading import Reading, in_common, lab_under, lamps_for
from refinishlib.colour.tolerance import EDGE, Ruling, Tolerance
from refinishlib.entry import BadEntry, number, numbers, whole
from refinishlib.shop.paint import Toner

READABILITY_G = 0.1
MOST_TONERS = 3
SURPLUS_SHARE = 0.25
EARNED = 0.03
WORTH = 0.05
FOREIGN = 0.1
TONER_LIMIT = 10
FINEST_G = 1e-3
COARSEST_G = 100.0

SOURCES = {
    "READABILITY_G": "common practice, no source: a mixing scale shows tenths of a gram",
    "MOST_TONERS": "common practice, no source: more than three toners at once and nobody knows what did it",
    "SURPLUS_SHARE": "teaching value: a correction that needs more than a quarter of the cup is a new mix",
    "EARNED": "teaching value: what one toner more must gain in mean CIEDE2000 to be poured",
    "WORTH": "teaching value: gain in mean CIEDE2000 below which an addition is not worth a card",
    "FOREIGN": "teaching value: gain in mean CIEDE2000 that a toner from outside the formula must bring",
    "TONER_LIMIT": "teaching value: limit of entry",
    "FINEST_G": "teaching value: limit of entry",
    "COARSEST_G": "teaching value: limit of entry",
}


@dataclass(frozen=True)
class Pourable:
    """What the scale and the cup allow.

    readability_g : step of the balance
    smallest_g : the smallest drop that can be poured
    most_toners : toners in one correction
    surplus_share : all additions together, as a share of what is in the cup
    """

    readability_g: float = READABILITY_G
    smallest_g: float = READABILITY_G
    most_toners: int = MOST_TONERS
    surplus_share: float = SURPLUS_SHARE

    def __post_init__(self) -> None:
        number("readability", self.readability_g, low=FINEST_G, high=COARSEST_G, unit="g")
        number("smallest drop", self.smallest_g, low=0, high=COARSEST_G, unit="g")
        whole("toners", self.most_toners, low=1, high=TONER_LIMIT)
        number("surplus share", self.surplus_share, low=0, high=1)

    def steps(self, cup_g: float) -> search.Steps:
        """The same in steps of the balance, for a cup that holds this much."""
        hair = 1e-9
        return search.Steps(
            smallest=max(1, int(np.ceil(self.smallest_g / self.readability_g - hair))),
            together=int(np.floor(self.surplus_share * cup_g / self.readability_g + hair)),
            toners=self.most_toners,
        )


@dataclass(frozen=True, eq=False)
class Correction:
    """What to add, and what it should do.

    toners, add_g : what to add and how much of each, heaviest first; empty when no addition helps
    surplus_g : all additions together
    surplus_share : of what was in the cup
    before, after : CIEDE2000 to the panel, (lamps, angles); after is the model's promise, a new card decides
    mean_before, mean_after : weighted over angles and lamps
    ruling, promised : the verdict on the card and on what the addition should give, by `tolerance.rule`
    decision : "leave it", "add", "add and look again" or "change variant or blend"
    advice : the decision as a sentence
    """

    toners: tuple[Toner, ...]
    add_g: tuple[float, ...]
    surplus_g: float
    surplus_share: float
    before: NDArray[np.float64]
    after: NDArray[np.float64]
    mean_before: float
    mean_after: float
    ruling: Ruling
    promised: Ruling
    decision: str
    advice: str

    @property
    def names(self) -> tuple[str, ...]:
        """Of the toners to add."""
        return tuple(toner.name for toner in self.toners)

    @property
    def largest_before(self) -> float:
        """The worst angle and lamp before."""
        return float(self.before.max())

    @property
    def largest_after(self) -> float:
        """The worst angle and lamp after."""
        return float(self.after.max())


def correct(
    toners: Sequence[Toner],
    cup_g: ArrayLike,
    card: Reading,
    panel: Reading,
    *,
    lamps: Sequence[Lamp] | None = None,
    weights: ArrayLike | None = None,
    pourable: Pourable | None = None,
    others: Sequence[Toner] = (),
    allowed: Tolerance | None = None,
    conditions: Conditions = USUAL,
) -> Correction:
    """The least addition that brings the mix to the panel, from a reading of the card and one of the panel.

    Parameters
    ----------
    toners, cup_g : of the formula, and grams of each in the cup, hardener not yet in, (toners,)
    card, panel : readings; the angles that both have count
    lamps : D65, A and FL11 when both readings have spectra and nothing is given; otherwise D65
    weights, pourable, others, allowed : as for `correct_lab`; weights for the angles in common
    conditions : of the card; its angles do not count, the readings have theirs

    Raises
    ------
    BadEntry : as `correct_lab`; no angle in common; another lamp than D65 for a reading typed in as CIELAB

    >>> from refinishlib.colour import reading
    >>> from refinishlib.shop.shop import load
    >>> cup = [96.4, 2.4, 0.7, 0.5]
    >>> toners = load().picked("white", "yellow oxide", "soft black", "red oxide")
    >>> card = reading.from_spectra(predict.reflectance(optics.mixture(toners, cup)))
    >>> panel = reading.from_lab({45: predict.lab(optics.mixture(toners, np.add(cup, [0, 2, 0, 0])))[0, 2]})
    >>> correct(toners, cup, card, panel).names
    ('yellow oxide',)
    """
    both = in_common(card, panel)
    lamps = lamps_for(*both) if lamps is None else lamps
    card_lab, panel_lab = (np.stack([lab_under(one, lamp) for lamp in lamps]) for one in both)
    return correct_lab(
        toners,
        cup_g,
        card_lab,
        panel_lab,
        lamps=lamps,
        weights=weights,
        pourable=pourable,
        others=others,
        allowed=allowed,
        conditions=replace(conditions, angles_deg=both[0].angles_deg),
    )


def correct_lab(
    toners: Sequence[Toner],
    cup_g: ArrayLike,
    card_lab: ArrayLike,
    panel_lab: ArrayLike,
    *,
    lamps: Sequence[Lamp] | None = None,
    weights: ArrayLike | None = None,
    pourable: Pourable | None = None,
    others: Sequence[Toner] = (),
    allowed: Tolerance | None = None,
    conditions: Conditions = USUAL,
) -> Correction:
    """The least addition that brings the mix to the panel, as far as the model can tell.

    The change that the model predicts is added to what the card measured, since no model hits the card itself. The
    formula's own toners come first; others are tried only when those do not reach, and taken only when it pays.

    Parameters
    ----------
    toners, cup_g : of the formula, and grams of each in the cup, hardener not yet in, (toners,)
    card_lab : CIELAB of a card sprayed from the cup, (lamps, angles, 3); (angles, 3) for one lamp
    panel_lab : CIELAB of the panel, alike
    lamps : of the readings; D65 alone if not given
    weights : of each angle (angles,), or of lamps and angles (lamps, angles), 0 or more; equal if not given
    pourable : balance, smallest drop, toners and surplus that are allowed
    others : toners that may be added though the formula does not have them
    allowed : when to stop; the tolerance for the kind of paint in the cup if not given
    conditions : of the card: film, undercoat, and the angles of the readings

    Returns
    -------
    Correction; its grams are multiples of the balance's readability, each at least the smallest drop

    Raises
    ------
    BadEntry : negative grams, readings that do not fit lamps and angles, weights that are all 0

    Source
    ------
    Allen (1974), J. Opt. Soc. Am. 64, 991 for correcting by the predicted change; the search is our own and held
    against scipy's differential evolution.

    >>> from refinishlib.shop.shop import load
    >>> cup = [96.4, 2.4, 0.7, 0.5]
    >>> toners = load().picked("white", "yellow oxide", "soft black", "red oxide")
    >>> card, panel = (predict.lab(optics.mixture(toners, g)) for g in (cup, np.add(cup, [0, 1.0, 0.4, 0])))
    >>> tint = correct_lab(toners, cup, card, panel)
    >>> dict(zip(tint.names, tint.add_g)), tint.mean_after < 0.02
    ({'yellow oxide': 1.0, 'soft black': 0.4}, True)
    """
    pourable = pourable or Pourable()
    lights = (d65(),) if lamps is None else tuple(lamps)
    card, panel, each = _readings(card_lab, panel_lab, len(lights), len(conditions.angles_deg), weights)
    cup = numbers("grams in the cup", cup_g, low=0, unit="g", shape=(len(toners),))
    limits = allowed or tolerance.of_kind(optics.mixture(toners, cup).kind)
    judge = _Judge(each, conditions.angles_deg, limits)
    task = (card, panel, each, pourable, conditions, lights)
    best = _least(tuple(toners), cup, *task)
    own = _correction(tuple(toners), float(cup.sum()), best, judge)
    foreign = tuple(toner for toner in others if toner not in toners)
    if not foreign or own.promised.verdict == EDGE:
        return own
    wider = _least((*toners, *foreign), np.concatenate([cup, np.zeros(len(foreign))]), *task)
    both = _correction((*toners, *foreign), float(cup.sum()), wider, judge)
    return both if both.mean_after < own.mean_after - FOREIGN else own


def mean_difference(
    reference_lab: ArrayLike, sample_lab: ArrayLike, weights: ArrayLike | None = None
) -> NDArray[np.float64]:
    """Weighted mean CIEDE2000 over lamps and angles, the number that tinting makes small.

    Parameters
    ----------
    reference_lab, sample_lab : (..., lamps, angles, 3)
    weights : (angles,) or (lamps, angles), 0 or more; equal if not given

    Returns
    -------
    (...)

    >>> float(mean_difference(np.full((1, 5, 3), 50.0), np.full((1, 5, 3), 50.0)))
    0.0
    """
    apart = ciede2000(reference_lab, sample_lab)
    return np.asarray((apart * _weights(weights, *apart.shape[-2:])).sum(axis=(-2, -1)))


def _weights(weights: ArrayLike | None, lamps: int, angles: int) -> NDArray[Any]:
    given = np.ones(angles) if weights is None else numbers("weights", weights, low=0, shape=(angles,))
    try:
        each = np.broadcast_to(given, (lamps, angles))
    except ValueError:
        raise BadEntry(f"weights: {np.shape(given)} values were given, allowed are {lamps} x {angles}.") from None
    if not each.sum() > 0:
        raise BadEntry("weights: nothing above 0 was given, allowed is at least one angle that counts.")
    found: NDArray[Any] = each / each.sum()
    return found


def _readings(
    card_lab: ArrayLike, panel_lab: ArrayLike, lamps: int, angles: int, weights: ArrayLike | None
) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any]]:
    both = []
    for field, values in (("card", card_lab), ("panel", panel_lab)):
        lab = np.asarray(values)
        lab = lab[None] if lab.ndim == 2 else lab
        both.append(numbers(field, lab, low=-HIGHEST_LAB, high=HIGHEST_LAB, shape=(lamps, angles, 3)))
    return both[0], both[1], _weights(weights, lamps, angles)


@dataclass(frozen=True, eq=False)
class _Judge:
    """weights : (lamps, angles), together 1."""

    weights: NDArray[Any]
    angles_deg: tuple[float, ...]
    allowed: Tolerance

    def mean(self, apart: NDArray[Any]) -> float:
        return float((apart * self.weights).sum())

    def rule(self, apart: NDArray[Any]) -> Ruling:
        return tolerance.rule(apart[0], tuple(int(angle) for angle in self.angles_deg), self.allowed)


_Found = tuple[NDArray[Any], NDArray[Any], NDArray[Any]]


def _least(
    toners: tuple[Toner, ...],
    cup: NDArray[Any],
    card: NDArray[Any],
    panel: NDArray[Any],
    each: NDArray[Any],
    pourable: Pourable,
    conditions: Conditions,
    lamps: tuple[Lamp, ...],
) -> _Found:
    """Grams to add (toners,), and the differences before and after, each (lamps, angles)."""

    def lab(masses_g: NDArray[Any]) -> NDArray[Any]:
        # Not predict.lab: the few rows of one round are never worth cutting into blocks.
        return weights_of.lab(predict.reflectance(optics.mixture(toners, masses_g), conditions), lamps)

    offset = card - lab(cup)

    def after(steps: NDArray[Any]) -> NDArray[Any]:
        found: NDArray[Any] = (lab(cup + steps * pourable.readability_g) + offset).reshape(len(steps), each.size, 3)
        return found

    limits = pourable.steps(float(cup.sum()))
    steps, apart = search.least(
        len(toners), limits, card.reshape(-1, 3), after, panel.reshape(-1, 3), each.ravel(), ciede2000
    )
    mean = apart @ each.ravel()
    fewest = int(np.flatnonzero(mean <= mean.min() + EARNED)[0])
    return steps[fewest] * pourable.readability_g, apart[0].reshape(each.shape), apart[fewest].reshape(each.shape)


def _correction(toners: tuple[Toner, ...], cup_g: float, found: _Found, judge: _Judge) -> Correction:
    add, before, after = found
    ruling, promised = judge.rule(before), judge.rule(after)
    mean_before, mean_after = judge.mean(before), judge.mean(after)
    decision = _decision(ruling, promised, mean_before - mean_after)
    if decision in ("leave it", "change variant or blend"):
        add, after, mean_after, promised = np.zeros_like(add), before, mean_before, ruling
    order = [i for i in np.argsort(-add, kind="stable") if add[i] > 0]
    surplus = float(add.sum())
    return Correction(
        toners=tuple(toners[i] for i in order),
        add_g=tuple(round(float(add[i]), 6) for i in order),
        surplus_g=surplus,
        surplus_share=surplus / cup_g,
        before=before,
        after=after,
        mean_before=mean_before,
        mean_after=mean_after,
        ruling=ruling,
        promised=promised,
        decision=decision,
        advice=_ADVICE[decision].format(before=ruling, after=promised),
    )


def _decision(before: Ruling, after: Ruling, gain: float) -> str:
    if before.verdict == EDGE:
        return "leave it"
    if gain < WORTH:
        return "change variant or blend"
    return "add" if after.verdict == EDGE else "add and look again"


_ADVICE = {
    "leave it": "The card {before.verdict}: {before.worst:.2f} at {before.worst_deg} degrees, its worst angle. Leave it"
    " as it is.",
    "add": "Add before the hardener. The worst angle should go from {before.worst:.2f} to {after.worst:.2f}. Spray a"
    " new card and read it.",
    "add and look again": "Add before the hardener. The worst angle should go from {before.worst:.2f} to"
    " {after.worst:.2f}, which does not yet go edge to edge. Spray a new card; if it is still out, try another variant"
    " or plan a blend.",
    "change variant or blend": "No addition helps: {before.worst:.2f} at {before.worst_deg} degrees. Try another"
    " variant of the colour or plan a blend.",
}
