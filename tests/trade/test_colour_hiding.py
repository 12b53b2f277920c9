"""What painters know about undercoats, cards, lamps and flakes. Common practice, no source; each case is one fact."""

import pytest
from paints import SHOP, mixed, paint_of

from refinishlib.colour import fitness, hiding, predict, undercoat
from refinishlib.colour.conditions import Conditions
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.flake import tilt_factor
from refinishlib.colour.lamp import lamp
from refinishlib.colour.pour_error import smallest_mix
from refinishlib.colour.tolerance import of_kind

BLUE = "Kingfisher Pool, as built"
SOLIDS = ("Tarn Evening", "Kiln Red", "Chalk Barn", "Lichen Row", "Kingfisher Pool", "Night Ferry")
METALLICS = ("Millrace Silver", "Wet Slate", "Copper Lane", "Heron Glint")
FACE, FLOP = 0, -1


def seen(title, **conditions):
    return predict.lab(paint_of(title), Conditions(**conditions))[0]


def test_a_transparent_blue_needs_up_to_three_coats_over_a_medium_grey():
    assert hiding.coats_to_hide(paint_of(BLUE), 50.0) == 3


def test_under_a_transparent_blue_a_medium_grey_is_better_than_black_or_white():
    best = hiding.best_grey(paint_of(BLUE), coats=2)
    assert 35 <= best.lightness <= 65


def test_the_undercoats_grey_matters_more_under_a_transparent_blue_than_under_a_dark_blue_or_a_green():
    shift = {
        name: hiding.card_shift(paint_of(f"{name}, as built"), 30.0, 70.0, coats=2).max()
        for name in ("Kingfisher Pool", "Tarn Evening", "Lichen Row", "Night Ferry")
    }
    assert shift["Kingfisher Pool"] > 4 > 2 > max(shift[name] for name in shift if name != "Kingfisher Pool")


@pytest.mark.parametrize("name", ["Kingfisher Pool", "Kiln Red", "Chalk Barn"])
def test_a_card_on_another_grey_than_the_job_misleads(name):
    shift = hiding.card_shift(paint_of(f"{name}, as built"), 30.0, 70.0, coats=2)
    assert shift.max() > of_kind("solid").fade[0]


@pytest.mark.parametrize("name", ["Kingfisher Pool", "Kiln Red"])
def test_a_card_with_another_number_of_coats_than_the_job_misleads(name):
    shift = hiding.card_shift(paint_of(f"{name}, as built"), 80.0, 80.0, coats=2, job_coats=4)
    assert shift.max() > of_kind("solid").edge[0]


@pytest.mark.parametrize("wanted", [20.0, 40.0, 60.0])
@pytest.mark.parametrize("over", [15.0, 50.0, 85.0])
def test_one_coat_of_a_dark_or_medium_sealer_does(wanted, over):
    assert undercoat.sealer_for(SHOP.sealers, wanted, over=over).coats == 1


def test_a_light_sealer_over_a_dark_panel_needs_a_second_coat():
    assert undercoat.sealer_for(SHOP.sealers, 86.0, over=15.0).coats == 2


@pytest.mark.parametrize("title", [f"{name}, as built" for name in (*SOLIDS, *METALLICS)])
def test_an_uncleared_card_misleads(title):
    assert ciede2000(seen(title, surface_is="matt"), seen(title)).max() > of_kind(paint_of(title).kind).fade[0]


@pytest.mark.parametrize("title", [f"{name}, as built" for name in (*SOLIDS, *METALLICS)])
def test_a_card_wiped_with_solvent_misleads_less_than_a_bare_one_and_still_misleads(title):
    cleared = seen(title)
    wiped, bare = (ciede2000(seen(title, surface_is=how), cleared).max() for how in ("wiped", "matt"))
    assert of_kind(paint_of(title).kind).edge[0] < wiped < bare


def test_coarser_flake_is_brighter_in_the_face_and_darker_in_the_flop():
    fine, coarse = (
        predict.lab(mixed([name, "soft black"], [96.0, 4.0]))[0] for name in ("fine silver", "coarse silver")
    )
    assert coarse[FACE, 0] > fine[FACE, 0] + 5
    assert coarse[FLOP, 0] < fine[FLOP, 0] - 2


@pytest.mark.parametrize("name", METALLICS)
def test_sprayed_wet_a_metallic_darkens_in_the_face(name):
    wet, normal, dry = (seen(f"{name}, as built", tilt_factor=tilt_factor(how)) for how in ("wet", "normal", "dry"))
    assert wet[FACE, 0] < normal[FACE, 0] - 2 < dry[FACE, 0] - 2


@pytest.mark.parametrize("tube", ["FL2", "FL11", "LED-B3", "LED-BH1"])
def test_tubes_mislead(tube):
    report = fitness.report(lamp(tube), illuminance_lx=2000)
    assert not report.fit and report.parted > of_kind("solid").fade[0]


def test_a_small_daylight_lamp_will_do_to_choose_a_card_where_it_is_bright_enough():
    small = lamp("daylight lamp")
    assert fitness.report(small, illuminance_lx=1500).fit
    assert not fitness.report(small, illuminance_lx=300).fit


def test_a_balance_of_a_tenth_of_a_gram_wants_more_of_a_white_than_of_a_black():
    white, black = (SHOP.colour(f"{name}, as built") for name in ("Chalk Barn", "Night Ferry"))
    assert smallest_mix(white, 0.1).mass_g > 5 * smallest_mix(black, 0.1).mass_g
