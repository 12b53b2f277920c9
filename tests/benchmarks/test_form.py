"""The answer form in a real browser, beside stock JupyterLab with the same notebook.

    pytest tests/benchmarks/test_form.py -n 0 --benchmark-enable -s

Three figures: from the address of a lesson to its first live widget; from a key in a field to the changed text; and the
longest task of the page while a lesson of 80 cells is scrolled from end to end.
"""

import itertools
import json

import nbformat
import pytest

pytestmark = [pytest.mark.browser, pytest.mark.deep]

LESSON = "lessons/mixing/mixing.ipynb"
LONG = "lessons/long.ipynb"
CELLS = 80
# A key in a field until the cell's text holds it and the next frame is drawn.
TYPE = """
async ([form, text]) => {
  const box = document.querySelectorAll(".refinish-form input[type=text]")[form];
  const model = window.model(box);
  const start = performance.now();
  box.value = text;
  box.dispatchEvent(new Event("input", { bubbles: true }));
  const changed = performance.now() - start;
  if (!model.source.includes(JSON.stringify(text))) throw Error("the text did not change");
  return changed;
}
"""
# The same text put into the same cell's editor, which is what stock offers.
EDIT = """
async (text) => {
  const cell = window.answerCell();
  const start = performance.now();
  const view = cell.editor.editor;
  view.dispatch({ changes: { from: 0, to: view.state.doc.length, insert: `own_g = "${text}"` } });
  const changed = performance.now() - start;
  if (!cell.model.sharedModel.source.includes(text)) throw Error("the text did not change");
  return changed;
}
"""
FIND = """
() => {
  const app = window.jupyterapp ?? window.jupyterlab;
  const panel = [...app.shell.widgets("main")].find((one) => one.content?.widgets);
  const cells = panel.content.widgets;
  window.answerCell = () => cells.find((cell) => cell.model.getMetadata("refinish")?.answer
    && cell.model.type === "code"
    && cell.model.sharedModel.source.includes("own_g"));
  window.model = (box) => cells.find((cell) => cell.node.contains(box)).model.sharedModel;
}
"""
# Stock draws only the cells in view, and runs nothing by itself.
RUN_ALL = """
() => {
  const app = window.jupyterapp ?? window.jupyterlab;
  const panel = app && [...app.shell.widgets("main")].find((one) => one.content?.widgets?.length);
  if (!panel?.sessionContext?.session?.kernel) return false;
  app.shell.activateById(panel.id);
  app.commands.execute("notebook:run-all-cells");
  return true;
}
"""
LOOK_THERE = """
() => {
  const app = window.jupyterapp ?? window.jupyterlab;
  const panel = [...app.shell.widgets("main")].find((one) => one.content?.widgets?.length);
  const at = panel.content.widgets.findIndex((cell) => cell.model.sharedModel.source.includes("MixSheet("));
  panel.content.scrollToItem(at, "center");
  return document.querySelector(".refinish-sheet svg") !== null;
}
"""
SCROLL = """
async () => {
  const tasks = [];
  const watcher = new PerformanceObserver((list) => tasks.push(...list.getEntries().map((one) => one.duration)));
  watcher.observe({ entryTypes: ["longtask"] });
  const box = document.querySelector(".jp-NotebookPanel:not(.lm-mod-hidden) .jp-WindowedPanel-outer");
  for (const way of [1, -1]) {
    for (let step = 0; step < 120; step++) {
      box.scrollBy(0, (way * box.scrollHeight) / 120);
      await new Promise(requestAnimationFrame);
    }
  }
  await new Promise((resolve) => setTimeout(resolve, 200));
  watcher.disconnect();
  return Math.max(0, ...tasks);
}
"""


@pytest.fixture(scope="module")
def places(tmp_path_factory, serve, new_lab):
    """The course opened with `refinish open`, and the same in a browser that never gets our extension."""
    from tests.conftest import copy_course

    folder = copy_course(tmp_path_factory.mktemp("speed"))
    (folder / ".local").mkdir()
    (folder / ".local/apprentice.json").write_text('{"id": "a07"}')
    lesson = nbformat.read(folder / LESSON, 4)
    cells = [cell for cell in lesson.cells if "solution" in cell.metadata.get("nbgrader", {})]
    long = nbformat.v4.new_notebook(metadata=lesson.metadata | {"refinish": {"lesson": "mixing"}})
    for number, cell in zip(range(CELLS), itertools.cycle(cells), strict=False):
        long.cells.append(nbformat.from_dict(json.loads(json.dumps(cell)) | {"id": f"c{number}"}))
    nbformat.write(long, folder / LONG)
    server = serve("open", folder=folder)
    labs = {"form": new_lab(server), "stock": new_lab(server)}
    labs["stock"].page.route("**/refinish-lab/**", lambda route: route.abort())
    return labs


def open_to_first_widget(lab) -> None:
    """From the address to the first live picture."""
    page = lab.page
    page.goto("about:blank")
    page.goto(f"http://localhost:{lab.server.port}/lab/tree/{LESSON}?token=browser-tests")
    page.locator(".refinish-sheet svg").first.wait_for()


def open_and_run_stock(lab) -> None:
    """The same in stock JupyterLab as quickly as anybody could: run all, and look where the picture will be."""
    page = lab.page
    page.goto("about:blank")
    page.goto(f"http://localhost:{lab.server.port}/lab/tree/{LESSON}?token=browser-tests")
    page.wait_for_function(RUN_ALL)
    page.wait_for_function(LOOK_THERE, polling=50)


@pytest.mark.parametrize("place", ["form", "stock"])
def test_opening_a_lesson_to_the_first_live_widget(benchmark, places, place):
    way = {"form": open_to_first_widget, "stock": open_and_run_stock}[place]
    benchmark.pedantic(way, (places[place],), rounds=5 if benchmark.enabled else 1)


@pytest.mark.parametrize("place", ["stock", "form"])
def test_typing_until_the_text_has_changed(benchmark, places, place):
    lab = places[place]
    lab.go(f"/lab/tree/{LESSON}")
    lab.see_notebook(LESSON)
    if place == "form":
        lab.page.locator(".refinish-form input[type=text]").nth(1).wait_for()
    lab.page.evaluate(FIND)
    spent = []

    def type_once(number: int) -> None:
        text = f"{number} g"
        spent.append(lab.page.evaluate(TYPE, [1, text]) if place == "form" else lab.page.evaluate(EDIT, text))

    for number in range(101, 104):  # warm
        type_once(number)
    spent.clear()
    numbers = itertools.count(104)
    benchmark.pedantic(lambda: type_once(next(numbers)), rounds=60 if benchmark.enabled else 3)
    print(
        f"\n{place}: typing to text changed, median {sorted(spent)[len(spent) // 2]:.2f} ms, most {max(spent):.2f} ms"
    )
    benchmark.extra_info |= {"median_ms": sorted(spent)[len(spent) // 2], "most_ms": max(spent)}


@pytest.mark.parametrize("place", ["stock", "form"])
def test_scrolling_a_lesson_of_eighty_cells(benchmark, places, place):
    lab = places[place]
    lab.open_notebook(LONG)
    lab.page.wait_for_timeout(1500)
    longest = []
    benchmark.pedantic(lambda: longest.append(lab.page.evaluate(SCROLL)), rounds=5 if benchmark.enabled else 1)
    print(f"\n{place}: longest task while scrolling {CELLS} cells {max(longest):.0f} ms (0: none above 50 ms)")
    benchmark.extra_info |= {"longest_task_ms": max(longest)}
