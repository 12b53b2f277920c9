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
from refinishlib.colour.film import Layer
from refinishlib.colour.lamp import Lamp, d65
from refinishlib.colour.reading import Reading, in_common, lab_under, lamps_for
from refinishlib.colour.tolerance import EDGE, FADE, VERDICTS, Ruling, Tolerance
from refinishlib.entry import BadEntry, number, numbers, whole
from refinishlib.mixing.rescue import price_per_gram
from refinishlib.shop.paint import Toner

READABILITY_G = 0.1
MOST_TONERS = 3
SURPLUS_SHARE = 0.25
EARNED = 0.03
ACTIVATED_SHARE = 0.03
UNDONE = 0.75
PINCH = 0.05
SERVED = 4.0
REACH = 2.0
FOREIGN = 0.1
TONER_LIMIT = 10
FINEST_G = 1e-3
COARSEST_G = 100.0

SOURCES = {
    "READABILITY_G": "common practice, no source: a mixing scale shows tenths of a gram",
    "MOST_TONERS": "common practice, no source: more than three toners at once and nobody knows what did it",
    "SURPLUS_SHARE": "teaching value: a correction that needs more than a quarter of the cup is a new mix",
    "EARNED": "teaching value: what one toner more must gain in mean CIEDE2000 to be poured",
    "ACTIVATED_SHARE": "teaching value: once the hardener is in, the sheet's ratio bears a small addition at most",
    "UNDONE": "teaching value: a toner is named when less of it would leave at most this share of what is off",
    "PINCH": "teaching value: share of a toner that is taken out to feel what less of it does",
    "SERVED": "teaching value: how much more the worst angle counts in a second try",
    "REACH": "teaching value: a second try is made where the worst angle uses up to this many times its limit",
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
class Addition:
    """The least addition, whether it is worth pouring or not.

    toners, add_g : what to add and how much of each, heaviest first; empty when no addition helps
    surplus_g : all additions together
    before, after : CIEDE2000 to the panel, (lamps, angles); after is the model's promise, a new card decides
    mean_before, mean_after : weighted over angles and lamps
    lab : CIELAB that the card should then have, (lamps, angles, 3)
    """

    toners: tuple[Toner, ...]
    add_g: tuple[float, ...]
    surplus_g: float
    before: NDArray[np.float64]
    after: NDArray[np.float64]
    mean_before: float
    mean_after: float
    lab: NDArray[np.float64]

    @property
    def names(self) -> tuple[str, ...]:
        """Of the toners to add."""
        return tuple(toner.name for toner in self.toners)

    @property
    def price(self) -> float:
        """Of the additions, in the shop's own money."""
        return sum(
            grams * price_per_gram(tin.price_per_litre, tin.density_g_per_ml)
            for tin, grams in zip(self.toners, self.add_g, strict=True)
        )


@dataclass(frozen=True, eq=False)
class Correction:
    """What to do with the cup, and why.

    decision : "leave it", "add", "add and fade" or "no addition"
    pour : what to add; nothing unless the decision says add
    tried : the least addition that was found, poured or not
    ruling, promised : the verdict on the card, and on what pouring should give, by `tolerance.rule`
    surplus_share : of what was in the cup
    hardener_g : that the additions need with them, where hardener is already in
    cannot_undo : toners of which there is too much, most harmful first, where no addition reaches the panel
    why : the decision's reason, in sentences
    """

    decision: str
    pour: Addition
    tried: Addition
    ruling: Ruling
    promised: Ruling
    surplus_share: float
    hardener_g: float
    cannot_undo: tuple[str, ...]
    why: str


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
    fade_planned: bool = False,
    hardener_g: float = 0.0,
    below: Sequence[Layer] = (),
    above: Sequence[Layer] = (),
    conditions: Conditions = USUAL,
) -> Correction:
    """The least addition that brings the mix to the panel, from a reading of the card and one of the panel.

    Parameters
    ----------
    toners, cup_g : of the formula, and grams of each in the cup, (toners,)
    card, panel : readings; the angles that both have count
    lamps : D65, A and FL11 when both readings have spectra and nothing is given; otherwise D65
    weights, pourable, others, allowed, fade_planned, hardener_g, below, above : as for `correct_lab`; weights for the
        angles in common
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
    >>> correct(toners, cup, card, panel).pour.names
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
        fade_planned=fade_planned,
        hardener_g=hardener_g,
        below=below,
        above=above,
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
    fade_planned: bool = False,
    hardener_g: float = 0.0,
    below: Sequence[Layer] = (),
    above: Sequence[Layer] = (),
    conditions: Conditions = USUAL,
) -> Correction:
    """The least addition that brings the mix to the panel, as far as the model can tell.

    The change that the model predicts is added to what the card measured, since no model hits the card itself. The
    formula's own toners come first; others are tried only when those do not reach, and taken only when it pays.

    Parameters
    ----------
    toners, cup_g : of the formula, and grams of each in the cup, (toners,)
    card_lab : CIELAB of a card sprayed from the cup, (lamps, angles, 3); (angles, 3) for one lamp
    panel_lab : CIELAB of the panel, alike
    lamps : of the readings; D65 alone if not given
    weights : of each angle (angles,), or of lamps and angles (lamps, angles), 0 or more; equal if not given
    pourable : balance, smallest drop, toners and surplus that are allowed
    others : toners that may be added though the formula does not have them
    allowed : when to stop; the tolerance for the kind of paint in the cup if not given
    fade_planned : whether the panel is blended anyway, so that a colour that only needs a fade is left alone
    hardener_g : that is already in the cup. Then only little may be added, and what is added needs its own hardener;
        whether the product bears it at all, its sheet decides
    below, above : coats of a three-stage colour under and over the one in the cup, each with its film
    conditions : of the card: film of the coat in the cup, undercoat, and the angles of the readings

    Returns
    -------
    Correction; what it pours are multiples of the balance's readability, each at least the smallest drop

    Notes
    -----
    An addition costs paint, a card and time. It is poured only if it changes the verdict: to one that goes edge to
    edge, or to one that a fade can take. An addition that only makes a number smaller is named and not poured.

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
    >>> dict(zip(tint.pour.names, tint.pour.add_g)), tint.pour.mean_after < 0.02
    ({'yellow oxide': 1.0, 'soft black': 0.4}, True)
    """
    task = _task(
        toners, cup_g, card_lab, panel_lab, lamps=lamps, weights=weights, pourable=pourable, allowed=allowed,
        fade_planned=fade_planned, hardener_g=hardener_g, below=below, above=above, conditions=conditions,
    )  # fmt: skip
    if task.reached(task.card):
        return _correction(_nothing(task), task)
    best = _served(task)
    foreign = tuple(toner for toner in others if toner not in task.toners)
    if foreign and not task.reached(best.lab):
        wider = replace(task, toners=(*task.toners, *foreign), cup_g=np.append(task.cup_g, np.zeros(len(foreign))))
        with_others = _served(wider)
        if with_others.mean_after < best.mean_after - FOREIGN:
            best, task = with_others, wider
    return _correction(best, task)


def addition(
    toners: Sequence[Toner],
    cup_g: ArrayLike,
    card_lab: ArrayLike,
    panel_lab: ArrayLike,
    *,
    lamps: Sequence[Lamp] | None = None,
    weights: ArrayLike | None = None,
    pourable: Pourable | None = None,
    below: Sequence[Layer] = (),
    above: Sequence[Layer] = (),
    conditions: Conditions = USUAL,
) -> Addition:
    """The least addition by the mean over angles and lamps, without asking whether it is worth a card.

    Parameters
    ----------
    as for `correct_lab`

    >>> from refinishlib.shop.shop import load
    >>> toners, cup = load().picked("white", "soft black"), [98.0, 2.0]
    >>> card, panel = (predict.lab(optics.mixture(toners, g)) for g in (cup, [98.0, 2.1]))
    >>> addition(toners, cup, card, panel).add_g
    (0.1,)
    """
    task = _task(
        toners, cup_g, card_lab, panel_lab, lamps=lamps, weights=weights, pourable=pourable, below=below, above=above,
        conditions=conditions,
    )  # fmt: skip
    return _least(task)


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
class _Task:
    """What a correction is asked. card, panel : (lamps, angles, 3). weights : (lamps, angles), together 1."""

    toners: tuple[Toner, ...]
    cup_g: NDArray[Any]
    card: NDArray[Any]
    panel: NDArray[Any]
    weights: NDArray[Any]
    allowed: Tolerance
    enough: str
    pourable: Pourable
    conditions: Conditions
    lamps: tuple[Lamp, ...]
    below: tuple[Layer, ...]
    above: tuple[Layer, ...]
    hardener_g: float

    @property
    def angles_deg(self) -> tuple[int, ...]:
        return tuple(int(angle) for angle in self.conditions.angles_deg)

    def apart(self, lab: NDArray[Any]) -> NDArray[np.float64]:
        """By the tolerance's formula under the lamp that decides, (angles,)."""
        return self.allowed.apart(self.panel[0], lab[0])

    def rule(self, lab: NDArray[Any]) -> Ruling:
        return tolerance.rule(self.apart(lab), self.angles_deg, self.allowed)

    def reached(self, lab: NDArray[Any]) -> bool:
        return VERDICTS.index(self.rule(lab).verdict) <= VERDICTS.index(self.enough)

    def lab(self, masses_g: NDArray[Any]) -> NDArray[Any]:
        # Not predict.lab: the few rows of one round are never worth cutting into blocks.
        coat = Layer(optics.mixture(self.toners, masses_g), self.conditions.film_um)
        return weights_of.lab(predict.of_layers((*self.below, coat, *self.above), self.conditions), self.lamps)


def _task(
    toners: Sequence[Toner],
    cup_g: ArrayLike,
    card_lab: ArrayLike,
    panel_lab: ArrayLike,
    *,
    lamps: Sequence[Lamp] | None,
    weights: ArrayLike | None,
    pourable: Pourable | None,
    conditions: Conditions,
    below: Sequence[Layer],
    above: Sequence[Layer],
    allowed: Tolerance | None = None,
    fade_planned: bool = False,
    hardener_g: float = 0.0,
) -> _Task:
    lights = (d65(),) if lamps is None else tuple(lamps)
    card, panel, each = _readings(card_lab, panel_lab, len(lights), len(conditions.angles_deg), weights)
    cup = numbers("grams in the cup", cup_g, low=0, unit="g", shape=(len(toners),))
    hardener = number("hardener in the cup", hardener_g, low=0, unit="g")
    limits = pourable or Pourable()
    if hardener:
        limits = replace(limits, surplus_share=min(limits.surplus_share, ACTIVATED_SHARE))
    return _Task(
        toners=tuple(toners),
        cup_g=cup,
        card=card,
        panel=panel,
        weights=each,
        allowed=allowed or tolerance.of_kind(optics.mixture(toners, cup).kind),
        enough=FADE if fade_planned else EDGE,
        pourable=limits,
        conditions=conditions,
        lamps=lights,
        below=tuple(below),
        above=tuple(above),
        hardener_g=hardener,
    )


def _served(task: _Task) -> Addition:
    """The least addition; where its worst angle is only just beyond, another try in which that angle counts more."""
    found = _least(task)
    if task.reached(found.lab) or tolerance.used(task.apart(found.lab), task.angles_deg, task.allowed) > REACH:
        return found
    stressed = task.weights.copy()
    worst = task.angles_deg.index(task.rule(found.lab).worst_deg)
    stressed[0, worst] = SERVED * max(stressed[0, worst], float(task.weights.mean()))
    second = _least(replace(task, weights=stressed / stressed.sum()))
    if not task.reached(second.lab):
        return found
    means = [float((apart * task.weights).sum()) for apart in (second.before, second.after)]
    return replace(second, mean_before=means[0], mean_after=means[1])


def _least(task: _Task) -> Addition:
    offset = task.card - task.lab(task.cup_g)
    flat = task.weights.ravel()
    step_g = task.pourable.readability_g

    def lab(steps: NDArray[Any]) -> NDArray[Any]:
        found: NDArray[np.float64] = task.lab(task.cup_g + steps * step_g) + offset
        return found

    limits = task.pourable.steps(float(task.cup_g.sum()))
    steps, apart, given = search.least(
        len(task.toners),
        limits,
        task.card.reshape(-1, 3),
        lambda rows: lab(rows).reshape(len(rows), flat.size, 3),
        task.panel.reshape(-1, 3),
        flat,
        ciede2000,
    )
    mean = apart @ flat
    fewest = int(np.flatnonzero(mean <= mean.min() + EARNED)[0])
    add = steps[fewest] * step_g
    order = [i for i in np.argsort(-add, kind="stable") if add[i] > 0]
    return Addition(
        toners=tuple(task.toners[i] for i in order),
        add_g=tuple(round(float(add[i]), 6) for i in order),
        surplus_g=float(add.sum()),
        before=apart[0].reshape(task.weights.shape),
        after=apart[fewest].reshape(task.weights.shape),
        mean_before=float(mean[0]),
        mean_after=float(mean[fewest]),
        lab=given[fewest].reshape(task.card.shape),
    )


def _nothing(task: _Task) -> Addition:
    apart = ciede2000(task.panel, task.card)
    mean = float((apart * task.weights).sum())
    return Addition((), (), 0.0, apart, apart, mean, mean, task.card)


def _correction(tried: Addition, task: _Task) -> Correction:
    ruling, promised = task.rule(task.card), task.rule(tried.lab)
    before, after = VERDICTS.index(ruling.verdict), VERDICTS.index(promised.verdict)
    pour, decision = tried, "add" if promised.verdict == EDGE else "add and fade"
    if task.reached(task.card):
        decision = "leave it"
    elif after >= before:
        pour, promised, decision = _nothing(task), ruling, "no addition"
    cannot_undo = () if decision in ("leave it", "add") else _too_much(tried, task)
    cup = float(task.cup_g.sum())
    hardener = task.hardener_g / cup * pour.surplus_g
    why = _WHY[decision].format(before=ruling, after=promised, tried=tried)
    if hardener:
        why += f" Hardener is already in: pour {hardener:.1f} g more of it with this, while its pot life lasts."
    if cannot_undo:
        why += f" There is too much {' and '.join(cannot_undo)} in it, and paint cannot be taken out."
    return Correction(
        decision=decision,
        pour=pour,
        tried=tried,
        ruling=ruling,
        promised=promised,
        surplus_share=pour.surplus_g / cup,
        hardener_g=hardener,
        cannot_undo=cannot_undo,
        why=why,
    )


def _too_much(tried: Addition, task: _Task) -> tuple[str, ...]:
    """Toners of which less would take away most of what the addition leaves, the most harmful first."""
    added = dict(zip(tried.toners, tried.add_g, strict=True))
    poured = task.cup_g + [added.get(toner, 0.0) for toner in task.toners]
    held = np.flatnonzero(poured)
    masses = np.repeat(poured[None], len(held), axis=0)
    masses[np.arange(len(held)), held] *= 1 - PINCH
    if not masses.sum(axis=1).all() or len(held) < 2:
        return ()
    shape, _ = search.ellipsoid(task.panel[0], task.card[0], ciede2000)
    # How far off the addition leaves it, and what a pinch less of each toner changes, both as lengths.
    off = search.stretched(tried.lab[0] - task.panel[0], shape).ravel()
    change = task.lab(masses)[:, 0] - task.lab(poured)[0]
    slope = search.stretched(change, shape).reshape(len(held), -1)
    # Of off + x slope the shortest is at x = -(off slope) / slope^2; no more than all of it can be missing.
    square = np.square(slope).sum(axis=1)
    pinches = np.clip(-(slope @ off) / np.where(square > 0, square, np.inf), 0, 1 / PINCH)
    left = np.linalg.norm(off + pinches[:, None] * slope, axis=1)
    return tuple(task.toners[held[i]].name for i in np.argsort(left) if left[i] <= UNDONE * np.linalg.norm(off))


_WHY = {
    "leave it": "The card {before.verdict}: {before.worst:.2f} at {before.worst_deg} degrees, its worst angle.",
    "add": "Its worst angle should go from {before.worst:.2f} to {after.worst:.2f}, and {after.limit:.2f} goes edge to"
    " edge. Spray a new card and read it.",
    "add and fade": "Its worst angle should go from {before.worst:.2f} to {after.worst:.2f}, which a fade can take."
    " Spray a new card, then plan the fade.",
    "no addition": "No addition changes the verdict: {before.worst:.2f} at {before.worst_deg} degrees now, and"
    " {tried.surplus_g:.1f} g more would only bring the mean from {tried.mean_before:.2f} to {tried.mean_after:.2f}."
    " Try another variant of the colour or plan a blend.",
}
