"""From an address to the first changed picture of the mix sheet, the bench's page beside stock Voilà, in one run.

Both serve the same calculator, both keep kernels ready. Voilà gets an environment of its own, made here from the
package index, since it brings older parts of JupyterLab. Where benchmarks are not enabled, nothing is run.

Beside it: from a change to the new picture, for every calculator; ten mix sheets changing at once; memory of a page.
"""

import json
import os
import socket
import statistics
import subprocess
import sys
import time
import urllib.request

import nbformat
import psutil
import pytest

from refinishlib.bench.registry import CALCULATORS
from tests.conftest import ROOT, TOKEN, copy_course

pytestmark = [pytest.mark.browser, pytest.mark.deep]
CALCULATOR = "from refinishlib.bench.mix_sheet import MixSheet\nMixSheet(remember=False)"
CHANGED = """
async (text) => {
  const look = () => document.querySelector(".refinish-part-drawing svg")?.outerHTML;
  while (!look()) await new Promise(requestAnimationFrame);
  const before = look();
  const entry = [...document.querySelectorAll(".refinish-settings input[type=text]")][0];
  entry.value = text;
  entry.dispatchEvent(new Event("input", { bubbles: true }));
  while (look() === before) await new Promise(requestAnimationFrame);
}
"""


@pytest.fixture(scope="module", autouse=True)
def only_when_enabled(request):
    if request.config.getoption("benchmark_disable") and not request.config.getoption("benchmark_enable"):
        pytest.skip("makes an environment for Voilà and takes minutes; run when benchmarks are enabled")


@pytest.fixture(scope="module")
def bench(serve, tmp_path_factory):
    return serve("bench", folder=copy_course(tmp_path_factory.mktemp("bench")))


@pytest.fixture(scope="module")
def voila(tmp_path_factory):
    """A stock Voilà that serves one notebook with the calculator, kernels preheated; its address."""
    room = tmp_path_factory.mktemp("voila")
    python = os.environ.get("REFINISH_VOILA")  # an environment that has it already
    if not python:
        subprocess.run([sys.executable, "-m", "venv", room / "env"], check=True)
        python = str(room / "env/bin/python")
        subprocess.run([python, "-m", "pip", "install", "-q", "voila>=0.5", "-e", ROOT], check=True)
    kernel = {"name": "python3", "display_name": "Python 3", "language": "python"}
    cells = [nbformat.v4.new_code_cell(CALCULATOR)]
    nbformat.write(nbformat.v4.new_notebook(cells=cells, metadata={"kernelspec": kernel}), room / "mix.ipynb")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    heat = {"preheat_kernel": True, "kernel_pools_config": {"default": {"pool_size": 2}}}
    (room / "voila.json").write_text(json.dumps({"VoilaConfiguration": heat}))
    words = ["-m", "voila", "mix.ipynb", "--no-browser", f"--port={port}", "--preheat_kernel=True"]
    with (room / "log").open("w") as log:
        running = subprocess.Popen([python, *words], cwd=room, stdout=log, stderr=log)
        for _ in range(300):
            try:
                urllib.request.urlopen(f"http://localhost:{port}/", timeout=60).close()
                break
            except OSError:
                time.sleep(0.2)
        yield f"http://localhost:{port}/"
        running.terminate()
        running.wait(30)


def visit(page, address: str, amount: int) -> float:
    begun = time.perf_counter()
    page.goto(address, wait_until="commit")
    page.locator(".refinish-part-drawing svg").wait_for()
    if "/refinish/" in address:
        page.locator("html[data-refinish-ready=yes]").wait_for()
    page.evaluate(CHANGED, f"{amount} g")
    return time.perf_counter() - begun


def test_first_and_second_visit_beside_stock_voila(bench, voila, chromium, capsys):
    addresses = {"ours": f"http://localhost:{bench.port}/refinish/mix", "stock": voila}
    first = {name: [] for name in addresses}
    second = {name: [] for name in addresses}
    for turn in range(6):
        for name, address in addresses.items():
            time.sleep(4)  # the pool fills up again
            context = chromium.new_context()
            page = context.new_page()
            page.goto(f"http://localhost:{bench.port}/refinish/shop?token={TOKEN}")
            taken = visit(page, address, 300 + 2 * turn)
            time.sleep(4)
            again = visit(page, address, 301 + 2 * turn)
            if turn:  # the first turn warms files and compilers
                first[name].append(taken)
                second[name].append(again)
            context.close()
    for what, found in (("first", first), ("second", second)):
        ours, stock = (statistics.median(found[name]) for name in ("ours", "stock"))
        with capsys.disabled():
            print(f"\n{what} visit: ours {ours:.2f} s, stock Voilà {stock:.2f} s, ratio {ours / stock:.2f}")
        assert ours < stock


TURN = """
async () => {
  const look = () => [...document.querySelectorAll(".refinish-shown")].map((one) => one.innerHTML).join();
  const field = [...document.querySelectorAll(".refinish-settings select")].find((one) => one.options.length > 1);
  const begun = performance.now();
  const before = look();
  field.selectedIndex = (field.selectedIndex + 1) % Math.min(field.options.length, 3);
  field.dispatchEvent(new Event("change", { bubbles: true }));
  while (look() === before && performance.now() - begun < 20000) await new Promise(requestAnimationFrame);
  return performance.now() - begun;
}
"""


def test_a_change_until_the_new_picture_and_the_memory_of_a_page(bench, chromium, capsys):
    page = chromium.new_context().new_page()
    page.goto(f"http://localhost:{bench.port}/refinish/shop?token={TOKEN}")
    for one in CALCULATORS:
        page.goto(f"http://localhost:{bench.port}/refinish/{one.key}")
        page.locator("html[data-refinish-ready=yes]").wait_for()
        page.wait_for_timeout(1500)
        took = [page.evaluate(TURN) for _ in range(9)]
        server = psutil.Process(bench.process.pid)
        kernels = sorted(child.memory_info().rss / 1e6 for child in server.children(recursive=True))
        with capsys.disabled():
            print(
                f"\n{one.key}: first {took[0]:.0f} ms, then {statistics.median(took[3:]):.0f} ms; {kernels[-1]:.0f} MB"
            )
    page.context.close()


def test_ten_mix_sheets_changing_at_once(bench, chromium, capsys):
    context = chromium.new_context()
    pages = []
    for _ in range(10):
        page = context.new_page()
        page.goto(f"http://localhost:{bench.port}/refinish/mix?token={TOKEN}")
        page.locator("html[data-refinish-ready=yes]").wait_for()
        pages.append(page)
    many = """
    async () => {
      const look = () => document.querySelector(".refinish-part-drawing svg").outerHTML;
      const entry = document.querySelector(".refinish-settings input[type=text]");
      window.took = [];
      for (let turn = 0; turn < 12; turn += 1) {
        const before = look(), begun = performance.now();
        entry.value = `${320 + turn} g`;
        entry.dispatchEvent(new Event("input", { bubbles: true }));
        while (look() === before && performance.now() - begun < 10000) await new Promise((go) => setTimeout(go, 4));
        window.took.push(performance.now() - begun);
        await new Promise((go) => setTimeout(go, 250));
      }
    }
    """
    for page in pages:
        page.evaluate(f"() => {{ ({many})() }}")
    pages[0].wait_for_timeout(9000)
    took = sorted(ms for page in pages for ms in page.evaluate("window.took"))
    with capsys.disabled():
        slow = took[int(len(took) * 0.95)]
        print(f"\nten at once: median {statistics.median(took):.0f} ms, one of twenty above {slow:.0f} ms")
    context.close()
