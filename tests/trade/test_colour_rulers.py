"""What painters say about matching, tinting and stopping: common practice, no source. One case each."""

import numpy as np
import pytest
from paints import SHOP, paint_of

from refinishlib.colour import decision, doubt, flake, optics, predict, reading, tint, tolerance, variants, verdict
from refinishlib.colour.conditions import Conditions
from refinishlib.colour.tolerance import EDGE, FADE, NOT_YET

SILVER, BLACK = SHOP.colour("Millrace Silver, as built"), SHOP.colour("Night Ferry, as built")
BARN = SHOP.colour("Chalk Barn, as built")
CUP = np.multiply(BARN.weights, 2)


def card_of(formula, masses_g=None, **conditions):
    masses = formula.weights if masses_g is None else masses_g
    return reading.from_spectra(predict.reflectance(optics.mixture(formula.toners, masses), Conditions(**conditions)))


def test_a_touch_too_light_takes_a_little_more_black():
    made = tint.correct(BARN.toners, CUP, card_of(BARN, CUP), card_of(BARN, np.add(CUP, (0, 0, 1.0, 0))))
    assert made.pour.names == ("soft black",) and made.pour.surplus_g < 0.01 * CUP.sum()


def test_black_is_the_quiet_corrector_it_turns_the_hue_less_than_any_other_toner():
    moved = {}
    for n, toner in enumerate(BARN.toners[1:], start=1):
        more = np.array(CUP)
        more[n] *= 1.1
        step = card_of(BARN, more).lab[2] - card_of(BARN, CUP).lab[2]
        moved[toner.name] = np.hypot(*step[1:]) / abs(step[0])
    assert min(moved, key=moved.get) == "soft black"


def test_the_worst_angle_decides_not_the_mean():
    panel = card_of(SILVER)
    off = panel.lab + np.array([[4.5, 0, 0]] + [[0, 0, 0]] * 4)
    card = reading.from_lab(dict(zip((15, 25, 45, 75, 110), off, strict=True)))
    told = verdict.compare(panel, card, tolerance.of_kind("metallic"))
    assert told.differences.mean() < 1 < told.ruling.worst and told.verdict != EDGE


def test_a_metallic_is_given_more_room_on_the_flop_than_on_the_face():
    face, _, flop = tolerance.of_kind("metallic").edge
    assert flop > face


def test_chip_card_and_panel_are_three_filters_each_finer_than_the_one_before():
    """A chip finds the near variants, a card tells them apart, the panel's own hand has the last word."""
    panel = card_of(SILVER)
    family = SHOP.variants("Millrace Silver")
    by_chip = [one for one in variants.rank(family, panel) if one.ruling.verdict != NOT_YET]
    by_card = [one for one in by_chip if one.ruling.verdict == EDGE]
    sure = [
        one
        for one in by_card
        if doubt.doubted(
            panel, card_of(one.formula), tolerance.of_kind("metallic"), scatters=[doubt.of_spraying(one.formula)]
        ).said
        == EDGE
    ]
    assert len(family) > len(by_chip) > len(by_card) >= len(sure)
    assert by_card[0].formula == SILVER


@pytest.mark.parametrize(("sprayed", "way"), [("wet", "drier"), ("dry", "wetter")])
def test_look_at_the_gun_before_the_toner(sprayed, way):
    cup = np.multiply(SILVER.weights, 2)
    card = card_of(SILVER, cup, tilt_factor=flake.tilt_factor(sprayed))
    made = decision.decide(SILVER, cup, card, card_of(SILVER, cup))
    assert made.chosen.what == "spray it again" and way in made.cause.spraying


def test_how_a_solid_is_sprayed_does_not_matter_as_long_as_it_hides():
    wet = card_of(BLACK, tilt_factor=flake.tilt_factor("wet"))
    assert verdict.compare(card_of(BLACK), wet, tolerance.of_kind("solid")).verdict == EDGE


def test_white_does_not_lighten_a_metallic_it_takes_its_flop():
    more = np.array(SILVER.weights)
    more[-1] += 8.0
    white = card_of(SILVER, more)
    assert SILVER.toners[-1].name == "white"
    assert reading.flop_index(white) < reading.flop_index(card_of(SILVER))
    assert white.lab[0, 0] < card_of(SILVER).lab[0, 0] and white.lab[4, 0] > card_of(SILVER).lab[4, 0]


def test_paint_cannot_be_taken_out_of_the_cup():
    made = tint.correct(BARN.toners, CUP, card_of(BARN, CUP), card_of(BARN, np.subtract(CUP, (0, 3.0, 0, 0))))
    assert "yellow oxide" not in made.pour.names


def test_once_it_is_in_it_is_left_alone():
    near = card_of(BARN, np.add(CUP, (0, 0.2, 0, 0)))
    made = tint.correct(BARN.toners, CUP, card_of(BARN, CUP), near)
    assert made.ruling.worst > 0 and made.decision == "leave it"


def test_what_will_be_faded_needs_no_edge_to_edge_match():
    panel = card_of(BARN, np.add(CUP, (0, 1.0, 0.3, 0)))
    made = tint.correct(BARN.toners, CUP, card_of(BARN, CUP), panel, fade_planned=True)
    assert (made.ruling.verdict, made.decision) == (FADE, "leave it")


def test_a_silver_is_hardly_ever_promised_edge_to_edge_a_black_is():
    said = {
        formula.name: doubt.doubted(
            card_of(formula),
            card_of(formula),
            tolerance.of_kind(formula.kind, factor=0.5),
            scatters=[doubt.of_spraying(formula)],
            spot=(0.05, 0.05, 0.05),
        ).chances[0]
        for formula in (SILVER, BLACK)
    }
    assert said["Night Ferry"] > 0.99 > said["Millrace Silver"]


def test_two_spots_tell_less_than_five():
    rng = np.random.default_rng(0)
    lab = card_of(BARN).lab
    spots = [
        reading.from_lab(dict(zip((15, 25, 45, 75, 110), lab + rng.normal(0, 0.2, lab.shape), strict=True)))
        for _ in range(5)
    ]
    width = []
    for n in (2, 5):
        found = doubt.doubted(reading.average(spots[:n]), card_of(BARN), tolerance.of_kind("solid"))
        width.append(found.interval[1] - found.interval[0])
    assert width[0] > 1.5 * width[1]


def test_too_coarse_a_flake_is_another_mix_not_another_toner():
    coarse = SHOP.picked("coarse silver", "fine silver", "soft black")
    card, panel = (
        reading.from_spectra(predict.reflectance(optics.mixture(coarse, grams)))
        for grams in ((80.0, 12.0, 5.0), (20.0, 72.0, 5.0))
    )
    assert "coarse silver" in tint.correct(coarse, (80.0, 12.0, 5.0), card, panel).cannot_undo


def test_a_pearl_is_judged_no_harder_than_a_metallic():
    assert tolerance.of_kind("pearl").edge == tolerance.of_kind("metallic").edge
    assert paint_of("Orchard Dusk, mid coat").kind == "pearl"
