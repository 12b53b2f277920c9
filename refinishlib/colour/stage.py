"""Stages of a finish: one paint and its coats, or a ground coat with a mid coat over it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from refinishlib.colour import optics
from refinishlib.colour.conditions import COAT_UM
from refinishlib.colour.film import check_film
from refinishlib.colour.optics import Mixture
from refinishlib.entry import BadEntry, whole
from refinishlib.shop.paint import Formula, Kind, kind_of

USUAL_COATS = 3
MOST_COATS = 12
MOST_STAGES = 3

SOURCES = {
    "USUAL_COATS": "common practice, no source: a base that hides goes on in two or three coats",
    "MOST_COATS": "teaching value: limit of entry",
    "MOST_STAGES": "teaching value: limit of entry, a ground and two mid coats",
}


@dataclass(frozen=True)
class Stage:
    """One paint of a finish and how much of it there is.

    paint : a mix, or a formula, which somebody still has to pour
    coats : 1-12
    film_um : dry film of one coat

    Raises
    ------
    BadEntry : coats or film out of range
    """

    paint: Mixture | Formula
    coats: int = USUAL_COATS
    film_um: float = COAT_UM

    def __post_init__(self) -> None:
        whole("coats", self.coats, low=1, high=MOST_COATS)
        check_film(self.film_um)

    @property
    def mixture(self) -> Mixture:
        """The dry film as it was meant."""
        return optics.of_formula(self.paint) if isinstance(self.paint, Formula) else self.paint


# A bare paint is one stage of three usual coats.
Finish = Stage | Mixture | Formula | Sequence[Stage]


def stages(finish: Finish) -> tuple[Stage, ...]:
    """The stages of a finish, from the undercoat up.

    Raises
    ------
    BadEntry : no stage, or more than three

    >>> from refinishlib.shop.shop import load
    >>> [stage.coats for stage in stages(load().colour("Millrace Silver, as built"))]
    [3]
    """
    if isinstance(finish, Stage):
        return (finish,)
    if isinstance(finish, Mixture | Formula):
        return (Stage(finish),)
    found = tuple(finish)
    if not 1 <= len(found) <= MOST_STAGES:
        raise BadEntry(f"stages of the finish: {len(found)} were given, allowed are 1 to {MOST_STAGES}.")
    return found


def kind(finish: Finish) -> Kind:
    """Solid, metallic or pearl, by the flakes of all its stages together.

    >>> from refinishlib.shop.shop import load
    >>> kind(load().colour("Kiln Red, as built"))
    'solid'
    """
    mixes = [stage.mixture for stage in stages(finish)]
    return kind_of([flake for mix in mixes for n, flake in enumerate(mix.flakes) if mix.cover_per_um[..., n].any()])
