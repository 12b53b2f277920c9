"""Numbers of somebody's own: drawn from a text, the same on every machine, and drawn again until answers can be told.

A question names the values that compete for a part (the right one and the ones that known mistakes lead to). Numbers
on which two of them fall together would let a mistake pass for the right answer, so such numbers are drawn again.
"""

from __future__ import annotations

import hashlib
import random
from collections.abc import Callable, Iterable, Sequence
from typing import Any, TypeVar

from refinishlib.course.question import Part, Question
from refinishlib.entry import BadEntry

T = TypeVar("T")

MOST_DRAWS = 200

SOURCES = {"MOST_DRAWS": "teaching value: a lesson that needs more draws than this allows too little room"}


class Draw:
    """Draws that depend on nothing but a text, the same on every machine and Python."""

    def __init__(self, seed: str):
        self._random = random.Random(int.from_bytes(hashlib.sha256(seed.encode()).digest(), "big"))

    def one_of(self, options: Sequence[T]) -> T:
        """One of the options, each as likely as the others.

        >>> Draw("a").one_of(("yes", "no")) in ("yes", "no")
        True
        """
        return options[int(self._random.random() * len(options))]

    def step(self, low: float, high: float, step: float) -> float:
        """One of low, low + step, ... up to high.

        >>> Draw("a").step(10, 20, 5) in (10, 15, 20)
        True
        """
        count = round((high - low) / step)
        return round(low + step * int(self._random.random() * (count + 1)), 6)

    def until(self, make: Callable[[], T], fits: Callable[[T], bool]) -> T:
        """The first that fits of what is made again and again.

        Raises
        ------
        BadEntry : not one of many fits

        >>> draw = Draw("a")
        >>> draw.until(lambda: draw.step(0, 9, 1), lambda number: number > 7) in (8, 9)
        True
        """
        for _ in range(MOST_DRAWS):
            made = make()
            if fits(made):
                return made
        raise BadEntry(f"the draw: {MOST_DRAWS} of them did not fit, allowed are ranges in which one does.")


def kept_apart(seed: str, job: Callable[[Draw], T], questions: Callable[[T], Iterable[Question]]) -> T:
    """The first job drawn from this text on which no two competing values of any part fall together.

    Parameters
    ----------
    seed : the text to draw from; the first draw is from the text itself, the next from the text and a number
    job : draws one apprentice's numbers
    questions : asks the questions with these numbers

    Raises
    ------
    BadEntry : not one of many draws keeps all values apart; names the part and the two values of the last one
    """
    close = ""
    for count in range(MOST_DRAWS):
        mine = job(Draw(f"{seed}/{count}" if count else seed))
        close = next((found for one in questions(mine) for part in one.parts if (found := _close(one, part))), "")
        if not close:
            return mine
    raise BadEntry(f"{seed}: {MOST_DRAWS} draws gave {close}, allowed are ranges in which they can be told apart.")


def _close(question: Question, part: Part) -> str:
    pair = together(part)
    return f'"{pair[0]}" and "{pair[1]}" as one value of {question.name} {part.name}' if pair else ""


def together(part: Part) -> tuple[str, str] | None:
    """Two competing values of a part that somebody's entry could not be told apart by, or None.

    >>> from refinishlib.course.question import Number
    >>> mass = Number("mass", "g")
    >>> together(Part("own_g", "Own weight", mass, 2, near=0.1, values={"own": 30.0, "reading": 30.15, "parts": 70.0}))
    ('own', 'reading')
    >>> together(Part("own_g", "Own weight", mass, 2, near=0.1, values={"own": 30.0, "reading": 31.0}))
    """
    named = list(part.values.items())
    for index, (name, value) in enumerate(named):
        for other, rival in named[index + 1 :]:
            if _same(part, value, rival):
                return name, other
    return None


def _same(part: Part, value: Any, other: Any) -> bool:
    """Whether some entry would be near enough to both."""
    if isinstance(value, tuple) and isinstance(other, tuple) and len(value) == len(other):
        reach = part.nearness(value) + part.nearness(other)
        return all(_within(one, two, reach) for one, two in zip(value, other, strict=True))
    if isinstance(value, int | float) and isinstance(other, int | float):
        return _within(value, other, part.nearness(value) + part.nearness(other))
    return bool(value == other)


def _within(value: Any, other: Any, reach: float) -> bool:
    if isinstance(value, int | float) and isinstance(other, int | float):
        return abs(value - other) <= reach
    return bool(value == other)
