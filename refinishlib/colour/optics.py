"""From the toners in the cup to the light in the film: spectra of absorption, scattering and flake."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour.spectrum import WAVELENGTHS_NM
from refinishlib.entry import BadEntry, numbers
from refinishlib.shop.paint import Flake, Formula, Kind, Toner, kind_of

SCATTERING_AT_NM = 550.0
HEAVIEST_G = 1e6

SOURCES = {
    "SCATTERING_AT_NM": "definition: the wavelength at which the toner table gives scattering",
    "HEAVIEST_G": "teaching value: a tonne is no longer a mix",
}


@dataclass(frozen=True)
class Mixture:
    """A dry paint film, per micrometre.

    absorption_per_um, scattering_per_um : of pigment and binder, (..., 31)
    flakes : the kinds of flake in it
    cover_per_um : flake area per panel area of each kind, (..., kinds)
    flake_reflectance, flake_absorptance : of each kind's face, (kinds, 31)
    """

    absorption_per_um: NDArray[np.float64]
    scattering_per_um: NDArray[np.float64]
    flakes: tuple[Flake, ...]
    cover_per_um: NDArray[np.float64]
    flake_reflectance: NDArray[np.float64]
    flake_absorptance: NDArray[np.float64]

    @property
    def kind(self) -> Kind:
        """Solid, metallic or pearl, by the flakes that are really in it."""
        there = [flake for n, flake in enumerate(self.flakes) if self.cover_per_um[..., n].any()]
        return kind_of(there)

    @cached_property
    def flake_scattering_per_um(self) -> NDArray[np.float64]:
        """What the flakes send back, (..., 31): a leaf that lies flat returns what its face reflects."""
        return self.cover_per_um @ self.flake_reflectance

    @cached_property
    def flake_absorption_per_um(self) -> NDArray[np.float64]:
        """What the flakes keep, (..., 31)."""
        return self.cover_per_um @ self.flake_absorptance


def toner_absorption(toner: Toner, wavelengths_nm: ArrayLike = WAVELENGTHS_NM) -> NDArray[np.float64]:
    """Kubelka and Munk's K of one micrometre of the dry toner, per um, at any wavelengths in nm.

    >>> from refinishlib.shop.shop import load
    >>> k = toner_absorption(load().toner("warm red"))
    >>> bool(k[WAVELENGTHS_NM == 500][0] > 100 * k[WAVELENGTHS_NM == 650][0])
    True
    """
    nm = np.asarray(wavelengths_nm, dtype=float)
    optics = toner.optics
    if optics.measured_absorption_per_um:
        measured: NDArray[np.float64] = np.interp(nm, WAVELENGTHS_NM, optics.measured_absorption_per_um)
        return measured
    result = np.full_like(nm, optics.floor_per_um)
    for centre, deviation, height in optics.bands:
        result += height * _bell(nm, centre, deviation)
    for edge, width, height in optics.edges:
        result += height / (1 + np.exp((nm - edge) / width))
    return result


def toner_scattering(toner: Toner, wavelengths_nm: ArrayLike = WAVELENGTHS_NM) -> NDArray[np.float64]:
    """Kubelka and Munk's S of one micrometre of the dry toner's pigment, per um, at any wavelengths in nm.

    >>> from refinishlib.shop.shop import load
    >>> s = toner_scattering(load().toner("white"))
    >>> bool(s[0] > s[-1])
    True
    """
    nm = np.asarray(wavelengths_nm, dtype=float)
    if toner.optics.measured_scattering_per_um:
        measured: NDArray[np.float64] = np.interp(nm, WAVELENGTHS_NM, toner.optics.measured_scattering_per_um)
        return measured
    return toner.optics.scattering_per_um * (SCATTERING_AT_NM / nm) ** toner.optics.scattering_power


def flake_reflectance(flake: Flake, wavelengths_nm: ArrayLike = WAVELENGTHS_NM) -> NDArray[np.float64]:
    """Reflectance of one flake's face, 0-1, at any wavelengths in nm.

    >>> from refinishlib.shop.shop import load
    >>> blue = flake_reflectance(load().toner("blue pearl").flake)
    >>> bool(blue[WAVELENGTHS_NM == 450][0] > 2 * blue[WAVELENGTHS_NM == 620][0])
    True
    """
    nm = np.asarray(wavelengths_nm, dtype=float)
    result = np.full_like(nm, flake.reflectance)
    for centre, deviation, share in flake.dips:
        result *= 1 - share * _bell(nm, centre, deviation)
    return result


def flake_absorptance(flake: Flake, wavelengths_nm: ArrayLike = WAVELENGTHS_NM) -> NDArray[np.float64]:
    """Share of the light that one flake keeps, 0-1, at any wavelengths in nm.

    Metal keeps whatever it does not reflect; a pearl lets that through.

    >>> from refinishlib.shop.shop import load
    >>> silver, pearl = (toner.flake for toner in load().picked("fine silver", "white pearl"))
    >>> bool((flake_reflectance(silver) + flake_absorptance(silver) == 1).all())
    True
    >>> bool((flake_reflectance(pearl) + flake_absorptance(pearl) < 0.5).all())
    True
    """
    reflected = flake_reflectance(flake, wavelengths_nm)
    return 1 - reflected if flake.opaque else np.full_like(reflected, flake.absorptance)


def dry_volumes(toners: Sequence[Toner], masses_g: ArrayLike) -> NDArray[np.float64]:
    """Share of each toner in the dry film, by volume; (..., toners), summing to 1.

    Parameters
    ----------
    toners : or sealers
    masses_g : as weighed into the cup, each 0 or more, (..., toners)

    Raises
    ------
    BadEntry : a negative mass, another number of masses than toners, an empty cup

    >>> from refinishlib.shop.shop import load
    >>> dry_volumes(load().picked("white", "jet black"), [100.0, 100.0]).round(3).tolist()
    [0.556, 0.444]
    """
    per_gram = np.array([toner.volume_solids / toner.density_g_per_ml for toner in toners])
    masses = numbers("toner masses", masses_g, low=0, high=HEAVIEST_G, unit="g", shape=per_gram.shape)
    # mL of dry film = g / (g/mL) x solids
    volumes = masses * per_gram
    total = volumes.sum(axis=-1, keepdims=True)
    if not (total > 0).all():
        raise BadEntry("toner masses: an empty cup was given, allowed is at least one toner above 0 g.")
    found: NDArray[np.float64] = volumes / total
    return found


def mixture(toners: Sequence[Toner], masses_g: ArrayLike, *, wavelengths_nm: ArrayLike | None = None) -> Mixture:
    """The dry film of toners mixed by mass.

    Parameters
    ----------
    toners : or sealers
    masses_g : as weighed into the cup, each 0 or more, (..., toners); leading axes for many mixes at once
    wavelengths_nm : other wavelengths than 400-700 nm at 10 nm, for checks

    Returns
    -------
    Mixture with spectra (..., 31)

    Raises
    ------
    BadEntry : a negative mass, another number of masses than toners, an empty cup

    Source
    ------
    K and S add by volume: Duncan (1940), Proc. Phys. Soc. 52, 390.

    >>> from refinishlib.shop.shop import load
    >>> mixture(load().picked("white", "jet black"), [[100.0, 1.0], [100.0, 2.0]]).absorption_per_um.shape
    (2, 31)
    """
    # K = sum of c_i K_i, S = sum of c_i S_i, with c the shares of the dry volume; flake cover adds up alike.
    share = dry_volumes(toners, masses_g)
    nm = None if wavelengths_nm is None else tuple(np.asarray(wavelengths_nm, dtype=float))
    shelf = _shelf(tuple(toners), nm)
    return Mixture(
        absorption_per_um=share @ shelf.absorption_per_um,
        scattering_per_um=share @ shelf.scattering_per_um,
        flakes=shelf.flakes,
        cover_per_um=share @ shelf.cover_per_um,
        flake_reflectance=shelf.flake_reflectance,
        flake_absorptance=shelf.flake_absorptance,
    )


def of_formula(formula: Formula) -> Mixture:
    """The dry film of a colour.

    >>> from refinishlib.shop.shop import load
    >>> of_formula(load().colour("Millrace Silver, as built")).kind
    'metallic'
    """
    return mixture(formula.toners, formula.weights)


@lru_cache(maxsize=1000)
def _shelf(tins: tuple[Toner, ...], wavelengths_nm: tuple[float, ...] | None) -> Mixture:
    """Each toner alone, (toners, ...). Kept by what the toners are, not by their names."""
    nm = WAVELENGTHS_NM if wavelengths_nm is None else np.array(wavelengths_nm)
    which = [i for i, tin in enumerate(tins) if tin.flake is not None]
    flakes = tuple(tin.flake for tin in tins if tin.flake is not None)
    cover = np.zeros((len(tins), len(flakes)))
    cover[which, np.arange(len(flakes))] = [flake.cover_per_um for flake in flakes]
    return Mixture(
        absorption_per_um=np.stack([toner_absorption(tin, nm) for tin in tins]),
        scattering_per_um=np.stack([toner_scattering(tin, nm) for tin in tins]),
        flakes=flakes,
        cover_per_um=cover,
        flake_reflectance=np.array([flake_reflectance(flake, nm) for flake in flakes]).reshape(-1, len(nm)),
        flake_absorptance=np.array([flake_absorptance(flake, nm) for flake in flakes]).reshape(-1, len(nm)),
    )


def _bell(nm: NDArray[Any], centre: float, deviation: float) -> NDArray[Any]:
    return np.exp(-(((nm - centre) / deviation) ** 2) / 2)
