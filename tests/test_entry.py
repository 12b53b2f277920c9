"""What counts as a number at the edge."""

import re

import numpy as np
import pytest

from refinishlib.entry import BadEntry, number, numbers, whole


@pytest.mark.parametrize("given", [True, False, None, "3", b"3", float("nan"), float("inf"), [3], 10**400])
def test_only_a_finite_number_is_a_number(given):
    with pytest.raises(BadEntry, match=r"^film: .* was given, allowed is a number\.$"):
        number("film", given)


@pytest.mark.parametrize(("given", "above_low", "fine"), [(0, False, True), (0, True, False), (9, True, True)])
def test_the_ends_belong_to_the_range_but_for_a_low_one_that_is_left_out(given, above_low, fine):
    if fine:
        assert number("coats", given, low=0, high=9, above_low=above_low) == given
    else:
        with pytest.raises(BadEntry, match="allowed is a number above 0 and up to 9"):
            number("coats", given, low=0, high=9, above_low=above_low)


def test_many_numbers_keep_to_the_same_rules():
    assert numbers("film", np.array([0.0, 9.0]), low=0, high=9).tolist() == [0.0, 9.0]
    for wrong in ([-0.1], [9.1], [np.nan], ["3"], [[1.0], [2.0, 3.0]]):
        with pytest.raises(BadEntry, match=r"^film: "):
            numbers("film", wrong, low=0, high=9)
    with pytest.raises(BadEntry, match=r"coats: 2\.5 was given, allowed is a whole number from 1 to 9"):
        whole("coats", 2.5, low=1, high=9)


@pytest.mark.parametrize(("given", "words"), [(-5.5, "-5.5"), (123456789.0, "123 456 789"), (1e16, "1 x 10^16")])
def test_a_refused_number_is_written_as_people_write_it(given, words):
    with pytest.raises(BadEntry, match="^" + re.escape(f"humidity: {words} was given")):
        number("humidity", given, low=0, high=100)
