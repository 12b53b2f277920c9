"""The price of a slip: it never makes anything cheaper, and the panels that join are those a painter would name."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refinishlib.booth.hours import shop_hours
from refinishlib.entry import BadEntry
from refinishlib.job.slip import INTO, Sheets, consequence
from refinishlib.shop.product import ready_to_spray
from refinishlib.shop.shop import load

CAR = load().vehicle
MENDS = Sheets(*map(load().product, ("epoxy primer", "plastic primer", "grey sealer", "water base", "clear")))
HOURS = shop_hours()
PANELS = [panel.name for panel in CAR.panels]


def around(name):
    """The panels on the other side of its edges, straight from the seams."""
    return {two[1 - two.index(name)]: seam for seam in CAR.seams for two in [seam.panels] if name in two}


def slip(panel, zone, into, **more):
    return consequence(CAR, MENDS, HOURS, panel, zone, into, **{"blend_m": 0.4, **more})


def needs(found):
    return {one.panel: one.needs for one in found.panels}


PLANS = st.dictionaries(
    st.sampled_from(PANELS), st.sampled_from([("clear",), ("colour", "clear"), ("sealer", "colour", "clear")]),
    max_size=4,
)  # fmt: skip


@st.composite
def slips(draw):
    panel = draw(st.sampled_from([name for name in PANELS if around(name)]))
    towards = draw(st.sampled_from(list(around(panel))))
    return {
        "panel": panel, "zone": draw(st.sampled_from(["flat", "crown", "edge"])), "towards": towards,
        "blend_m": draw(st.floats(0.05, 2)), "planned": draw(PLANS),
    }  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(slips())
def test_a_slip_never_makes_anything_cheaper_and_going_deeper_never_does_either(case):
    found = [slip(into=into, **case) for into in INTO]
    for one in found:
        assert min(one.added.money, one.added.work_min, one.added.paint) >= -1e-9 and one.added.booth_min >= -1e-9
    for shallow, deep in pairwise(found):
        assert set(needs(shallow)) <= set(needs(deep))
        assert shallow.added.money <= deep.added.money + 1e-9
        assert shallow.added.work_min <= deep.added.work_min + 1e-9
    for one in found:
        for panel in one.panels:
            planned = set(case["planned"].get(panel.panel, ()))
            assert not planned & set(panel.needs)  # nothing is asked for twice
            assert panel.why and panel.film_um > 0
            # clear runs over all of every panel that gets colour
            assert "colour" not in panel.needs or "clear" in {*panel.needs, *planned}


@settings(max_examples=40, deadline=None)
@given(slips(), st.floats(0.05, 1))
def test_a_longer_blend_never_takes_fewer_panels(case, longer):
    short = slip(into="colour", **case)
    long = slip(into="colour", **{**case, "blend_m": case["blend_m"] + longer})
    assert set(needs(short)) <= set(needs(long))


def test_through_the_clear_on_the_flat_of_a_door_stays_on_the_door():
    found = slip("left front door", "flat", "colour")
    assert needs(found) == {"left front door": ("colour", "clear")}
    assert "through the clear" in found.panels[0].why
    # colour runs out 0.4 m each way: a square of 0.8 m
    assert found.panels[0].colour_m2 == pytest.approx(0.8 * 0.8)
    assert found.panels[0].film_um == pytest.approx(3 * 6 + 2 * 28)  # the sheets' coats
    assert found.added.money > 0 and "left front door: colour, clear" in found.sentence


def test_through_the_edge_of_a_door_the_next_door_joins_and_the_one_after_would_join_next():
    found = slip("left front door", "edge", "colour", towards="left rear door")
    assert needs(found) == {"left front door": ("colour", "clear"), "left rear door": ("colour", "clear")}
    assert found.joins_next == {"left rear door": ("left quarter panel",)}
    assert "is 0.00 m from its edge" in found.panels[1].why
    # the strip over the seam: 0.4 m along a seam as high as the door
    assert found.panels[1].colour_m2 == pytest.approx(0.4 * CAR.panel("left rear door").width_m)


@pytest.mark.parametrize(
    ("panel", "into", "first"),
    [
        ("left front door", "primer", ("sealer", "colour", "clear")),
        ("left front door", "bare", ("primer", "sealer", "colour", "clear")),
        ("front bumper", "bare", ("primer", "sealer", "colour", "clear")),
        ("left front door", "clear", ("clear",)),
    ],
)
def test_into_primer_or_metal_the_sheet_s_primer_or_sealer_comes_first(panel, into, first):
    found = slip(panel, "flat", into)
    assert needs(found)[panel] == first
    products = [amount.product for amount in found.paint.amounts]
    assert ("epoxy primer" in products) == (into == "bare" and panel != "front bumper")
    assert ("plastic primer" in products) == (into == "bare" and panel == "front bumper")


def test_primer_and_sealer_go_over_the_place_and_not_over_the_panel():
    """Teaching value: 0.05 m2. Sealer of 22 um and the sheet's solids, 65 % of it landing."""
    found = slip("left front door", "flat", "primer")
    sealer = next(amount for amount in found.paint.amounts if amount.product == "grey sealer")
    solids = ready_to_spray(load().product("grey sealer")).volume_solids
    assert sealer.sprayed_ml == pytest.approx(0.05 * 22 / solids / 0.65)


def test_what_was_planned_anyway_costs_nothing_more():
    plan = {"left front door": ["colour", "clear"], "left rear door": ["colour", "clear"]}
    found = slip("left front door", "edge", "colour", towards="left rear door", planned=plan)
    assert found.panels == () and found.added.money == 0
    assert found.sentence == "Nothing more has to be sprayed than was planned."
    deeper = slip("left front door", "edge", "primer", towards="left rear door", planned=plan)
    assert needs(deeper) == {"left front door": ("sealer",)} and deeper.added.money > 0


def test_a_neighbour_that_the_eye_does_not_compare_does_not_join():
    others = [name for name, seam in around("left front door").items() if seam.faces != "same way"]
    for name in others:
        assert "colour" not in needs(slip("left front door", "edge", "colour", towards=name)).get(name, ())


def test_clear_runs_on_where_there_is_no_line_to_stop_at():
    smooth = [seam for seam in CAR.seams if seam.clear_break == "none"]
    assert smooth
    for seam in smooth:
        one, other = seam.panels
        assert "clear" in needs(slip(one, "flat", "colour"))[other]


@pytest.mark.parametrize(
    "call, sentence",
    [
        (lambda: slip("door", "flat", "colour"), "panel: 'door' was given, allowed are front bumper"),
        (lambda: slip("bonnet", "rim", "colour"), "zone: 'rim' was given"),
        (
            lambda: slip("bonnet", "flat", "rust"),
            "how deep: 'rust' was given, allowed are clear",
        ),
        (lambda: slip("bonnet", "edge", "colour"), "edge: no neighbour was named"),
        (
            lambda: slip("bonnet", "edge", "colour", towards="left rear door"),
            "neighbour of bonnet: 'left rear",
        ),
        (lambda: slip("bonnet", "flat", "colour", blend_m=0), "blend length: 0 was given"),
        (lambda: slip("bonnet", "flat", "colour", planned={"door": ["clear"]}), "panel: 'door' was given"),
        (lambda: slip("bonnet", "flat", "colour", planned={"bonnet": ["wax"]}), "planned: 'wax' was given"),
    ],
)
def test_bad_entries_are_refused_in_one_sentence(call, sentence):
    with pytest.raises(BadEntry) as caught:
        call()
    assert str(caught.value).startswith(sentence)
