import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refinishlib.entry import BadEntry
from refinishlib.mixing.progress import Step, in_cup, made, steps
from refinishlib.mixing.rescue import rescue
from refinishlib.mixing.scale import WAYS, rounded, to_mass


@st.composite
def jobs(draw):
    values = draw(st.lists(st.floats(0.5, 100), min_size=2, max_size=6))
    return [(f"toner {k}", value) for k, value in enumerate(values)], draw(st.floats(100, 2000))


@settings(max_examples=60, deadline=None)
@given(jobs(), st.sampled_from([0.1, 0.01]), st.sampled_from(WAYS))
def test_a_pour_without_a_slip_shows_the_readings_of_the_rounded_formula(job, step_g, way):
    parts, wanted = job
    table = rounded(to_mass(parts, wanted), step_g, way)
    pours = []
    for k in range(len(parts)):
        plan = rescue(parts, in_cup(pours, len(parts)), wanted)
        step = steps(plan, step_g, way)[0]
        assert (step.toner, step.add_g) == (k, table.own_g[k])
        assert step.reading_g == (table.cumulative_g[k] if way == "cumulative" else table.own_g[k])
        assert step.from_g == (0 if way == "tared" or k == 0 else table.cumulative_g[k - 1])
        pours.append(made(step))
    # Rounding is never taken for a slip: nothing is left to pour, and the total is the one that was wanted.
    end = rescue(parts, in_cup(pours, len(parts)), wanted)
    assert steps(end, step_g, way) == () and end.total_g == pytest.approx(wanted)


@settings(max_examples=60, deadline=None)
@given(jobs(), st.sampled_from(WAYS), st.lists(st.sampled_from([0, 0, 0.1, 3.7, -2.0]), max_size=12))
def test_any_row_of_slips_ends_with_the_right_ratios(job, way, slips):
    parts, wanted = job
    pours = []
    for turn in range(60):
        plan = rescue(parts, in_cup(pours, len(parts)), wanted)
        left = steps(plan, 0.1, way)
        if not left:
            break
        slip = slips[turn] if turn < len(slips) else 0
        pours.append(made(left[0], max(left[0].from_g, left[0].reading_g + slip)))
    assert not left
    assert max(map(abs, plan.add_g)) < 0.05
    assert plan.total_g >= wanted * (1 - 1e-9)
    assert sum(pour.own_g for pour in pours) == pytest.approx(sum(plan.in_cup_g))


def test_a_reading_below_the_one_before_is_refused():
    step = steps(rescue([("white", 1), ("rose", 1)], [50, 0], 100), 0.1)[0]
    with pytest.raises(BadEntry, match="scale shows: 40 g was given, allowed is 50 g or more"):
        made(step, 40)


@settings(max_examples=60, deadline=None)
@given(st.floats(-0.2, 0.2), st.sampled_from([0.1, 0.01]))
def test_a_difference_below_half_a_step_is_none(off_g, step_g):
    step = steps(rescue([("white", 62), ("rose", 38)], [0, 0], 500), step_g)[0]
    pour = made(step, step.reading_g + off_g, readability_g=step_g)
    if abs(pour.off_g) < step_g / 2:
        assert pour == made(step)
    else:
        assert abs(off_g) >= step_g / 2 - 1e-9 and pour.off_g == pytest.approx(off_g)


def test_half_a_step_of_the_scale_is_the_line_between_nothing_and_a_slip():
    step = Step(toner=1, name="red oxide", exact_g=60.04, add_g=60.0, cumulative_g=180.0, tared=False)
    assert made(step, 180.1, readability_g=0.1).off_g == pytest.approx(0.1)
    assert made(step, 180.04, readability_g=0.1).off_g == 0.0
    plan = rescue([("white", 60), ("red oxide", 40)], [119.96, 80], 200)
    assert steps(plan, 0.1) == () and [one.name for one in steps(plan, 0.05)] == ["white"]
