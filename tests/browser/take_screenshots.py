"""Take the README's pictures again, from the running product.

    .venv/bin/python tests/browser/take_screenshots.py

It starts `refinish` on a copy of the course as the browser tests do, and writes into tests/browser/screenshots/.
"""

import subprocess
import sys
import tempfile
from pathlib import Path

FOLDER = Path(__file__).parent / "screenshots"
SIZE = {"width": 1200, "height": 780}


def main() -> None:
    tests = Path(__file__).parents[1]
    sys.path[:0] = [str(tests), str(tests / "shared")]
    from conftest import CHROMIUM, FLAGS, Lab, Server, copy_course
    from playwright.sync_api import sync_playwright

    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        course = copy_course(Path(folder))
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)

        def lab(server: Server) -> Lab:
            return Lab(browser.new_context(viewport=SIZE, color_scheme="light").new_page(), server)

        def take(shown: Lab, name: str) -> None:
            shown.page.wait_for_timeout(1000)  # let pictures and fonts come to rest
            shown.page.screenshot(path=FOLDER / f"{name}.png")
            shown.assert_no_complaints()
            shown.page.context.close()

        server = Server(course, "open")
        shown = lab(server)
        shown.go()
        shown.settle()
        take(shown, "start")

        shown = lab(server)
        shown.open_notebook("lessons/mixing/mixing.ipynb")
        shown.answer("answer-my-id", my_id='"a07"')
        shown.run_whole_lesson()
        shown.answer("answer-1-1", own_g='"34.2 g"')
        shown.page.keyboard.press("Shift+Enter")
        shown.wait_idle()
        shown.page.evaluate("cell => cell.scrollIntoView()", shown.cell("text-1-1").element_handle())
        take(shown, "lesson")
        server.stop()

        room = Path(folder) / "class"
        command = [Path(sys.executable).parent / "refinish", "demo-class", "--no-open", "--to", room]
        subprocess.run(command, cwd=course, check=True, stdout=subprocess.DEVNULL)
        page = browser.new_page(viewport=SIZE)
        page.goto((room / "report" / "report.html").as_uri())
        page.screenshot(path=FOLDER / "report.png")
        page.close()

        server = Server(course, "bench")
        shown = lab(server)
        shown.go()
        shown.page.wait_for_selector(".refinish-sheet svg")
        shown.page.get_by_role("button", name="Poured").click()
        shown.page.get_by_role("button", name="Undo").wait_for()
        take(shown, "bench")
        server.stop()
        browser.close()


if __name__ == "__main__":
    main()
