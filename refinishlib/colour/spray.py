"""Film that a spray gun lays: the profile of one pass, passes that overlap, coats that are carried further and fade."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import beta as beta_function

from refinishlib.entry import number, numbers, whole

FAN_M = 0.25
OVERLAP = 0.75
PROFILE_POWER = 2.0
ORIENTATION_FILM = 0.4
ORIENTATION_FAN = 1.6
FADE_M = 0.15
MAX_FAN_M = 1.0
MAX_OVERLAP = 0.95
MAX_POWER = 10.0
MAX_COATS = 12
MAX_FILM_UM = 200.0
MAX_PANEL_M = 10.0

SOURCES = {
    "FAN_M": "common practice, no source: width of the fan at a gun distance of 15 to 20 cm",
    "OVERLAP": "common practice, no source: each pass covers three quarters of the one before",
    "PROFILE_POWER": "teaching value: exponent of the beta profile, 1 is a parabola, larger has softer ends",
    "ORIENTATION_FILM": "teaching value: film of an orientation coat as a share of a full coat",
    "ORIENTATION_FAN": "teaching value: its fan, sprayed from further away, as a multiple of the normal fan",
    "FADE_M": "teaching value: stretch over which the wrist lets a coat fade",
    "MAX_FAN_M": "teaching value: limit of entry",
    "MAX_OVERLAP": "teaching value: limit of entry",
    "MAX_POWER": "teaching value: limit of entry",
    "MAX_COATS": "teaching value: limit of entry",
    "MAX_FILM_UM": "teaching value: limit of entry",
    "MAX_PANEL_M": "teaching value: limit of entry",
}


@dataclass(frozen=True)
class Gun:
    """How the gun lays its paint.

    fan_m : width of the fan on the panel
    overlap : share of a pass that the next one covers again
    power : exponent of the beta profile across the fan
    """

    fan_m: float = FAN_M
    overlap: float = OVERLAP
    power: float = PROFILE_POWER

    def __post_init__(self) -> None:
        number("fan", self.fan_m, low=0, high=MAX_FAN_M, unit="m", above_low=True)
        number("overlap", self.overlap, low=0, high=MAX_OVERLAP)
        number("profile power", self.power, low=0, high=MAX_POWER)


@dataclass(frozen=True)
class Coat:
    """One coat along the panel: full film up to end_m - fade_m, then fading to nothing at end_m.

    end_m : where the gun is closed, seen from the middle of the last pass
    fade_m : stretch over which the passes get lighter, 0 for a hard stop
    film_um : dry film where the coat is full
    orientation : a light coat from further away that lays the flakes even, also called a drop coat
    stage : of the finish, from 0 for the lowest paint
    """

    end_m: float
    fade_m: float
    film_um: float
    orientation: bool = False
    stage: int = 0

    def __post_init__(self) -> None:
        number("end of the coat", self.end_m, low=-MAX_PANEL_M, high=MAX_PANEL_M, unit="m")
        number("fade", self.fade_m, low=0, high=MAX_PANEL_M, unit="m")
        number("film of the coat", self.film_um, low=0, high=MAX_FILM_UM, unit="um")


def pass_profile(offset_m: NDArray[Any] | float, gun: Gun | None = None) -> NDArray[Any]:
    """Film of one pass across its fan, as a share per metre: the integral over the fan is 1.

    Parameters
    ----------
    offset_m : distance from the middle of the pass, any shape
    gun : fan 0-1 m, profile power 0-10 (0 even, 1 parabola)

    Returns
    -------
    1/m, same shape; 0 outside the fan

    Formula
    -------
    (1 - (2 y / w)^2)^p / (w B(p + 1, 1/2) / 2), the beta profile in one direction.

    Source
    ------
    Balkan and Arikan (1999), Mechanics Research Communications 26, 609 (from memory): beta distribution of the film
    under a spray gun.

    >>> pass_profile([0.0, 0.1, 0.2], Gun(fan_m=0.3, power=1.0)).round(3).tolist()
    [5.0, 2.778, 0.0]
    """
    gun = gun or Gun()
    offset = np.atleast_1d(numbers("offset", offset_m, unit="m"))
    return _profile(offset, gun).reshape(np.shape(offset_m))


def _profile(offset_m: NDArray[Any], gun: Gun) -> NDArray[Any]:
    inside = 1 - np.square(offset_m * (2 / gun.fan_m))
    fan = inside > 0
    inside[~fan] = 0
    shape = inside**gun.power if gun.power else fan
    found: NDArray[Any] = shape * (2 / (gun.fan_m * beta_function(gun.power + 1, 0.5)))
    return found


def coat_film(stations_m: NDArray[Any], coat: Coat, gun: Gun | None = None) -> NDArray[Any]:
    """Dry film of one coat at each station, the sum of its overlapping passes.

    The passes lie (1 - overlap) of a fan apart, the last one in the middle at coat.end_m, and go back beyond the
    first station. Their strength falls along a straight line over the fade; without a fade the last pass is full.

    Parameters
    ----------
    stations_m : (n,) along the panel, rising

    Returns
    -------
    (n,) micrometres; on average coat.film_um where the coat is full

    Raises
    ------
    BadEntry : stations that are not finite numbers within 10 m

    >>> coat_film(np.array([-1.0, 0.0, 0.3]), Coat(end_m=0.1, fade_m=0.2, film_um=7.0)).round(2).tolist()
    [7.02, 4.37, 0.0]
    """
    return _coat_film(_checked(stations_m), coat, gun or Gun())


def film_build(stations_m: NDArray[Any], coats: Sequence[Coat], gun: Gun | None = None) -> NDArray[Any]:
    """Dry film of each coat at each station.

    Returns
    -------
    (coats, n) micrometres; sum over the first axis for the whole film

    >>> film_build(np.linspace(0, 1, 5), carried(2, film_um=6.0, first_end_m=0.3, carry_m=0.2)).shape
    (2, 5)
    """
    stations, gun = _checked(stations_m), gun or Gun()
    return np.stack([_coat_film(stations, coat, gun) for coat in coats])


def _checked(stations_m: NDArray[Any]) -> NDArray[Any]:
    return numbers("stations", stations_m, low=-MAX_PANEL_M, high=MAX_PANEL_M, unit="m", shape=(None,))


def _coat_film(stations: NDArray[Any], coat: Coat, gun: Gun) -> NDArray[Any]:
    if coat.orientation:
        gun = Gun(min(MAX_FAN_M, gun.fan_m * ORIENTATION_FAN), gun.overlap, gun.power)
    pitch = gun.fan_m * (1 - gun.overlap)
    first = min(stations.min(initial=coat.end_m) - gun.fan_m, coat.end_m)
    middles = coat.end_m - pitch * np.arange(int((coat.end_m - first) / pitch) + 2)
    # film(x) = sum over passes of strength x profile(x - middle) x film x pitch
    strength = np.clip((coat.end_m - middles + pitch) / (coat.fade_m + pitch), 0, 1)
    found: NDArray[Any] = _profile(stations[:, None] - middles, gun) @ strength * (coat.film_um * pitch)
    return found


def carried(
    coats: int,
    *,
    film_um: float,
    first_end_m: float,
    carry_m: float,
    fade_m: float = FADE_M,
    thinning: float = 1.0,
    orientation: bool = False,
    stage: int = 0,
) -> tuple[Coat, ...]:
    """Coats of which each is carried further than the one before; with an orientation coat beyond them all.

    Parameters
    ----------
    coats : 1-12 full coats
    film_um : dry film of a full coat
    first_end_m : where the first coat ends
    carry_m : how much further each next coat goes
    fade_m : stretch over which each coat fades
    thinning : film of each coat as a share of the one before, 0.1-1; below 1 for colour that is reduced coat by coat
    orientation : add a light coat, one carry_m and one fade further, as for a metallic
    stage : of the finish, from 0

    Source
    ------
    Common practice, no source: short first coat, each next one beyond it, the drop coat over all of them.

    >>> [round(coat.end_m, 2) for coat in carried(3, film_um=6, first_end_m=0.2, carry_m=0.15, orientation=True)]
    [0.2, 0.35, 0.5, 0.8]
    """
    count = whole("coats", coats, low=1, high=MAX_COATS)
    number("carry", carry_m, low=0, high=MAX_PANEL_M, unit="m")
    number("thinning", thinning, low=0.1, high=1)
    full = [Coat(first_end_m + n * carry_m, fade_m, film_um * thinning**n, stage=stage) for n in range(count)]
    if orientation:
        light = film_um * ORIENTATION_FILM
        full.append(Coat(full[-1].end_m + carry_m + fade_m, fade_m, light, orientation=True, stage=stage))
    return tuple(full)


def unevenness(gun: Gun | None = None) -> float:
    """Ripple of a full coat: (most - least) / mean film between its passes.

    >>> unevenness(Gun(overlap=0.5)) > 10 * unevenness(Gun(overlap=0.75))
    True
    """
    gun = gun or Gun()
    # A whole number of stations over one pitch, far from the end of the coat.
    span = np.linspace(-gun.fan_m * (1 - gun.overlap), 0, 100, endpoint=False)
    film = coat_film(span, Coat(2 * gun.fan_m, 0, 1.0), gun)
    return float(np.ptp(film) / film.mean())
