"""The eye trainer: thresholds found again on simulated eyes, pairs that are what they say, screens that cannot."""

import numpy as np
import pytest
from paints import paint_of

from refinishlib.colour import predict, trainer, verdict
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.reading import from_lab
from refinishlib.colour.trainer import Trial
from refinishlib.entry import BadEntry
from refinishlib.picture import dither
from refinishlib.picture.screen import decode

RED = from_lab({15: (45.0, 40.0, 20.0), 45: (40.0, 38.0, 18.0), 110: (30.0, 30.0, 12.0)})
GREY = from_lab({45: (60.0, 0.5, -1.0)})


def run_of(eye, trials, rng):
    """Answers of an eye: `eye` gives the chance to be right for a size."""
    done = ()
    for _ in range(trials):
        size = trainer.next_size(done)
        done = (*done, Trial(size, bool(rng.random() < eye(size))))
    return done


def weibull(true, steepness=trainer.STEEPNESS, slips=0.01):
    return lambda size: slips / 2 + (1 - slips) * (1 - 0.5 * np.exp(-((size / true) ** steepness)))


@pytest.mark.parametrize("true", [0.3, 0.8, 2.5])
def test_a_known_threshold_is_found_again(true):
    rng = np.random.default_rng(1)
    found = [trainer.threshold(run_of(weibull(true), 60, rng)) for _ in range(120)]
    decades = np.log10([one.size for one in found]) - np.log10(true)
    assert abs(decades.mean()) < 0.02 and decades.std() < 0.08


def test_the_interval_holds_the_true_threshold_as_often_as_it_says():
    rng = np.random.default_rng(2)
    inside = 0
    for _ in range(300):
        true = 10 ** rng.normal(0, 0.3)
        found = trainer.threshold(run_of(weibull(true), 40, rng))
        inside += found.low <= true <= found.high
    assert 0.91 < inside / 300 < 0.985


@pytest.mark.parametrize(
    "eye",
    [
        weibull(0.8, steepness=2.0),
        weibull(0.8, slips=0.05),
        # Another eye than the procedure's: a normal distribution over sizes, right in 82 of 100 at the same size.
        lambda size: 0.5 + 0.5 * (1 - np.exp(-((size / 0.8) ** 2) * 1.0)),
    ],
    ids=["a flat slope", "slips", "another curve"],
)
def test_an_eye_that_is_not_as_assumed_is_still_found_within_a_third(eye):
    rng = np.random.default_rng(3)
    found = np.median([trainer.threshold(run_of(eye, 60, rng)).size for _ in range(120)])
    assert 0.6 < found < 1.06


def test_it_settles_sooner_than_a_ladder_of_fixed_sizes_and_says_when():
    rng = np.random.default_rng(4)
    adaptive = [trainer.threshold(run_of(weibull(0.5), 60, rng)) for _ in range(60)]
    ladder = []
    for _ in range(60):
        sizes = np.tile(np.geomspace(0.1, 10, 10), 6)
        ladder.append(trainer.threshold([Trial(s, bool(rng.random() < weibull(0.5)(s))) for s in sizes]))

    def miss(found):
        return np.std(np.log10([one.size for one in found]))

    assert miss(adaptive) < 0.8 * miss(ladder)
    assert np.mean([one.settled for one in adaptive]) > np.mean([one.settled for one in ladder])


def test_who_guesses_is_not_told_a_threshold_that_flatters():
    rng = np.random.default_rng(5)
    found = [trainer.threshold(run_of(lambda size: 0.5, 60, rng)).size for _ in range(60)]
    assert np.median(found) > 3


@pytest.mark.parametrize("axis", trainer.AXES)
def test_a_pair_is_off_by_its_size_and_only_its_own_way(axis):
    for seed in range(6):
        pair = trainer.next_pair(trainer.begin(axis, RED, seed=seed))
        apart = ciede2000(pair.panel_lab, pair.card_lab)
        assert apart[-1] == pytest.approx(pair.size)
        if axis == "flop":
            assert (apart[:2] == 0).all()
        else:
            assert apart == pytest.approx(pair.size)
        words = verdict.direction(pair.panel_lab[-1], pair.card_lab[-1])
        assert pair.right.split()[0] in words


def test_both_answers_come_up_and_the_same_seed_gives_the_same_pairs():
    right = [trainer.next_pair(trainer.begin("hue", RED, seed=seed)).right for seed in range(40)]
    assert 10 < right.count("yellower") < 30
    again = [trainer.next_pair(trainer.begin("hue", RED, seed=seed)).right for seed in range(40)]
    assert right == again


def test_a_grey_has_a_hue_to_train_too():
    pair = trainer.next_pair(trainer.begin("hue", GREY))
    assert pair.answers == ("yellower", "bluer")


def test_right_answers_make_it_harder_and_wrong_ones_easier():
    run = trainer.begin("lightness", GREY, seed=9)
    sizes = []
    for _ in range(8):
        pair = trainer.next_pair(run)
        sizes.append(pair.size)
        run = trainer.answered(run, pair.right)
    assert sizes == sorted(sizes, reverse=True)
    wrong = {"lighter": "darker", "darker": "lighter"}[trainer.next_pair(run).right]
    assert trainer.next_pair(trainer.answered(run, wrong)).size > sizes[-1]
    assert trainer.threshold(run.trials).trials == 8


@pytest.mark.parametrize(
    ("ask", "sentence"),
    [
        (lambda: trainer.begin("gloss", RED), "axis: 'gloss' was given, allowed are lightness, hue, flop"),
        (lambda: trainer.begin("flop", GREY), "45 was given, allowed for the flop is one of 75 and 110"),
        (lambda: trainer.answered(trainer.begin("hue", RED), "nicer"), "answer: 'nicer' was given, allowed are"),
        (lambda: trainer.off_by([0.5, 0.0, 0.0], "lightness", -5.0), "size: 5 was given, allowed is what leaves L\\*"),
        (lambda: trainer.off_by([50.0, 0.0, 5.1], "hue", 9.9), "size: 9.9 was given, allowed for the hue"),
        (lambda: dither.patch([50, 0, 0], 4, 100), "height: 4 was given"),
        (lambda: dither.patch([50, 0], 40, 100), "CIELAB: 2 values were given"),
    ],
)
def test_a_bad_entry_is_refused_in_one_sentence(ask, sentence):
    with pytest.raises(BadEntry, match=sentence):
        ask()


# --- eight bits -------------------------------------------------------------------------------------------------------


def small_differences():
    rng = np.random.default_rng(6)
    for _ in range(60):
        lab = rng.uniform((30, -15, -15), (80, 15, 15))
        yield lab, trainer.off_by(lab, "lightness" if rng.random() < 0.5 else "hue", 0.5)


def test_a_small_difference_drawn_plainly_shows_as_something_else_and_dithered_as_itself():
    plain = [float(dither.shown(a, b, dithered=False)) / 0.5 for a, b in small_differences()]
    dithered = [float(dither.shown(a, b)) / 0.5 for a, b in small_differences()]
    assert min(plain) < 0.6 and max(plain) > 1.5
    assert max(np.abs(np.array(dithered) - 1)) < 1e-6


def test_a_dithered_patch_has_the_right_light_and_only_two_levels_beside_each_other():
    for lab in ([35.2, 4.0, -6.0], [72.31, -3.0, 8.0]):
        pixels = dither.patch(lab, 60, 80, seed=2)
        np.testing.assert_allclose(decode(pixels).mean(axis=(0, 1)), dither.linear(lab), atol=2e-5)
        for channel in range(3):
            levels = np.unique(pixels[..., channel])
            assert len(levels) <= 2 and np.ptp(levels) <= 1
    assert (dither.patch([50, 0, 0], 60, 80, seed=1) != dither.patch([50, 0, 0], 60, 80, seed=2)).any()


def test_it_says_what_a_screen_cannot_show():
    face = predict.lab(paint_of("Millrace Silver, as built"))[0, 0]
    assert "brighter than a white" in dither.cannot_show(face, face)[0]
    lost = dither.cannot_show([50.0, 90.0, 60.0], trainer.off_by([50.0, 90.0, 60.0], "hue", 1.0))
    assert "stronger than the screen's own" in lost[0] and "judge it on panels" in lost[1]
    assert dither.cannot_show([50.0, 10.0, 5.0], [50.5, 10.0, 5.0]) == ()
