"""What shows through: the toner set must hide as painters know it does (common practice, no source)."""

from dataclasses import replace

import numpy as np
import pytest
from paints import SHOP, conditions_of, mixed, paint_of
from scipy.integrate import solve_ivp

from refinishlib.colour import hiding, predict, surface, undercoat, weights
from refinishlib.colour.conditions import COAT_UM
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.film import Layer
from refinishlib.colour.hiding import coats_to_hide
from refinishlib.colour.optics import mixture
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
    shows = hiding.show_through(pure("white"), undercoat.grey([DARK, MID, WHITE]), coats=6)[:, 2]
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
    """ISO 6504-1: a film hides at 98 %. White needs a thick film; the number means nothing on a dark paint.

    The cards are told by what they read. With 0.8 inside the resin the white card read 0.62 and white hid at 79 um.
    """
    white = pure("white")
    film_um = hiding.hiding_thickness(white)
    assert film_um == pytest.approx(102, abs=1)
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
        others = hiding.show_through(pure(name), undercoat.grey(np.arange(5.0, 96.0, 5.0)), coats=2).max(axis=-1)
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


def test_sealer_spans_the_greys_of_the_trade_within_what_a_scale_and_a_tin_allow():
    """An endless film was asked for before, and 0.0013 g of black."""
    darkest, lightest = undercoat.sealer_lightness(SHOP.sealers, [0.0, 1.0], [1.0, 0.0])
    assert darkest < 15 and lightest > 85
    for wanted in (20, 50, 80):
        for over in (15.0, 50.0, 85.0):
            mix = undercoat.sealer_for(SHOP.sealers, wanted, over=over)
            assert mix.close and abs(mix.reads[0] - wanted) <= undercoat.CLOSE_LIGHTNESS
            for grams in (mix.white_g, mix.black_g):
                assert grams == 0 or grams >= undercoat.SMALLEST_POUR_G
                assert grams == pytest.approx(round(grams, 1), abs=1e-9)
            assert mix.white_g + mix.black_g == pytest.approx(100)
    with pytest.raises(BadEntry, match="undercoat lightness: 99 was given"):
        undercoat.sealer_for(SHOP.sealers, 99)


def test_one_coat_of_a_light_sealer_over_a_dark_panel_is_not_light_so_the_coats_are_said():
    """Two-flux integration is the truth: one 22 um coat that reads 86 as an endless film reads 77.6 over L* 15."""
    white, black = 99.8174, 0.1826
    assert undercoat.sealer_lightness(SHOP.sealers, white, black) == pytest.approx(86, abs=0.1)
    mix = mixture(SHOP.sealers, [white, black])
    under = undercoat.grey(15.0)

    def change(_, up, k, s):
        # Light going up over light going down, from the undercoat: dR/dx = S - 2 (K + S) R + S R^2.
        return s - 2 * (k + s) * up + s * up**2

    run = solve_ivp(change, (0, 22), under, args=(mix.absorption_per_um, mix.scattering_per_um), rtol=1e-9, atol=1e-12)
    one_coat = run.y[:, -1]
    assert undercoat.sealed(SHOP.sealers, white, black, coats=1, over=15.0) == pytest.approx(one_coat, rel=1e-6)
    assert undercoat.lightness_of(one_coat) == pytest.approx(77.6, abs=0.2)
    answer = undercoat.sealer_for(SHOP.sealers, 86, over=15.0)
    assert answer.coats == 2 and answer.close
    assert [undercoat.sealer_for(SHOP.sealers, wanted, over=15.0).coats for wanted in (40, 80)] == [1, 2]
    anything = undercoat.sealer_for(SHOP.sealers, 80)
    assert anything.coats == 2 and len(anything.reads) == 2 and anything.close
    assert not undercoat.sealer_for(SHOP.sealers, 86).close


def test_a_coloured_primer_lies_under_paint_like_any_grey():
    """It was a raw ValueError."""
    red_primer = undercoat.from_lab([38.0, 25.0, 18.0])
    red, blue = paint_of("Kiln Red, as built"), paint_of("Kingfisher Pool, as built")
    assert coats_to_hide(red, red_primer) < coats_to_hide(red, 38.0)
    assert hiding.show_through(blue, red_primer, coats=1).max() > hiding.show_through(blue, 38.0, coats=1).max()
    shows = hiding.show_through(blue, red_primer, coats=[0, 1, 2, 3]).max(axis=-1)
    assert (np.diff(shows) < 0).all()
    assert hiding.card_shift(red, red_primer, 38.0, coats=2).shape == (5,)
    read = surface.through_surface(red_primer, red_primer, surface.geometry(45, 0).passed)
    np.testing.assert_allclose(undercoat.from_reading(read), red_primer, atol=1e-12)
    grey_read = np.full(31, float(weights.luminance(45.0)))
    np.testing.assert_allclose(undercoat.from_reading(grey_read), undercoat.grey(45.0), atol=1e-12)


def test_of_the_greys_in_stock_the_nearest_to_the_best_is_taken_and_the_fewest_coats_are_found():
    blue = paint_of("Kingfisher Pool, as built")
    every = hiding.fewest_coats(blue)
    by_hand = {grey: coats_to_hide(blue, grey) for grey in np.arange(10.0, 91.0, 5.0)}
    assert every.coats == min(by_hand.values()) == coats_to_hide(blue, every.lightness)
    assert hiding.show_through(blue, every.lightness, coats=every.coats).max() == pytest.approx(
        every.largest_difference
    )
    in_stock = [sheet.lightness for sheet in SHOP.products if sheet.lightness]
    assert len(in_stock) >= 3
    stock = hiding.fewest_coats(blue, stock=in_stock)
    assert stock.lightness in in_stock
    assert stock.coats == min(coats_to_hide(blue, grey) for grey in in_stock) >= every.coats
    best = hiding.best_grey(blue, coats=2, stock=in_stock)
    assert best.largest_difference == min(hiding.show_through(blue, grey, coats=2).max() for grey in in_stock)
    assert hiding.fewest_coats(paint_of("Orchard Dusk, mid coat"), most_coats=3) is None


def test_coats_that_differ_between_card_and_job_show_where_the_paint_is_transparent():
    blue, black = paint_of("Kingfisher Pool, as built"), paint_of("Night Ferry, as built")
    assert hiding.card_shift(blue, 70.0, 70.0, coats=2, job_coats=3).max() > 1
    assert hiding.card_shift(blue, 70.0, 70.0, coats=3, job_coats=3).max() == 0
    assert hiding.card_shift(black, 70.0, 70.0, coats=2, job_coats=3).max() < 0.1


def test_a_three_stage_colour_hides_by_its_ground_coat_and_moves_by_its_mid_coats():
    ground, mid = (paint_of(f"Orchard Dusk, {coat}") for coat in ("ground coat", "mid coat"))
    above = [Layer(mid, 2 * COAT_UM)]
    alone, covered = (hiding.show_through(ground, 80.0, coats=1, above=layers).max() for layers in ((), above))
    assert covered < alone
    assert coats_to_hide(ground, 80.0, above=above) <= coats_to_hide(ground, 80.0)
    assert hiding.fewest_coats(ground, above=above).coats <= hiding.fewest_coats(ground).coats
    one_more = hiding.card_shift(ground, 50.0, 50.0, coats=3, above=above, job_above=[Layer(mid, 3 * COAT_UM)])
    another_grey = hiding.card_shift(ground, 30.0, 70.0, coats=3, above=above)
    assert one_more.max() > 1 > 0.1 > another_grey.max()


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: coats_to_hide(pure("white"), np.full(30, 0.3)), "undercoat reflectance: 30 values were given"),
        (lambda: coats_to_hide(pure("white"), 101), "undercoat lightness: 101 was given"),
        (lambda: hiding.show_through(pure("white"), np.full(31, 1.2), coats=1), "undercoat reflectance"),
        (lambda: hiding.show_through(pure("white"), 50.0, coats=-1), "coats: -1 was given"),
        (lambda: hiding.best_grey(pure("white"), coats=2, stock=[]), "greys in stock: none was given"),
        (lambda: hiding.best_grey(pure("white"), coats=2, stock=[120.0]), "undercoat lightness: 120 was given"),
        (lambda: hiding.card_shift(pure("white"), 50, 50, coats=2, job_coats=0), "coats on the job: 0 was given"),
        (lambda: undercoat.from_lab([50.0, 90.0, -90.0]), "undercoat colour: 50, 90, -90 was given"),
        (lambda: undercoat.from_lab([50.0, 0.0]), "undercoat colour"),
        (lambda: undercoat.from_reading(np.full(31, 1.4)), "undercoat reflectance"),
        (lambda: undercoat.sealer_for(SHOP.sealers, 50, mass_g=0), "mass of the mix: 0 was given"),
        (lambda: undercoat.sealer_for(SHOP.sealers, 50, readability_g=0), "readability: 0 was given"),
        (lambda: undercoat.sealed(SHOP.sealers, 50, 50, coats=9, over=50), "coats of sealer: 9 was given"),
    ],
)
def test_a_bad_entry_is_one_sentence(call, words):
    with pytest.raises(BadEntry, match=words) as caught:
        call()
    assert str(caught.value).count("\n") == 0


def test_a_coat_of_base_is_what_the_product_sheets_say():
    sheets = [sheet for sheet in SHOP.products if "base" in sheet.kind]
    assert sheets
    assert {sheet.film_um for sheet in sheets} == {COAT_UM}
