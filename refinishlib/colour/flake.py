"""The light of the flakes: mirrors that lie nearly flat, which is what makes a colour flop.

A flake is a small plane mirror. It sends light to the eye only if its tilt is half of what lies between the mirror
direction and the eye, inside the clear. The light is dimmed by flakes and pigment on its way in and out. Light that
meets three flakes and more leaves in wider lobes. Light that meets pigment is diffuse and belongs to the film
(`refinishlib.colour.film`), where it travels about twice as far through the pigment.

Left out: interference colour that moves with the angle, sparkle of single flakes, the shadow that the way in and the
way out share when eye and lamp are close, the slanting look of a tilted flake, and light at a flake's rim other than
what the toner's own scattering says.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

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
# Each lobe's variance in those of one flake's tilt: sent back at the surface; three, five, seven and more bounces.
LOBES = (1.4, 3.0, 5.0, 10.0)
SENT_BACK = 0.09
DIMMED = 0.5

SOURCES = {
    "SPRAYED": "teaching value: factor on the tilt; that flakes stand up in a wet, heavy coat is common practice",
    "LOBES": "definition for 3 and 5: mirrors in a row add up the variances of their tilts; the first and the last fit"
    " flakes thrown one by one in the tests",
    "SENT_BACK": "teaching value: fits flakes thrown one by one; most of what the surface sends back leaves elsewhere",
    "DIMMED": "definition: bounces are told apart by what a film returns whose flakes mirror half as much",
    "LEAST_PER_UM": "definition: keeps a film that dims nothing from dividing by zero",
}


def tilt_factor(sprayed: str) -> float:
    """Factor on the flakes' tilt by how the coat went on: "dry", "normal", "wet" or "drop coat".

    >>> tilt_factor("wet") > tilt_factor("dry")
    True
    """
    return SPRAYED[one_of("sprayed", sprayed, SPRAYED)]


def tilt_density(tilt_rad: ArrayLike, deviation_rad: ArrayLike) -> NDArray[np.float64]:
    """Flake area per steradian of its normals, per area that the flakes cover on the panel.

    Its integral over the half sphere, times the cosine of the tilt, is 1.

    Parameters
    ----------
    tilt_rad : angle between the flake's normal and the panel's, (...)
    deviation_rad : standard deviation of the Gaussian of tilts, up to about 0.5, (...)

    Source
    ------
    A Gaussian of the tilt; the normalisation pi sqrt(2) s D(sqrt(2) s) with Dawson's function D is integral 7.4.7 of
    Abramowitz and Stegun (1964); from memory.

    >>> float(tilt_density(0.0, 0.1).round(2))
    16.13
    """
    tilt, deviation = np.asarray(tilt_rad, dtype=float), np.asarray(deviation_rad, dtype=float)
    whole = np.pi * np.sqrt(2) * deviation * dawsn(np.sqrt(2) * deviation)
    found: NDArray[np.float64] = np.exp(-((tilt / deviation) ** 2) / 2) / whole
    return found


def light(
    layers: Sequence[Layer],
    geometry: Geometry,
    *,
    tilt_factor: ArrayLike = 1.0,
    roughness_rad: float = 0.0,
    straight: NDArray[Any] | None = None,
) -> NDArray[np.float64]:
    """Reflectance factor outside of all the light that met nothing but flakes, (..., angles, 31), 0 or more.

    Parameters
    ----------
    layers : from the undercoat up
    geometry : directions inside the paint, (angles,)
    tilt_factor : how much more the flakes stand up than in a normally sprayed coat, (...)
    roughness_rad : slopes of a matt surface, which widen the lobe
    straight : `bounced_share` of a beam straight down, if it is known already

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> shop = load()
    >>> from refinishlib.colour.surface import aspecular
    >>> silver = light([Layer(mixture(shop.picked("medium silver"), [1.0]), 20.0)], aspecular())
    >>> bool((np.diff(silver.mean(axis=-1)) < 0).all())
    True
    """
    first = single_bounce(layers, geometry, tilt_factor=tilt_factor, roughness_rad=roughness_rad)
    more = many_bounces(layers, geometry, tilt_factor=tilt_factor, roughness_rad=roughness_rad, straight=straight)
    return _times(_plus(first, more), geometry.passed[:, None])


def single_bounce(
    layers: Sequence[Layer], geometry: Geometry, *, tilt_factor: ArrayLike = 1.0, roughness_rad: float = 0.0
) -> NDArray[np.float64]:
    """Reflectance factor inside the resin of light that met one flake, (..., angles, 31), 0 or more.

    Parameters
    ----------
    as for `light`

    Notes
    -----
    For each kind of flake pi r A D(tilt) / (4 cos_in cos_out) times the sum over depth of what gets there and back,
    with r the reflectance of its face and A its area per um. Flakes hide A per um on each way, pigment (K + S) / 2
    per um of path: collimated light meets half of what diffuse light does.

    Source
    ------
    The facet model of Torrance and Sparrow (1967), J. Opt. Soc. Am. 57, 1105, in an absorbing layer; Kubelka (1948),
    J. Opt. Soc. Am. 38, 448 for collimated against diffuse coefficients.

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> shop = load()
    >>> from refinishlib.colour.surface import aspecular
    >>> silver, red = (Layer(mixture(shop.picked(name), [1.0]), 20.0) for name in ("medium silver", "warm red"))
    >>> bool(single_bounce([silver], aspecular()).max() > 1), float(single_bounce([red], aspecular()).max())
    (True, 0.0)
    """
    paths = (1 / geometry.cos_in + 1 / geometry.cos_out)[:, None]
    lights: list[NDArray[Any]] = []
    above: NDArray[Any] = np.ones((len(paths), 1))
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


def many_bounces(
    layers: Sequence[Layer],
    geometry: Geometry,
    *,
    tilt_factor: ArrayLike = 1.0,
    roughness_rad: float = 0.0,
    straight: NDArray[Any] | None = None,
) -> NDArray[np.float64]:
    """Reflectance factor inside the resin of light that met three flakes and more, (..., angles, 31), 0 or more.

    Parameters
    ----------
    as for `light`

    Notes
    -----
    Mirrors in a row add up the variances of their tilts, so that three, five, seven bounces leave in ever wider lobes;
    these are what is seen far from the mirror direction. How much leaves after how many follows from what the film
    returns of a beam straight down, B(z) = b1 z + b3 z^3 + b5 z^5 + ..., if each flake mirrored z times as much: from
    B(1), B(1/2) and b1, with b3, b5, b7 falling by one factor. The light that the surface sends back in and that comes
    up again is a fourth lobe, about as wide as the first bounce's.

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> shop = load()
    >>> from refinishlib.colour.surface import aspecular
    >>> silver = [Layer(mixture(shop.picked("medium silver"), [1.0]), 20.0)]
    >>> bool((many_bounces(silver, aspecular()) < single_bounce(silver, aspecular()))[:3].all())
    True
    """
    all_of_it = bounced_share(layers, diffuse=False) if straight is None else straight
    shares = _first_bounce_shares(layers)
    first = sum(shares[1:], shares[0])
    rest = np.maximum(all_of_it - first, LEAST_PER_UM)
    # 8 B(1/2) - 4 b1 = b3 + b5 / 4 + b7 / 16 + ..., which with b5 = q b3, b7 = q b5 gives q.
    by_half = (bounced_share(layers, diffuse=False, mirrored=DIMMED) / DIMMED - first) / DIMMED**2
    ratio = np.clip(by_half / rest, DIMMED**2, 1)
    factor = (1 - ratio) / (1 - DIMMED**2 * ratio)
    three, five = rest * (1 - factor), rest * (1 - factor) * factor
    lobes = np.stack([SENT_BACK * all_of_it**2, three, five, rest * factor**2], axis=-2)
    # Each layer's tilt counts by the light it returns, so that a film of nothing has no say.
    spread = sum(
        share.mean(axis=-1) * _mean_square_tilt(layer.mixture) for share, layer in zip(shares, layers, strict=True)
    )
    variance = spread / np.maximum(first.mean(axis=-1), LEAST_PER_UM) * np.square(np.asarray(tilt_factor, dtype=float))
    deviation = np.sqrt(np.maximum(variance[..., None] * LOBES, LEAST_PER_UM**2) + roughness_rad**2)
    density = tilt_density(geometry.tilt_rad[:, None], deviation[..., None, :]) * _spread(geometry)[:, None]
    found: NDArray[np.float64] = density @ lobes
    return found


def bounced_share(layers: Sequence[Layer], *, diffuse: bool, mirrored: float = 1.0) -> NDArray[np.float64]:
    """Share of the light that flakes alone send back out of the film, whatever the number of bounces, (..., 31), 0-1.

    Light that meets pigment is lost to it.

    diffuse : for diffuse light, as a part of what the two-constant film reflects; otherwise for a beam straight down,
        which meets half as much pigment and so is more than for any slanting beam
    mirrored : the share of their light that the flakes go on mirroring, the rest is lost; tells bounces apart

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> shop = load()
    >>> silver = [Layer(mixture(shop.picked("medium silver", "deep blue"), [80.0, 20.0]), 20.0)]
    >>> bool((bounced_share(silver, diffuse=True) < bounced_share(silver, diffuse=False)).all())
    True
    """
    result: NDArray[Any] = np.zeros(1)
    for layer in layers:
        mixture = layer.mixture
        pigment = mixture.absorption_per_um + mixture.scattering_per_um
        lost = mixture.flake_absorption_per_um + (pigment if diffuse else pigment / 2)
        back = mirrored * mixture.flake_scattering_per_um
        lost = lost + (mixture.flake_scattering_per_um - back)
        film_um = np.asarray(layer.film_um, dtype=float)[..., None]
        result = film.over(*film.free_film(lost, back, film_um), result)
    return result


def _first_bounce_shares(layers: Sequence[Layer]) -> list[NDArray[Any]]:
    """The part of `bounced_share` of a beam straight down that met one flake only, of each layer."""
    shares: list[NDArray[Any]] = []
    above: NDArray[Any] = np.ones(1)
    for layer in reversed(layers):
        mixture = layer.mixture
        dimming = mixture.absorption_per_um + mixture.scattering_per_um
        dimming = dimming + 2 * (mixture.flake_absorption_per_um + mixture.flake_scattering_per_um)
        dimming = np.maximum(dimming, LEAST_PER_UM)
        left = _left(dimming, np.asarray(layer.film_um, dtype=float)[..., None])
        shares.append(above * (1 - left) / dimming * mixture.flake_scattering_per_um)
        above = above * left
    return shares[::-1]


def _mean_square_tilt(mixture: Mixture) -> NDArray[Any] | float:
    """Mean square of the flakes' own tilts, by their cover, rad^2; 0 without flakes."""
    if not mixture.flakes:
        return 0.0
    cover = np.maximum(mixture.cover_per_um.sum(axis=-1), LEAST_PER_UM)
    found: NDArray[Any] = mixture.cover_per_um @ _own_tilt_rad(mixture) ** 2 / cover
    return found


def _spread(geometry: Geometry) -> NDArray[Any]:
    return np.pi / (4 * geometry.cos_in * geometry.cos_out)


def _own_tilt_rad(mixture: Mixture) -> NDArray[Any]:
    return np.radians([flake.tilt_deg for flake in mixture.flakes])


def _left(dimming_per_um: NDArray[Any], film_um: NDArray[Any]) -> NDArray[Any]:
    """What is left of the light below the film."""
    depth = dimming_per_um * -film_um
    found: NDArray[Any] = np.exp(depth, out=depth)
    return found


def _times(array: NDArray[Any], factor: NDArray[Any]) -> NDArray[Any]:
    """The product, in the array's own place if it fits there: large temporary arrays cost more than the arithmetic."""
    fits = np.broadcast_shapes(array.shape, factor.shape) == array.shape
    found: NDArray[Any] = np.multiply(array, factor, out=array if fits else None)
    return found


def _plus(array: NDArray[Any], other: NDArray[Any]) -> NDArray[Any]:
    """The sum, in the array's own place if it fits there."""
    fits = np.broadcast_shapes(array.shape, other.shape) == array.shape
    found: NDArray[Any] = np.add(array, other, out=array if fits else None)
    return found


def _facing(mixture: Mixture, geometry: Geometry, tilt_factor: ArrayLike, roughness_rad: float) -> NDArray[Any]:
    """Factor per um that flakes facing the eye send there, (..., angles, 31)."""
    deviation = np.hypot(_own_tilt_rad(mixture) * np.asarray(tilt_factor, dtype=float)[..., None], roughness_rad)
    density = tilt_density(geometry.tilt_rad[:, None], deviation[..., None, :])
    per_angle = mixture.cover_per_um[..., None, :] * (density * _spread(geometry)[:, None])
    flat = per_angle.reshape(-1, per_angle.shape[-1]) @ mixture.flake_reflectance
    found: NDArray[Any] = flat.reshape(*per_angle.shape[:-1], flat.shape[-1])
    return found
