"""The answer form in real JupyterLab: every kind of field, beside the text that is the only truth."""

import ast
import itertools
import json
import re

import nbformat
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refinishlib.course.answers import read_cell

pytestmark = [pytest.mark.browser]

NUMBERS = itertools.count()
TOKEN = "browser-tests"
TASKS = ["stir the toners", "tare the cup", "pour", "stir the mix"]
FIELDS = [
    {"kind": "number", "name": "own_g", "label": "Own weight", "unit": "g"},
    {
        "kind": "choice",
        "name": "rescue",
        "label": "What do you do?",
        "options": ["accept it", "pour it away", "rescue it"],
    },
    {
        "kind": "choice",
        "name": "rescue_reason",
        "label": "Why?",
        "options": ["the cup is full", "the eye sees it", "the scale cannot show it", "time is short"],
        "reason_for": "rescue",
    },
    {"kind": "chosen", "name": "panels", "label": "Which panels get colour?", "options": ["bonnet", "door", "wing"]},
    {"kind": "order", "name": "order", "label": "Order of work", "tasks": TASKS},
    {
        "kind": "table",
        "name": "readings_g",
        "label": "Readings",
        "rows": ["toner 1 on your card", "toner 2 on your card", "toner 3 on your card"],
        "unit": "g",
    },
    {"kind": "text", "name": "variant", "label": "Variant", "longest": 40},
]
TEXT = "# Type your answers after the = signs.\n" + "".join(f"{one['name']} = ...  # {one['kind']}\n" for one in FIELDS)
WRITTEN = {"kind": "written", "name": "why", "label": "Say why"}


def form_notebook(text=TEXT, fields=FIELDS, check="print('checked', own_g)"):
    """A notebook with one form of every kind, which the server knows no lesson for."""
    kernel = {"kernelspec": {"name": "python3", "display_name": "Python 3 (ipykernel)", "language": "python"}}
    solution = {"schema_version": 3, "grade": False, "solution": True, "locked": False, "task": False}
    locked = {"schema_version": 3, "grade": True, "solution": False, "locked": True, "task": False, "points": 1}
    cells = [
        nbformat.v4.new_markdown_cell("# Every kind of field"),
        nbformat.v4.new_code_cell(
            text, metadata={"refinish": {"answer": fields}, "nbgrader": solution | {"grade_id": "answer-0"}}
        ),
        nbformat.v4.new_code_cell(
            check,
            metadata={"jupyter": {"source_hidden": True}, "nbgrader": locked | {"grade_id": "check-0"}},
        ),
        nbformat.v4.new_markdown_cell(
            "*Write your answer here.*",
            metadata={
                "refinish": {"answer": [WRITTEN]},
                "nbgrader": solution | {"grade": True, "grade_id": "why", "points": 1},
            },
        ),
    ]
    return nbformat.v4.new_notebook(cells=cells, metadata=kernel)


@pytest.fixture
def sheet(course, server, open_lab):
    """The notebook with every kind of field, opened afresh."""

    labs = []

    def opened(text=TEXT, fields=FIELDS, check="print('checked', own_g)", **more):
        for before in labs:
            before.leave()
        # A kernel of its own for each: one that was used before still speaks of what the last page had open.
        path = f"lessons/every_kind_{next(NUMBERS)}.ipynb"
        nbformat.write(form_notebook(text, fields, check), course / path)
        lab = open_lab(server, **more)
        labs.append(lab)
        lab.open_notebook(path)
        lab.page.locator(".refinish-form").nth(1).wait_for()
        return lab

    return opened


def source(lab, grade_id: str = "answer-0") -> str:
    """A cell's text as it stands on the disk after saving."""
    return text_of(lab.save(), grade_id)


def text_of(saved: dict, grade_id: str) -> str:
    [cell] = [c for c in saved["cells"] if c["metadata"].get("nbgrader", {}).get("grade_id") == grade_id]
    return "".join(cell["source"])


def literals_in(text: str) -> dict:
    """What Python itself finds assigned in a cell's text: plain quoted literals, or this fails."""
    return {one.targets[0].id: ast.literal_eval(one.value) for one in ast.parse(text).body}


def type_text(lab, old: str, new: str) -> None:
    """Change the cell's text by hand, as somebody who opens it does."""
    lab.cell("answer-0").get_by_role("button", name="Show the text").click()
    text = source(lab)
    assert old in text
    lab.type_cell("answer-0", text.replace(old, new))


def arrange(place, tasks) -> None:
    """Put an order's tasks into this order with its buttons."""
    place.get_by_role("button", name="This is my order").click()
    for at, task in enumerate(tasks):
        while place.locator(".refinish-form-task").all_inner_texts().index(task) > at:
            place.get_by_role("button", name=f"Move up: {task}", exact=True).click()


def fill_every_kind(page) -> None:
    page.get_by_role("textbox", name="Own weight").fill("34,2 g")
    page.get_by_role("radio", name="rescue it").check()
    page.get_by_role("radio", name="the eye sees it").check()
    page.get_by_role("checkbox", name="wing").check()
    page.get_by_role("checkbox", name="bonnet").check()
    arrange(page, TASKS)
    for row, mass in enumerate(("12", "30,5 g", "41.0"), 1):
        page.get_by_role("textbox", name=f"Readings, toner {row} on your card").fill(mass)
    page.get_by_role("textbox", name="Variant").fill('f3 "as # built"')
    page.get_by_role("textbox", name="Say why").fill("The share is small.\nBut the eye sees it.")


FILLED = {
    "own_g": "34,2 g",
    "rescue": "rescue it",
    "rescue_reason": "the eye sees it",
    "panels": ["bonnet", "wing"],
    "order": TASKS,
    "readings_g": ["12", "30,5 g", "41.0"],
    "variant": 'f3 "as # built"',
}


def test_every_kind_of_field_writes_one_quoted_literal_and_shows_it_again_after_a_restart(sheet, server):
    lab = sheet()
    fill_every_kind(lab.page)
    saved = lab.save()
    text = text_of(saved, "answer-0")
    assert literals_in(text) == FILLED
    assert re.sub(r"= .*  #", "= ...  #", text) == TEXT  # nothing else moved, no comment was lost
    assert text_of(saved, "why") == "The share is small.\nBut the eye sees it."

    lab.next_day()
    lab.open_notebook(str(lab.notebook.relative_to(lab.server.course)))
    page = lab.page
    page.get_by_role("textbox", name="Own weight").wait_for()
    assert page.get_by_role("textbox", name="Own weight").input_value() == "34,2 g"
    ticked = page.locator(".refinish-form :checked").evaluate_all("all => all.map(one => one.value).sort()")
    assert ticked == ["bonnet", "rescue it", "the eye sees it", "wing"]
    assert page.locator(".refinish-form-task").all_inner_texts() == TASKS
    assert page.get_by_role("textbox", name=re.compile("^Readings")).evaluate_all(
        "all => all.map(one => one.value)"
    ) == [
        "12",
        "30,5 g",
        "41.0",
    ]
    assert page.get_by_role("textbox", name="Variant").input_value() == 'f3 "as # built"'

    # Emptied again, the three dots come back.
    page.get_by_role("textbox", name="Own weight").fill(" ")
    for box in page.get_by_role("checkbox").all():
        box.uncheck()
    page.get_by_role("textbox", name="Say why").fill("")
    saved = lab.save()
    values = read_cell(text_of(saved, "answer-0")).values
    assert values["own_g"] is ... and values["panels"] is ...
    assert text_of(saved, "why") == "*Write your answer here.*"


def test_what_was_typed_by_hand_shows_as_it_stands_and_is_kept_until_its_field_is_touched(sheet):
    by_hand = TEXT.replace("own_g = ...", "own_g = 7 * 28.35").replace("rescue = ...", 'rescue = "burn it"')
    by_hand = by_hand.replace("order = ...", 'order = ["pour", "pour"]').replace("variant = ...", "variant = 'f3 # 2'")
    by_hand = by_hand.replace("readings_g = ...", 'readings_g = [\n    12,  # first\n    "30,5 g",\n]')
    lab = sheet(by_hand)
    page = lab.page
    assert page.get_by_role("textbox", name="Own weight").input_value() == "7 * 28.35"
    assert page.get_by_role("textbox", name="Variant").input_value() == "f3 # 2"
    assert page.get_by_role("textbox", name="Readings, toner 2").input_value() == "30,5 g"
    assert page.locator(".refinish-form-typed:visible code").all_inner_texts() == ['"burn it"', '["pour", "pour"]']
    page.get_by_role("textbox", name="Variant").fill("f4")
    assert source(lab) == by_hand.replace("'f3 # 2'", '"f4"')
    page.get_by_role("textbox", name="Own weight").press("End")
    page.keyboard.type("5")
    assert 'own_g = "7 * 28.355"  # number\n' in source(lab)


def test_text_and_field_follow_each_other_and_undo_goes_across_both(sheet):
    lab = sheet()
    page = lab.page
    weight = page.get_by_role("textbox", name="Own weight")
    weight.fill("12")
    page.wait_for_timeout(700)  # a pause in the typing ends what one undo takes back
    type_text(lab, '"12"', '"13 g"')
    page.wait_for_function("box => box.value === '13 g'", arg=weight.element_handle())
    weight.focus()
    page.keyboard.press("ControlOrMeta+z")
    page.wait_for_function("box => box.value === '12'", arg=weight.element_handle())
    page.keyboard.press("ControlOrMeta+z")
    page.wait_for_function("box => box.value === ''", arg=weight.element_handle())
    assert source(lab) == TEXT
    weight.focus()
    page.keyboard.press("ControlOrMeta+Shift+z")
    page.wait_for_function("box => box.value === '12'", arg=weight.element_handle())
    assert 'own_g = "12"' in source(lab)


def test_notebook_shortcuts_sleep_inside_a_form(sheet):
    lab = sheet()
    page = lab.page
    for field in (
        page.get_by_role("textbox", name="Variant"),
        page.get_by_role("radio", name="rescue it"),
        page.get_by_role("button", name="Move down: pour"),
        page.get_by_role("textbox", name="Say why"),
    ):
        field.focus()
        for key in ["d", "d", "x", "v", "a", "b", "m", "Escape", "Shift+M"]:
            page.keyboard.press(key)
        assert field.evaluate("it => it === document.activeElement")
    assert page.locator(".jp-Notebook .jp-Cell").count() == 4
    assert page.get_by_role("textbox", name="Variant").input_value() == "ddxvabmM"
    assert page.get_by_role("textbox", name="Say why").input_value() == "ddxvabmM"
    with page.expect_response(lambda answer: answer.request.method == "PUT" and "/api/contents/" in answer.url):
        page.keyboard.press("ControlOrMeta+s")


def test_a_double_click_in_the_written_answer_loses_no_typing(sheet):
    lab = sheet()
    box = lab.page.get_by_role("textbox", name="Say why")
    box.fill("The eye sees it.")
    box.dblclick()
    lab.page.keyboard.press("Escape")
    lab.page.get_by_role("textbox", name="Variant").click()
    assert box.input_value() == "The eye sees it."
    assert source(lab, "why") == "The eye sees it."


def test_labels_and_options_are_text_never_html(sheet):
    trap = "<img src=x onerror=\"document.title='trapped'\"><b>bold</b>"
    fields = [one | {"label": trap + one["name"]} for one in FIELDS]
    fields[1] = fields[1] | {"options": [trap, "b"]}
    fields[4] = fields[4] | {"tasks": [trap, "b"]}
    fields[5] = fields[5] | {"rows": [trap], "unit": trap}
    fields += [{"kind": "no such kind", "name": "x", "label": "x"}, {"kind": "constructor", "name": "y", "label": "y"}]
    lab = sheet(fields=fields)
    assert lab.page.locator(".refinish-form :is(img, b)").count() == 0
    assert lab.page.title() != "trapped"
    lab.page.get_by_role("radio", name=trap).check()
    assert read_cell(source(lab)).values["rescue"] == trap


def test_an_order_is_moved_by_buttons_and_by_dragging(sheet):
    lab = sheet()
    page = lab.page
    before = page.locator(".refinish-form-task").all_inner_texts()
    assert sorted(before) == sorted(TASKS)
    page.get_by_role("button", name="This is my order").click()
    assert read_cell(source(lab)).values["order"] == before

    # The button keeps the focus, and what was done is said.
    down = page.get_by_role("button", name=f"Move down: {before[0]}", exact=True)
    down.focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Space")
    assert down.evaluate("it => it === document.activeElement")
    assert page.get_by_role("status").filter(has_text="now 3 of 4").count() == 1
    moved = [before[1], before[2], before[0], before[3]]
    assert read_cell(source(lab)).values["order"] == moved

    grips, rows = page.locator(".refinish-form-grip"), page.locator(".refinish-form-order li")
    grips.nth(3).scroll_into_view_if_needed()
    start, end = grips.nth(3).bounding_box(), rows.nth(0).bounding_box()
    page.mouse.move(start["x"] + 5, start["y"] + 20)
    page.mouse.down()
    page.mouse.move(start["x"] + 5, end["y"] + 30, steps=4)
    page.mouse.move(start["x"] + 5, end["y"] + 2, steps=4)
    page.mouse.up()
    assert read_cell(source(lab)).values["order"] == [before[3], *moved[:3]]


def test_what_is_shown_is_shuffled_by_id_and_the_text_does_not_care(sheet):
    seen = {}
    for who in ("a01", "a02", "a01"):
        lab = sheet(f'my_id = "{who}"\n' + TEXT)
        page = lab.page
        tasks = page.locator(".refinish-form-task").all_inner_texts()
        options = page.get_by_role("radio").evaluate_all("all => all.map(one => one.value)")
        assert seen.setdefault(who, (tasks, options)) == (tasks, options)
        page.get_by_role("checkbox", name="wing").check()
        page.get_by_role("checkbox", name="bonnet").check()
        assert read_cell(source(lab)).values["panels"] == ["bonnet", "wing"]
    assert len({str(one) for one in seen.values()}) == 2


def test_a_dead_kernel_takes_no_answer_away(sheet):
    lab = sheet()
    fill_every_kind(lab.page)
    signed = {"Authorization": f"token {TOKEN}"}
    kernels = f"http://localhost:{lab.server.port}/api/kernels"
    for kernel in lab.page.context.request.get(kernels, headers=signed).json():
        assert lab.page.context.request.delete(f"{kernels}/{kernel['id']}", headers=signed).ok
    lab.page.get_by_role("textbox", name="Own weight").fill("35 g")
    assert literals_in(source(lab)) == FILLED | {"own_g": "35 g"}


def test_where_the_server_knows_no_such_lesson_the_check_cell_runs_and_its_word_goes_with_the_next_entry(sheet):
    lab = sheet(check="import time\ntime.sleep(0.5)\nprint('checked', own_g)")
    page = lab.page
    page.get_by_role("textbox", name="Own weight").fill("35 g")
    assert not lab.cell("check-0").is_visible()
    page.get_by_role("textbox", name="Own weight").press("Enter")
    lab.cell("check-0").get_by_text("checked 35 g").wait_for()
    page.get_by_role("textbox", name="Own weight").fill("36 g")
    lab.cell("check-0").wait_for(state="hidden")
    assert lab.output("check-0") == ""

    # The same where the text is changed by hand, and where the check speaks only after the next entry.
    page.get_by_role("textbox", name="Own weight").press("Enter")
    lab.cell("check-0").get_by_text("checked 36 g").wait_for()
    type_text(lab, '"36 g"', '"37 g"')
    lab.cell("check-0").wait_for(state="hidden")
    page.get_by_role("textbox", name="Own weight").press("Enter")
    page.get_by_role("textbox", name="Own weight").fill("38 g")
    page.locator(".refinish-form-main[aria-busy]").wait_for(state="detached")
    assert not lab.cell("check-0").is_visible() and lab.output("check-0") == ""
    lab.complaints[:] = [one for one in lab.complaints if "refinish/check" not in one and "400" not in one]


def test_a_notebook_that_is_not_ours_is_left_alone(course, server, open_lab):
    notebook = form_notebook()
    for cell in notebook.cells:
        cell.metadata.pop("refinish", None)
    nbformat.write(notebook, course / "lessons" / "foreign.ipynb")
    lab = open_lab(server)
    lab.open_notebook("lessons/foreign.ipynb")
    lab.page.wait_for_timeout(1000)
    assert lab.page.locator(".refinish-form, .refinish-tool, .refinish-lesson").count() == 0
    assert lab.cell("answer-0").locator(".cm-content").is_visible()


# Blanks that only one of the two languages takes for blanks are left out.
LETTERS = st.characters(codec="utf-8", exclude_categories=["Cc"], exclude_characters="\ufeff") | st.sampled_from("\n\t")
PLAIN = st.one_of(
    st.text(LETTERS, max_size=12),
    st.lists(st.text(LETTERS, min_size=1, max_size=6), min_size=2, max_size=4),
    st.integers(-999, 999),
)


@pytest.fixture(scope="module")
def literals(server, new_lab):
    """The form's own reader and writer of text, called in the browser."""
    lab = new_lab(server)
    lab.go()
    lab.page.evaluate("async () => { window.literals = await import('/lab/extensions/refinish-lab/literal.js'); }")
    lab.page.evaluate("""() => { window.literals = { ...window.literals, changed: (text, name, value) => {
        const edit = window.literals.change(text, name, value);
        return edit ? text.slice(0, edit.start) + edit.text + text.slice(edit.end) : text;
    } }; }""")
    yield lambda name, *given: lab.page.evaluate("([name, given]) => window.literals[name](...given)", [name, given])
    lab.page.context.close()


@settings(max_examples=150)
@given(value=PLAIN, comment=st.text("#'\"[( ax", max_size=6), other=PLAIN)
def test_reading_the_text_agrees_with_python(literals, value, comment, other):
    cell = f"# say\nfirst = {other!r}\nown_g = {value!r}  #{comment}\nlast = {other!r}\n"
    reading = literals("read", cell, "own_g")
    assert reading["source"] == repr(value)
    wanted = [str(one) for one in value] if isinstance(value, list) else str(value)
    assert reading["value"] == wanted and reading["kind"] == ("list" if isinstance(value, list) else "text")


@settings(max_examples=150)
@given(value=PLAIN.filter(lambda one: not isinstance(one, int)), old=PLAIN, comment=st.text("#'\"[( ax", max_size=6))
def test_writing_an_entry_changes_its_literal_and_nothing_else(literals, value, old, comment):
    before, after = "# say = 1\nfirst = '#'\n", f"  #{comment}\nlast = 'own_g = 5'\n"
    cell = f"{before}own_g = {old!r}{after}"
    cell = literals("changed", cell, "own_g", value)
    assert cell.startswith(before) and cell.endswith(after)
    wanted = [one.strip() or ... for one in value] if isinstance(value, list) else value.strip() or ...
    if isinstance(wanted, list) and set(wanted) == {...}:
        wanted = ...
    [assigned] = [one for one in ast.parse(cell).body if one.targets[0].id == "own_g"]
    assert ast.literal_eval(assigned.value) == wanted


@pytest.mark.parametrize(
    "line, kind",
    [
        ("own_g = 'open", "other"),
        ("own_g = [1, 2", "other"),
        ("own_g = f'{x}'", "other"),
        ("own_g = ('a')", "other"),
        ("own_g = ('a',)", "list"),
        ("own_g = 'a' 'b'", "other"),
        ("own_g = '''a\n# b'''", "text"),
        ("own_g = '\\N{BULLET}'", "other"),
        ("own_g == 5", "empty"),
        ("own_g =", "empty"),
        ("own_g = 34,2", "other"),
        ("own_g = -.5e3", "text"),
        ("total = own_g = 5", "empty"),
    ],
)
def test_what_is_no_plain_literal_is_said_to_be_none(literals, line, kind):
    assert literals("read", f"{line}  # c\nnext = 1\n", "own_g")["kind"] == kind
    assert literals("read", f"{line}  # c\nnext = 1\n", "next") == {"kind": "text", "value": "1", "source": "1"}


def test_a_reading_survives_as_json(literals):
    assert json.loads(literals("literal", 'a "b" # \\ c')) == 'a "b" # \\ c'
