"""What every calculator gets from its page row: copy, print, remembered entries, names for sliders, plain sentences."""

import re

import nbformat
import pytest

pytestmark = [pytest.mark.browser]

CALCULATOR = """
import ipywidgets as widgets
from refinishlib.bench.fields import choice_field, grid, live, slider_field, text_field
from refinishlib.bench.page import Page, sheet
from refinishlib.units import parse

mass = text_field("Mass", lambda text: parse(text, "mass", field="mass", low=0, high=1000), "500 g")
colour = choice_field("Colour", ["red", "blue"])
film = slider_field("Dry film", 0, 60, 25, unit="µm")
table = widgets.HTML()
page = Page("page row", {"mass": mass, "colour": colour, "film": film})

def draw(mass_g, colour, film_um):
    rows = "".join(f"<tr><td>{n}</td><td>{mass_g:.1f} g</td></tr>" for n in range(60))
    table.value = f"<table class='refinish-table'><tbody>{rows}</tbody></table>"
    page.text = f"{colour}\\t{mass_g:.1f} g\\t{film_um:g} µm"

problem = live(draw, [mass, colour, film], result=table)
sheet("Page row", grid(mass, colour, film), problem, page, table)
"""


@pytest.fixture(scope="session")
def calculator(course) -> str:
    """A notebook with one small calculator, on the copy of the course."""
    path = course / "lessons" / "page_row.ipynb"
    kernel = {"name": "python3", "display_name": "Python 3 (ipykernel)", "language": "python"}
    notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(CALCULATOR)], metadata={"kernelspec": kernel})
    nbformat.write(notebook, path)
    return "lessons/page_row.ipynb"


def test_entries_are_read_kept_copied_and_printed_on_a_plain_http_page(server, open_lab, calculator):
    lab = open_lab(server, host="course.test")
    page = lab.page
    lab.open_notebook(calculator)
    assert not page.evaluate("isSecureContext")
    lab.run_whole_lesson()
    mass = page.get_by_label("Mass")
    film = page.get_by_role("slider", name="Dry film")
    film.wait_for()

    # A bad entry: a sentence beside the field, nothing lost, the figures below dimmed; a good one clears it.
    mass.fill("34 furlongs")
    page.locator(".refinish-field .refinish-sentence", has_text="mass").wait_for()
    assert mass.input_value() == "34 furlongs"
    page.locator(".refinish-stale").wait_for()
    mass.fill("1 1/2 lb")
    page.locator("td", has_text="680.4 g").first.wait_for()
    assert page.locator(".refinish-sentence:visible").count() == 0

    # The slider has a name, moves by keys, and says its value.
    film.focus()
    page.keyboard.press("ArrowRight")
    page.locator("[role=slider][aria-valuetext='26 µm']").wait_for()
    page.get_by_label("Colour", exact=True).select_option("blue")

    # Copied, although the browser keeps its clipboard from pages like this.
    page.wait_for_function("!document.querySelector('.refinish-waiting')")
    lab.wait_idle()
    page.get_by_role("button", name="Copy").click()
    page.get_by_text("Copied.").wait_for()
    page.evaluate("document.body.append(Object.assign(document.createElement('textarea'), {id: 'pasted'}))")
    page.locator("#pasted").focus()
    page.keyboard.press("ControlOrMeta+V")
    assert page.locator("#pasted").input_value() == "blue\t680.4 g\t26 µm"

    # The paper holds the calculator alone, what was entered as text, all on one page, black on white.
    page.get_by_role("button", name="Print").click()
    paper = page.locator("iframe.refinish-print").element_handle().content_frame()
    assert "1 1/2 lb" in paper.locator("body").inner_text()
    assert paper.locator("input, button").count() == 0
    sheet = page.context.browser.new_page(color_scheme="dark")
    sheet.set_content(paper.content())
    assert len(re.findall(rb"/Type\s*/Page\b", sheet.pdf(format="A4"))) == 1
    assert len(re.findall(rb"/Type\s*/Page\b", sheet.pdf(format="Letter"))) == 1
    assert sheet.evaluate("getComputedStyle(document.documentElement).backgroundColor") == "rgb(255, 255, 255)"
    assert sheet.evaluate("getComputedStyle(document.querySelector('td')).color") == "rgb(37, 39, 42)"
    sheet.close()

    # Next day: a new kernel and a new page; what was entered is there again.
    lab.open_notebook(calculator)
    lab.run_whole_lesson()
    page.locator("td", has_text="680.4 g").first.wait_for()
    assert page.get_by_label("Mass").input_value() == "1 1/2 lb"
    assert page.get_by_label("Colour", exact=True).input_value() == "blue"
    page.locator("[role=slider][aria-valuetext='26 µm']").wait_for()
