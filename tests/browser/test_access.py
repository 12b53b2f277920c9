"""Forms, start page and hand-in for everyone: names, targets, contrast, by axe-core and by looking at what is there."""

import json

import pytest
from axe_playwright_python.sync_playwright import Axe

from refinishlib.course import lessons

pytestmark = [pytest.mark.browser]

LESSON = "lessons/mixing/mixing.ipynb"
OURS = ".refinish-start, .refinish-form, .refinish-talk, .refinish-lesson-bar, .refinish-tool, .refinish-sheet"
OPTIONS = {"resultTypes": ["violations"], "preload": False}  # style sheets are the page's own
SIZES = {
    "wide": {"viewport": {"width": 1280, "height": 800}},
    "phone": {"viewport": {"width": 390, "height": 844}, "has_touch": True},
}
# Ways to a control that is hit with a finger; a word within a line of text is none.
CONTROLS = (
    ":is(.refinish-form, .refinish-start, .refinish-talk) :is(button, input[type=text], textarea, .refinish-form-pick)"
)


def serious(page) -> list[str]:
    """What axe-core finds serious or critical in what is ours."""
    here = [one.strip() for one in OURS.split(",") if page.locator(one.strip()).count()]
    found = Axe().run(page, {"include": [[one] for one in here]}, OPTIONS).response["violations"]
    return [
        f"{one['id']}: {node['html'][:120]} {node.get('failureSummary', '')[:200]}"
        for one in found
        if one["impact"] in ("serious", "critical")
        for node in one["nodes"]
    ]


NAMELESS = """all => all.filter((it) => {
  const labels = [...(it.labels ?? [])].map((one) => one.textContent);
  const ids = (it.getAttribute("aria-labelledby") ?? "").split(" ");
  const by = ids.map((id) => document.getElementById(id)?.textContent);
  const own = it.tagName === "BUTTON" ? it.textContent : "";
  return ![it.getAttribute("aria-label"), ...by, ...labels, own].join("").trim();
}).map((it) => it.outerHTML)"""
TOO_SMALL = """all => all.filter((it) => it.checkVisibility()).map((it) => [it.getBoundingClientRect(), it.outerHTML])
  .filter(([box]) => box.height < 44 || box.width < 44)
  .map(([box, it]) => `${box.width} x ${box.height}: ${it.slice(0, 100)}`)"""


def nameless(page) -> list[str]:
    """Fields without an accessible name."""
    return page.locator(":is(.refinish-form, .refinish-start) :is(input, textarea, button)").evaluate_all(NAMELESS)


def too_small(page) -> list[str]:
    """Controls that a finger misses."""
    return page.locator(CONTROLS).evaluate_all(TOO_SMALL)


def one_of_each_kind(notebook) -> dict[str, tuple[str, str]]:
    """For each kind of field in a lesson, the cell where the first of it stands, and its name."""
    found: dict[str, tuple[str, str]] = {}
    for cell in json.loads(notebook.read_text("utf-8"))["cells"]:
        for field in cell["metadata"].get("refinish", {}).get("answer", []):
            found.setdefault(field["kind"], (cell["metadata"]["nbgrader"]["grade_id"], field["name"]))
    return found


@pytest.mark.parametrize(
    "theme, size",
    [
        ("light", "wide"),
        ("dark", "phone"),
        pytest.param("dark", "wide", marks=pytest.mark.deep),
        pytest.param("light", "phone", marks=pytest.mark.deep),
    ],
)
def test_start_page_lesson_and_hand_in_are_for_everyone(fresh, open_lab, theme, size):
    lab = open_lab(fresh, theme, **SIZES[size])
    page = lab.page
    lab.go()
    lab.settle()
    seen = {"start": (serious(page), nameless(page), too_small(page))}
    page.get_by_label("Your id").fill("a07")
    page.get_by_role("button", name="Remember it").click()
    page.get_by_text("You are a07").wait_for()
    page.get_by_role("button", name=f"Begin: {lessons.record('mixing').title}").click()
    lab.see_notebook(LESSON)
    page.locator(".refinish-form").nth(5).wait_for()
    lab.see_lesson_run()
    kinds = one_of_each_kind(lab.notebook)
    number, field = kinds["number"]
    lab.fill(number, {field: "seven"})
    lab.form(number).get_by_role("button", name="Check my entry").click()
    lab.form(number).locator("[aria-invalid]").wait_for()
    assert len(kinds) >= 5
    for cell, _ in kinds.values():
        lab.form(cell)
        lab.look(f"{cell}-{theme}-{size}")
        seen[cell] = (serious(page), nameless(page), too_small(page))
    # Nothing is wider than the screen.
    assert (
        page.locator(".refinish-form").evaluate_all(
            "all => all.filter(it => it.scrollWidth > it.clientWidth + 1).length"
        )
        == 0
    )
    page.locator(".jp-NotebookPanel").get_by_role("button", name="Hand in").first.click()
    page.get_by_role("dialog").wait_for()
    lab.look(f"hand-in-{theme}-{size}")
    seen["hand-in"] = (serious(page), nameless(page), too_small(page))
    assert seen == dict.fromkeys(seen, ([], [], []))


def test_each_question_has_one_legend_and_each_field_one_label(fresh, open_lab):
    lab = open_lab(fresh)
    lab.open_notebook(LESSON)
    lab.page.locator(".refinish-form").nth(5).wait_for()
    cells = [one for one in json.loads(lab.notebook.read_text("utf-8"))["cells"] if "refinish" in one["metadata"]]
    forms = lab.page.locator(".refinish-form:has(fieldset)")
    assert forms.count() == len(cells)
    for form in forms.all():
        assert form.locator("fieldset > legend").count() == form.locator("legend").count() == 1
    labels = lab.page.locator(".refinish-form-label").all_text_contents()
    assert labels == [field["label"] for cell in cells for field in cell["metadata"]["refinish"]["answer"]]
