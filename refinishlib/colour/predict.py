"""From paint to colour: film, flake and surface put together, for thousands of mixes at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from refinishlib.colour import film, flake, surface, weights
from refinishlib.colour.conditions import USUAL, Conditions
from refinishlib.colour.film import Layer
from refinishlib.colour.lamp import Lamp
from refinishlib.colour.optics import Mixture
from refinishlib.colour.surface import Geometry
from refinishlib.colour.undercoat import as_undercoat

AT_A_TIME = 1000

# Whether each part of the surface is smooth; a wiped one is smooth where the solvent stands.
SMOOTH = {"clear": (True,), "matt": (False,), "wiped": (True, False)}

SOURCES = {
    "AT_A_TIME": "definition: mixes in one block, so that its arrays stay in the processor's cache",
}


def reflectance(paint: Mixture, conditions: Conditions = USUAL) -> NDArray[np.float64]:
    """Reflectance factors of one paint over an undercoat, specular excluded.

    Parameters
    ----------
    paint : one or many mixes, spectra (..., 31)
    conditions : film, undercoat, surface, tilt and angles

    Returns
    -------
    (..., angles, 31), 0 or more, above 1 on the face of a metallic

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> reflectance(mixture(load().picked("white", "jet black"), [[9.0, 1.0], [5.0, 5.0]])).shape
    (2, 5, 31)
    """
    return of_layers([Layer(paint, np.asarray(conditions.film_um, dtype=float))], conditions)


def of_layers(layers: Sequence[Layer], conditions: Conditions = USUAL) -> NDArray[np.float64]:
    """Reflectance factors (..., angles, 31) of layers over an undercoat: a ground coat and a mid coat, for example.

    Parameters
    ----------
    layers : from the undercoat up, each with its own film; none at all is the bare undercoat
    conditions : undercoat, surface, tilt and angles

    Notes
    -----
    What flakes alone send back out is taken out of the diffuse film's account, so that no more comes out than went
    in: what they did not take (at most their share of a beam straight down) meets a film that has lost that light.

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> shop = load()
    >>> ground, mid = mixture(shop.picked("warm red"), [1.0]), mixture(shop.picked("rose", "white pearl"), [4.0, 1.0])
    >>> of_layers([Layer(ground, 20.0), Layer(mid, 8.0)]).shape
    (5, 31)
    """
    return at_geometry(layers, conditions.geometry, conditions)


def at_geometry(layers: Sequence[Layer], geometry: Geometry, conditions: Conditions = USUAL) -> NDArray[np.float64]:
    """Reflectance factors (..., angles, 31) for any direction of light and eye, such as a curved panel has.

    Parameters
    ----------
    layers : from the undercoat up
    geometry : of `surface.geometry`, (angles,), in place of the angles of the conditions
    conditions : undercoat, surface and tilt

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> silver = [Layer(mixture(load().picked("medium silver"), [1.0]), 20.0)]
    >>> mirror, beside = at_geometry(silver, surface.geometry([30.0, 30.0], [-30.0, 0.0]))
    >>> bool((mirror > beside).all())
    True
    """
    diffuse = film.reflectance(layers, as_undercoat(conditions.undercoat))
    straight, emerging = None, diffuse
    if any(layer.mixture.flakes for layer in layers):
        straight, bounced = (flake.bounced_share(layers, diffuse=diffused) for diffused in (False, True))
        # R' = (1 - B0) (R - B) / (1 - B): what the flakes sent back, B0 of a beam and B of diffuse light, counts once.
        emerging = (1 - straight) * (diffuse - bounced) / (1 - bounced)
    parts = []
    for smooth in SMOOTH[conditions.surface_is]:
        part = _film_light(geometry, diffuse, emerging, smooth)
        if straight is not None:
            roughness_rad = 0.0 if smooth else float(np.radians(surface.ROUGHNESS_DEG))
            part = part + flake.light(
                layers, geometry, tilt_factor=conditions.tilt_factor, roughness_rad=roughness_rad, straight=straight
            )
        parts.append(part)
    if len(parts) == 1:
        return parts[0]
    return surface.WIPED_SHARE * parts[0] + (1 - surface.WIPED_SHARE) * parts[1]


def lab(paint: Mixture, conditions: Conditions = USUAL, *, lamps: Sequence[Lamp] | None = None) -> NDArray[np.float64]:
    """CIELAB (..., lamps, angles, 3), 10 degree observer, of one paint.

    Parameters
    ----------
    paint, conditions : as for `reflectance`
    lamps : D65 alone if not given

    >>> from refinishlib.colour.lamp import lamp
    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> lab(mixture(load().picked("white"), [1.0]), lamps=[lamp("D65"), lamp("A")]).shape
    (2, 5, 3)
    """
    many = paint.absorption_per_um.ndim == 2
    if not many or any(map(np.ndim, (conditions.film_um, conditions.undercoat, conditions.tilt_factor))):
        return weights.lab(reflectance(paint, conditions), lamps)
    starts = range(0, max(1, len(paint.absorption_per_um)), AT_A_TIME)
    return np.concatenate([weights.lab(reflectance(_some(paint, start), conditions), lamps) for start in starts])


def _some(paint: Mixture, start: int) -> Mixture:
    rows = slice(start, start + AT_A_TIME)
    return replace(
        paint,
        absorption_per_um=paint.absorption_per_um[rows],
        scattering_per_um=paint.scattering_per_um[rows],
        cover_per_um=paint.cover_per_um[rows],
    )


def _film_light(geometry: Geometry, diffuse: NDArray[Any], emerging: NDArray[Any], smooth: bool) -> NDArray[Any]:
    """Reflectance factor outside of the diffuse film, (..., angles, 31)."""
    passed = geometry.passed[:, None]
    if smooth:
        return surface.through_surface(emerging[..., None, :], diffuse[..., None, :], passed)
    external = float(surface.external_reflection(surface.LIGHT_DEG))
    mean_passed = (1 - external) * (1 - surface.diffuse_internal_reflection())
    matt = external + surface.through_surface(emerging, diffuse, mean_passed)
    return np.repeat(matt[..., None, :], len(passed), axis=-2)
