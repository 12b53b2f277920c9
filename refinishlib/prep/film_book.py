"""The film book of a panel: what lay on it, and what was sanded, added and polished, zone by zone, over both visits.

A film is a budget. The book never says more than it can: each entry has its doubt, doubts add up as independent ones
do, and an answer that lies within the doubt is "too close to say". It is about the finish and never a permission.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from refinishlib.entry import BadEntry, number, one_of, whole
from refinishlib.prep.grades import grade
from refinishlib.prep.removal import LARGEST_FILM_UM, MOST_PASSES, SAFE_CLEAR_UM, removed_um, scratch_depth_um
from refinishlib.prep.scratch import zone_named, zones

KINDS = ("clear", "colour", "sealer", "surfacer", "primer", "filler")
GAUGE_DOUBT_UM = 1.0
GAUGE_DOUBT_SHARE = 0.03
SPRAY_DOUBT_SHARE = 0.15
SANDING_DOUBT_SHARE = 0.3
MOST_FILM_UM = 400.0
MOST_VISITS = 9
ROUNDING_UM = 1e-6

SOURCES = {
    "GAUGE_DOUBT_UM": "teaching value: what a pocket gauge is off by on a thin film; its own papers say how much",
    "GAUGE_DOUBT_SHARE": "teaching value: and a few percent of what it reads",
    "SPRAY_DOUBT_SHARE": "teaching value: coats differ by about this much from the sheet and from place to place",
    "SANDING_DOUBT_SHARE": "teaching value: hands differ; the model of `removal` knows nothing of the hand",
    "MOST_FILM_UM": "common practice, no source: with far more than twice a maker's film on it, strip first",
    "MOST_VISITS": "teaching value: range of an entry",
    "ROUNDING_UM": "definition: what floating point may leave of a film that is gone",
}


_ANSWERS = {
    "leaves enough": "it leaves enough",
    "too close to say": "that is too close to say, so gauge it first",
    "thin": "that is thin",
    "through": "that is through the clear",
}


@dataclass(frozen=True)
class Film:
    """One layer on a panel: clear, colour, sealer, surfacer, primer or filler, and its dry film, 0-2000 um."""

    kind: str
    um: float


@dataclass(frozen=True)
class BookLine:
    """One line of the book.

    what : there, sprayed, sanded, polished or gauged
    um : laid or taken; of a gauge reading, by how much it moved the book, up or down
    doubt_um : of this line alone
    kind : the layer that was there or sprayed, else empty
    """

    visit: int
    zone: str
    what: str
    um: float
    doubt_um: float
    kind: str = ""


@dataclass(frozen=True)
class FilmBook:
    """The layers of each zone now, the uppermost first, how far they are in doubt, and every line that led there."""

    layers: Mapping[str, tuple[Film, ...]]
    doubt_um: Mapping[str, float]
    lines: tuple[BookLine, ...]
    visit: int = 1

    def film_um(self, zone: str) -> float:
        """All film on a zone."""
        return math.fsum(film.um for film in self.layers[zone_named(zone).name])

    def clear_um(self, zone: str) -> float:
        """Clear on top of a zone; 0 where something else lies on top."""
        found = 0.0
        for film in self.layers[zone_named(zone).name]:
            if film.um > ROUNDING_UM:
                if film.kind != "clear":
                    break
                found += film.um
        return found

    def through(self, zone: str) -> bool:
        """Whether something else than clear lies on top."""
        return self.clear_um(zone) <= ROUNDING_UM


@dataclass(frozen=True)
class Take:
    """What taking some film off a zone would leave.

    answer : "leaves enough", "too close to say", "thin" or "through"
    left_um, doubt_um, keep_um : clear that would be left, how far that is in doubt, and what is to be kept
    sentence : the same in words
    """

    zone: str
    answer: str
    left_um: float
    doubt_um: float
    keep_um: float
    sentence: str


@dataclass(frozen=True)
class Respray:
    """A zone that sanding and polishing cannot mend any more: what it needs, and why."""

    zone: str
    needs: tuple[str, ...]
    why: str


def open_book(flat: Sequence[Film], *, gauged: bool = True) -> FilmBook:
    """A book of a panel whose flat has these layers; crown and edge have what is usual beside such a flat.

    Parameters
    ----------
    flat : layers, the uppermost first, 1 or more
    gauged : whether a gauge said so; else the film is as doubtful as one that was sprayed by the sheet

    Raises
    ------
    BadEntry : no layer, an unknown kind, or a film out of range

    >>> book = open_book([Film("clear", 55.0), Film("colour", 20.0), Film("primer", 30.0)])
    >>> book.clear_um("flat"), book.clear_um("edge"), book.film_um("flat")
    (55.0, 38.5, 105.0)
    """
    layers = tuple(_film(film.kind, film.um) for film in flat)
    if not layers:
        raise BadEntry("layers: none was given, allowed is at least one.")
    there: dict[str, tuple[Film, ...]] = {}
    doubts: dict[str, float] = {}
    lines: list[BookLine] = []
    for zone in zones().values():
        own = tuple(Film(film.kind, film.um * zone.film) for film in layers)
        total = math.fsum(film.um for film in own)
        doubt = _gauge_doubt_um(total) if gauged else total * SPRAY_DOUBT_SHARE
        there[zone.name], doubts[zone.name] = own, doubt
        lines += [BookLine(1, zone.name, "there", film.um, doubt, film.kind) for film in own]
    return FilmBook(there, doubts, tuple(lines))


def next_visit(book: FilmBook) -> FilmBook:
    """The same panel on its next visit: what is done from here on stands under it.

    >>> next_visit(open_book([Film("clear", 50.0)])).visit
    2
    """
    return replace(book, visit=whole("visit", book.visit + 1, low=1, high=MOST_VISITS))


def sprayed(book: FilmBook, kind: str, film_um: float, *, on: Iterable[str] | None = None) -> FilmBook:
    """A coat that was laid: as much as said on the flat, on crown and edge what is usual beside it.

    Parameters
    ----------
    kind : clear, colour, sealer, surfacer, primer or filler
    film_um : dry film on the flat, 0-2000 um
    on : the zones that got it; all if not given

    Raises
    ------
    BadEntry : an unknown kind or zone, or a film out of range

    >>> book = sprayed(open_book([Film("primer", 60.0)]), "clear", 50.0)
    >>> book.clear_um("flat"), book.clear_um("edge")
    (50.0, 35.0)
    """
    film = _film(kind, film_um)
    for name in zones() if on is None else on:
        zone = zone_named(name)
        own = film.um * zone.film
        line = BookLine(book.visit, zone.name, "sprayed", own, own * SPRAY_DOUBT_SHARE, kind)
        book = _with(book, (Film(kind, own), *book.layers[zone.name]), line)
    return book


def sanded(book: FilmBook, zone: str, um: float, *, what: str = "sanded") -> FilmBook:
    """Film that was taken off one zone, from the top, layer after layer.

    Parameters
    ----------
    zone : flat, crown or edge
    um : taken, from 0 to all that is there
    what : "sanded" or "polished"

    Raises
    ------
    BadEntry : an unknown zone, or more than there is

    >>> book = sanded(open_book([Film("clear", 50.0), Film("colour", 20.0)]), "flat", 58.0)
    >>> book.clear_um("flat"), book.film_um("flat"), book.through("flat")
    (0.0, 12.0, True)
    """
    here = zone_named(zone).name
    one_of("what was done", what, ("sanded", "polished"))
    taken = number("taken off", um, low=0, high=book.film_um(here), unit="um")
    layers, rest = [], taken
    for film in book.layers[here]:
        off = min(film.um, rest)
        layers.append(Film(film.kind, film.um - off))
        rest -= off
    return _with(book, tuple(layers), BookLine(book.visit, here, what, taken, taken * SANDING_DOUBT_SHARE))


def sanded_with(
    book: FilmBook,
    zone: str,
    name: str,
    *,
    passes: int,
    machine: str = "3/32 in",
    interface_pad: bool = False,
    what: str = "sanded",
) -> FilmBook:
    """The same with a paper and a number of passes; it ends at the bottom of all film.

    Parameters
    ----------
    name : grade of the paper
    passes, machine, interface_pad : as for `refinishlib.prep.removal.removed_um`

    >>> book = open_book([Film("clear", 50.0)])
    >>> round(sanded_with(book, "flat", "P1500", passes=4).clear_um("flat"), 3)
    48.0
    """
    taken = float(
        removed_um(grade(name).grain_um, passes=passes, machine=machine, interface_pad=interface_pad, zone=zone)
    )
    return sanded(book, zone, min(taken, book.film_um(zone)), what=what)


def gauged(book: FilmBook, zone: str, reading_um: float) -> FilmBook:
    """A gauge reading of all film on a zone: the book moves towards it, the more the less the book knew.

    Parameters
    ----------
    zone : flat, crown or edge
    reading_um : of all layers together, 0-2000 um; the uppermost layer takes up the difference

    Raises
    ------
    BadEntry : an unknown zone, or a reading out of range

    Source
    ------
    The mean of two readings weighted by 1/u2: Bevington, Robinson (2003), Data Reduction and Error Analysis, 3rd
    edition, chapter 4, from memory.

    >>> book = gauged(open_book([Film("clear", 50.0)], gauged=False), "flat", 44.0)
    >>> round(book.film_um("flat"), 1), round(book.doubt_um["flat"], 1)
    (44.5, 2.2)
    """
    here = zone_named(zone).name
    reading = number("gauge reading", reading_um, low=0, high=LARGEST_FILM_UM, unit="um")
    own, knew = _gauge_doubt_um(reading), book.doubt_um[here]
    weight = knew**2 / (knew**2 + own**2)
    moved = weight * (reading - book.film_um(here))
    layers, rest = list(book.layers[here]), moved
    for index, film in enumerate(layers):
        if film.um <= ROUNDING_UM and film is not layers[-1]:
            continue
        step = max(rest, -film.um)
        layers[index] = Film(film.kind, film.um + step)
        rest -= step
        if abs(rest) <= ROUNDING_UM:
            break
    line = BookLine(book.visit, here, "gauged", moved - rest, own)
    doubt = knew * own / math.hypot(knew, own)
    return replace(
        book,
        layers={**book.layers, here: tuple(layers)},
        doubt_um={**book.doubt_um, here: doubt},
        lines=(*book.lines, line),
    )


def may_take(book: FilmBook, zone: str, um: float, *, more_clear: bool) -> Take:
    """What taking some film off a zone would leave, beside what has to stay.

    Parameters
    ----------
    zone : flat, crown or edge
    um : to be taken, 0-2000 um, the scratch that is left among it
    more_clear : whether more clear follows; then only going through counts, else being thin too

    Raises
    ------
    BadEntry : an unknown zone, or an amount out of range

    Source
    ------
    `refinishlib.prep.removal.SAFE_CLEAR_UM`; doubts as in JCGM 100 (2008), 5.1.2.

    >>> book = open_book([Film("clear", 55.0), Film("colour", 20.0)])
    >>> print(may_take(book, "flat", 8.0, more_clear=False).sentence)
    flat: 8 um out of 55 leave 47 um, give or take 4; 40 um are to stay: it leaves enough.
    >>> may_take(book, "edge", 8.0, more_clear=False).answer, may_take(book, "edge", 8.0, more_clear=True).answer
    ('thin', 'leaves enough')
    """
    here = zone_named(zone).name
    taken = number("to be taken", um, low=0, high=LARGEST_FILM_UM, unit="um")
    keep = 0.0 if more_clear else SAFE_CLEAR_UM
    clear = book.clear_um(here)
    left = clear - taken
    doubt = math.hypot(book.doubt_um[here], taken * SANDING_DOUBT_SHARE)
    if left <= ROUNDING_UM:
        answer = "through"
    elif left - doubt >= keep:
        answer = "leaves enough"
    elif left + doubt < keep:
        answer = "thin"
    else:
        answer = "too close to say"
    what = f"{keep:.0f} um are to stay" if keep else "more clear follows, so only going through counts"
    sentence = (
        f"{here}: {taken:.0f} um out of {clear:.0f} leave {max(left, 0):.0f} um, give or take {doubt:.0f}; {what}: "
        f"{_ANSWERS[answer]}."
    )
    return Take(here, answer, left, doubt, keep, sentence)


def passes_left(
    book: FilmBook,
    name: str,
    *,
    more_clear: bool,
    machine: str = "3/32 in",
    interface_pad: bool = False,
) -> dict[str, int]:
    """Whole passes of one paper that each zone still has, with the doubt of the book taken off first.

    Parameters
    ----------
    name : grade of the paper
    more_clear, machine, interface_pad : as for `may_take` and `refinishlib.prep.removal.removed_um`

    Raises
    ------
    BadEntry : an unknown grade or machine

    >>> passes_left(open_book([Film("clear", 55.0), Film("colour", 20.0)]), "P1500", more_clear=False)
    {'flat': 19, 'crown': 5, 'edge': 0}
    """
    grain = grade(name).grain_um
    depth = float(scratch_depth_um(grain, machine=machine, interface_pad=interface_pad))
    keep = 0.0 if more_clear else SAFE_CLEAR_UM
    found = {}
    for zone in zones():
        each = float(removed_um(grain, machine=machine, interface_pad=interface_pad, zone=zone))
        spare = book.clear_um(zone) - book.doubt_um[zone] - depth - keep
        found[zone] = max(0, min(MOST_PASSES, math.floor(spare / each)))
    return found


def to_respray(book: FilmBook, *, more_clear: bool = False) -> tuple[Respray, ...]:
    """The zones that sanding and polishing cannot mend any more, and what each needs before it is finished.

    An edge that was thin before anybody worked on it is none of them.

    Parameters
    ----------
    more_clear : whether clear follows anyway; then a thin film is none that has to be mended by itself

    >>> thin = sanded(open_book([Film("clear", 50.0), Film("colour", 20.0), Film("primer", 40.0)]), "edge", 45.0)
    >>> [(one.zone, one.needs) for one in to_respray(thin)]
    [('edge', ('colour', 'clear'))]
    """
    found = []
    for zone in zones():
        top = next((film.kind for film in book.layers[zone] if film.um > ROUNDING_UM), "")
        if book.film_um(zone) - book.doubt_um[zone] > MOST_FILM_UM:
            why = f"{book.film_um(zone):.0f} um lie there, and with much more than {MOST_FILM_UM:.0f} it cracks"
            found.append(Respray(zone, ("strip", "primer", "colour", "clear"), why))
        elif top == "colour":
            found.append(Respray(zone, ("colour", "clear"), "the paper went through the clear into the colour"))
        elif top != "clear":
            ground = "the metal or plastic" if not top else f"the {top}"
            needs = ("primer", "colour", "clear") if not top else ("sealer", "colour", "clear")
            found.append(Respray(zone, needs, f"the paper went through to {ground}"))
        elif _worked(book, zone) and not more_clear and book.clear_um(zone) + book.doubt_um[zone] < SAFE_CLEAR_UM:
            why = f"{book.clear_um(zone):.0f} um of clear are less than the {SAFE_CLEAR_UM:.0f} that protect the colour"
            found.append(Respray(zone, ("clear",), why))
    return tuple(found)


def _film(kind: str, um: float) -> Film:
    one_of("layer", kind, KINDS)
    return Film(kind, number(f"film of {kind}", um, low=0, high=LARGEST_FILM_UM, unit="um"))


def _worked(book: FilmBook, zone: str) -> bool:
    return any(line.zone == zone and line.what in ("sanded", "polished") for line in book.lines)


def _with(book: FilmBook, layers: tuple[Film, ...], line: BookLine) -> FilmBook:
    return replace(
        book,
        layers={**book.layers, line.zone: layers},
        doubt_um={**book.doubt_um, line.zone: math.hypot(book.doubt_um[line.zone], line.doubt_um)},
        lines=(*book.lines, line),
    )


def _gauge_doubt_um(reading_um: float) -> float:
    return GAUGE_DOUBT_UM + GAUGE_DOUBT_SHARE * reading_um
