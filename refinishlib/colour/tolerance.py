"""The one stopping rule: how far a card may be from the panel, by the kind of its paint, at the worst angle.

Whoever decides about a colour asks here: the comparison of a card, the choice of a variant, the tint, the joint. The
kind is a property of the paint (`Formula.kind`, `Mixture.kind`) and is handed in, never guessed from a reading.
Where several lamps are judged the first one decides, and the others only warn: a panel is approved in daylight.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import difference
from refinishlib.entry import BadEntry, number, numbers, one_of
from refinishlib.shop.paint import PAINT_KINDS, Kind

VERDICTS = ("goes edge to edge", "needs a fade", "not yet")
EDGE, FADE, NOT_YET = VERDICTS

# Largest difference on the face (15, 25), in the middle (45) and on the flop (75, 110): edge to edge, then in a fade.
LIMITS = {
    "solid": ((0.8, 0.8, 0.8), (2.2, 2.2, 2.2)),
    "metallic": ((1.2, 1.0, 1.6), (3.0, 2.5, 4.0)),
    "pearl": ((1.2, 1.0, 1.6), (3.0, 2.5, 4.0)),
}
SMALLEST = 1e-9
ZONES = {15: 0, 25: 0, 45: 1, 75: 2, 110: 2}

SOURCES = {
    "VERDICTS": "definition: what a painter would say; the words are ours",
    "EDGE": "definition: the first of the verdicts",
    "FADE": "definition: the second of the verdicts",
    "NOT_YET": "definition: the third of the verdicts",
    "LIMITS": "common practice, no source; teaching values in CIEDE2000 to be changed by whoever teaches. How long a "
    "fade must be, and whether an eye still finds it, is the blend's question; nothing says that a pearl is judged "
    "otherwise than a metallic",
    "SMALLEST": "definition: keeps a limit of nothing from dividing by zero",
    "ZONES": "common practice, no source: 15 and 25 degrees are called the face, 75 and 110 the flop",
}


@dataclass(frozen=True)
class Tolerance:
    """How far a card may be from the panel.

    kind : of the paint: "solid", "metallic" or "pearl"
    edge, fade : largest difference that goes edge to edge, and that a fade can take: on the face (15, 25), in the
        middle (45 degrees) and on the flop (75, 110); the fade's never below the edge's
    formula : "CIEDE2000", "CIE94", "CMC" or "CIELAB"

    Raises
    ------
    BadEntry : an unknown kind or formula; limits below 0, or a fade that allows less than edge to edge
    """

    kind: Kind
    edge: tuple[float, float, float]
    fade: tuple[float, float, float]
    formula: str = "CIEDE2000"

    def __post_init__(self) -> None:
        one_of("kind of paint", self.kind, PAINT_KINDS)
        one_of("difference formula", self.formula, difference.FORMULAS)
        edge, fade = (
            numbers(field, limits, low=0, shape=(3,))
            for field, limits in (("limits edge to edge", self.edge), ("limits of a fade", self.fade))
        )
        if (fade < edge).any():
            raise BadEntry(f"limits of a fade: {self.fade} were given, allowed is at least {self.edge}, edge to edge.")

    def apart(self, panel_lab: ArrayLike, card_lab: ArrayLike) -> NDArray[np.float64]:
        """The difference that counts here, (...), of CIELAB (..., 3)."""
        return difference.difference(self.formula, panel_lab, card_lab)


@dataclass(frozen=True)
class Ruling:
    """The verdict on one card.

    verdict : one of VERDICTS, the one at the worst angle
    per_angle : one of VERDICTS for each angle
    worst_deg : the angle that uses most of its limit
    worst, limit : the difference there, and what would go edge to edge there
    """

    verdict: str
    per_angle: tuple[str, ...]
    worst_deg: int
    worst: float
    limit: float


def of_kind(kind: Kind, *, factor: float = 1.0, formula: str = "CIEDE2000") -> Tolerance:
    """The tolerance for a kind of paint, all limits times a factor above 0: below 1 for whoever is stricter.

    >>> of_kind("solid", factor=2).edge
    (1.6, 1.6, 1.6)
    """
    edge, fade = LIMITS[one_of("kind of paint", kind, PAINT_KINDS)]
    times = number("tolerance factor", factor, low=0, above_low=True)
    face, middle, flop = (times * limit for limit in edge)
    fade_face, fade_middle, fade_flop = (times * limit for limit in fade)
    return Tolerance(kind, (face, middle, flop), (fade_face, fade_middle, fade_flop), formula)


def limits_at(tolerance: Tolerance, angles_deg: Sequence[int]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """What goes edge to edge and what a fade takes at these angles, each (angles,).

    Raises
    ------
    BadEntry : an angle that is not one of 15, 25, 45, 75, 110

    >>> limits_at(of_kind("metallic"), (15, 110))[0].tolist()
    [1.2, 1.6]
    """
    zone = [ZONES[one_of("aspecular angle", angle, ZONES)] for angle in angles_deg]
    return np.array(tolerance.edge)[zone], np.array(tolerance.fade)[zone]


def standing(apart: ArrayLike, angles_deg: Sequence[int], tolerance: Tolerance) -> NDArray[np.intp]:
    """Which of VERDICTS holds: 0 where every angle goes edge to edge, 1 where every one can be faded, else 2.

    Parameters
    ----------
    apart : differences by the tolerance's formula, (..., angles), 0 or more
    angles_deg : some of 15, 25, 45, 75, 110, (angles,)

    Returns
    -------
    (...), 0, 1 or 2; the worst angle decides

    >>> standing([[0.5, 0.9], [0.5, 1.5], [0.5, 9.0]], (45, 110), of_kind("metallic")).tolist()
    [0, 0, 2]
    """
    worst: NDArray[np.intp] = _each(apart, angles_deg, tolerance).max(axis=-1)
    return worst


def used(apart: ArrayLike, angles_deg: Sequence[int], tolerance: Tolerance) -> NDArray[np.float64]:
    """How much of what goes edge to edge is used at the worst angle, (...): up to 1 it goes edge to edge.

    Parameters
    ----------
    apart, angles_deg, tolerance : as for `standing`

    >>> float(used([0.5, 0.8], (45, 110), of_kind("metallic")))
    0.5
    """
    edge, _ = limits_at(tolerance, angles_deg)
    differences = numbers("differences", apart, low=0, shape=(len(angles_deg),))
    with np.errstate(divide="ignore", invalid="ignore"):
        shares = np.where(differences > 0, differences / edge, 0.0)
    found: NDArray[np.float64] = shares.max(axis=-1)
    return found


def rule(apart: ArrayLike, angles_deg: Sequence[int], tolerance: Tolerance) -> Ruling:
    """The verdict on one card, from its differences (angles,) under the lamp that decides.

    >>> rule([0.4, 1.9], (45, 110), of_kind("metallic"))  # doctest: +NORMALIZE_WHITESPACE
    Ruling(verdict='needs a fade', per_angle=('goes edge to edge', 'needs a fade'), worst_deg=110, worst=1.9,
    limit=1.6)
    """
    differences = numbers("differences", apart, low=0, shape=(len(angles_deg),))
    each = _each(differences, angles_deg, tolerance)
    edge, _ = limits_at(tolerance, angles_deg)
    # Among angles with the same verdict the one that is furthest beyond what goes edge to edge.
    worst = int(np.argmax(np.where(each == each.max(), differences / np.maximum(edge, SMALLEST), -1.0)))
    return Ruling(
        verdict=VERDICTS[int(each.max())],
        per_angle=tuple(VERDICTS[i] for i in each),
        worst_deg=int(angles_deg[worst]),
        worst=float(differences[worst]),
        limit=float(edge[worst]),
    )


def _each(apart: ArrayLike, angles_deg: Sequence[int], tolerance: Tolerance) -> NDArray[np.intp]:
    edge, fade = limits_at(tolerance, angles_deg)
    differences = numbers("differences", apart, low=0, shape=(len(angles_deg),))
    return np.where(differences <= edge, 0, np.where(differences <= fade, 1, 2))
