"""Grading never fails open: whatever is wrong with the settings, nothing that was handed in runs.

Each case spoils the course's settings in one way; a submission in the class would leave a canary if it were executed.
"""

import ast
import json
import os
import re
import socket
import subprocess
import sys
import time
import tomllib
import urllib.error
import urllib.request
from importlib.metadata import version
from pathlib import Path

import pytest
from classrooms import HERE, copy_of
from nbgrader.apps.api import NbGraderAPI
from nbgrader.apps.baseapp import NbGrader
from nbgrader.converters import Autograde, GenerateFeedback, NbGraderException

from refinishlib import cli
from refinishlib.entry import BadEntry
from refinishlib.grading import borrowed, classroom, guard

SETTINGS = (HERE / "nbgrader_config.py").read_text(encoding="utf-8")
BIN = Path(sys.executable).parent
EMPTY = {ast.Dict: "{}", ast.List: "[]", ast.ListComp: "[]"}


def assignments(nodes):
    """The `c.Class.setting = value` lines that count when nobody asks for stock grading."""
    for node in nodes:
        if isinstance(node, ast.If):
            yield from assignments(node.orelse)
        elif isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Attribute):
            yield node


def spoiled():
    """Every setting deleted, misspelt, put under a misspelt class, and emptied, one at a time."""
    lines = SETTINGS.splitlines()
    for node in assignments(ast.parse(SETTINGS).body):
        first, last, indent = node.lineno - 1, node.end_lineno, " " * node.col_offset
        name = ast.unparse(node.targets[0])
        _, section, setting = name.split(".")
        rest = "\n".join(lines[first:last]).removeprefix(indent + name)
        ways = {
            "deleted": f"{indent}pass",
            "misspelt": f"{indent}c.{section}.{setting}s{rest}",
            "renamed": f"{indent}c.{section}s.{setting}{rest}",
            "emptied": f"{indent}{name} = {EMPTY.get(type(node.value), 'None')}",
        }
        if rest.strip(" =") == ways["emptied"].partition("= ")[2]:
            del ways["emptied"]  # it is empty as it should be
        for way, text in ways.items():
            yield pytest.param("\n".join([*lines[:first], text, *lines[last:]]) + "\n", id=f"{name}-{way}")


SLIPS = {
    "a wrong name at the end": SETTINGS + "\nc.Autograde.force = true\n",
    "a wrong name at the start": "x = y\n" + SETTINGS,
    "an open quote": SETTINGS + '\nc.CourseDirectory.notes = "\n',
    "an open bracket": SETTINGS + "\nc.Autograde.extra = [\n",
    "a bad import": SETTINGS + "\nimport no_such_module\n",
    "an indent": SETTINGS.replace("\nc.CourseDirectory.course_id", "\n  c.CourseDirectory.course_id"),
    "a marker of a merge": SETTINGS + "\n<<<<<<< mine\n",
    "an error that is raised": SETTINGS + "\nraise RuntimeError('x')\n",
    "an early end": "raise SystemExit(0)\n" + SETTINGS,
    "emptied": "",
    "only a comment": "# later\n",
    "bytes that are no text": b"\xff\xfe\x00" + SETTINGS.encode(),
    "deleted": None,
}
# Settings that are well written and change what would run.
ADDED = (
    "c.Autograde.exporter_class = 'nbconvert.exporters.NotebookExporter'",
    "c.Autograde.autograde_preprocessors.append('nbgrader.preprocessors.Execute')",
    "c.Autograde.autograde_preprocessors.insert(0, 'nbgrader.preprocessors.Execute')",
    "c.Autograde.sanitize_preprocessors = ['nbgrader.preprocessors.ClearOutput']",
    "c.Autograde.autograde_preprocessors = c.Autograde.autograde_preprocessors[1:]",
    "c.Autograde.pre_convert_hook = 'os.getcwd'",
    "c.Autograde.post_convert_hook = 'os.getcwd'",
    "c.Autograde.pre_convert_hook = 'refinishlib.grading.sanitize.no_such_hook'",
    "c.Autograde.exporter_class = 'refinishlib.grading.sanitize.NoSuchExporter'",
    "c.Rebuild.enabled = False",
    "c.Evaluate.enabled = False",
    "c.SaveScores.enabled = False",
    "c.NbGraderPreprocessor.enabled = False",
    "c.Preprocessor.enabled = False",
    "c.HTMLExporter.preprocessors = ['nbconvert.preprocessors.ExecutePreprocessor']",
    "c.HTMLExporter.filters = {'markdown2html': 'nbconvert.filters.markdown2html'}",
    "c.GenerateFeedback.preprocessors.insert(0, 'nbgrader.preprocessors.Execute')",
    "c.CourseDirectory.submitted_directory = 'elsewhere'",
    "c.CourseDirectory.db_url = 'sqlite:////tmp/other.db'",
)


def write(room, text) -> None:
    path = room.root / "nbgrader_config.py"
    path.unlink(missing_ok=True)
    if text is not None:
        path.write_bytes(text if isinstance(text, bytes) else text.encode())


@pytest.fixture(scope="module")
def room(fresh_course, tmp_path_factory):
    """One class for all cases: refused is refused, so nothing changes in it."""
    return copy_of(fresh_course, tmp_path_factory.mktemp("guard") / "course")


@pytest.fixture
def sly(room, tmp_path, back_home, monkeypatch):
    """The class with somebody whose answer leaves a canary when it is executed; says where."""
    monkeypatch.delenv("REFINISH_GRADING", raising=False)
    canary = tmp_path / "canary"
    room.hand_in("sly", {"answer-1-1": f"own_g = 1\nopen({str(canary)!r}, 'w').close()"})
    write(room, SETTINGS)
    os.chdir(room.root)
    yield canary
    write(room, SETTINGS)


def api() -> NbGraderAPI:
    """nbgrader's own interface as formgrader's button uses it: with the settings read again."""
    app = NbGrader()
    app.initialize([])
    app.coursedir.parent.load_config_file()
    return NbGraderAPI(app.coursedir, parent=app.coursedir.parent)


def refused_by_button() -> bool:
    try:
        return not api().autograde("mixing", "sly")["success"]
    except (Exception, SystemExit):  # nbgrader itself stops at a setting that it cannot read
        return True


def assert_nothing_ran(room, canary) -> None:
    assert not canary.exists()
    assert not room.scores(), "nobody may have a mark"
    assert not (room.root / "autograded").exists()


@pytest.mark.parametrize(
    "text", [*spoiled(), *(pytest.param(text, id=name) for name, text in SLIPS.items()),
             *(pytest.param(f"{SETTINGS}\n{line}\n", id=line) for line in ADDED)]
)  # fmt: skip
def test_with_settings_that_are_not_the_courses_own_nothing_runs(room, sly, text):
    write(room, text)
    with pytest.raises((BadEntry, NbGraderException)) as refused:
        classroom.grade(room.root, "mixing")
    assert "nbgrader_config.py" in str(refused.value) and "\n" not in str(refused.value)
    assert refused_by_button()
    assert_nothing_ran(room, sly)


def test_without_the_guard_the_canary_would_be_there(classroom, tmp_path, monkeypatch):
    canary = tmp_path / "canary"
    classroom.hand_in("sly", {"answer-1-1": f"own_g = 1\nopen({str(canary)!r}, 'w').close()"})
    write(classroom, SETTINGS + "\nc.Autograde.force = true\n")
    os.chdir(classroom.root)
    for kind in (Autograde, GenerateFeedback):
        monkeypatch.setattr(kind, "start", kind.start.__wrapped__)
    assert api().autograde("mixing", "sly")["success"]
    assert canary.exists()


def run(room, *words: str, **environment: str) -> subprocess.CompletedProcess:
    command = [BIN / words[0], *words[1:]]
    return subprocess.run(command, cwd=room.root, env=os.environ | environment, capture_output=True, text=True)


@pytest.mark.parametrize(
    ("words", "name"),
    [
        (("refinish", "grade"), "a wrong name at the end"),
        (("refinish", "nbgrader", "autograde"), "an open quote"),
        (("nbgrader", "autograde"), "a bad import"),
        (("nbgrader", "autograde"), "deleted"),
    ],
)
def test_a_real_program_refuses_with_a_sentence(room, sly, words, name):
    write(room, SLIPS[name])
    done = run(room, *words, "mixing")
    assert done.returncode != 0
    assert "Nothing was graded. Put nbgrader_config.py back" in done.stderr
    assert_nothing_ran(room, sly)


def test_without_the_installed_file_refinish_still_hangs_the_guard_in(room, sly, tmp_path):
    write(room, SLIPS["emptied"])
    bare = {"JUPYTER_CONFIG_PATH": str(cli.HANGS_THE_GUARD_IN), "PYTHONPATH": "", "JUPYTER_NO_CONFIG": ""}
    hides = tmp_path / "sitecustomize.py"
    hides.write_text("import jupyter_core.paths as p\np.ENV_CONFIG_PATH[:] = []\n", encoding="utf-8")
    done = run(room, "nbgrader", "autograde", "mixing", **bare | {"PYTHONPATH": str(tmp_path)})
    assert "Nothing was graded." in done.stderr
    assert_nothing_ran(room, sly)


def test_formgraders_button_refuses_with_a_sentence(room, sly, tmp_path):
    write(room, SLIPS["a wrong name at the end"])
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    places = {name: str(tmp_path) for name in ("HOME", "JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR")}
    command = [BIN / "jupyter-server", "--allow-root", "--no-browser", f"--port={port}", "--ServerApp.port_retries=0"]
    log = tmp_path / "log"
    server = subprocess.Popen(
        command, cwd=room.root, env=os.environ | places | {"JUPYTER_TOKEN": "t"}, stderr=log.open("w")
    )
    ask = urllib.request.Request(
        f"http://127.0.0.1:{port}/formgrader/api/submission/mixing/sly/autograde",
        method="POST",
        headers={"Authorization": "token t"},
    )
    try:
        for _ in range(300):
            try:
                with urllib.request.urlopen(ask, timeout=60) as reply:
                    answer = json.load(reply)
                break
            except urllib.error.HTTPError as refused:
                pytest.fail(f"{refused} {log.read_text()[-2000:]}")
            except OSError:
                assert server.poll() is None, log.read_text()
                time.sleep(0.1)
    finally:
        server.terminate()
        server.wait(30)
    assert not answer["success"]
    assert "Nothing was graded. Put nbgrader_config.py back" in answer["log"]
    assert_nothing_ran(room, sly)


@pytest.mark.parametrize("given", ["Stock", "stok", "1", " stock"])
def test_stock_grading_has_to_be_asked_for_by_its_one_word(room, sly, monkeypatch, given):
    monkeypatch.setenv("REFINISH_GRADING", given)
    with pytest.raises(BadEntry, match="allowed is stock, or nothing"):
        classroom.grade(room.root, "mixing")
    assert refused_by_button()
    assert_nothing_ran(room, sly)


def test_settings_that_do_not_touch_the_chain_are_an_instructors_own(room, sly):
    write(room, SETTINGS + "\nc.LateSubmissionPlugin.penalty_method = 'zero'\nc.AssignLatePenalties.enabled = False\n")
    whole = api()
    guard.prove(Autograde(coursedir=whole.coursedir, parent=whole.parent))


@pytest.mark.parametrize("name", ["refinishlib.grading.mark.Evaluate", "refinishlib.grading.sanitize.Rebuild"])
def test_a_name_that_stands_for_another_object_is_refused(room, sly, monkeypatch, name):
    from nbgrader.preprocessors import Execute

    monkeypatch.setattr(name, Execute)
    with pytest.raises(BadEntry, match="was replaced by nbgrader"):
        classroom.grade(room.root, "mixing")
    assert refused_by_button()
    assert_nothing_ran(room, sly)


def test_a_step_that_slips_in_at_the_last_moment_runs_nothing_and_gives_nobody_a_mark(classroom, tmp_path, monkeypatch):
    from nbgrader.preprocessors import Execute

    canary = tmp_path / "canary"
    classroom.hand_in("sly", {"answer-1-1": f"own_g = 1\nopen({str(canary)!r}, 'w').close()"})
    os.chdir(classroom.root)
    original = Autograde._init_preprocessors

    def with_execution(converter):
        original(converter)
        converter.exporter.register_preprocessor(Execute)

    monkeypatch.setattr(Autograde, "_init_preprocessors", with_execution)
    assert refused_by_button()
    assert not canary.exists()
    assert not any(score for score, _ in classroom.scores().get("sly", {}).values())


@pytest.mark.parametrize("name", borrowed.BORROWED, ids=lambda name: name.where)
def test_a_borrowed_name_that_is_gone_stops_grading(room, sly, monkeypatch, name):
    gone = borrowed.Name(name.where + "_as_of_tomorrow", name.why)
    monkeypatch.setattr(borrowed, "BORROWED", (gone,))
    with pytest.raises(BadEntry, match=re.escape(f"{gone.where} is gone: {name.why}")):
        classroom.grade(room.root, "mixing")
    assert refused_by_button()
    assert_nothing_ran(room, sly)


def test_a_borrowed_function_that_takes_something_else_or_a_column_that_is_gone_is_said(monkeypatch):
    monkeypatch.setattr(borrowed, "BORROWED", (borrowed.Name("nbgrader.utils:parse_utc", "x", ("when",)),))
    monkeypatch.setattr(borrowed, "TABLES", {"grade": ("id", "marks"), "cups": ("id",)})
    assert borrowed.what_changed() == [
        "nbgrader.utils:parse_utc no longer takes when: x",
        "the grade book's table grade has no marks",
        "the grade book's table cups has no id",
    ]


def test_nbgrader_is_not_newer_than_the_one_that_the_grading_was_tried_with():
    have = tuple(int(part) for part in re.findall(r"\d+", version("nbgrader")))
    assert have[:3] <= borrowed.KNOWN, f"nbgrader {have} is new: go through refinishlib/grading/borrowed.py first"
    assert borrowed.what_changed() == []
    needs = tomllib.loads((HERE / "pyproject.toml").read_text(encoding="utf-8"))["project"]["dependencies"]
    [bound] = [one for one in needs if one.startswith("nbgrader")]
    assert bound.endswith("<" + ".".join(map(str, borrowed.BELOW)))


def test_a_newer_nbgrader_is_refused(monkeypatch):
    monkeypatch.setattr(borrowed, "version", lambda package: "0.10.0")
    assert "nbgrader 0.10.0 is installed, allowed is one below 0.10" in borrowed.what_changed()[0]


def test_no_private_name_of_nbgrader_is_used_that_is_not_listed():
    listed = {part for name in borrowed.BORROWED for part in re.split(r"[.:]", name.where)}
    own = set()
    used = {}
    for path in (HERE / "refinishlib/grading").rglob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            if isinstance(node, ast.FunctionDef | ast.ClassDef):
                own.add(node.name)
            elif isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Store):
                own.add(node.attr)
            elif isinstance(node, ast.Attribute) and node.attr.startswith("_") and not node.attr.startswith("__"):
                used[node.attr] = path.name
            elif (
                isinstance(node, ast.Constant)
                and isinstance(node.value, str)
                and re.fullmatch(r"_[a-z]\w+", node.value)
            ):
                used[node.value] = path.name
    allowed = listed | own | {"_exit", "_replace", "_make", "_asdict"}
    assert {name: place for name, place in used.items() if name not in allowed} == {}


def test_the_guard_is_installed_where_every_program_of_nbgrader_looks():
    installed = Path(sys.prefix) / "etc" / "jupyter" / "nbgrader_config.json"
    source = cli.HANGS_THE_GUARD_IN / "nbgrader_config.json"
    assert installed.is_file(), "install the course again: pip install -e ."
    assert installed.read_text(encoding="utf-8") == source.read_text(encoding="utf-8")
    assert guard.HOOK in source.read_text(encoding="utf-8")
