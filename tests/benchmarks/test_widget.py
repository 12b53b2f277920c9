"""From a change in a calculator's field to the new picture in a real browser.

Measured inside the page: a text is entered, and the clock stops at the frame after what it changes has changed.
Floor: a label that repeats the text. Plain way: ipywidgets' interactive_output with a matplotlib figure.
"""

import itertools

import nbformat
import pytest

pytestmark = [pytest.mark.browser, pytest.mark.deep]

CELLS = {
    "label": """
import ipywidgets as widgets
entry, shown = widgets.Text("300 g"), widgets.Label("300 g")
entry.observe(lambda change: setattr(shown, "value", change.new), "value")
widgets.VBox([entry, shown]).add_class("bench-label")
""",
    "calculator": """
from refinishlib.bench.mix_sheet import MixSheet
MixSheet().add_class("bench-calculator")
""",
    "matplotlib": """
import matplotlib.pyplot as plt
plain = widgets.Text("300 g")
def draw(text):
    plt.barh(["white", "red", "black"], [float(text[:3]), 2 * float(text[:3]), 50])
    plt.show()
widgets.VBox([plain, widgets.interactive_output(draw, {"text": plain})]).add_class("bench-matplotlib")
""",
}
# What must be another than before, for each of them.
SHOWS = {
    "label": "box => box.querySelector(':scope > .widget-label').textContent",
    "calculator": "box => box.querySelector('.refinish-part-drawing svg').outerHTML",
    "matplotlib": "box => box.querySelector('.jp-OutputArea img')?.src",
}
CHANGE = """
async ([name, shows, text]) => {
  const box = document.querySelector(`.bench-${name}`);
  const entry = box.querySelector("input[type=text]");
  const look = eval(shows);
  const before = look(box);
  const drawn = new Promise((resolve, reject) => {
    setTimeout(() => reject(Error("nothing changed")), 20000);
    const watcher = new MutationObserver(() => {
      const now = look(box);
      if (!now || now === before) return;
      watcher.disconnect();
      requestAnimationFrame(resolve);
    });
    watcher.observe(box, { childList: true, subtree: true, characterData: true, attributes: true });
  });
  entry.value = text;
  entry.dispatchEvent(new Event("input", { bubbles: true }));
  await drawn;
}
"""


@pytest.fixture(scope="module")
def running(course, server, new_lab):
    """The three of them on one page, in a kernel of their own."""
    kernel = {"name": "python3", "display_name": "Python 3 (ipykernel)", "language": "python"}
    cells = [nbformat.v4.new_code_cell(cell) for cell in CELLS.values()]
    nbformat.write(
        nbformat.v4.new_notebook(cells=cells, metadata={"kernelspec": kernel}), course / "lessons/speed.ipynb"
    )
    lab = new_lab(server)
    lab.open_notebook("lessons/speed.ipynb")
    lab.run_whole_lesson()
    lab.page.wait_for_selector(".bench-matplotlib img")
    return lab


@pytest.mark.parametrize("name", CELLS)
def test_a_change_until_it_shows(benchmark, running, name):
    amounts = itertools.cycle(range(301, 400))

    def change() -> None:
        running.page.evaluate(CHANGE, [name, SHOWS[name], f"{next(amounts)} g"])

    def rest() -> None:
        running.page.wait_for_timeout(60)

    benchmark.pedantic(change, setup=rest, rounds=40, warmup_rounds=3)
    assert running.page.locator(f".bench-{name} input[type=text]").first.input_value().startswith("3")
