"""What an eye finds along a panel: steps and ramps of lightness and colour, by the contrast sensitivity of the eye.

Three channels, lightness, red-green and yellow-blue, each linear up to its threshold. A ramp is an edge convolved with
its own slope, so it is an edge whose fine gratings are missing. A visibility of 1 is just seen, 2 is twice that.

Sourced: the sensitivity to gratings, and the order of size of all that follows. Choices of ours: the strip in which
the eye looks (`Eye.panel_m`), how carefully it looks (`Eye.care`), and how much a gap between two parts helps
(`Eye.gap_factor`). `refit` takes the first two from a school's own trial.

Left out: curved panels, texture and sparkle, peel, eye movements, and the comparison of two ends by memory, of which
only `RAMP_END` is kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour.difference import ciede2000
from refinishlib.colour.weights import luminance
from refinishlib.entry import BadEntry, number, numbers, one_of

CHANNELS = ("lightness", "red-green", "yellow-blue")
NEAREST_M = 0.3
FARTHEST_M = 20.0

# Peak sensitivity by luminance, frequency of the peak, width, flat part below it, size and its frequency.
PEAK = {
    "lightness": (56.4947, 7.54726, 0.144532, 5.58341e-7, 9.66862e9),
    "red-green": (681.434, 38.0038, 0.480386),
    "yellow-blue": (166.683, 62.8974, 0.41193),
}
PEAK_AT = {
    "lightness": (1.78119, 91.5718, 0.256682),
    "red-green": (0.0178364, 0.0, 0.0),
    "yellow-blue": (0.00425753, 0.0, 0.0),
}
WIDTH = {"lightness": 0.000213047, "red-green": 2.42104, "yellow-blue": 2.68197}
FLAT = {"lightness": 0.100207, "red-green": 0.0, "yellow-blue": 0.0}
SIZE = {"lightness": (157.103, 0.702338), "red-green": (2816.44, 0.0711058), "yellow-blue": (2.82789e7, 0.000635093)}

VEIL = 0.04
OF_A_GREY = 1.5
TO_CHANNELS = ((0.0032, 0.0029), (0.0, 0.0271))
STEP = np.pi / 2
RAMP_END = 2 * np.arctanh(0.06)
CARE = 1.5
PANEL_M = 0.6
LUMINANCE = 200.0
GAP_FACTOR = 2.0
FREQUENCIES = 96
SLOWEST = 0.2
FASTEST = 0.95
EDGE_FREQUENCIES = (0.01, 30.0)
CARES = (0.05, 50.0)
STRIPS_M = (0.15, 0.3, 0.6, 1.2, 2.4)
SURENESS = (0.5, 20.0)
FEWEST_ANSWERS = 20
MOST_GUESSED = 0.9
FALL = 3.84 / 2
TRIED = (400, 40)
NEVER_SURE = 1e-9

SOURCES = {
    "CHANNELS": "Ashraf, Mantiuk, Chapiro and Wuerger (2024), Journal of Vision 24(4), 5: the three channels",
    "NEAREST_M": "teaching value: limit of entry",
    "FARTHEST_M": "teaching value: limit of entry",
    "PEAK": "Ashraf, Mantiuk, Chapiro and Wuerger (2024), castleCSF, Journal of Vision 24(4), 5, static gratings seen "
    "directly; the constants as the authors' published code has them, version 0.2.4 (30 September 2025)",
    "PEAK_AT": "castleCSF (2024), version 0.2.4, as for PEAK",
    "WIDTH": "castleCSF (2024), version 0.2.4, as for PEAK",
    "FLAT": "castleCSF (2024), version 0.2.4, as for PEAK",
    "SIZE": "castleCSF (2024), version 0.2.4, as for PEAK; the form of Rovamo, Luntinen and Nasanen (1993)",
    "VEIL": "teaching value: light that the clear mirrors, by Fresnel (1823) at n = 1.5, of surroundings as bright as "
    "white card",
    "OF_A_GREY": "ISO/CIE 11664-6 (2022): a* of a grey counts 1.5 times in CIEDE2000",
    "TO_CHANNELS": "Ashraf, Mantiuk, Chapiro and Wuerger (2024): red-green and yellow-blue contrast of one CIEDE2000 "
    "along a* and along b* on a grey of L* 50 in D65, worked out with the cone matrix of castleCSF 0.2.4",
    "STEP": "Campbell and Robson (1968), J. Physiol. 197, 551 (from memory): a step holds 4/pi of a grating's "
    "amplitude, and is twice its own",
    "RAMP_END": "Erens, Kappers and Koenderink (1993), Vision Research 33, 1639: below 6 % of contrast nobody can say "
    "which way a ramp of lightness runs; times `Eye.care`, which is a choice",
    "CARE": "teaching value: a customer who looks, against a forced choice in a laboratory; chosen after seeing the "
    "lengths it gives, so it is a setting and no finding",
    "PANEL_M": "teaching value: height of the strip in which the eye looks, a modelling choice",
    "LUMINANCE": "teaching value: cd/m2 of a white panel in a shaded yard",
    "GAP_FACTOR": "teaching value; that a gap makes lightness harder to compare and colour hardly: Traub and Balinkin "
    "(1961), J. Opt. Soc. Am. 51, 755 and Sharpe and Wyszecki (1976), J. Opt. Soc. Am. 66, 40",
    "FREQUENCIES": "teaching value: gratings that are tried",
    "SLOWEST": "teaching value: the slowest has a fifth of a period along the stations",
    "FASTEST": "teaching value: periods for each station; the fastest is nearly one",
    "EDGE_FREQUENCIES": "teaching value: cycles per degree between which the worst grating of an edge lies",
    "CARES": "teaching value: limits between which a care is looked for",
    "STRIPS_M": "teaching value: strips that are tried against a trial",
    "SURENESS": "teaching value: limits between which the steepness of the answers is looked for",
    "MOST_GUESSED": "teaching value: limit of entry",
    "FALL": "definition: half the 95 % point of chi-square with one degree of freedom, by which a log likelihood falls",
    "TRIED": "teaching value: cares and surenesses that are tried",
    "NEVER_SURE": "definition: keeps an answer that the curve holds for certain from a logarithm of 0",
    "FEWEST_ANSWERS": "teaching value: fewer answers do not fix a threshold",
}


@dataclass(frozen=True)
class Eye:
    """Who looks, and at what.

    care : how much more than a laboratory's threshold is needed, above 0
    panel_m : height of the strip in which the eye looks
    luminance : of a white panel, cd/m2
    veil : light mirrored by the clear, as a share of a white panel's, 0-1
    gap_factor : how much more lightness it takes across a gap between two parts, 1 or more

    Raises
    ------
    BadEntry : one of them out of range
    """

    care: float = CARE
    panel_m: float = PANEL_M
    luminance: float = LUMINANCE
    veil: float = VEIL
    gap_factor: float = GAP_FACTOR

    def __post_init__(self) -> None:
        number("care of the eye", self.care, low=CARES[0], high=CARES[1])
        number("height of the panel", self.panel_m, low=0, high=10, unit="m", above_low=True)
        number("luminance", self.luminance, low=0.1, high=10000, unit="cd/m2")
        number("veil", self.veil, low=0, high=1)
        number("gap factor", self.gap_factor, low=1, high=10)


USUAL = Eye()


def sensitivity(
    frequency: ArrayLike, area_deg2: ArrayLike, channel: str, luminance: float = LUMINANCE
) -> NDArray[np.float64]:
    """Sensitivity to a grating at rest, looked at directly: 1 over the contrast that is just seen, (...).

    Parameters
    ----------
    frequency : cycles per degree of visual angle, above 0, (...)
    area_deg2 : of the grating, square degrees, above 0, (...)
    channel : one of CHANNELS
    luminance : cd/m2

    Formula
    -------
    S = Smax(Y) P(f) f sqrt(A Ac / (A + Ac)) with Ac = A0 / (1 + (f/f0)^2) and P a parabola of the logarithm of f that
    lies flat below its top: by 1 for colour, by 1 - a for lightness.

    Source
    ------
    Ashraf, Mantiuk, Chapiro and Wuerger (2024), Journal of Vision 24(4), 5; the size term of Rovamo, Luntinen and
    Nasanen (1993), Vision Research 33, 2773, as cited there.

    >>> bool(sensitivity(0.1, 4.0, "lightness") < sensitivity(3.0, 4.0, "lightness"))
    True
    """
    one_of("channel", channel, CHANNELS)
    f, area = np.asarray(frequency, dtype=float), np.asarray(area_deg2, dtype=float)
    gain, half, power, *faint = PEAK[channel]
    top = gain * (1 + half / luminance) ** -power
    if faint:
        top *= 1 - (1 + faint[0] / luminance) ** -faint[1]
    at, at_half, at_power = PEAK_AT[channel]
    peak = at * (1 + at_half / luminance) ** -at_power
    parabola = 10 ** -(np.log10(f / peak) ** 2 / 2 ** WIDTH[channel])
    shape = np.where(f < peak, np.maximum(parabola, 1 - FLAT[channel]), parabola)
    size, knee = SIZE[channel]
    largest = size / (1 + (f / knee) ** 2)
    found: NDArray[np.float64] = top * shape * f * np.sqrt(area * largest / (area + largest))
    return found


def signals(reference_lab: ArrayLike, lab: ArrayLike, *, veil: float = VEIL) -> NDArray[np.float64]:
    """What reaches the three channels of an eye that has the reference beside it, (..., 3), with signs.

    Parameters
    ----------
    reference_lab, lab : CIELAB, (..., 3)
    veil : light mirrored by the clear, which an instrument leaves out and an eye cannot

    Returns
    -------
    logarithm of the ratio of luminances, red-green contrast (red above 0), yellow-blue contrast (yellow above 0)

    Notes
    -----
    Lightness is not taken from CIEDE2000, which was made from pairs a hairline apart. Colour is: what CIEDE2000 is left
    at equal lightness, sent to the channels as the cones of castleCSF would send that direction from a grey: a yellow
    one goes to both. That the weights of CIEDE2000 hold for the thresholds of a strong colour is assumed, not tested.

    >>> signals([50.0, 0.0, 0.0], [[50.0, 0.0, 0.0], [51.0, 0.0, 0.0], [50.0, 0.0, -1.0]]).round(3).tolist()
    [[0.0, 0.0, 0.0], [0.037, 0.0, 0.0], [0.0, -0.003, -0.027]]
    """
    reference, sample = np.broadcast_arrays(np.asarray(reference_lab, dtype=float), np.asarray(lab, dtype=float))
    level = sample.copy()
    level[..., 0] = reference[..., 0]
    return shared_out(reference, sample, ciede2000(reference, level), veil)


def shared_out(
    reference: NDArray[Any], sample: NDArray[Any], colour_apart: NDArray[Any], veil: float
) -> NDArray[np.float64]:
    """`signals`, for whoever has CIEDE2000 at equal lightness already (...)."""
    before, after = (luminance(lab[..., 0]) + veil for lab in (reference, sample))
    found = np.empty(np.shape(sample))
    found[..., 0] = np.log(after / before)
    way = (sample - reference)[..., 1:] * (OF_A_GREY, 1.0)
    length = np.hypot(way[..., 0], way[..., 1])
    way /= np.where(length > 0, length, 1.0)[..., None]
    found[..., 1:] = colour_apart[..., None] * (way @ np.transpose(TO_CHANNELS))
    return found


def ramp(
    stations_m: NDArray[Any], along: NDArray[Any], distances_m: ArrayLike, eye: Eye = USUAL
) -> NDArray[np.float64]:
    """How well an eye finds what changes along the panel, by channel, (distances, ..., 3); 1 is just seen.

    Parameters
    ----------
    stations_m : (n,) evenly spaced and rising, at least 2
    along : signals along the panel, (n, ..., 3)
    distances_m : of the eye, 0.3-20 m, (distances,)

    Notes
    -----
    Each channel is the worst grating's: sensitivity times what the change holds of that grating. The eye looks in a
    strip half a period wide and as tall as the panel. Put the channels together by `together`.

    Source
    ------
    Linear theory for patterns that are no gratings: Campbell, Carpenter and Levinson (1969), J. Physiol. 204, 283,
    which holds at high frequencies and has complicating factors below 10 cycles per degree. That the slope counts from
    half a degree on: Campbell, Johnstone and Ross (1981), Vision Research 21, 723; that it hardly counts: McCann et al.
    (1974), Vision Research 14, 917. This lies between the two.

    >>> x = np.linspace(0, 2, 400)
    >>> step, gentle = (np.clip((x - 0.5) / width, 0, 1)[:, None] * [0.05, 0.0, 0.0] for width in (0.001, 1.0))
    >>> bool(ramp(x, step, 2.0)[0, 0] > 5 * ramp(x, gentle, 2.0)[0, 0])
    True
    """
    distances = _distances(distances_m)
    steps = np.diff(along, axis=0)
    n, rest = len(steps), steps.shape[1:]
    periods, waves = _waves(n)
    # A step of the stations is itself a ramp, whence the sinc: without it, gratings finer than the stations alias.
    holds = np.hypot(*(waves @ steps.reshape(n, -1))) * np.sinc(periods)[:, None]
    step_deg = np.degrees((stations_m[-1] - stations_m[0]) / n / distances)
    weighed = _seen_by(periods / step_deg[:, None], distances, eye)
    # (distances, frequencies, channels) on (frequencies, ..., channels)
    weighed = weighed.reshape(*weighed.shape[:2], *(1,) * (len(rest) - 1), 3)
    found: NDArray[np.float64] = (weighed * holds.reshape(-1, *rest)).max(axis=1)
    return found


def edge(apart: ArrayLike, distances_m: ArrayLike, *, gap: bool = False, eye: Eye = USUAL) -> NDArray[np.float64]:
    """How well an eye finds a hard step between two panels, by channel, (distances, ..., 3); 1 is just seen.

    Parameters
    ----------
    apart : signals of the one panel beside the other, (..., 3)
    distances_m : of the eye, 0.3-20 m, (distances,)
    gap : whether an open gap lies between them, which hides lightness and leaves colour

    >>> a_little_lighter = signals([50.0, 0, 0], [51.0, 0, 0])
    >>> without, across = (float(edge(a_little_lighter, 2.0, gap=gap)[0, 0]) for gap in (False, True))
    >>> without / across
    2.0
    """
    step = np.abs(np.asarray(apart, dtype=float))
    sizes = np.stack([_of_a_step(float(distance), eye) for distance in _distances(distances_m)])
    if gap:
        sizes = sizes / (eye.gap_factor, 1.0, 1.0)
    found: NDArray[np.float64] = sizes.reshape(-1, *(1,) * (step.ndim - 1), 3) * step
    return found


def together(by_channel: NDArray[Any]) -> NDArray[np.float64]:
    """All channels at once, (...), of (..., 3): squares add, as in castleCSF (2024).

    >>> float(together(np.array([0.6, 0.0, 0.8])))
    1.0
    """
    found: NDArray[np.float64] = np.sqrt(np.square(by_channel).sum(axis=-1))
    return found


def end_to_end(along: NDArray[Any], eye: Eye = USUAL) -> NDArray[np.float64]:
    """How well an eye tells the two ends of the gentlest ramp of lightness apart, (...); above 1 no length hides it.

    Parameters
    ----------
    along : signals along the panel, (n, ..., 3)

    Source
    ------
    Erens, Kappers and Koenderink (1993), Vision Research 33, 1639: 6 % of contrast, at any size from 1 to 25 degrees.

    >>> float(end_to_end(np.array([[0.0, 0.0, 0.0], [0.09, 0.0, 0.0]])).round(2))
    0.5
    """
    found: NDArray[np.float64] = np.ptp(along[..., 0], axis=0) / (eye.care * RAMP_END)
    return found


# --- a school's own trial ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Shown:
    """One ramp that was shown, and what the onlookers said.

    stations_m, signals : (n,) and (n, 3), as for `ramp`
    distance_m : of the onlookers
    found, asked : how many said rightly which side is which, of how many
    """

    stations_m: NDArray[np.float64]
    signals: NDArray[np.float64]
    distance_m: float
    found: int
    asked: int


@dataclass(frozen=True)
class Refit:
    """An eye from a trial.

    eye : with the care and the strip of the trial
    sureness : exponent of the answers; the larger, the sharper the threshold
    care_low, care_high : between them the care lies in 95 of 100 trials, by the likelihood
    """

    eye: Eye
    sureness: float
    care_low: float
    care_high: float


def refit(
    trials: Sequence[Shown], *, guessed: float = 1 / 3, strips_m: Sequence[float] = STRIPS_M, eye: Eye = USUAL
) -> Refit:
    """The care and the strip of the eye that make a school's own answers most likely.

    Parameters
    ----------
    trials : ramps of known difference, for example printed or sprayed, looked at from several distances
    guessed : share of right answers without looking: a third for "left", "right" and "none"
    strips_m : heights of the strip that are tried, one or more
    eye : what is not fitted

    Notes
    -----
    p(right) = guessed + (1 - guessed) (1 - 2^-(V/care)^sureness), a Weibull function that is half way up at the
    threshold. A taller strip and less care say nearly the same, so a few hundred answers tell the strip badly and the
    two together well. A trial of lightness edges with and without a gap gives the gap factor: the ratio of the cares.

    Raises
    ------
    BadEntry : fewer than 20 answers; all of them right, or none better than guessed

    Source
    ------
    Maximum likelihood with its ratio for the limits: Wichmann and Hill (2001), Perception & Psychophysics 63, 1293
    (from memory).

    >>> x = np.linspace(0, 1, 200)
    >>> shown = [Shown(x, np.clip(x - 0.2, 0, 0.5)[:, None] * [size, 0.0, 0.0], 2.0, found, 30)
    ...     for size, found in [(0.02, 10), (0.05, 13), (0.1, 18), (0.2, 27), (0.4, 30)]]
    >>> fitted = refit(shown)
    >>> fitted.care_low < fitted.eye.care < fitted.care_high
    True
    """
    if not len(strips_m):
        raise BadEntry("strips: none was given, allowed is one or more.")
    guess = number("share guessed", guessed, low=0, high=MOST_GUESSED)
    for trial in trials:
        if not 0 <= trial.found <= trial.asked:
            raise BadEntry(f"answers: {trial.found} right of {trial.asked} were given, allowed is no more than asked.")
    asked, right = (np.array([getattr(trial, name) for trial in trials], dtype=float) for name in ("asked", "found"))
    if asked.sum() < FEWEST_ANSWERS:
        raise BadEntry(f"answers: {asked.sum():g} were given, allowed are {FEWEST_ANSWERS} or more.")
    if not guess * asked.sum() < right.sum() < asked.sum():
        raise BadEntry(
            f"answers: {right.sum():g} right of {asked.sum():g} were given, allowed are more than guesses, and not all."
        )
    cares, surenesses = np.geomspace(*CARES, TRIED[0]), np.geomspace(*SURENESS, TRIED[1])[:, None, None]
    best: tuple[float, NDArray[Any], Eye, float] | None = None
    for strip in strips_m:
        keen = replace(eye, care=1.0, panel_m=strip)
        strength = np.array(
            [float(together(ramp(one.stations_m, one.signals, one.distance_m, keen))[0]) for one in trials]
        )
        chance = guess + (1 - guess) * (1 - np.exp2(-((strength / cares[:, None]) ** surenesses)))
        chance = chance.clip(NEVER_SURE, 1 - NEVER_SURE)
        likely = (right * np.log(chance) + (asked - right) * np.log(1 - chance)).sum(axis=-1)
        which, at = np.unravel_index(likely.argmax(), likely.shape)
        if best is None or likely.max() > best[0]:
            found = replace(eye, care=float(cares[at]), panel_m=strip)
            best = (float(likely.max()), likely.max(axis=0), found, float(surenesses[which, 0, 0]))
    assert best is not None
    within = cares[best[1] >= best[0] - FALL]
    return Refit(best[2], best[3], float(within[0]), float(within[-1]))


def _distances(distances_m: ArrayLike) -> NDArray[np.float64]:
    return np.atleast_1d(numbers("distance", distances_m, low=NEAREST_M, high=FARTHEST_M, unit="m"))


@lru_cache(maxsize=10)
def _waves(n: int) -> tuple[NDArray[Any], NDArray[Any]]:
    """Periods for each of n steps, (frequencies,), and cosines and sines of them, (2, frequencies, n)."""
    periods = np.geomspace(SLOWEST / n, FASTEST, FREQUENCIES)
    phase = 2 * np.pi * periods[:, None] * np.arange(n)
    return periods, np.stack([np.cos(phase), np.sin(phase)])


def _seen_by(frequency: NDArray[Any], distances: NDArray[Any], eye: Eye) -> NDArray[np.float64]:
    """What a step that holds all of a grating makes visible, (distances, frequencies, 3)."""
    tall_deg = 2 * np.degrees(np.arctan(eye.panel_m / 2 / distances))
    area = tall_deg[:, None] / (2 * frequency)
    each = [sensitivity(frequency, area, channel, eye.luminance) for channel in CHANNELS]
    found: NDArray[np.float64] = np.stack(each, axis=-1) / (eye.care * STEP)
    return found


@lru_cache(maxsize=100)
def _of_a_step(distance_m: float, eye: Eye) -> NDArray[np.float64]:
    """What a hard step of 1 makes visible, (3,)."""
    frequency = np.geomspace(*EDGE_FREQUENCIES, 10 * FREQUENCIES)[None]
    found: NDArray[np.float64] = _seen_by(frequency, np.array([distance_m]), eye)[0].max(axis=0)
    return found
