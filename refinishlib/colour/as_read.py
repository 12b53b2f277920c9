"""A finish that is known by its reading alone: the paint in the gun, changed as the panel differs from the card."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from refinishlib.colour import predict
from refinishlib.colour.conditions import USUAL, Conditions
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.optics import Mixture
from refinishlib.colour.reading import Reading, in_common
from refinishlib.colour.spectrum import WAVELENGTHS_NM

PLACES_NM = (440.0, 550.0, 640.0)
STEP = 0.02
ROUNDS = 12
STIFF = 0.01
FARTHEST = 3.0

SOURCES = {
    "PLACES_NM": "teaching value: where the absorption may change, straight between them, as the eye has three cones",
    "STEP": "teaching value: change by which a slope is felt",
    "ROUNDS": "teaching value: steps of Gauss and Newton (1809)",
    "STIFF": "teaching value: CIELAB that a change of a factor e must bring to be worth it",
    "FARTHEST": "teaching value: largest change, as a power of e",
}


@dataclass(frozen=True, eq=False)
class AsRead:
    """A paint that looks as a panel was read.

    paint : for the old side of a blend or a joint
    left : CIEDE2000 that it still misses the reading by, (angles,)
    """

    paint: Mixture
    left: NDArray[np.float64]


def as_read(paint: Mixture, card: Reading, panel: Reading, *, conditions: Conditions = USUAL) -> AsRead:
    """The paint on the panel, for whoever has its reading and a card of a paint that is known.

    Parameters
    ----------
    paint : what the card was sprayed with
    card, panel : readings, or what the eye says of the panel over the card; the angles that both have count
    conditions : surface

    Notes
    -----
    Only the difference of the readings counts, so that what the model misses of the card it does not add to the panel.
    Absorption may change at three places of the spectrum, flakes in their number and tilt; the smallest change that
    meets the reading, both finishes hiding. Which toners the old finish has does not follow from it.

    Raises
    ------
    BadEntry : no angle in common

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.colour.reading import from_lab
    >>> from refinishlib.shop.shop import load
    >>> red = mixture(load().picked("warm red", "white"), [9.0, 1.0])
    >>> card, panel = from_lab({45: (40.0, 45.0, 25.0)}), from_lab({45: (40.8, 45.0, 26.0)})
    >>> float(as_read(red, card, panel).left.round(2)[0])
    0.0
    """
    card, panel = in_common(card, panel)
    hiding = replace(conditions, film_um=np.inf, angles_deg=card.angles_deg)
    own = predict.lab(paint, hiding)[0]
    wanted = own + (panel.lab - card.lab)
    free = len(PLACES_NM) + (2 if paint.flakes and paint.cover_per_um.any() else 0)
    at = np.zeros(free)

    def missed(change: NDArray[Any]) -> NDArray[Any]:
        lab = predict.lab(
            _changed(paint, change[..., :-1] if free > len(PLACES_NM) else change), _tilted(hiding, change)
        )
        off: NDArray[Any] = lab[..., 0, :, :] - wanted
        return off.reshape(*change.shape[:-1], -1)

    for _ in range(ROUNDS):
        here, *moved = missed(np.vstack([at, at + STEP * np.eye(free)]))
        slope = (np.stack(moved, axis=1) - here[:, None]) / STEP
        # Damped least squares: the smallest change among those that do alike.
        step = np.linalg.lstsq(
            np.vstack([slope, STIFF * np.eye(free)]), -np.concatenate([here, STIFF * at]), rcond=None
        )[0]
        at = np.clip(at + step, -FARTHEST, FARTHEST)
    found = _changed(paint, at[:-1] if free > len(PLACES_NM) else at)
    if free > len(PLACES_NM):
        found = replace(
            found, flakes=tuple(replace(one, tilt_deg=one.tilt_deg * float(np.exp(at[-1]))) for one in found.flakes)
        )
    return AsRead(found, ciede2000(wanted, predict.lab(found, hiding)[0]))


def _changed(paint: Mixture, change: NDArray[Any]) -> Mixture:
    """The paint with its absorption, and by a fourth change its flakes' number, times powers of e, (..., changes)."""
    places = len(PLACES_NM)
    # How much each place has a say at each wavelength; they sum to 1.
    says = np.stack([np.interp(WAVELENGTHS_NM, PLACES_NM, row) for row in np.eye(places)])
    cover = np.exp(change[..., places:]) if change.shape[-1] > places else np.ones((*change.shape[:-1], 1))
    return replace(
        paint,
        absorption_per_um=paint.absorption_per_um * np.exp(change[..., :places] @ says),
        scattering_per_um=np.broadcast_to(paint.scattering_per_um, (*change.shape[:-1], len(WAVELENGTHS_NM))),
        cover_per_um=paint.cover_per_um * cover,
    )


def _tilted(conditions: Conditions, change: NDArray[Any]) -> Conditions:
    if change.shape[-1] <= len(PLACES_NM):
        return conditions
    return replace(conditions, tilt_factor=np.asarray(conditions.tilt_factor) * np.exp(change[..., -1]))
