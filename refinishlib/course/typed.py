"""What a typed text means: quotes of every kind, brackets, lists, sums. Numbers with units are read by `units`."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator

from refinishlib import units
from refinishlib.course.answers import worked_out
from refinishlib.entry import BadEntry, number

LONGEST_AMOUNT = 120

SOURCES = {"LONGEST_AMOUNT": "teaching value: a longer sum is no answer"}

_QUOTES = "\"'“”„‟‘’‚‛«»‹›`´\N{FULLWIDTH QUOTATION MARK}\N{FULLWIDTH APOSTROPHE}"
_OPEN, _CLOSE = "[({", "])}"
_ABOUT = re.compile(r"^(?:=|~|≈|ca\.?(?=[ \d])|about |approx\.? |roughly )\s*", re.IGNORECASE)
_TIMES = re.compile(r"(?<=[\d).\w]) ?[x×·✕✖∙⋅] ?(?=[\d(.])|(?<=\d) ?[X] ?(?=\d)")
_OTHER_SIGNS = str.maketrans({"÷": "/", "−": "-", "–": "-", "—": "-", ":": "/"})
_SIGN = re.compile(r"(\*\*|[-+*/()])")
_BULLET = re.compile(r"^\s*(?:[-*•]|\d{1,2}[.)])\s+(?=\D)")
_TOKEN = re.compile(r"[+-]?[0-9][0-9.,'’]*(?:\s*[^\W\d_]+\.?|\s*%)?")


def bare(text: str) -> str:
    """A text without its quotes, stray brackets, and the stop or comma behind it; blanks made single.

    >>> bare(" „34,2 g” "), bare('""yes""'), bare("[12, 30"), bare("(3 + 4) * 2"), bare("accept it.")
    ('34,2 g', 'yes', '12, 30', '(3 + 4) * 2', 'accept it')
    """
    text = " ".join(_straight(text).split())
    while True:
        before = text
        text = text.strip().strip(_QUOTES).strip().rstrip(",;.!").strip()
        if text[:1] and text[0] in _OPEN and (_closes_at(text) in (-1, len(text) - 1)):
            text = text[1:-1] if _closes_at(text) >= 0 else text[1:]
        elif text[-1:] and text[-1] in _CLOSE and text.count(text[-1]) > text.count(_OPEN[_CLOSE.index(text[-1])]):
            text = text[:-1]
        if text == before:
            return text


def _straight(text: str) -> str:
    """Full-width letters, digits and signs as ordinary ones, digits of other scripts as 0 to 9."""
    out = []
    for letter in text:
        if unicodedata.decomposition(letter).startswith("<wide>"):
            letter = unicodedata.normalize("NFKC", letter)
        digit = unicodedata.decimal(letter, None)
        out.append(letter if digit is None else str(digit))
    return "".join(out)


def _closes_at(text: str) -> int:
    """Where the bracket that opens a text is closed again; -1 where it is not."""
    depth = 0
    for at, letter in enumerate(text):
        depth += (letter in _OPEN) - (letter in _CLOSE)
        if depth == 0:
            return at
    return -1


def lists(text: str) -> Iterator[list[str]]:
    """The ways to take a text apart into a list, the surest first.

    Line breaks, semicolons and arrows part for sure; then commas with a blank behind; then all commas; then blanks.

    >>> next(lists("[12, 30,5, 41]"))
    ['12', '30,5', '41']
    """
    inner = _inside(text)
    for sign in (r"\n|;|\||->|→|>", r",\s", ","):
        pieces = [piece for piece in (bare(_BULLET.sub("", one)) for one in re.split(sign, inner)) if piece]
        if len(pieces) > 1:
            yield pieces
    tokens = _TOKEN.findall(_straight(inner))
    if len(tokens) > 1 and not re.sub(r"[\s,;]", "", _TOKEN.sub("", _straight(inner))):
        yield [token.strip().rstrip(",;") for token in tokens]
    yield [bare(inner)]


def _inside(text: str) -> str:
    text = text.strip()
    if text[:1] and text[0] in _OPEN:
        text = text[1:]
    return text[:-1] if text[-1:] and text[-1] in _CLOSE else text


def amount(field: str, text: str, kind: str, *, unit: str, low: float, high: float) -> float:
    """A typed number, with or without its unit, or a sum of such, in the house's unit.

    Raises
    ------
    BadEntry : one sentence that says what to type instead

    >>> amount("Own weight", "7 x 28,35", "mass", unit="g", low=0, high=1000)
    198.45000000000002
    """
    clean = _ABOUT.sub("", bare(text))
    clean = re.sub(rf"(?<![0-9])[{re.escape(_QUOTES)}]|[{re.escape(_QUOTES)}](?![0-9])", "", clean)
    sum_ = _TIMES.sub("*", clean).translate(_OTHER_SIGNS)
    try:
        return units.parse(clean, kind, field=field, low=low, high=high, unit=unit)
    except BadEntry as plain_refusal:
        if len(clean) > LONGEST_AMOUNT or not _SIGN.search(sum_[1:]) or re.match(r"[\d., ]+-[\d., ]+[^\d., ]", clean):
            raise _better(plain_refusal, field, clean) from None
        return _sum(field, sum_, kind, unit, low, high, plain_refusal)


def _sum(field: str, text: str, kind: str, unit: str, low: float, high: float, refusal: BadEntry) -> float:
    pieces = [piece for piece in _SIGN.split(text) if piece.strip()]
    written, in_house = [], False
    for piece in pieces:
        if _SIGN.fullmatch(piece.strip()):
            written.append(piece.strip())
            continue
        in_house = in_house or any(letter.isalpha() or letter == "%" for letter in piece)
        try:
            value = units.parse(piece, kind, field=field, unit=unit)
        except BadEntry:
            raise refusal from None
        written.append(repr(value if in_house else units.parse(piece, "number", field=field)))
    try:
        value = float(worked_out(" ".join(written)))
    except (ValueError, OverflowError) as problem:
        if str(problem) == "not a sum":
            raise refusal from None
        raise BadEntry(f"{field}: {problem}") from None
    return number(field, value if in_house else units.to_house(value, unit), low=low, high=high, unit=unit)


def _better(refusal: BadEntry, field: str, text: str) -> BadEntry:
    if "^" in text:
        return BadEntry(f"{field}: the sign ^ was given, type the number worked out, or 3 * 3.")
    return refusal
