"""`refinish`: found from any folder of the course, quick to say what it can, plain when it cannot."""

import subprocess
import sys
from pathlib import Path

import pytest

from refinishlib import cli
from refinishlib.course import folder
from refinishlib.entry import BadEntry

ROOT = Path(__file__).parents[1]


def test_the_course_is_found_from_every_folder_in_it():
    for inside in (ROOT, ROOT / "lessons" / "mixing", ROOT / "refinishlib" / "bench"):
        assert cli.course_folder(inside) == ROOT


def test_outside_every_course_one_sentence_says_what_to_do(tmp_path, monkeypatch):
    monkeypatch.setattr(folder.refinishlib, "__file__", str(tmp_path / "lib" / "refinishlib" / "__init__.py"))
    with pytest.raises(BadEntry, match=r"^The course is not here: .* type the command again\.$"):
        cli.course_folder(tmp_path)


def test_help_loads_no_command():
    code = (
        "import sys, contextlib; from refinishlib.cli import main\n"
        "with contextlib.suppress(SystemExit): main(['--help'])\n"
        "assert not {'jupyterlab', 'nbgrader', 'numpy', 'ipywidgets'} & set(sys.modules), sorted(sys.modules)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert run.returncode == 0, run.stderr
    for command in cli.COMMANDS:
        assert f"\n    {command}" in run.stdout


@pytest.mark.parametrize("command", cli.COMMANDS)
def test_help_of_a_command_loads_nothing_slow(command):
    code = (
        "import sys, contextlib; from refinishlib.cli import main\n"
        f"with contextlib.suppress(SystemExit): main([{command!r}, '--help'])\n"
        "slow = {'jupyterlab', 'nbgrader', 'nbconvert', 'sqlalchemy', 'numpy', 'ipywidgets', 'jinja2'}\n"
        "assert not slow & set(sys.modules), slow & set(sys.modules)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert run.returncode == 0, run.stderr
    assert run.stdout.startswith(f"usage: refinish {command}")
