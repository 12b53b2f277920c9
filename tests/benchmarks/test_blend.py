"""A blend with 400 stations at 5 angles beside station by station, the scan of lengths, and a whole decision."""

import numpy as np
import pytest
from paints import SHOP, paint_of

from refinishlib.colour import blend, eye, joint, predict, spray
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.film import Layer
from refinishlib.colour.stage import stages

STATIONS = np.linspace(-0.2, 1.2, 400)
PAIRS = {
    "solid": ("Kiln Red, as built", "Kiln Red, yellower"),
    "metallic": ("Millrace Silver, as built", "Millrace Silver, warmer"),
}


def case(kind):
    new, old = (paint_of(title) for title in PAIRS[kind])
    coats = spray.carried(3, film_um=7, first_end_m=0.2, carry_m=0.2, orientation=kind == "metallic")
    return new, old, coats


def plain(kind):
    """Each station on its own: its film and its colour; then each grating, angle and distance on its own."""
    new, old, coats = case(kind)
    film = spray.film_build(STATIONS, coats)
    layers = blend._layers(stages(new), coats, film, blend.flake.SPRAYED)
    lab = []
    for station in range(len(STATIONS)):
        stack = [Layer(old, np.inf), *(blend._where(layer, station) for layer in layers)]
        lab.append(blend.weights.lab(predict.of_layers(stack))[0])
    lab = np.array(lab)
    sent = eye.signals(lab[-1], lab)
    place = (STATIONS[1:] + STATIONS[:-1]) / 2
    step = STATIONS[1] - STATIONS[0]
    worst = 0.0
    for distance in blend.DISTANCES_M:
        tall = 2 * np.degrees(np.arctan(eye.PANEL_M / 2 / distance))
        for angle in range(sent.shape[1]):
            best = [0.0, 0.0, 0.0]
            for f in np.geomspace(0.01, 8, 300):
                wave = np.exp(-2j * np.pi * f * np.degrees(place / distance))
                for i, channel in enumerate(eye.CHANNELS):
                    holds = abs((np.diff(sent[:, angle, i]) * wave).sum()) * np.sinc(f * np.degrees(step / distance))
                    found = eye.sensitivity(f, tall / 2 / f, channel) * abs(holds) / (eye.CARE * np.pi / 2)
                    best[i] = max(best[i], float(found))
            worst = max(worst, float(np.hypot(np.hypot(*best[:2]), best[2])))
    return lab, worst


@pytest.mark.parametrize("kind", PAIRS)
def test_blend(benchmark, kind):
    new, old, coats = case(kind)
    made = benchmark(blend.along, new, old, coats, stations_m=STATIONS, old_tilt=1.0)
    lab, worst = plain(kind)
    assert ciede2000(lab, made.lab).max() < 0.01
    assert eye.together(made.by_channel).max() == pytest.approx(worst, rel=0.02)


@pytest.mark.parametrize("kind", PAIRS)
def test_blend_plain(benchmark, kind):
    benchmark.pedantic(plain, args=(kind,), rounds=1)


def test_shortest(benchmark):
    """A silver that no length hides, so that every length is tried."""
    silver = paint_of("Millrace Silver, as built")
    assert not benchmark(blend.shortest, silver, silver, orientation=False).hidden


def test_chance(benchmark):
    silver = SHOP.colour("Millrace Silver, as built")
    assert not benchmark(joint.chance, silver, silver).promised


def test_a_whole_decision(benchmark):
    """The blend and the hand's part of at most 150 ms for a decision."""
    new, old = (SHOP.colour(title) for title in PAIRS["metallic"])
    made, _, _ = benchmark(joint.plan, SHOP.vehicle, SHOP.vehicle.panel("left front door"), new, old)
    assert made.verdict
