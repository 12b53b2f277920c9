"""The finishing table, the ladders that lead to it, and the machines."""

import pytest

from refinishlib.entry import BadEntry
from refinishlib.prep.grades import grade, grades
from refinishlib.prep.ladder import ladder
from refinishlib.prep.scratch import GLOSS, final_scratch, final_scratches, ladder_for, machines, ways_to_sand


def test_the_table_covers_everything_that_comes_next():
    assert list(final_scratches()) == [
        "epoxy on bare metal",
        "surfacer on filler",
        "surfacer on a featheredge",
        "surfacer on old finish",
        "sealer on sanded surfacer",
        "base on sanded surfacer",
        "sealer wet on wet on a new part",
        "base on a new part",
        "promoter on raw plastic",
        "blend into old clear",
        "clear only",
        "machine polish",
    ]


# What the trade does, common practice, no source: the last papers, and from the coarsest to the finest that will do.
TRADE = {
    "epoxy on bare metal": (["P80", "P180"], "P80", "P220"),
    "surfacer on filler": (["P180", "P240"], "P180", "P320"),
    "surfacer on a featheredge": (["P180", "P240", "P320"], "P240", "P400"),
    "surfacer on old finish": (["P320"], "P240", "P400"),
    "sealer on sanded surfacer": (["P320", "P400"], "P320", "P600"),
    "base on sanded surfacer": (["P400", "P500"], "P400", "P800"),
    "sealer wet on wet on a new part": (["P320"], "P320", "P400"),
    "base on a new part": (["P400", "P500"], "P400", "P800"),
    "promoter on raw plastic": (["P500"], "P400", "P800"),
    "blend into old clear": (["P600", "P800"], "P600", "P1000"),
    "clear only": (["P800", "P1000"], "P800", "P1200"),
    "machine polish": (["P1500", "P3000"], "P3000", "P5000"),
}


@pytest.mark.parametrize("name", TRADE)
def test_each_row_is_what_the_trade_does(name):
    row = final_scratch(name)
    assert (list(row.grades), row.coarsest, row.finest) == TRADE[name]
    sizes = [grade(one).grain_um for one in row.grades]
    assert sizes == sorted(sizes, reverse=True)
    assert grade(row.finest) <= grade(row.grades[-1]) <= grade(row.coarsest)


def test_a_row_says_what_is_sanded_and_what_comes_before_it_is_dry():
    """`primer-surfacer`, documented as the scratch before this coat, was the scratch on it."""
    for name, row in final_scratches().items():
        assert name.split(" on ")[-1].split()[-1] in row.surface + name
    assert final_scratch("surfacer on filler").before == "primer-surfacer"
    assert final_scratch("base on sanded surfacer").surface.startswith("surfacer")


def test_the_nearer_to_the_clear_the_finer_the_last_scratch():
    buried = [row for row in final_scratches().values() if not row.shows]
    seen = [row for row in final_scratches().values() if row.shows]
    assert max(grade(row.grades[-1]) for row in seen) <= min(grade(row.grades[-1]) for row in buried)
    order = ["sealer on sanded surfacer", "base on sanded surfacer", "blend into old clear", "clear only"]
    last = [grade(final_scratch(name).grades[-1]).grain_um for name in order]
    assert last == sorted(last, reverse=True)


@pytest.mark.parametrize("name", TRADE)
def test_on_gloss_and_on_a_scratch_too_fine_to_hold_there_is_something_to_sand(name):
    """On P3000 the ladder to a blend was empty: new clear would have peeled."""
    row = final_scratch(name)
    last = (grade(row.grades[-1]),)
    assert ladder_for(name, GLOSS) == last
    for start in grades("P"):
        steps = ladder_for(name, start)
        if grade(start) < grade(row.finest):
            assert steps == last
        elif grade(start) <= grade(row.grades[-1]):
            assert steps == ()  # a scratch that holds and hides is there already
        else:
            assert steps and steps[-1] == last[0]
    assert [step.name for step in ladder_for("blend into old clear", "P3000")] == ["P800"]


def test_hold_comes_from_the_shelf_or_there_is_a_sentence():
    assert ladder_for("blend into old clear", GLOSS, shelf=["P320", "P600", "P1000"])[0].name == "P1000"
    assert ladder_for("blend into old clear", GLOSS, shelf=["P320", "P600"])[0].name == "P600"
    with pytest.raises(BadEntry, match=r"shelf: nothing at hand gives it a hold, .* from P600 to P1000"):
        ladder_for("blend into old clear", GLOSS, shelf=["P320", "P1500"])


def test_the_long_stroke_cuts_faster_and_the_short_one_leaves_the_finer_scratch():
    long, short, hand = machines()["3/16 in"], machines()["3/32 in"], machines()["hand"]
    assert long.cut == pytest.approx(2 * short.cut)  # Preston: twice the stroke, twice the path
    assert long.cut > short.cut > hand.cut
    assert short.scratch < min(long.scratch, hand.scratch)


def ways(name, **more):
    return [(choice.machine, choice.interface_pad) for choice in ways_to_sand(name, **more)]


def test_silver_takes_the_short_stroke_wherever_it_could_show_and_an_edge_the_hand():
    for name, row in final_scratches().items():
        if row.shows:
            assert {machine for machine, _ in ways(name, colour="silver")} == {"3/32 in"}
        for colour in ("silver", "light solid", "dark solid"):
            assert ways(name, zone="edge", colour=colour) == [("hand", False)]
            assert all(choice.why for choice in ways_to_sand(name, colour=colour))


def test_on_a_dark_solid_the_long_stroke_with_a_pad_is_accepted_too():
    for name in (
        "sealer on sanded surfacer",
        "base on sanded surfacer",
        "base on a new part",
        "blend into old clear",
        "clear only",
    ):
        assert ways(name, colour="dark solid") == [("3/32 in", True), ("3/16 in", True)]
        assert ways(name, colour="light solid") == [("3/32 in", True)]
    assert ways("sealer wet on wet on a new part", colour="light solid") == [("3/16 in", True), ("3/32 in", True)]
    assert ways("epoxy on bare metal", colour="silver") == [("3/16 in", False)]
    assert ways("promoter on raw plastic", colour="dark solid") == [("3/32 in", True)]


@pytest.mark.parametrize("name", list(final_scratches()))
def test_the_ladder_to_a_coat_goes_through_the_grades_of_the_table(name):
    row = final_scratch(name)
    for start in grades("P"):
        if grade(start) < grade(row.finest):
            continue
        steps = [step.name for step in ladder_for(name, start)]
        finer_than_start = [g for g in row.grades if grade(g) < grade(start)]
        assert [step for step in steps if step in row.grades] == finer_than_start
        assert steps[: len(ladder(start, row.grades[0]))] == [step.name for step in ladder(start, row.grades[0])]
        assert steps == sorted(steps, key=grade, reverse=True)


@pytest.mark.parametrize(
    "call, sentence",
    [
        (lambda: final_scratch("wax"), "next coat: 'wax' was given, allowed are epoxy on bare metal, "),
        (lambda: ladder_for("clear only", "P81"), "grade: 'P81' was given"),
        (
            lambda: ladder_for("clear only", "P80", shelf=["P1000"]),
            "shelf: nothing at hand removes the scratches of P80",
        ),
        (lambda: ways_to_sand("clear only", zone="roof"), "zone: 'roof' was given, allowed are flat, crown, edge."),
        (lambda: ways_to_sand("clear only", colour="red"), "colour: 'red' was given, allowed are silver, light solid"),
    ],
)
def test_bad_entries_are_refused_in_one_sentence(call, sentence):
    with pytest.raises(BadEntry) as caught:
        call()
    assert str(caught.value).startswith(sentence)
