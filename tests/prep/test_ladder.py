"""Ladders: they obey the jump rule, are the shortest, and go to the finer step."""

from collections import deque
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refinishlib.entry import BadEntry
from refinishlib.prep.grades import grade, grades
from refinishlib.prep.ladder import allowed_jump, ladder

P = list(grades("P"))
EVERY = [*P, *grades("CAMI")]


def obeys(coarse, fine, jumps=(2.5, 2.0)):
    a, b = grade(coarse).grain_um, grade(fine).grain_um
    return b < a and a / b <= jumps[0 if a > grade("P180").grain_um else 1] * (1 + 1e-9)


def fewest_steps(start, finish, shelf, jumps=(2.5, 2.0)):
    """Plain breadth-first search: the number of papers from start to finish, or None."""
    seen, queue = {start}, deque([(start, 0)])
    while queue:
        here, steps = queue.popleft()
        if here == finish and steps:
            return steps
        for name in shelf:
            if name not in seen and obeys(here, name, jumps):
                seen.add(name)
                queue.append((name, steps + 1))
    return None


def finest_first(start, finish, shelf, jumps=(2.5, 2.0)):
    """Of all shortest ladders the one whose first step is finest, then the second, and so on."""
    steps, here, way = fewest_steps(start, finish, shelf, jumps), start, []
    while here != finish:
        steps -= 1
        onward = [n for n in shelf if obeys(here, n, jumps)]
        onward = [n for n in onward if (n == finish if steps == 0 else fewest_steps(n, finish, shelf, jumps) == steps)]
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
    st.floats(1.1, 4),
    st.floats(1.1, 4),
)
def test_any_shelf_and_any_jump_gives_the_finest_of_the_shortest_ladders_or_a_sentence(
    start, finish, shelf, coarse, fine
):
    shelf = sorted(shelf | {finish}, key=grade)
    jumps = (coarse, fine)
    if grade(start).grain_um <= grade(finish).grain_um:
        assert ladder(start, finish, shelf=shelf) == ()
        return
    try:
        names = [step.name for step in ladder(start, finish, shelf=shelf, coarse_jump=coarse, fine_jump=fine)]
    except BadEntry as refused:
        assert "shelf: nothing at hand removes the scratches of" in str(refused)
        assert fewest_steps(start, finish, shelf, jumps) is None
        return
    assert names == finest_first(start, finish, shelf, jumps)


def test_ties_go_to_the_finer_step():
    shelf = ["P80", "P120", "P150", "P180", "P220", "P320"]
    assert fewest_steps("P80", "P320", shelf) == 2
    assert [n for n in shelf if obeys("P80", n) and obeys(n, "P320")] == ["P150", "P180"]
    assert [step.name for step in ladder("P80", "P320", shelf=shelf)] == ["P180", "P320"]


def test_a_jump_that_is_just_allowed_is_allowed():
    for coarse, fine in combinations(EVERY, 2):
        ratio = grade(coarse).grain_um / grade(fine).grain_um
        if 1 < ratio <= 100:
            steps = ladder(coarse, fine, shelf=[fine], coarse_jump=ratio, fine_jump=ratio)
            assert [step.name for step in steps] == [fine]


def test_a_looser_rule_never_needs_more_papers():
    for start, finish in combinations(P[::3], 2):
        counts = [len(ladder(start, finish, coarse_jump=jump, fine_jump=jump)) for jump in (1.5, 2, 3, 5)]
        assert counts == sorted(counts, reverse=True)


def test_without_the_finish_on_the_shelf_the_ladder_ends_one_finer():
    assert ladder("P180", "P400", shelf=["P240", "P320", "P500", "P800"])[-1].name == "P500"
    # 320 has 36 um, not yet the 35 of P400
    assert [g.name for g in ladder("P180", "P400", shelf=["240", "320", "360"])] == ["240", "360"]


def test_the_usual_shelf_gives_the_usual_ladders():
    """Common practice: filler 80-180(-240), blend 320-(500-)800 and the like, no more than one usual grade skipped."""
    usual = ["P80", "P120", "P180", "P240", "P320", "P400", "P500", "P600", "P800", "P1000", "P1500", "P2000", "P3000"]
    assert [g.name for g in ladder("P80", "P240", shelf=usual)] == ["P180", "P240"]
    assert [g.name for g in ladder("P320", "P800", shelf=usual)] == ["P600", "P800"]
    assert [g.name for g in ladder("P800", "P3000", shelf=usual)] == ["P1500", "P3000"]


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
        ({"coarse_jump": 1}, "jump coarser than P180: 1 was given"),
        ({"fine_jump": float("nan")}, "jump from P180 on: nan was given"),
        ({"fine_jump": "2"}, "jump from P180 on: '2' was given"),
    ],
)
def test_bad_entries_are_refused_in_one_sentence(entry, sentence):
    good = {"start": "P80", "finish": "P400", "shelf": None}
    with pytest.raises(BadEntry) as caught:
        ladder(**{**good, **entry})
    assert str(caught.value).startswith(sentence)


def test_the_jump_turns_at_p180():
    assert [allowed_jump(name) for name in ("P150", "P180", "180", "P220")] == [2.5, 2.0, 2.0, 2.0]
