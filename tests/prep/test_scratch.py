"""The finishing table, the ladders that lead to it, and the machines."""

import pytest

from refinishlib.entry import BadEntry
from refinishlib.prep.grades import grade, grades
from refinishlib.prep.ladder import ladder
from refinishlib.prep.scratch import final_scratch, final_scratches, ladder_for, machine_for, machines


def test_the_table_covers_everything_that_comes_next():
    assert list(final_scratches()) == [
        "bare filler",
        "primer-surfacer",
        "sealer wet on wet on a new part",
        "base on a new part",
        "blend into old clear",
        "clear only",
        "machine polish",
    ]
    assert final_scratch("sealer wet on wet on a new part").grades == ("P320",)
    assert final_scratch("blend into old clear").grades == ("P600", "P800")
    assert final_scratch("blend into old clear").edges.startswith("grey pad")


def test_the_nearer_to_the_clear_the_finer_the_last_scratch():
    last = [grade(row.grades[-1]).grain_um for row in final_scratches().values()]
    without_sealer = [um for um, name in zip(last, final_scratches(), strict=True) if "sealer" not in name]
    assert without_sealer == sorted(without_sealer, reverse=True)
    for row in final_scratches().values():
        sizes = [grade(name).grain_um for name in row.grades]
        assert sizes == sorted(sizes, reverse=True)


def test_the_long_stroke_cuts_faster_and_the_short_one_leaves_the_finer_scratch():
    long, short, hand = machines()["3/16 in"], machines()["3/32 in"], machines()["hand"]
    assert long.cut == pytest.approx(2 * short.cut)  # Preston: twice the stroke, twice the path
    assert long.cut > short.cut > hand.cut
    assert short.scratch < min(long.scratch, hand.scratch)


def test_silver_takes_the_short_stroke_and_an_edge_the_hand():
    for name in final_scratches():
        assert machine_for(name, silver=True).name == "3/32 in"
        assert machine_for(name, zone="edge").name == machine_for(name, zone="edge", silver=True).name == "hand"


@pytest.mark.parametrize("name", list(final_scratches()))
def test_the_ladder_to_a_coat_goes_through_the_grades_of_the_table(name):
    last = final_scratch(name).grades
    for start in grades("P"):
        steps = [step.name for step in ladder_for(name, start)]
        finer_than_start = [g for g in last if grade(g) < grade(start)]
        assert [step for step in steps if step in last] == finer_than_start
        assert steps[: len(ladder(start, last[0]))] == [step.name for step in ladder(start, last[0])]
        assert steps == sorted(steps, key=grade, reverse=True)


@pytest.mark.parametrize(
    "call, sentence",
    [
        (lambda: final_scratch("wax"), "next coat: 'wax' was given, allowed are bare filler, "),
        (lambda: ladder_for("clear only", "P81"), "grade: 'P81' was given"),
        (
            lambda: ladder_for("clear only", "P80", shelf=["P1000"]),
            "shelf: nothing at hand removes the scratches of P80",
        ),
        (lambda: machine_for("clear only", zone="roof"), "zone: 'roof' was given, allowed are flat, crown, edge."),
    ],
)
def test_bad_entries_are_refused_in_one_sentence(call, sentence):
    with pytest.raises(BadEntry) as caught:
        call()
    assert str(caught.value).startswith(sentence)
