from itertools import product

import numpy as np
import pytest
from paints import SHOP

from refinishlib.colour import pour_error
from refinishlib.entry import BadEntry
from refinishlib.mixing.scale import smallest_mix, to_mass

BARN = SHOP.colour("Chalk Barn, as built")
FERRY = SHOP.colour("Night Ferry, as built")


def test_an_exact_pour_costs_nothing_whatever_its_size():
    shares = np.array(BARN.weights)
    assert pour_error.consequence(BARN, [1.3 * shares, 7 * shares]).max() < 1e-6


def test_the_same_slip_is_accepted_where_nobody_sees_it_and_rescued_where_everybody_does():
    """Ten percent too much of the strongest toner: in a black it vanishes, in a white it does not."""
    black = [2 * part * (1.1 if name == "jet black" else 1) for name, part in FERRY.parts]
    white = [2 * part * (1.6 if name == "soft black" else 1) for name, part in BARN.parts]
    assert pour_error.accept_or_rescue(FERRY, black, 200).word == "accept"
    choice = pour_error.accept_or_rescue(BARN, white, 200)
    assert choice.word == "rescue"
    assert choice.rescued_difference.max() < 1e-6 < choice.accepted_difference.max()
    assert choice.rescued.total_g > choice.accepted.total_g
    assert f"{choice.accepted_difference.max():.2f}" in choice.why


def test_a_cup_that_is_too_small_leaves_some_of_the_difference_and_says_so():
    white = [2 * part * (1.6 if name == "soft black" else 1) for name, part in BARN.parts]
    choice = pour_error.accept_or_rescue(BARN, white, 200, cup_g=240)
    assert 0 < choice.rescued_difference.max() < choice.accepted_difference.max()
    assert "too small" in choice.why


@pytest.mark.parametrize("way", ["cumulative", "tared"])
def test_a_finer_balance_or_a_larger_mix_scatters_in_proportion(way):
    base = pour_error.scatter(BARN, 200, 0.1, way=way)
    finer = pour_error.scatter(BARN, 200, 0.01, way=way)
    larger = pour_error.scatter(BARN, 2000, 0.1, way=way)
    assert base.typical <= base.nearly_always <= base.difference[-1]
    assert finer.nearly_always == pytest.approx(base.nearly_always / 10, rel=0.25)
    assert larger.nearly_always == pytest.approx(finer.nearly_always, rel=0.25)


def test_the_smallest_mix_by_colour_is_just_good_enough():
    mass = pour_error.smallest_mix_by_colour(BARN, 0.1)
    assert pour_error.scatter(BARN, mass, 0.1).nearly_always <= pour_error.ALLOWED
    assert pour_error.scatter(BARN, mass - pour_error.MASS_STEP_G, 0.1).nearly_always > pour_error.ALLOWED
    assert pour_error.smallest_mix_by_colour(FERRY, 0.1) < mass
    assert pour_error.smallest_mix_by_colour(BARN, 0.1, way="tared") <= mass


def test_the_smallest_mix_by_colour_and_by_share_are_named_so_and_one_of_them_is_the_decision():
    """Each was called the smallest mix: 5 to 80 g by colour, 22 to 400 g by share."""
    for formula in (BARN, FERRY, SHOP.colour("Millrace Silver, as built")):
        for_a_card, recipe = (pour_error.smallest_mix(formula, 0.1, recipe_is_kept=kept) for kept in (False, True))
        assert for_a_card.by_colour_g == pour_error.smallest_mix_by_colour(formula, 0.1) == for_a_card.mass_g
        smallest = min(formula.weights) / sum(formula.weights)
        assert recipe.by_share_g == pytest.approx(smallest_mix(smallest, 0.1))
        assert recipe.mass_g == recipe.by_share_g > for_a_card.mass_g
        assert f"{recipe.by_share_g:.0f} g" in for_a_card.why and "Do not carry" in for_a_card.why
    # What the decision for a recipe is about: carried over to 200 g, the small mix's error comes along.
    small = pour_error.smallest_mix(FERRY, 0.1)
    step = 0.1 / small.mass_g * 200
    assert pour_error.scatter(FERRY, 200, step).nearly_always > 5 * pour_error.scatter(FERRY, 200, 0.1).nearly_always


def test_bad_entries():
    with pytest.raises(BadEntry, match="way of pouring"):
        pour_error.scatter(BARN, 100, 0.1, way="guessing")
    with pytest.raises(BadEntry, match="allowed difference: -1"):
        pour_error.accept_or_rescue(BARN, [96, 2, 1, 0], 100, allowed=-1)
    with pytest.raises(BadEntry, match="readability"):
        pour_error.smallest_mix_by_colour(BARN, 10.0, allowed=1e-3)


def test_the_dice_stay_within_half_a_step_of_each_reading_and_19_of_20_is_the_95th_percentile():
    """Corners of the worst case: a reading is half a step high or low, which no throw may leave."""
    formula = SHOP.colour("Chalk Barn, as built")
    readings = np.array(to_mass(formula.parts, 100).cumulative_g)
    corners = readings + 0.05 * np.array(list(product((-1, 1), repeat=len(readings))))
    worst = pour_error.consequence(formula, np.diff(corners, prepend=0.0, axis=-1)).max()
    played = pour_error.scatter(formula, 100, 0.1)
    assert 0.6 * worst < played.difference.max() <= worst * (1 + 1e-6)
    assert played.nearly_always == pytest.approx(np.percentile(played.difference, 95))
    assert played.typical == pytest.approx(np.percentile(played.difference, 50))
