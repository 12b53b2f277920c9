"""The check in the notebook reads the cell's text with the grader's own reader; an old value never earns praise."""

import copy

import nbformat
import pytest
from nbclient import NotebookClient

from refinishlib.course.apprentice import HANDED_OVER_IN
from refinishlib.course.as_typed import Cells
from refinishlib.course.check import FINE
from refinishlib.course.lab.saving import drop_dead_outputs
from refinishlib.course.lessons import question
from refinishlib.course.reading import what_was_read
from refinishlib.grading.worker import evaluate

START = "from refinishlib.course.lesson import MixSheet, card, cautions, check, figure, practise, start\n\nstart()"
CHECK = 'typed = {"own_g": own_g}\ncheck.form("mixing", "1.1", "demo", typed)'
MARK = 'typed = {"own_g": own_g}\ncheck.mark("mixing", "1.1", my_id, typed)'


def run(*cells):
    """Cells run one after the other in one kernel, as a notebook."""
    made = [nbformat.v4.new_code_cell(cell) for cell in (START, *cells)]
    notebook = nbformat.v4.new_notebook(cells=made)
    NotebookClient(notebook, allow_errors=True, kernel_name="python3").execute()
    return notebook


def shown(cell):
    return "".join(
        output.get("text", "") or output.get("data", {}).get("text/plain", "") or "\n".join(output.get("traceback", []))
        for output in cell.outputs
    )


SECOND_TRIES = [
    "own_g = seven grams",
    "own_g = 1/0",
    "own_g = 3^2",
    "own_g =",
    "own_g = import math",
    "own_g = 34, 2",
    "own_g = __import__('math').sqrt(4)",
    "own_g = ...",
    "own_g = 'a bit'",
    "own_g = unknown * 2",
]


def test_a_line_that_cannot_be_read_gets_no_praise_though_the_kernel_holds_an_old_value():
    notebook = run("own_g = 34.2", CHECK, *(cell for text in SECOND_TRIES for cell in (text, CHECK)))
    first, *others = notebook.cells[2::2]
    assert "Own weight: read as 34.2 g." in shown(first) and FINE in shown(first)
    for text, check in zip(SECOND_TRIES, others, strict=True):
        said = shown(check)
        assert "Own weight:" in said and FINE not in said and "read as" not in said, (text, said)


READABLE = [
    "34,2",
    "34,2 g",
    "34.2g",
    "7 oz",
    "7 x 28,35",
    "“34.2 g”",
    '"34.2',
    "round(34.21, 1)",
    "1 1/2 oz",
    "sum([1, 2])",
]


def test_what_our_reader_reads_is_no_error_in_the_kernel_and_the_grader_says_the_same(monkeypatch):
    notebook = run(*(cell for typed in READABLE for cell in (f"own_g = {typed}  # grams", CHECK)))
    part = question("mixing", "1.1", "demo").parts
    monkeypatch.setenv(HANDED_OVER_IN, "demo")  # as the worker's own process has it
    for typed, answer, check in zip(READABLE, notebook.cells[1::2], notebook.cells[2::2], strict=True):
        assert answer.outputs == [], typed
        sentence = what_was_read(part, f"own_g = {typed}")[0].sentence
        assert "read as" in sentence and shown(check) == f"{sentence}\n{FINE}", typed
        steps = [{"answer": "a", "text": f"own_g = {typed}"}, {"check": "c", "source": MARK, "points": 3.0}]
        outcome = evaluate("demo", steps)["c"]
        assert outcome["flag"] == "" and outcome["points"] is not None, (typed, outcome)


def test_division_by_zero_is_one_sentence_and_a_fault_of_ones_own_program_keeps_its_traceback():
    notebook = run("own_g = 1/0", "total_g = 3\nshare = total_g / 0", "import math\nmath.sqrt(-1)")
    first, second, third = notebook.cells[1:]
    assert [len(cell.outputs[0].traceback) for cell in (first, second)] == [1, 1]
    assert "divides by zero" in shown(first) and "divides by zero" in shown(second)
    assert len(third.outputs[0].traceback) > 1


def saved(notebook):
    model = {"type": "notebook", "content": copy.deepcopy(notebook)}
    drop_dead_outputs(model)
    return model["content"]


@pytest.mark.parametrize("later", ["own_g = 34, 2 g or so", "own_g = 35", ""])
def test_praise_is_not_kept_when_the_notebook_is_saved_with_another_text(later):
    notebook = run("own_g = 34.2", CHECK)
    assert FINE in shown(saved(notebook).cells[2])
    notebook.cells[1].source = later
    assert saved(notebook).cells[2].outputs == []


def test_what_stands_in_the_schools_own_cells_is_no_answer():
    cells = Cells()
    cells.run(START)
    cells.run(CHECK)
    assert cells.by_name == {}
    cells.run("### BEGIN SOLUTION\nown_g = right('mixing', '1.1', my_id)['own_g']\n### END SOLUTION")
    parts = question("mixing", "1.1", "demo").parts
    assert cells.say(parts, {"own_g": 34.2})[0].sentence == "Own weight: read as 34.2 g."


def test_a_cell_of_ones_own_counts_in_the_check_as_in_the_grading():
    cells = Cells()
    parts = question("mixing", "1.1", "demo").parts
    cells.run("help_g = 7 * 28.35")
    cells.run("own_g = round(help_g, 1)")
    assert cells.say(parts, {})[0].sentence == "Own weight: read as 198.5 g."
    cells.run("import math\nhelp_g = math.ceil(3.2)")
    cells.run("own_g = help_g * 2")
    assert "a cell of your own" in cells.say(parts, {"own_g": 8})[0].sentence
