import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from refinishlib.entry import BadEntry
from refinishlib.mixing.scale import (
    LARGEST_MIX_G,
    WAYS,
    mix_density,
    mix_volume,
    on_scale,
    pour_of,
    rounded,
    scaled,
    smallest_mix,
    to_mass,
    to_volume,
)
from refinishlib.shop.shop import load

amounts = st.lists(st.floats(0.01, 1000), min_size=1, max_size=9)
masses = st.floats(1, 5000)
steps = st.sampled_from([0.01, 0.1, 1.0])


def named(values):
    return [(f"toner {k}", value) for k, value in enumerate(values)]


@settings(max_examples=60, deadline=None)
@given(amounts, masses)
def test_masses_sum_to_the_total_and_keep_the_formula(values, mass):
    pour = to_mass(named(values), mass)
    assert sum(pour.own_g) == pytest.approx(mass, rel=1e-12)
    assert pour.total_g == pytest.approx(mass, rel=1e-12)
    assert np.cumsum(pour.own_g) == pytest.approx(pour.cumulative_g)
    assert np.asarray(pour.own_g) * sum(values) == pytest.approx(np.asarray(values) * mass, rel=1e-12)


@settings(max_examples=60, deadline=None)
@given(amounts, masses, st.floats(0.1, 9))
def test_scaling_is_linear(values, mass, factor):
    once, more = to_mass(named(values), mass), to_mass(named(values), factor * mass)
    assert more.own_g == pytest.approx(np.asarray(once.own_g) * factor, rel=1e-12)
    # Parts are only ratios: twice all parts is the same formula.
    assert to_mass(named([2 * v for v in values]), mass).own_g == pytest.approx(once.own_g, rel=1e-12)


@settings(max_examples=60, deadline=None)
@given(amounts, st.data(), st.floats(1, 5000))
def test_a_wanted_volume_comes_out_when_each_toner_is_measured_in_a_jug(values, data, volume):
    density = data.draw(st.lists(st.floats(0.7, 2.0), min_size=len(values), max_size=len(values)))
    pour = to_volume(named(values), volume, density)
    assert (np.asarray(pour.own_g) / density).sum() == pytest.approx(volume, rel=1e-12)
    assert min(density) * (1 - 1e-12) <= mix_density(values, density) <= max(density) * (1 + 1e-12)


@settings(max_examples=60, deadline=None)
@given(amounts, masses, steps, st.sampled_from(WAYS))
def test_a_rounded_pour_can_be_read_on_the_scale_and_its_errors_are_honest(values, mass, step, way):
    pour = to_mass(named(values), mass)
    assume(mass > 20 * step)
    shown = rounded(pour, step, way)
    for reading in (*shown.own_g, *shown.cumulative_g):
        assert reading / step == pytest.approx(round(reading / step), abs=1e-6)
    worst = step / 2 if way == "tared" else step
    assert np.abs(shown.own_error_g).max() <= worst * (1 + 1e-6)
    if way == "cumulative":
        # No error adds up: every reading is within half a step, the last one too.
        assert np.abs(np.subtract(shown.cumulative_g, pour.cumulative_g)).max() <= step / 2 * (1 + 1e-6)
    for own, share, error in zip(shown.own_g, pour.shares, shown.share_error_percent, strict=True):
        assert own / shown.total_g == pytest.approx(share * (1 + error / 100), rel=1e-9, abs=1e-12)


@settings(max_examples=60, deadline=None)
@given(st.floats(0.002, 0.3), steps, st.floats(0.01, 0.2), st.sampled_from(WAYS), st.data())
def test_the_smallest_mix_keeps_its_promise(share, step, allowed, way, data):
    least = smallest_mix(share, step, allowed, way)
    assume(1.37 * least <= LARGEST_MIX_G)
    before = data.draw(st.floats(0, 1 - share))
    for factor in (1.0, 1.37):
        parts = [value for value in (before, share, 1 - share - before) if value > 1e-9]
        own = rounded(to_mass(named(parts), factor * least), step, way)
        small = parts.index(share)
        assert abs(own.own_error_g[small]) <= allowed * share * factor * least * (1 + 1e-6)


@pytest.mark.parametrize(("way", "steps_off"), [("tared", 0.5), ("cumulative", 1.0)])
def test_the_worst_case_behind_the_smallest_mix_is_really_met(way, steps_off):
    step, hair = 0.1, 1e-6
    # Tared: a hair above half a step goes up. Cumulative: the reading before goes down, the one after goes up.
    first, small = (1000.0, 10.05 + hair) if way == "tared" else (1000.05 - hair, 10.0 + 2 * hair)
    poured = rounded(pour_of(["large", "small"], [first, small]), step, way)
    assert poured.own_error_g[1] == pytest.approx(steps_off * step, rel=1e-3)
    share = small / (first + small)
    allowed = poured.own_error_g[1] / small
    assert smallest_mix(share, step, allowed, way) == pytest.approx(first + small, rel=1e-3)


def test_the_known_minimum_mix():
    # A toner at 0.5 %, a scale that shows 0.1 g, 5 % allowed: half a step is 0.05 g = 5 % of 1 g = 0.5 % of 200 g.
    assert smallest_mix(0.005, 0.1, 0.05, "tared") == pytest.approx(200)
    assert smallest_mix(0.005, 0.1, 0.05, "cumulative") == pytest.approx(400)


def test_cumulative_rounding_stops_errors_from_adding_up():
    # Ten toners of 10.04 g: rounded one by one 100.0 g, as the scale shows them all together 100.4 g.
    pour = to_mass(named([1] * 10), 100.4)
    assert rounded(pour, 0.1, "tared").total_g == pytest.approx(100.0)
    assert rounded(pour, 0.1, "cumulative").total_g == pytest.approx(100.4)


def test_halves_go_up_as_they_read():
    assert on_scale([0.05, 0.15, 0.25, 12.25, 0.349], 0.1).tolist() == [0.1, 0.2, 0.3, 12.3, 0.3]
    assert on_scale([1.005, 2.675], 0.01).tolist() == [1.01, 2.68]


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(0.1, 100), st.floats(0.1, 100), st.floats(0.1, 100)), min_size=1, max_size=5))
def test_many_formulas_at_once_are_the_same_as_one_by_one(rows):
    together = scaled(rows, [300.0] * len(rows))
    assert together.shape == (len(rows), 3)
    for row, own in zip(rows, together, strict=True):
        assert to_mass(named(row), 300).own_g == pytest.approx(own.tolist(), rel=1e-14)


def test_every_shop_formula_pours_by_volume_and_mass_alike():
    density = {name: load().toner(name).density_g_per_ml for formula in load().colours for name, _ in formula.parts}
    for formula in load().colours:
        by_volume = to_volume(formula.parts, 500, density)
        assert to_mass(formula.parts, by_volume.total_g).own_g == pytest.approx(by_volume.own_g)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: to_mass([], 100), "no toner was given"),
        (lambda: to_mass([("white", 1), ("white", 2)], 100), "white was given twice"),
        (lambda: to_mass([("white", 0)], 100), "parts of white: 0 was given, allowed is a number above 0"),
        (lambda: to_mass([("white", 1)], -5), "wanted mass: -5 was given"),
        (lambda: to_mass([("white", 1)], 1e9), "up to 50000 g"),
        (lambda: to_mass([("white", 1)], "250 g"), "'250 g' was given"),
        (lambda: to_volume([("white", 1)], 100, {}), "none was given for white"),
        (lambda: to_volume([("white", 1)], 100, [40.0]), "density: 40 was given"),
        (lambda: rounded(to_mass([("white", 1)], 1), 0.0), "readability: 0 was given"),
        (lambda: rounded(to_mass([("white", 1)], 0.01), 0.1), "allowed is more than the scale's step"),
        (lambda: rounded(to_mass([("white", 1)], 10), 0.1, "guessed"), "allowed are cumulative, tared"),
        (lambda: smallest_mix(0, 0.1, 0.05), "share: 0 was given"),
        (lambda: scaled([0, 0], 100), "a sum of 0 was given"),
    ],
)
def test_what_cannot_be_poured_is_refused_in_one_sentence(call, words):
    with pytest.raises(BadEntry) as refusal:
        call()
    assert words in str(refusal.value)


def test_a_shop_that_says_nothing_lets_rounding_change_a_toner_by_a_twentieth():
    assert smallest_mix(0.005, 0.1) == smallest_mix(0.005, 0.1, 0.05) == pytest.approx(400)
    assert mix_volume([96.0, 67.0], [0.96, 1.34]) == pytest.approx(150)


@pytest.mark.parametrize("readability_g", [0, 10.1, 100])
def test_no_mixing_bench_has_a_scale_so_coarse(readability_g):
    with pytest.raises(BadEntry, match=r"readability: .* was given, allowed is a number above 0 and up to 10 g"):
        smallest_mix(0.1, readability_g)
