import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from refinishlib.entry import BadEntry
from refinishlib.mixing.rescue import accept, from_readings, price_per_gram, rescue
from refinishlib.mixing.scale import to_mass


def named(values):
    return [(f"toner {k}", value) for k, value in enumerate(values)]


@st.composite
def slips(draw):
    """A formula, a wanted mass, and a cup in which some toners are poured, short, right or over."""
    values = draw(st.lists(st.floats(0.5, 100), min_size=2, max_size=7))
    wanted = draw(st.floats(50, 2000))
    factors = draw(st.lists(st.floats(0, 1.6), min_size=len(values), max_size=len(values)))
    own = np.asarray(to_mass(named(values), wanted).own_g)
    return named(values), (own * factors).tolist(), wanted


@settings(max_examples=60, deadline=None)
@given(slips())
def test_a_rescue_restores_every_ratio_and_never_takes_paint_out(slip):
    parts, in_cup, wanted = slip
    plan = rescue(parts, in_cup, wanted)
    assert plan.fits and plan.total_g == pytest.approx(plan.needed_g)
    assert min(plan.add_g) >= 0
    assert plan.own_g == pytest.approx(np.add(plan.in_cup_g, plan.add_g), rel=1e-12)
    assert plan.own_g == pytest.approx(to_mass(parts, plan.total_g).own_g, rel=1e-9)
    assert np.abs(plan.share_error_percent).max() < 1e-9
    assert plan.reading_g[-1] == pytest.approx(plan.total_g)
    assert list(plan.reading_g) == sorted(plan.reading_g)


@settings(max_examples=60, deadline=None)
@given(slips())
def test_a_rescue_is_never_larger_than_it_must_be(slip):
    parts, in_cup, wanted = slip
    plan = rescue(parts, in_cup, wanted)
    assert plan.total_g >= wanted * (1 - 1e-12)
    # Either nothing went over and the job's amount is enough, or one toner is already all in and sets the total.
    smaller = np.asarray(to_mass(parts, plan.total_g * 0.999).own_g)
    assert plan.total_g == pytest.approx(wanted) or (smaller < np.asarray(in_cup) * (1 - 1e-9)).any()


@settings(max_examples=60, deadline=None)
@given(slips(), st.floats(0.01, 1))
def test_a_rescue_within_the_cup_fills_it_and_leaves_the_smallest_error(slip, room):
    parts, in_cup, wanted = slip
    whole = rescue(parts, in_cup, wanted)
    poured = sum(in_cup)
    cup = poured + room * (whole.total_g - poured)
    assume(cup > 0)
    plan = rescue(parts, in_cup, wanted, cup_g=cup)
    assert min(plan.add_g) >= 0
    assert plan.total_g == pytest.approx(min(cup, whole.total_g), rel=1e-9)
    # A cup that is full to the last hair may count either way.
    assert plan.fits == (plan.needed_g <= cup) or plan.needed_g == pytest.approx(cup, rel=1e-9)
    # Toners that still get something all stand at the same level, and none of the others is below it.
    level = np.asarray(plan.own_g) / np.asarray(to_mass(parts, 1).own_g)
    topped = np.asarray(plan.add_g) > 1e-9 * plan.total_g
    if topped.any():
        assert level[topped] == pytest.approx(np.full(topped.sum(), level[topped].min()), rel=1e-6)
        assert level.min() >= level[topped].min() * (1 - 1e-6)
    # No other way to spend the same paint leaves a smaller worst error.
    else_pour = np.asarray(plan.in_cup_g) + np.full(len(parts), (plan.total_g - poured) / len(parts))
    shares = np.asarray(to_mass(parts, 1).own_g)
    else_error = (else_pour / else_pour.sum() / shares - 1).min()
    assert min(plan.share_error_percent) / 100 >= else_error - 1e-9


@settings(max_examples=60, deadline=None)
@given(slips())
def test_accepting_pours_the_rest_as_planned(slip):
    parts, in_cup, wanted = slip
    plan = accept(parts, in_cup, wanted)
    first = to_mass(parts, wanted)
    assert plan.own_g == pytest.approx(np.maximum(in_cup, first.own_g))
    for own, share, error in zip(plan.own_g, first.shares, plan.share_error_percent, strict=True):
        assert own / plan.total_g == pytest.approx(share * (1 + error / 100))
    assert plan.total_g <= rescue(parts, in_cup, wanted).total_g * (1 + 1e-12)


@settings(max_examples=60, deadline=None)
@given(slips(), st.floats(1.0, 1.5))
def test_slipping_again_during_the_rescue_is_rescued_again(slip, factor):
    parts, in_cup, wanted = slip
    first = rescue(parts, in_cup, wanted)
    again = list(first.in_cup_g)
    again[0] += first.add_g[0] * factor + 0.5
    second = rescue(parts, again, wanted)
    assert second.total_g >= first.total_g * (1 - 1e-12)
    assert second.own_g == pytest.approx(to_mass(parts, second.total_g).own_g, rel=1e-9)


def test_an_over_pour_in_the_middle_by_hand():
    # 200 g of 60/30/10: white 120 g is in, red oxide should get 60 g and got 66 g, 10 % too much. So everything has to
    # become 10 % more: 220 g, white 132 g, jet black 22 g.
    parts = [("white", 60), ("red oxide", 30), ("jet black", 10)]
    price = {"white": 0.05, "red oxide": 0.06, "jet black": 0.08}
    plan = rescue(parts, from_readings([120, 186], 3), 200, price_per_g=price, cup_g=250)
    assert plan.add_g == pytest.approx((12, 0, 22))
    assert plan.add_g[1] == 0
    assert plan.reading_g == pytest.approx((198, 198, 220))
    assert (plan.total_g, plan.surplus_g, plan.fits) == (pytest.approx(220), pytest.approx(20), True)
    assert plan.surplus_cost == pytest.approx(12 * 0.05 + 6 * 0.06 + 2 * 0.08)
    left = accept(parts, (120, 66, 0), 200, price_per_g=price)
    assert left.total_g == pytest.approx(206)
    assert left.share_error_percent == pytest.approx([100 * (200 / 206 - 1), 100 * (66 / 206 / 0.3 - 1), -600 / 206])
    assert left.surplus_cost == pytest.approx(6 * 0.06)
    small = rescue(parts, (120, 66, 0), 200, cup_g=210)
    assert not small.fits and small.needed_g == pytest.approx(220) and small.total_g == pytest.approx(210)
    # 144 g are left for white and jet black, still six to one.
    assert small.own_g == pytest.approx((144 * 6 / 7, 66, 144 / 7))


@settings(max_examples=60, deadline=None)
@given(st.lists(st.floats(0.5, 100), min_size=2, max_size=7), st.floats(50, 2000))
def test_a_cup_that_is_just_full_fits(values, wanted):
    parts = named(values)
    own = to_mass(parts, wanted).own_g
    for in_cup in (own, (own[0], *[0.0] * (len(own) - 1))):
        plan = rescue(parts, in_cup, wanted, cup_g=wanted)
        assert plan.fits and plan.total_g == pytest.approx(wanted)
    assert accept(parts, own, wanted).fits


def test_nothing_over_is_just_the_rest_of_the_pour():
    parts = [("white", 60), ("red oxide", 40)]
    plan = rescue(parts, (50, 0), 100)
    assert plan.add_g == pytest.approx((10, 40))
    assert plan.surplus_g == 0
    assert rescue(parts, (60, 40), 100).add_g == (0, 0)


def test_readings_become_masses():
    assert from_readings([10.0, 10.3, 15.1], 4) == (10.0, 0.3, 4.8, 0.0)
    assert from_readings([10.0, 0.3], 3, tared=True) == (10.0, 0.3, 0.0)
    assert price_per_gram(62.0, 1.34) == pytest.approx(62 / 1340)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: from_readings([10, 9], 3), "allowed is the reading before it, 10 g, or more"),
        (lambda: from_readings([1, 2, 3], 2), "3 were given"),
        (lambda: from_readings([-1], 2), "reading: -1 was given"),
        (lambda: rescue([("white", 1)], [50], 100, cup_g=40), "allowed is 50 g or more, which is in it already"),
        (lambda: rescue([("white", 1)], [50, 1], 100), "in the cup: 2 values were given"),
        (lambda: rescue([("white", 1)], [float("nan")], 100), "in the cup: nan was given"),
        (lambda: accept([("white", 1)], [1], 0), "wanted mass: 0 was given"),
        (lambda: rescue([("white", 1)], [1], 10, price_per_g={"white": -1}), "price: -1 was given"),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(call, words):
    with pytest.raises(BadEntry) as refusal:
        call()
    assert words in str(refusal.value)


def test_a_pour_that_is_left_fits_only_where_nothing_went_over():
    parts = [("white", 60), ("red oxide", 40)]
    assert accept(parts, [120, 0], 200).fits and not accept(parts, [121, 0], 200).fits
