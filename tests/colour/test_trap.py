import numpy as np
import pytest
from paints import SHOP, lab, mixed

from refinishlib.colour import predict, trap
from refinishlib.colour.conditions import Conditions
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.lamp import lamp
from refinishlib.colour.metamerism import metamerism_index
from refinishlib.entry import BadEntry

NAMES = ("white", "soft black", "bright blue", "violet", "yellow oxide", "clean yellow", "green", "rose", "red oxide")
TONERS = SHOP.picked(*NAMES)


def named(mix):
    return [toner.name for toner, _ in mix], [grams for _, grams in mix]


@pytest.mark.parametrize("target", [(45.0, 0.0, 0.0), (35.0, 15.0, 10.0)])
def test_every_match_is_exact_by_day_and_has_four_toners(target):
    shares = trap.matches(TONERS, target)
    assert len(shares) >= 5
    assert ((shares > 0).sum(axis=1) == trap.TONERS_EACH).all()
    found = lab(NAMES, shares, angles_deg=[45], film_um=np.inf)[:, 0, 0]
    assert np.abs(found - target).max() < 1e-4


@pytest.mark.parametrize("readability", [0.1, 0.05])
def test_two_pourable_mixes_match_by_day_and_part_under_both_tubes(readability):
    """Below 0.3 under D65 and above 2 under FL2 and under FL11, at every angle, worked out again from the grams."""
    made = trap.build(TONERS, readability_g=readability)
    for mix in (made.first, made.second):
        grams = np.array([mass for _, mass in mix])
        assert np.allclose(grams / readability, np.round(grams / readability), atol=1e-6)
        assert (grams >= readability).all()
    one, other = (lab(*named(mix), lamps=["D65", "FL2", "FL11"], film_um=np.inf) for mix in (made.first, made.second))
    apart = ciede2000(one, other)
    assert apart[0].max() < 0.3
    assert apart[1:].min() > 2
    assert np.allclose(apart, made.difference)


def test_it_is_metamerism_and_not_a_bad_match():
    made = trap.build(TONERS)
    one, other = (
        predict.reflectance(mixed(*named(mix)), Conditions(angles_deg=(45,), film_um=np.inf))[0]
        for mix in (made.first, made.second)
    )
    assert metamerism_index(one, other, judge_under=lamp("FL11")) > 2
    assert metamerism_index(one, other, judge_under=lamp("D50")) < 0.5 * metamerism_index(
        one, other, judge_under=lamp("FL11")
    )


def test_with_all_toners_of_the_shop():
    made = trap.build([toner for toner in SHOP.toners if toner.kind == "solid"], (60.0, 0.0, 5.0))
    assert made.difference[0].max() < 0.3
    assert made.difference[1:].min() > 2


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: trap.build(TONERS, (99.0, 0, 0)), "target: 99, 0, 0 was given"),
        (lambda: trap.build(TONERS[:3]), "toners: 3 different"),
        (lambda: trap.build((*TONERS, TONERS[0])), "toners: 9 different"),
        (lambda: trap.build(TONERS, (np.nan, 0, 0)), "target: nan"),
        (lambda: trap.build(TONERS, match_within=1e-4), "part beyond 2"),
        (lambda: trap.build(TONERS, mass_g=0), "mass of the mix: 0"),
    ],
)
def test_a_bad_entry_is_one_sentence(call, words):
    with pytest.raises(BadEntry, match=words):
        call()


def test_a_balance_too_coarse_for_a_match_is_told_and_no_worse_match_is_sold():
    names = ["white", "bright blue", "violet", "yellow oxide", "clean yellow", "green", "rose"]
    with pytest.raises(BadEntry, match=r"two mixes match within 0\.3 and part beyond 2\."):
        trap.build(SHOP.picked(*names), mass_g=20.0, readability_g=3.0)
