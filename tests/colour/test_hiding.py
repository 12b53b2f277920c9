"""What shows through: the toner set must hide as painters know it does (common practice, no source)."""

from dataclasses import replace

import numpy as np
import pytest
from paints import SHOP, conditions_of, mixed, paint_of

from refinishlib.colour import hiding, predict, undercoat, weights
from refinishlib.colour.conditions import COAT_UM
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.film import Layer
from refinishlib.colour.hiding import coats_to_hide
from refinishlib.entry import BadEntry

DARK, MID, WHITE = 20.0, 50.0, 90.0


def pure(name):
    return mixed([name], [1.0])


def test_a_black_hides_in_one_coat():
    assert [coats_to_hide(pure("jet black"), grey) for grey in (DARK, MID, WHITE)] == [1, 1, 1]


def test_a_deep_transparent_blue_needs_two_or_three_coats_over_a_mid_grey_fewer_over_dark_more_over_white():
    dark, mid, white = (coats_to_hide(pure("deep blue"), grey) for grey in (DARK, MID, WHITE))
    assert mid in (2, 3)
    assert dark < mid < white


def test_a_white_is_slowest_over_dark_and_still_shows_after_six():
    shows = hiding.show_through(pure("white"), [DARK, MID, WHITE], coats=6)[:, 2]
    assert shows[0] > shows[1] > shows[2]
    assert shows[0] > 1
    assert coats_to_hide(pure("white"), DARK, most_coats=6) is None
    solids = [toner.name for toner in SHOP.toners if toner.flake is None]
    opaque = [name for name in solids if not name.startswith("transparent")]
    left = {name: hiding.show_through(pure(name), DARK, coats=3)[2] for name in opaque}
    assert max(left, key=left.__getitem__) == "white"


def test_silvers_hide_in_two_or_three_coats():
    for name in ("fine silver", "medium silver", "coarse silver"):
        assert max(coats_to_hide(pure(name), grey) or 99 for grey in (DARK, MID, WHITE)) <= 3


def test_more_coats_show_less_and_two_thin_ones_are_one_thick_one():
    blue = pure("deep blue")
    shows = hiding.show_through(blue, MID, coats=np.arange(0, 9))
    assert (np.diff(shows, axis=0) < 0).all()
    np.testing.assert_allclose(
        hiding.show_through(blue, MID, coats=4, coat_um=COAT_UM / 2),
        hiding.show_through(blue, MID, coats=2),
        rtol=1e-12,
    )


def test_contrast_ratio_and_hiding_thickness():
    """ISO 6504-1: a film hides at 98 %. White needs a thick film; the number means nothing on a dark paint."""
    white = pure("white")
    film_um = hiding.hiding_thickness(white)
    at_it = hiding.contrast_ratio(white, film_um)
    assert at_it.contrast_ratio == pytest.approx(0.98, abs=1e-9)
    assert at_it.meaningful
    assert film_um > 2 * hiding.hiding_thickness(pure("yellow oxide"))
    assert not hiding.contrast_ratio(pure("deep blue"), 20.0).meaningful
    assert not hiding.contrast_ratio(pure("fine silver"), 20.0).meaningful
    nearly_clear = replace(white, absorption_per_um=np.zeros(31), scattering_per_um=np.full(31, 1e-5))
    with pytest.raises(BadEntry, match="does not hide in 2000 um"):
        hiding.hiding_thickness(nearly_clear)
    with pytest.raises(BadEntry, match=r"contrast ratio: 1\.2 was given"):
        hiding.hiding_thickness(white, 1.2)


def test_best_grey_is_the_best_of_all_greys_and_can_be_mixed():
    for name in ("warm red", "deep blue", "yellow oxide"):
        best = hiding.best_grey(pure(name), coats=2)
        mix = undercoat.sealer_for(SHOP.sealers, best.lightness)
        others = hiding.show_through(pure(name), np.arange(5.0, 96.0, 5.0), coats=2).max(axis=-1)
        assert best.largest_difference <= others.min() + 1e-9
        grey = undercoat.sealer(SHOP.sealers, mix.white_g, mix.black_g)
        seen = predict.of_layers([Layer(pure(name), 14.0)], conditions_of(undercoat=grey))
        there = weights.lab(seen)[0]
        wanted = weights.lab(predict.of_layers([Layer(pure(name), 14.0)], conditions_of(undercoat=best.lightness)))[0]
        assert ciede2000(there, wanted).max() < 0.3
        assert mix.white_g + mix.black_g == pytest.approx(100)


def test_a_light_paint_wants_a_light_grey_and_a_dark_one_a_dark():
    wants = {name: hiding.best_grey(pure(name), coats=2).lightness for name in ("white", "warm red", "deep blue")}
    assert wants["deep blue"] < wants["warm red"] < wants["white"]


def test_a_card_over_another_grey_than_the_job_reads_otherwise():
    transparent = mixed(["transparent red", "deep blue"], [90.0, 10.0])
    far = hiding.card_shift(transparent, 30.0, 80.0, coats=2)
    near = hiding.card_shift(transparent, 50.0, 53.0, coats=2)
    assert far.min() > 1 > near.max()
    assert hiding.card_shift(transparent, 60.0, 60.0, coats=2).max() == 0
    assert hiding.card_shift(pure("jet black"), 30.0, 80.0, coats=2).max() < 0.1


def test_a_stepped_card_of_a_three_stage_colour_moves_step_by_step():
    ground, mid = (paint_of(f"Orchard Dusk, {coat}") for coat in ("ground coat", "mid coat"))
    card = hiding.stepped_card(ground, mid, mid_coats=5)
    labs = weights.lab(card)[:, 0]
    steps = ciede2000(labs[:-1], labs[1:]).max(axis=-1)
    assert (np.diff(steps) < 0).all() and steps.min() > 0.5
    bare = predict.of_layers([Layer(ground, np.inf)])
    np.testing.assert_allclose(card[0], bare, rtol=1e-9)


def test_sealer_spans_the_greys_of_the_trade():
    darkest, lightest = undercoat.sealer_lightness(SHOP.sealers, [0.0, 1.0], [1.0, 0.0])
    assert darkest < 15 and lightest > 85
    for wanted in (20, 50, 80):
        mix = undercoat.sealer_for(SHOP.sealers, wanted)
        assert undercoat.sealer_lightness(SHOP.sealers, mix.white_g, mix.black_g) == pytest.approx(wanted, abs=1e-6)
    with pytest.raises(BadEntry, match="undercoat lightness: 99 was given"):
        undercoat.sealer_for(SHOP.sealers, 99)


def test_a_coat_of_base_is_what_the_product_sheets_say():
    sheets = [sheet for sheet in SHOP.products if "base" in sheet.kind]
    assert sheets
    assert {sheet.film_um for sheet in sheets} == {COAT_UM}
