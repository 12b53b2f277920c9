"""Words of a painter, the chart of toners and the next pair of the eye trainer, each beside a plain way.

The plain way of words is to try colours by lot until the verdict says just what was said: what it finds on the mean is
what `from_words` gives at once. The plain way of a chart is one prediction for each toner.
"""

import numpy as np
import pytest
from paints import SHOP, lab, mixed

from refinishlib.colour import effects, predict, trainer, verdict, words
from refinishlib.colour.reading import from_lab

REFERENCE = np.array([60.0, 1.0, -2.0])
SAID = "darker and a little yellower"
NAMES, CUP = ("medium silver", "soft black", "deep blue"), np.array([92.0, 3.0, 5.0])


def by_lot(count=1500):
    rng = np.random.default_rng(8)
    kept = [
        tried for tried in REFERENCE + rng.uniform(-2.5, 2.5, (count, 3)) if verdict.direction(REFERENCE, tried) == SAID
    ]
    return np.mean(kept, axis=0), np.std(kept, axis=0)


def test_words_at_one_angle(benchmark):
    lab_found, _ = benchmark(words.sample, REFERENCE, words.sizes(SAID))
    assert verdict.direction(REFERENCE, lab_found) == SAID


def test_words_by_lot(benchmark):
    middle, _ = benchmark.pedantic(by_lot, rounds=1)
    found, _ = words.sample(REFERENCE, words.sizes(SAID))
    np.testing.assert_allclose(found, middle, atol=0.35)


def test_a_sentence_over_five_angles(benchmark):
    card = from_lab(dict(zip((15, 25, 45, 75, 110), lab(NAMES, CUP)[0], strict=True)))
    assert benchmark(words.from_words, card, "a little lighter, flop darker, a touch yellower").lab.shape == (5, 3)


def test_chart_of_all_toners(benchmark):
    assert len(benchmark(effects.chart, SHOP.picked(*NAMES), CUP, others=SHOP.toners)) == len(SHOP.toners)


def test_chart_one_by_one(benchmark):
    def plainly():
        before = predict.lab(mixed(NAMES, CUP))[0]
        names = [*NAMES, *(toner.name for toner in SHOP.toners if toner.name not in NAMES)]
        cup = np.append(CUP, np.zeros(len(names) - len(NAMES)))
        return {
            name: predict.lab(mixed(names, cup + np.eye(len(names))[i] * CUP.sum() / 100))[0] - before
            for i, name in enumerate(names)
        }

    found = benchmark(plainly)
    for effect in effects.chart(SHOP.picked(*NAMES), CUP, others=SHOP.toners):
        np.testing.assert_allclose(effect.shift, found[effect.toner.name], atol=1e-9)


@pytest.mark.parametrize("answers", [0, 60])
def test_next_size_of_the_trainer(benchmark, answers):
    trials = tuple(trainer.Trial(0.5 + 0.01 * i, i % 4 != 0) for i in range(answers))
    assert 0.1 <= benchmark(trainer.next_size, trials) <= 10
