from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from paints import SHOP, mixed, paint_of

from refinishlib.colour import blend, eye, joint, predict, spray, tolerance, weights
from refinishlib.colour.as_read import as_read
from refinishlib.colour.conditions import Conditions
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.film import Layer
from refinishlib.colour.hand import Hand
from refinishlib.colour.reading import from_lab
from refinishlib.colour.spray import Coat, Gun
from refinishlib.colour.stage import Stage
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
    assert made.signals == pytest.approx(eye.signals(made.old_lab, made.lab), abs=2e-4)
    assert np.abs(made.from_old[0] - made.total).max() < 0.6
    assert made.from_old.max() <= made.total.max() + 0.6
    assert 0.3 < made.colour_ends_m <= made.film_ends_m


def test_the_same_paint_on_itself_is_never_seen_when_solid():
    made = blend.along(RED, RED, spray.carried(3, film_um=7, first_end_m=0.3, carry_m=0.2), stations_m=STATIONS)
    assert made.from_old.max() < 0.01
    assert made.worst < 0.02


def test_a_silver_needs_an_orientation_coat():
    with_it, without = (blend.shortest(SILVER, SILVER, orientation=given) for given in (True, False))
    assert with_it.hidden
    assert not without.hidden
    assert without.cause == blend.TILT
    assert "the flakes' tilt" in without.why


def test_an_old_finish_whose_flakes_lie_otherwise_is_not_the_same_paint():
    """A silver that was read and sprayed in a normal coat is 2.1 from its own orientation coat at 15 degrees."""
    coats = blend.planned(0.6, SILVER)
    normal, matched = (blend.along(SILVER, SILVER, coats, stations_m=STATIONS, old_tilt=tilt) for tilt in (1.0, None))
    assert normal.total[0] > 1 > 0.01 > matched.total[0]


def test_over_primer_the_repair_shows_until_it_is_hidden():
    thin = spray.carried(1, film_um=3, first_end_m=0.6, carry_m=0)
    thick = spray.carried(4, film_um=12, first_end_m=0.6, carry_m=0)
    over_dark = {"stations_m": STATIONS, "repair_end_m": 0.2, "conditions": Conditions(undercoat=30.0)}
    steps = [np.ptp(blend.along(RED, RED, coats, **over_dark).from_old[:, 2]) for coats in (thin, thick)]
    assert steps[0] > 2 > 0.3 > steps[1]


def test_a_primer_that_shows_is_an_edge_however_far_the_stations_are_apart():
    """The primer ends hard: its step is found as `eye.edge` says, at any spacing of the stations."""
    coats = spray.carried(2, film_um=5, first_end_m=0.8, carry_m=0.1)
    given = {"repair_end_m": 0.2, "conditions": Conditions(undercoat=30.0)}
    found = [
        blend.along(RED, RED, coats, stations_m=np.linspace(-0.4, 1.6, n), **given).worst for n in (101, 401, 1601)
    ]
    assert found == pytest.approx([found[-1]] * 3, rel=0.02)


def test_a_fade_over_the_old_finish_is_what_two_fluxes_say():
    """The second model: Kubelka and Munk's two equations, integrated through the thin film upwards by steps."""
    from refinishlib.colour import film, surface

    made = blend.along(RED, YELLOWER, blend.planned(0.6, RED), stations_m=STATIONS)
    station = int(np.argmin(np.abs(made.film_um - 4.0)))
    k, s = RED.absorption_per_um, RED.scattering_per_um
    inside = film.infinite(film.absorption(YELLOWER), film.scattering(YELLOWER))
    steps = 4000
    for _ in range(steps):
        middle = inside + (s - 2 * (k + s) * inside + s * inside**2) * made.film_um[station] / steps / 2
        inside = inside + (s - 2 * (k + s) * middle + s * middle**2) * made.film_um[station] / steps
    passed = surface.aspecular().passed[:, None]
    lab = weights.lab(surface.through_surface(inside, inside, passed))[0]
    assert ciede2000(made.lab[station], lab).max() < 0.02


WHITES = [mixed(["white", "soft black"], [98.0, 2.0 + more]) for more in (0.0, 0.4, 1.2, 1.6, 2.0, 2.4)]
SILVERS = [mixed(["medium silver", "soft black"], [90.0, 10.0 + more]) for more in (0.0, 2.0, 6.0, 8.0, 10.0)]


@pytest.mark.parametrize("series", [WHITES, SILVERS])
def test_the_length_grows_with_the_difference(series):
    """0.32 m for every solid and 0.40 m for every metallic was no decision."""
    lengths = [blend.shortest(new, series[0], repair_end_m=None).length_m for new in series]
    assert lengths == sorted(lengths)
    assert len(set(lengths)) >= 4
    assert lengths[-1] > 2 * lengths[0]


def test_the_shortest_blend_is_hidden_and_the_next_shorter_is_not():
    made = blend.shortest(SILVERS[-1], SILVERS[0])
    shorter = blend.LENGTHS_M[blend.LENGTHS_M.index(made.length_m) - 1]
    stations = np.linspace(-spray.FAN_M, shorter + 2 * spray.FAN_M, blend.STATIONS)
    less = blend.along(
        SILVERS[-1], SILVERS[0], blend.planned(shorter, SILVERS[-1]), stations_m=stations, repair_end_m=0.0
    )
    assert made.worst <= 1 < less.worst
    assert f"at {less.shows.angle_deg:g} degrees from {less.shows.distance_m:g} m: {less.shows.word}" in made.why


def test_a_longer_look_or_a_keener_eye_needs_a_longer_blend():
    lengths = [
        blend.shortest(WHITES[3], WHITES[0], repair_end_m=None, eye=eye.Eye(care=care)).length_m
        for care in (3.0, 1.5, 1.2)
    ]
    assert lengths == sorted(lengths)
    assert lengths[0] < lengths[-1]


def test_colour_ends_where_length_no_longer_helps_and_says_so():
    yellow = mixed(["white", "soft black", "yellow oxide"], [98.0, 2.0, 1.5])
    made = blend.shortest(yellow, WHITES[0], repair_end_m=None)
    assert not made.hidden
    assert made.cause == blend.COLOUR
    assert "too much yellower for any length" in made.why


def test_a_repair_whose_undercoat_shows_is_told_from_one_whose_colour_is_off():
    made = blend.shortest(WHITES[0], WHITES[0], conditions=Conditions(undercoat=50.0))
    assert (made.hidden, made.cause) == (False, blend.UNDERCOAT)
    near = blend.shortest(Stage(WHITES[0], 4), WHITES[0], conditions=Conditions(undercoat=80.0))
    assert near.hidden


TITLES = [
    ("Millrace Silver, as built", "Millrace Silver, warmer"),
    ("Kiln Red, as built", "Kiln Red, yellower"),
    ("Tarn Evening, as built", "Tarn Evening, greener"),
]


def read(paint, noise=0.0, seed=0):
    lab = predict.lab(paint, Conditions(film_um=np.inf))[0] + np.random.default_rng(seed).normal(0, noise, (5, 3))
    return from_lab(dict(zip((15, 25, 45, 75, 110), lab, strict=True)))


@pytest.mark.parametrize(("card", "panel"), TITLES)
def test_a_reading_of_the_old_finish_gives_the_same_blend_as_its_formula(card, panel):
    """The reading is of another formula; what stands in for it has other toners and only looks alike."""
    new, old = paint_of(card), paint_of(panel)
    found = as_read(new, read(new, 0.05, 1), read(old, 0.05, 2))
    assert found.left.max() < 0.3
    by_formula, by_reading = (blend.shortest(new, one, repair_end_m=None) for one in (old, found.paint))
    assert by_reading.worst == pytest.approx(by_formula.worst, abs=0.2)
    assert by_reading.length_m == pytest.approx(by_formula.length_m, abs=0.2)


def test_a_blend_that_holds_for_a_hand_is_longer_and_stays_hidden_as_often_as_it_says():
    """Each try sprayed in full beside the first order: the new paint with another tilt, blended as planned."""
    from refinishlib.colour import hand

    dice, tilts = np.random.default_rng(2), []
    tilts = 1 + 0.03 * dice.standard_normal(60)
    meant = hand.panels(SILVER, hand.STILL, tries=1)
    draws = np.concatenate(
        [hand.panels(SILVER, hand.STILL, tries=1, conditions=Conditions(tilt_factor=tilt)) for tilt in tilts]
    )
    for_mean = blend.shortest(SILVER, SILVER)
    for_hand = blend.shortest(SILVER, SILVER, draws_lab=draws - meant)
    assert for_mean.length_m < for_hand.length_m
    assert for_hand.unseen >= blend.PROMISED > blend.sure(for_mean, draws - meant)
    in_full = [
        blend.along(
            mixed_tilt,
            SILVER,
            blend.planned(for_hand.length_m, SILVER),
            stations_m=for_hand.stations_m,
            repair_end_m=0.0,
        ).hidden
        for mixed_tilt in (blend._tilted(SILVER, [(1.0, tilt)]) for tilt in tilts)
    ]
    assert np.mean(in_full) == pytest.approx(for_hand.unseen, abs=0.1)


def three_stage(coats=2):
    return [Stage(mixed(["white"], [1.0]), 6, 12.0), Stage(mixed(["white pearl"], [1.0]), coats, 4.0)]


def test_a_three_stage_colour_is_blended_in_its_stages():
    made = blend.shortest(three_stage(), three_stage(), repair_end_m=None)
    coats = blend.planned(made.length_m, three_stage())
    assert [coat.stage for coat in coats] == [0] * 6 + [1] * 3
    ends = [coat.end_m for coat in coats]
    assert ends == sorted(ends)
    assert made.total.max() < 0.01
    another_coat = blend.along(three_stage(3), three_stage(), coats, stations_m=STATIONS)
    assert another_coat.total == pytest.approx(made.total, abs=0.01), "what is sprayed is what the coats say"
    more = blend.planned(made.length_m, three_stage(3))
    assert blend.along(three_stage(3), three_stage(), more, stations_m=STATIONS).total.max() > 0.3


RULED = tolerance.of_kind("solid")
JOINS, NEVER = joint.chance(RED, RED, Hand(0, 0, 0)), joint.chance(SILVER, SILVER)
SHORT, NONE = blend.shortest(WHITES[2], WHITES[0], repair_end_m=None), blend.shortest(WHITES[0], WHITES[0])


def decide(panel, apart=0.0, joins=NEVER, faded=SHORT, **more):
    return joint.decide(CAR, CAR.panel(panel), tolerance.rule([apart], (45,), RULED), joins, faded, **more)


@pytest.mark.parametrize(
    ("apart", "joins", "faded", "way", "verdict"),
    [
        (0.0, JOINS, SHORT, "edge to edge", "goes edge to edge"),
        (0.0, NEVER, SHORT, "blend into the neighbours", "needs a fade"),
        (1.5, JOINS, SHORT, "blend into the neighbours", "needs a fade"),
        (9.0, JOINS, SHORT, "put it right first", "not yet"),
        (0.0, NEVER, NONE, "put it right first", "not yet"),
        (0.0, JOINS, NONE, "edge to edge", "goes edge to edge"),
    ],
)
def test_edge_to_edge_takes_a_match_and_a_hand_that_can_repeat_it(apart, joins, faded, way, verdict):
    made = decide("left front door", apart, joins, faded)
    assert (made.way, made.verdict) == (way, verdict)


def test_a_small_repair_in_the_middle_is_blended_inside_the_panel_and_cleared_to_its_gaps():
    far = {name: 0.6 for name in vehicle.neighbours(CAR, CAR.panel("bonnet"))}
    made = decide("bonnet", 1.0, to_edge_m=far)
    assert made.way == "blend inside the panel"
    assert made.panels == ("bonnet",)
    assert {stop.clear_break for stop in made.clear} == {"gap"}


@pytest.mark.parametrize("panel", [panel.name for panel in CAR.panels])
def test_colour_never_nears_a_neighbours_far_edge_and_clear_runs_to_every_border(panel):
    made = decide(panel, 1.0)
    for stop in made.colour[1:]:
        assert stop.colour_m <= joint.COLOUR_ROOM * vehicle.across_m(CAR, CAR.panel(panel), CAR.panel(stop.panel))
    cleared = {stop.panel for stop in made.colour}
    borders = {(a, b) for a in cleared for b in vehicle.neighbours(CAR, CAR.panel(a)) if b not in cleared}
    assert {(stop.panel, stop.towards) for stop in made.clear} == borders


def test_a_blend_on_a_wing_may_run_up_the_pillar():
    made = decide("left front wing", 1.0)
    assert "left pillar" in [stop.panel for stop in made.colour]
    top = next(stop for stop in made.clear if stop.towards == "left roof side")
    assert "product sheet decides" in top.words


def test_where_there_is_no_break_line_the_product_sheet_decides():
    made = decide("left quarter panel", 1.0, to_edge_m={"left roof side": 1.0})
    side = next(stop for stop in made.clear if stop.towards == "left roof side")
    assert side.clear_break == "none"
    assert "product sheet decides" in side.words


def test_a_blend_that_finds_no_room_sends_back_to_the_colour():
    long = blend.shortest(WHITES[-1], WHITES[0], repair_end_m=None)
    made = decide("left front door", 1.0, faded=long)
    assert long.film_ends_m > joint.COLOUR_ROOM * 0.95
    assert made.way == "put it right first"
    assert "far edge" in made.why


def test_a_plan_rests_on_the_shortest_blend_and_on_the_hand():
    far = {name: 0.9 for name in vehicle.neighbours(CAR, CAR.panel("bonnet"))}
    made, found, joins = joint.plan(CAR, CAR.panel("bonnet"), SILVERS[1], SILVERS[0], to_edge_m=far)
    assert made.way == "blend inside the panel"
    assert made.blend_m == found.film_ends_m < 0.9
    assert joins.why in made.why
    off, _, _ = joint.plan(CAR, CAR.panel("left front door"), SILVER, paint_of("Wet Slate, as built"))
    assert off.way == "put it right first"


def test_a_plan_tells_the_undercoat_from_the_colour():
    white = SHOP.colour("Chalk Barn, as built")
    made, _, _ = joint.plan(CAR, CAR.panel("left front door"), white, white)
    assert made.verdict == "not yet"
    assert "the undercoat shows" in made.why
    assert "undercoat nearer to the colour" in made.why


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
        (lambda: blend.along(RED, RED, [Coat(0, 0, 7, stage=1)], stations_m=STATIONS), "stage of a coat: 2"),
        (lambda: blend.shortest([], RED), "stages of the finish: 0"),
        (lambda: blend.shortest(RED, RED, longest_m=0.1), "longest blend: 0.1"),
        (lambda: blend.sure(SHORT, np.zeros((4, 3, 3))), "draws of the colour: 4 x 3 x 3"),
        (lambda: blend.sure(replace(SHORT, old_share=None), np.zeros((4, 5, 3))), "blend: one from along"),
        (lambda: as_read(RED, from_lab({45: (40, 0, 0)}), from_lab({15: (40, 0, 0)})), "no angle in common"),
        (lambda: blend.planned(0.0, RED), "blend length: 0"),
        (lambda: Stage(RED, 0), "coats: 0"),
        (lambda: Stage(RED, 3, -1.0), "dry film: -1"),
        (lambda: decide("bonnet", to_edge_m={"roof": 1}), "neighbour of bonnet"),
        (lambda: decide("bonnet", to_edge_m={"left front wing": -1}), "distance to left front wing: -1"),
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
