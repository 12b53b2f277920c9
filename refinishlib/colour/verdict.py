"""What a painter wants to hear about two readings: how far, in which direction, and whether it will do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import difference, reading, tolerance
from refinishlib.colour.lamp import Lamp
from refinishlib.colour.reading import Reading
from refinishlib.colour.tolerance import Ruling, Tolerance

FACE_UP_TO_DEG = 25
FLOP_FROM_DEG = 75
WORD_FROM = 0.3
PLAIN_FROM = 0.8
MUCH_FROM = 2.0
CHROMATIC_FROM = 5.0
PAIRS = (("lighter", "darker"), ("redder", "greener"), ("yellower", "bluer"), ("cleaner", "muddier"))

SOURCES = {
    "FACE_UP_TO_DEG": "common practice, no source: 15 and 25 degrees are called the face",
    "FLOP_FROM_DEG": "common practice, no source: 75 and 110 degrees are called the flop",
    "WORD_FROM": "teaching value: CIEDE2000 below which a direction is not worth a word",
    "PLAIN_FROM": "teaching value: CIEDE2000 below which a direction is called a little",
    "MUCH_FROM": "teaching value: CIEDE2000 from which a direction is called much",
    "CHROMATIC_FROM": "teaching value: chroma below which a colour is a grey and neither clean nor muddy",
}


@dataclass(frozen=True, eq=False)
class Comparison:
    """A card against a panel.

    angles_deg : where both were read
    lamps : by which they were judged; the first one decides
    differences : by the tolerance's formula, (lamps, angles)
    ruling : the verdict under the first lamp, by its worst angle
    words : a sentence for the face, the middle and the flop
    why : what decides, in a sentence
    parts_under : other lamps under which the verdict would be a worse one
    flop_index_change : the card's flop index less the panel's; None without 15, 45 and 110 degrees
    """

    angles_deg: tuple[int, ...]
    lamps: tuple[Lamp, ...]
    differences: NDArray[np.float64]
    ruling: Ruling
    words: tuple[str, ...]
    why: str
    parts_under: tuple[str, ...]
    flop_index_change: float | None

    @property
    def verdict(self) -> str:
        """One of `tolerance.VERDICTS`."""
        return self.ruling.verdict


def compare(panel: Reading, card: Reading, allowed: Tolerance, *, lamps: Sequence[Lamp] | None = None) -> Comparison:
    """A card held against a panel at every angle where both were read.

    Parameters
    ----------
    panel, card : the reference and the sample
    allowed : `tolerance.of_kind(paint.kind)`, or an own one
    lamps : the first decides; D65, A and FL11 when both have spectra and nothing is given, otherwise D65

    Raises
    ------
    BadEntry : no angle in common; another lamp than D65 for a reading typed in as CIELAB

    >>> from refinishlib.colour.reading import from_lab
    >>> from refinishlib.colour.tolerance import of_kind
    >>> result = compare(from_lab({45: (50.0, 20.0, 5.0)}), from_lab({45: (47.0, 20.0, 5.0)}), of_kind("solid"))
    >>> result.verdict, result.words
    ('not yet', ('at 45 degrees the card is much darker',))
    >>> result.why
    'At 45 degrees it is 2.98 off and much darker; 0.80 goes edge to edge.'
    """
    both = reading.in_common(panel, card)
    judged_by = tuple(reading.lamps_for(*both) if lamps is None else lamps)
    reference, sample = (np.stack([reading.lab_under(one, lamp) for lamp in judged_by]) for one in both)
    angles = both[0].angles_deg
    found = allowed.apart(reference, sample)
    ruling = tolerance.rule(found[0], angles, allowed)
    each = tolerance.standing(found, angles, allowed)
    flop = None
    if set(reading.FLOP_ANGLES) <= set(angles):
        flop = reading.flop_index(both[1]) - reading.flop_index(both[0])
    return Comparison(
        angles_deg=angles,
        lamps=judged_by,
        differences=found,
        ruling=ruling,
        words=tuple(f"{where} the card is {direction(reference[0, i], sample[0, i])}" for i, where in _places(angles)),
        why=because(ruling, angles, reference[0], sample[0]),
        parts_under=tuple(lamp.name for lamp, worse in zip(judged_by, each > each[0], strict=True) if worse),
        flop_index_change=flop,
    )


def because(ruling: Ruling, angles_deg: Sequence[int], reference_lab: NDArray[Any], sample_lab: NDArray[Any]) -> str:
    """What decides, in a sentence: the worst angle, how far and which way it is off there, and what is allowed.

    Parameters
    ----------
    ruling : of `tolerance.rule`
    angles_deg : (angles,)
    reference_lab, sample_lab : CIELAB under the lamp that decided, (angles, 3)

    >>> from refinishlib.colour.tolerance import of_kind, rule
    >>> because(rule([0.0], (45,), of_kind("solid")), (45,), np.full((1, 3), 50.0), np.full((1, 3), 50.0))
    'At 45 degrees it is 0.00 off and the same; 0.80 goes edge to edge.'
    """
    worst = list(angles_deg).index(ruling.worst_deg)
    return (
        f"At {ruling.worst_deg} degrees it is {ruling.worst:.2f} off and "
        f"{direction(reference_lab[worst], sample_lab[worst])}; {ruling.limit:.2f} goes edge to edge."
    )


def direction(reference_lab: NDArray[Any], sample_lab: NDArray[Any]) -> str:
    """How the sample differs, in a painter's words; only what is worth a word, the largest first.

    Parameters
    ----------
    reference_lab, sample_lab : CIELAB, (3,)

    Notes
    -----
    Each direction is weighed by the CIEDE2000 that it alone would make. For colours that have a chroma, cleaner is more
    of it and muddier is less; redder, greener, yellower and bluer are what is left once that is taken off.

    >>> direction(np.array([40.0, 50.0, 20.0]), np.array([41.2, 42.0, 16.8]))
    'much muddier and lighter'
    """
    sizes = weighed(reference_lab, sample_lab)
    told = [
        (abs(size), _strength(abs(size)) + pair[0 if size > 0 else 1])
        for size, pair in zip(sizes.tolist(), PAIRS, strict=True)
        if abs(size) >= WORD_FROM
    ]
    words = [word for _, word in sorted(told, key=lambda item: -item[0])]
    return " and ".join(filter(None, [", ".join(words[:-1]), *words[-1:]])) or "the same"


def weighed(reference_lab: ArrayLike, sample_lab: ArrayLike) -> NDArray[np.float64]:
    """How far the sample is off in each direction of PAIRS, by the CIEDE2000 that it alone would make.

    Parameters
    ----------
    reference_lab, sample_lab : CIELAB, (..., 3)

    Returns
    -------
    (..., 4), above 0 for lighter, redder, yellower, cleaner; the last is 0 beside a grey

    >>> weighed([50.0, 0.0, 0.0], [[52.0, 0.0, 0.0], [50.0, 0.0, -1.0]]).round(1).tolist()
    [[2.0, 0.0, 0.0, 0.0], [0.0, 0.0, -1.0, 0.0]]
    """
    reference, sample = np.broadcast_arrays(np.asarray(reference_lab, dtype=float), np.asarray(sample_lab, dtype=float))
    before, after = (np.hypot(lab[..., 1], lab[..., 2]) for lab in (reference, sample))
    coloured = before >= CHROMATIC_FROM
    longer = np.where(coloured, after / np.where(coloured, before, 1.0) - 1, 0.0)
    chroma_step = reference * longer[..., None]
    chroma_step[..., 0] = 0.0
    plain = sample - reference - chroma_step
    # Each direction alone, as a step from the reference: (..., 4, 3).
    steps = np.concatenate([plain[..., None] * np.eye(3), chroma_step[..., None, :]], axis=-2)
    rises = np.concatenate([plain, (coloured * (after - before))[..., None]], axis=-1)
    found: NDArray[np.float64] = np.sign(rises) * difference.ciede2000(
        reference[..., None, :], reference[..., None, :] + steps
    )
    return found


def _strength(size: float) -> str:
    if size >= MUCH_FROM:
        return "much "
    return "" if size >= PLAIN_FROM else "a little "


def _places(angles: Sequence[int]) -> list[tuple[int, str]]:
    """Index and name of the face, the middle and the flop, as far as they were read."""
    found: dict[str, int] = {}
    for i, angle in enumerate(angles):
        if angle <= FACE_UP_TO_DEG:
            found.setdefault("on the face", i)
        elif angle >= FLOP_FROM_DEG:
            found["on the flop"] = i
        else:
            found[f"at {angle} degrees"] = i
    return [(i, where) for where, i in found.items()]
