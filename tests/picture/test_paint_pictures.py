"""Swatches, the curved panel and weak eyes: that pixels say what the numbers say, and that nothing is hidden."""

from io import BytesIO

import colour
import numpy as np
import pytest
from colour.utilities import suppress_warnings
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.image import imread
from paints import paint_of

from refinishlib.colour import blend, predict, weights
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.lamp import d65, lamp
from refinishlib.entry import BadEntry
from refinishlib.picture import panel, screen, swatch, vision

ROWS = ["15 degrees", "25 degrees", "45 degrees", "75 degrees", "110 degrees"]


def lab_of(title, light="D65"):
    return predict.lab(paint_of(title), lamps=[lamp(light)])[0]


SILVER, WARMER = lab_of("Millrace Silver, as built"), lab_of("Millrace Silver, warmer")


@settings(max_examples=25, deadline=None)
@given(st.tuples(st.floats(0, 150), st.floats(-80, 80), st.floats(-80, 80)), st.sampled_from(["D65", "A", "FL2"]))
def test_cielab_goes_back_to_light_as_colour_science_does_it(lab, light):
    white = weights.weights(lamp(light)).sum(axis=0)
    theirs = colour.Lab_to_XYZ(lab, colour.XYZ_to_xy(white)) * 100
    assert weights.tristimulus_from_lab(np.array(lab), white) == pytest.approx(theirs, abs=1e-8)


@pytest.mark.parametrize("light", ["D65", "A", "FL11", "LED-B3"])
def test_every_lamps_white_is_the_screens_white_and_grey_stays_grey(light):
    shown = swatch.card([[100.0, 0, 0], [50.0, 0, 0]], ["white", "grey"], lamps=[lamp(light)])
    assert shown.rgb[0, 0].tolist() == [255, 255, 255]
    assert shown.rgb[-1, 0].tolist() == [119, 119, 119]
    assert any(light in note and "CAT16" in note for note in shown.notes)


def test_the_screen_curve_is_the_one_of_colour_science():
    linear = np.linspace(0, 1, 5001)
    theirs = np.round(colour.cctf_encoding(linear, function="sRGB") * 255)
    ours, clipped = screen.encode(np.repeat(linear[:, None], 3, axis=1))
    assert np.abs(ours[:, 0].astype(int) - theirs).max() <= 1
    assert (ours[:, 0] == theirs).mean() > 0.99
    assert clipped == 0


def test_what_the_screen_cannot_show_is_clipped_and_said():
    shown = swatch.card([[50.0, 0, 0], [55.0, 110.0, -60.0]], ["grey", "beyond"], exposure=1)
    assert shown.clipped == pytest.approx(0.5)
    assert any("clipped" in note and "50.0%" in note for note in shown.notes)
    assert "clipped" not in swatch.card([[50.0, 0, 0]], ["grey"]).caption


def test_a_face_brighter_than_white_is_dimmed_and_the_exposure_is_said():
    shown = swatch.card(SILVER, ROWS)
    assert shown.exposure < 1
    assert shown.clipped == 0
    assert shown.rgb.max() == 255
    assert f"Exposure {shown.exposure:.2f}" in shown.caption
    over = swatch.card(SILVER, ROWS, exposure=1)
    assert over.clipped > 0


def test_two_paints_side_by_side_have_a_number_and_a_word_for_each_difference():
    shown = swatch.side_by_side(SILVER, WARMER, ROWS, names=("door", "card"))
    apart = ciede2000(SILVER, WARMER)
    assert [value for _, value in shown.numbers] == [f"CIEDE2000 {value:.2f}" for value in apart]
    assert len(shown.words) == 5
    assert all("the card is" in words and "yellower" in words for words in shown.words)
    left, right = shown.rgb[:, 0], shown.rgb[:, -1]
    assert (left != right).any(axis=1).all()
    same = swatch.side_by_side(SILVER, SILVER, ROWS)
    assert np.array_equal(same.rgb[:, 0], same.rgb[:, -1])
    assert same.words[0] == "15 degrees: the card is the same."


def test_a_band_for_each_lamp_shows_what_the_tube_does():
    labs = [
        np.stack([lab_of(f"Tarn Evening, {v}", light)[2] for light in ("D65", "FL11")]) for v in ("as built", "greener")
    ]
    shown = swatch.side_by_side(*labs, ["D65", "FL11"], lamps=[lamp("D65"), lamp("FL11")])
    assert "D65, FL11" in shown.notes[0]
    assert len(shown.words) == 2


def test_a_blend_is_drawn_from_new_to_old():
    silver, warmer = (paint_of(f"Millrace Silver, {v}") for v in ("as built", "warmer"))
    stations = np.linspace(-0.2, 1, 240)
    made = blend.along(silver, warmer, blend.planned(0.6, silver), stations_m=stations, old_tilt=1.0)
    shown = swatch.along(made)
    new, old = (
        swatch.card(made.lab[0], ROWS, exposure=shown.exposure),
        swatch.card(WARMER, ROWS, exposure=shown.exposure),
    )
    assert np.array_equal(shown.rgb[:, 0], new.rgb[:, 0])
    assert np.abs(shown.rgb[:, -1].astype(int) - old.rgb[:, 0]).max() <= 1
    assert f"{made.worst:.2f} of what is just seen" in shown.words[1]


def test_a_curved_panel_shows_the_readings_where_the_panel_has_their_angles():
    bow = panel.Bow(crown_deg=0)
    aspecular, lit = panel.directions(bow, 4000, 2)
    linear = panel.light(SILVER, bow=bow, width=4000, height=2, shaded=False)
    white = weights.weights(d65()).sum(axis=0)
    for angle, lab in zip((15, 25, 45, 75, 110), SILVER, strict=True):
        column = np.abs(aspecular[0] - np.cos(np.radians(angle))).argmin()
        assert linear[0, column] == pytest.approx(
            screen.screen_matrix(white) @ weights.tristimulus_from_lab(lab, white), rel=5e-3
        )
    shaded = panel.light(SILVER, bow=bow, width=4000, height=2)
    assert np.allclose(shaded, linear * lit[..., None], rtol=1e-5)


def test_the_flop_is_seen_and_a_solid_has_none():
    silver = panel.light(SILVER, shaded=False)[150, :, 1]
    assert (np.diff(silver) <= 1e-6).all()
    assert silver[0] > 10 * silver[-1]
    red = panel.light(lab_of("Kiln Red, as built"), shaded=False)[150, :, 0]
    assert red[0] < 1.2 * red[-1]
    words = panel.curved(SILVER).words
    assert "much darker" in words[0]
    assert "stays the same" in panel.curved(lab_of("Night Ferry, as built")).words[0]


def test_two_paints_on_one_curved_panel_meet_in_the_middle():
    shown = panel.curved(SILVER, below_lab=WARMER, width=200, height=100, exposure=0.7)
    assert np.array_equal(shown.rgb[:50], panel.curved(SILVER, width=200, height=100, exposure=0.7).rgb[:50])
    assert np.array_equal(shown.rgb[50:], panel.curved(WARMER, width=200, height=100, exposure=0.7).rgb[50:])
    assert len(shown.words) == 6
    assert "mirror image" in shown.caption and "beyond 15 to 110 degrees" in shown.caption


# Published for severity 1; from memory of the table in Machado, Oliveira and Fernandes (2009).
MACHADO = {
    "red-weak": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "green-weak": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
}


@pytest.mark.parametrize("eye", MACHADO)
def test_a_weak_eye_sees_by_the_published_matrix_and_leaves_grey_and_words_alone(eye):
    linear = np.array([[[0.5, 0.2, 0.1], [0.3, 0.3, 0.3]]])
    shown = vision.seen_by(screen.finish(linear, "D65", words=("it is redder",)), eye)
    wanted, _ = screen.encode(np.clip(linear @ np.transpose(MACHADO[eye]), 0, 1))
    assert np.abs(shown.rgb.astype(int) - wanted).max() <= 1
    assert np.ptp(shown.rgb[0, 1].astype(int)) <= 1
    assert shown.words == ("it is redder",)
    assert f"{eye} eye" in shown.notes[-1]


def test_the_picture_for_a_weak_eye_says_what_it_clipped():
    """It clipped without a word: a pure red or a pure blue needs more than the screen has."""
    linear = np.array([[[1.0, 0.0, 0.0], [0.3, 0.3, 0.3], [0.2, 0.25, 0.2], [0.0, 0.0, 1.0]]])
    shown = screen.finish(linear, "D65")
    for eye in vision.EYES:
        with suppress_warnings(colour_usage_warnings=True):
            exact = linear @ np.asarray(colour.matrix_cvd_Machado2009(vision.EYES[eye], 1.0)).T
        beyond = ((exact < -1e-3) | (exact > 1 + 1e-3)).any(axis=-1).mean()
        seen = vision.seen_by(shown, eye)
        assert beyond > 0 and seen.clipped == pytest.approx(beyond)
        assert f"{beyond:.1%} of the pixels would need more than a screen can show" in seen.notes[-1]
    grey = screen.finish(np.full((2, 2, 3), 0.3), "D65")
    assert "clipped" not in vision.seen_by(grey, "red-weak").caption
    over = swatch.card(SILVER, ROWS, exposure=1)
    assert vision.seen_by(over, "red-weak", 0.1).clipped >= over.clipped


def test_a_red_and_a_green_come_together_for_a_weak_eye_only():
    pair = [[50.0, 40.0, 20.0]], [[50.0, -22.0, 27.0]]
    shown = swatch.side_by_side(*pair, ["middle"])

    def contrast(picture):
        return np.abs(picture.rgb[0, 0].astype(int) - picture.rgb[0, -1]).sum()

    assert contrast(vision.seen_by(shown, "green-weak")) < 0.5 * contrast(shown)
    assert vision.seen_by(shown, "normal") is shown
    assert vision.seen_by(shown, "red-weak", 0.0) is shown


def test_a_png_carries_its_pixels():
    shown = swatch.card(SILVER, ROWS)
    read = imread(BytesIO(screen.png(shown)))
    assert np.array_equal(np.round(read[..., :3] * 255).astype(np.uint8), shown.rgb)


def test_a_figure_says_everything_the_picture_shows_and_escapes_it():
    shown = swatch.side_by_side(SILVER, WARMER, ROWS, names=("door", "<b>card"))
    made = screen.figure(shown)
    assert "<b>" not in made
    assert all(value in made for _, value in shown.numbers)
    assert 'alt="15 degrees: the &lt;b&gt;card is' in made
    assert all(note in made for note in shown.notes)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: swatch.card([[50.0, 0, 0]], ["a", "b"]), "CIELAB of the card"),
        (lambda: swatch.card([[np.nan, 0, 0]], ["a"]), "CIELAB of the card: nan"),
        (lambda: swatch.card([[50.0, 0, 0]], ["a"], lamps=[lamp("D65"), lamp("A")]), "lamps: 2 were given"),
        (lambda: swatch.card([[50.0, 0, 0]], ["a"], exposure=0), "exposure: 0"),
        (lambda: swatch.card([[50.0, 0, 0]], ["a"], width=1), "width: 1"),
        (lambda: panel.light(SILVER, [15, 45, 110]), "5 x 3 values were given, allowed are 3 x 3"),
        (lambda: panel.light(SILVER[:2], [45, 15]), "aspecular angle: falling"),
        (lambda: panel.Bow(bow_deg=80), "bow: 80"),
        (lambda: vision.seen_by(swatch.card([[50.0, 0, 0]], ["a"]), "tired"), "eye: 'tired'"),
        (lambda: vision.seen_by(swatch.card([[50.0, 0, 0]], ["a"]), "red-weak", 2), "severity: 2"),
    ],
)
def test_a_bad_entry_is_one_sentence(call, words):
    with pytest.raises(BadEntry, match=words):
        call()
