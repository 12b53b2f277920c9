"""A painter's hand: how much film, tilt, undercoat and pour differ from one panel to the next.

No source was found for a painter's scatter, so `Hand` begins with choices of ours. Ten panels that one hand sprayed of
one colour, read as usual, replace them: `measured`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import optics, predict, undercoat, weights
from refinishlib.colour.conditions import FLATTEST, STEEPEST, USUAL, Conditions
from refinishlib.colour.difference import HIGHEST_LAB, ciede2000
from refinishlib.colour.film import Layer
from refinishlib.colour.lamp import Lamp
from refinishlib.colour.optics import Mixture
from refinishlib.colour.reading import Reading
from refinishlib.colour.stage import Finish, Stage, stages
from refinishlib.entry import BadEntry, number, numbers, whole
from refinishlib.mixing.scale import on_scale, to_mass
from refinishlib.shop.paint import Formula

CAUSES = ("film", "tilt", "grey", "pour")
FILM = 0.12
TILT = 0.02
GREY = 2.0
READABILITY_G = 0.1
MASS_G = 300.0
MOST_TRIES = 20000
FEWEST_PANELS = 5
FELT = 0.1
WIDEST = 0.5
GREYEST = 20.0
HEAVIEST_G = 5000.0
TILTS = (0.8, 1.4)

SOURCES = {
    "CAUSES": "definition: what a hand lets differ",
    "FILM": "teaching value: standard deviation of the film of one coat, as a share; no source was found",
    "TILT": "teaching value: standard deviation of the flakes' tilt, as a share; no source was found, a steady hand",
    "GREY": "teaching value: standard deviation of the undercoat's L*; no source was found",
    "READABILITY_G": "common practice, no source: a paint scale shows 0.1 g",
    "MASS_G": "teaching value: a usual mix",
    "STILL": "definition: a hand that sprays every panel alike",
    "MOST_TRIES": "teaching value: limit of entry",
    "FEWEST_PANELS": "teaching value: fewer panels tell nothing about a scatter",
    "FELT": "teaching value: CIEDE2000 below which a colour does not tell a cause of scatter",
    "WIDEST": "teaching value: largest scatter that still counts as a hand",
    "GREYEST": "teaching value: largest scatter of the undercoat's L* that still counts as a hand",
    "HEAVIEST_G": "teaching value: more paint than this is no repair",
    "TILTS": "teaching value: tilts between which that of an old finish is looked for",
}


@dataclass(frozen=True)
class Hand:
    """Standard deviations from panel to panel.

    film : of one coat's film, as a share, 0-0.5
    tilt : of the flakes' tilt, as a share, 0-0.5
    grey : of the undercoat's L*, 0-20
    readability_g, mass_g : step of the scale, and of which mix

    Raises
    ------
    BadEntry : one of them out of range
    """

    film: float = FILM
    tilt: float = TILT
    grey: float = GREY
    readability_g: float = READABILITY_G
    mass_g: float = MASS_G

    def __post_init__(self) -> None:
        number("scatter of the film", self.film, low=0, high=WIDEST)
        number("scatter of the tilt", self.tilt, low=0, high=WIDEST)
        number("scatter of the undercoat", self.grey, low=0, high=GREYEST)
        number("readability", self.readability_g, low=0, high=100, unit="g")
        number("mass of the mix", self.mass_g, low=0, high=HEAVIEST_G, unit="g", above_low=True)

    def only(self, cause: str) -> Hand:
        """The same hand if it were steady in all but one of CAUSES."""
        kept = "readability_g" if cause == "pour" else cause
        still = {name: 0.0 for name in ("film", "tilt", "grey", "readability_g") if name != kept}
        return replace(self, **still)


STILL = Hand(film=0.0, tilt=0.0, grey=0.0, readability_g=0.0)


def panels(
    finish: Finish,
    hand: Hand,
    *,
    tries: int,
    seed: int = 0,
    conditions: Conditions = USUAL,
    lamp: Lamp | None = None,
) -> NDArray[np.float64]:
    """CIELAB of panels that this hand sprays of one colour, (tries, angles, 3).

    Parameters
    ----------
    finish : a formula is poured anew for each panel, a mix is taken as it is
    tries, seed : how many, and where the dice start
    conditions : what is meant: undercoat as an L*, tilt, surface and angles; the film is that of the stages
    lamp : D65 if not given

    Source
    ------
    JCGM 101 (2008): propagation of distributions by Monte Carlo. Films, tilts and greys are normal and cut off at 0
    film; the scale rounds evenly over one step.

    >>> from refinishlib.shop.shop import load
    >>> silver = load().colour("Millrace Silver, as built")
    >>> sprayed = panels(silver, Hand(), tries=200)
    >>> sprayed.shape, bool(sprayed[:, 0, 0].std() > 0.3)
    ((200, 5, 3), True)
    """
    count = whole("panels", tries, low=1, high=MOST_TRIES)
    dice = np.random.default_rng(seed)
    layers = []
    for stage in stages(finish):
        # The mean of some coats scatters less than one coat.
        film = stage.film_um * stage.coats * (1 + hand.film / np.sqrt(stage.coats) * dice.standard_normal(count))
        layers.append(Layer(_poured(stage, hand, count, dice), np.maximum(film, 0)))
    tilt = np.asarray(conditions.tilt_factor, dtype=float) * (1 + hand.tilt * dice.standard_normal(count))
    grey = _grey(conditions) + hand.grey * dice.standard_normal(count)
    return _lab(layers, np.clip(tilt, FLATTEST, STEEPEST), grey, conditions, lamp)


def measured(
    panels_lab: ArrayLike,
    finish: Finish,
    *,
    assumed: Hand | None = None,
    conditions: Conditions = USUAL,
) -> Hand:
    """A hand from panels that it sprayed of one colour; what that colour does not tell stays as assumed.

    Parameters
    ----------
    panels_lab : CIELAB of each panel, D65, (panels, angles, 3), ten or so
    finish : what was sprayed
    assumed : the scale, and what the colour cannot tell: a solid tells no tilt, a colour that hides no undercoat
    conditions : what was meant

    Notes
    -----
    The covariance of the readings is a sum of one part for each cause and of the instrument's noise, each with a
    variance of 0 or more; the least squares of that sum. Ten panels leave a doubt of a quarter of each figure.

    Raises
    ------
    BadEntry : fewer than 5 panels, or angles other than those of the conditions

    >>> from refinishlib.shop.shop import load
    >>> silver = load().colour("Millrace Silver, as built")
    >>> ten = panels(silver, Hand(tilt=0.04), tries=10, seed=1)
    >>> 0.02 < measured(ten, silver).tilt < 0.06
    True
    """
    from scipy.optimize import nnls

    hand = assumed or Hand()
    angles = len(conditions.angles_deg)
    lab = numbers("CIELAB of the panels", panels_lab, low=-HIGHEST_LAB, high=HIGHEST_LAB, shape=(None, angles, 3))
    if lab.ndim != 3 or len(lab) < FEWEST_PANELS:
        raise BadEntry(f"panels: {len(lab)} were given, allowed are {FEWEST_PANELS} or more.")
    pull = pulls(finish, conditions)
    told = {
        cause: change.ravel()
        for cause, change in pull.items()
        if ciede2000(lab.mean(axis=0), lab.mean(axis=0) + change * getattr(Hand(), cause)).max() > FELT
    }
    flat = (lab - lab.mean(axis=0)).reshape(len(lab), -1)
    covariance = flat.T @ flat / (len(lab) - 1)
    parts = [np.outer(change, change).ravel() for change in told.values()] + [np.eye(flat.shape[1]).ravel()]
    # Columns of one size, since the least squares stop at a fixed tolerance.
    size = np.array([np.linalg.norm(part) for part in parts])
    variances = nnls(np.stack(parts, axis=1) / size, covariance.ravel())[0] / size
    found = {cause: float(np.sqrt(value)) for cause, value in zip(told, variances, strict=False)}
    for cause, most in (("film", WIDEST), ("tilt", WIDEST), ("grey", GREYEST)):
        if cause in found:
            found[cause] = min(found[cause], most)
    return replace(hand, **found)


def tilt_of(old: Mixture, panel: Reading, *, conditions: Conditions = USUAL) -> float:
    """How much the flakes of an old finish stand up, by its reading: 1 as in a normal coat; 1 for a paint without.

    Parameters
    ----------
    old : the paint on the vehicle, hiding
    panel : its reading, at the angles it has
    conditions : surface

    Notes
    -----
    What a longer lobe and a darker toner do to a flop is alike, so that the paint must be known: its own formula.

    >>> from refinishlib.colour.reading import from_lab
    >>> from refinishlib.shop.shop import load
    >>> silver = optics.of_formula(load().colour("Millrace Silver, as built"))
    >>> lab = predict.lab(silver, Conditions(film_um=np.inf, tilt_factor=1.1))[0]
    >>> round(tilt_of(silver, from_lab(dict(zip((15, 25, 45, 75, 110), lab)))), 3)
    1.1
    """
    from scipy.optimize import minimize_scalar

    if not old.flakes or not old.cover_per_um.any():
        return 1.0
    hiding = replace(conditions, film_um=np.inf, angles_deg=panel.angles_deg)

    def apart(tilt: float) -> float:
        lab = predict.lab(old, replace(hiding, tilt_factor=tilt))[0]
        return float(np.square(ciede2000(panel.lab, lab)).sum())

    return float(minimize_scalar(apart, bounds=TILTS, method="bounded", options={"xatol": 1e-5}).x)


def pulls(finish: Finish, conditions: Conditions) -> Mapping[str, NDArray[np.float64]]:
    """What each cause does to the colour for a standard deviation of 1, (angles, 3), by a small central step."""
    each, step = stages(finish), 0.01
    grey = _grey(conditions)

    def at(film: NDArray[Any], tilt: float, grey: float) -> NDArray[np.float64]:
        layers = [Layer(stage.mixture, f * stage.film_um * stage.coats) for stage, f in zip(each, film, strict=True)]
        tilts = np.asarray(conditions.tilt_factor, dtype=float) * np.array([tilt])
        found: NDArray[np.float64] = _lab(layers, tilts, np.array([grey]), conditions, None)[0]
        return found

    ones = np.ones(len(each))
    # All stages at once stand for the hand; each stage's film scatters on its own, by the root of its coats.
    share = np.array([1 / np.sqrt(stage.coats) for stage in each])
    return {
        "film": (at(1 + step * share, 1.0, grey) - at(1 - step * share, 1.0, grey)) / (2 * step),
        "tilt": (at(ones, 1 + step, grey) - at(ones, 1 - step, grey)) / (2 * step),
        "grey": at(ones, 1.0, grey + 0.5) - at(ones, 1.0, grey - 0.5),
    }


def _poured(stage: Stage, hand: Hand, count: int, dice: np.random.Generator) -> Mixture:
    if not isinstance(stage.paint, Formula) or not hand.readability_g:
        return stage.mixture
    # One cup, without taring: each toner stands between two rounded readings.
    meant = np.cumsum(to_mass(stage.paint.parts, hand.mass_g).own_g)
    shown = on_scale(meant, hand.readability_g)
    shown = shown + dice.uniform(-0.5, 0.5, (count, len(meant))) * hand.readability_g
    return optics.mixture(stage.paint.toners, np.maximum(np.diff(shown, prepend=0.0, axis=-1), 0))


def _grey(conditions: Conditions) -> float:
    if np.ndim(conditions.undercoat):
        raise BadEntry("undercoat: a spectrum was given, allowed is one L*, since the hand scatters around it.")
    return float(np.asarray(conditions.undercoat))


def _lab(
    layers: list[Layer], tilt: NDArray[Any], grey: NDArray[Any], conditions: Conditions, lamp: Lamp | None
) -> NDArray[np.float64]:
    sprayed = replace(conditions, tilt_factor=tilt, undercoat=undercoat.grey(np.clip(grey, 0, 100)))
    found = weights.lab(predict.of_layers(layers, sprayed), None if lamp is None else [lamp])
    return np.asarray(found[..., 0, :, :])
