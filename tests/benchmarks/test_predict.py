"""From masses to CIELAB, five angles and three lamps, beside its floor: the same formulas straight on plain arrays.

The floor has no layers, no values that check themselves, no choice of surface, and its constants at hand: one film of
flakes and pigment over a grey, cleared. Wanted is at most 3 times the floor for one mix and for many.
Measure with `pytest tests/benchmarks/test_predict.py -n 0 --benchmark-enable` and compare within a group.
"""

import numpy as np
import pytest
from paints import SHOP, mixed
from scipy.special import dawsn

from refinishlib.colour import lamp, optics, predict, surface, undercoat, weights
from refinishlib.colour.conditions import FILM_UM
from refinishlib.colour.flake import DIMMED, LOBES, SENT_BACK

TONERS = ["medium silver", "fine silver", "soft black", "deep blue", "violet", "white", "green", "rose"]
LIGHTS = [lamp.lamp(name) for name in ("D65", "A", "FL11")]
COUNTS = (1, 100, 10_000)

ALONE = [mixed([name], [1.0]) for name in TONERS]
PIGMENT_K = np.array([toner.absorption_per_um for toner in ALONE])
PIGMENT_S = np.array([toner.scattering_per_um for toner in ALONE])
FLAKED = [i for i, toner in enumerate(ALONE) if toner.flakes]
COVER = np.zeros((len(TONERS), len(FLAKED)))
COVER[FLAKED, range(len(FLAKED))] = [ALONE[i].cover_per_um[0] for i in FLAKED]
MIRRORS = np.array([ALONE[i].flake_reflectance[0] for i in FLAKED])
KEEPS = np.array([ALONE[i].flake_absorptance[0] for i in FLAKED])
TILT = np.radians([ALONE[i].flakes[0].tilt_deg for i in FLAKED])
DRY = np.array([toner.volume_solids / toner.density_g_per_ml for toner in SHOP.picked(*TONERS)])
EYES = surface.aspecular()
PATHS = (1 / EYES.cos_in + 1 / EYES.cos_out)[:, None]
SPREAD = np.pi / (4 * EYES.cos_in * EYES.cos_out)
K2 = surface.diffuse_internal_reflection()
GREY = undercoat.grey(50.0)
TABLE = np.concatenate([weights.weights(light) / weights.weights(light).sum(axis=0) for light in LIGHTS], axis=1)
AT_A_TIME = 1000


def gaussian(tilt, deviation):
    return np.exp(-((tilt / deviation) ** 2) / 2) / (np.pi * np.sqrt(2) * deviation * dawsn(np.sqrt(2) * deviation))


def sent_back(k, s, under):
    decay = np.sqrt(k * (k + 2 * s))
    left = np.exp(-decay * FILM_UM)
    lost = 1 - left**2
    below = (2 - lost) * decay + (k + s) * lost
    reflected, passed = s * lost / below, 2 * decay * left / below
    return reflected + passed**2 * under / (1 - reflected * under)


def floor(masses):
    if len(masses) > AT_A_TIME:
        return np.concatenate([floor(masses[at : at + AT_A_TIME]) for at in range(0, len(masses), AT_A_TIME)])
    volume = masses * DRY
    share = volume / volume.sum(axis=1, keepdims=True)
    k, s, cover = share @ PIGMENT_K, share @ PIGMENT_S, share @ COVER
    mirror, keep = cover @ MIRRORS, cover @ KEEPS
    diffuse = sent_back(k + keep, s + mirror, GREY)
    beam = sent_back(keep + (k + s) / 2, mirror, 0.0)
    half = sent_back(keep + (k + s) / 2 + (1 - DIMMED) * mirror, DIMMED * mirror, 0.0)
    emerging = (1 - beam) * (diffuse - (through := sent_back(keep + k + s, mirror, 0.0))) / (1 - through)
    dims = k + s + 2 * (mirror + keep)
    first = (1 - np.exp(-dims * FILM_UM)) / dims * mirror
    rest = beam - first
    ratio = np.clip((half / DIMMED - first) / DIMMED**2 / rest, DIMMED**2, 1)
    factor = (1 - ratio) / (1 - DIMMED**2 * ratio)
    lobes = np.stack([SENT_BACK * beam**2, rest * (1 - factor), rest * (1 - factor) * factor, rest * factor**2], axis=1)
    dimming = ((k + s) / 2)[:, None] * PATHS + 2 * (mirror + keep)[:, None]
    facing = (cover[:, None] * (gaussian(EYES.tilt_rad[:, None], TILT) * SPREAD[:, None])) @ MIRRORS
    light = (1 - np.exp(-dimming * FILM_UM)) / dimming * facing
    deviation = np.sqrt(((cover @ TILT**2) / cover.sum(axis=1))[:, None] * LOBES)
    light += (gaussian(EYES.tilt_rad[:, None], deviation[:, None]) * SPREAD[:, None]) @ lobes
    light += (emerging / (1 - K2 * diffuse))[:, None]
    light *= EYES.passed[:, None]
    relative = (light @ TABLE).reshape(len(masses), len(EYES.passed), len(LIGHTS), 3)
    stretched = np.where(relative > (6 / 29) ** 3, np.cbrt(relative), relative * (29 / 6) ** 2 / 3 + 4 / 29)
    x, y, z = np.moveaxis(stretched, -1, 0)
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1).swapaxes(1, 2)


def masses_of(count):
    shares = np.random.default_rng(8).dirichlet(np.full(len(TONERS), 0.6), count)
    return shares + 0.01


SHELF = SHOP.picked(*TONERS)


def ours(masses):
    return predict.lab(optics.mixture(SHELF, masses), lamps=LIGHTS)


@pytest.mark.parametrize("count", COUNTS)
def test_predict(benchmark, count):
    benchmark.group = f"masses to CIELAB, {count} at once"
    masses = masses_of(count)
    np.testing.assert_allclose(benchmark(ours, masses), floor(masses), atol=1e-6)


@pytest.mark.parametrize("count", COUNTS)
def test_predict_floor(benchmark, count):
    benchmark.group = f"masses to CIELAB, {count} at once"
    benchmark(floor, masses_of(count))
