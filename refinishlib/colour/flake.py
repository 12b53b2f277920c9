"""The light of the flakes: one bounce from leaves that lie nearly flat, which is what makes a colour flop.

A flake is a small plane mirror. It sends light to the eye only if its tilt is half of what lies between the mirror
direction and the eye, inside the clear. The light is dimmed by flakes and pigment on its way in and out. What more
than one bounce does is part of the diffuse film (`refinishlib.colour.film`), whose light travels about twice as far
through the pigment. Left out: interference colour that moves with the angle, sparkle of single flakes, shadows that
way in and way out share, and diffraction at the rims beyond what the toner's own scattering says.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import dawsn

from refinishlib.colour import film
from refinishlib.colour.film import Layer
from refinishlib.colour.optics import Mixture
from refinishlib.colour.surface import Geometry
from refinishlib.entry import one_of

SPRAYED = {"dry": 0.92, "normal": 1.0, "wet": 1.18, "drop coat": 1.08}
LEAST_PER_UM = 1e-9

SOURCES = {
    "SPRAYED": "teaching value: factor on the tilt; that flakes stand up in a wet, heavy coat is common practice",
    "LEAST_PER_UM": "definition: keeps a film that dims nothing from dividing by zero",
}


def tilt_factor(sprayed: str) -> float:
    """Factor on the flakes' tilt by how the coat went on: "dry", "normal", "wet" or "drop coat".

    >>> tilt_factor("wet") > tilt_factor("dry")
    True
    """
    return SPRAYED[one_of("sprayed", sprayed, SPRAYED)]


def tilt_density(tilt_rad: ArrayLike, deviation_rad: ArrayLike) -> NDArray[np.float64]:
    """Flake normals per steradian at a tilt, per flake; its integral over the half sphere is 1.

    Parameters
    ----------
    tilt_rad : angle between the flake's normal and the panel's, (...)
    deviation_rad : standard deviation of the Gaussian of tilts, up to about 0.5, (...)

    Source
    ------
    A Gaussian of the tilt; the normalisation 2 pi sqrt(2) s D(s / sqrt 2) with Dawson's function D is integral 7.4.6 of
    Abramowitz and Stegun (1964) with an imaginary argument.

    >>> float(tilt_density(0.0, 0.1).round(2))
    15.97
    """
    tilt, deviation = np.asarray(tilt_rad, dtype=float), np.asarray(deviation_rad, dtype=float)
    whole = 2 * np.pi * np.sqrt(2) * deviation * dawsn(deviation / np.sqrt(2))
    return np.exp(-((tilt / deviation) ** 2) / 2) / whole


def single_bounce(
    layers: Sequence[Layer], geometry: Geometry, *, tilt_factor: ArrayLike = 1.0, roughness_rad: float = 0.0
) -> NDArray[np.float64]:
    """Reflectance factor inside the resin of light that met one flake, (..., angles, 31), 0 or more.

    Parameters
    ----------
    layers : from the undercoat up
    geometry : directions inside the paint, (angles,)
    tilt_factor : how much more the flakes stand up than in a normally sprayed coat, (...)
    roughness_rad : slopes of a matt surface, which widen the lobe

    Notes
    -----
    For each kind of flake pi r A D(tilt) / (4 cos_in cos_out) times the sum over depth of what gets there and back,
    with r the reflectance of its face and A its area per um. Flakes hide A per um on each way, pigment (K + S) / 2
    per um of path: collimated light meets half of what diffuse light does.

    Source
    ------
    The facet model of Torrance and Sparrow (1967), J. Opt. Soc. Am. 57, 1105, in an absorbing layer; Kubelka (1948),
    J. Opt. Soc. Am. 38, 448 for collimated against diffuse coefficients.
    """
    paths = (1 / geometry.cos_in + 1 / geometry.cos_out)[:, None]
    lights: list[NDArray] = []
    above: NDArray = np.ones((len(paths), 1))
    for i in range(len(layers) - 1, -1, -1):
        layer, mixture = layers[i], layers[i].mixture
        pigment = (mixture.absorption_per_um + mixture.scattering_per_um) / 2
        hidden = 2 * (mixture.flake_absorption_per_um + mixture.flake_scattering_per_um)
        dimming = pigment[..., None, :] * paths
        dimming += np.maximum(hidden, LEAST_PER_UM)[..., None, :]
        left = _left(dimming, np.asarray(layer.film_um, dtype=float)[..., None, None])
        below = above * left if i else above
        if mixture.flakes:
            returned = np.subtract(1, left, out=left)
            returned /= dimming
            facing = _facing(mixture, geometry, tilt_factor, roughness_rad)
            lights.append(_times(_times(returned, facing), above))
        above = below
    return sum(lights[1:], lights[0]) if lights else np.zeros_like(above)


def first_bounce_share(layers: Sequence[Layer], *, diffuse: bool) -> NDArray[np.float64]:
    """Share of the light that one flake sends back out of the film, (..., 31), 0-0.5.

    diffuse : for diffuse light, as a part of what the two-constant film reflects; otherwise for a beam straight down,
        which is more than for any slanting beam
    """
    total: NDArray | float = 0.0
    reaching: NDArray | float = 1.0
    for layer in reversed(layers):
        if diffuse:
            dimming = 2 * (film.absorption(layer.mixture) + film.scattering(layer.mixture))
        else:
            pigment = layer.mixture.absorption_per_um + layer.mixture.scattering_per_um
            dimming = pigment + 2 * (layer.mixture.flake_absorption_per_um + layer.mixture.flake_scattering_per_um)
        dimming = np.maximum(dimming, LEAST_PER_UM)
        left = _left(dimming, np.asarray(layer.film_um, dtype=float)[..., None])
        total = total + reaching * (1 - left) / dimming * layer.mixture.flake_scattering_per_um
        reaching = reaching * left
    return np.asarray(total)


def _left(dimming_per_um: NDArray, film_um: NDArray) -> NDArray:
    """What is left of the light below the film."""
    depth = dimming_per_um * -film_um
    return np.exp(depth, out=depth)


def _times(array: NDArray, factor: NDArray) -> NDArray:
    """The product, in the array's own place if it fits there: large temporary arrays cost more than the arithmetic."""
    fits = np.broadcast_shapes(array.shape, factor.shape) == array.shape
    return np.multiply(array, factor, out=array if fits else None)


def _facing(mixture: Mixture, geometry: Geometry, tilt_factor: ArrayLike, roughness_rad: float) -> NDArray:
    """Factor per um that flakes facing the eye send there, (..., angles, 31)."""
    own = np.radians([flake.tilt_deg for flake in mixture.flakes])
    deviation = np.hypot(own * np.asarray(tilt_factor, dtype=float)[..., None], roughness_rad)
    density = tilt_density(geometry.tilt_rad[:, None], deviation[..., None, :])
    spread = np.pi / (4 * geometry.cos_in * geometry.cos_out)[:, None]
    per_angle = mixture.cover_per_um[..., None, :] * (density * spread)
    flat = per_angle.reshape(-1, per_angle.shape[-1]) @ mixture.flake_reflectance
    return flat.reshape(*per_angle.shape[:-1], -1)
