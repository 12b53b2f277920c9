"""Readings: what goes in, what is refused, averages, words and verdicts."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from paints import SHOP, reflectance

from refinishlib.colour import difference, predict, reading, tolerance, trap, verdict, weights
from refinishlib.colour.conditions import Conditions
from refinishlib.colour.lamp import lamp
from refinishlib.colour.optics import mixture
from refinishlib.colour.reading import from_lab, from_spectra
from refinishlib.colour.tolerance import EDGE, FADE, NOT_YET, Tolerance
from refinishlib.entry import BadEntry

SILVER = reflectance(["medium silver", "soft black"], [96.0, 4.0])
METALLIC = tolerance.of_kind("metallic")
LAB = st.tuples(st.floats(0, 140), st.floats(-80, 80), st.floats(-80, 80))


def test_a_metallic_face_may_read_above_the_white_tile():
    panel = from_spectra(SILVER)
    assert panel.reflectance is not None and panel.reflectance[0].max() > 1
    assert panel.lab[0, 0] > 100


def test_angles_come_out_rising_whatever_the_order():
    mixed = from_spectra(SILVER[[2, 0, 4]], [45, 15, 110])
    assert mixed.angles_deg == (15, 45, 110)
    np.testing.assert_allclose(mixed.lab, from_spectra(SILVER).lab[[0, 2, 4]], rtol=1e-9)
    typed = from_lab({110: (30, 0, 0), 15: (120, 1, 2)})
    assert typed.angles_deg == (15, 110)
    assert typed.lab[0].tolist() == [120, 1, 2]


def test_cielab_alone_does_all_that_needs_no_spectrum_and_refuses_the_rest_in_a_sentence():
    measured = from_spectra(SILVER)
    typed = from_lab(dict(zip(measured.angles_deg, measured.lab, strict=True)))
    assert reading.flop_index(typed) == pytest.approx(reading.flop_index(measured))
    assert verdict.compare(measured, typed, METALLIC).verdict == EDGE
    assert reading.average([typed, typed]).reflectance is None
    np.testing.assert_array_equal(reading.lab_under(typed, lamp("D65")), typed.lab)
    assert [one.name for one in reading.lamps_for(measured, typed)] == ["D65"]
    with pytest.raises(BadEntry, match="only CIELAB was given"):
        reading.lab_under(typed, lamp("A"))


@pytest.mark.parametrize(
    ("make", "sentence"),
    [
        (lambda: from_spectra(np.full((5, 30), 0.2)), "reflectance: 30 values were given, allowed are 31"),
        (lambda: from_spectra(np.full((5, 31), 300.0)), "reflectance: 300 was given, allowed is a number from 0 to 20"),
        (lambda: from_spectra(np.full((5, 31), -0.1)), "reflectance: -0.1 was given"),
        (lambda: from_spectra(np.full((5, 31), np.nan)), "reflectance: nan was given"),
        (lambda: from_spectra(np.full((4, 31), 0.2)), "reflectance: 4 spectra were given, allowed are 5"),
        (lambda: from_spectra(np.full((1, 31), 0.2), [60]), "aspecular angle: 60 was given, allowed are 15, 25"),
        (lambda: from_spectra(np.full((2, 31), 0.2), [45, 45]), "aspecular angles: none or one twice"),
        (lambda: from_lab({}), "aspecular angles: none or one twice"),
        (lambda: from_lab({45: (50, 1)}), "CIELAB at 45 degrees: 2 values were given, allowed are 3"),
        (lambda: from_lab({45: (-1, 0, 0)}), "L\\* at 45 degrees: -1 was given"),
        (lambda: from_lab({45: (50, float("nan"), 0)}), "CIELAB at 45 degrees: nan was given"),
        (lambda: reading.flop_index(from_lab({45: (50, 0, 0)})), "aspecular angle: 15 was given, allowed are 45"),
        (lambda: reading.average([]), "readings: none was given"),
    ],
)
def test_bad_entries_name_the_field_and_what_is_allowed(make, sentence):
    with pytest.raises(BadEntry, match=sentence) as refused:
        make()
    assert str(refused.value).endswith(".")
    assert "\n" not in str(refused.value)


@given(face=st.floats(0, 200), middle=st.floats(0, 200), flop=st.floats(0, 200))
def test_flop_index_is_never_nan_and_zero_without_a_flop(face, middle, flop):
    found = difference.flop_index(face, middle, flop)
    assert not np.isnan(found) and found >= 0
    assert found == 0 if face <= flop else found > 0 or face - flop < 1e-100


@given(a=LAB, b=LAB)
def test_symmetric_where_the_formula_is(a, b):
    for formula in (difference.ciede2000, difference.cie76):
        assert formula(a, b) == pytest.approx(float(formula(b, a)), abs=1e-9)
        assert formula(a, a) == 0


def test_not_symmetric_where_the_formula_is_not():
    grey, red = (50.0, 0.0, 0.0), (50.0, 30.0, 0.0)
    assert difference.cie94(grey, red) != pytest.approx(float(difference.cie94(red, grey)), abs=0.1)
    assert difference.cmc(grey, red) != pytest.approx(float(difference.cmc(red, grey)), abs=0.1)


def test_average_of_spots_is_the_mean_reflectance_and_shows_the_spread():
    rng = np.random.default_rng(2)
    spots = [from_spectra(SILVER * factor) for factor in rng.normal(1, 0.03, 6)]
    mean = reading.average(spots)
    np.testing.assert_allclose(mean.reflectance, np.mean([s.reflectance for s in spots], axis=0))
    np.testing.assert_allclose(mean.lab, weights.lab(mean.reflectance)[0])
    found = reading.spread(mean)
    assert (found.mean > 0).all() and (found.mean <= found.largest).all()
    odd = reading.average([*spots[:3], from_spectra(SILVER * 1.3), *spots[3:]])
    assert reading.spread(odd).furthest == 3
    assert reading.spread(reading.at_angles(odd, [45])).deviation.shape == (1, 3)
    with pytest.raises(BadEntry, match="single spot"):
        reading.spread(reading.average(spots[:1]))
    with pytest.raises(BadEntry, match="different angles"):
        reading.average([spots[0], from_spectra(SILVER[:1], [15])])


@pytest.mark.parametrize(
    ("step", "word"),
    [
        ((2, 0, 0), "lighter"),
        ((-2, 0, 0), "darker"),
        ((0, 1.5, 0), "redder"),
        ((0, -1.5, 0), "greener"),
        ((0, 0, 1.5), "yellower"),
        ((0, 0, -1.5), "bluer"),
    ],
)
def test_a_grey_is_described_by_its_axes(step, word):
    grey = np.array([55.0, 0.0, 0.0])
    assert verdict.direction(grey, grey + step).endswith(word)


def test_a_red_is_cleaner_or_muddier_along_its_chroma_and_turns_by_its_hue():
    red = np.array([40.0, 50.0, 20.0])
    assert verdict.direction(red, red * (1, 1.15, 1.15)).endswith("cleaner")
    assert verdict.direction(red, red * (1, 0.85, 0.85)).endswith("muddier")
    turned = np.array([40.0, 48.4, 24.0])
    assert "yellower" in verdict.direction(red, turned)
    assert verdict.direction(red, red) == "the same"


def test_words_for_face_and_flop_and_a_verdict_that_the_worst_angle_gives():
    panel = from_spectra(SILVER)
    coarser = from_spectra(reflectance(["coarse silver", "soft black"], [96.0, 4.0]))
    told = verdict.compare(panel, coarser, METALLIC)
    assert told.words[0].startswith("on the face the card is") and "lighter" in told.words[0]
    assert told.words[-1].startswith("on the flop the card is") and "darker" in told.words[-1]
    assert told.verdict == NOT_YET
    assert f"At {told.ruling.worst_deg} degrees" in told.why
    assert told.flop_index_change is not None and told.flop_index_change > 1
    same = verdict.compare(panel, panel, METALLIC)
    assert same.ruling.per_angle == (EDGE,) * 5 and same.parts_under == ()
    assert same.words[0].endswith("the same")


def test_an_average_of_spots_is_judged_like_any_reading():
    """It was a record of its own kind that the verdict did not take."""
    spots = [from_spectra(SILVER * factor) for factor in (0.98, 1.0, 1.02)]
    assert verdict.compare(reading.average(spots), from_spectra(SILVER), METALLIC).verdict == EDGE


def test_daylight_decides_and_a_pair_that_parts_elsewhere_is_said():
    made = trap.build(SHOP.picked("white", "bright blue", "violet", "yellow oxide", "clean yellow", "green", "rose"))
    one, other = (
        from_spectra(predict.reflectance(mixture(*zip(*mix, strict=True)), Conditions(film_um=np.inf)))
        for mix in (made.first, made.second)
    )
    told = verdict.compare(one, other, tolerance.of_kind("solid"))
    assert told.verdict == EDGE and "FL11" in told.parts_under
    tube_first = verdict.compare(one, other, tolerance.of_kind("solid"), lamps=[lamp("FL11"), lamp("D65")])
    assert tube_first.verdict != EDGE and tube_first.parts_under == ()


def test_tolerances_can_be_changed():
    panel, card = from_lab({45: (50.0, 0.0, 0.0)}), from_lab({45: (51.5, 0.0, 0.0)})
    size = float(difference.ciede2000(panel.lab, card.lab)[0])
    solid = tolerance.of_kind("solid")
    assert verdict.compare(panel, card, solid).verdict == FADE
    assert verdict.compare(panel, card, tolerance.of_kind("solid", factor=size / 0.8 + 0.01)).verdict == EDGE
    own = Tolerance("solid", (0.1,) * 3, (0.2,) * 3, "CMC")
    assert verdict.compare(panel, card, own).verdict == NOT_YET
    with pytest.raises(BadEntry, match="no angle in common"):
        verdict.compare(panel, from_lab({15: (50.0, 0.0, 0.0)}), solid)
