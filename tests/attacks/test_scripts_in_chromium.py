"""Script in what an apprentice wrote, opened in a real Chromium: nothing runs, nothing is fetched, the rest stays."""

import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest

from refinishlib.grading import classroom as grading
from refinishlib.grading.clean import to_html

TOKEN = "attacks"
DOT = "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="
RUN = "window.ran = 1; parent.ran = 1; top.ran = 1"

pytestmark = [pytest.mark.browser]

PAYLOADS = {
    "script": f"<script>{RUN}</script>",
    "script-src": '<script src="http://localhost:9/x.js"></script>',
    "img-onerror": f'<img src=x onerror="{RUN}">',
    "img-in-markdown": f'![x](x" onerror="{RUN})',
    "svg-onload": f'<svg onload="{RUN}"><circle r=9></svg>',
    "svg-script": f"<svg><script>{RUN}</script></svg>",
    "svg-animate": f'<svg><animate onbegin="{RUN}" attributeName=x dur=1s></svg>',
    "svg-data": f'<img src="data:image/svg+xml,<svg xmlns=\'http://www.w3.org/2000/svg\' onload=\'{RUN}\'/>">',
    "iframe-srcdoc": f'<iframe srcdoc="<script>{RUN}</script>"></iframe>',
    "iframe-data": f'<iframe src="data:text/html,<script>{RUN}</script>"></iframe>',
    "object": f'<object data="data:text/html,<script>{RUN}</script>"></object>',
    "embed": f'<embed src="data:text/html,<script>{RUN}</script>">',
    "details-toggle": f'<details open ontoggle="{RUN}">x</details>',
    "focus": f'<input autofocus onfocus="{RUN}"><a autofocus tabindex=1 onfocus="{RUN}">x</a>',
    "style-import": '<style>@import "http://localhost:9/x.css";</style>',
    "style-attribute": '<p style="background:url(http://localhost:9/x);position:fixed;inset:0">x</p>',
    "meta-refresh": f'<meta http-equiv="refresh" content="0;url=javascript:{RUN}">',
    "base": '<base href="http://localhost:9/"><img src="x.png">',
    "link-rel": '<link rel="stylesheet" href="http://localhost:9/x.css">',
    "remote-image": "![x](http://localhost:9/x.png)",
    "own-server-image": '<img src="/logout">',
    "form": f'<form action="/formgrader" onsubmit="{RUN}"><button class="full-credit">x</button></form>',
    "video": f'<video src=x onerror="{RUN}"></video><audio src=x onerror="{RUN}"></audio>',
    "marquee": f'<marquee onstart="{RUN}">x</marquee>',
    "math-href": f"$\\href{{javascript:{RUN}}}{{x}}$",
    "math-html": f"$</math><img src=x onerror='{RUN}'>$",
    "math-text": f"$\\text{{<img src=x onerror='{RUN}'>}}$",
    "math-style": "<math><mtext><table><mglyph><style><img src=x onerror=window.ran=1></style></mglyph></table></math>",
    "noscript": f'<noscript><p title="</noscript><img src=x onerror={RUN.split(";")[0].replace(" ", "")}>">',
    "comment": f"<!--><img src=x onerror='{RUN}'>-->",
    "template": f"<template><script>{RUN}</script></template>",
    "textarea": f"<textarea></textarea><img src=x onerror='{RUN}'>",
    "fence-name": f'```"><img src=x onerror={RUN.split(";")[0].replace(" ", "")}>\nx\n```',
    "mermaid": f"```mermaid\ngraph TD; A[<img src=x onerror='{RUN}'>]\n```",
    "heading": f"# x <img src=x onerror='{RUN}'>",
    "table": f"| a |\n|---|\n| <img src=x onerror='{RUN}'> |",
    "link-title": f'[x](https://example.org "\\" onmouseover=\\"{RUN}")',
    "half-tag": f"<img src=x onerror='{RUN}'",
    "null-letter": f"<scr\0ipt>{RUN}</scr\0ipt>",
    "deep-nesting": "> " * 3000 + "x",
    "deep-lists": "\n".join(" " * 2 * n + "- x" for n in range(300)),
    "many-brackets": "[" * 5000,
    "many-stars": "*a " * 5000,
}  # fmt: skip

PLAIN = f"""The scale is *too coarse*: $\\frac{{0.1}}{{0.3}} = 33\\,\\%$

| toner | grams |
|---|---|
| jet black | 0.3 |

![dot](data:image/png;base64,{DOT}) ![pasted](attachment:pasted.png)

$$x^2 + 1$$
"""


def asked_for(page) -> list[str]:
    """What the page asks any server for from now on."""
    asked: list[str] = []
    page.on("request", lambda request: request.url.startswith(("data:", "blob:")) or asked.append(request.url))
    return asked


def test_nothing_runs_or_loads_from_what_was_written(chromium):
    page = chromium.new_page()
    asked = asked_for(page)
    page.set_content(PAYLOADS["img-onerror"])
    page.wait_for_function("window.ran === 1")  # the trap works when nobody cleans
    for name, payload in PAYLOADS.items():
        html = to_html(payload)
        page.evaluate("() => { delete window.ran; }")
        page.set_content(f"<p id=end></p>{html}")
        page.evaluate("() => document.querySelectorAll('*').forEach(e => { e.focus?.(); })")
        page.wait_for_timeout(15)
        assert page.evaluate("window.ran") is None, (name, html)
        assert "javascript:" not in html.replace("\\href{javascript:", "") or "href" not in html, (name, html)
        found = page.evaluate("() => [...document.querySelectorAll('[id],[class],[name],[data-link],[style]')].length")
        assert found == 1, (name, html)
    assert [url for url in asked if "localhost:9" in url] == []
    page.close()


def test_tables_pictures_links_and_formulas_stay():
    html = to_html(PLAIN + "\n[a page](https://example.org)", {"pasted.png": {"image/png": DOT}})
    for kept in ("<table>", "<em>", "<mfrac>", 'display="block"', 'href="https://example.org"', 'rel="noopener'):
        assert kept in html
    assert html.count('src="data:image/png;base64,') == 2


@pytest.fixture(scope="module")
def taught(two_classrooms):
    """A graded class with every payload in written answers, feedback given, and a server with the formgrader."""
    room = two_classrooms[0]
    path, home = os.environ["PATH"], Path.cwd()
    os.environ["PATH"] = f"{Path(sys.executable).parent}{os.pathsep}{path}"
    room.hand_in("sly", {"written-1": "\n\n".join(text for name, text in PAYLOADS.items() if "deep" not in name)})

    def pastes(notebook):
        cell = next(c for c in notebook["cells"] if c["metadata"].get("nbgrader", {}).get("grade_id") == "written-1")
        drawing = {"image/svg+xml": f"<svg xmlns='http://www.w3.org/2000/svg' onload='{RUN}'/>"}
        cell["attachments"] = {"pasted.png": {"image/png": DOT}, "drawing.svg": drawing, "x.png": {"image/png": "no"}}
        return notebook

    room.hand_in("ann", {"written-1": PLAIN + "\n![x](attachment:drawing.svg) ![x](attachment:x.png)"}, pastes)
    grading.grade(room.root, "mixing")
    done = room.nbgrader("generate_feedback", "mixing")
    assert done.returncode == 0, done.stderr[-2000:]
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = subprocess.Popen(
        [Path(sys.executable).parent / "jupyter-server", "--allow-root", "--no-browser", f"--port={port}",
         f"--IdentityProvider.token={TOKEN}"],
        cwd=room.root, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    for _ in range(600):
        try:
            urllib.request.urlopen(f"http://localhost:{port}/api", timeout=5).close()
            break
        except OSError:
            time.sleep(0.1)
    yield room, f"http://localhost:{port}"
    server.terminate()
    server.wait(30)
    os.environ["PATH"] = path
    os.chdir(home)
    shutil.rmtree(room.root, ignore_errors=True)


def submission_ids(room) -> dict[str, str]:
    from nbgrader.api import Gradebook

    with Gradebook(f"sqlite:///{room.root}/gradebook.db") as book:
        return {one.student.id: one.id for one in book.notebook_submissions("mixing", "mixing")}


def open_in_formgrader(page, room, address: str, who: str) -> None:
    """Sign in, open a submission and wait until the page's own scripts have filled in the marks."""
    page.goto(f"{address}/api/status?token={TOKEN}")
    page.goto(f"{address}/formgrader/submissions/{submission_ids(room)[who]}/")
    page.wait_for_function("document.querySelector('input.score').placeholder !== ''")


@pytest.mark.parametrize("who", ["sly", "ann"])
@pytest.mark.parametrize("place", ["formgrader", "feedback"])
def test_in_the_formgrader_and_in_the_feedback_nothing_runs_and_nothing_is_fetched_from_outside(
    chromium, taught, who, place
):
    room, address = taught
    page = chromium.new_page()
    asked, complaints = asked_for(page), []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("dialog", lambda dialog: complaints.append(dialog.message) or dialog.dismiss())
    if place == "formgrader":
        open_in_formgrader(page, room, address, who)
    else:
        page.goto((room.root / f"feedback/{who}/mixing/mixing.html").as_uri())
    page.wait_for_timeout(300)
    assert page.evaluate("window.ran") is None
    assert complaints == []
    assert [url for url in asked if not url.startswith((address, "file:"))] == []
    if who == "ann":
        cell = page.locator("div.nbgrader_cell, div.words", has_text="too coarse")
        assert cell.locator("table").count() == 1
        widths = cell.locator("img").evaluate_all("all => all.map(one => one.naturalWidth)")
        assert widths.count(1) == 2, "the picture in the text and the pasted one are shown"
        assert cell.locator("math").first.bounding_box()["width"] > 5
    page.close()


def test_the_formgrader_still_saves_a_mark_and_a_comment(chromium, taught):
    room, address = taught
    page = chromium.new_page()
    open_in_formgrader(page, room, address, "ann")
    with page.expect_response(lambda answer: answer.request.method == "PUT" and "/api/grade/" in answer.url):
        page.fill("#written-1", "3")
        page.press("#written-1", "Tab")
    page.close()
    assert room.scores()["ann"]["written-1"] == (None, False)
