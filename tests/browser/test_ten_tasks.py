"""Ten things a painter comes to the bench for, each from the home page on a phone, with its taps counted."""

import re
import shutil

import pytest

from tests.browser.test_served_page import A_NEW_JOB
from tests.conftest import TOKEN, copy_course

pytestmark = [pytest.mark.browser]
MOST_TAPS = 12
WORDS = ".refinish-answer, .refinish-figure"


@pytest.fixture(scope="module")
def bench(serve, tmp_path_factory):
    return serve("bench", folder=copy_course(tmp_path_factory.mktemp("bench")))


class Painter:
    """Taps and types on a phone, and counts: a tap is a tap, a choice is two, something typed is one more."""

    def __init__(self, page):
        self.page, self.taps = page, 0

    def open(self, title: str) -> None:
        self.tap(self.page.get_by_role("link", name=title).first)
        self.page.locator("html[data-refinish-ready=yes]").wait_for()
        self.page.locator(WORDS).first.wait_for()

    def tap(self, what) -> None:
        self.taps += 1
        self.page.locator(".refinish-waiting").wait_for(state="detached")
        what.tap()

    def button(self, name: str) -> None:
        self.tap(self.page.get_by_role("button", name=name, exact=True))

    def settings(self) -> None:
        self.tap(self.page.locator(".refinish-fold"))

    def choose(self, label: str, option: str) -> None:
        self.taps += 2
        self.page.get_by_label(label, exact=True).select_option(option)

    def type(self, label: str, text: str) -> None:
        self.taps += 1
        self.page.get_by_label(label, exact=True).fill(text)
        self.page.get_by_label(label, exact=True).blur()  # the key *done* of the phone

    def reads(self, pattern: str) -> None:
        """Wait until the answer says it."""
        self.page.locator(WORDS, has_text=re.compile(pattern)).first.wait_for()
        assert self.taps <= MOST_TAPS, self.taps


@pytest.fixture
def painter(bench, chromium):
    shutil.rmtree(bench.course / ".local/painter/entries", ignore_errors=True)
    context = chromium.new_context(viewport={"width": 390, "height": 844}, has_touch=True)
    page = context.new_page()
    page.set_default_timeout(45_000)
    complaints = []
    page.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.goto(f"http://localhost:{bench.port}/refinish?all&token={TOKEN}")
    page.evaluate(A_NEW_JOB)
    yield Painter(page)
    assert complaints == []
    context.close()


def test_pour_the_first_toner_of_600_g(painter):
    painter.open("Mix sheet")
    painter.settings()
    painter.choose("Colour", "Kiln Red, as built")
    painter.type("How much is wanted", "600 g")
    painter.reads(r"^426\.0 g")
    painter.button("Poured")
    painter.reads(r"^5\d\d\.\d g")


def test_what_to_do_with_a_pour_that_went_over(painter):
    painter.open("Mix sheet")
    painter.settings()
    painter.choose("Colour", "Chalk Barn, as built")
    painter.type("How much is wanted", "500 g")
    painter.page.locator(".refinish-pour caption", has_text="Chalk Barn, as built, 500.0 g").wait_for()
    painter.type("What the scale shows", "490 g")
    painter.button("Poured: 490.0 g")
    painter.button("Rescue it")
    painter.page.get_by_role("button", name="Undo").wait_for()
    assert painter.taps <= MOST_TAPS


def test_weigh_clear_for_a_door(painter):
    painter.open("Mix by ratio")
    painter.settings()
    painter.type("How much, ready to spray", "300 mL")
    painter.reads(r"^191\.6, 293\.2, 301\.7 g")


def test_does_this_card_go_edge_to_edge(painter):
    painter.open("Compare two colours")
    painter.settings()
    painter.choose("The panel is", "Millrace Silver, as built")
    painter.choose("The card is", "Millrace Silver, coarser")
    painter.reads("edge to edge|needs a fade|not yet")


def test_which_grey_and_how_many_coats(painter):
    painter.open("Undercoat and coats")
    painter.settings()
    painter.choose("Colour", "Chalk Barn, as built")
    painter.reads(r"^\d+ coats? over L\*")


def test_what_to_add_to_the_cup(painter):
    painter.open("Tint")
    painter.settings()
    painter.choose("In the cup", "Chalk Barn, as built")
    painter.choose("The panel is", "Chalk Barn, greyer")
    painter.page.locator(".refinish-say", has_text="Chalk Barn, as built, in the cup").wait_for()
    painter.reads(r"\w")


def test_where_the_blend_of_a_wing_ends(painter):
    painter.open("Blend plan")
    painter.settings()
    painter.choose("Panel", "left front wing")
    painter.page.locator(".refinish-say", has_text="left front wing").wait_for()
    painter.reads("Blend|Spray to the edge|Put the colour right")
    painter.button("Take this into the job")
    painter.page.get_by_text("The job has it now.").wait_for()


def test_how_many_passes_are_left(painter):
    painter.open("Surface plan")
    painter.settings()
    painter.type("Clear on the flat", "40 µm")
    painter.page.locator(".refinish-fold", has_text="40 µm").wait_for()
    painter.reads("P800")


def test_may_i_start_in_this_weather_and_let_the_clock_run(painter):
    painter.open("Booth clock")
    painter.settings()
    painter.type("Air in the booth", "17 °C")
    painter.type("Humidity", "70 %")
    painter.page.locator(".refinish-fold", has_text="17 °C, 70 %").wait_for()
    painter.button("Start the clock now")
    painter.page.locator(".refinish-run [data-part=left]", has_text=re.compile(r"^\d+:\d\d$")).wait_for()
    painter.page.locator(".refinish-run [data-part=next]", has_text="Next at").wait_for()
    painter.page.reload()
    painter.page.locator(".refinish-run [data-part=left]", has_text=re.compile(r"^\d+:\d\d$")).wait_for()
    assert painter.taps <= MOST_TAPS


def test_write_down_a_card_and_know_what_to_try_first(painter):
    painter.open("Card log")
    painter.settings()
    painter.choose("Variant sprayed", "darker")
    painter.choose("Beside the vehicle it", "goes edge to edge")
    painter.button("Add this card")
    painter.reads("^darker$")
