"""`refinish open`: ready for someone who has never seen JupyterLab."""

import pytest

pytestmark = [pytest.mark.browser]


def test_an_apprentice_lands_on_the_start_page(lab):
    lab.go()
    page = lab.page
    page.wait_for_selector(".jp-MarkdownViewer h1")
    assert page.locator(".jp-MarkdownViewer h1").inner_text() == "Refinishing by numbers"
    dark = page.evaluate("document.body.dataset.jpThemeLight") == "false"
    assert dark == page.evaluate("matchMedia('(prefers-color-scheme: dark)').matches")
    assert not page.locator("#jp-left-stack").is_visible()
    assert not page.locator("#jp-right-stack").is_visible()
    assert page.locator(".lm-MenuBar-itemLabel", has_text="Nbgrader").count() == 0
    assert page.locator("#jp-main-dock-panel .lm-TabBar-tab").count() == 1
    lab.look(f"start-{'dark' if dark else 'light'}")


def test_a_lesson_has_one_labelled_button_and_nothing_to_break_it_with(server, open_lab):
    lab = open_lab(server)
    lab.go()
    lab.settle()
    lab.page.locator(".jp-MarkdownViewer a", has_text="Mixing a colour by weight").click()
    lab.see_notebook("lessons/mixing/mixing.ipynb")
    toolbar = lab.page.locator(".jp-NotebookPanel-toolbar")
    assert toolbar.inner_text().split("\n") == ["Run the whole lesson"]
    seen = toolbar.locator("[data-jp-item-name]:visible").evaluate_all(
        "all => all.map(item => item.dataset.jpItemName)"
    )
    assert set(seen) <= {
        "run-the-whole-lesson",
        "save",
        "run-and-check",
        "interrupt",
        "restart",
        "spacer",
        "executionProgress",
    }
    lab.page.locator(".jp-CodeCell").first.click()
    assert lab.page.locator(".jp-cell-toolbar").count() == 0
    cells = lab.page.locator(".jp-Notebook .jp-Cell").count()
    lab.page.locator(".jp-Notebook .jp-MarkdownCell").first.click()
    for key in "ddxvabm":
        lab.page.keyboard.press(key)
    assert lab.page.locator(".jp-Notebook .jp-Cell").count() == cells


def test_an_instructor_keeps_nbgraders_tabs(serve, open_lab):
    lab = open_lab(serve("open", "--teach"))
    lab.go()
    lab.settle()
    lab.page.locator(".lm-MenuBar-itemLabel", has_text="Nbgrader").click()
    tabs = set(lab.page.locator(".lm-Menu-itemLabel").all_inner_texts())
    assert {"Assignment List", "Create assignment", "Formgrader"} <= tabs
    lab.page.locator(".lm-Menu-itemLabel", has_text="Formgrader").first.click()
    grader = lab.page.frame_locator("iframe[src*=formgrader]")
    grader.get_by_role("link", name="mixing").wait_for()
    lab.look("formgrader")


def test_a_painter_finds_the_calculators_running(serve, open_lab):
    lab = open_lab(serve("bench"))
    lab.go()
    lab.page.wait_for_selector(".refinish-sheet h3")
    assert lab.page.locator(".refinish-sheet h3").all_inner_texts() == ["Mix sheet"]
    assert not lab.page.locator(".jp-CodeCell .cm-editor").first.is_visible()
    lab.look("bench")
