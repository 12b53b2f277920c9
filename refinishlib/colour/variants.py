"""A colour's variants ranked against the panel, before any toner is poured."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import doubt, optics, predict, tolerance
from refinishlib.colour import weights as weights_of
from refinishlib.colour.conditions import USUAL, Conditions
from refinishlib.colour.film import Layer
from refinishlib.colour.lamp import Lamp
from refinishlib.colour.reading import OBSERVERS_DEG, Reading, for_observer, lab_under, lamps_for
from refinishlib.colour.tint import mean_difference
from refinishlib.colour.tolerance import Ruling, Tolerance
from refinishlib.colour.verdict import because, direction
from refinishlib.entry import BadEntry
from refinishlib.shop.paint import Formula

MIDDLE_DEG = 45
TRIES = 300

SOURCES = {
    "MIDDLE_DEG": "ASTM E2194 (2014): 45 degrees is the middle of the three angles",
    "TRIES": "teaching value: a chance of a half is then known to about 0.03",
}


@dataclass(frozen=True, eq=False)
class Ranked:
    """One variant against the panel.

    difference : CIEDE2000 that the model predicts, (lamps, angles)
    mean : over lamps and angles, weighted
    ruling : the verdict under the first lamp, by its worst angle
    words : how the variant differs from the panel at the angle nearest to 45 degrees, under the first lamp
    why : what decides, in a sentence
    nearest : chance that it is the nearest of all, as far as the panel's reading may be off
    """

    formula: Formula
    difference: NDArray[np.float64]
    mean: float
    ruling: Ruling
    words: str
    why: str
    nearest: float


def rank(
    formulas: Iterable[Formula],
    panel: Reading,
    *,
    lamps: Sequence[Lamp] | None = None,
    weights: ArrayLike | None = None,
    allowed: Tolerance | None = None,
    below: Sequence[Layer] = (),
    above: Sequence[Layer] = (),
    conditions: Conditions = USUAL,
    seed: int = 0,
) -> list[Ranked]:
    """Variants of a colour, the one first that uses least of its limit at its worst angle.

    Parameters
    ----------
    formulas : the variants
    panel : its reading
    lamps : D65, A and FL11 when the reading has spectra and nothing is given; otherwise D65
    weights : of the panel's angles, (angles,) or (lamps, angles); equal if not given
    allowed : tolerance; the one for each variant's kind if not given
    below, above : coats of a three-stage colour under and over the one that has variants, each with its film
    conditions : of the variants; their angles do not count, the reading has its own
    seed : where the dice start that say how sure the reading is

    Raises
    ------
    BadEntry : no formula; another lamp than D65 for a reading typed in as CIELAB

    >>> from refinishlib.colour.reading import from_lab
    >>> from refinishlib.shop.shop import load
    >>> red = load().variants("Kiln Red")
    >>> panel = from_lab({45: predict.lab(optics.of_formula(red[1]))[0, 2]})
    >>> [ranked.formula.variant for ranked in rank(red, panel)][:2]
    ['yellower', 'lighter']
    """
    lamps = lamps_for(panel) if lamps is None else lamps
    as_read = replace(conditions, angles_deg=panel.angles_deg)
    middle = int(np.argmin(np.abs(np.array(panel.angles_deg) - MIDDLE_DEG)))
    all_of = tuple(formulas)
    if not all_of:
        raise BadEntry("variants: none was given, allowed is one or more.")
    dice = np.random.default_rng(seed).normal(size=(TRIES, *panel.lab.shape))
    shifts = dice * doubt.deviation(panel)
    found, used = [], []
    for formula in all_of:
        limits = allowed or tolerance.of_kind(formula.kind)
        layers = (*below, Layer(optics.of_formula(formula), as_read.film_um), *above)
        reflected = predict.of_layers(layers, as_read)
        lab = weights_of.lab(reflected, lamps)
        # Predictions are for 10 degrees; what was typed for 2 is turned by what this very paint turns by.
        read = for_observer(panel, OBSERVERS_DEG[0], like=reflected)
        wanted = np.stack([lab_under(read, lamp) for lamp in lamps])
        apart = limits.apart(wanted, lab)
        ruling = tolerance.rule(apart[0], panel.angles_deg, limits)
        words, why = direction(wanted[0, middle], lab[0, middle]), because(ruling, panel.angles_deg, wanted[0], lab[0])
        mean = float(mean_difference(wanted, lab, weights))
        both = np.vstack([apart[:1], limits.apart(wanted[0] + shifts, lab[0])])
        used.append(tolerance.used(both, panel.angles_deg, limits))
        found.append(Ranked(formula, apart, mean, ruling, words, why, 0.0))
    shares = np.array(used)
    wins = np.bincount(shares[:, 1:].argmin(axis=0), minlength=len(found)) / TRIES
    order = sorted(range(len(found)), key=lambda i: (shares[i, 0], found[i].mean))
    return [replace(found[i], nearest=float(wins[i])) for i in order]
