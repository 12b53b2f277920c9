"""How long prep takes, beside the plain way of doing the same."""

from collections import deque
from itertools import combinations

from refinishlib.prep.grades import grades
from refinishlib.prep.ladder import is_leap, ladder
from refinishlib.prep.order import first_violation, good_order, jobs, make_job

GRADES = list(grades("P").values())
PAIRS = [(a.name, b.name) for a, b in combinations(GRADES, 2)]
LONGEST = jobs()["bare-metal repair"]
FORTY = make_job("forty", "Forty tasks", [task.name for task in LONGEST.tasks][:40])
ORDER = good_order(FORTY)


def every_ladder():
    return [ladder(start, finish) for start, finish in PAIRS]


def every_ladder_by_search():
    """Breadth first, on names."""
    onward = {g.name: [h.name for h in GRADES if h < g and not is_leap(g.name, h.name)] for g in GRADES}
    found = []
    for start, finish in PAIRS:
        queue, came = deque([start]), {start: None}
        while queue and finish not in came:
            here = queue.popleft()
            for name in reversed(onward[here]):
                if name not in came:
                    came[name] = here
                    queue.append(name)
        way = [finish]
        while came[way[-1]] != start:
            way.append(came[way[-1]])
        found.append(way[::-1])
    return found


def by_every_rule(order):
    """All rules, each looked up by position."""
    return [r for r in FORTY.rules if order.index(r.first) > order.index(r.then)]


def test_a_ladder_for_every_pair_of_grades(benchmark):
    assert len(benchmark(every_ladder)) == len(PAIRS)


def test_a_ladder_for_every_pair_of_grades_by_breadth_first_search(benchmark):
    found = benchmark(every_ladder_by_search)
    assert [len(way) for way in found] == [len(way) for way in every_ladder()]


def test_checking_an_order_of_forty_tasks(benchmark):
    assert len(ORDER) == 40
    assert benchmark(first_violation, FORTY, ORDER) is None


def test_checking_an_order_of_forty_tasks_rule_by_rule(benchmark):
    assert benchmark(by_every_rule, ORDER) == []


def test_finding_one_good_order(benchmark):
    assert len(benchmark(good_order, LONGEST)) == len(LONGEST.tasks)
