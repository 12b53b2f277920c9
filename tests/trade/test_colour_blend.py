"""What painters say about joints and blends: common practice, no source. Each a case that the engine must bear out."""

import numpy as np
import pytest
from paints import SHOP, mixed, paint_of

from refinishlib.colour import blend, hand, joint, predict
from refinishlib.colour.conditions import Conditions
from refinishlib.colour.hand import Hand
from refinishlib.colour.reading import from_lab
from refinishlib.colour.stage import Stage

BLACK, BLUE, RED, WHITE, SILVER, COPPER = (
    SHOP.colour(f"{name}, as built")
    for name in ("Night Ferry", "Tarn Evening", "Kiln Red", "Chalk Barn", "Millrace Silver", "Copper Lane")
)
METALLICS = [formula for formula in SHOP.colours if formula.kind == "metallic"]


def test_a_black_may_be_joined_edge_to_edge():
    assert joint.chance(BLACK, BLACK).not_seen > 0.99


@pytest.mark.parametrize("formula", METALLICS, ids=lambda formula: formula.title)
def test_a_metallic_hardly_ever_joins_edge_to_edge_because_of_its_flakes(formula):
    found = joint.chance(formula, formula)
    assert found.not_seen < 0.6
    assert found.driver == "tilt"


def test_a_solid_that_hides_well_joins_as_well_as_it_matches():
    assert joint.chance(BLUE, BLUE).promised


def test_a_plain_white_lies_between_and_its_undercoat_decides():
    """Some painters join a plain white. The engine finds: with enough coats, over a grey that is near to it."""
    over_grey = joint.chance(WHITE, WHITE)
    assert 0.4 < over_grey.not_seen < 0.9
    assert over_grey.driver in ("film", "grey")
    assert "the undercoat shows" in over_grey.why
    four = Stage(WHITE, 4)
    assert joint.chance(four, four, conditions=Conditions(undercoat=75.0)).promised


def test_only_a_hand_of_half_a_percent_would_join_a_silver():
    shares = [joint.chance(SILVER, SILVER, Hand(tilt=tilt)).not_seen for tilt in (0.0025, 0.01, 0.02)]
    assert shares[0] > 0.9 > 0.75 > shares[1] > shares[2]


def test_a_metallic_blend_needs_an_orientation_coat():
    silver = paint_of(SILVER.title)
    assert blend.shortest(silver, silver).hidden
    assert not blend.shortest(silver, silver, orientation=False).hidden


def test_a_fade_over_a_primer_spot_that_shows_is_never_long_enough():
    made = blend.shortest(WHITE, WHITE, conditions=Conditions(undercoat=30.0))
    assert not made.hidden
    assert made.cause == blend.UNDERCOAT


def test_a_yellow_cast_cannot_be_blended_away_where_a_dark_one_can():
    white = mixed(["white", "soft black"], [98.0, 2.0])
    darker, yellower = (
        mixed(["white", "soft black", "yellow oxide"], [98.0, *more]) for more in ((3.5, 0), (2.0, 1.0))
    )
    assert blend.shortest(darker, white, repair_end_m=None).length_m < 0.5
    assert blend.shortest(yellower, white, repair_end_m=None).length_m > 1.0


def test_colour_stops_inside_and_clear_runs_on_to_a_break():
    made, _, _ = joint.plan(SHOP.vehicle, SHOP.vehicle.panel("left front door"), SILVER, SILVER)
    assert made.way == "blend into the neighbours"
    assert {stop.panel for stop in made.colour} == {"left front door", "left front wing", "left rear door"}
    assert all(stop.colour_m < 0.75 * stop.room_m for stop in made.colour[1:])
    assert {"bonnet", "left pillar", "left quarter panel"} <= {stop.towards for stop in made.clear}


def test_an_unsteady_hand_does_not_make_a_black_unjoinable():
    assert joint.chance(BLACK, BLACK, Hand(film=0.3, tilt=0.1, grey=6.0)).promised


def test_a_wet_heavy_coat_on_the_old_finish_is_read_before_it_is_blended():
    silver = paint_of(SILVER.title)
    wet = predict.lab(silver, Conditions(film_um=np.inf, tilt_factor=1.18))[0]
    tilt = hand.tilt_of(silver, from_lab(dict(zip((15, 25, 45, 75, 110), wet, strict=True))))
    coats, stations = blend.planned(0.6, silver), np.linspace(-0.25, 1.1, 240)
    believed, read = (blend.along(silver, silver, coats, stations_m=stations, old_tilt=t) for t in (1.0, tilt))
    assert abs(believed.total[0] - read.total[0]) > 0.5
