"""The bench's own page in a real browser: from the home page to an answer, reload, dead kernel, stale job, token."""

import hashlib
import json
import os
import re
import shutil
import time
import urllib.error
import urllib.request
from http.cookiejar import CookieJar
from importlib.resources import files
from pathlib import Path
from urllib.parse import urlsplit

import pytest
import zxingcpp
from PIL import Image

from refinishlib.bench.registry import CALCULATORS
from refinishlib.bench.served import server as served
from refinishlib.job.record import read_record
from tests.browser.test_access import serious
from tests.conftest import PLAIN_HOST, TOKEN, copy_course

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
    page.goto(f"http://localhost:{bench.port}/refinish?all&token={TOKEN}")
    # The job and what was entered are the bench's, not the page's.
    page.evaluate(A_NEW_JOB)
    shutil.rmtree(bench.course / ".local/painter/entries", ignore_errors=True)
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
        page.goto(f"http://localhost:{bench.port}/refinish?all")
        page.get_by_role("link", name=one.title).first.tap()
        page.locator("html[data-refinish-ready=yes]").wait_for()
        page.locator(".refinish-figure, .refinish-answer").first.wait_for()
        assert page.locator("h1").inner_text() == one.title and page.title() == one.title
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, one.key
        assert page.locator(".refinish-sentence:visible").count() == 0, one.key
        assert serious(page) == [], one.key
    assert page.complaints == []


def test_a_painter_who_uses_the_keyboard_alone_gets_a_figure(bench, page):
    while page.evaluate("document.activeElement.innerText?.split('\\n')[0]") != "Mix sheet":
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
    assert sum(len(served._contents()[name]) for name in ("bench.js", "bench.css")) <= MOST_BYTES


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
    for path in (
        "",
        "/mix",
        "/job",
        "/job/file",
        "/job/record",
        "/this-job",
        "/shop",
        f"/{served._names()['bench.js']}",
    ):
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


def test_whoever_comes_back_is_at_the_calculator_used_last_and_all_others_are_one_tap_away(bench, page):
    open_one(bench, page, "clock")
    page.goto(f"http://localhost:{bench.port}/refinish")
    page.wait_for_url("**/refinish/clock")
    page.get_by_role("link", name="All calculators").click()
    page.locator(".refinish-tiles").wait_for()


def test_another_device_goes_on_with_the_cup_where_this_one_stopped(bench, page, chromium):
    open_one(bench, page, "mix")
    page.get_by_label("Colour").select_option("Chalk Barn, as built")
    page.locator(".refinish-pour caption", has_text="Chalk Barn, as built").wait_for()
    page.locator(".refinish-waiting").wait_for(state="detached")
    page.get_by_role("button", name="Poured").click()
    page.get_by_role("button", name="Undo").wait_for()
    page.wait_for_timeout(600)  # what was entered is on its way to the server
    context = chromium.new_context()
    phone = context.new_page()
    phone.goto(f"http://localhost:{bench.port}/refinish?token={TOKEN}")
    open_one(bench, phone, "mix")
    phone.get_by_role("button", name="Continue this cup").click()
    phone.get_by_role("button", name="Undo").wait_for()
    assert phone.get_by_label("Colour").input_value() == page.get_by_label("Colour").input_value()
    context.close()


def test_after_a_restart_of_the_server_one_button_brings_the_page_back_with_all_that_was_entered(bench, page):
    open_one(bench, page, "mix")
    page.get_by_label("Colour").select_option("Kiln Red, as built")
    page.get_by_label("How much is wanted").fill("630 g")
    page.get_by_text("630.0 g").first.wait_for()
    page.wait_for_timeout(600)
    bench.stop()
    page.get_by_text("Not connected").wait_for()
    assert page.get_by_role("button", name="Poured").is_disabled()
    bench.start()
    page.get_by_role("button", name="Bring it back").click()
    page.get_by_text("Not connected").wait_for(state="detached")
    page.locator("html[data-refinish-ready=yes]").wait_for()
    page.get_by_text("630.0 g").first.wait_for()


def test_the_job_is_filled_in_put_aside_taken_up_saved_opened_and_written_as_the_record(bench, page, tmp_path):
    at = f"http://localhost:{bench.port}/refinish/this-job"
    page.goto(at)
    page.get_by_role("button", name="Write the record").click()
    page.get_by_text("nothing was given for Vehicle, Colour").wait_for()
    filled = {
        "Vehicle": "demo 7", "Colour": "Kiln Red, darker", "Undercoat, L*": "50", "Air": "70 °F", "Humidity": "55 %",
        "Hardener of the clear": "slow hardener", "Reducer of the clear": "normal reducer",
        "Who said yes to the card": "MK", "Where colour and clear end": "left rear door; colour; all over",
    }  # fmt: skip
    for words, value in filled.items():
        page.get_by_label(words, exact=True).fill(value)
    with page.expect_download() as coming:
        page.get_by_role("button", name="Write the record").click()
    record = read_record(Path(coming.value.path()).read_text("utf-8"))
    assert (record.vehicle, record.colour, record.variant) == ("demo 7", "Kiln Red", "darker")
    assert record.air_c == record.panel_c == pytest.approx(21.1, abs=0.05) and record.end[0].where == "all over"

    with page.expect_download() as coming:
        page.get_by_role("button", name="Save as a file").click()
    kept = tmp_path / coming.value.suggested_filename
    kept.write_bytes(Path(coming.value.path()).read_bytes())
    page.get_by_role("button", name="Put it aside").click()
    page.get_by_label("Put aside").wait_for()
    page.get_by_role("button", name="New job").click()
    page.wait_for_function("document.querySelector('[name=vehicle]')?.value === ''")
    page.get_by_role("button", name="Take it up").click()
    page.wait_for_function("document.querySelector('[name=vehicle]')?.value === 'demo 7'")
    page.get_by_label("Vehicle", exact=True).fill("demo 8")
    page.get_by_label("Vehicle", exact=True).blur()
    page.get_by_text("Kept.").wait_for()
    page.get_by_label("Open a file").set_input_files(kept)
    page.wait_for_function("document.querySelector('[name=vehicle]')?.value === 'demo 7'")
    other = tmp_path / "other.json"
    other.write_text("{}")
    page.get_by_label("Open a file").set_input_files(other)
    page.get_by_text("allowed is one that the bench wrote").wait_for()
    assert page.get_by_label("Colour", exact=True).input_value() == "Kiln Red, darker"


def test_units_are_chosen_once_and_hold_in_every_calculator(bench, page):
    page.goto(f"http://localhost:{bench.port}/refinish/shop")
    for words, unit in (("Temperatures", "degF"), ("Volumes", "US fl oz"), ("Films", "mil")):
        page.get_by_label(words).select_option(unit)
        page.get_by_text("Kept.").wait_for()
    try:
        open_one(bench, page, "clock")
        assert page.get_by_label("Air in the booth").input_value() == "70 °F"
        page.get_by_label("Air in the booth").fill("60")
        page.locator(".refinish-fold", has_text="60 °F").wait_for(state="attached")
        open_one(bench, page, "ratio")
        page.locator("td", has_text="US fl oz").first.wait_for()
        open_one(bench, page, "surface")
        assert page.get_by_label("Clear on the flat").input_value() == "2.0 mil"
    finally:
        (bench.course / ".local/painter/units.json").unlink()


def test_on_the_networks_plain_address_copy_works_too(bench, page, chromium):
    context = chromium.new_context()
    other = context.new_page()
    other.goto(f"http://{PLAIN_HOST}:{bench.port}/refinish?all&token={TOKEN}")
    assert other.evaluate("window.isSecureContext") is False
    other.goto(f"http://{PLAIN_HOST}:{bench.port}/refinish/ratio")
    other.get_by_role("button", name="Copy").click()
    other.get_by_text("Copied.").wait_for()
    other.goto(f"http://{PLAIN_HOST}:{bench.port}/refinish/this-job")
    notes = other.get_by_label("Notes")
    notes.focus()
    other.keyboard.press("ControlOrMeta+V")
    assert notes.input_value().startswith("clear, 400 mL")
    notes.fill("")
    context.close()


@pytest.mark.parametrize("one", CALCULATORS, ids=lambda one: one.key)
def test_print_gives_one_clean_page_with_day_job_and_name(bench, page, one):
    page.evaluate(
        """async () => {
          const headers = { "X-XSRFToken": document.cookie.match(/_xsrf=([^;]*)/)[1] };
          const { revision } = await (await fetch("/refinish/job")).json();
          const body = JSON.stringify({ revision, values: { vehicle: "demo 7" } });
          await fetch("/refinish/job", { method: "PUT", headers, body });
        }"""
    )
    open_one(bench, page, one.key)
    page.evaluate("window.print = () => {}")
    page.get_by_role("button", name="Print").click()
    frame = page.frame_locator("iframe.refinish-print")
    frame.locator(".refinish-paper-head", has_text="demo 7").wait_for()
    assert "Name:" in frame.locator(".refinish-paper-head").inner_text()
    assert frame.get_by_role("button").count() == 0
    assert frame.locator(".refinish-title").inner_text() == one.title
    made = page.evaluate("document.querySelector('iframe.refinish-print').contentDocument.documentElement.outerHTML")
    paper = page.context.new_page()
    paper.set_content(made)
    pdf = paper.pdf(format="A4", prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page\b", pdf)) == 1
    folder = os.environ.get("REFINISH_SCREENS")
    if folder:
        (Path(folder) / f"paper-{one.key}.pdf").write_bytes(pdf)


def test_an_own_shop_is_used_and_its_faults_stand_on_the_page_with_their_lines(serve, chromium, tmp_path):
    own = tmp_path / "own shop"
    own.mkdir()
    text = files("refinishlib.shop").joinpath("colours.toml").read_text("utf-8")
    (own / "colours.toml").write_text(text.replace("Kiln Red", "Brick Lane"), "utf-8")
    server = serve("bench", "--shop", str(own), folder=copy_course(tmp_path))
    context = chromium.new_context()
    page = context.new_page()
    page.goto(f"http://localhost:{server.port}/refinish?all&token={TOKEN}")
    page.goto(f"http://localhost:{server.port}/refinish/mix")
    page.locator(".refinish-figure").wait_for()
    page.get_by_label("Colour").select_option("Brick Lane, as built")
    (own / "colours.toml").write_text("[[colour]]\nname = 7\n", "utf-8")
    page.goto(f"http://localhost:{server.port}/refinish/mix")
    page.wait_for_url("**/refinish/shop")
    assert re.search(r"colours\.toml, line 2: name: 7 was given", page.get_by_role("alert").inner_text())
    context.close()


def test_shared_the_phone_gets_in_by_the_code_and_nobody_without_it(serve, chromium, tmp_path):
    server = serve("bench", "--share", folder=copy_course(tmp_path))
    page = chromium.new_context().new_page()
    page.goto(f"http://localhost:{server.port}/refinish/shop?token={TOKEN}")
    address = page.locator("section", has_text="On your phone").locator("code").inner_text()
    assert f":{server.port}/refinish?token={TOKEN}" in address
    assert page.locator(".refinish-code svg").is_visible()
    picture = tmp_path / "code.png"
    page.locator(".refinish-code svg").screenshot(path=picture)
    assert zxingcpp.read_barcodes(Image.open(picture))[0].text == address
    here = urlsplit(address).hostname
    page.goto(address.replace(here, "127.0.0.2"))  # another address of this machine, as a phone would come in by
    page.locator(".refinish-tiles").wait_for()
    with pytest.raises(urllib.error.HTTPError) as refused:
        urllib.request.build_opener(NoRedirect).open(f"http://127.0.0.2:{server.port}/refinish")
    assert refused.value.code in (302, 403)
    page.context.close()
    words = server.log.read_text()
    assert address in words and "█" in words
