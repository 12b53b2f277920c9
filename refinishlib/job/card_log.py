"""The card log: the shop's memory of the cards that it sprayed and of what it thought of them.

The format is CSV, UTF-8, commas between and a decimal point; its first line is `COLUMNS`, then one line a card. Any
spreadsheet opens it. Reading gives the cards or one line for each fault; a card is added as one line at the end, and
nothing that stands there is ever changed.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import astuple, dataclass
from typing import Any

from refinishlib.entry import BadEntry, number, one_of, whole
from refinishlib.job.record import LONGEST_TEXT, is_date, plain_text
from refinishlib.shop.product import FILM_MAX_UM

# What a painter says of a card beside the vehicle, the best first.
VERDICTS = ("goes edge to edge", "needs a fade", "not yet")
COLUMNS = (
    "date", "colour", "variant", "grey_lightness", "coats", "film_um", "cleared", "gun", "vehicle", "verdict",
    "difference", "note",
)  # fmt: skip
MOST_COATS = 20
MOST_DIFFERENCE = 100.0
SAME_GREY = 5.0

SOURCES = {
    "MOST_COATS": "teaching value: range of an entry",
    "MOST_DIFFERENCE": "teaching value: range of an entry, CIEDE2000 or whatever the shop reads",
    "SAME_GREY": "teaching value: greys this near to each other are the same ground for a colour that hides",
}


@dataclass(frozen=True)
class Card:
    """One card that was sprayed.

    date : year-month-day
    colour, variant : as the shop calls them
    grey_lightness : CIELAB L* of the ground, 0-100
    coats, film_um : of colour, and the dry film of one
    cleared : whether clear was on it
    gun : as the shop calls it
    vehicle : as the shop calls it
    verdict : goes edge to edge, needs a fade, or not yet
    difference : what was read beside the vehicle; None where nobody read
    """

    date: str
    colour: str
    variant: str
    grey_lightness: float
    coats: int
    film_um: float
    cleared: bool
    gun: str
    vehicle: str
    verdict: str
    difference: float | None = None
    note: str = ""


@dataclass(frozen=True)
class FirstTry:
    """Which variant to try first, and why that is not yet a proof.

    variant : None where no card of the colour is in the log
    cards : of that variant, the newest first
    why, not_a_proof : in a sentence each
    """

    variant: str | None
    cards: tuple[Card, ...]
    why: str
    not_a_proof: str


def read_log(text: str, *, file: str = "the text") -> tuple[Card, ...]:
    """The cards of a log, in the order of its lines.

    Raises
    ------
    BadEntry : one line for each fault, with its line number

    >>> read_log("date;colour")
    Traceback (most recent call last):
        ...
    refinishlib.entry.BadEntry: the text, line 1: 'date;colour' was given, allowed is date,colour,variant,...
    """
    rows = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True)
    cards: list[Card] = []
    faults: list[str] = []
    try:
        header = ",".join(next(rows, []))
        if header != ",".join(COLUMNS):
            raise BadEntry(f"{file}, line 1: {header[:LONGEST_TEXT]!r} was given, allowed is {','.join(COLUMNS)}.")
        for row in rows:
            if not row:
                continue
            try:
                cards.append(_card(row))
            except BadEntry as fault:
                faults.append(f"{file}, line {rows.line_num}: {fault}")
    except csv.Error as error:
        faults.append(f"{file}, line {rows.line_num}: not valid CSV, {error}.")
    if faults:
        raise BadEntry("\n".join(faults))
    return tuple(cards)


def write_log(cards: Iterable[Card]) -> str:
    """A log of these cards; `read_log` reads it back.

    Raises
    ------
    BadEntry : a value that the format does not allow

    >>> card = Card("2026-11-26", "dark red", "b", 40.0, 3, 6.0, True, "gun 2", "demo 7", "needs a fade", 0.9)
    >>> read_log(write_log([card])) == (card,)
    True
    """
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(COLUMNS)
    for card in cards:
        row = [_cell(value) for value in astuple(card)]
        _card(row)
        table.writerow(row)
    return out.getvalue()


def with_card(text: str, card: Card) -> str:
    """The text of a log with one card more at its end; what stands there stays as it is.

    >>> card = Card("2026-11-26", "dark red", "b", 40.0, 3, 6.0, True, "gun 2", "demo 7", "not yet")
    >>> len(read_log(with_card(with_card("", card), card)))
    2
    """
    if not text.strip():
        return write_log([card])
    read_log(text)
    return text.rstrip("\r\n") + "\n" + write_log([card]).split("\n", 1)[1]


def cards_of(cards: Iterable[Card], colour: str) -> tuple[Card, ...]:
    """The cards of a colour, the newest first; capitals do not count.

    >>> cards_of([], "dark red")
    ()
    """
    wanted = colour.strip().casefold()
    found = [card for card in cards if card.colour.casefold() == wanted]
    return tuple(sorted(found, key=lambda card: card.date, reverse=True))


def first_to_try(cards: Sequence[Card], colour: str, *, grey_lightness: float | None = None) -> FirstTry:
    """Which variant of a colour the shop's own cards say to try first, and why that is not yet a proof.

    Parameters
    ----------
    cards : the log
    colour : as the shop calls it
    grey_lightness : of the ground of this job, 0-100; cards on another grey count after those on it

    Raises
    ------
    BadEntry : a grey out of range

    Source
    ------
    Common practice, no source: what went on the last vehicle of a colour is where one begins; it is a start because
    each vehicle was sprayed, repaired and weathered by itself.

    >>> log = [Card("2026-03-02", "dark red", "a", 40.0, 3, 6.0, True, "gun 2", "demo 3", "not yet", 2.1),
    ...        Card("2026-05-02", "dark red", "b", 40.0, 3, 6.0, True, "gun 2", "demo 5", "needs a fade", 0.9)]
    >>> first_to_try(log, "Dark red").variant
    'b'
    """
    grey = None if grey_lightness is None else number("grey", grey_lightness, low=0, high=100)
    found = cards_of(cards, colour)
    if not found:
        return FirstTry(
            None,
            (),
            f"No card of {colour} is in the log: begin with the variant whose readings lie nearest.",
            "A variant that nobody has sprayed here is a guess: spray a card.",
        )

    def rank(card: Card) -> tuple[Any, ...]:
        other_grey = grey is not None and abs(card.grey_lightness - grey) > SAME_GREY
        unread = card.difference is None
        return (
            VERDICTS.index(card.verdict),
            other_grey or not card.cleared,
            unread,
            card.difference if card.difference is not None else 0.0,
        )

    best = min(found, key=rank)  # of equals the newest, for that is how they come
    own = tuple(card for card in found if card.variant == best.variant)
    read_words = "" if best.difference is None else f", {best.difference:g} off"
    why = (
        f"Variant {best.variant} said {best.verdict!r} on {best.vehicle} on {best.date}{read_words}; "
        f"{len(own)} of {len(found)} cards of this colour are of it."
    )
    doubts = ["that was another vehicle, and each one weathers by itself"]
    if grey is not None and abs(best.grey_lightness - grey) > SAME_GREY:
        doubts.append(f"it lay on a grey of L* {best.grey_lightness:g} and this job has {grey:g}")
    if not best.cleared:
        doubts.append("it was not cleared")
    if len(own) == 1:
        doubts.append("it is one card")
    return FirstTry(best.variant, own, why, f"No proof yet: {', '.join(doubts)}. Spray a card for this one.")


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return repr(value) if isinstance(value, float) else str(value)


def _card(row: Sequence[str]) -> Card:
    if len(row) != len(COLUMNS):
        raise BadEntry(f"columns: {len(row)} were given, allowed are {len(COLUMNS)}.")
    value = dict(zip(COLUMNS, row, strict=True))
    texts = {}
    for name in ("date", "colour", "variant", "gun", "vehicle", "note"):
        texts[name] = plain_text(name, value[name])
        if not texts[name] and name != "note":
            raise BadEntry(f"{name}: nothing was given, allowed is a text.")
    if not is_date(texts["date"]):
        raise BadEntry(f"date: {texts['date']!r} was given, allowed is a day such as 2026-11-26.")
    difference = value["difference"]
    return Card(
        texts["date"],
        texts["colour"],
        texts["variant"],
        number("grey_lightness", _plain(value["grey_lightness"]), low=0, high=100),
        whole("coats", _plain(value["coats"]), low=1, high=MOST_COATS),
        number("film_um", _plain(value["film_um"]), low=0, above_low=True, high=FILM_MAX_UM, unit="um"),
        one_of("cleared", value["cleared"], ("yes", "no")) == "yes",
        texts["gun"],
        texts["vehicle"],
        str(one_of("verdict", value["verdict"], VERDICTS)),
        number("difference", _plain(difference), low=0, high=MOST_DIFFERENCE) if difference else None,
        texts["note"],
    )


def _plain(text: str) -> float | str:
    """A number of the file; what is none is left for the one who checks it to say so."""
    try:
        return float(text)
    except ValueError:
        return text
