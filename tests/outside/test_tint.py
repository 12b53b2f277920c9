"""The tint search against scipy's differential evolution, under the same constraints and with the same prediction.

200 cases of a size that a painter meets: 100 to 250 g in the cup, 4 to 6 toners, two or three of which are short.
"""

import numpy as np
import pytest
from paints import SHOP, lab
from scipy.optimize import differential_evolution

from refinishlib.colour import tint
from refinishlib.colour.conditions import Conditions
from refinishlib.colour.lamp import lamp
from refinishlib.colour.tint import Pourable

READ = {"lamps": ("D65", "FL11"), "angles_deg": (15, 45, 110)}
ASKED = {"lamps": [lamp(name) for name in READ["lamps"]], "conditions": Conditions(angles_deg=READ["angles_deg"])}
CHUNK = 25
NORMAL, DEEP = 50, 200  # cases, each against three evolutions
FORMULAS = [formula for formula in SHOP.colours if len(formula.parts) >= 4]


def case(seed):
    """Toners, grams in the cup, reading of the card, reading of the panel."""
    rng = np.random.default_rng(seed)
    if seed % 2:
        parts = FORMULAS[rng.integers(len(FORMULAS))].parts
        names, share = [name for name, _ in parts], np.array([part for _, part in parts])
    else:
        names = rng.choice([toner.name for toner in SHOP.toners], size=rng.integers(4, 7), replace=False).tolist()
        share = 0.01 + rng.dirichlet(np.ones(len(names)))
    cup = np.round(share / share.sum() * rng.uniform(100, 250), 1)
    short = rng.choice(len(names), size=rng.integers(2, 4), replace=False)
    meant = cup.copy()
    meant[short] += np.maximum(0.3, cup[short] * rng.uniform(0.1, 0.5, len(short)))
    # The model is off by as much as models are, alike for card and panel; the reading of the panel has its own noise.
    off = rng.normal(0, 0.8, 3)
    card = lab(names, cup, **READ) + off
    panel = lab(names, meant, **READ) + off + rng.normal(0, 0.1, card.shape)
    return names, cup, card, panel


def lean_ciede2000(one, other):
    """CIEDE2000 written out (Sharma, Wu and Dalal (2005), Color Res. Appl. 30, 21): light enough to be called at every
    step of 600 evolutions. Hue angles are kept in radians, and their mean lies half way along the shorter arc."""
    chroma = (np.hypot(one[..., 1], one[..., 2]) + np.hypot(other[..., 1], other[..., 2])) / 2
    stretch = 1.5 - np.sqrt(chroma**7 / (chroma**7 + 25.0**7)) / 2
    c1, h1 = np.hypot(stretch * one[..., 1], one[..., 2]), np.arctan2(one[..., 2], stretch * one[..., 1])
    c2, h2 = np.hypot(stretch * other[..., 1], other[..., 2]), np.arctan2(other[..., 2], stretch * other[..., 1])
    turn = (h2 - h1 + np.pi) % (2 * np.pi) - np.pi
    hue, chroma = h1 + turn / 2, (c1 + c2) / 2
    level = ((one[..., 0] + other[..., 0]) / 2 - 50) ** 2
    t = (
        1
        - 0.17 * np.cos(hue - np.radians(30))
        + 0.24 * np.cos(2 * hue)
        + 0.32 * np.cos(3 * hue + np.radians(6))
        - 0.20 * np.cos(4 * hue - np.radians(63))
    )
    blue = np.radians(60) * np.exp(-((((np.degrees(hue) % 360) - 275) / 25) ** 2))
    light = (other[..., 0] - one[..., 0]) / (1 + 0.015 * level / np.sqrt(20 + level))
    clean = (c2 - c1) / (1 + 0.045 * chroma)
    turned = 2 * np.sqrt(c1 * c2) * np.sin(turn / 2) / (1 + 0.015 * chroma * t)
    mixed = -2 * np.sqrt(chroma**7 / (chroma**7 + 25.0**7)) * np.sin(blue) * clean * turned
    return np.sqrt(np.maximum(light**2 + clean**2 + turned**2 + mixed, 0))


def evaluator(names, cup, card, panel):
    """Grams to add (rows, toners) to mean CIEDE2000 after."""
    offset = card - lab(names, cup, **READ)

    def mean_after(add_g):
        return lean_ciede2000(panel, lab(names, cup + add_g, **READ) + offset).mean(axis=(-2, -1))

    return mean_after


def evolved(mean_after, cup, pourable, seed):
    """The best mean that differential evolution finds. Its genes are cubed, since strong toners need little."""
    limits = pourable.steps(cup.sum())

    def grams(genes):
        steps = np.round(limits.together * genes.T**3)
        last = np.argsort(-steps, axis=1, kind="stable")[:, limits.toners :]
        np.put_along_axis(steps, last, 0, axis=1)
        total = steps.sum(axis=1)
        too_much = total > limits.together
        steps[too_much] = np.floor(steps[too_much] * (limits.together / total[too_much])[:, None])
        steps[steps < limits.smallest] = 0
        return steps * pourable.readability_g

    result = differential_evolution(
        lambda genes: mean_after(grams(genes)),
        [(0, 1)] * len(cup),
        vectorized=True,
        updating="deferred",
        rng=seed,
        maxiter=40,
        tol=1e-3,
        polish=False,
    )
    return result.fun


def check_pourable(correction, cup, pourable):
    steps = np.array(correction.add_g) / pourable.readability_g
    assert np.allclose(steps, np.round(steps), atol=1e-6)
    assert all(grams >= pourable.smallest_g - 1e-9 for grams in correction.add_g)
    assert len(correction.add_g) <= pourable.most_toners
    assert correction.surplus_g <= pourable.surplus_share * cup.sum() + 1e-9


@pytest.mark.parametrize(
    "first", [pytest.param(n, marks=[pytest.mark.deep] if n >= NORMAL else []) for n in range(0, DEEP, CHUNK)]
)
def test_tint_is_never_worse_than_the_best_of_three_evolutions(first):
    pourable = Pourable()
    one_toner_fails = 0
    for seed in range(first, first + CHUNK):
        names, cup, card, panel = case(seed)
        mean_after = evaluator(names, cup, card, panel)
        task = (SHOP.picked(*names), cup, card, panel)
        correction = tint.addition(*task, **ASKED, pourable=pourable)
        check_pourable(correction, cup, pourable)
        add = np.array([dict(zip(correction.names, correction.add_g, strict=True)).get(name, 0) for name in names])
        assert correction.mean_after == pytest.approx(float(mean_after(add)), abs=1e-9)
        best = min(evolved(mean_after, cup, pourable, rng) for rng in range(3))
        assert correction.mean_after <= best + 0.1, (seed, correction.mean_after, best)
        alone = tint.addition(SHOP.picked(*names), cup, card, panel, **ASKED, pourable=Pourable(most_toners=1))
        one_toner_fails += alone.mean_after > best + 0.1
    assert one_toner_fails > CHUNK / 2, "the cases must need more than one toner"


@pytest.mark.parametrize("nth", range(3))
def test_evolution_and_tint_both_find_the_optimum_that_counting_finds(nth):
    """Shows that the yardstick is a good one: on a coarse balance every addition of four toners can be counted."""
    names, cup, card, panel = [made for made in map(case, range(60)) if len(made[0]) == 4][nth]
    pourable = Pourable(readability_g=2.0, smallest_g=2.0)
    mean_after = evaluator(names, cup, card, panel)
    limits = pourable.steps(cup.sum())
    every = np.indices([limits.together + 1] * len(cup), dtype=np.int16).reshape(len(cup), -1).T
    every = every[limits.allowed(every)]
    best = min(mean_after(part * pourable.readability_g).min() for part in np.array_split(every, 20))
    assert min(evolved(mean_after, cup, pourable, rng) for rng in range(3)) == pytest.approx(best, abs=0.005)
    found = tint.addition(SHOP.picked(*names), cup, card, panel, **ASKED, pourable=pourable)
    assert best - 1e-9 <= found.mean_after <= best + tint.EARNED
