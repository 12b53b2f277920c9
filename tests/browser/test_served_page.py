"""The bench's own page in a real browser: from the home page to an answer, reload, dead kernel, stale job, token."""

import hashlib
import json
import time
import urllib.error
import urllib.request
from http.cookiejar import CookieJar

import pytest

from refinishlib.bench.registry import CALCULATORS
from refinishlib.bench.served import server as served
from tests.browser.test_access import serious
from tests.conftest import TOKEN

pytestmark = [pytest.mark.browser]

A_NEW_JOB = """async () => {
  const headers = { "X-XSRFToken": document.cookie.match(/_xsrf=([^;]*)/)[1] };
  const { revision } = await (await fetch("/refinish/job")).json();
  const body = JSON.stringify({ revision, values: { vehicle: "" } });
  await fetch("/refinish/job", { method: "PUT", headers, body });
}"""
MOST_REQUESTS, MOST_BYTES, MOST_PACKED = 6, 900_000, 300_000


@pytest.fixture(scope="module")
def bench(serve, tmp_path_factory):
    from tests.conftest import copy_course

    return serve("bench", folder=copy_course(tmp_path_factory.mktemp("bench")))


@pytest.fixture
def page(bench, chromium, request):
    size = getattr(request, "param", {"viewport": {"width": 1280, "height": 900}})
    context = chromium.new_context(**size)
    page = context.new_page()
    page.set_default_timeout(45_000)
    page.complaints = []
    page.on("console", lambda said: page.complaints.append(said.text) if said.type == "error" else None)
    page.on("pageerror", lambda error: page.complaints.append(str(error)))
    page.goto(f"http://localhost:{bench.port}/refinish?token={TOKEN}")
    page.evaluate(A_NEW_JOB)  # the job is the bench's, not the page's
    yield page
    context.close()


def kernels(bench) -> list[dict]:
    ask = urllib.request.Request(
        f"http://localhost:{bench.port}/api/kernels", headers={"Authorization": f"token {TOKEN}"}
    )
    with urllib.request.urlopen(ask) as answer:
        return json.loads(answer.read())


def open_one(bench, page, key: str) -> None:
    page.goto(f"http://localhost:{bench.port}/refinish/{key}")
    page.locator("html[data-refinish-ready=yes]").wait_for()
    page.locator(".refinish-figure, .refinish-answer").first.wait_for()


PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True}


@pytest.mark.parametrize("page", [PHONE], indirect=True)
def test_every_calculator_is_reached_and_answers_on_a_phone(bench, page):
    names = page.locator(".refinish-tiles b").all_inner_texts()
    assert names == [one.title for one in CALCULATORS]
    for one in CALCULATORS:
        page.goto(f"http://localhost:{bench.port}/refinish")
        page.get_by_role("link", name=one.title).tap()
        page.locator("html[data-refinish-ready=yes]").wait_for()
        page.locator(".refinish-figure, .refinish-answer").first.wait_for()
        assert page.locator("h1").inner_text() == one.title and page.title() == one.title
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, one.key
        assert page.locator(".refinish-sentence:visible").count() == 0, one.key
        assert serious(page) == [], one.key
    assert page.complaints == []


def test_a_painter_who_uses_the_keyboard_alone_gets_a_figure(bench, page):
    page.keyboard.press("Tab")  # the switch of the theme
    for _ in range([one.key for one in CALCULATORS].index("mix") + 1):
        page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.locator(".refinish-figure").wait_for()
    while page.evaluate("document.activeElement.value") != "500 g":
        page.keyboard.press("Tab")
    page.keyboard.press("ControlOrMeta+A")
    page.keyboard.type("600 g")
    page.get_by_text("372.0 g").first.wait_for()
    assert page.complaints == []


def test_the_page_is_small_and_asks_nothing_of_anybody_else(bench, page, chromium):
    asked, sizes = [], []
    page.on("request", lambda one: asked.append(one.url))
    page.on("response", lambda one: sizes.append(int(one.headers.get("content-length", 0))))
    open_one(bench, page, "mix")
    network = [url for url in asked if not url.startswith(("blob:", "data:"))]
    assert len(network) <= MOST_REQUESTS and all(f"localhost:{bench.port}" in url for url in network), network
    assert sum(sizes) <= MOST_PACKED
    assert sum(len(content) for _, content, _ in served._files().values()) <= MOST_BYTES


def test_the_bundle_is_the_one_that_its_recipe_made():
    """Whoever changes a source builds anew with `npm run build` in client/, and writes down both."""
    client = served.HERE / "client"
    sources = [client / name for name in ("client.js", "client.css", "define.js", "plain.js", "package.json")]
    made = [served.HERE / "built" / name for name in ("bench.js", "bench.css")]
    found = {
        part: hashlib.sha256(b"".join(path.read_bytes() for path in paths)).hexdigest()
        for part, paths in (("sources", sources), ("built", made))
    }
    assert found == json.loads((served.HERE / "built" / "made-from.json").read_text())


def test_a_reload_in_mid_pour_offers_the_cup_and_leaves_no_kernel_behind(bench, page):
    open_one(bench, page, "mix")
    page.get_by_role("button", name="Poured").click()
    page.get_by_role("button", name="Undo").wait_for()
    for _ in range(10):
        page.reload()
        page.locator("html[data-refinish-ready=yes]").wait_for()
    page.get_by_role("button", name="Continue this cup").click()
    page.get_by_text("395.0 g").first.wait_for()
    until = time.monotonic() + 30
    while len(kernels(bench)) > 1 + served.WARM and time.monotonic() < until:
        time.sleep(0.5)
    assert len(kernels(bench)) <= 1 + served.WARM


def test_when_the_kernel_is_gone_nothing_counts_until_one_button_brings_it_back(bench, page):
    open_one(bench, page, "mix")
    for one in kernels(bench):
        if one["connections"]:
            gone = urllib.request.Request(
                f"http://localhost:{bench.port}/api/kernels/{one['id']}",
                headers={"Authorization": f"token {TOKEN}"},
                method="DELETE",
            )
            urllib.request.urlopen(gone).close()
    page.get_by_text("Not connected").wait_for()
    assert page.get_by_role("button", name="Poured").is_disabled()
    page.get_by_role("button", name="Bring it back").click()
    page.locator(".refinish-off").wait_for(state="detached")
    page.get_by_role("button", name="Poured").click()
    page.get_by_text("395.0 g").first.wait_for()


def test_one_job_runs_through_the_calculators_and_a_second_page_sees_it(bench, page):
    open_one(bench, page, "undercoat")
    page.get_by_label("Colour").select_option("Chalk Barn, greyer")
    page.get_by_role("button", name="Take this into the job").click()
    other = page.context.new_page()
    open_one(bench, other, "tint")
    other.get_by_text("Chalk Barn, greyer, in the cup").wait_for()
    other.get_by_label("In the cup", exact=True).select_option("Night Ferry, as built")
    other.get_by_text("Night Ferry, as built, in the cup").wait_for()
    page.bring_to_front()
    page.locator(".refinish-say", has_text="Night Ferry, as built").wait_for()


def test_a_stale_job_is_refused_and_without_the_token_nothing_is_served(bench):
    at = f"http://localhost:{bench.port}/refinish"
    for path in ("", "/mix", "/job", f"/{served._files()['js'][0]}"):
        with pytest.raises(urllib.error.HTTPError) as refused:
            urllib.request.build_opener(NoRedirect).open(at + path)
        assert refused.value.code in (302, 403)

    opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(CookieJar()))
    head = {"Authorization": f"token {TOKEN}"}

    def ask(method="GET", body=None):
        data = None if body is None else json.dumps(body).encode()
        return json.loads(opener.open(urllib.request.Request(f"{at}/job", data, head, method=method)).read())

    now = ask()
    after = ask("PUT", {"revision": now["revision"], "values": {"vehicle": "demo 7"}})
    assert after == {"revision": now["revision"] + 1, "values": {"vehicle": "demo 7"}}
    with pytest.raises(urllib.error.HTTPError) as stale:
        ask("PUT", {"revision": now["revision"], "values": {"vehicle": "demo 8"}})
    assert stale.value.code == 409 and ask() == after
    for wrong in ({}, {"revision": after["revision"], "values": {"vehicle": 7}}, {"revision": "x", "values": {}}):
        with pytest.raises(urllib.error.HTTPError) as bad:
            ask("PUT", wrong)
        assert bad.value.code == 400 and ask() == after


class NoRedirect(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *args):
        return None
