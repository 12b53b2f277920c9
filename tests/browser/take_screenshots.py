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
WHOLE = {"width": 900, "height": 1960}
PHONE = {"width": 390, "height": 2500}


def main() -> None:
    tests = Path(__file__).parents[1]
    sys.path[:0] = [str(tests), str(tests / "shared"), str(tests / "browser")]
    import nbformat
    import test_form
    from conftest import CHROMIUM, FLAGS, TOKEN, Lab, Server, copy_course
    from playwright.sync_api import sync_playwright

    from refinishlib.bench.registry import CALCULATORS
    from refinishlib.course import lessons

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
        shown.begin("a07", lessons.record("mixing").title, "lessons/mixing/mixing.ipynb")
        shown.fill("answer-1-1", {"own_g": "34,2 g"})
        shown.form("answer-1-1").get_by_role("button", name="Check my entry").click()
        shown.form("answer-1-1").get_by_text("Read as").wait_for()
        shown.page.evaluate("cell => cell.scrollIntoView()", shown.cell("text-1-1").element_handle())
        take(shown, "lesson")

        # Every kind of field, by day, by night, on a phone; the sheet is as high as all of them.
        for name, size, theme in (
            ("form-light", WHOLE, "light"),
            ("form-dark", WHOLE, "dark"),
            ("form-phone", PHONE, "light"),
        ):
            path = f"lessons/{name}.ipynb"
            nbformat.write(test_form.form_notebook(), course / path)
            server.clear_desk()
            shown = Lab(browser.new_context(viewport=size, color_scheme=theme).new_page(), server)
            shown.open_notebook(path)
            shown.page.locator(".refinish-form").nth(1).wait_for()
            test_form.fill_every_kind(shown.page)
            shown.page.get_by_role("textbox", name="Own weight").blur()
            take(shown, name)
        server.stop()

        room = Path(folder) / "class"
        command = [Path(sys.executable).parent / "refinish", "demo-class", "--no-open", "--to", room]
        subprocess.run(command, cwd=course, check=True, stdout=subprocess.DEVNULL)
        page = browser.new_page(viewport=SIZE)
        page.goto((room / "report" / "report.html").as_uri())
        page.screenshot(path=FOLDER / "report.png")
        page.close()

        server = Server(course, "bench")
        for theme, width in (("light", 1280), ("dark", 390)):
            page = browser.new_page(viewport={"width": width, "height": 844}, color_scheme=theme)
            page.goto(f"http://localhost:{server.port}/refinish?all&token={TOKEN}")
            page.screenshot(path=FOLDER / f"bench-{theme}.png")
            for one in CALCULATORS:
                page.goto(f"http://localhost:{server.port}/refinish/{one.key}")
                page.locator(".refinish-sheet").wait_for()
                page.wait_for_timeout(1000)
                page.screenshot(path=FOLDER / f"bench-{one.key}-{theme}.png", full_page=True)
            page.close()
        server.stop()
        browser.close()


if __name__ == "__main__":
    main()
