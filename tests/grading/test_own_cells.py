"""Honest work loses no marks in silence: own cells, slips, missing and emptied cells, each as the worker marks it."""

import pytest

from refinishlib.course.keys import right
from refinishlib.grading.handedin import answers_in
from refinishlib.grading.mark import steps_of
from refinishlib.grading.worker import ANSWER_MISSING, HOLDS_CODE, OWN_CELL, evaluate

TYPED = 'typed = {"total_g": total_g, "toner_g": toner_g}\ncheck.mark("mixing", "2.1", my_id, typed)'
GRAMS = right("mixing", "2.1", "ann")
TOTAL, TONER = GRAMS["total_g"], GRAMS["toner_g"]


@pytest.fixture(autouse=True)
def _as_in_the_workers_own_process(monkeypatch):
    monkeypatch.setenv("REFINISH_APPRENTICE", "ann")


def marked(*cells):
    """The outcome of question 2.1 after these cells: an answer cell's text, or ("own", text)."""
    steps = [
        {"own": "next", "text": cell[1]} if isinstance(cell, tuple) else {"answer": "a", "text": cell} for cell in cells
    ]
    return evaluate("ann", [*steps, {"check": "c", "source": TYPED, "points": 4.0}])["c"]


BOTH = f"total_g = {TOTAL:.1f}\ntoner_g = {TONER:.1f}"


@pytest.mark.parametrize(
    "cells",
    [
        [BOTH],
        [("own", f"half = {TOTAL / 2!r}"), f"total_g = 2 * half\ntoner_g = {TONER:.1f}"],
        [("own", f"all_of_it = [{TOTAL - 1!r}, 1]"), f"total_g = sum(all_of_it)\ntoner_g = {TONER:.1f}"],
        [f"total_g = round({TOTAL!r}, 1)\ntoner_g = abs(-{TONER:.1f})\nprint(total_g)"],
        [BOTH, ("own", "print(total_g, toner_g)\ntotal_g * 2")],
        [("own", "import math\nscratch = math.pi"), BOTH],
        [f"total_g = {TOTAL:.1f} g\ntoner_g = {TONER:.1f}".replace(".", ",")],
    ],
)
def test_honest_work_in_any_cell_earns_full_marks_unflagged(cells):
    outcome = marked(*cells)
    assert (outcome["points"], outcome["flag"]) == (4.0, ""), outcome


@pytest.mark.parametrize(
    ("cells", "points", "flag"),
    [
        # only the part that cannot be read is lost, and it is flagged
        ([f"total_g = 1/0\ntoner_g = {TONER:.1f}"], 2.0, "cannot be read"),
        ([f"total_g = heaps\ntoner_g = {TONER:.1f}"], 2.0, "cannot be read"),
        ([f"total_g = {TOTAL:.1f}\ntoner_g = total_g *"], 2.0, "cannot be read"),
        # deleted, emptied, half emptied
        ([], 0.0, ANSWER_MISSING),
        ([""], 0.0, ANSWER_MISSING),
        ([f"toner_g = {TONER:.1f}"], 2.0, ANSWER_MISSING),
        # answered in a cell of one's own instead, below or above
        ([("own", BOTH)], 4.0, OWN_CELL),
        ([BOTH, ("own", "total_g = 1")], 2.0, OWN_CELL),
        ([BOTH, ("own", "import math\ntotal_g = math.pi")], 4.0, OWN_CELL),
        (["total_g = ...\ntoner_g = ...", ("own", BOTH)], 4.0, OWN_CELL),
        # uses what a cell of one's own would have given, had it held no code
        (
            [("own", "import math\nhalf = math.ceil(3)"), f"total_g = 2 * half\ntoner_g = {TONER:.1f}"],
            2.0,
            OWN_CELL,
        ),
        ([("own", "import math\nhalf = math.ceil(3)"), f"total_g = half\ntoner_g = {TONER:.1f}"], 2.0, OWN_CELL),
        # code in an answer cell
        ([f"{BOTH}\nimport os"], 0.0, HOLDS_CODE),
        ([f"total_g = {TOTAL:.1f}", f"toner_g = {TONER:.1f}\nopen('canary', 'w')"], 2.0, HOLDS_CODE),
    ],
)
def test_what_is_lost_is_lost_alone_and_flagged(cells, points, flag):
    outcome = marked(*cells)
    assert (outcome["points"], outcome["flag"]) == (points, flag), outcome
    assert outcome["sentences"]


def test_dots_that_were_left_standing_are_no_loss_to_look_at():
    outcome = marked("total_g = ...\ntoner_g = ...")
    assert (outcome["points"], outcome["flag"]) == (0.0, "")


def test_a_slip_costs_a_later_check_only_the_part_that_uses_it():
    later = TYPED.replace('{"total_g": total_g', '{"total_g": first_g')
    steps = [
        {"answer": "a", "text": "first_g = 1/0"},
        {"check": "early", "source": "0.0", "points": 1.0},
        {"answer": "b", "text": f"toner_g = {TONER:.1f}"},
        {"check": "late", "source": later, "points": 4.0},
    ]
    assert evaluate("ann", steps)["late"]["points"] == 2.0


def code(text, grade_id=None):
    about = {"nbgrader": {"grade_id": grade_id}} if grade_id else {}
    return {"cell_type": "code", "source": text, "metadata": about, "outputs": []}


def test_own_cells_are_carried_in_the_notebooks_order_and_within_bounds():
    cells = [code("a = 1"), code("x = a", "one"), code("b = 2"), code(["c = ", "3"]), code("y = b", "two"), code("d")]
    cells.insert(2, {"cell_type": "markdown", "source": "e = 5", "metadata": {}})
    found = answers_in({"cells": cells})
    assert (found["one"].above, found["two"].above) == (("a = 1",), ("b = 2", "c = 3"))
    many = answers_in({"cells": [*(code("x" * 100_000) for _ in range(2000)), code("y", "one")]})["one"].above
    assert sum(map(len, many)) <= 700_000


def test_a_marked_notebook_hands_own_cells_to_the_worker_before_the_cell_below_them():
    from nbformat import from_dict

    check = {"grade_id": "check", "points": 4, "grade": True, "solution": False}
    cells = [code("x = 1"), code("check.mark()")]
    cells[0]["metadata"] = {"nbgrader": {"grade_id": "one", "solution": True, "grade": False}}
    cells[1]["metadata"] = {"nbgrader": check}
    own = {"one": ["a = 1"], "check": ["x = 2"]}
    notebook = from_dict({"cells": cells, "metadata": {"refinish": {"own": own}}})
    kinds = [next(iter(step)) for step in steps_of(notebook)]
    assert kinds == ["own", "answer", "own", "check"]
