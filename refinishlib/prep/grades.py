"""Abrasive grades: FEPA P, CAMI and scuff pads, by the size of their grains."""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from refinishlib.entry import one_of
from refinishlib.shop.faults import Field, load

SCALES = ("P", "CAMI")


@dataclass(frozen=True, order=True)
class Grade:
    """One grade of paper. Grades compare by grain: the finer one is the smaller one.

    grain_um : mean grain size or d50, micrometres
    name : as printed on the back, "P600" or, on the CAMI scale, "600"
    scale : "P" or "CAMI"
    source : where the grain size comes from
    """

    grain_um: float
    name: str
    scale: str
    source: str


@dataclass(frozen=True)
class Pad:
    """A scuff pad and the papers whose scratch it leaves, common practice."""

    name: str
    coarsest: str
    finest: str
    use: str
    source: str


@dataclass(frozen=True)
class Neighbours:
    """A grade among those of the other scale. None: that scale ends before.

    coarser : the finest grade with grains at least as large
    finer : the coarsest grade with grains at least as small
    nearest : whichever of the two is closer in ratio
    """

    coarser: Grade | None
    finer: Grade | None
    nearest: Grade


@cache
def grades(scale: str = "P") -> dict[str, Grade]:
    """The grades of one scale by name, coarsest first.

    scale : "P" or "CAMI"

    Source
    ------
    ISO 6344-2 and -3 (FEPA P); CAMI PS 8-67 and ANSI B74.18. Each grade carries its own source.

    >>> list(grades("P"))[0], grades("P")["P800"].grain_um, grades("CAMI")["600"].grain_um
    ('P12', 21.8, 16.0)
    """
    one_of("scale", scale, SCALES)
    rows = (
        Grade(grain_um, name, table["name"], table["source"])
        for table in _file()["scale"]
        for name, grain_um in table["grade"]
        if table["name"] == scale
    )
    return {grade.name: grade for grade in sorted(rows, reverse=True)}


@cache
def pads() -> dict[str, Pad]:
    """The scuff pads by name.

    >>> pads()["maroon pad"].coarsest, pads()["maroon pad"].finest
    ('P320', 'P400')
    """
    return {row["name"]: Pad(**row) for row in _file()["pad"]}


def grade(name: str) -> Grade:
    """One grade by what is printed on its back: with P on the FEPA scale, the bare number on the CAMI scale.

    Raises
    ------
    BadEntry : a grade that does not exist, with those that do

    >>> grade("P600").grain_um, grade("600").grain_um
    (25.8, 16.0)
    """
    known = _all()
    return known[name if isinstance(name, str) and name in known else one_of("grade", name, known)]


def convert(name: str) -> Neighbours:
    """Where a grade lies on the other scale.

    Raises
    ------
    BadEntry : a grade that does not exist

    >>> found = convert("600")
    >>> found.coarser.name, found.finer.name, found.nearest.name
    ('P1000', 'P1200', 'P1200')
    >>> convert("P5000").finer is None
    True
    """
    here = grade(name)
    other = sorted(grades("CAMI" if here.scale == "P" else "P").values())
    sizes = [g.grain_um for g in other]
    above = bisect_left(sizes, here.grain_um)
    coarser = other[above] if above < len(other) else None
    same = coarser is not None and coarser.grain_um == here.grain_um
    finer = coarser if same else other[above - 1] if above else None
    found = [g for g in (coarser, finer) if g is not None]
    nearest = min(found, key=lambda g: abs(math.log(g.grain_um / here.grain_um)))
    return Neighbours(coarser, finer, nearest)


def same_number(number: str) -> str:
    """Why the same number with and without a P is not the same paper, in one sentence.

    number : as printed, without the P

    Raises
    ------
    BadEntry : a number that only one of the scales has, or none

    >>> same_number("600")
    'P600 has grains of 25.8 um and 600 has grains of 16 um: P600 scratches 1.6 times as deep as 600.'
    >>> same_number("180")
    'P180 and 180 both have grains of 82 um: here the two scales agree.'
    """
    both = [n for n in grades("CAMI") if f"P{n}" in grades("P")]
    fepa, cami = grade(f"P{one_of('number', number, both)}"), grade(number)
    if fepa.grain_um == cami.grain_um:
        return f"{fepa.name} and {cami.name} both have grains of {fepa.grain_um:g} um: here the two scales agree."
    fine, coarse = sorted((fepa, cami))
    return (
        f"{fepa.name} has grains of {fepa.grain_um:g} um and {cami.name} has grains of {cami.grain_um:g} um: "
        f"{coarse.name} scratches {coarse.grain_um / fine.grain_um:.2g} times as deep as {fine.name}."
    )


@cache
def _all() -> dict[str, Grade]:
    return {**grades("P"), **grades("CAMI")}


@cache
def _file() -> dict[str, Any]:
    text = Field("source", str)
    row = (Field("grade", str), Field("grain_um", low=0, above_low=True, unit="um"))
    scale = (
        Field("name", str, choices=SCALES),
        Field("title", str),
        text,
        Field("grade", row=row, many=True),
    )
    pad = (
        Field("name", str, unique=True),
        Field("coarsest", str),
        Field("finest", str),
        Field("use", str),
        text,
    )
    tables = (text, Field("scale", fields=scale, many=True), Field("pad", fields=pad, many=True))
    data: dict[str, Any] = load(files(__package__) / "grades.toml", tables)
    return data
