"""How a card or a panel was sprayed, and where the eye stands: one record for every engine that predicts a colour."""

from __future__ import annotations

from dataclasses import dataclass

from numpy.typing import ArrayLike

from refinishlib.colour import surface
from refinishlib.colour.film import check_film
from refinishlib.colour.surface import ANGLES_DEG
from refinishlib.colour.undercoat import GREY_LIGHTNESS, check_undercoat
from refinishlib.entry import numbers

COAT_UM = 6.0
FILM_UM = 3 * COAT_UM
FLATTEST = 0.2
STEEPEST = 4.0

SOURCES = {
    "COAT_UM": "teaching value: dry film of one coat of the shop's base, as its product sheets say",
    "FILM_UM": "teaching value: three coats of basecoat",
    "FLATTEST": "teaching value: no spraying lays flakes flatter than a fifth of the usual tilt",
    "STEEPEST": "teaching value: no spraying stands flakes up to more than four times the usual tilt",
}


@dataclass(frozen=True)
class Conditions:
    """What decides how a paint looks, besides the paint and the light.

    The lamp is not among them: which lamps may judge follows from the readings, a typed one knows D65 alone.

    film_um : dry film of all coats together, 0 or more, may be np.inf, (...)
    undercoat : L* of a neutral undercoat, 0-100, or its diffuse reflectance inside the resin (..., 31)
    surface_is : "clear" for cleared or a glossy single stage, "matt" for base before clear, "wiped" with solvent
    tilt_factor : of `flake.tilt_factor`, how much more the flakes stand up than usual, 0.2-4, (...)
    angles_deg : aspecular, light at 45 degrees, (angles,)

    Raises
    ------
    BadEntry : a film, undercoat, surface, tilt or angle out of range

    >>> Conditions(film_um=12.0) == Conditions(film_um=12.0), Conditions().surface_is
    (True, 'clear')
    """

    film_um: ArrayLike = FILM_UM
    undercoat: ArrayLike = GREY_LIGHTNESS
    surface_is: str = "clear"
    tilt_factor: ArrayLike = 1.0
    angles_deg: tuple[float, ...] = ANGLES_DEG

    def __post_init__(self) -> None:
        surface.surface(self.surface_is)
        check_film(self.film_um)
        numbers("tilt factor", self.tilt_factor, low=FLATTEST, high=STEEPEST)
        check_undercoat(self.undercoat)
        surface.aspecular(self.angles_deg)

    @property
    def geometry(self) -> surface.Geometry:
        """Where the light comes from and where the eye stands."""
        return surface.aspecular(self.angles_deg)


USUAL = Conditions()
