"""The mix sheet under a finger, in a lesson in real JupyterLab: every control is hit wherever it is touched, what is
poured is not lost, and nothing looks alive that is not.
"""

import json
import urllib.request

import nbformat
import pytest

pytestmark = [pytest.mark.browser]

NOTEBOOK = "lessons/mix_sheet_page.ipynb"
CELLS = (
    "from refinishlib.course.lesson import MixSheet\nsheet = MixSheet('Tarn Evening, as built')\nsheet",
    "from refinishlib.course.lesson import figure\nfigure('mixing', 'over_pour')\nfigure('mixing', 'smallest')",
)
WIDTHS = (390, 768, 1280)
# Of every control of the sheet, nine by five points of its box; what is named was not hit there.
MISSED = """
async () => {
  const missed = [];
  const sheet = document.querySelector(".refinish-sheet");
  const controls = [...sheet.querySelectorAll("button, input, select, summary")].filter((one) => one.checkVisibility());
  for (const one of controls) {
    one.scrollIntoView({ block: "center" });
    await new Promise(requestAnimationFrame);
    const box = one.getBoundingClientRect();
    for (let column = 0; column < 9; column += 1) for (let row = 0; row < 5; row += 1) {
      const x = box.left + 1.5 + (box.width - 3) * column / 8, y = box.top + 1.5 + (box.height - 3) * row / 4;
      const hit = document.elementFromPoint(x, y);
      if (!one.contains(hit)) missed.push(`${one.textContent || one.tagName} ${column},${row}: ${hit?.className}`);
    }
    if (box.height < 43.5) missed.push(`${one.textContent || one.tagName} is ${box.height} high`);
    if (one.matches(".refinish-go:not(:disabled)") && box.height < 63.5) missed.push(`${one.textContent} is low`);
  }
  return { missed, count: controls.length };
}
"""
LETTERS = """
() => [...document.querySelectorAll(".refinish-sheet svg text, .refinish-sheet td, .refinish-sheet .refinish-hint")]
  .filter((one) => one.checkVisibility())
  .map((one) => parseFloat(getComputedStyle(one).fontSize) * (one.getScreenCTM?.().a ?? 1))
"""


@pytest.fixture(scope="session")
def notebook(course) -> str:
    kernel = {"name": "python3", "display_name": "Python 3 (ipykernel)", "language": "python"}
    cells = [nbformat.v4.new_code_cell(cell) for cell in CELLS]
    nbformat.write(nbformat.v4.new_notebook(cells=cells, metadata={"kernelspec": kernel}), course / NOTEBOOK)
    return NOTEBOOK


def begin(lab, notebook):
    """A sheet that nothing was poured by, whatever this browser or this kernel did before."""
    lab.open_notebook(notebook)
    lab.run_whole_lesson()
    lab.page.wait_for_selector(".refinish-mix svg")


def pour(lab, reading=""):
    if reading:
        lab.page.get_by_label("What the scale shows").fill(reading)
    button(lab, "Poured").click()


def button(lab, name):
    return lab.page.get_by_role("button", name=name)


def tap_left_edge(lab, name):
    """A real tap on the outermost left of a button: where the strip of JupyterLab lay."""
    target = button(lab, name)
    target.scroll_into_view_if_needed()
    box = target.bounding_box()
    lab.page.mouse.click(box["x"] + 3, box["y"] + box["height"] / 2)


def asked(lab, figure):
    lab.page.locator(".refinish-figure", has_text=figure).wait_for()
    lab.page.wait_for_function("!document.querySelector('.refinish-waiting')")


def hit_everywhere(lab, state):
    for width in WIDTHS:
        lab.page.set_viewport_size({"width": width, "height": 800})
        lab.page.wait_for_timeout(150)
        found = lab.page.evaluate(MISSED)
        assert found["missed"] == [] and found["count"] >= 5, (state, width, found)
        lab.page.evaluate("document.querySelector('.refinish-mix').scrollIntoView()")
        lab.look(f"mix-sheet-{state}-{width}")
        assert min(lab.page.evaluate(LETTERS)) >= 12, (state, width)
        if width == 390 and state != "gone":
            fold = lab.page.locator(".refinish-fold")
            assert ", as built" in fold.inner_text() and "500 g" in fold.inner_text()
            assert not lab.page.get_by_label("How much is wanted").is_visible()
            top = button(lab, "Poured").bounding_box() if state in ("fresh", "pouring") else None
            assert top is None or top["y"] < fold.bounding_box()["y"], "the main button comes before the settings"
            fold.click()
            assert lab.page.get_by_label("How much is wanted").is_visible()
            assert lab.page.evaluate(MISSED)["missed"] == []
            fold.click()


def end_all_kernels(lab):
    where = f"http://localhost:{lab.server.port}/api/kernels"
    head = {"Authorization": "token browser-tests"}
    with urllib.request.urlopen(urllib.request.Request(where, headers=head)) as answer:
        kernels = json.loads(answer.read())
    for kernel in kernels:
        urllib.request.urlopen(urllib.request.Request(f"{where}/{kernel['id']}", headers=head, method="DELETE"))


def test_every_control_is_hit_across_its_whole_box_in_every_state_and_a_dead_kernel_is_seen(server, new_lab, notebook):
    lab = new_lab(server)
    begin(lab, notebook)
    hit_everywhere(lab, "fresh")
    tap_left_edge(lab, "Poured")
    asked(lab, "395.0 g")
    hit_everywhere(lab, "pouring")
    pour(lab, "402.5")
    button(lab, "Leave it").wait_for()
    hit_everywhere(lab, "over")
    tap_left_edge(lab, "Leave it")
    for _ in range(2):
        lab.page.wait_for_timeout(450)  # a second tap at once is the same tap
        tap_left_edge(lab, "Poured")
    asked(lab, "507.5 g")
    hit_everywhere(lab, "done")
    tap_left_edge(lab, "Copy")
    lab.page.get_by_text("Copied.").wait_for()
    assert lab.page.locator(".refinish-mix").is_visible(), "no tap folded the sheet away"

    end_all_kernels(lab)
    gone = lab.page.get_by_role("alert").filter(has_text="Not connected: nothing is counted")
    gone.wait_for()
    for name in ("Undo", "Fresh cup"):
        assert button(lab, name).is_disabled()
    assert lab.page.locator(".refinish-mix :is(input, select):not(:disabled)").count() == 0
    assert float(lab.page.evaluate("getComputedStyle(document.querySelector('.refinish-part-table')).opacity")) < 0.7
    hit_everywhere(lab, "gone")

    # One button brings it back, with the cup.
    tap_left_edge(lab, "Bring it back")
    button(lab, "Continue this cup").wait_for(timeout=90_000)
    assert not gone.is_visible()
    hit_everywhere(lab, "begun-before")
    tap_left_edge(lab, "Continue this cup")
    asked(lab, "507.5 g")
    lab.page.context.close()


def test_the_strip_beside_an_output_takes_no_tap(server, open_lab, notebook):
    """The sheet stands where JupyterLab's unseen strip lies."""
    lab = open_lab(server)
    begin(lab, notebook)
    hit_everywhere(lab, "fresh")
    colour = lab.page.get_by_label("Colour", exact=True).input_value()
    tap_left_edge(lab, "Poured")
    button(lab, "Undo").wait_for()
    hit_everywhere(lab, "pouring")
    tap_left_edge(lab, "Copy")
    lab.page.get_by_text("Copied.").wait_for()
    assert (
        lab.page.get_by_label("Colour", exact=True).input_value() == colour
        and lab.page.locator(".refinish-mix").is_visible()
    )


def test_a_reload_in_the_middle_of_a_pour_offers_the_cup(server, open_lab, notebook):
    lab = open_lab(server)
    begin(lab, notebook)
    pour(lab)
    asked(lab, "395.0 g")
    lab.open_notebook(notebook)
    lab.run_whole_lesson()
    button(lab, "Continue this cup").wait_for()
    assert "deep blue" in lab.page.locator(".refinish-say").inner_text()
    button(lab, "Continue this cup").click()
    asked(lab, "395.0 g")
    lab.page.wait_for_timeout(450)
    pour(lab)
    asked(lab, "467.5 g")


def test_an_old_figure_is_dimmed_until_the_new_one_stands_and_no_tap_counts_by_it(server, open_lab, notebook):
    lab = open_lab(server)
    begin(lab, notebook)
    page = lab.page
    asked(lab, "310.0 g")
    # A kernel that is slow to draw: a change of the amount takes two seconds.
    slow = "import time\nwas = sheet._draw\nsheet._draw = lambda: (time.sleep(2), was())"
    page.evaluate("() => document.querySelector('.jp-Notebook').focus?.()")
    page.locator(".jp-CodeCell .cm-content").last.click()
    page.keyboard.press("ControlOrMeta+A")
    page.keyboard.insert_text(slow)
    page.keyboard.press("Shift+Enter")
    lab.wait_idle()
    page.get_by_label("How much is wanted").fill("600 g")
    seen = page.evaluate(
        "() => [getComputedStyle(document.querySelector('.refinish-shown > *')).opacity, "
        "document.querySelector('.refinish-figure').innerText]"
    )
    assert float(seen[0]) < 0.7 and seen[1] == "310.0 g"
    button(lab, "Poured").click()
    asked(lab, "372.0 g")
    page.wait_for_timeout(2500)
    assert page.locator(".refinish-figure").inner_text() == "372.0 g", "a tap on the old figure poured by the new one"
    assert page.evaluate("getComputedStyle(document.querySelector('.refinish-shown > *')).opacity") == "1"


def test_paint_is_the_same_by_day_and_by_night_and_the_sheet_is_not(server, open_lab, notebook):
    seen = {}
    for theme in ("light", "dark"):
        lab = open_lab(server, theme)
        begin(lab, notebook)
        lab.page.set_viewport_size({"width": 1280, "height": 1500})
        lab.look(f"mix-sheet-{theme}")
        seen[theme] = lab.page.evaluate(
            """() => [
              [...document.querySelectorAll(".refinish-swatch")].map((one) => getComputedStyle(one).backgroundColor),
              getComputedStyle(document.querySelector(".refinish-mix")).backgroundColor,
              getComputedStyle(document.querySelector(".refinish-figure")).color,
            ]"""
        )
    assert seen["light"][0] == seen["dark"][0] and "rgb(0, 30, 103)" in seen["light"][0]
    assert seen["light"][1:] == ["rgb(251, 250, 246)", "rgb(37, 39, 42)"]
    assert seen["dark"][1:] == ["rgb(35, 37, 39)", "rgb(236, 235, 230)"]
