"""Bars say in words what they show, stay inside their frame and take their colours from the theme."""

import re
from xml.etree import ElementTree

from refinishlib.course import lessons
from refinishlib.picture.bars import Bar, bars

NAMESPACE = "{http://www.w3.org/2000/svg}"
SHOP = lessons.record("mixing").shop
TEXT = f"{NAMESPACE}text"
FIGURES = ("staircase", "litre", "ratio", "over_pour", "care", "shake", "amount")


def drawn(name):
    """Every picture of a figure."""
    page = ElementTree.fromstring(f"<div>{getattr(lessons.module('mixing', 'figures'), name)(SHOP)}</div>")
    found = [one.find(f"{NAMESPACE}svg") for one in page.iter("figure")]
    assert found
    return found


def test_every_figure_is_a_picture_with_a_text_alternative_inside_its_frame():
    for svg in [svg for name in FIGURES for svg in drawn(name)]:
        assert svg.get("role") == "img"
        assert svg.find(f"{NAMESPACE}title").text and svg.find(f"{NAMESPACE}desc").text
        for rect in svg.iter(f"{NAMESPACE}rect"):
            x, width = (float(rect.get(key).rstrip("%")) for key in ("x", "width"))
            assert x >= 0 and x + width <= 100.1


def test_letters_do_not_shrink_with_the_screen_and_no_line_runs_through_words():
    for svg in [svg for name in FIGURES for svg in drawn(name)]:
        assert svg.get("viewBox") is None and svg.get("width") == "100%"
        words = [(float(t.get("y")) - float(t.get("font-size")), float(t.get("y")) + 3) for t in svg.iter(TEXT)]
        assert all(float(t.get("font-size")) >= 12 for t in svg.iter(TEXT))
        for line in svg.iter(f"{NAMESPACE}line"):
            top, bottom = float(line.get("y1")), float(line.get("y2"))
            assert not [word for word in words if word[0] < bottom and top < word[1]]


def test_lengths_are_in_proportion_and_colours_come_from_the_theme():
    text = bars([Bar("a", 1, "1"), Bar("b <i>", 3, "3", look="soft")], "t", limit=2, limit_words="two")
    widths = [float(w) for w in re.findall(r'<rect[^>]* width="([\d.]+)%"', text)]
    assert abs(widths[1] / widths[0] - 3) < 0.01
    assert "<i>" not in text
    assert set(re.findall(r'fill="([^"]+)"', text)) <= {m for m in re.findall(r'fill="(var\([^"]+\))"', text)}


def test_what_is_not_there_yet_is_hatched_and_as_long_as_it_will_be():
    text = bars([Bar("a", 1, "1"), Bar("b", 2, "2", start=1, look="later")], "t")
    svg = ElementTree.fromstring(text).find(f"{NAMESPACE}svg")
    [hatched] = svg.findall(f"{NAMESPACE}svg")
    outline = [rect for rect in svg.iter(f"{NAMESPACE}rect") if rect.get("fill") == "none"]
    assert [rect.get("width") for rect in outline] == [hatched.get("width")] == ["66.67%"]
    assert hatched.find(f"{NAMESPACE}path").get("stroke") == outline[0].get("stroke")
    assert "opacity" not in text
