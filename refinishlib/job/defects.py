"""Defects: what they look like, what may have caused them, what to check first, and the cure that the film allows.

Every cause is tied to what an engine finds when it is so: a rule of the booth clock, a step of a ladder, the film, or
the order of work. So a plan can be asked what it risks, and a fault what may have led to it. A table like this makes
suspects and no proofs.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from itertools import pairwise
from typing import Any

from refinishlib.booth.breaks import Break
from refinishlib.booth.clock import RULES
from refinishlib.entry import number, one_of, whole
from refinishlib.prep.film_book import FilmBook, may_take
from refinishlib.prep.grades import grade
from refinishlib.prep.ladder import is_leap
from refinishlib.prep.order import Job, first_violation, plan
from refinishlib.prep.removal import SAFE_CLEAR_UM
from refinishlib.prep.scratch import GLOSS, final_scratch
from refinishlib.shop.faults import Faults, Field, load

ENGINES = ("clock", "scratch", "film", "order")
SCRATCH_RULES = ("leap", "too coarse", "too fine")
FILM_RULES = ("too few coats", "thin clear")
DEPTHS = ("surface", "clear", "colour", "below")
# Rules of the clock that harm people or miss hours, and leave no mark of their own in the paint.
MARKLESS = (
    "no extraction",
    "battery",
    "too hot for the vehicle",
    "too hot for the part",
    "opening",
    "closing",
)
# Tasks of the second visit that leave the same mark as those of the first.
SECOND_VISIT = {
    "degrease for the blend": "degrease",
    "final clean for the blend": "final clean",
    "blow out for the blend": "blow out",
    "tack for the blend": "tack",
    "scuff for the blend": "scuff with paste",
    "dry for the blend": "dry again",
}
MOST_COATS = 20
MOST_CLEAR_UM = 2000.0
MOST_TAKEN_UM = 200.0
PEEL_SCALE = (0.0, 10.0)
GLOSS_MAX = 120.0
SAME_PEEL = 1.0
SAME_GLOSS = 5.0
PEEL_STEP_UM = 1.5
POLISH_UM = 1.0

SOURCES = {
    "MOST_COATS": "teaching value: range of an entry",
    "MOST_CLEAR_UM": "teaching value: range of an entry",
    "MOST_TAKEN_UM": "teaching value: range of an entry",
    "PEEL_SCALE": "teaching value: peel by eye, 0 like glass to 10 like the fruit; a scale of our own",
    "GLOSS_MAX": "teaching value: range of an entry, gloss units of ISO 2813 (2014)",
    "SAME_PEEL": "teaching value: one step of that scale is not seen side by side",
    "SAME_GLOSS": "teaching value: five gloss units at 20 degrees are hardly seen side by side",
    "PEEL_STEP_UM": "teaching value: film that taking one step of peel off costs",
    "POLISH_UM": "teaching value: film that a compound and a polish take",
}


@dataclass(frozen=True)
class Evidence:
    """One thing that an engine found: which engine, and its rule; of the order of work, the task."""

    engine: str
    rule: str


@dataclass(frozen=True)
class Cause:
    """One cause of a defect, and what an engine finds when it is so."""

    words: str
    evidence: Evidence


@dataclass(frozen=True)
class Defect:
    """One defect.

    look : what is seen
    check : what to look at first
    depth : surface, clear, colour or below
    takes_um : film that cutting and polishing it flat usually takes; 0 where that cannot mend it
    mend : what is done where the film allows it
    """

    name: str
    look: str
    causes: tuple[Cause, ...]
    check: str
    depth: str
    takes_um: float
    mend: str


@dataclass(frozen=True)
class Suspect:
    """A defect that something found may lead to, or a cause that may have led to a defect; no proof of either."""

    defect: str
    cause: Cause


@dataclass(frozen=True)
class Mend:
    """The cure that the film allows.

    how : "cut and polish", "gauge first", "sand and clear", "sand, colour and clear", or "start below"
    sentence : how and why
    """

    how: str
    sentence: str


@cache
def defects() -> dict[str, Defect]:
    """All defects by name, common practice.

    >>> defects()["orange peel"].depth, defects()["pop"].takes_um
    ('surface', 0.0)
    """
    return {
        row["name"]: Defect(
            row["name"],
            row["look"],
            tuple(Cause(words, Evidence(engine, rule)) for words, engine, rule in row["cause"]),
            row["check"],
            row["depth"],
            row["takes_um"],
            row["mend"],
        )
        for row in _file()["defect"]
    }


def suspects(evidence: Iterable[Evidence]) -> tuple[Suspect, ...]:
    """What may show in the paint, for what engines have found; in the order of the table.

    >>> [one.defect for one in suspects([Evidence("scratch", "too fine")])]
    ['peeling']
    """
    found = set(evidence)
    return tuple(
        Suspect(defect.name, cause)
        for defect in defects().values()
        for cause in defect.causes
        if cause.evidence in found
    )


def from_clock(breaks: Iterable[Break]) -> tuple[Evidence, ...]:
    """What the breaks of a booth clock are evidence of; those that leave no mark in the paint are left out.

    >>> from refinishlib.booth.advice import spray_now
    >>> from refinishlib.shop.shop import load
    >>> [one.rule for one in from_clock(spray_now(load().product("clear"), 30, 85, air_m_per_s=0).breaks)]
    ['dew point', 'reducer too fast', 'too humid']
    """
    return tuple(Evidence("clock", one.rule) for one in breaks if one.rule not in MARKLESS)


def from_scratch(next_coat: str, start: str, papers: Sequence[str]) -> tuple[Evidence, ...]:
    """What the papers that were used before a coat are evidence of.

    Parameters
    ----------
    next_coat : a row of the finishing table
    start : grade of the scratch that was there, or "gloss"
    papers : grades that were used, in order

    Raises
    ------
    BadEntry : an unknown coat or grade

    >>> [one.rule for one in from_scratch("blend into old clear", "P80", ["P240", "P400"])]
    ['leap', 'too coarse']
    >>> from_scratch("blend into old clear", "gloss", ["P800"])
    ()
    """
    row = final_scratch(next_coat)
    walked = [*([] if start == GLOSS else [start]), *papers]
    found = []
    if any(grade(fine) < grade(coarse) and is_leap(coarse, fine) for coarse, fine in pairwise(walked)):
        found.append("leap")
    left = grade(walked[-1]) if walked else None
    if left is None or left < grade(row.finest):
        found.append("too fine")
    elif left > grade(row.coarsest):
        found.append("too coarse")
    return tuple(Evidence("scratch", rule) for rule in found)


def from_film(*, coats: int, coats_to_hide: int, clear_um: float) -> tuple[Evidence, ...]:
    """What coats and film are evidence of.

    Parameters
    ----------
    coats : of colour that were laid, 0-20
    coats_to_hide : that the colour needs on this ground, 0-20, such as `refinishlib.colour.hiding` gives
    clear_um : clear on the flat, 0-2000 um

    Raises
    ------
    BadEntry : a value outside its range

    >>> [one.rule for one in from_film(coats=2, coats_to_hide=3, clear_um=55)]
    ['too few coats']
    """
    laid = whole("coats", coats, low=0, high=MOST_COATS)
    needed = whole("coats to hide", coats_to_hide, low=0, high=MOST_COATS)
    clear = number("clear", clear_um, low=0, high=MOST_CLEAR_UM, unit="um")
    found = [("too few coats", laid < needed), ("thin clear", clear < SAFE_CLEAR_UM)]
    return tuple(Evidence("film", rule) for rule, so in found if so)


def from_order(job: Job, order: Sequence[str]) -> tuple[Evidence, ...]:
    """What the first fault of an order of work is evidence of: the task that was left out, or came too late.

    Raises
    ------
    BadEntry : a task that the job does not have, or one given twice

    >>> from refinishlib.prep.order import good_order, jobs
    >>> hasty = [task for task in good_order(jobs()["blend panel"]) if task != "degrease"]
    >>> from_order(jobs()["blend panel"], hasty)
    (Evidence(engine='order', rule='degrease'),)
    """
    fault = first_violation(job, order)
    if fault is None:
        return ()
    task = fault.task if fault.rule is None else fault.rule.first
    return (Evidence("order", SECOND_VISIT.get(task, task)),)


def mend(name: str, book: FilmBook, zone: str, *, takes_um: float | None = None) -> Mend:
    """The cure of a defect that the film on a zone allows.

    Parameters
    ----------
    name : the defect
    book : film book of the panel
    zone : where it is: flat, crown or edge
    takes_um : film that cutting it flat takes, 0-200 um; what is usual for it if not given

    Raises
    ------
    BadEntry : an unknown defect or zone, or an amount out of range

    >>> from refinishlib.prep.film_book import Film, open_book
    >>> book = open_book([Film("clear", 56.0), Film("colour", 18.0), Film("primer", 40.0)])
    >>> mend("dust", book, "flat").how, mend("dust", book, "edge").how, mend("pop", book, "flat").how
    ('cut and polish', 'sand and clear', 'sand and clear')
    """
    defect = defects()[one_of("defect", name, defects())]
    takes = defect.takes_um if takes_um is None else number("takes", takes_um, low=0, high=MOST_TAKEN_UM, unit="um")
    if defect.depth == "below":
        return Mend("start below", f"{defect.name}: {defect.mend}.")
    if defect.depth == "colour" or book.through(zone):
        return Mend("sand, colour and clear", f"{defect.name}: {defect.mend}.")
    if defect.depth == "clear":
        return Mend("sand and clear", f"{defect.name}: {defect.mend}.")
    finished = may_take(book, zone, takes, more_clear=False)
    if finished.answer == "leaves enough":
        return Mend("cut and polish", f"{defect.name}: {defect.mend}. {finished.sentence}")
    if finished.answer == "too close to say":
        return Mend("gauge first", f"{defect.name}: {finished.sentence}")
    if may_take(book, zone, takes, more_clear=True).answer == "through":
        return Mend("sand, colour and clear", f"{defect.name}: polishing it out goes through. {finished.sentence}")
    return Mend("sand and clear", f"{defect.name}: there is no film to polish. {finished.sentence}")


def texture_beside(
    ours_peel: float, theirs_peel: float, ours_gloss: float, theirs_gloss: float, book: FilmBook, zone: str
) -> Mend:
    """What to do about the texture of a panel beside its neighbour: polish, cut, or leave.

    Parameters
    ----------
    ours_peel, theirs_peel : peel by eye on a scale from 0, like glass, to 10, like the fruit
    ours_gloss, theirs_gloss : gloss units at 20 degrees, 0-120
    book, zone : film of our panel, and where

    Returns
    -------
    how: "leave", "polish", "cut and polish", "gauge first" or "leave, and say so"

    Raises
    ------
    BadEntry : a value outside its range

    Source
    ------
    Common practice, no source: beside a neighbour with peel a panel with the same peel is right, and a smoother one
    is left, because peel is not put on with a compound. Gloss as in ISO 2813 (2014).

    >>> from refinishlib.prep.film_book import Film, open_book
    >>> book = open_book([Film("clear", 60.0), Film("colour", 18.0)])
    >>> texture_beside(5, 2, 85, 86, book, "flat").how, texture_beside(1, 4, 88, 86, book, "flat").how
    ('cut and polish', 'leave')
    """
    low, high = PEEL_SCALE
    ours, theirs = (
        number(f"peel of {whose}", value, low=low, high=high)
        for whose, value in (("our panel", ours_peel), ("the neighbour", theirs_peel))
    )
    shine, beside = (
        number(f"gloss of {whose}", value, low=0, high=GLOSS_MAX)
        for whose, value in (("our panel", ours_gloss), ("the neighbour", theirs_gloss))
    )
    rougher, duller = ours - theirs > SAME_PEEL, beside - shine > SAME_GLOSS
    if not rougher and not duller:
        if theirs - ours > SAME_PEEL:
            return Mend("leave", "It is smoother than its neighbour, and peel cannot be polished on: leave it.")
        return Mend("leave", "Side by side nobody sees a difference in peel or gloss: leave it, each pass is film.")
    takes = POLISH_UM + (PEEL_STEP_UM * (ours - theirs) if rougher else 0.0)
    what = "cut and polish" if rougher else "polish"
    finished = may_take(book, zone, takes, more_clear=False)
    if finished.answer == "leaves enough":
        seen = "rougher" if rougher else "duller"
        return Mend(
            what, f"It is {seen} than its neighbour: {what}, no further than the neighbour. {finished.sentence}"
        )
    if finished.answer == "too close to say":
        return Mend("gauge first", finished.sentence)
    return Mend("leave, and say so", f"There is no film for it. {finished.sentence}")


@cache
def _file() -> dict[str, Any]:
    cause = (Field("words", str), Field("engine", str, choices=ENGINES), Field("rule", str))
    fields = (
        Field("name", str, unique=True),
        Field("look", str),
        Field("check", str),
        Field("depth", str, choices=DEPTHS),
        Field("takes_um", low=0, high=MOST_TAKEN_UM, unit="um"),
        Field("mend", str),
        Field("cause", row=cause, many=True),
    )
    tables = (Field("source", str), Field("defect", fields=fields, many=True))
    data: dict[str, Any] = load(files(__package__) / "defects.toml", tables, also=_faults)
    return data


def _faults(data: dict[str, Any]) -> Faults:
    known = {"clock": RULES, "scratch": SCRATCH_RULES, "film": FILM_RULES, "order": tuple(plan().tasks)}
    for index, row in enumerate(data["defect"]):
        for _, engine, rule in row["cause"]:
            if rule not in known[engine]:
                yield ("defect", index, "cause"), f"cause: {rule!r} was given, allowed is a rule of the {engine}."
