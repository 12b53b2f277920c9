import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refinishlib.entry import BadEntry
from refinishlib.mixing.ratio import by_ratio, by_ratio_from

NAMES = ("base", "hardener", "reducer")
three = st.tuples(*[st.floats(0.1, 10)] * 3)
densities = st.tuples(*[st.floats(0.7, 2)] * 3)


@settings(max_examples=60, deadline=None)
@given(three, densities, st.floats(10, 5000))
def test_volumes_keep_the_ratio_and_grams_follow_the_density(parts, density, ready_ml):
    mix = by_ratio(NAMES, parts, density, ready_ml)
    assert mix.total_ml == pytest.approx(ready_ml)
    for k in range(3):
        assert mix.own_ml[k] * parts[0] == pytest.approx(mix.own_ml[0] * parts[k])
        assert mix.pour.own_g[k] == pytest.approx(mix.own_ml[k] * density[k])
    assert mix.pour.cumulative_g[-1] == pytest.approx(sum(mix.pour.own_g))


@settings(max_examples=60, deadline=None)
@given(three, densities, st.floats(10, 2000))
def test_starting_from_what_stands_on_the_scale_is_the_same_mix(parts, density, ready_ml):
    mix = by_ratio(NAMES, parts, density, ready_ml)
    again = by_ratio_from(NAMES, parts, dict(zip(NAMES, density, strict=True)), mix.pour.own_g[0])
    assert again.own_ml == pytest.approx(mix.own_ml)
    assert again.pour.cumulative_g == pytest.approx(mix.pour.cumulative_g)


def test_four_two_one_by_hand():
    # 700 mL at 4:2:1 is 400 + 200 + 100 mL; at 0.98, 1.07 and 0.87 g/mL that is 392 + 214 + 87 g.
    mix = by_ratio(NAMES, (4, 2, 1), (0.98, 1.07, 0.87), 700)
    assert mix.own_ml == pytest.approx((400, 200, 100))
    assert mix.pour.own_g == pytest.approx((392, 214, 87))
    assert mix.pour.cumulative_g == pytest.approx((392, 606, 693))


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: by_ratio([], [], [], 100), "no component"),
        (lambda: by_ratio(["a", "a"], [1, 1], [1, 1], 100), "given twice"),
        (lambda: by_ratio(["a", "b"], [1], [1, 1], 100), "1 values were given"),
        (lambda: by_ratio(["a", "b"], [1, 0], [1, 1], 100), "parts of b: 0 was given"),
        (lambda: by_ratio(["a", "b"], [1, 1], {"a": 1}, 100), "none was given for b"),
        (lambda: by_ratio(["a"], [1], [1], 0), "ready-to-spray volume: 0 was given"),
        (lambda: by_ratio(["a"], [1], [1], 1e6), "mass of the mix"),
    ],
)
def test_what_cannot_be_mixed_is_refused_in_one_sentence(call, words):
    with pytest.raises(BadEntry) as refusal:
        call()
    assert words in str(refusal.value)
