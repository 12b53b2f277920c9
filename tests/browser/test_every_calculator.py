"""Each calculator on the bench's page: hit wherever it is touched at every width, and done by the keyboard alone."""

import pytest

from refinishlib.bench.registry import CALCULATORS
from tests.browser.test_mix_sheet_page import LETTERS, MISSED
from tests.browser.test_served_page import open_one
from tests.conftest import TOKEN, copy_course

pytestmark = [pytest.mark.browser]

# A phone, a tablet, the mixing room's computer, and that at 200 %: half as many points in each direction.
SIZES = {"phone": (390, 844), "tablet": (768, 1024), "computer": (1280, 900), "at 200 %": (640, 450)}
# A box of ticks is as large as its words, which are its label.
HIT = MISSED.replace(
    '"button, input, select, summary"', '"button, input:not([type=checkbox], [type=file]), select, textarea, summary"'
)
SHOWN = "() => [...document.querySelectorAll('.refinish-shown, .refinish-fold')].map((one) => one.innerText).join()"
IN_SETTINGS = "() => Boolean(document.activeElement.closest('.refinish-settings, .refinish-mix .refinish-grid'))"


@pytest.fixture(scope="module")
def bench(serve, tmp_path_factory):
    return serve("bench", folder=copy_course(tmp_path_factory.mktemp("bench")))


@pytest.fixture
def page(bench, chromium):
    context = chromium.new_context()
    page = context.new_page()
    page.set_default_timeout(45_000)
    page.goto(f"http://localhost:{bench.port}/refinish?all&token={TOKEN}")
    yield page
    context.close()


@pytest.mark.deep
@pytest.mark.parametrize("one", CALCULATORS, ids=lambda one: one.key)
def test_every_control_is_hit_across_its_whole_box(bench, page, one):
    open_one(bench, page, one.key)
    for name, (width, height) in SIZES.items():
        page.set_viewport_size({"width": width, "height": height})
        page.wait_for_timeout(150)
        fold = page.locator(".refinish-fold")
        if fold.is_visible():
            fold.click()
        for closed in page.get_by_role("button", name="More settings").all():
            closed.click()
            page.get_by_role("button", name="Fewer settings").wait_for()
        found = page.evaluate(HIT)
        assert found["missed"] == [] and found["count"] >= 5, (name, found)
        assert page.evaluate("document.documentElement.scrollWidth") <= width, name
        assert min(page.evaluate(LETTERS), default=12) >= 12, name
        if fold.is_visible():
            fold.click()


@pytest.mark.parametrize("one", CALCULATORS, ids=lambda one: one.key)
def test_a_figure_is_changed_by_the_keyboard_alone_and_where_it_stands_is_seen(bench, page, one):
    open_one(bench, page, one.key)
    before = page.evaluate(SHOWN)
    for _ in range(60):
        page.keyboard.press("Tab")
        if not page.evaluate(IN_SETTINGS):
            continue
        style = "() => { const its = getComputedStyle(document.activeElement); return its.outlineStyle; }"
        assert page.evaluate(style) == "solid", "where the keyboard is can be seen"
        page.keyboard.press("ArrowDown")
        page.wait_for_timeout(100)
        page.locator(".refinish-waiting").wait_for(state="detached")
        if page.evaluate(SHOWN) != before:
            return
    raise AssertionError("no key changes anything")
