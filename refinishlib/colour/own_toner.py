"""The shop's own paint: a tin's absorption and scattering from drawdowns of it, so that tint and hiding work for it.

A tin is drawn down alone, let down with white, and with a little black, each over a black and a white card. What
instrument and film gauge say of all of them is fitted together, wavelength by wavelength. Tins with flakes are left
out: their light is no diffuse light.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import film, optics, predict, surface, weights
from refinishlib.colour.conditions import USUAL, Conditions
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.doubt import Scatter
from refinishlib.colour.spectrum import WAVELENGTHS_NM, reflectance_factors
from refinishlib.entry import BadEntry, number, numbers, whole
from refinishlib.shop.paint import PER_UM_MAX, Optics, Toner

NOISE = (0.0005, 0.003)
FILM_SHARE = 0.05
START_PER_UM = 0.05
GUESS_WIDTH = 5.0
ROUNDS = 80
STEP = 1e-4
DAMPING = (1e-2, 1e-9, 1e9)
QUIETER = 0.3
LOUDER = 4.0
LARGEST_STEP = 1.0
LEAST_PER_UM = 1e-9
DRAWS = 60
MOST_DRAWS = 2000
ODD_FROM = 3.0
ODD_CIEDE2000 = 0.5

SOURCES = {
    "NOISE": "teaching value: standard deviation of a reading, a part for all and a share of what was read; about what "
    "ASTM E2214 (2016) calls short-term repeatability of a good instrument",
    "FILM_SHARE": "teaching value: standard deviation of a dry film by a gauge on one card, as a share",
    "START_PER_UM": "teaching value: where K and S are looked for first",
    "GUESS_WIDTH": "teaching value: standard deviation of the natural logarithm of K and S before anything was read: "
    "wide, it only keeps what no card shows from running away",
    "ROUNDS": "teaching value: steps of the fit",
    "STEP": "teaching value: change of a logarithm by which a slope is felt",
    "DAMPING": "teaching value: Marquardt (1963), J. Soc. Indust. Appl. Math. 11, 431: where the damping starts, and "
    "its limits",
    "QUIETER": "teaching value: the damping after a step that helped, as a share",
    "LOUDER": "teaching value: the damping after a step that did not",
    "LARGEST_STEP": "teaching value: natural logarithm that one step may change",
    "LEAST_PER_UM": "definition: a toner that absorbs or scatters less counts as one that does this",
    "DRAWS": "teaching value: tins drawn from the doubt to see what it does to a colour",
    "MOST_DRAWS": "teaching value: limit of entry",
    "ODD_FROM": "teaching value: times the middle miss of all drawdowns",
    "ODD_CIEDE2000": "teaching value: a miss that is smaller is nobody's mistake",
}


@dataclass(frozen=True, eq=False)
class Drawdown:
    """One paint drawn down over one or more cards.

    toners, masses_g : what it was mixed from, and grams of each
    film_um : dry film by the gauge; infinite where it hides
    cards, readings : reflectance factors at 45 degrees of the bare glossy cards, and of the paint over each, cleared
        or glossy, specular excluded, (cards, 31)
    name : for the sentence if it does not fit

    Raises
    ------
    BadEntry : no film, spectra out of range or of unequal number, a flake toner
    """

    toners: tuple[Toner, ...]
    masses_g: tuple[float, ...]
    film_um: float
    cards: NDArray[np.float64]
    readings: NDArray[np.float64]
    name: str = ""

    def __post_init__(self) -> None:
        film.check_film(self.film_um)
        if not self.film_um > 0:
            raise BadEntry("dry film: 0 was given, allowed is a number above 0 um.")
        for toner in self.toners:
            if toner.flake is not None:
                raise BadEntry(f"toner: {toner.name!r} with flakes was given, allowed are toners without.")
        cards, readings = (reflectance_factors(f"{self.said}, {what}", of) for what, of in (
            ("bare cards", self.cards), ("readings", self.readings)
        ))  # fmt: skip
        if cards.ndim != 2 or cards.shape != readings.shape:
            raise BadEntry(
                f"{self.said}: {len(readings)} readings over {len(cards)} cards were given, allowed is one over each."
            )

    @property
    def said(self) -> str:
        """Its name, or what it is made of."""
        return self.name or " + ".join(
            f"{grams:g} g {toner.name}" for toner, grams in zip(self.toners, self.masses_g, strict=True)
        )


@dataclass(frozen=True, eq=False)
class Estimate:
    """Tins with what was found for them.

    toners : as they were given, with their measured K and S; for the shelf
    deviation : standard deviation of the natural logarithm of K and of S, (toners, 2, 31)
    covariance : of the logarithms, first all K and then all S, at each wavelength, (31, 2 toners, 2 toners)
    film_um : of each drawdown as the fit has it
    misses : CIEDE2000 between what was read and what the fit says, the worst card of each drawdown
    odd : names of drawdowns that do not fit: weigh, stir or gauge them again
    """

    toners: tuple[Toner, ...]
    deviation: NDArray[np.float64]
    covariance: NDArray[np.float64]
    film_um: tuple[float, ...]
    misses: tuple[float, ...]
    odd: tuple[str, ...]


def estimate(
    drawdowns: Sequence[Drawdown],
    *,
    known: Sequence[Toner] = (),
    noise: tuple[float, float] = NOISE,
    film_share: float = FILM_SHARE,
) -> Estimate:
    """K and S of the tins in some drawdowns, with their doubt.

    Parameters
    ----------
    drawdowns : of each tin alone and let down, best over a black and a white card
    known : tins whose K and S are taken as they are
    noise : standard deviation of a reading: for all, and as a share of what is read
    film_share : standard deviation of a film by the gauge, as a share; 0 where it is taken as it is

    Notes
    -----
    Hiding films alone tell K / S but neither; a film over a dark card tells S, and that needs its thickness. All films
    wrong by one share make K and S wrong by it the other way, which no reading shows; mixes in films of the same
    gauge are right all the same.

    Raises
    ------
    BadEntry : no drawdown, no tin that is not known, fewer readings than are needed for a tin

    Source
    ------
    Kubelka (1948), J. Opt. Soc. Am. 38, 448; K and S add by volume, Duncan (1940), Proc. Phys. Soc. 52, 390; least
    squares by Marquardt (1963), J. Soc. Indust. Appl. Math. 11, 431; films are fitted along with their gauge's doubt.

    >>> from refinishlib.shop.shop import load
    >>> white, red = load().picked("white", "warm red")
    >>> cards = np.stack([np.full(31, 0.02), np.full(31, 0.8)])
    >>> plan = [(grams, um) for grams in ((1, 0), (0, 1), (9, 1)) for um in (9.0, 25.0)]
    >>> drawn = [drawn_by_model((white, red), grams, um, cards) for grams, um in plan]
    >>> found = estimate(drawn, film_share=0.0)
    >>> s = optics.toner_scattering(red)
    >>> bool(np.abs(optics.toner_scattering(found.toners[1]) / s - 1).max() < 0.02)
    True
    """
    if not drawdowns:
        raise BadEntry("drawdowns: none was given, allowed is one or more.")
    task = _task(drawdowns, known, noise, number("scatter of the film", film_share, low=0, high=0.5))
    logs = np.full((len(WAVELENGTHS_NM), 2 * len(task.unknown)), np.log(START_PER_UM))
    films = np.zeros(len(drawdowns))
    damping = np.full(len(WAVELENGTHS_NM), DAMPING[0])
    off = _off(task, logs, films)
    for _ in range(ROUNDS):
        slope = _slope(task, logs, films, off)
        pull = (logs - np.log(START_PER_UM)) / GUESS_WIDTH**2
        normal = np.swapaxes(slope, 1, 2) @ slope + np.eye(logs.shape[1]) / GUESS_WIDTH**2
        wanted = (np.swapaxes(slope, 1, 2) @ off[..., None])[..., 0] + pull
        held = normal * (1 + damping[:, None, None] * np.eye(logs.shape[1]))
        step = np.clip(-np.linalg.solve(held, wanted[..., None])[..., 0], -LARGEST_STEP, LARGEST_STEP)
        tried = np.clip(logs + step, np.log(LEAST_PER_UM), np.log(PER_UM_MAX))
        there = _off(task, tried, films)
        better = _cost(tried, there) <= _cost(logs, off)
        logs = np.where(better[:, None], tried, logs)
        damping = np.clip(damping * np.where(better, QUIETER, LOUDER), *DAMPING[1:])
        films = _films(task, logs, films, _off(task, logs, films))
        off = _off(task, logs, films)
    return _estimate(task, drawdowns, logs, films, off)


def drawn_by_model(
    toners: tuple[Toner, ...], masses_g: Sequence[float], film_um: float, cards: ArrayLike, *, name: str = ""
) -> Drawdown:
    """What the engine expects a drawdown to read: to plan one, or to see what a let-down would tell.

    >>> from refinishlib.shop.shop import load
    >>> drawn_by_model(load().picked("white"), [1.0], 20.0, np.full((1, 31), 0.04)).readings.shape
    (1, 31)
    """
    bare = reflectance_factors("bare cards", cards)
    paint = optics.mixture(toners, masses_g)
    inside = film.over(
        *film.free_film(paint.absorption_per_um, paint.scattering_per_um, film_um), surface.beneath_surface(bare)
    )
    seen = surface.through_surface(inside, inside, _passed())
    return Drawdown(toners, tuple(float(grams) for grams in masses_g), film_um, bare, seen, name)


def scatter(
    found: Estimate,
    toners: Sequence[Toner],
    masses_g: ArrayLike,
    *,
    conditions: Conditions = USUAL,
    draws: int = DRAWS,
    seed: int = 0,
) -> Scatter:
    """What the doubt of measured tins does to the colour of a mix, for `doubt.doubted`.

    Parameters
    ----------
    found : of `estimate`
    toners, masses_g : the mix, its measured tins as `found.toners` has them
    conditions : of the card
    draws, seed : tins drawn from the doubt, 2-2000, and where the dice start

    Source
    ------
    JCGM 101 (2008): Monte Carlo propagation.

    >>> from refinishlib.shop.shop import load
    >>> white, red = load().picked("white", "warm red")
    >>> cards = np.stack([np.full(31, 0.02), np.full(31, 0.8)])
    >>> plan = [(grams, um) for grams in ((1, 0), (0, 1), (9, 1)) for um in (9.0, 25.0)]
    >>> drawn = [drawn_by_model((white, red), grams, um, cards) for grams, um in plan]
    >>> scatter(estimate(drawn), estimate(drawn).toners, [5.0, 5.0]).shifts.shape
    (60, 5, 3)
    """
    count = whole("draws", draws, low=2, high=MOST_DRAWS)
    rng = np.random.default_rng(seed)
    root = np.linalg.cholesky(found.covariance + LEAST_PER_UM * np.eye(found.covariance.shape[1]))
    dice = rng.normal(size=(count, *root.shape[:2]))
    logs = (root @ dice[..., None])[..., 0].reshape(count, len(WAVELENGTHS_NM), 2, -1)
    share = optics.dry_volumes(toners, masses_g)
    paint = optics.mixture(toners, masses_g)
    absorption, scattering = (
        np.repeat(k[None], count, axis=0) for k in (paint.absorption_per_um, paint.scattering_per_um)
    )
    for i, toner in enumerate(found.toners):
        if toner in toners:
            part = share[list(toners).index(toner)]
            absorption += part * optics.toner_absorption(toner) * np.expm1(logs[..., 0, i])
            scattering += part * optics.toner_scattering(toner) * np.expm1(logs[..., 1, i])
    many = replace(
        paint,
        absorption_per_um=absorption,
        scattering_per_um=scattering,
        cover_per_um=np.repeat(paint.cover_per_um[None], count, axis=0),
    )
    lab = predict.lab(many, conditions)[:, 0]
    return Scatter("the measurement of the tins", (lab - lab.mean(axis=0)) / np.sqrt(count - 1))


def as_toml(toner: Toner) -> str:
    """The tin as an entry of a shop's own toner file.

    >>> print(as_toml(Toner("tin 4", "solid", 1.2, 0.3, 50.0)).splitlines()[1])
    name = "tin 4"
    """
    name = toner.name.replace("\\", "\\\\").replace('"', '\\"')
    lines = [
        "[[toner]]",
        f'name = "{name}"',
        f'kind = "{toner.kind}"',
        *(f"{key} = {getattr(toner, key)!r}" for key in ("density_g_per_ml", "volume_solids", "price_per_litre")),
        "[toner.optics]",
    ]
    for key in ("measured_absorption_per_um", "measured_scattering_per_um"):
        lines.append(f"{key} = [{', '.join(format(value, '.6g') for value in getattr(toner.optics, key))}]")
    return "\n".join(lines) + "\n"


@dataclass(frozen=True, eq=False)
class _Task:
    """unknown : tins. share, fixed : of each drawdown's dry film, and K, S of what is known in it. card : which
    drawdown each reading is of. under, read, sd : of each reading, (readings, 31)."""

    unknown: tuple[Toner, ...]
    share: NDArray[Any]
    fixed: NDArray[Any]
    film_um: NDArray[Any]
    card: NDArray[Any]
    under: NDArray[Any]
    read: NDArray[Any]
    sd: NDArray[Any]
    film_share: float


def _passed() -> NDArray[Any]:
    return surface.geometry(surface.LIGHT_DEG, 0.0).passed


def _task(
    drawdowns: Sequence[Drawdown], known: Sequence[Toner], noise: tuple[float, float], film_share: float
) -> _Task:
    unknown = tuple(dict.fromkeys(tin for one in drawdowns for tin in one.toners if tin not in known))
    if not unknown:
        raise BadEntry("tins: none that is not known was given, allowed is one or more.")
    share = np.zeros((len(drawdowns), len(unknown)))
    fixed = np.zeros((2, len(drawdowns), len(WAVELENGTHS_NM)))
    for i, one in enumerate(drawdowns):
        for tin, part in zip(one.toners, optics.dry_volumes(one.toners, one.masses_g), strict=True):
            if tin in known:
                fixed[:, i] += part * np.stack([optics.toner_absorption(tin), optics.toner_scattering(tin)])
            else:
                share[i, unknown.index(tin)] += part
    card = np.repeat(np.arange(len(drawdowns)), [len(one.readings) for one in drawdowns])
    for j, tin in enumerate(unknown):
        told = int((share[card, j] > 0).sum())
        if told < 2:
            raise BadEntry(f"readings of {tin.name}: {told} was given, allowed are 2 or more, for its K and its S.")
    read = np.vstack([one.readings for one in drawdowns])
    least, part = (number("noise", value, low=0) for value in noise)
    sd = np.hypot(least, part * read)
    numbers("noise", sd[sd <= 0], low=LEAST_PER_UM)
    return _Task(
        unknown,
        share,
        fixed,
        np.array([one.film_um for one in drawdowns], dtype=float),
        card,
        surface.beneath_surface(np.vstack([one.cards for one in drawdowns])),
        read,
        sd,
        film_share,
    )


def _seen(task: _Task, logs: NDArray[Any], films: NDArray[Any]) -> NDArray[np.float64]:
    """What each card should read, (..., readings, 31), of logarithms (..., 31, 2 tins)."""
    values = np.swapaxes(np.exp(logs), -1, -2)
    tins = len(task.unknown)
    k, s = (
        task.share @ values[..., part, :] + task.fixed[i] for i, part in enumerate((slice(tins), slice(tins, None)))
    )
    um = (task.film_um * np.exp(films))[:, None]
    reflected, passed = film.free_film(k, s, um)
    inside = film.over(reflected[..., task.card, :], passed[..., task.card, :], task.under)
    return surface.through_surface(inside, inside, _passed())


def _off(task: _Task, logs: NDArray[Any], films: NDArray[Any]) -> NDArray[np.float64]:
    """Misses in standard deviations, (..., 31, readings)."""
    return np.swapaxes((_seen(task, logs, films) - task.read) / task.sd, -1, -2)


def _slope(task: _Task, logs: NDArray[Any], films: NDArray[Any], off: NDArray[Any]) -> NDArray[np.float64]:
    """(31, readings, 2 tins)."""
    moved = logs + STEP * np.eye(logs.shape[1])[:, None]
    found: NDArray[np.float64] = np.moveaxis((_off(task, moved, films) - off) / STEP, 0, -1)
    return found


def _cost(logs: NDArray[Any], off: NDArray[Any]) -> NDArray[np.float64]:
    guess = np.square((logs - np.log(START_PER_UM)) / GUESS_WIDTH).sum(axis=-1)
    found: NDArray[np.float64] = np.square(off).sum(axis=-1) + guess
    return found


def _films(task: _Task, logs: NDArray[Any], films: NDArray[Any], off: NDArray[Any]) -> NDArray[np.float64]:
    """One step of each film towards what its readings say, held by the gauge."""
    if not task.film_share:
        return films
    slope = (_off(task, logs, films + STEP) - off) / STEP
    pull, stiff = (
        np.bincount(task.card, weights=values.sum(axis=0), minlength=len(films))
        for values in (slope * off, np.square(slope))
    )
    held = 1 / task.film_share**2
    step = -(pull + held * films) / (stiff + held)
    found: NDArray[np.float64] = films + np.clip(step, -task.film_share, task.film_share)
    # All of them wrong by one share shows nowhere.
    return np.where(np.isfinite(task.film_um), found - found[np.isfinite(task.film_um)].mean(), 0.0)


def _estimate(
    task: _Task, drawdowns: Sequence[Drawdown], logs: NDArray[Any], films: NDArray[Any], off: NDArray[Any]
) -> Estimate:
    slope = _slope(task, logs, films, off)
    normal = np.swapaxes(slope, 1, 2) @ slope + np.eye(logs.shape[1]) / GUESS_WIDTH**2
    free = max(1, off.shape[-1] - logs.shape[1])
    # What the readings miss by beyond their noise is doubt too: one factor for all wavelengths (Birge's ratio).
    worse = max(1.0, float(np.square(off).sum(axis=-1).mean() / free))
    covariance: NDArray[np.float64] = np.linalg.inv(normal).astype(np.float64) * worse
    deviation = np.sqrt(np.diagonal(covariance, axis1=1, axis2=2)).T.reshape(2, len(task.unknown), -1)
    k, s = np.exp(logs).T.reshape(2, len(task.unknown), -1)
    tins = tuple(
        replace(
            tin,
            optics=Optics(
                measured_absorption_per_um=tuple(k[i].tolist()), measured_scattering_per_um=tuple(s[i].tolist())
            ),
        )
        for i, tin in enumerate(task.unknown)
    )
    apart = ciede2000(*(weights.lab(spectra)[0] for spectra in (task.read, np.maximum(_seen(task, logs, films), 0.0))))
    misses = [float(apart[task.card == i].max()) for i in range(len(drawdowns))]
    limit = max(ODD_CIEDE2000, ODD_FROM * float(np.median(misses)))
    return Estimate(
        toners=tins,
        deviation=np.swapaxes(deviation, 0, 1),
        covariance=covariance,
        film_um=tuple((task.film_um * np.exp(films)).tolist()),
        misses=tuple(misses),
        odd=tuple(one.said for one, miss in zip(drawdowns, misses, strict=True) if miss > limit),
    )
