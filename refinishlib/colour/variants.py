"""A colour's variants ranked against the panel, before any toner is poured."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import optics, predict, tolerance
from refinishlib.colour.conditions import USUAL, Conditions
from refinishlib.colour.lamp import Lamp
from refinishlib.colour.reading import OBSERVERS_DEG, Reading, for_observer, lab_under, lamps_for
from refinishlib.colour.tint import mean_difference
from refinishlib.colour.tolerance import Ruling, Tolerance
from refinishlib.colour.verdict import because, direction
from refinishlib.entry import BadEntry
from refinishlib.shop.paint import Formula

MIDDLE_DEG = 45

SOURCES = {"MIDDLE_DEG": "ASTM E2194 (2014): 45 degrees is the middle of the three angles"}


@dataclass(frozen=True, eq=False)
class Ranked:
    """One variant against the panel.

    difference : CIEDE2000 that the model predicts, (lamps, angles)
    mean : over lamps and angles, weighted
    ruling : the verdict under the first lamp, by its worst angle
    words : how the variant differs from the panel at the angle nearest to 45 degrees, under the first lamp
    why : what decides, in a sentence
    """

    formula: Formula
    difference: NDArray[np.float64]
    mean: float
    ruling: Ruling
    words: str
    why: str


def rank(
    formulas: Iterable[Formula],
    panel: Reading,
    *,
    lamps: Sequence[Lamp] | None = None,
    weights: ArrayLike | None = None,
    allowed: Tolerance | None = None,
    conditions: Conditions = USUAL,
) -> list[Ranked]:
    """Variants of a colour, the one first that uses least of its limit at its worst angle.

    Parameters
    ----------
    formulas : the variants
    panel : its reading
    lamps : D65, A and FL11 when the reading has spectra and nothing is given; otherwise D65
    weights : of the panel's angles, (angles,) or (lamps, angles); equal if not given
    allowed : tolerance; the one for each variant's kind if not given
    conditions : of the variants; their angles do not count, the reading has its own

    Raises
    ------
    BadEntry : no formula; another lamp than D65 for a reading typed in as CIELAB

    >>> from refinishlib.colour.reading import from_lab
    >>> from refinishlib.shop.shop import load
    >>> red = load().variants("Kiln Red")
    >>> panel = from_lab({45: predict.lab(optics.of_formula(red[1]))[0, 2]})
    >>> rank(red, panel)[0].formula.variant
    'yellower'
    """
    lamps = lamps_for(panel) if lamps is None else lamps
    as_read = replace(conditions, angles_deg=panel.angles_deg)
    middle = int(np.argmin(np.abs(np.array(panel.angles_deg) - MIDDLE_DEG)))
    ranked = []
    for formula in formulas:
        limits = allowed or tolerance.of_kind(formula.kind)
        paint = optics.of_formula(formula)
        lab = predict.lab(paint, as_read, lamps=lamps)
        read = panel
        if panel.observer_deg != OBSERVERS_DEG[0]:
            # Predictions are for 10 degrees; what was typed for 2 is turned by what this very paint turns by.
            read = for_observer(panel, OBSERVERS_DEG[0], like=predict.reflectance(paint, as_read))
        wanted = np.stack([lab_under(read, lamp) for lamp in lamps])
        apart = limits.apart(wanted, lab)
        ruling = tolerance.rule(apart[0], panel.angles_deg, limits)
        words, why = direction(wanted[0, middle], lab[0, middle]), because(ruling, panel.angles_deg, wanted[0], lab[0])
        mean = float(mean_difference(wanted, lab, weights))
        used = float(tolerance.used(apart[0], panel.angles_deg, limits))
        ranked.append((used, mean, Ranked(formula, apart, mean, ruling, words, why)))
    if not ranked:
        raise BadEntry("variants: none was given, allowed is one or more.")
    return [one for _, _, one in sorted(ranked, key=lambda item: item[:2])]
