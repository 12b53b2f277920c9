"""The package as somebody installs it: forms in JupyterLab and Notebook as they are, and nothing left when it goes."""

import json
import os
import shutil
import subprocess
import sys
import sysconfig
import venv
from pathlib import Path

import pytest

pytestmark = [pytest.mark.browser]

ROOT = Path(__file__).parents[2]
LESSON = "lessons/mixing/mixing.ipynb"
PREFIX = Path(sys.prefix)


@pytest.fixture(scope="module")
def bench(tmp_path_factory) -> Path:
    """An environment with the wheel in it; all that it needs is borrowed from the one that the tests run in."""
    source, place = tmp_path_factory.mktemp("source"), tmp_path_factory.mktemp("installed") / "env"
    shutil.copytree(ROOT / "refinishlib", source / "refinishlib", ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, source)
    venv.create(place, with_pip=True)
    borrowed, site = (Path(sysconfig.get_path("purelib", vars={"base": str(base)})) for base in (PREFIX, place))
    (site / "borrowed.pth").write_text(str(borrowed))
    pip(place, "install", "--no-deps", "--ignore-installed", str(source))
    return place


def pip(place: Path, *words: str) -> None:
    subprocess.run([python(place), "-m", "pip", "--quiet", *words], check=True)


def python(place: Path) -> Path:
    return place / ("Scripts" if os.name == "nt" else "bin") / "python"


def installed(place: Path) -> list[str]:
    """What lies in the environment outside of its packages that is ours."""
    share, etc = place / "share/jupyter/labextensions/refinish-lab", place / "etc/jupyter"
    return sorted(
        str(path.relative_to(place)) for folder in (share, etc) if folder.exists() for path in folder.rglob("*")
    )


@pytest.fixture(scope="module")
def started(bench, tmp_path_factory, new_lab):
    """JupyterLab or Notebook as it is, each started once, with the package installed and none of our settings."""
    from tests.conftest import Server, copy_course

    course = copy_course(tmp_path_factory.mktemp("stock"))
    running: dict[str, Server] = {}

    class Stock(Server):
        def command(self):
            return [python(bench), "-m", self.words[0], "--ServerApp.allow_root=True"]

        def stop(self):
            self.process.terminate()  # Ctrl+C would be asked back
            self.process.wait(60)

        def start(self):
            os.environ |= {
                "JUPYTERLAB_DIR": str(PREFIX / "share/jupyter/lab"),
                "JUPYTER_PATH": str(PREFIX / "share/jupyter"),
                "JUPYTER_CONFIG_PATH": str(PREFIX / "etc/jupyter"),
            }
            try:
                super().start()
            finally:
                for name in ("JUPYTERLAB_DIR", "JUPYTER_PATH", "JUPYTER_CONFIG_PATH"):
                    del os.environ[name]

    def start(program: str):
        if program not in running:
            running[program] = Stock(course, program)
        return new_lab(running[program])

    yield start
    for server in running.values():
        server.stop()


@pytest.mark.parametrize("program, where", [("jupyterlab", "/lab/tree/"), ("notebook", "/notebooks/")])
def test_the_wheel_brings_the_form_and_its_check_to_stock(started, program, where):
    lab = started(program)
    page = lab.page
    page.goto(f"http://localhost:{lab.server.port}{where}{LESSON}?token=browser-tests")
    form = page.locator(".jp-Cell", has_text="Your answer to 1.1").locator(".refinish-form")
    box = form.get_by_role("textbox", name="Own weight")
    box.fill("34,2 g")
    form.get_by_role("button", name="Check my entry").click()
    form.get_by_text("Read as 34.2 g.").wait_for()
    assert form.locator("fieldset").evaluate("it => getComputedStyle(it).backgroundColor") == "rgb(251, 250, 246)"
    # Nothing ran, and no page of ours is in the way.
    assert page.locator(".refinish-start").count() == 0
    assert page.get_by_text("for demo").count() == 0
    with page.expect_response(lambda answer: answer.request.method == "PUT" and "/api/contents/" in answer.url):
        box.press("ControlOrMeta+s")
    cells = json.loads((lab.server.course / LESSON).read_text("utf-8"))["cells"]
    assert any('own_g = "34,2 g"' in "".join(cell["source"]) for cell in cells)


def test_without_the_extension_one_types_as_ever(started):
    lab = started("jupyterlab")
    page = lab.page
    page.route("**/refinish-lab/**", lambda route: route.abort())
    page.goto(f"http://localhost:{lab.server.port}/lab/tree/{LESSON}?token=browser-tests")
    editor = page.locator(".jp-CodeCell .cm-content", has_text="own_g =")
    editor.wait_for()
    editor.click()
    page.keyboard.press("ControlOrMeta+A")
    page.keyboard.insert_text('own_g = "34,2 g"')
    assert page.locator(".refinish-form").count() == 0


def test_the_page_is_not_told_without_signing_in(started):
    lab = started("jupyterlab")
    base = f"http://localhost:{lab.server.port}/refinish/"
    request = lab.page.context.request
    assert request.get(base + "lessons").status == 403
    body = {"lesson": "mixing", "question": "1.1", "id": "a07", "texts": ["own_g = 5"]}
    assert request.post(base + "check", data=body).status == 403
    signed = {"Authorization": "token browser-tests"}
    assert request.post(base + "check", data=body, headers=signed).json()["fields"][0]["sentence"] == "Read as 5 g."
    for damage in (
        "",
        "[]",
        "{",
        '{"texts": 5}',
        '{"lesson": 5, "texts": []}',
        '{"lesson": "../x", "question": "", "id": "", "texts": []}',
    ):
        answer = request.post(base + "check", data=damage, headers=signed | {"Content-Type": "application/json"})
        assert answer.status == 400 and answer.json()["message"]
    for path in ("../../etc/passwd", "solutions/mixing/mixing.ipynb", "hand-in/a07-mixing.ipynb", ""):
        assert request.post(base + "hand-in", data={"path": path, "sure": True}, headers=signed).status == 400
    # A page that has a cookie but not the page's own token is refused: another site may not speak for the apprentice.
    lab.page.goto(f"http://localhost:{lab.server.port}/lab?token=browser-tests")
    lab.page.wait_for_selector("#jp-main-dock-panel")
    status = "async (url) => (await fetch(url, { method: 'POST', body: '{}' })).status"
    assert lab.page.evaluate(status, base + "id") == 403


def test_refinish_open_serves_what_stands_in_the_source(server, new_lab):
    # An editable install has no copy of the extension outside of the package, or one that grows old.
    lab = new_lab(server)
    for path in (ROOT / "refinishlib/course/lab/labextensions/refinish-lab").iterdir():
        answer = lab.page.context.request.get(f"http://localhost:{server.port}/lab/extensions/refinish-lab/{path.name}")
        assert answer.body() == path.read_bytes(), path.name
    signed = {"Authorization": "token browser-tests"}
    assert lab.page.context.request.get(f"http://localhost:{server.port}/refinish/lessons", headers=signed).ok


def test_it_uninstalls_without_a_trace(bench, tmp_path):
    assert any(name.endswith("form.js") for name in installed(bench))
    assert any(name.endswith("tokens.css") for name in installed(bench))
    assert any(name.endswith("refinishlib.json") for name in installed(bench))
    pip(bench, "uninstall", "--yes", "refinishlib")
    assert [name for name in installed(bench) if (bench / name).is_file()] == []
