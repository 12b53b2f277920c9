"""Eyes instead of instruments: what a painter says of a card becomes a reading, with the doubt that words have.

The inverse of `verdict.direction`. Words are cells: "a little lighter" is every difference of which the verdict would
say just that. The reading is the middle of the cell, and its doubt is the cell's width with what the eye adds.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import verdict
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.reading import HIGHEST_LIGHTNESS, Reading
from refinishlib.colour.verdict import CHROMATIC_FROM, FACE_UP_TO_DEG, FLOP_FROM_DEG, PAIRS
from refinishlib.entry import BadEntry, number, numbers, one_of

STRENGTHS = {
    "a little": ("a little", "a touch", "a bit", "a hair", "slightly", "little"),
    "much": ("much", "a lot", "clearly", "far", "very"),
}
SAME_AS = {"brighter": "lighter", "deeper": "darker", "dirtier": "muddier", "greyer": "muddier"}
NOTHING = ("the same", "same", "fine", "a match", "matches")
PLACES = {"face": "face", "middle": "middle", "flop": "flop", "side": "flop"}
MUCH_UP_TO = 5.0
EYE_SHARE = 0.25
HUE_UP_TO_DEG = 60.0
TRIED = 401
KEPT = 31
ROUNDS = 3
SAID_OF = ("the card", "the panel")
HALF = 50.0
STRETCH = 10.0

SOURCES = {
    "MUCH_UP_TO": "teaching value: CIEDE2000 beyond which nobody says how a colour is off, but that it is another one",
    "EYE_SHARE": "teaching value: standard deviation with which an eye misjudges the size of a difference, as a share",
    "HUE_UP_TO_DEG": "teaching value: a hue that is turned further is another colour",
    "TRIED": "teaching value: steps along each direction",
    "KEPT": "teaching value: steps of a cell that its width is taken from",
    "ROUNDS": "teaching value: repeats until the panel is found; each comes some ten times nearer",
    "HALF": "ISO/CIE 11664-6 (2022): lightness differences count most near L* 50",
    "STRETCH": "teaching value: generous; CIEDE2000 shrinks a step by 1 + 0.045 C* and by up to 1.75 in lightness",
}

# Sizes in CIEDE2000 that a strength stands for. What is not said is too small for a word.
CELLS = {
    "a little": (verdict.WORD_FROM, verdict.PLAIN_FROM),
    "": (verdict.PLAIN_FROM, verdict.MUCH_FROM),
    "much": (verdict.MUCH_FROM, MUCH_UP_TO),
}
LIGHTNESS, RED, YELLOW, CHROMA = range(len(PAIRS))


@dataclass(frozen=True)
class Heard:
    """What is said at one angle: for each of lightness, red, yellow and clean the sizes it may have, or None.

    sizes : signed CIEDE2000, (low, high), above 0 for lighter, redder, yellower, cleaner
    """

    sizes: tuple[tuple[float, float] | None, ...]

    @property
    def nothing(self) -> bool:
        return not any(self.sizes)


def from_words(
    card: Reading,
    said: str | Sequence[str] = "",
    *,
    face: str = "",
    middle: str = "",
    flop: str = "",
    of: str = "the card",
    name: str = "",
) -> Reading:
    """The reading of a panel that nobody measured, from what an eye says with a card held beside it.

    Parameters
    ----------
    card : its reading, or what a model predicts for it
    said : such as "a little lighter, flop darker, a touch yellower", or the sentences of `verdict.compare`; what has no
        place holds everywhere
    face, middle, flop : the same for 15 and 25, for 45, and for 75 and 110 degrees; they count before `said`
    of : "the card" if the words say how the card is off, as verdicts do; "the panel" if they say it of the panel
    name : of the panel

    Returns
    -------
    Reading at the angles of which something was said ("the same" is also something), for D65 and 10 degrees, with
    its doubt. What is not said there is taken to be too small for a word. A decision should see the card through
    `beside`: words tell the difference itself, so the card's own doubt does not come in.

    Raises
    ------
    BadEntry : an unknown word, nothing said, both ways at once, "cleaner" of a grey, a place that the card was not
        read at

    Notes
    -----
    "Redder" of a red is more of its own colour: where no turn of the hue makes a colour redder, the step is taken
    straight in a*, and the verdict would call it cleaner.

    >>> from refinishlib.colour.reading import from_lab
    >>> card = from_lab({15: (60.0, 2.0, -3.0), 110: (30.0, 1.0, -4.0)})
    >>> panel = from_words(card, "a little lighter", flop="darker")
    >>> verdict.direction(panel.lab[0], card.lab[0]), verdict.direction(panel.lab[1], card.lab[1])
    ('a little lighter', 'darker')
    >>> panel.doubt[:, 0].round(2).tolist()
    [0.23, 0.63]
    """
    one_of("said of", of, SAID_OF)
    everywhere, by_place = _sorted_by_place(said)
    for place, words in (("face", face), ("middle", middle), ("flop", flop)):
        if words:
            by_place.setdefault(place, []).extend(_phrases(words))
    here = [place_of(angle) for angle in card.angles_deg]
    for place in by_place:
        one_of("place", place, dict.fromkeys(here))
    angles = [i for i, place in enumerate(here) if everywhere or place in by_place]
    if not angles:
        raise BadEntry("words: nothing was given, allowed is at least one, such as 'a little lighter' or 'the same'.")
    labs, doubts = [], []
    for i in angles:
        said_here = _said([*everywhere], by_place.get(here[i], []))
        where = f"at {card.angles_deg[i]} degrees"
        lab, doubt = (_panel if of == "the card" else sample)(card.lab[i], said_here, where)
        labs.append(lab)
        doubts.append(doubt)
    return Reading(
        tuple(card.angles_deg[i] for i in angles),
        np.array(labs),
        name=name,
        doubt=np.array(doubts),
        observer_deg=card.observer_deg,
    )


def beside(card: Reading) -> Reading:
    """The card as the eye has it beside the panel: without a doubt of its own, since words tell the difference.

    >>> from refinishlib.colour.reading import from_lab
    >>> beside(from_lab({45: (60.0, 2.0, -3.0)})).doubt.tolist()
    [[0.0, 0.0, 0.0]]
    """
    return replace(card, spots=None, doubt=np.zeros_like(card.lab))


def place_of(angle_deg: float) -> str:
    """ "face", "middle" or "flop".

    >>> place_of(15), place_of(45), place_of(110)
    ('face', 'middle', 'flop')
    """
    if angle_deg <= FACE_UP_TO_DEG:
        return "face"
    return "flop" if angle_deg >= FLOP_FROM_DEG else "middle"


def sizes(words: str) -> Heard:
    """What words mean in numbers.

    >>> sizes("much darker and a touch yellower").sizes
    ((-5.0, -2.0), None, (0.3, 0.8), None)
    """
    return _said(_phrases(words), [])


def sample(reference_lab: ArrayLike, said: Heard, where: str = "") -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The colour that words describe beside a known one, and its standard uncertainty, each CIELAB (3,).

    Parameters
    ----------
    reference_lab : what it is held against, (3,)
    said : of `sizes`
    where : for the sentence if something is wrong

    Raises
    ------
    BadEntry : "cleaner" or "muddier" said of a grey

    >>> lab, doubt = sample([60.0, 0.0, 0.0], sizes("yellower"))
    >>> verdict.direction(np.array([60.0, 0.0, 0.0]), lab), doubt.round(2).tolist()
    ('yellower', [0.2, 0.12, 0.52])
    """
    reference = numbers("CIELAB", reference_lab, shape=(3,))
    chroma = float(np.hypot(*reference[1:]))
    grey = chroma < CHROMATIC_FROM
    if grey and said.sizes[CHROMA]:
        raise BadEntry(
            f"words {where}: {PAIRS[CHROMA][0] if said.sizes[CHROMA][0] > 0 else PAIRS[CHROMA][1]!r} was given, "  # type: ignore[index]
            "allowed for a grey are lighter, darker, redder, greener, yellower and bluer."
        )
    lightness = _cell(reference, LIGHTNESS, said)
    if grey:
        red, yellow = (_cell(reference, axis, said) for axis in (RED, YELLOW))
        colour = np.stack([red, yellow], axis=-1)
    else:
        colour = _coloured(reference, chroma, said)
    middle = np.array([lightness.mean(), *colour.mean(axis=0)])
    width = np.array([lightness.std(), *colour.std(axis=0)])
    found = reference + middle
    found[0] = np.clip(found[0], 0.0, HIGHEST_LIGHTNESS)
    return found, np.hypot(width, EYE_SHARE * np.abs(middle))


def _panel(card_lab: NDArray[Any], said: Heard, where: str) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The panel of which the card is said to be off like this; words are always told from the panel."""
    panel, doubt = card_lab, np.zeros(3)
    for _ in range(ROUNDS):
        found, doubt = sample(panel, said, where)
        panel = card_lab - (found - panel)
        panel[0] = np.clip(panel[0], 0.0, HIGHEST_LIGHTNESS)
        if np.hypot(*panel[1:]) < CHROMATIC_FROM:
            # Beside a grey nothing is cleaner: what was said of a card that has just a little chroma is kept as it is.
            said = replace(said, sizes=(*said.sizes[:CHROMA], None))
    return panel, doubt


def _cell(reference: NDArray[Any], axis: int, said: Heard) -> NDArray[np.float64]:
    """Steps along one axis of CIELAB that the word stands for, (KEPT,)."""
    low, high = _range(said.sizes[axis])
    steps = np.linspace(-1.0, 1.0, TRIED) * _reach(reference, axis)
    moved = reference + steps[:, None] * np.eye(3)[axis]
    told = np.sign(steps) * ciede2000(reference, moved)
    # Sizes rise along the axis, so the cell's ends are found by looking the sizes up.
    ends = np.interp([low, high], told, steps)
    return _even(*ends)


def _coloured(reference: NDArray[Any], chroma: float, said: Heard) -> NDArray[np.float64]:
    """Steps in a* and b* that the words for hue and chroma stand for, (n, 2), for a colour that has a chroma."""
    along = reference[1:] / chroma
    share = np.linspace(-1.0, 1.0, TRIED) * min(chroma, _reach(reference, CHROMA))
    told = verdict.weighed(reference, _beside(reference, share[:, None] * along))[:, CHROMA]
    chromas = _even(*np.interp(_range(said.sizes[CHROMA]), told, share))
    turned = _turned(reference, chroma + float(chromas.mean()), said)
    if len(turned):
        turn = np.radians(turned)[:, None]
        hue = np.arctan2(reference[2], reference[1]) + turn
        radius = chroma + chromas
        ends = np.stack([radius * np.cos(hue), radius * np.sin(hue)], axis=-1)
        found: NDArray[np.float64] = (ends - reference[1:]).reshape(-1, 2)
        return found
    red, yellow = (_cell(reference, axis, said) for axis in (RED, YELLOW))
    straight: NDArray[np.float64] = np.stack([red, yellow], axis=-1) + chromas.mean() * along
    return straight


def _turned(reference: NDArray[Any], radius: float, said: Heard) -> NDArray[np.float64]:
    """Turns of the hue, in degrees, of which the words are said; none if no turn does it."""
    most = min(HUE_UP_TO_DEG, float(np.degrees(_reach(reference, CHROMA) / max(radius, CHROMATIC_FROM))))
    turns = np.linspace(-most, most, TRIED)
    hue = np.arctan2(reference[2], reference[1]) + np.radians(turns)
    ends = np.column_stack([np.full(TRIED, reference[0]), radius * np.cos(hue), radius * np.sin(hue)])
    told = verdict.weighed(reference, ends)[:, [RED, YELLOW]]
    ranges = [_range(said.sizes[axis]) for axis in (RED, YELLOW)]
    fits = np.stack([(told[:, i] >= low) & (told[:, i] <= high) for i, (low, high) in enumerate(ranges)], axis=-1)
    strict = fits.all(axis=-1)
    if not strict.any():
        # One of the two was not said, though the turn makes it larger than what goes without a word: no harm as long
        # as the word that was said is the larger one.
        silent = [i for i, axis in enumerate((RED, YELLOW)) if said.sizes[axis] is None]
        if len(silent) != 1:
            return np.empty(0)
        other = 1 - silent[0]
        strict = fits[:, other] & (np.abs(told[:, silent[0]]) <= np.abs(told[:, other]))
    # The run of turns nearest to none: far round the circle the same words could come once more.
    which = np.flatnonzero(strict)
    if not len(which):
        return np.empty(0)
    runs = np.split(which, np.flatnonzero(np.diff(which) > 1) + 1)
    near = min(runs, key=lambda run: float(np.abs(turns[run]).min()))
    return _even(float(turns[near[0]]), float(turns[near[-1]]))


def _beside(reference: NDArray[Any], colour_steps: NDArray[Any]) -> NDArray[np.float64]:
    found = np.repeat(reference[None], len(colour_steps), axis=0)
    found[:, 1:] += colour_steps
    return found


def _reach(reference: NDArray[Any], axis: int) -> float:
    """A step in CIELAB that is certainly more than much: CIEDE2000 shrinks bright and strong colours most."""
    far = abs(reference[0] - HALF) if axis == LIGHTNESS else float(np.hypot(*reference[1:]))
    return MUCH_UP_TO * (2.0 + far / STRETCH)


def _range(size: tuple[float, float] | None) -> tuple[float, float]:
    return size or (-verdict.WORD_FROM, verdict.WORD_FROM)


def _even(low: float, high: float) -> NDArray[np.float64]:
    """Middles of even shares of an interval: their mean and deviation are those of an even distribution."""
    edges = np.linspace(low, high, KEPT + 1)
    found: NDArray[np.float64] = (edges[1:] + edges[:-1]) / 2
    return found


# --- reading what was said -------------------------------------------------------------------------------------------

_PLACE = r"(?:(?:on|in|at) )?(?:the )?(face|middle|flop|side|\d+ degrees)"
_WHOLE = re.compile(rf"^{_PLACE} (?:the card|the panel|it) is (.*)$")
_ONE = re.compile(rf"^{_PLACE} (?:is )?(.*)$")
_SPLIT = re.compile(r"\s*(?:,|\band\b|\bbut\b)\s*")


def _sorted_by_place(said: str | Sequence[str]) -> tuple[list[str], dict[str, list[str]]]:
    """Phrases that hold everywhere, and those of a place."""
    everywhere: list[str] = []
    by_place: dict[str, list[str]] = {}
    given = list(said) if isinstance(said, Sequence) and not isinstance(said, str) else [said]
    if not all(isinstance(text, str) for text in given):
        raise BadEntry("words: something that is not text was given, allowed is text such as 'a little lighter'.")
    for sentence in (part.strip().lower() for text in given for part in re.split(r"[.;\n]", text)):
        if whole := _WHOLE.match(sentence):
            by_place.setdefault(_place(whole[1]), []).extend(_phrases(whole[2]))
            continue
        for phrase in _phrases(sentence):
            if one := _ONE.match(phrase):
                by_place.setdefault(_place(one[1]), []).append(one[2])
            else:
                everywhere.append(phrase)
    return everywhere, by_place


def _place(word: str) -> str:
    degrees = re.match(r"\d+", word)
    return place_of(number("angle", int(degrees[0]), low=1, high=180)) if degrees else PLACES[word]


def _phrases(words: str) -> list[str]:
    if not isinstance(words, str):
        raise BadEntry(f"words: {words!r} was given, allowed is text such as 'a little lighter'.")
    return [phrase for phrase in _SPLIT.split(words.strip().lower()) if phrase]


def _said(everywhere: Sequence[str], here: Sequence[str]) -> Heard:
    found = _axes(everywhere)
    found.update(_axes(here))
    return Heard(tuple(found.get(axis) for axis in range(len(PAIRS))))


def _axes(phrases: Sequence[str]) -> dict[int, tuple[float, float]]:
    found: dict[int, tuple[float, float]] = {}
    for phrase in phrases:
        if phrase in NOTHING:
            continue
        axis, size = _axis(phrase)
        if axis in found:
            raise BadEntry(f"words: {' and '.join(phrases)!r} were given, allowed is each direction once in a place.")
        found[axis] = size
    return found


def _axis(phrase: str) -> tuple[int, tuple[float, float]]:
    strength, direction = "", phrase
    for plain, alike in STRENGTHS.items():
        for start in alike:
            if phrase.startswith(start + " "):
                strength, direction = plain, phrase[len(start) + 1 :].strip()
    direction = SAME_AS.get(direction, direction)
    for axis, pair in enumerate(PAIRS):
        if direction in pair:
            low, high = CELLS[strength]
            return axis, (low, high) if direction == pair[0] else (-high, -low)
    allowed = ", ".join(word for pair in PAIRS for word in pair)
    raise BadEntry(
        f"words: {phrase!r} was given, allowed are {allowed}, alone or after 'a little' or 'much', and 'the same'."
    )
