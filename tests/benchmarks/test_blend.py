"""A blend with 400 stations at 5 angles: at most 5 ms, beside station by station."""

import numpy as np
import pytest
from paints import paint_of

from refinishlib.colour import blend, predict, ramp, spray
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.film import Layer

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
    """Each station on its own: its film, its colour, and its slope from the neighbours half a degree away."""
    new, old, coats = case(kind)
    film = spray.film_build(STATIONS, coats)
    lab = []
    for station in range(len(STATIONS)):
        stack = [Layer(old, np.inf), *(blend._where(layer, station) for layer in blend._layers(new, coats, film))]
        lab.append(blend.weights.lab(predict.of_layers(stack))[0])
    lab = np.array(lab)
    step = STATIONS[1] - STATIONS[0]
    steepest = 0.0
    for distance in blend.DISTANCES_M:
        for i, here in enumerate(STATIONS):
            there = here + distance * np.tan(np.radians(ramp.RAMP_DEG))
            k = min(int((there - STATIONS[0]) / step + 1e-9), len(STATIONS) - 2)
            share = min((there - STATIONS[k]) / step, 1.0)
            steepest = max(steepest, ciede2000(lab[i], lab[k] * (1 - share) + lab[k + 1] * share).max() / ramp.RAMP_DEG)
    return lab, steepest


@pytest.mark.parametrize("kind", PAIRS)
def test_blend(benchmark, kind):
    new, old, coats = case(kind)
    made = benchmark(blend.along, new, old, coats, stations_m=STATIONS)
    lab, steepest = plain(kind)
    assert ciede2000(lab, made.lab).max() < 0.01
    assert made.steepest == pytest.approx(steepest, abs=0.02)


@pytest.mark.parametrize("kind", PAIRS)
def test_blend_plain(benchmark, kind):
    benchmark.pedantic(plain, args=(kind,), rounds=1)
