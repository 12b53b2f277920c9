"""Ladders: they obey the jump rule, are the shortest, and go to the finer step."""

from collections import deque
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refinishlib.entry import BadEntry
from refinishlib.prep.grades import grade, grades
from refinishlib.prep.ladder import is_leap, ladder, skipped

P = list(grades("P"))
EVERY = [*P, *grades("CAMI")]


# The papers on the shelf of a shop, common practice; written down here a second time on purpose.
SHELF = ["P36", "P60", "P80", "P120", "P180", "P240", "P320", "P400", "P500", "P600", "P800", "P1000", "P1500", "P2000",
         "P3000"]  # fmt: skip


def obeys(coarse, fine, skips=1):
    a, b = grade(coarse).grain_um, grade(fine).grain_um
    between = [name for name in SHELF if b < grade(name).grain_um < a]
    return b < a and len(between) <= skips and a / b <= 2.5 * (1 + 1e-9)


def fewest_steps(start, finish, shelf, skips=1):
    """Plain breadth-first search: the number of papers from start to finish, or None."""
    seen, queue = {start}, deque([(start, 0)])
    while queue:
        here, steps = queue.popleft()
        if here == finish and steps:
            return steps
        for name in shelf:
            if name not in seen and obeys(here, name, skips):
                seen.add(name)
                queue.append((name, steps + 1))
    return None


def finest_first(start, finish, shelf, skips=1):
    """Of all shortest ladders the one whose first step is finest, then the second, and so on."""
    steps, here, way = fewest_steps(start, finish, shelf, skips), start, []
    while here != finish:
        steps -= 1
        onward = [n for n in shelf if obeys(here, n, skips)]
        onward = [n for n in onward if (n == finish if steps == 0 else fewest_steps(n, finish, shelf, skips) == steps)]
        here = min(onward, key=grade)
        way.append(here)
    return way


def test_every_pair_of_grades_has_the_shortest_ladder_that_obeys_the_rule():
    for start, finish in combinations(P, 2):
        names = [step.name for step in ladder(start, finish)]
        assert names[-1] == finish
        assert all(obeys(a, b) for a, b in pairwise([start, *names]))
        assert len(names) == fewest_steps(start, finish, P)


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(EVERY),
    st.sampled_from(P),
    st.sets(st.sampled_from(P), min_size=5),
    st.integers(0, 3),
)
def test_any_shelf_and_any_rule_gives_the_finest_of_the_shortest_ladders_or_a_sentence(start, finish, shelf, skips):
    shelf = sorted(shelf | {finish}, key=grade)
    if grade(start).grain_um <= grade(finish).grain_um:
        assert ladder(start, finish, shelf=shelf) == ()
        return
    try:
        names = [step.name for step in ladder(start, finish, shelf=shelf, most_skipped=skips)]
    except BadEntry as refused:
        assert "shelf: nothing at hand removes the scratches of" in str(refused)
        assert fewest_steps(start, finish, shelf, skips) is None
        return
    assert names == finest_first(start, finish, shelf, skips)


def test_ties_go_to_the_finer_step():
    shelf = ["P80", "P120", "P150", "P180", "P220", "P320"]
    assert fewest_steps("P80", "P320", shelf) == 2
    assert [n for n in shelf if obeys("P80", n) and obeys(n, "P320")] == ["P180"]
    shelf = ["P180", "P240", "P280", "P320", "P400"]
    assert [n for n in shelf if obeys("P180", n) and obeys(n, "P400")] == ["P240", "P280", "P320"]
    assert [step.name for step in ladder("P180", "P400", shelf=shelf)] == ["P320", "P400"]


def test_a_step_that_is_just_allowed_is_allowed():
    assert not is_leap("P80", "P180") and is_leap("P80", "P220")
    assert not is_leap("P180", "P320") and is_leap("P180", "P360") and not is_leap("P180", "P360", most_skipped=2)
    assert not is_leap("P36", "P50", most_skipped=9) and is_leap("P36", "P80", most_skipped=9)  # 538 to 201 um
    for coarse, fine in combinations(EVERY, 2):
        if grade(fine).grain_um < grade(coarse).grain_um:
            assert is_leap(coarse, fine) != obeys(coarse, fine)


def test_a_looser_rule_never_needs_more_papers():
    for start, finish in combinations(P[::3], 2):
        counts = [len(ladder(start, finish, most_skipped=n)) for n in (0, 1, 2, 5)]
        assert counts == sorted(counts, reverse=True)


def test_p150_to_p360_and_p360_to_p800_are_leaps_and_no_longer_ladders():
    assert skipped("P150", "P360") == ("P180", "P240", "P320")
    assert [step.name for step in ladder("P150", "P360")] == ["P240", "P360"]
    assert skipped("P360", "P800") == ("P400", "P500", "P600")
    assert [step.name for step in ladder("P360", "P800")] == ["P500", "P800"]


def test_without_the_finish_on_the_shelf_the_ladder_ends_one_finer():
    assert ladder("P180", "P400", shelf=["P240", "P320", "P500", "P800"])[-1].name == "P500"
    # 240 has 53 um, not yet the 46.2 of P320
    assert [g.name for g in ladder("P180", "P320", shelf=["240", "320"])] == ["240", "320"]


def test_on_the_usual_shelf_no_more_than_one_usual_grade_is_skipped():
    for start, finish in combinations(SHELF, 2):
        names = [start, *(g.name for g in ladder(start, finish, shelf=SHELF))]
        places = [SHELF.index(name) for name in names]
        assert all(1 <= after - before <= 2 for before, after in pairwise(places))
    assert [g.name for g in ladder("P80", "P240", shelf=SHELF)] == ["P180", "P240"]
    assert [g.name for g in ladder("P320", "P800", shelf=SHELF)] == ["P500", "P800"]
    assert [g.name for g in ladder("P800", "P3000", shelf=SHELF)] == ["P1500", "P3000"]


@pytest.mark.parametrize(
    "entry, sentence",
    [
        ({"start": "P70"}, "grade: 'P70' was given"),
        ({"finish": "P0"}, "grade: 'P0' was given"),
        ({"shelf": []}, "shelf: nothing was given"),
        ({"shelf": "P120"}, "shelf: 'P120' was given, allowed is a list of grades."),
        ({"shelf": 120}, "shelf: 120 was given, allowed is a list of grades."),
        ({"shelf": ["P120", ["P400"]]}, "grade: ['P400'] was given"),
        ({"shelf": ["P120", "P333"]}, "grade: 'P333' was given"),
        ({"shelf": ["P80", "P120"]}, "shelf: P120 is the finest, allowed is a shelf that has P400 or finer."),
        ({"shelf": ["P120", "P400"]}, "shelf: nothing at hand removes the scratches of P120"),
        ({"most_skipped": -1}, "papers to skip: -1 was given"),
        ({"most_skipped": float("nan")}, "papers to skip: nan was given"),
        ({"most_skipped": "2"}, "papers to skip: '2' was given"),
    ],
)
def test_bad_entries_are_refused_in_one_sentence(entry, sentence):
    good = {"start": "P80", "finish": "P400", "shelf": None}
    with pytest.raises(BadEntry) as caught:
        ladder(**{**good, **entry})
    assert str(caught.value).startswith(sentence)
