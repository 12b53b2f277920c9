"""Bars say in words what they show, stay inside their frame and take their colours from the theme."""

import re
from xml.etree import ElementTree

from refinishlib.course import lessons
from refinishlib.picture.bars import Bar, bars

NAMESPACE = "{http://www.w3.org/2000/svg}"
SHOP = lessons.record("mixing").shop
FIGURES = ("staircase", "litre", "ratio", "over_pour", "smallest", "amount")


def test_every_figure_is_a_picture_with_a_text_alternative_inside_its_frame():
    for name in FIGURES:
        svg = ElementTree.fromstring(getattr(lessons.module("mixing", "figures"), name)(SHOP))
        assert svg.get("role") == "img"
        assert svg.find(f"{NAMESPACE}title").text and svg.find(f"{NAMESPACE}desc").text
        width = float(svg.get("width"))
        for rect in svg.iter(f"{NAMESPACE}rect"):
            assert float(rect.get("x")) >= 0 and float(rect.get("x")) + float(rect.get("width")) <= width


def test_lengths_are_in_proportion_and_colours_come_from_the_theme():
    text = bars([Bar("a", 1, "1"), Bar("b <i>", 3, "3", look="soft")], "t", limit=2, limit_words="two")
    widths = [float(w) for w in re.findall(r'<rect[^>]* width="([\d.]+)"', text)]
    assert abs(widths[1] / widths[0] - 3) < 0.01
    assert "<i>" not in text
    assert set(re.findall(r'fill="([^"]+)"', text)) <= {m for m in re.findall(r'fill="(var\([^"]+\))"', text)}
