"""`refinish open`: ready for someone who has never seen JupyterLab."""

import contextlib
import http.client
import json
import time
import urllib.request
from concurrent.futures import ThreadPoolExecutor

import pytest

from refinishlib.course import lessons

pytestmark = [pytest.mark.browser]

TITLE = lessons.record("mixing").title
LESSON = "lessons/mixing/mixing.ipynb"


@pytest.fixture(scope="module")
def teaching(serve):
    """The same course at the instructor's desk."""
    return serve("open", "--teach")


def test_an_apprentice_lands_on_the_start_page(lab):
    lab.go()
    lab.settle()
    page = lab.page
    assert page.locator(".refinish-start h1").inner_text() == "Refinishing by numbers"
    dark = page.evaluate("document.body.dataset.jpThemeLight") == "false"
    assert dark == page.evaluate("matchMedia('(prefers-color-scheme: dark)').matches")
    for out_of_sight in ("#jp-left-stack", "#jp-right-stack", "#jp-MainMenu", ".jp-SideBar", ".lm-TabBar-addButton"):
        assert not page.locator(out_of_sight).first.is_visible(), out_of_sight
    assert page.locator("#jp-main-dock-panel .lm-TabBar-tab").all_inner_texts() == ["Start"]
    card = page.locator(".refinish-start-lesson", has_text=TITLE)
    record = lessons.record("mixing")
    for said in (record.good_for, f"{record.minutes} minutes"):
        assert said in card.inner_text()
    lab.look(f"start-{'dark' if dark else 'light'}")


def test_without_an_answer_from_the_server_the_start_page_says_so_and_tries_again(fresh, new_lab):
    lab = new_lab(fresh)
    page = lab.page
    page.route("**/refinish/lessons*", lambda route: route.abort())
    lab.go()
    page.get_by_text("The server does not answer").wait_for()
    assert page.locator(".refinish-start h1").inner_text() == "Refinishing by numbers"
    page.unroute_all()
    page.get_by_role("button", name="Try again").click()
    lab.settle()
    page.context.close()


def test_the_id_is_asked_once_and_kept_for_the_courses_folder(fresh, open_lab):
    lab = open_lab(fresh)
    lab.go()
    lab.settle()
    page = lab.page
    page.get_by_role("button", name=f"Begin: {TITLE}").click()
    page.get_by_text("First type your id").wait_for()
    page.get_by_label("Your id").fill("../x")
    page.keyboard.press("Enter")
    page.get_by_text('Your id: "../x" was given').wait_for()
    assert page.get_by_label("Your id").input_value() == "../x"
    lab.complaints.clear()  # the browser notes each refusal
    page.get_by_label("Your id").fill(" A07 ")
    page.get_by_role("button", name="Remember it").click()
    page.get_by_text("You are a07").wait_for()

    # Another day, another browser: known, and a lesson opens set up and running.
    lab.next_day()
    lab = open_lab(fresh)
    lab.go()
    lab.settle()
    lab.page.get_by_text("You are a07").wait_for()
    lab.page.get_by_role("button", name=f"Begin: {TITLE}").click()
    lab.see_notebook(LESSON)
    lab.cell("card-1-1").get_by_text("for a07").wait_for()
    assert 'my_id = "a07"' in json.dumps(lab.save()).replace('\\"', '"')


def test_a_lesson_that_somebody_else_began_asks_before_it_changes_hands(fresh, open_lab):
    course = fresh.course
    notebook = json.loads((course / LESSON).read_text("utf-8"))
    [cell] = [c for c in notebook["cells"] if c["metadata"]["nbgrader"]["grade_id"] == "answer-my-id"]
    cell["source"] = 'my_id = "b03"\n'
    (course / LESSON).write_text(json.dumps(notebook))
    (course / ".local/apprentice.json").write_text('{"id": "a07"}')
    lab = open_lab(fresh)
    lab.open_notebook(LESSON)
    lab.cell("card-1-1").get_by_text("for b03").wait_for()
    lab.page.get_by_role("button", name="Make it mine (a07)").click()
    lab.cell("card-1-1").get_by_text("for a07").wait_for()


def test_a_lesson_has_few_buttons_and_nothing_to_break_it_with(fresh, open_lab):
    lab = open_lab(fresh)
    lab.open_notebook(LESSON)
    lab.page.locator(".refinish-form").first.wait_for()
    toolbar = lab.page.locator(".jp-NotebookPanel-toolbar")
    seen = toolbar.locator("[data-jp-item-name]:visible").evaluate_all("all => all.map(one => one.dataset.jpItemName)")
    assert set(seen) <= {"refinish-hand-in", "run-the-whole-lesson", "save", "restart", "spacer", "executionProgress"}
    assert toolbar.get_by_role("button", name="Hand in").is_visible()
    cells = lab.page.locator(".jp-Notebook .jp-Cell").count()
    lab.page.locator(".jp-Notebook .jp-MarkdownCell").first.click()
    for key in "ddxvabm":
        lab.page.keyboard.press(key)
    assert lab.page.locator(".jp-Notebook .jp-Cell").count() == cells

    # For an instructor who stands beside: one click, and one click back.
    lab.page.get_by_role("tab", name="Start").click()
    lab.page.get_by_role("button", name="For the instructor").click()
    assert lab.page.locator("#jp-MainMenu").is_visible()
    lab.page.get_by_role("tab", name="mixing.ipynb").click()
    lab.cell("check-1-1").wait_for()
    lab.page.get_by_role("tab", name="Start").click()
    lab.page.get_by_role("button", name="Hide menus").click()
    assert not lab.page.locator("#jp-MainMenu").is_visible()


@pytest.mark.deep
def test_opening_a_hand_in_runs_nothing_and_shows_its_workings_at_one_click(fresh, teaching, open_lab):
    course = fresh.course
    trap = course / "ran.txt"
    notebook = json.loads((course / LESSON).read_text("utf-8"))
    notebook["metadata"]["refinish"]["handed_in"] = "2030-01-01T10:00:00+00:00"
    for cell in notebook["cells"]:
        if cell["cell_type"] == "code":
            cell["source"] = f"open({str(trap)!r}, 'w').write('ran')"
    folder = course / "submitted/a07/mixing"
    folder.mkdir(parents=True)
    for path in (folder / "mixing.ipynb", course / LESSON):
        path.write_text(json.dumps(notebook))

    lab = open_lab(teaching)
    lab.go()
    lab.settle()
    assert lab.page.get_by_label("Your id").count() == 0
    for path in ("submitted/a07/mixing/mixing.ipynb", LESSON):
        lab.open_notebook(path)
        lab.cell("answer-1-1").locator(".refinish-form").wait_for()
        lab.page.wait_for_timeout(2000)
    assert not trap.exists()
    assert not lab.cell("check-1-1").is_visible()
    lab.page.get_by_role("button", name="Show the workings").click()
    assert lab.cell("check-1-1").is_visible()

    # Nor at the apprentice's desk.
    lab = open_lab(fresh)
    lab.open_notebook(LESSON)
    lab.page.locator(".refinish-form").first.wait_for()
    lab.page.wait_for_timeout(2000)
    assert not trap.exists()


def test_an_instructor_keeps_nbgraders_tabs(fresh, teaching, open_lab):
    lab = open_lab(teaching)
    lab.go()
    lab.settle()
    lab.page.locator(".lm-MenuBar-itemLabel", has_text="Nbgrader").click()
    tabs = set(lab.page.locator(".lm-Menu-itemLabel").all_inner_texts())
    assert {"Assignment List", "Create assignment", "Formgrader"} <= tabs
    lab.page.locator(".lm-Menu-itemLabel", has_text="Formgrader").first.click()
    grader = lab.page.frame_locator("iframe[src*=formgrader]")
    grader.get_by_role("link", name="mixing").wait_for()
    lab.look("formgrader")


def test_ctrl_c_ends_it_while_pages_still_ask_for_files(serve):
    server = serve("open")
    where = f"http://localhost:{server.port}/api/contents/{LESSON}?content=1"
    request = urllib.request.Request(where, headers={"Authorization": "token browser-tests"})

    def ask():
        while server.process.poll() is None:
            with contextlib.suppress(OSError, http.client.HTTPException), urllib.request.urlopen(request) as answer:
                answer.read()

    with ThreadPoolExecutor(6) as pages:
        for _ in range(6):
            pages.submit(ask)
        time.sleep(2)
        server.stop()  # fails where it does not end
