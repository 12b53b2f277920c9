"""One rule for when to stop, asked by whoever decides: limits by the kind of paint, at the worst angle."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from paints import SHOP, mixed, paint_of

from refinishlib.colour import predict, reading, tint, tolerance, variants, verdict
from refinishlib.colour.tolerance import EDGE, FADE, Tolerance
from refinishlib.entry import BadEntry
from refinishlib.shop.paint import PAINT_KINDS

ANGLES = (15, 25, 45, 75, 110)
SILVER = SHOP.colour("Millrace Silver, as built")


def test_card_variant_and_tint_never_contradict_each_other():
    """60 random silver cards: 23 were "in" for the tint and no match for the comparison when each had its own rule."""
    rng = np.random.default_rng(0)
    panel = reading.from_spectra(predict.reflectance(paint_of(SILVER.title)))
    seen = set()
    for _ in range(60):
        spectra = panel.reflectance * (1 + rng.normal(0, 0.04, (5, 1)) + rng.normal(0, 0.01, (5, 31)))
        card = reading.from_spectra(spectra)
        told = verdict.compare(panel, card, tolerance.of_kind("metallic"))
        made = tint.correct(SILVER.toners, SILVER.weights, card, panel)
        assert made.ruling == told.ruling
        assert (made.decision == "leave it") == (told.verdict == EDGE)
        ranked = variants.rank([SILVER], card)[0]
        assert ranked.ruling.verdict == told.verdict
        seen.add(told.verdict)
    assert seen == set(tolerance.VERDICTS)


def test_a_silver_three_lightness_units_off_at_one_angle_does_not_go_edge_to_edge():
    panel = reading.from_spectra(predict.reflectance(paint_of(SILVER.title)))
    lab = {angle: panel.lab[i] + (3 * (angle == 45), 0, 0) for i, angle in enumerate(ANGLES)}
    card, typed = reading.from_lab(lab), reading.from_lab(dict(zip(ANGLES, panel.lab, strict=True)))
    assert verdict.compare(typed, card, tolerance.of_kind("metallic")).verdict != EDGE
    assert tint.correct(SILVER.toners, SILVER.weights, card, typed).decision != "leave it"


def test_a_black_is_judged_as_a_solid_however_noisy_its_reading_is():
    """With 0.1 of noise a black was judged by the limits of a metallic in 109 of 300 readings."""
    rng = np.random.default_rng(0)
    ferry = SHOP.colour("Night Ferry, as built")
    clean = predict.lab(paint_of(ferry.title))[0]
    edge = set()
    for _ in range(300):
        panel, card = (
            reading.from_lab(dict(zip(ANGLES, clean + rng.normal(0, 0.1, (5, 3)) + off, strict=True)))
            for off in ((0, 0, 0), (1.3, 0, 0))
        )
        edge.add(verdict.compare(panel, card, tolerance.of_kind(ferry.kind)).ruling.limit)
    assert edge == {0.8}
    assert mixed(["medium silver", "jet black"], [0.0, 1.0]).kind == "solid", "a silver that was not poured"


@given(
    apart=st.lists(st.floats(0, 10), min_size=5, max_size=5),
    more=st.lists(st.floats(0, 3), min_size=5, max_size=5),
    kind=st.sampled_from(PAINT_KINDS),
)
def test_the_worst_angle_decides_and_further_off_is_never_better(apart, more, kind):
    allowed = tolerance.of_kind(kind)
    ruling = tolerance.rule(apart, ANGLES, allowed)
    alone = [tolerance.rule([one], [angle], allowed).verdict for one, angle in zip(apart, ANGLES, strict=True)]
    assert list(ruling.per_angle) == alone
    assert ruling.verdict == max(alone, key=tolerance.VERDICTS.index) == alone[ANGLES.index(ruling.worst_deg)]
    assert tolerance.standing(np.add(apart, more), ANGLES, allowed) >= tolerance.standing(apart, ANGLES, allowed)
    assert (tolerance.used(apart, ANGLES, allowed) <= 1) == (ruling.verdict == EDGE)


def test_face_middle_and_flop_have_limits_of_their_own():
    metallic = tolerance.of_kind("metallic")
    at = {angle: tolerance.rule([1.3], [angle], metallic).verdict for angle in ANGLES}
    assert at == {15: FADE, 25: FADE, 45: FADE, 75: EDGE, 110: EDGE}
    assert tolerance.rule([1.1], [15], metallic).verdict == EDGE
    assert tolerance.rule([1.1], [15], tolerance.of_kind("solid")).verdict == FADE


@pytest.mark.parametrize(
    ("made", "words"),
    [
        (lambda: tolerance.of_kind("matt"), "kind of paint: 'matt'"),
        (lambda: tolerance.of_kind("solid", factor=0), "tolerance factor: 0"),
        (lambda: tolerance.of_kind("solid", formula="mine"), "difference formula: 'mine'"),
        (lambda: Tolerance("solid", (1, 1, 1), (2, 0.5, 2)), "limits of a fade"),
        (lambda: Tolerance("solid", (-1, 1, 1), (2, 2, 2)), "limits edge to edge: -1"),
        (lambda: tolerance.rule([1.0], [30], tolerance.of_kind("solid")), "aspecular angle: 30"),
        (lambda: tolerance.rule([1.0, 2.0], [45], tolerance.of_kind("solid")), "differences: 2 values"),
    ],
)
def test_a_bad_entry_is_one_sentence(made, words):
    with pytest.raises(BadEntry, match=words):
        made()
