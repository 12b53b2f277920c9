"""What a painter wants to hear about two readings: how far, in which direction, and whether it will do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from refinishlib.colour import difference, reading
from refinishlib.colour.reading import Reading
from refinishlib.entry import BadEntry, number, one_of

# Largest difference on the face (15, 25), in the middle (45) and on the flop (75, 110): edge to edge, then blended.
SETS = {
    "solid": ((0.8, 0.8, 0.8), (2.2, 2.2, 2.2)),
    "metallic": ((1.2, 1.0, 1.6), (3.0, 2.5, 4.0)),
    "strict": ((0.5, 0.5, 0.5), (1.5, 1.5, 1.5)),
}
ZONES = {15: 0, 25: 0, 45: 1, 75: 2, 110: 2}
FACE_UP_TO_DEG = 25
FLOP_FROM_DEG = 75
WORD_FROM = 0.3
PLAIN_FROM = 0.8
MUCH_FROM = 2.0
CHROMATIC_FROM = 5.0
SOLID_FLOP = 0.3
VERDICTS = ("match", "blend", "no match")

SOURCES = {
    "SETS": "common practice, no source; teaching values in CIEDE2000 to be changed by whoever teaches",
    "ZONES": "common practice, no source: 15 and 25 degrees are called the face, 75 and 110 the flop",
    "FACE_UP_TO_DEG": "common practice, no source: 15 and 25 degrees are called the face",
    "FLOP_FROM_DEG": "common practice, no source: 75 and 110 degrees are called the flop",
    "WORD_FROM": "teaching value: CIEDE2000 below which a direction is not worth a word",
    "PLAIN_FROM": "teaching value: CIEDE2000 below which a direction is called a little",
    "MUCH_FROM": "teaching value: CIEDE2000 from which a direction is called much",
    "CHROMATIC_FROM": "teaching value: chroma below which a colour is a grey and neither clean nor muddy",
    "SOLID_FLOP": "common practice, no source: a flop index up to this is a solid colour",
}


@dataclass(frozen=True)
class Tolerance:
    """How far a card may be from the panel; common practice, to be changed.

    match, blend : largest difference that passes edge to edge, and that a blend hides: on the face, in the middle
        (45 degrees) and on the flop
    formula : "CIEDE2000", "CIE94", "CMC" or "CIELAB"
    """

    name: str
    match: tuple[float, float, float]
    blend: tuple[float, float, float]
    formula: str = "CIEDE2000"


@dataclass(frozen=True, eq=False)
class Comparison:
    """A card against a panel.

    angles_deg : where both were read
    differences : by the tolerance's formula, (angles,)
    limits : of the tolerance for a match, (angles,)
    per_angle : "match", "blend" or "no match" at each angle
    verdict : the worst of them
    words : a sentence for the face, the middle and the flop
    flop_index_change : the card's flop index less the panel's; None without 15, 45 and 110 degrees
    """

    angles_deg: tuple[int, ...]
    differences: NDArray[np.float64]
    limits: NDArray[np.float64]
    per_angle: tuple[str, ...]
    verdict: str
    words: tuple[str, ...]
    flop_index_change: float | None


def tolerance(name: str, *, factor: float = 1.0, formula: str = "CIEDE2000") -> Tolerance:
    """A tolerance set of the demo: "solid", "metallic" or "strict", all limits times a factor above 0.

    >>> tolerance("solid", factor=2).match
    (1.6, 1.6, 1.6)
    """
    match, blend = SETS[one_of("tolerance", name, SETS)]
    times = number("tolerance factor", factor, low=0, above_low=True)
    one_of("difference formula", formula, difference.FORMULAS)
    face, middle, flop = (times * limit for limit in match)
    blend_face, blend_middle, blend_flop = (times * limit for limit in blend)
    return Tolerance(name, (face, middle, flop), (blend_face, blend_middle, blend_flop), formula)


def compare(panel: Reading, card: Reading, allowed: Tolerance | None = None) -> Comparison:
    """A card held against a panel at every angle where both were read.

    Parameters
    ----------
    panel, card : the reference and the sample
    allowed : tolerance; "metallic" for a panel with flop, else "solid", if none is given

    Raises
    ------
    BadEntry : no angle in common

    >>> from refinishlib.colour.reading import from_lab
    >>> result = compare(from_lab({45: (50.0, 20.0, 5.0)}), from_lab({45: (47.0, 20.0, 5.0)}))
    >>> result.verdict, result.words
    ('no match', ('at 45 degrees the card is much darker',))
    """
    common = [angle for angle in panel.angles_deg if angle in card.angles_deg]
    if not common:
        raise BadEntry("readings: no angle in common was given, allowed is at least one angle that both were read at.")
    reference, sample = reading.at_angles(panel, common), reading.at_angles(card, common)
    limits = allowed or tolerance(_usual(reference))
    found = difference.difference(limits.formula, reference.lab, sample.lab)
    match = np.array([limits.match[ZONES[angle]] for angle in common])
    blend = np.array([limits.blend[ZONES[angle]] for angle in common])
    worst = np.where(found <= match, 0, np.where(found <= blend, 1, 2))
    flop = None
    if set(reading.FLOP_ANGLES) <= set(common):
        flop = reading.flop_index(sample) - reading.flop_index(reference)
    return Comparison(
        angles_deg=tuple(common),
        differences=found,
        limits=match,
        per_angle=tuple(VERDICTS[i] for i in worst),
        verdict=VERDICTS[worst.max()],
        words=tuple(
            f"{where} the card is {direction(reference.lab[i], sample.lab[i])}" for i, where in _places(common)
        ),
        flop_index_change=flop,
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
    reference, sample = np.asarray(reference_lab, dtype=float), np.asarray(sample_lab, dtype=float)
    chroma_before, chroma_after = (float(np.hypot(*lab[1:])) for lab in (reference, sample))
    chroma_step = np.zeros(3)
    if chroma_before >= CHROMATIC_FROM:
        chroma_step[1:] = reference[1:] * (chroma_after / chroma_before - 1)
    steps = np.vstack([np.diag(sample - reference - chroma_step), chroma_step])
    pairs = (("lighter", "darker"), ("redder", "greener"), ("yellower", "bluer"), ("cleaner", "muddier"))
    rises = (*np.diag(steps[:3]), chroma_after - chroma_before)
    sizes = difference.ciede2000(reference, reference + steps)
    told = [
        (size, _strength(size) + words[0 if rise > 0 else 1])
        for size, words, rise in zip(sizes, pairs, rises, strict=True)
        if size >= WORD_FROM
    ]
    words = [word for _, word in sorted(told, key=lambda item: -item[0])]
    return " and ".join(filter(None, [", ".join(words[:-1]), *words[-1:]])) or "the same"


def _strength(size: float) -> str:
    if size >= MUCH_FROM:
        return "much "
    return "" if size >= PLAIN_FROM else "a little "


def _usual(panel: Reading) -> str:
    if set(reading.FLOP_ANGLES) <= set(panel.angles_deg):
        return "metallic" if reading.flop_index(panel) > SOLID_FLOP else "solid"
    return "solid"


def _places(angles: list[int]) -> list[tuple[int, str]]:
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
