"""The report for a real class: 30 apprentices in the middle of 11 lessons, looked at in a browser and on paper."""

import csv
import datetime
import os
import re
import sys
import time
from pathlib import Path

import big_class
import pytest
from classrooms import HERE

from refinishlib.grading import report, standing

MOST_PAGES = 8


@pytest.fixture(scope="module")
def big(tmp_path_factory):
    """The class's folder with its report, read on the day on which it was invented."""
    patch = pytest.MonkeyPatch()
    patch.setenv("PATH", f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}")
    home = Path.cwd()
    root = big_class.build(HERE, tmp_path_factory.mktemp("big") / "class")
    read = standing.read
    today = big_class.TODAY.replace(tzinfo=datetime.UTC).astimezone()
    patch.setattr(standing, "read", lambda where, book, now=None: read(where, book, now or today))
    report.write(root)
    yield root
    patch.undo()
    os.chdir(home)


@pytest.fixture
def page(big, chromium):
    """The report in Chromium, as a file; whatever it complains about fails the test."""
    complaints = []
    page = chromium.new_page(viewport={"width": 1280, "height": 900})
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.goto((big / "report/report.html").as_uri())
    yield page
    page.close()
    assert complaints == []


def marks(root) -> list[dict]:
    with (root / "report/marks.csv").open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def names(page) -> list[str]:
    return page.locator("#marks tbody tr:visible th").all_text_contents()


def test_lessons_stand_in_the_courses_order_and_apprentices_in_the_class_lists(big):
    rows = marks(big)
    assert list(dict.fromkeys(row["lesson"] for row in rows)) == list(big_class.LESSONS)
    assert list(dict.fromkeys(row["apprentice"] for row in rows)) == [who for who, *_ in big_class.people()]


def test_points_that_nobody_has_marked_are_not_lost_points(big, page):
    waiting = [row for row in marks(big) if float(row["not_marked_yet"])]
    assert waiting and all(float(row["most"]) == 20.0 for row in waiting)
    one = waiting[0]
    cell = page.locator(f"#marks a[href$='{one['apprentice']}-{one['lesson']}.html']")
    said = cell.inner_text()
    assert f"of {float(one['most']):g}" in said and "1 to mark" in said
    assert cell.locator(".bar i.open").count() == 1


def test_the_first_screen_says_who_needs_the_instructor(big, page):
    tops = page.locator(".now > .sheet").evaluate_all("all => all.map((one) => one.getBoundingClientRect().top)")
    assert len(tops) == 4 and max(tops) < 900
    rows = marks(big)
    counts = [int(text.split()[-1]) for text in page.locator(".now h3").all_inner_texts()]
    look = sum(bool(row["to_look_at"]) and not row["to_look_at"].startswith("not handed in") for row in rows)
    behind = {row["apprentice"] for row in rows if row["to_look_at"] == "not handed in, overdue"}
    assert counts[0] == look and counts[1] == len(behind) and counts[3] == sum(int(row["to_mark"]) for row in rows)


def test_the_table_sorts_and_filters_without_a_server(page):
    everybody = names(page)
    assert len(everybody) == 30
    page.get_by_role("button", name="Apprentice").click()
    assert names(page) == sorted(everybody) and page.locator("#marks [aria-sort=ascending]").count() == 1
    page.locator("#marks thead button").last.click()
    shares = page.locator("#marks tbody tr td:last-child").evaluate_all("all => all.map((one) => +one.dataset.sort)")
    assert shares == sorted(shares)
    page.locator("#marks thead button").last.click()
    again = page.locator("#marks tbody tr td:last-child").evaluate_all("all => all.map((one) => +one.dataset.sort)")
    assert again == sorted(shares, reverse=True)
    page.locator("#group").select_option("1 A")
    assert 0 < len(names(page)) < 30 and all("1 A" in name for name in names(page))
    page.locator("#group").select_option("")
    page.locator("#find").fill("a07")
    assert len(names(page)) == 1 and "a07" in names(page)[0]
    page.locator("#find").fill("")
    page.locator("#needy").check()
    assert 0 < len(names(page)) < 30


def test_every_cell_leads_to_the_answers_of_that_apprentice_and_lesson(big, page):
    links = page.locator("#marks tbody a").evaluate_all("all => all.map((one) => one.getAttribute('href'))")
    handed_in = [row for row in marks(big) if row["score"]]
    assert len(links) == len(handed_in) > 200
    assert all((big / "report" / link).is_file() for link in links)
    page.locator("#marks tbody a").first.click()
    page.wait_for_url("**/answers/*.html")
    assert "34.2" in page.inner_text("main")


def test_it_prints_on_few_pages(page):
    paper = page.pdf(prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page[^s]", paper)) <= MOST_PAGES


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1280])
def test_it_fits_the_screen(big, chromium, theme, width):
    page = chromium.new_page(viewport={"width": width, "height": 900}, color_scheme=theme)
    page.goto((big / "report/report.html").as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    small = page.evaluate(
        "[...document.querySelectorAll('main *')].filter((one) => one.childNodes.length && one.innerText?.trim()"
        " && parseFloat(getComputedStyle(one).fontSize) < 12).length"
    )
    assert small == 0
    page.close()


def test_nothing_is_written_again_when_nothing_changed(big):
    pages = {path: path.stat().st_mtime_ns for path in (big / "report/answers").iterdir()}
    time.sleep(0.01)
    report.write(big)
    assert {path: path.stat().st_mtime_ns for path in (big / "report/answers").iterdir()} == pages


def test_a_name_with_signs_of_a_formula_or_a_script_is_only_a_name(big, tmp_path):
    from refinishlib.grading.classlist import Apprentice
    from refinishlib.grading.standing import Standing
    from refinishlib.grading.table import write_table

    now = Standing((Apprentice("x1", "=1+1", "<script>alert(1)</script>"),), (), {}, big_class.TODAY)
    page = report.as_html(report.collect_numbers(now))
    assert "<script>alert" not in page and "&lt;script&gt;" in page
    write_table(tmp_path / "out.csv", ("name",), [{"name": "=1+1"}])
    assert "'=1+1" in (tmp_path / "out.csv").read_text(encoding="utf-8-sig")
