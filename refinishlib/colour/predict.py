"""From formula to colour: film, flake and surface put together, for thousands of formulas at once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import film, flake, optics, surface, weights
from refinishlib.colour.film import Layer
from refinishlib.colour.lamp import Lamp
from refinishlib.colour.surface import ANGLES_DEG, Geometry
from refinishlib.colour.undercoat import GREY_LIGHTNESS, as_undercoat
from refinishlib.entry import numbers

COAT_UM = 6.0
FILM_UM = 3 * COAT_UM
THICKEST_UM = 1e6
FLATTEST = 0.2
STEEPEST = 4.0
AT_A_TIME = 1000
PER_FORMULA = ("undercoat", "film_um", "tilt_factor")

# Whether each part of the surface is smooth; a wiped one is smooth where the solvent stands.
SMOOTH = {"clear": (True,), "matt": (False,), "wiped": (True, False)}

SOURCES = {
    "COAT_UM": "teaching value: dry film of one coat of the shop's base, as its product sheets say",
    "FILM_UM": "teaching value: three coats of basecoat",
    "FLATTEST": "teaching value: no spraying lays flakes flatter than a fifth of the usual tilt",
    "STEEPEST": "teaching value: no spraying stands flakes up to more than four times the usual tilt",
    "AT_A_TIME": "definition: formulas in one block, so that its arrays stay in the processor's cache",
    "THICKEST_UM": "teaching value: a metre of paint is no longer a film",
}


def reflectance(
    names: Sequence[str],
    masses_g: ArrayLike,
    *,
    undercoat: ArrayLike = GREY_LIGHTNESS,
    film_um: ArrayLike = FILM_UM,
    surface_is: str = "clear",
    tilt_factor: ArrayLike = 1.0,
    angles_deg: ArrayLike = ANGLES_DEG,
) -> NDArray[np.float64]:
    """Reflectance factors of one paint over an undercoat, specular excluded.

    Parameters
    ----------
    names : toners
    masses_g : (..., toners), each 0 or more
    undercoat : L* of a neutral undercoat, 0-100, or its diffuse reflectance inside the resin (..., 31)
    film_um : dry film of all coats together, 0 or more, may be np.inf, (...)
    surface_is : "clear" for cleared or a glossy single stage, "matt" for base before clear, "wiped" with solvent
    tilt_factor : of `flake.tilt_factor`, 0.2-4, (...)
    angles_deg : aspecular, light at 45 degrees, (angles,)

    Returns
    -------
    (..., angles, 31), 0 or more, above 1 on the face of a metallic

    Raises
    ------
    BadEntry : an unknown toner or surface, a mass, film, undercoat or angle out of range

    >>> reflectance(["white", "jet black"], [[9.0, 1.0], [5.0, 5.0]]).shape
    (2, 5, 31)
    """
    return of_layers(
        [Layer(optics.mixture(names, masses_g), np.asarray(film_um, dtype=float))],
        undercoat=undercoat,
        surface_is=surface_is,
        tilt_factor=tilt_factor,
        angles_deg=angles_deg,
    )


def of_layers(
    layers: Sequence[Layer],
    *,
    undercoat: ArrayLike = GREY_LIGHTNESS,
    surface_is: str = "clear",
    tilt_factor: ArrayLike = 1.0,
    angles_deg: ArrayLike = ANGLES_DEG,
) -> NDArray[np.float64]:
    """Reflectance factors (..., angles, 31) of layers over an undercoat: a ground coat and a mid coat, for example.

    Parameters
    ----------
    layers : from the undercoat up; none at all is the bare undercoat

    Notes
    -----
    What flakes alone send back out is taken out of the diffuse film's account, so that no more comes out than went
    in: what they did not take (at most their share of a beam straight down) meets a film that has lost that light.

    >>> from refinishlib.colour.optics import mixture
    >>> ground, mid = mixture(["warm red"], [1.0]), mixture(["transparent red", "white pearl"], [4.0, 1.0])
    >>> of_layers([Layer(ground, 20.0), Layer(mid, 8.0)]).shape
    (5, 31)
    """
    return at_geometry(
        layers,
        surface.aspecular(angles_deg),
        undercoat=undercoat,
        surface_is=surface_is,
        tilt_factor=tilt_factor,
    )


def at_geometry(
    layers: Sequence[Layer],
    geometry: Geometry,
    *,
    undercoat: ArrayLike = GREY_LIGHTNESS,
    surface_is: str = "clear",
    tilt_factor: ArrayLike = 1.0,
) -> NDArray[np.float64]:
    """Reflectance factors (..., angles, 31) for any direction of light and eye, such as a curved panel has.

    Parameters
    ----------
    layers : from the undercoat up
    geometry : of `surface.geometry`, (angles,)
    undercoat, surface_is, tilt_factor : as for `reflectance`

    >>> from refinishlib.colour.optics import mixture
    >>> silver = [Layer(mixture(["medium silver"], [1.0]), 20.0)]
    >>> mirror, beside = at_geometry(silver, surface.geometry([30.0, 30.0], [-30.0, 0.0]))
    >>> bool((mirror > beside).all())
    True
    """
    surface.surface(surface_is)
    for layer in layers:
        _check_film(layer.film_um)
    numbers("tilt factor", tilt_factor, low=FLATTEST, high=STEEPEST)
    diffuse = film.reflectance(layers, as_undercoat(undercoat))
    straight, emerging = None, diffuse
    if any(layer.mixture.flakes for layer in layers):
        straight, bounced = (flake.bounced_share(layers, diffuse=diffused) for diffused in (False, True))
        emerging = (1 - straight) * (diffuse - bounced) / (1 - bounced)
    parts = []
    for smooth in SMOOTH[surface_is]:
        part = _film_light(geometry, diffuse, emerging, smooth)
        if straight is not None:
            roughness_rad = 0.0 if smooth else float(np.radians(surface.ROUGHNESS_DEG))
            part = part + flake.light(
                layers, geometry, tilt_factor=tilt_factor, roughness_rad=roughness_rad, straight=straight
            )
        parts.append(part)
    if len(parts) == 1:
        return parts[0]
    return surface.WIPED_SHARE * parts[0] + (1 - surface.WIPED_SHARE) * parts[1]


def lab(
    names: Sequence[str],
    masses_g: ArrayLike,
    *,
    lamps: Sequence[str | Lamp] = ("D65",),
    **conditions,
) -> NDArray[np.float64]:
    """CIELAB (..., lamps, angles, 3), 10 degree observer, of one paint; conditions as for `reflectance`.

    >>> lab(["white"], [1.0], lamps=["D65", "A"]).shape
    (2, 5, 3)
    """
    masses = np.asarray(masses_g)
    blocks = [masses]
    if masses.ndim == 2 and not any(np.ndim(conditions.get(key, 0)) for key in PER_FORMULA):
        blocks = [masses[i : i + AT_A_TIME] for i in range(0, len(masses), AT_A_TIME)] or blocks
    labs = [weights.lab(reflectance(names, block, **conditions), lamps) for block in blocks]
    return labs[0] if len(labs) == 1 else np.concatenate(labs)


def _check_film(film_um: ArrayLike) -> None:
    given = np.asarray(film_um, dtype=float)
    numbers("dry film", given[~np.isposinf(given)], low=0, high=THICKEST_UM, unit="um")


def _film_light(geometry: Geometry, diffuse: NDArray, emerging: NDArray, smooth: bool) -> NDArray:
    """Reflectance factor outside of the diffuse film, (..., angles, 31)."""
    passed = geometry.passed[:, None]
    if smooth:
        return surface.through_surface(emerging[..., None, :], diffuse[..., None, :], passed)
    external = float(surface.external_reflection(surface.LIGHT_DEG))
    mean_passed = (1 - external) * (1 - surface.diffuse_internal_reflection())
    matt = external + surface.through_surface(emerging, diffuse, mean_passed)
    return np.repeat(matt[..., None, :], len(passed), axis=-2)
