"""Words become readings: round trips with the verdict's own words, doubt that covers, and decisions that take it."""

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from paints import SHOP, lab, paint_of

from refinishlib.colour import blend, decision, doubt, predict, reading, tint, tolerance, variants, verdict, words
from refinishlib.colour.as_read import as_read
from refinishlib.colour.conditions import Conditions
from refinishlib.colour.reading import from_lab, from_spectra
from refinishlib.entry import BadEntry

# Beyond `MUCH_UP_TO` nobody says how a colour is off.
STEP = st.floats(-2.5, 2.5)
GREY = st.tuples(st.floats(8, 130), st.floats(-3, 3), st.floats(-3, 3))
COLOUR = st.tuples(st.floats(15, 110), st.floats(9, 70), st.floats(-180, 180)).map(
    lambda lch: (lch[0], lch[1] * np.cos(np.radians(lch[2])), lch[1] * np.sin(np.radians(lch[2])))
)


def told(reference, sample):
    """The verdict's words, in any order: two of a size may change places."""
    return set(verdict.direction(np.asarray(reference), np.asarray(sample)).replace(" and ", ", ").split(", "))


@given(GREY, STEP, STEP, STEP)
def test_what_the_verdict_says_of_a_grey_becomes_a_colour_of_which_it_says_the_same(grey, light, red, yellow):
    said = verdict.direction(np.array(grey), np.add(grey, (light, red, yellow)))
    found, _ = words.sample(grey, words.sizes(said))
    assert told(grey, found) == told(grey, np.add(grey, (light, red, yellow)))


@given(COLOUR, STEP, st.floats(-5, 5), st.floats(-4, 4))
def test_what_the_verdict_says_of_a_colour_becomes_a_colour_of_which_it_says_the_same(colour, light, cleaner, turn):
    chroma, hue = np.hypot(*colour[1:]) + cleaner, np.arctan2(colour[2], colour[1]) + np.radians(turn)
    card = np.array([colour[0] + light, chroma * np.cos(hue), chroma * np.sin(hue)])
    found, _ = words.sample(colour, words.sizes(verdict.direction(np.array(colour), card)))
    assert told(colour, found) == told(colour, card)


@pytest.mark.parametrize("title", ["Chalk Barn, as built", "Kiln Red, as built", "Millrace Silver, as built"])
def test_the_sentences_of_a_comparison_give_the_panel_back(title):
    card = from_lab(dict(zip((15, 45, 110), predict.lab(paint_of(title))[0, ::2], strict=True)))
    panel = from_lab({angle: np.add(row, (0.9, -0.8, 1.0)) for angle, row in zip((15, 45, 110), card.lab, strict=True)})
    allowed = tolerance.of_kind("metallic")
    said = verdict.compare(panel, card, allowed).words
    found = words.from_words(card, said)
    assert found.angles_deg == (15, 45, 110)
    for mine, its in zip(verdict.compare(found, card, allowed).words, said, strict=True):
        place, _, what = mine.partition(" is ")
        assert its.startswith(place)
        assert sorted(re.split(", | and ", what)) == sorted(re.split(", | and ", its.partition(" is ")[2]))
    assert (np.abs(found.lab - panel.lab) < 3 * found.doubt).all()


def test_said_of_the_panel_it_is_the_other_way_round():
    card = from_lab({45: (60.0, 20.0, 5.0)})
    of_card = words.from_words(card, "much lighter")
    of_panel = words.from_words(card, "much lighter", of="the panel")
    assert of_card.lab[0, 0] < 60 < of_panel.lab[0, 0]


def test_face_and_flop_are_two_judgements():
    card = from_lab({15: (110, 0, 0), 25: (90, 0, 0), 45: (60, 0, 0), 110: (35, 0, 0)})
    panel = words.from_words(card, "a little lighter, flop darker, a touch yellower")
    shift = card.lab - panel.lab
    assert (shift[:3, 0] > 0).all() and shift[3, 0] < 0 and (shift[:, 2] > 0).all()
    np.testing.assert_array_equal(
        panel.lab, words.from_words(card, "a touch yellower, a bit brighter", flop="darker").lab
    )
    assert words.from_words(card, face="darker").angles_deg == (15, 25)
    assert words.from_words(card, face="darker", flop="the same").angles_deg == (15, 25, 110)


@pytest.mark.parametrize("reference", [(60.0, 1.0, -1.0), (40.0, 45.0, 25.0)], ids=["grey", "red"])
def test_the_doubt_covers_the_colours_that_a_painter_can_have_meant(reference):
    """The painter sees a difference with the assumed error of an eye, and says what the verdict would say of it."""
    rng = np.random.default_rng(5)
    seen, right = 0, 0
    for _ in range(300):
        true = reference + rng.uniform(-1.6, 1.6, 3) * (1.0, 1.2, 1.2)
        felt = reference + (true - reference) * rng.normal(1.0, words.EYE_SHARE, 3)
        found, sd = words.sample(reference, words.sizes(verdict.direction(np.array(reference), felt)))
        right += int((np.abs(found - true) < 1.96 * sd).sum())
        seen += 3
    assert 0.92 < right / seen < 0.995


def test_the_doubt_of_much_is_wider_than_that_of_a_little_and_silence_is_no_certainty():
    reference = (55.0, 0.0, 0.0)
    silent, little, plain, much = (
        words.sample(reference, words.sizes(said))[1][0] for said in ("", "a little darker", "darker", "much darker")
    )
    assert 0.1 < silent < little < plain < much


def test_redder_of_a_red_is_more_of_its_own_colour():
    red = (40.0, 50.0, 0.5)
    found, _ = words.sample(red, words.sizes("redder"))
    assert found[1] > 50.5 and verdict.direction(np.array(red), found) == "cleaner"


# --- decisions take it ------------------------------------------------------------------------------------------------


def test_a_variant_is_picked_from_words_alone():
    family = SHOP.variants("Kiln Red")
    card = from_spectra(predict.reflectance(paint_of(family[0].title)))
    wanted = from_spectra(predict.reflectance(paint_of(family[1].title)))
    allowed = tolerance.of_kind("solid")
    panel = words.from_words(card, verdict.compare(wanted, card, allowed).words)
    assert variants.rank(family, panel)[0].formula == family[1]


def test_a_touch_too_light_is_tinted_from_words_with_a_little_black():
    names, cup = ("white", "soft black"), [98.0, 2.0]
    card = from_lab(dict(zip((15, 25, 45, 75, 110), lab(names, cup)[0], strict=True)))
    panel = words.from_words(card, "lighter")
    found = tint.correct(SHOP.picked(*names), cup, words.beside(card), panel)
    assert found.pour.names == ("soft black",)
    assert 0 < found.pour.surplus_g < 1.0


@pytest.mark.parametrize(
    ("title", "said", "chosen"),
    [
        ("Chalk Barn, as built", "the same", "leave it"),
        ("Chalk Barn, as built", "much lighter", "add"),
        ("Millrace Silver, as built", "much lighter, flop lighter", "add"),
    ],
)
def test_the_whole_decision_is_made_from_words(title, said, chosen):
    formula = SHOP.colour(title)
    cup = 2 * np.array(formula.weights)
    card = from_spectra(predict.reflectance(paint_of(title)))
    made = decision.decide(formula, cup, words.beside(card), words.from_words(card, said))
    assert made.chosen.what == chosen
    assert made.card.comes_from[0][0] == doubt.PANEL


@pytest.mark.parametrize("title", ["Chalk Barn, as built", "Tarn Evening, as built"])
def test_a_blend_takes_a_difference_that_was_only_said(title):
    angles = (15, 45, 110)
    paint = paint_of(title)
    card = from_lab(dict(zip(angles, predict.lab(paint, Conditions(angles_deg=angles))[0], strict=True)))
    lengths = [
        blend.shortest(paint, as_read(paint, card, words.from_words(card, said)).paint, repair_end_m=None).length_m
        for said in ("the same", "much yellower")
    ]
    assert lengths[0] < lengths[1]


def test_a_verdict_on_words_says_how_sure_it_is():
    card = from_lab({45: (60.0, 0.0, 0.0)})
    allowed = tolerance.of_kind("solid")
    said = [
        doubt.doubted(words.from_words(card, text), words.beside(card), allowed).said
        for text in ("the same", "lighter", "much lighter")
    ]
    assert said[0] == tolerance.EDGE and said[1] not in tolerance.VERDICTS and tolerance.EDGE not in said[2]


# --- bad input --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("give", "sentence"),
    [
        ({"said": ""}, "words: nothing was given"),
        ({"said": "lighterish"}, "words: 'lighterish' was given, allowed are lighter, darker"),
        ({"said": "lighter and darker"}, "allowed is each direction once in a place"),
        ({"said": "cleaner"}, "words at 45 degrees: 'cleaner' was given, allowed for a grey are lighter"),
        ({"said": "muddier"}, "words at 45 degrees: 'muddier' was given"),
        ({"flop": "darker"}, "place: 'flop' was given, allowed are middle"),
        ({"said": "at 110 degrees darker"}, "place: 'flop' was given, allowed are middle"),
        ({"said": 3}, "words: "),
        ({"said": "lighter", "of": "the sky"}, "said of: 'the sky' was given, allowed are the card, the panel"),
    ],
)
def test_a_bad_entry_is_refused_in_one_sentence(give, sentence):
    with pytest.raises(BadEntry) as error:
        words.from_words(from_lab({45: (60.0, 0.0, 0.0)}), **give)
    assert sentence in str(error.value)
    assert str(error.value).count(". ") == 0


def test_readings_from_words_carry_their_doubt_to_the_angles_that_are_kept():
    panel = words.from_words(from_lab({15: (60, 0, 0), 45: (50, 0, 0)}), "lighter", face="much darker")
    assert reading.at_angles(panel, [45]).doubt.shape == (1, 3)
    assert panel.doubt[0, 0] > panel.doubt[1, 0]
