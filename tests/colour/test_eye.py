import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refinishlib.colour import eye
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.eye import Eye, Shown
from refinishlib.entry import BadEntry

X = np.linspace(-0.3, 1.5, 400)
GREY = np.array([50.0, 0.0, 0.0])
lab = st.tuples(st.floats(10, 95), st.floats(-40, 40), st.floats(-40, 40)).map(np.array)
step = st.tuples(st.floats(-1, 1), st.floats(-1, 1), st.floats(-1, 1)).map(np.array)


def fade(end_lab, width=0.5, x=X):
    """Signals along a straight fade from grey to another colour."""
    return eye.signals(GREY, GREY + np.clip(x / width, 0, 1)[:, None] * (np.asarray(end_lab) - GREY))


def seen(along, distance=2.0, who=eye.USUAL, x=X):
    return float(eye.together(eye.ramp(x, along, distance, who))[0])


@given(lab)
def test_no_difference_is_not_seen(colour):
    assert not eye.signals(colour, colour).any()
    assert seen(np.zeros((400, 3))) == 0


@settings(max_examples=30, deadline=None)
@given(lab, step)
def test_a_small_difference_is_seen_in_proportion_to_its_size(colour, change):
    whole, half = (eye.together(eye.edge(eye.signals(colour, colour + size * change), 2.0))[0] for size in (0.1, 0.05))
    assert whole == pytest.approx(2 * half, rel=0.03, abs=1e-6)


@settings(max_examples=30, deadline=None)
@given(lab, step)
def test_it_hardly_matters_which_side_is_called_old(colour, change):
    other = colour + 2 * change
    there, back = (eye.together(eye.edge(eye.signals(*pair), 2.0))[0] for pair in ((colour, other), (other, colour)))
    assert there == pytest.approx(back, rel=0.1, abs=0.02)


@given(st.floats(0.5, 4))
def test_half_as_large_from_half_as_far_looks_the_same(factor):
    near = Eye(panel_m=eye.PANEL_M * factor)
    along = fade([52.0, 1.0, -1.0])
    assert seen(along, 2.0 * factor, near, X * factor) == pytest.approx(seen(along), rel=1e-6)


def test_finer_stations_change_nothing():
    """Gratings finer than the stations must not alias: without the sinc this is off by a factor of ten at 1 m."""
    fine = np.linspace(-0.3, 1.5, 3200)
    for distance in (1.0, 2.0, 5.0):
        coarse, exact = (seen(fade([52.0, 0.0, 2.0], 0.4, x), distance, x=x) for x in (X, fine))
        assert coarse == pytest.approx(exact, rel=0.01)


def test_a_ramp_of_half_a_millimetre_is_an_edge():
    fine = np.linspace(-0.3, 1.5, 3600)
    along = np.where(fine[:, None] > 0.5, eye.signals(GREY, [51.0, 1.0, 1.0]), 0.0)
    hard = eye.edge(eye.signals(GREY, [51.0, 1.0, 1.0]), [1.0, 2.0, 5.0])
    assert eye.ramp(fine, along, [1.0, 2.0, 5.0]) == pytest.approx(hard, rel=0.02)


def test_length_hides_lightness_well_and_colour_hardly():
    lighter, yellower = [52.0, 0.0, 0.0], [50.0, 0.0, 2.0]
    assert ciede2000(GREY, lighter) == pytest.approx(ciede2000(GREY, yellower), rel=0.2)
    of_lightness, of_colour = (seen(fade(end, 0.02)) / seen(fade(end, 0.8)) for end in (lighter, yellower))
    assert of_lightness > 4 > 2 > of_colour > 1


def test_lightness_is_worst_from_afar_and_colour_from_nearby():
    lightness, colour = (eye.ramp(X, fade(end, 0.8), [1.0, 5.0])[:, i] for end, i in (([52, 0, 0], 0), ([50, 0, 2], 2)))
    assert lightness[0] < lightness[1]
    assert colour[0] > colour[1]


def test_the_clears_own_mirror_hides_steps_in_a_black():
    black, step = np.array([2.0, 0.0, 0.0]), np.array([3.0, 0.0, 0.0])
    veiled, bare = (abs(eye.signals(black, step, veil=veil)[0]) for veil in (0.04, 0.0))
    assert veiled < bare / 5


def test_no_length_hides_six_percent_between_the_ends():
    ends = np.array([[0.0, 0, 0], [2 * np.arctanh(0.06), 0, 0]])
    assert float(eye.end_to_end(ends, Eye(care=1.0))) == pytest.approx(1)
    assert float(eye.end_to_end(ends, Eye(care=2.0))) == pytest.approx(0.5)


def test_a_gap_helps_lightness_and_not_colour():
    closed, open_ = (eye.edge([0.05, 0.05, 0.05], 2.0, gap=gap)[0] for gap in (False, True))
    assert closed / open_ == pytest.approx([eye.GAP_FACTOR, 1, 1])


def logistic(strength):
    return 1 / (1 + strength**-4.5)


def weibull(strength):
    return 1 - np.exp2(-(strength**3))


def trial(who, asked, seed, answers, guessed=1 / 3):
    dice, shown = np.random.default_rng(seed), []
    for distance in (1.0, 3.0, 5.0):
        for width in (0.05, 0.3, 1.0):
            for size in (0.5, 1.0, 2.0, 4.0, 8.0):
                along = fade([50 + size, 0, 0], width)
                right = guessed + (1 - guessed) * answers(seen(along, distance, who))
                shown.append(Shown(X, along, distance, int(dice.binomial(asked, right)), asked))
    return shown


@pytest.mark.parametrize("who", [Eye(care=1.0), Eye(care=2.5, panel_m=0.3), Eye(care=1.5, panel_m=1.2)])
def test_a_schools_own_trial_tells_what_its_eyes_find(who):
    """The answers follow a logistic curve, not the one that is fitted. Care and strip replace each other in part, so
    what counts is what the two together say of a ramp."""
    found = eye.refit(trial(who, 30, 1, logistic))
    for width, distance in ((0.1, 2.0), (0.5, 1.0), (0.5, 5.0)):
        along = fade([52, 0, 0], width)
        assert seen(along, distance, found.eye) == pytest.approx(seen(along, distance, who), rel=0.35)


def test_the_care_lies_within_its_limits_about_as_often_as_they_say():
    """The answers follow the very curve that is fitted: this holds the limits, not the model."""
    inside = 0
    for seed in range(30):
        one = eye.refit(trial(Eye(), 4, seed, weibull), strips_m=[eye.PANEL_M])
        inside += one.care_low <= eye.CARE <= one.care_high
    assert 25 <= inside <= 30


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: eye.refit(trial(Eye(), 4, 0, weibull), strips_m=[]), "strips: none"),
        (lambda: Eye(care=0), "care of the eye: 0"),
        (lambda: Eye(panel_m=0), "height of the panel: 0"),
        (lambda: Eye(luminance=-1), "luminance: -1"),
        (lambda: Eye(veil=2), "veil: 2"),
        (lambda: Eye(gap_factor=0.5), "gap factor: 0.5"),
        (lambda: eye.sensitivity(1.0, 1.0, "hue"), "channel: 'hue'"),
        (lambda: eye.edge([0.1, 0, 0], 0.1), "distance: 0.1"),
        (lambda: eye.ramp(X, fade([51.0, 0, 0]), np.inf), "distance: inf"),
        (lambda: eye.refit([Shown(X, fade([51.0, 0, 0]), 2.0, 3, 5)]), "answers: 5 were given"),
        (lambda: eye.refit([Shown(X, fade([51.0, 0, 0]), 2.0, 40, 40)]), "answers: 40 right of 40"),
        (lambda: eye.refit([Shown(X, fade([51.0, 0, 0]), 2.0, 50, 40)]), "no more than asked"),
        (lambda: eye.refit(trial(Eye(), 4, 0, weibull), guessed=1.0), "share guessed: 1"),
    ],
)
def test_a_bad_entry_is_one_sentence(call, words):
    with pytest.raises(BadEntry, match=words):
        call()
