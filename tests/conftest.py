"""Driving the real product: `refinish open` on a copy of the course, and a real Chromium in front of it.

The tests of one file share one server and one browser. A missing program (Chromium, GNU units) skips the tests that
need it, with the reason; where REFINISH_PROGRAMS_REQUIRED is set it is a failure.
"""

from __future__ import annotations

import contextlib
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
from classrooms import back_home, classroom, fresh_course, two_classrooms  # noqa: F401
from hypothesis import settings

# How long an example takes depends on what else the machine does; speed has its benchmarks.
settings.register_profile("house", deadline=None)
settings.load_profile("ci" if os.environ.get("CI") else "house")

ROOT = Path(__file__).parents[1]
CHROMIUM = Path("/usr/bin/chromium")
UNITS = Path("/usr/bin/units")
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
# A name that is not the machine itself, so that the browser treats its plain http page as it does a school's.
PLAIN_HOST = "course.test"
TOKEN = "browser-tests"
LEAVE = shutil.ignore_patterns("__pycache__", ".ipynb_checkpoints")
FRONT = ".jp-NotebookPanel:not(.lm-mod-hidden)"
# JupyterLab's dialogs and messages, noted the moment they appear.
WATCH = """
window.appeared = [];
new MutationObserver((changes) => {
  for (const change of changes) for (const node of change.addedNodes) {
    if (node.nodeType !== 1) continue;
    const shown = ".jp-Dialog, .Toastify__toast";
    const found = node.matches(shown) ? node : node.querySelector(shown);
    if (found) window.appeared.push(found.innerText);
  }
}).observe(document, { childList: true, subtree: true });
"""


class Server:
    """A running `refinish open` or `refinish bench`, which can be stopped and started again on the same port."""

    def __init__(self, course: Path, *words: str) -> None:
        self.course, self.words = course, words
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.start()

    def command(self) -> list[str | Path]:
        return [Path(sys.executable).parent / "refinish", *self.words]

    def start(self) -> None:
        home = self.course.parent / "home"
        home.mkdir(exist_ok=True)
        hosts = {"ServerApp": {"local_hostnames": ["localhost", PLAIN_HOST]}, "LabApp": {"expose_app_in_browser": True}}
        (home / "jupyter_server_config.json").write_text(json.dumps(hosts))
        places = {"HOME": home, "JUPYTER_CONFIG_DIR": home, "JUPYTER_DATA_DIR": home / "data", "IPYTHONDIR": home}
        self.log = home / f"server-{self.port}.log"
        self.process = subprocess.Popen(
            [*self.command(), "--no-browser", "--port", str(self.port)],
            cwd=self.course,
            env=os.environ | {name: str(path) for name, path in places.items()} | {"JUPYTER_TOKEN": TOKEN},
            stdout=self.log.open("w"),
            stderr=subprocess.STDOUT,
        )
        for _ in range(600):
            try:
                with urllib.request.urlopen(f"http://localhost:{self.port}/api", timeout=5):
                    break
            except OSError:
                assert self.process.poll() is None, self.log.read_text()
                time.sleep(0.1)
        else:
            raise TimeoutError(self.log.read_text())
        self.desk = {path: path.read_bytes() for path in self.course.glob(".local/*/workspaces/*")}

    def clear_desk(self) -> None:
        """Forget the tabs that were left open, as a restart does."""
        for path, content in self.desk.items():
            path.write_bytes(content)

    def as_cloned(self) -> None:
        """Put the course back to how it was cloned: nobody known, nothing answered, no kernel, no tab open."""
        head = {"Authorization": f"token {TOKEN}"}
        kernels = f"http://localhost:{self.port}/api/kernels"
        with urllib.request.urlopen(urllib.request.Request(kernels, headers=head)) as answer:
            running = json.loads(answer.read())
        for kernel in running:
            one = urllib.request.Request(f"{kernels}/{kernel['id']}", headers=head, method="DELETE")
            urllib.request.urlopen(one).close()
        for name in ("lessons", "hand-in", "submitted"):
            shutil.rmtree(self.course / name, ignore_errors=True)
        (self.course / ".local/apprentice.json").unlink(missing_ok=True)
        shutil.copytree(ROOT / "lessons", self.course / "lessons", ignore=LEAVE)
        self.clear_desk()

    def stop(self) -> None:
        """End it as Ctrl+C in its window does."""
        self.process.send_signal(signal.SIGINT)
        try:
            self.process.wait(60)
        except subprocess.TimeoutExpired:
            self.process.kill()
            raise


class Lab:
    """JupyterLab in one browser page, and what a person does there."""

    def __init__(self, page, server: Server, host: str = "localhost") -> None:
        self.page, self.server, self.host = page, server, host
        self.complaints: list[str] = []
        page.set_default_timeout(45_000)
        page.add_init_script(WATCH)
        page.on("console", self._note)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("dialog", self._answer)
        page.on("popup", lambda popup: self.complaints.append(f"pop-up: {popup.url}"))

    def _note(self, message) -> None:
        if message.type == "error":
            self.complaints.append(f"{message.text} {message.location.get('url', '')}".strip())

    def _answer(self, dialog) -> None:
        if dialog.type == "beforeunload":  # leaving a page that is not saved yet
            dialog.accept()
        else:
            self.complaints.append(f"dialog: {dialog.message}")
            dialog.dismiss()

    def go(self, path: str = "/") -> None:
        """Open a path of the server, and wait until JupyterLab stands."""
        join = "&" if "?" in path else "?"
        self.page.goto(f"http://{self.host}:{self.server.port}{path}{join}token={TOKEN}")
        self.page.wait_for_selector("#jp-main-dock-panel")
        self.page.wait_for_selector("#jupyterlab-splash", state="detached")

    def settle(self) -> None:
        """Wait for the start page with its lessons, and until JupyterLab has put everything in its place."""
        self.page.wait_for_selector(".refinish-start-page[data-refinish-ready] .refinish-start-lessons")

    def open_notebook(self, path: str) -> None:
        """Open a notebook by its path in the course and wait for its kernel."""
        self.go(f"/lab/tree/{path}")
        self.see_notebook(path)

    def see_notebook(self, path: str) -> None:
        """Wait until a notebook that was just opened stands with all its cells, and its kernel."""
        self.notebook = self.server.course / path
        cells = len(json.loads(self.notebook.read_text("utf-8"))["cells"])
        self.page.wait_for_function(f"n => document.querySelectorAll('{FRONT} .jp-Cell').length === n", arg=cells)
        self.wait_idle()

    def wait_idle(self, timeout_s: float = 90) -> None:
        """Wait until the kernel has done all it was asked."""
        self.page.wait_for_function(
            """(front) => {
                const panel = document.querySelector(front);
                const state = panel?.querySelector(".jp-Notebook-ExecutionIndicator")?.dataset.status;
                const prompts = [...panel?.querySelectorAll(".jp-InputPrompt") ?? []];
                const idle = state === "idle" && !prompts.some((prompt) => prompt.textContent.includes("*"));
                if (!idle) window.idleSince = undefined;
                else window.idleSince ??= performance.now();
                return idle && performance.now() - window.idleSince > 300; // not only between two cells
            }""",
            arg=FRONT,
            timeout=timeout_s * 1000,
        )

    def run_whole_lesson(self) -> None:
        """Press the one button, and wait for the last cell."""
        # A collapsed cell does not count up; the cells in between, and the last answer cell, do.
        prompts = self.page.locator(f"{FRONT} .jp-CodeCell:not(:has(.jp-InputPlaceholder)) .jp-InputPrompt")
        before = prompts.all_text_contents()
        self.page.evaluate(
            """(front) => {
                const light = document.querySelector(`${front} .jp-Notebook-ExecutionIndicator`);
                window.wasBusy = false;
                new MutationObserver(() => { window.wasBusy ||= light.dataset.status !== "idle"; })
                    .observe(light, { attributeFilter: ["data-status"] });
            }""",
            FRONT,
        )
        self.page.get_by_role("button", name="Run the whole lesson").click()
        self.page.wait_for_function("window.wasBusy")
        self.wait_idle()
        after = prompts.all_text_contents()
        stopped = [now for was, now in zip(before, after, strict=True) if now == was or not re.search(r"\d", now)]
        assert not stopped, f"{len(stopped)} of {len(after)} cells did not run"

    def cell(self, grade_id: str):
        """The cell with this nbgrader id."""
        cells = json.loads(self.notebook.read_text("utf-8"))["cells"]
        ids = [cell["metadata"].get("nbgrader", {}).get("grade_id") for cell in cells]
        return self.page.locator(f"{FRONT} .jp-Cell").nth(ids.index(grade_id))

    def type_cell(self, grade_id: str, text: str) -> None:
        """Replace what stands in a cell."""
        self.cell(grade_id).locator(".cm-content").click()
        self.page.keyboard.press("ControlOrMeta+A")
        self.page.keyboard.insert_text(text)

    def begin(self, who: str, title: str, path: str) -> None:
        """From the start page with nobody known into a lesson that runs."""
        self.go()
        self.settle()
        self.page.get_by_label("Your id").fill(who)
        self.page.get_by_role("button", name="Remember it").click()
        self.page.get_by_text(f"You are {who}").wait_for()
        self.page.get_by_role("button", name=f"Begin: {title}").click()
        self.see_notebook(path)
        self.see_lesson_run()

    def see_lesson_run(self) -> None:
        """Wait until a lesson that runs by itself has done so."""
        self.page.wait_for_selector(f"{FRONT}[data-refinish-run=done]", timeout=120_000)

    def form(self, grade_id: str):
        """The form over an answer cell, in sight."""
        form = self.cell(grade_id).locator(".refinish-form")
        form.scroll_into_view_if_needed()
        return form

    def fill(self, grade_id: str, values: dict, *, keyboard: bool = False) -> None:
        """Fill in fields of a form by their names: a text, a list of texts for boxes, orders and tables."""
        cells = json.loads(self.notebook.read_text("utf-8"))["cells"]
        [cell] = [cell for cell in cells if cell["metadata"].get("nbgrader", {}).get("grade_id") == grade_id]
        form = self.form(grade_id)
        for field in cell["metadata"]["refinish"]["answer"]:
            if field["name"] in values:
                self._fill(form, field, values[field["name"]], keyboard)

    def _fill(self, form, field: dict, value, keyboard: bool) -> None:
        kind, label = field["kind"], field["label"]
        if kind in ("number", "text", "written"):
            self._type(form.get_by_role("textbox", name=label), value, keyboard)
        elif kind == "table":
            for row, one in zip(field["rows"], value, strict=False):
                self._type(form.get_by_role("textbox", name=f"{label}, {row}"), one, keyboard)
        elif kind == "choice":
            options = form.get_by_role("radiogroup", name=label, exact=True).get_by_role("radio")
            wanted = options.and_(form.get_by_role("radio", name=value, exact=True))
            if not keyboard:
                wanted.check()
                return
            self.tab_to(
                options.first if options.locator(":scope:checked").count() == 0 else options.locator(":scope:checked")
            )
            self.page.keyboard.press("Space")
            for _ in range(options.count()):
                if not wanted.is_checked():
                    self.page.keyboard.press("ArrowDown")
            assert wanted.is_checked(), f"the arrow keys do not reach {value!r} of {label!r}"
        elif kind == "chosen":
            for box in form.get_by_role("group", name=label).get_by_role("checkbox").all():
                if box.is_checked() != (box.get_attribute("value") in value):
                    self._press(box, keyboard)
        elif kind == "order":
            if form.get_by_role("button", name="This is my order").is_visible():
                self._press(form.get_by_role("button", name="This is my order"), keyboard)
            for at, task in enumerate(value):
                while form.locator(".refinish-form-task").all_inner_texts().index(task) > at:
                    self._press(form.get_by_role("button", name=f"Move up: {task}", exact=True), keyboard)
        else:
            raise ValueError(kind)

    def _type(self, box, text: str, keyboard: bool) -> None:
        if not keyboard:
            box.fill(text)
            return
        self.tab_to(box)
        self.page.keyboard.press("ControlOrMeta+A")
        self.page.keyboard.type(text)

    def _press(self, control, keyboard: bool) -> None:
        if not keyboard:
            control.click()
            return
        self.tab_to(control)
        self.page.keyboard.press("Space")

    def tab_to(self, control, most: int = 400) -> None:
        """Reach a control with the Tab key alone."""
        where = """it => {
            const here = document.activeElement;
            if (it === here) return "";
            return it.compareDocumentPosition(here) & Node.DOCUMENT_POSITION_FOLLOWING ? "Shift+Tab" : "Tab";
        }"""
        for _ in range(most):
            key = control.evaluate(where)
            if not key:
                return
            self.page.keyboard.press(key)
        raise AssertionError(f"Tab does not reach {control}")

    def output(self, grade_id: str) -> str:
        """What a cell shows below itself."""
        return "\n".join(self.cell(grade_id).locator(".jp-OutputArea-output").all_text_contents())

    def hand_in(self, keyboard: bool = False) -> Path:
        """Press the one button, and go on where something is missing; returns the file that was left."""
        buttons = self.page.locator(FRONT).get_by_role(
            "button", name="Hand in"
        )  # at the top, and where the lesson ends
        self._press(buttons.last if keyboard else buttons.first, keyboard)
        window = self.page.get_by_role("dialog")
        window.wait_for()
        if window.get_by_role("button", name="Hand in as it is").count():
            self._press(window.get_by_role("button", name="Hand in as it is"), keyboard)
        self.page.get_by_role("dialog", name="Handed in", exact=True).wait_for()
        name = window.locator("strong").first.inner_text()
        self.page.keyboard.press("Escape")
        window.wait_for(state="detached")
        return self.server.course / "hand-in" / name

    def save(self) -> dict:
        """Press the save button; returns the notebook as it then lies on the disk."""
        self.page.locator(f"{FRONT} .jp-NotebookPanel-toolbar [data-jp-item-name=save]").click()
        # Saves wait for one another: when one more is through, so is the button's, and any that went by itself before.
        self.page.evaluate("jupyterapp.shell.currentWidget.context.save()")
        return json.loads(self.notebook.read_text("utf-8"))

    def next_day(self) -> None:
        """Close the browser's page and the server, and start the server again."""
        self.page.goto("about:blank")
        self.server.stop()
        self.server.start()

    def look(self, name: str) -> None:
        """Keep a picture of the screen, where REFINISH_SCREENS names a folder."""
        folder = os.environ.get("REFINISH_SCREENS")
        if folder:
            self.page.screenshot(path=Path(folder) / f"{name}.png")

    def leave(self) -> None:
        """Close the page, with nothing to complain of: one that stays open writes its tabs for the next to restore."""
        if self.page.is_closed():
            return
        try:
            self.assert_no_complaints()
        finally:
            self.page.context.close()

    def assert_no_complaints(self) -> None:
        assert self.complaints == []
        assert self.page.evaluate("window.appeared") == []


def copy_course(folder: Path) -> Path:
    """A fresh course as an apprentice has it after cloning."""
    course = folder / "course"
    for name in ("lessons", "solutions", "refinishlib"):
        shutil.copytree(ROOT / name, course / name, ignore=LEAVE)
    shutil.copy(ROOT / "nbgrader_config.py", course)
    return course


def _needs(program: Path, package: str) -> None:
    if program.exists():
        return
    reason = f"{program} is missing (on Debian: apt-get install {package})"
    if os.environ.get("REFINISH_PROGRAMS_REQUIRED"):
        pytest.fail(reason)
    pytest.skip(reason)


@pytest.fixture(scope="session")
def units():
    """GNU units: units("grit_P(600)", "um") is 25.8."""
    _needs(UNITS, "units")

    def convert(have: str, want: str) -> float:
        return float(subprocess.check_output([UNITS, "--terse", have, want], text=True))

    return convert


@pytest.fixture(scope="session")
def chromium():
    _needs(CHROMIUM, "chromium")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        rule = f"--host-resolver-rules=MAP {PLAIN_HOST} 127.0.0.1"
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=[*FLAGS, rule])
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def course(tmp_path_factory) -> Path:
    return copy_course(tmp_path_factory.mktemp("browser"))


@pytest.fixture(scope="session")
def serve(chromium, course):
    """Starts `refinish` with the words given, on the copy of the course or on another folder."""
    running = []

    def start(*words: str, folder: Path = course) -> Server:
        running.append(Server(folder, *words))
        return running[-1]

    yield start
    for server in running:
        server.stop()


@pytest.fixture(scope="session")
def server(serve):
    return serve("open")


@pytest.fixture
def fresh(server) -> Server:
    """The same server, its course as it was cloned."""
    server.as_cloned()
    return server


@pytest.fixture(scope="session")
def new_lab(chromium):
    """Makes a Lab for a server, in a browser without any memory."""

    def make(server: Server, theme: str = "light", host: str = "localhost", **more) -> Lab:
        server.clear_desk()
        more = {"viewport": {"width": 1280, "height": 800}, "color_scheme": theme} | more
        return Lab(chromium.new_context(**more).new_page(), server, host)

    return make


@pytest.fixture
def open_lab(new_lab):
    """As new_lab, and at the end none may have had a complaint."""
    labs = []

    def make(*args, **more) -> Lab:
        labs.append(new_lab(*args, **more))
        return labs[-1]

    yield make
    with contextlib.ExitStack() as every_one:
        for lab in labs:
            every_one.callback(lab.leave)


@pytest.fixture(params=["light", "dark"])
def lab(request, fresh, open_lab) -> Lab:
    """An apprentice's JupyterLab, in the light and in the dark theme."""
    return open_lab(fresh, request.param)
