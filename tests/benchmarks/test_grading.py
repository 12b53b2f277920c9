"""Grading a class, beside stock `nbgrader autograde` on the same real lesson, each on one core.

    pytest tests/benchmarks/test_grading.py -n 0 --benchmark-enable

prints per-submission times of both (in `extra_info` of the saved results, too), a light notebook beside the real
lesson, a whole class from the start to the end of the command, a class in which nothing changed beside the time that
importing nbgrader takes, the help of every command, the growth from 20 to 10 000 submissions with the most memory used,
and the growth of cleaning a written answer. In the normal run each is done once, with a handful of submissions.
"""

import json
import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

from refinishlib.cli import COMMANDS
from refinishlib.grading import handin
from refinishlib.grading.clean import to_html

BIN = Path(sys.executable).parent
LIGHT = "short"
MEASURE = """
import json, os, resource, sys, time
from pathlib import Path
from refinishlib.grading import classroom, evaluator

if hasattr(os, "sched_setaffinity"):
    os.sched_setaffinity(0, {0})
peaks, stop = [0.0], evaluator.Evaluator.stop


def noting_memory(worker):
    if worker._process is not None and Path("/proc").exists():
        status = Path(f"/proc/{worker._process.pid}/status").read_text()
        peaks.append(int(status.split("VmHWM:")[1].split()[0]) / 1024)
    stop(worker)


evaluator.Evaluator.stop = noting_memory
start = time.perf_counter()
[summary] = classroom.grade(Path(sys.argv[1]), sys.argv[2])
seconds = time.perf_counter() - start
own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
print(json.dumps([len(summary.graded), seconds, own, sum(peaks)]))
"""


MEASURE_STOCK = """
import os, sys, time
from nbgrader.apps.autogradeapp import AutogradeApp
if hasattr(os, "sched_setaffinity"):
    os.sched_setaffinity(0, {0})
app = AutogradeApp()
app.initialize([sys.argv[1], "--force"])
start = time.perf_counter()
app.start()
print(time.perf_counter() - start)
"""


def hand_in(room, count: int, lesson: str = "mixing", first: int = 0) -> None:
    released = json.loads((room.root / "lessons" / lesson / f"{lesson}.ipynb").read_text(encoding="utf-8"))
    for number in range(first, first + count):
        who = f"a{number:04}"
        cells = {"answer-1": "a = 5"} if lesson == LIGHT else handin.texts(lesson, who)
        handin.hand_in(room.root, who, lesson, handin.filled(released, cells))


def grade(room, lesson: str = "mixing") -> tuple[int, float, float, float]:
    """Grade in a process of its own on one core: how many, seconds without start-up, MB of it and of all workers."""
    command = [sys.executable, "-c", MEASURE, str(room.root), lesson]
    return tuple(json.loads(subprocess.run(command, capture_output=True, text=True, check=True).stdout))


def stock_seconds(room, lesson: str = "mixing") -> float:
    """Seconds of stock nbgrader autograde for all that is handed in, on one core, without start-up."""
    stock = os.environ | {"REFINISH_GRADING": "stock"}
    command = [sys.executable, "-W", "ignore", "-c", MEASURE_STOCK, lesson]
    done = subprocess.run(command, cwd=room.root, env=stock, capture_output=True, text=True, check=True)
    return float(done.stdout.split()[-1])


def add_light_lesson(room) -> None:
    """A lesson of one question whose cells import nothing."""
    from nbformat.v4 import new_code_cell, new_notebook

    def about(grade_id: str, **more) -> dict:
        plain = {"grade": False, "solution": False, "locked": False, "task": False, "schema_version": 3}
        return {"nbgrader": plain | {"grade_id": grade_id} | more}

    cells = [
        new_code_cell("a = ...", metadata=about("answer-1", solution=True), id="a"),
        new_code_cell(
            "### BEGIN HIDDEN TESTS\n1.0 if a == 5 else 0.0\n### END HIDDEN TESTS",
            metadata=about("check-1", grade=True, locked=True, points=1),
            id="b",
        ),
    ]
    kernel = {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}
    folder = room.root / "solutions" / LIGHT
    folder.mkdir()
    (folder / f"{LIGHT}.ipynb").write_text(json.dumps(new_notebook(cells=cells, metadata=kernel)), encoding="utf-8")
    assert room.nbgrader("generate_assignment", LIGHT).returncode == 0


@pytest.mark.parametrize("lesson", ["mixing", LIGHT])
def test_a_submission_beside_stock(benchmark, classroom, lesson):
    few, more = (4, 100) if benchmark.enabled else (1, 2)
    if lesson == LIGHT:
        add_light_lesson(classroom)
    hand_in(classroom, few, lesson)
    stock = stock_seconds(classroom, lesson) / few
    hand_in(classroom, more, lesson)
    graded, seconds, *_ = benchmark.pedantic(grade, (classroom, lesson), rounds=1)
    assert graded == more
    ours = seconds / more
    print(f"\n{lesson}: stock {stock * 1e3:.0f} ms, ours {ours * 1e3:.1f} ms a submission, {stock / ours:.1f} times")
    benchmark.extra_info |= {"stock_s": stock, "ours_s": ours, "times_faster": stock / ours}


def seconds_of(command: list, folder: Path, **environment: str) -> float:
    """Seconds of a program from its start to its end, on one core where the system can hold it there."""
    pinned = ["taskset", "-c", "0", *command] if shutil.which("taskset") else command
    start = time.perf_counter()
    done = subprocess.run(pinned, cwd=folder, env=os.environ | environment, capture_output=True, text=True)
    seconds = time.perf_counter() - start
    assert done.returncode == 0, done.stderr[-2000:]
    return seconds


def test_a_class_from_start_to_end_of_the_command_beside_stock(benchmark, classroom):
    count = 30 if benchmark.enabled else 1
    hand_in(classroom, count)
    ours = benchmark.pedantic(seconds_of, ([BIN / "refinish", "grade"], classroom.root), rounds=1)
    stock_command = [BIN / "nbgrader", "autograde", "mixing", "--force"]
    stock = seconds_of(stock_command, classroom.root, REFINISH_GRADING="stock")
    print(f"\nclass of {count}: stock {stock:.1f} s, ours {ours:.2f} s, {stock / ours:.1f} times")
    benchmark.extra_info |= {"stock_s": stock, "ours_s": ours, "times_faster": stock / ours}


def test_a_class_in_which_nothing_changed_beside_importing_nbgrader(benchmark, classroom):
    hand_in(classroom, 30 if benchmark.enabled else 1)
    seconds_of([BIN / "refinish", "grade"], classroom.root)
    again = benchmark.pedantic(
        seconds_of, ([BIN / "refinish", "grade"], classroom.root), rounds=3 if benchmark.enabled else 1
    )
    load = min(seconds_of([sys.executable, "-c", "import nbgrader.apps"], classroom.root) for _ in range(2))
    print(f"\nnothing changed: {again:.2f} s, {again / load:.2f} of importing nbgrader ({load:.2f} s)")
    benchmark.extra_info |= {"again_s": again, "of_importing": again / load}


@pytest.mark.parametrize("command", COMMANDS)
def test_help_of_a_command(benchmark, command, tmp_path):
    benchmark.pedantic(seconds_of, ([BIN / "refinish", command, "--help"], tmp_path), rounds=3)


@pytest.mark.parametrize("unit", ["\\\\(", "\\\\[", "\\begin{a}", "[", "a "])
@pytest.mark.parametrize("letters", [9_000, 36_000])
def test_cleaning_a_written_answer_of_many_letters(benchmark, unit, letters):
    page = benchmark(to_html, unit * (letters // len(unit)))
    assert len(page) >= letters // 3


@pytest.mark.parametrize("count", [20, 200, 2_000, 10_000])
def test_growth_and_memory(benchmark, classroom, count):
    if not benchmark.enabled and count > 20:
        pytest.skip("thousands of submissions take minutes; they are graded when benchmarks are enabled")
    hand_in(classroom, count if benchmark.enabled else 5)
    graded, seconds, own_mb, workers_mb = benchmark.pedantic(grade, (classroom,), rounds=1)
    print(
        f"\n{graded}: {seconds / graded * 1e3:.1f} ms a submission, {own_mb:.0f} MB and {workers_mb:.0f} MB in workers"
    )
    benchmark.extra_info |= {"ms_a_submission": seconds / graded * 1e3, "mb": own_mb, "mb_of_workers": workers_mb}
