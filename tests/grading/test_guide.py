"""The instructor's guide, walked command by command as it is written, in a fresh copy of the course."""

import csv
import json
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest
from classrooms import HERE

from refinishlib import cli
from refinishlib.grading import handin

GUIDE = (HERE / "solutions/INSTRUCTOR.md").read_text(encoding="utf-8")
FENCED = re.findall(r"^```(csv|)\n(.*?)^```$", GUIDE, re.MULTILINE | re.DOTALL)
COMMANDS = [text.strip() for kind, text in FENCED if not kind]
TABLES = [text for kind, text in FENCED if kind == "csv"]


@pytest.fixture(scope="module")
def course(tmp_path_factory):
    """The course as it is cloned, with the environment where the guide says it is."""
    root = tmp_path_factory.mktemp("guide") / "course"
    root.mkdir()
    for name in ("nbgrader_config.py", "README.md", "LICENSE", "pyproject.toml"):
        shutil.copy(HERE / name, root)
    for name in ("lessons", "solutions", "refinishlib"):
        shutil.copytree(HERE / name, root / name, ignore=shutil.ignore_patterns("__pycache__"))
    (root / ".venv").mkdir()
    (root / ".venv/bin").symlink_to(Path(sys.executable).parent)
    return root


def given_to_the_instructor(root: Path) -> None:
    """What three apprentices hand in: one well named, one as a browser saves a copy, one with a misspelt id."""
    released = json.loads((root / "lessons/mixing/mixing.ipynb").read_text(encoding="utf-8"))
    released["metadata"]["refinish"] = {"handed_in": "2026-03-02T10:00:00+00:00"}
    inbox = root / "handed-in"
    inbox.mkdir()
    for who, name in (("a06", "a06-mixing.ipynb"), ("a07", "a07-mixing (1).ipynb"), ("a10", "a1O-mixing.ipynb")):
        cells = handin.texts("mixing", who) | {"written-1": "The scale is too coarse for so little."}
        (inbox / name).write_text(json.dumps(handin.filled(released, cells)), encoding="utf-8")


def typed(root: Path, command: str, expected: int = 0) -> str:
    """Type a command as the guide has it. The environment's programs are not on the PATH, as for an instructor."""
    bare = os.environ | {"PATH": "/usr/bin:/bin", "PYTHONPATH": str(root)}
    done = subprocess.run(command, shell=True, cwd=root, env=bare, capture_output=True, text=True)
    assert done.returncode == expected, f"{command}\n{done.stdout}\n{done.stderr}"
    assert "Traceback" not in done.stderr, done.stderr
    return done.stdout


def opened(root: Path, command: str) -> None:
    """Start JupyterLab with the command of the guide, see that it answers, and end it."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    words = [*command.split(), "--no-browser", "--port", str(port)]
    bare = os.environ | {"PATH": "/usr/bin:/bin", "PYTHONPATH": str(root), "JUPYTER_TOKEN": "guide"}
    server = subprocess.Popen(words, cwd=root, env=bare, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        for _ in range(300):
            try:
                with urllib.request.urlopen(f"http://localhost:{port}/formgrader?token=guide", timeout=5) as answer:
                    assert answer.status == 200
                    return
            except OSError:
                assert server.poll() is None
                time.sleep(0.2)
        raise TimeoutError(command)
    finally:
        server.send_signal(signal.SIGINT)
        server.wait(60)


def marks_of(root: Path) -> dict[str, dict[str, str]]:
    """The rows of the report's table of marks, by apprentice."""
    with (root / "report/marks.csv").open(encoding="utf-8-sig", newline="") as file:
        return {row["apprentice"]: row for row in csv.DictReader(file)}


def test_every_command_that_the_guide_names_is_there():
    named = set(re.findall(r"refinish ([a-z-]+)", GUIDE))
    assert named <= set(cli.COMMANDS)
    assert {"class", "due", "collect", "grade", "answers", "feedback", "report", "release", "bundle"} <= named


@pytest.mark.deep
def test_the_guide_is_walked_command_by_command(course):
    done = []
    for command in COMMANDS:
        if command.endswith("class my-class.csv"):
            (course / "my-class.csv").write_text(TABLES[0], encoding="utf-8")
        if command.endswith("due my-dates.csv"):
            (course / "my-dates.csv").write_text(TABLES[1], encoding="utf-8")
        if command.endswith("collect mixing handed-in"):
            given_to_the_instructor(course)
            said = typed(course, command, expected=1)
            assert "2 collected" in said and "no id 'a1o'; nearest: a10" in said
            table = course / "unknown_ids.csv"
            table.write_text(table.read_text(encoding="utf-8-sig").replace("ipynb,,", "ipynb,a10,"), encoding="utf-8")
        elif command.endswith("open --teach"):
            opened(course, command)
        elif command.endswith("upgrade --back"):
            typed(course, command, expected=2)  # nothing was upgraded, so there is nothing to undo
        elif " forget " in command:
            typed(course, command, expected=2)  # nobody is there to ask
            typed(course, f"{command} --yes")
            assert set(marks_of(course)) == {"a06", "a10"}
        else:
            said = typed(course, command)
            if " bundle" in command:
                assert (course / "refinishing-course.zip").is_file()
            if " collect " in command:
                assert "3 collected" in said
            if " grade " in command:
                assert "3 handed in, 3 graded now, 0 unchanged, 3 written answers to mark" in said
            if " feedback " in command:
                assert "3 pages written" in said
            if " upgrade" in command:
                assert said.startswith("Nothing to do")
            if command.endswith(" report"):
                marks = marks_of(course)
                assert (course / "report/report.html").is_file()
                assert (course / "report/answers/a07-mixing.html").is_file()
        done.append(command)
    assert done == COMMANDS and len(done) >= 14
    assert {who: row["late_h"] for who, row in marks.items()} == {"a06": "0.0", "a07": "0.0", "a10": "0.0"}
    assert {row["time_from"] for row in marks.values()} == {"the notebook's own record"}
