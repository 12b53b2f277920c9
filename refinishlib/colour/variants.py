"""A colour's variants ranked against the panel, before any toner is poured."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import predict
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.lamp import Lamp
from refinishlib.colour.reading import Reading, lab_under
from refinishlib.colour.tint import JUDGED_UNDER, mean_difference
from refinishlib.colour.verdict import direction
from refinishlib.entry import BadEntry
from refinishlib.shop.paint import Formula

MIDDLE_DEG = 45

SOURCES = {"MIDDLE_DEG": "ASTM E2194 (2014): 45 degrees is the middle of the three angles"}


@dataclass(frozen=True, eq=False)
class Ranked:
    """One variant against the panel.

    difference : CIEDE2000 that the model predicts, (lamps, angles)
    mean, largest : over lamps and angles, the mean weighted
    words : how the variant differs from the panel at the angle nearest to 45 degrees, under the first lamp
    """

    formula: Formula
    difference: NDArray[np.float64]
    mean: float
    largest: float
    words: str


def rank(
    formulas: Iterable[Formula],
    panel: Reading,
    *,
    lamps: Sequence[str | Lamp] | None = None,
    weights: ArrayLike | None = None,
    **conditions: Any,
) -> list[Ranked]:
    """Variants of a colour, the nearest to the panel first.

    Parameters
    ----------
    formulas : the variants
    panel : its reading
    lamps : D65, A and FL11 when the reading has spectra and nothing is given; otherwise D65
    weights : of the panel's angles, (angles,) or (lamps, angles); equal if not given
    conditions : film_um, undercoat and so on of the variants, as for `predict.reflectance`

    Raises
    ------
    BadEntry : no formula; another lamp than D65 for a reading typed in as CIELAB

    >>> from refinishlib.colour.reading import from_lab
    >>> from refinishlib.shop import paint
    >>> red = [paint.formulas()[f"Kiln Red, {variant}"] for variant in ("as built", "yellower")]
    >>> panel = from_lab({45: predict.lab([n for n, _ in red[1].parts], [p for _, p in red[1].parts])[0, 2]})
    >>> [ranked.formula.variant for ranked in rank(red, panel)]
    ['yellower', 'as built']
    """
    if lamps is None:
        lamps = ("D65",) if panel.reflectance is None else JUDGED_UNDER
    wanted = np.stack([lab_under(panel, lamp) for lamp in lamps])
    middle = int(np.argmin(np.abs(np.array(panel.angles_deg) - MIDDLE_DEG)))
    ranked = []
    for formula in formulas:
        names, masses = zip(*formula.parts, strict=True)
        lab = predict.lab(names, masses, lamps=lamps, angles_deg=panel.angles_deg, **conditions)
        apart = ciede2000(wanted, lab)
        words = direction(wanted[0, middle], lab[0, middle])
        mean = float(mean_difference(wanted, lab, weights))
        ranked.append(Ranked(formula, apart, mean, float(apart.max()), words))
    if not ranked:
        raise BadEntry("variants: none was given, allowed is one or more.")
    return sorted(ranked, key=lambda one: one.mean)
