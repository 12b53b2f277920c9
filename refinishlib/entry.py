"""Checking what somebody entered: one clear sentence that names the field, what was given and what is allowed."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

DIGITS = 6
# Sizes in powers of ten between which a number is written without them.
SMALLEST, LARGEST = -10, 15

SOURCES = {
    "DIGITS": "teaching value: more digits than any scale or jug shows",
    "SMALLEST": "teaching value: so small or smaller, nobody counts the zeros",
    "LARGEST": "teaching value: so large or larger, nobody counts the digits",
}


class BadEntry(ValueError):
    """An entry that cannot be used. Its text is one sentence, fit to be shown to a painter."""


def number(
    field: str,
    value: Any,
    *,
    low: float = -math.inf,
    high: float = math.inf,
    unit: str = "",
    above_low: bool = False,
    given: str = "",
) -> float:
    """The value as a plain float, if it is a finite number from low to high.

    Parameters
    ----------
    field : the name of the field, in words that stand on the screen
    value : anything
    low, high : the allowed range, ends included; with above_low the low end is not
    unit : unit to print after the range
    given : words for what was given, if the value itself is not what somebody typed

    Raises
    ------
    BadEntry : not a number, not finite, or outside the range

    >>> number("humidity", 140, low=0, high=100, unit="%")
    Traceback (most recent call last):
        ...
    refinishlib.entry.BadEntry: humidity: 140 was given, allowed is a number from 0 to 100 %.
    """
    allowed = f"allowed is {_range_words(low, high, unit, above_low)}."
    if isinstance(value, (bool, str, bytes)) or value is None:
        raise BadEntry(f"{field}: {value!r} was given, {allowed}")
    try:
        result = float(value)
    except (TypeError, ValueError):
        raise BadEntry(f"{field}: {value!r} was given, {allowed}") from None
    except OverflowError:
        raise BadEntry(f"{field}: a number of hundreds of digits was given, {allowed}") from None
    if not math.isfinite(result) or result < low or result > high or (above_low and result == low):
        raise BadEntry(f"{field}: {given or plain(result)} was given, {allowed}")
    return result


def whole(field: str, value: Any, *, low: int, high: int) -> int:
    """The value as a plain int, if it is a whole number from low to high.

    >>> whole("coats", 2.0, low=1, high=9)
    2
    """
    result = number(field, value, low=low, high=high)
    if result != int(result):
        raise BadEntry(
            f"{field}: {plain(result)} was given, allowed is a whole number from {plain(low)} to {plain(high)}."
        )
    return int(result)


def numbers(
    field: str,
    values: Any,
    *,
    low: float = -math.inf,
    high: float = math.inf,
    unit: str = "",
    shape: tuple[int | None, ...] | None = None,
) -> NDArray[np.float64]:
    """The values as a float array, if all are finite and from low to high.

    shape : the wanted shape of the last axes; None stands for any length. Leading axes are free.

    Raises
    ------
    BadEntry : not numbers, not finite, out of range, or of the wrong shape

    >>> numbers("spectrum", [0.2, 0.3], low=0, high=2, shape=(31,))
    Traceback (most recent call last):
        ...
    refinishlib.entry.BadEntry: spectrum: 2 values were given, allowed are 31.
    """
    import numpy as np

    try:
        typed = np.asarray(values)
        if typed.dtype.kind in "USmM":  # text and dates would be turned into numbers without a word
            raise TypeError
        array: NDArray[np.float64] = typed.astype(float)
    except (TypeError, ValueError, OverflowError):
        allowed = _range_words(low, high, unit, False)
        raise BadEntry(f"{field}: something that is not a number was given, allowed is {allowed}.") from None
    if shape is not None:
        tail = array.shape[-len(shape) :]
        if len(tail) < len(shape) or any(w not in (None, g) for w, g in zip(shape, tail, strict=True)):
            given = " x ".join(map(str, tail)) or "one"
            wanted = " x ".join("any" if n is None else str(n) for n in shape)
            raise BadEntry(f"{field}: {given} values were given, allowed are {wanted}.")
    wrong = ~np.isfinite(array) | (array < low) | (array > high)
    if wrong.any():
        allowed = _range_words(low, high, unit, False)
        raise BadEntry(f"{field}: {plain(array[wrong].flat[0])} was given, allowed is {allowed}.")
    return array


def one_of(field: str, value: Any, allowed: Iterable[Any]) -> Any:
    """The value, if it is one of those allowed.

    >>> one_of("lamp", "candle", ["D65", "A"])
    Traceback (most recent call last):
        ...
    refinishlib.entry.BadEntry: lamp: 'candle' was given, allowed are D65, A.
    """
    known = list(allowed)
    try:
        if value in known:
            return value
    except (TypeError, ValueError):
        pass
    raise BadEntry(f"{field}: {value!r} was given, allowed are {', '.join(map(str, known))}.")


def plain(value: float) -> str:
    """A number as a person writes it: six digits that count, groups of three from six digits on, never 1e+06.

    >>> plain(1e6), plain(34.2), plain(1234.5678), plain(0.000025), plain(-20000)
    ('1 000 000', '34.2', '1234.57', '0.000025', '-20000')
    >>> plain(1.5e300), plain(float("inf"))
    ('1.5 x 10^300', 'inf')
    """
    try:
        value = float(value)
    except OverflowError:
        return "a number too large to write down"
    if not math.isfinite(value) or not value:
        return f"{value:g}"
    size = math.floor(math.log10(abs(value)))
    if not SMALLEST < size < LARGEST:
        return f"{value:.{DIGITS}g}".replace("e+", " x 10^").replace("e-", " x 10^-")
    whole, _, rest = f"{value:.{max(0, DIGITS - 1 - size)}f}".partition(".")
    grouped = f"{int(whole):,}".replace(",", " ") if len(whole.lstrip("-")) >= DIGITS else whole
    return f"{grouped}.{rest}".rstrip("0").rstrip(".") if rest else grouped


def _range_words(low: float, high: float, unit: str, above_low: bool) -> str:
    tail = f" {unit}" if unit else ""
    if math.isinf(low) and math.isinf(high):
        return f"a number{' in' + tail if unit else ''}"
    if math.isinf(high):
        return f"a number above {plain(low)}{tail}" if above_low else f"a number of {plain(low)}{tail} or more"
    if math.isinf(low):
        return f"a number up to {plain(high)}{tail}"
    first = f"above {plain(low)} and up to" if above_low else f"from {plain(low)} to"
    return f"a number {first} {plain(high)}{tail}"
