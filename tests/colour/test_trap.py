import numpy as np
import pytest

from refinishlib.colour import predict, trap
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.metamerism import metamerism_index
from refinishlib.entry import BadEntry

NAMES = ("white", "soft black", "bright blue", "violet", "yellow oxide", "clean yellow", "green", "rose", "red oxide")


@pytest.mark.parametrize("target", [(45.0, 0.0, 0.0), (35.0, 15.0, 10.0)])
def test_every_match_is_exact_by_day_and_has_four_toners(target):
    shares = trap.matches(target, names=NAMES)
    assert len(shares) >= 5
    assert ((shares > 0).sum(axis=1) == trap.TONERS_EACH).all()
    lab = predict.lab(NAMES, shares, angles_deg=[45], film_um=np.inf)[:, 0, 0]
    assert np.abs(lab - target).max() < 1e-4


@pytest.mark.parametrize("readability", [0.1, 0.05])
def test_two_pourable_mixes_match_by_day_and_part_under_both_tubes(readability):
    """Below 0.3 under D65 and above 2 under FL2 and under FL11, at every angle, worked out again from the grams."""
    made = trap.build(names=NAMES, readability_g=readability)
    for mix in (made.first, made.second):
        grams = np.array([mass for _, mass in mix])
        assert np.allclose(grams / readability, np.round(grams / readability), atol=1e-6)
        assert (grams >= readability).all()
    one, other = (
        predict.lab(*zip(*mix, strict=True), lamps=["D65", "FL2", "FL11"], film_um=np.inf)
        for mix in (made.first, made.second)
    )
    apart = ciede2000(one, other)
    assert apart[0].max() < 0.3
    assert apart[1:].min() > 2
    assert np.allclose(apart, made.difference)


def test_it_is_metamerism_and_not_a_bad_match():
    made = trap.build(names=NAMES)
    one, other = (
        predict.reflectance(*zip(*mix, strict=True), angles_deg=[45], film_um=np.inf)[0]
        for mix in (made.first, made.second)
    )
    assert metamerism_index(one, other, judge_under="FL11") > 2
    assert metamerism_index(one, other, judge_under="D50") < 0.5 * metamerism_index(one, other, judge_under="FL11")


def test_with_all_toners_of_the_shop():
    made = trap.build((60.0, 0.0, 5.0))
    assert made.difference[0].max() < 0.3
    assert made.difference[1:].min() > 2


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: trap.build((99.0, 0, 0), names=NAMES), "target: 99, 0, 0 was given"),
        (lambda: trap.build(names=NAMES[:3]), "toners: 3 different"),
        (lambda: trap.build(names=(*NAMES, "mustard")), "toner: 'mustard'"),
        (lambda: trap.build((np.nan, 0, 0)), "target: nan"),
        (lambda: trap.build(names=NAMES, match_within=1e-4), "part beyond 2"),
        (lambda: trap.build(names=NAMES, mass_g=0), "mass of the mix: 0"),
    ],
)
def test_a_bad_entry_is_one_sentence(call, words):
    with pytest.raises(BadEntry, match=words):
        call()
