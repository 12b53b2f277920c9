import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from paints import SHOP, mixed, paint_of

from refinishlib.colour import blend, joint, predict, ramp, spray
from refinishlib.colour.conditions import COAT_UM, Conditions
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.film import Layer
from refinishlib.colour.spray import Coat, Gun
from refinishlib.entry import BadEntry
from refinishlib.shop import vehicle

CAR = SHOP.vehicle

STATIONS = np.linspace(-0.4, 1.6, 401)


SILVER, WARMER = paint_of("Millrace Silver, as built"), paint_of("Millrace Silver, warmer")
RED, YELLOWER = paint_of("Kiln Red, as built"), paint_of("Kiln Red, yellower")


@settings(max_examples=20, deadline=None)
@given(
    fan=st.floats(0.1, 0.5),
    overlap=st.floats(0.3, 0.85),
    power=st.floats(0, 4),
    fade=st.floats(0, 0.5),
    film=st.floats(1, 30),
)
def test_a_coat_is_as_thick_as_it_says_and_no_paint_falls_beyond_the_fan(fan, overlap, power, fade, film):
    gun, coat = Gun(fan, overlap, power), Coat(0.3, fade, film)
    offsets = np.linspace(-fan, fan, 20001)
    assert np.trapezoid(spray.pass_profile(offsets, gun), offsets) == pytest.approx(1, rel=1e-2)
    laid = spray.coat_film(np.linspace(-2, 1, 3001), coat, gun)
    pitch = fan * (1 - overlap)
    deep = np.linspace(0, 5 * pitch, 4000, endpoint=False) - 4
    assert spray.coat_film(deep, coat, gun).mean() == pytest.approx(film, rel=2e-2)
    assert (laid >= 0).all()
    assert laid[np.linspace(-2, 1, 3001) > 0.3 + fan / 2 + 1e-9].max(initial=0) == 0


def test_more_overlap_lays_a_more_even_coat():
    assert spray.unevenness(Gun(overlap=0.75)) < 0.02 < spray.unevenness(Gun(overlap=0.5))
    assert spray.unevenness(Gun(overlap=0.5)) < spray.unevenness(Gun(overlap=0.3))


def test_each_coat_goes_further_and_the_orientation_coat_furthest():
    coats = spray.carried(3, film_um=7, first_end_m=0.1, carry_m=0.2, orientation=True)
    film = spray.film_build(STATIONS, coats)
    reach = [STATIONS[np.flatnonzero(one > 0)[-1]] for one in film]
    assert reach == sorted(reach) and len(set(reach)) == 4
    assert film[:, 0] == pytest.approx([7, 7, 7, 7 * spray.ORIENTATION_FILM], rel=0.01)
    reduced = spray.carried(3, film_um=8, first_end_m=0.1, carry_m=0.2, thinning=0.5)
    assert [coat.film_um for coat in reduced] == [8, 4, 2]


@pytest.mark.parametrize(("new", "old", "orientation"), [(SILVER, WARMER, True), (RED, YELLOWER, False)])
def test_colour_runs_from_the_new_paint_to_the_old_finish(new, old, orientation):
    coats = spray.carried(4, film_um=8, first_end_m=0.3, carry_m=0.15, orientation=orientation)
    made = blend.along(new, old, coats, stations_m=STATIONS)
    assert made.from_old[-1].max() == 0
    assert made.from_old == pytest.approx(ciede2000(made.old_lab, made.lab), abs=0.01)
    assert np.abs(made.from_old[0] - made.total).max() < 0.6
    assert made.from_old.max() <= made.total.max() + 0.6
    assert 0.3 < made.colour_ends_m <= made.film_ends_m


def test_the_same_paint_on_itself_is_never_seen_when_solid():
    made = blend.along(RED, RED, spray.carried(3, film_um=7, first_end_m=0.3, carry_m=0.2), stations_m=STATIONS)
    assert made.from_old.max() < 0.01
    assert made.steepest < 0.05


def test_without_an_orientation_coat_a_silver_shows_its_dry_edge():
    coats = {"orientation": True, "film_um": 7, "first_end_m": 0.3, "carry_m": 0.2}
    with_it = blend.along(SILVER, SILVER, spray.carried(3, **coats), stations_m=STATIONS)
    without = blend.along(SILVER, SILVER, spray.carried(3, **coats | {"orientation": False}), stations_m=STATIONS)
    edge = np.searchsorted(STATIONS, 0.7)
    assert np.ptp(without.lab[:edge, 0, 0]) > 1.2 * np.ptp(with_it.lab[:edge, 0, 0])


def test_over_primer_the_repair_shows_until_it_is_hidden():
    thin = spray.carried(1, film_um=3, first_end_m=0.6, carry_m=0)
    thick = spray.carried(4, film_um=12, first_end_m=0.6, carry_m=0)
    over_dark = {"stations_m": STATIONS, "repair_end_m": 0.2, "conditions": Conditions(undercoat=30.0)}
    steps = [np.ptp(blend.along(RED, RED, coats, **over_dark).from_old[:, 2]) for coats in (thin, thick)]
    assert steps[0] > 2 > 0.3 > steps[1]


def test_an_edge_is_twice_its_difference_per_degree_and_a_ramp_gets_steeper_with_distance():
    """Half a degree at 1, 2 and 4 m is 8.7, 17.5 and 34.9 mm."""
    edge = np.where(STATIONS[:, None, None] < 0.5, [50.0, 0, 0], [51.0, 0, 0])
    rising = 50 + np.stack([STATIONS, 0 * STATIONS, 0 * STATIONS], axis=-1)[:, None]
    assert ramp.slopes(STATIONS, edge, [1, 2, 4]).max(axis=(1, 2)) == pytest.approx(2.0, rel=0.02)
    steep = ramp.slopes(STATIONS, rising, [1, 2, 4])[:, 200, 0]
    assert steep == pytest.approx(np.array([1, 2, 4]) * np.tan(np.radians(0.5)) * 2, rel=0.02)


@pytest.mark.parametrize(("new", "old", "orientation"), [(SILVER, WARMER, True), (RED, YELLOWER, False)])
def test_the_steepest_slope_is_the_largest_of_all_slopes(new, old, orientation):
    coats = spray.carried(3, film_um=7, first_end_m=0.3, carry_m=0.1, fade_m=0.05, orientation=orientation)
    made = blend.along(new, old, coats, stations_m=STATIONS, repair_end_m=0.1, distances_m=[0.5, 2.0, 5.0])
    everywhere = ramp.slopes(STATIONS, made.lab, made.distances_m)
    assert made.slope == pytest.approx(everywhere.max(axis=1), rel=1e-9)


def test_the_shortest_blend_is_gentle_and_five_centimetres_less_is_not():
    limit = 1.0
    made = blend.shortest(SILVER, WARMER, coats=3, orientation=True, slope_limit=limit)
    length = made.stations_m[-1] - 2 * spray.FAN_M
    plan = {"coats": 3, "film_um": 7.0, "orientation": True}
    less = blend.planned(length - blend.LENGTH_STEP_M, **plan)
    stations = np.linspace(-0.25, length + 0.45, blend.STATIONS)
    assert length > blend.SHORTEST_M + blend.LENGTH_STEP_M
    assert made.steepest <= limit < blend.along(SILVER, WARMER, less, stations_m=stations).steepest
    assert blend.shortest(SILVER, paint_of("Wet Slate, as built"), coats=3, orientation=True) is None


def test_thinning_the_last_coats_makes_a_blend_gentler():
    plan = {"coats": 3, "film_um": COAT_UM}
    steepest = [
        blend.along(RED, YELLOWER, blend.planned(0.6, thinning=thinning, **plan), stations_m=STATIONS).steepest
        for thinning in (1.0, 0.7, 0.4)
    ]
    assert steepest == sorted(steepest, reverse=True)


def decide(panel, *given, **more):
    return joint.decide(CAR, CAR.panel(panel), *given, **more)


GREY, ANGLES = np.tile([60.0, 0.0, 0.0], (3, 1)), (15, 45, 110)


@pytest.mark.parametrize(
    ("kind", "lightness", "apart", "way"),
    [
        ("solid", 8.0, 0.2, "edge to edge"),
        ("solid", 90.0, 0.2, "blend into the neighbours"),
        ("solid", 45.0, 0.0, "blend into the neighbours"),
        ("metallic", 8.0, 0.0, "blend into the neighbours"),
        ("pearl", 60.0, 0.2, "blend into the neighbours"),
        ("solid", 8.0, 1.5, "blend into the neighbours"),
        ("solid", 60.0, 9.0, "correct the colour first"),
    ],
)
def test_only_a_solid_black_in_tolerance_is_joined_edge_to_edge(kind, lightness, apart, way):
    old = np.tile([lightness, 0.0, 0.0], (3, 1))
    made = decide("left front door", kind, old, np.add(old, [apart, 0, 0]), ANGLES, 0.5)
    assert made.way == way


def test_a_small_repair_in_the_middle_is_blended_inside_the_panel_and_cleared_to_its_gaps():
    far = {name: 0.6 for name in vehicle.neighbours(CAR, CAR.panel("bonnet"))}
    made = decide("bonnet", "metallic", GREY, np.add(GREY, [1, 0, 0]), ANGLES, 0.5, to_edge_m=far)
    assert made.way == "blend inside the panel"
    assert made.panels == ("bonnet",)
    assert {stop.clear_break for stop in made.clear} == {"gap"}


@pytest.mark.parametrize("panel", [panel.name for panel in CAR.panels])
def test_colour_never_nears_a_neighbours_far_edge_and_clear_runs_to_every_border(panel):
    made = decide(panel, "metallic", GREY, np.add(GREY, [1, 0, 0]), ANGLES, 0.5)
    for stop in made.colour[1:]:
        assert stop.colour_m <= joint.COLOUR_ROOM * vehicle.across_m(CAR, CAR.panel(panel), CAR.panel(stop.panel))
    cleared = {stop.panel for stop in made.colour}
    borders = {(a, b) for a in cleared for b in vehicle.neighbours(CAR, CAR.panel(a)) if b not in cleared}
    assert {(stop.panel, stop.towards) for stop in made.clear} == borders


def test_where_there_is_no_break_line_the_product_sheet_decides():
    far = {"roof": 1.0}
    made = decide("left quarter panel", "metallic", GREY, np.add(GREY, [1, 0, 0]), ANGLES, 0.5, to_edge_m=far)
    roof = next(stop for stop in made.clear if stop.towards == "roof")
    assert roof.clear_break == "none"
    assert "product sheet decides" in roof.words


def test_a_blend_that_finds_no_room_sends_back_to_the_colour():
    made = decide("left front door", "metallic", GREY, np.add(GREY, [1, 0, 0]), ANGLES, 0.9)
    assert made.way == "correct the colour first"
    assert "far edge" in made.why
    assert decide("left front door", "metallic", GREY, GREY, ANGLES, None).way == "correct the colour first"


def test_a_plan_rests_on_the_shortest_blend():
    made, found = joint.plan(CAR, CAR.panel("left front door"), SILVER, paint_of("Wet Slate, as built"), coats=3)
    assert (made.way, found) == ("correct the colour first", None)
    far = {name: 0.9 for name in vehicle.neighbours(CAR, CAR.panel("bonnet"))}
    near = mixed(["medium silver", "soft black"], [90.0, 10.0])
    nearer = mixed(["medium silver", "soft black"], [90.3, 9.7])
    made, found = joint.plan(CAR, CAR.panel("bonnet"), nearer, near, coats=3, to_edge_m=far)
    assert made.way == "blend inside the panel"
    assert made.blend_m == found.film_ends_m < 0.9


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: Gun(fan_m=0), "fan: 0"),
        (lambda: Gun(overlap=1.0), "overlap: 1"),
        (lambda: Coat(0.3, -0.1, 7.0), "fade: -0.1"),
        (lambda: blend.along(RED, RED, [], stations_m=STATIONS), "coats: none"),
        (lambda: blend.along(RED, RED, [Coat(0, 0, 7)], stations_m=[0.0, 0.1, 0.3]), "stations: uneven"),
        (lambda: blend.along(RED, RED, [Coat(0, 0, 7)], stations_m=[0.0, np.nan]), "stations: nan"),
        (lambda: blend.along(RED, RED, [Coat(0, 0, 7)], stations_m=STATIONS, distances_m=[0.0]), "distance: 0"),
        (lambda: decide("bonnet", "matt", GREY, GREY, ANGLES, 0.3), "kind of colour"),
        (lambda: decide("bonnet", "solid", GREY, GREY, (15, 45, 46), 0.3), "aspecular angle: 46"),
        (
            lambda: decide("bonnet", "solid", GREY, GREY, ANGLES, 0.3, to_edge_m={"roof": 1}),
            "neighbour of bonnet",
        ),
    ],
)
def test_a_bad_entry_is_one_sentence(call, words):
    with pytest.raises(BadEntry, match=words):
        call()


def test_a_film_of_nothing_changes_nothing():
    """What every faded end rests on: the colour under it goes over into the old finish without a step."""
    for new, old in [(SILVER, WARMER), (RED, SILVER), (SILVER, RED)]:
        bare, covered = (
            predict.of_layers([Layer(old, np.inf), *layers]) for layers in ([], [Layer(new, 0.0), Layer(new, 0.0)])
        )
        assert np.allclose(bare, covered, atol=1e-12)
