"""What a little more of each toner does to a colour, face and flop: the chart by which a painter picks a toner."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import optics, predict, search, verdict
from refinishlib.colour.conditions import USUAL, Conditions
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.reading import Reading, in_common
from refinishlib.colour.words import place_of
from refinishlib.entry import BadEntry, number, numbers
from refinishlib.shop.paint import Toner

ONE_PER_CENT = 0.01
BIGGEST_SHARE = 0.2
CLEAR_STEP = 3.0
SIDE_SHARE = 0.3
HARDLY = 0.12
MOST_SHARE = 0.25

SOURCES = {
    "ONE_PER_CENT": "common practice, no source: a chart of toners says what one part in a hundred does",
    "BIGGEST_SHARE": "teaching value: limit of entry, more is another mix",
    "CLEAR_STEP": "teaching value: CIEDE2000 to which a shift is drawn out before it gets its words, so that a weak "
    "toner has the same words as a strong one and its strength stands in numbers",
    "SIDE_SHARE": "teaching value: a direction smaller than this share of the largest is left out",
    "HARDLY": "teaching value: a place that moves less than this share of the place that moves most hardly moves",
    "MOST_SHARE": "teaching value: a pick is not told beyond a quarter of the cup, where a straight line means nothing",
}


@dataclass(frozen=True, eq=False)
class Effect:
    """What one addition of one toner does.

    toner, add_g : and how much of it
    angles_deg : (angles,)
    shift : of CIELAB, D65 and 10 degrees, (angles, 3)
    apart : CIEDE2000 that it makes, (angles,)
    words : one sentence for each place, such as "on the face darker and bluer"
    grams_for_one : what would move the angle that moves most by 1 CIEDE2000, first order; infinite if none does
    """

    toner: Toner
    add_g: float
    angles_deg: tuple[int, ...]
    shift: NDArray[np.float64]
    apart: NDArray[np.float64]
    words: tuple[str, ...]
    grams_for_one: float


@dataclass(frozen=True)
class Pick:
    """One toner against what is off.

    grams : that would take away most of it, first order; 0 if the toner pulls the other way
    before, left : root mean square CIEDE2000 over the angles, now and with that much of it
    """

    effect: Effect
    grams: float
    before: float
    left: float


def chart(
    toners: Sequence[Toner],
    masses_g: ArrayLike,
    *,
    share: float = ONE_PER_CENT,
    others: Sequence[Toner] = (),
    conditions: Conditions = USUAL,
) -> tuple[Effect, ...]:
    """What one per cent of the cup more of each toner does, the one that moves the colour most first.

    Parameters
    ----------
    toners, masses_g : in the cup, (toners,)
    share : of the cup that is added, above 0 and up to 0.2
    others : toners that are not in it but might be added
    conditions : film, undercoat, surface and angles

    Raises
    ------
    BadEntry : an empty cup, negative grams, a share out of range

    >>> from refinishlib.shop.shop import load
    >>> first, *_ = chart(load().picked("white", "soft black", "yellow oxide"), [95.0, 2.0, 3.0])
    >>> first.toner.name, first.words, round(float(first.apart.max()), 1)
    ('yellow oxide', ('everywhere cleaner and darker',), 1.9)
    """
    added = number("share", share, low=0, high=BIGGEST_SHARE, above_low=True)
    tins = (*toners, *(toner for toner in others if toner not in toners))
    cup = numbers("grams in the cup", masses_g, low=0, unit="g", shape=(len(toners),))
    cup = np.append(cup, np.zeros(len(tins) - len(toners)))
    grams = added * float(cup.sum())
    lab = predict.lab(optics.mixture(tins, np.vstack([cup, cup + grams * np.eye(len(tins))])), conditions)[:, 0]
    angles = tuple(int(angle) for angle in conditions.angles_deg)
    effects = [_effect(tin, grams, angles, lab[0], moved) for tin, moved in zip(tins, lab[1:], strict=True)]
    return tuple(sorted(effects, key=lambda effect: -float(effect.apart.max())))


def picks(effects: Sequence[Effect], card: Reading, panel: Reading) -> tuple[Pick, ...]:
    """How far each toner alone would take the card to the panel, the best first: a choice, not yet an amount to pour.

    Parameters
    ----------
    effects : of `chart`
    card, panel : readings, measured or in words

    Raises
    ------
    BadEntry : no effect; an angle of the readings that the chart does not have

    >>> from refinishlib.colour.reading import from_lab
    >>> from refinishlib.colour.words import from_words
    >>> from refinishlib.shop.shop import load
    >>> toners, cup = load().picked("white", "soft black", "yellow oxide"), [95.0, 2.0, 3.0]
    >>> card = from_lab({45: predict.lab(optics.mixture(toners, cup))[0, 2]})
    >>> [picks(chart(toners, cup), card, from_words(card, said))[0].effect.toner.name for said in ("lighter", "bluer")]
    ['soft black', 'yellow oxide']
    """
    if not effects:
        raise BadEntry("toners: none was given, allowed is one or more.")
    card, panel = in_common(card, panel)
    have = effects[0].angles_deg
    missing = [angle for angle in card.angles_deg if angle not in have]
    if missing:
        raise BadEntry(f"aspecular angle: {missing[0]} was given, allowed are {', '.join(map(str, have))}.")
    rows = [have.index(angle) for angle in card.angles_deg]
    shape, _ = search.ellipsoid(panel.lab, card.lab, ciede2000)
    off = _lengths(card.lab - panel.lab, shape)
    angles = len(rows) ** 0.5
    before = float(np.linalg.norm(off)) / angles
    found = []
    for effect in effects:
        per_gram = _lengths(effect.shift[rows], shape) / effect.add_g
        square = float(per_gram @ per_gram)
        most = effect.add_g / ONE_PER_CENT * MOST_SHARE
        grams = float(np.clip(-(per_gram @ off) / square, 0.0, most)) if square > 0 else 0.0
        found.append(Pick(effect, grams, before, float(np.linalg.norm(off + grams * per_gram)) / angles))
    return tuple(sorted(found, key=lambda pick: pick.left))


def _effect(toner: Toner, grams: float, angles: tuple[int, ...], before: NDArray[Any], after: NDArray[Any]) -> Effect:
    apart = ciede2000(before, after)
    largest = float(apart.max())
    return Effect(
        toner=toner,
        add_g=grams,
        angles_deg=angles,
        shift=after - before,
        apart=apart,
        words=_words(angles, before, after - before, apart),
        grams_for_one=grams / largest if largest else float("inf"),
    )


def _words(angles: tuple[int, ...], before: NDArray[Any], shift: NDArray[Any], apart: NDArray[Any]) -> tuple[str, ...]:
    """What each place does, told at the angle of it that is furthest from 45 degrees, as verdicts are."""
    at = {place_of(angle): i for i, angle in reversed(list(enumerate(angles))) if place_of(angle) != "flop"}
    at |= {place_of(angle): i for i, angle in enumerate(angles) if place_of(angle) == "flop"}
    told = {}
    for place in ("face", "middle", "flop"):
        if place in at:
            i = at[place]
            told[place] = _pull(before[i], shift[i], float(apart[i]), float(apart.max()))
    if len(told) > 1 and len(set(told.values())) == 1:
        return (f"everywhere {told.popitem()[1]}",)
    named = {"face": "on the face", "middle": "in the middle", "flop": "on the flop"}
    return tuple(f"{named[place]} {what}" for place, what in told.items())


def _pull(before: NDArray[Any], shift: NDArray[Any], apart: float, largest: float) -> str:
    if apart <= HARDLY * largest:
        return "hardly anything"
    drawn = verdict.weighed(before, before + shift * (CLEAR_STEP / apart))
    order = np.argsort(-np.abs(drawn))
    kept = [i for i in order if abs(drawn[i]) >= SIDE_SHARE * abs(drawn[order[0]])]
    words = [verdict.PAIRS[i][0 if drawn[i] > 0 else 1] for i in kept]
    return " and ".join(filter(None, [", ".join(words[:-1]), *words[-1:]]))


def _lengths(step: NDArray[Any], shape: NDArray[Any]) -> NDArray[np.float64]:
    """A step at each angle as the lengths it differs by, one after the other."""
    found: NDArray[np.float64] = (step[:, None] @ shape).ravel()
    return found
