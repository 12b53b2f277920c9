"""The surface of the paint: what it mirrors, what it lets in and out, and how directions bend in the clear."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.entry import numbers, one_of

ANGLES_DEG = (15, 25, 45, 75, 110)
LIGHT_DEG = 45.0
REFRACTIVE_INDEX = 1.5
WIPED_SHARE = 0.6
ROUGHNESS_DEG = 9.0
SURFACES = ("clear", "matt", "wiped")

SOURCES = {
    "ANGLES_DEG": "15, 45 and 110 degrees: ASTM E2194 (2014); 25 and 75 degrees: ASTM E2539 (2014)",
    "LIGHT_DEG": "ASTM E2194 (2014): light at 45 degrees from the normal",
    "REFRACTIVE_INDEX": "teaching value for a paint resin; Judd (1942), J. Res. Nat. Bur. Stand. 29, 329 uses it too",
    "WIPED_SHARE": "teaching value: share of a matt base that a wipe of solvent fills before it flashes off",
    "ROUGHNESS_DEG": "teaching value: slopes of a matt base, which widen the lobe of its flakes",
}


@dataclass(frozen=True)
class Geometry:
    """Where the light comes from and where the eye stands, inside the paint.

    cos_in, cos_out : cosines to the normal in the resin, (...)
    tilt_rad : how far a flake must be tilted to send the light to the eye, (...)
    passed : share of light through the surface on the way in times out, divided by the square of the index, (...)
    """

    cos_in: NDArray[np.float64]
    cos_out: NDArray[np.float64]
    tilt_rad: NDArray[np.float64]
    passed: NDArray[np.float64]


def external_reflection(angle_deg: ArrayLike, refractive_index: float = REFRACTIVE_INDEX) -> NDArray[np.float64]:
    """Share of unpolarised light that a smooth surface mirrors, for light from air, 0-1.

    Parameters
    ----------
    angle_deg : from the normal, 0-90 (its sign does not matter), (...)
    refractive_index : of the resin, above 1

    Source
    ------
    Fresnel's equations, e.g. Born and Wolf (1999), Principles of Optics, section 1.5.

    >>> external_reflection([0, 45]).round(3).tolist()
    [0.04, 0.05]
    """
    cos_air = np.cos(np.radians(np.asarray(angle_deg, dtype=float)))
    cos_resin = np.sqrt(1 - (1 - cos_air**2) / refractive_index**2)
    across = (cos_air - refractive_index * cos_resin) / (cos_air + refractive_index * cos_resin)
    along = (refractive_index * cos_air - cos_resin) / (refractive_index * cos_air + cos_resin)
    found: NDArray[np.float64] = (across**2 + along**2) / 2
    return found


@cache
def diffuse_external_reflection(refractive_index: float = REFRACTIVE_INDEX) -> float:
    """Share of perfectly diffuse light from air that a smooth surface sends back, 0-1.

    Source
    ------
    The integral of Fresnel's equations over the half sphere; Judd (1942), J. Res. Nat. Bur. Stand. 29, 329.

    >>> round(diffuse_external_reflection(), 3)
    0.092
    """
    from scipy.integrate import quad

    def per_angle(angle_rad: float) -> float:
        return float(float(external_reflection(np.degrees(angle_rad), refractive_index)) * np.sin(2 * angle_rad))

    return float(quad(per_angle, 0, np.pi / 2)[0])


def diffuse_internal_reflection(refractive_index: float = REFRACTIVE_INDEX) -> float:
    """Share of perfectly diffuse light from inside that the surface sends back in, 0-1 (Saunderson's k2).

    Source
    ------
    1 - (1 - external) / n^2; Judd (1942), J. Res. Nat. Bur. Stand. 29, 329.

    >>> round(diffuse_internal_reflection(), 3)
    0.596
    """
    return 1 - (1 - diffuse_external_reflection(refractive_index)) / refractive_index**2


def aspecular_to_view(angles_deg: ArrayLike) -> NDArray[np.float64]:
    """Signed viewing angles from the normal for aspecular angles, light at 45 degrees.

    Raises
    ------
    BadEntry : an angle not above 0 or from 135 up (behind the panel)

    >>> aspecular_to_view([15, 45, 110]).tolist()
    [-30.0, 0.0, 65.0]
    """
    highest = LIGHT_DEG + 90 - 1
    return numbers("aspecular angle", angles_deg, low=1, high=highest, unit="degrees") - LIGHT_DEG


def geometry(light_deg: ArrayLike, view_deg: ArrayLike, azimuth_deg: ArrayLike = 0.0) -> Geometry:
    """Directions outside turned into directions inside the paint.

    Parameters
    ----------
    light_deg, view_deg : from the normal, -90 to 90, signed within the plane of the light: the mirror direction of
        light_deg = 45 is view_deg = -45; (...), broadcast together
    azimuth_deg : turns the eye out of that plane

    Raises
    ------
    BadEntry : a direction from behind the panel

    Source
    ------
    Snell's law; radiance falls by the square of the index on the way out.

    >>> inside = geometry(45, [-45, -30])
    >>> np.degrees(inside.tilt_rad).round(2).tolist()
    [0.0, 4.33]
    """
    light = np.radians(numbers("light direction", light_deg, low=-90, high=90, unit="degrees"))
    view = np.radians(numbers("viewing direction", view_deg, low=-90, high=90, unit="degrees"))
    azimuth = np.radians(numbers("azimuth", azimuth_deg, unit="degrees"))
    sin_in, sin_out = np.sin(light) / REFRACTIVE_INDEX, np.sin(view) / REFRACTIVE_INDEX
    cos_in, cos_out = np.sqrt(1 - sin_in**2), np.sqrt(1 - sin_out**2)
    half_x = sin_in + sin_out * np.cos(azimuth)
    half_y = sin_out * np.sin(azimuth)
    tilt_rad = np.arctan2(np.hypot(half_x, half_y), cos_in + cos_out)
    passed = (1 - external_reflection(light_deg)) * (1 - external_reflection(view_deg)) / REFRACTIVE_INDEX**2
    cos_in, cos_out, tilt_rad, passed = np.broadcast_arrays(cos_in, cos_out, tilt_rad, passed)
    return Geometry(cos_in, cos_out, tilt_rad, passed)


def aspecular(angles_deg: ArrayLike = ANGLES_DEG) -> Geometry:
    """The geometry of a multi-angle instrument: light at 45 degrees, the eye at aspecular angles (angles,).

    >>> np.degrees(aspecular([15, 45, 110]).tilt_rad).round(1).tolist()
    [4.3, 14.1, 32.6]
    """
    return _aspecular(tuple(np.atleast_1d(angles_deg).tolist()))


@cache
def _aspecular(angles_deg: tuple[float, ...]) -> Geometry:
    return geometry(LIGHT_DEG, aspecular_to_view(angles_deg))


def saunderson(internal: ArrayLike, *, external: float, k2: float | None = None) -> NDArray[np.float64]:
    """Reflectance seen from outside of a diffuse film under a smooth surface, specular excluded, 0-1.

    Light from one direction, all that comes out counted. An instrument looks from one direction instead:
    `through_surface` does that, and its mean over all directions is this formula.

    Parameters
    ----------
    internal : reflectance of the film inside the resin, (...), 0-1
    external : share mirrored outside at the direction of the light, 0.040 at normal incidence, 0.050 at 45 degrees
    k2 : share of diffuse light sent back inside; computed for n = 1.5 if not given

    Source
    ------
    Saunderson (1942), J. Opt. Soc. Am. 32, 727, without the mirrored light.

    >>> float(saunderson(1.0, external=0.05).round(6))
    0.95
    """
    k2 = diffuse_internal_reflection() if k2 is None else k2
    inside = np.asarray(internal, dtype=float)
    return (1 - external) * (1 - k2) * inside / (1 - k2 * inside)


def through_surface(emerging: ArrayLike, returning: ArrayLike, passed: ArrayLike) -> NDArray[np.float64]:
    """Reflectance factor seen from one direction of diffuse light under a smooth surface, specular excluded.

    emerging : diffuse reflectance inside that the light meets first, (..., 31), 0-1
    returning : diffuse reflectance inside for light that the surface sent back, (..., 31), 0-1; the same for a solid
    passed : of the geometry, (...)

    >>> white = through_surface(np.ones(31), np.ones(31), geometry(45, 0).passed[..., None])
    >>> float(white[0].round(3))
    1.004
    """
    k2 = diffuse_internal_reflection()
    return np.asarray(passed) * (np.asarray(emerging) / (1 - k2 * np.asarray(returning)))


def beneath_surface(factor: ArrayLike) -> NDArray[np.float64]:
    """Diffuse reflectance inside the resin that reads as this factor at 45 degrees aspecular, specular excluded.

    The inverse of `through_surface` for a solid film.

    >>> grey = through_surface(0.2, 0.2, geometry(45, 0).passed)
    >>> float(beneath_surface(grey).round(9))
    0.2
    """
    factor = np.asarray(factor, dtype=float)
    return factor / (geometry(LIGHT_DEG, 0.0).passed + diffuse_internal_reflection() * factor)


def surface(name: str) -> str:
    """The name of a surface, if it is one: "clear" (or a glossy single stage), "matt" base, "wiped" with solvent.

    >>> surface("matt")
    'matt'
    """
    found: str = one_of("surface", name, SURFACES)
    return found
