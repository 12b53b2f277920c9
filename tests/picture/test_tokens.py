"""The look of the house can be read: contrast of every pair that is used, in both themes, sizes, and no download.

Contrast after WCAG 2.2 (W3C recommendation, 2023), success criteria 1.4.3 (words, 4.5 to 1) and 1.4.11 (controls, focus
and what a picture is understood by, 3 to 1), computed with coloraide.
"""

import re

import pytest
from coloraide import Color

from refinishlib.picture.tokens import css, shades

SURFACES = ("page", "sheet", "sunk", "tape", "accent-wash", "wrong-wash", "right-wash")
# What is written on which surface.
WORDS = {
    "ink": SURFACES,
    "soft": SURFACES,
    "accent": ("page", "sheet", "sunk", "accent-wash"),
    "accent-strong": ("page", "sheet", "sunk", "accent-wash"),
    "on-accent": ("accent", "accent-strong"),
    "wrong": ("page", "sheet", "sunk", "wrong-wash"),
    "right": ("page", "sheet", "sunk", "right-wash"),
    "caution": ("page", "sheet"),
}
# What must be seen without being read: the edge of a control, the bar beside a caution, the ring around the focus.
SIGNS = {"edge": ("page", "sheet", "sunk", "accent-wash"), "accent": SURFACES, "wrong": SURFACES, "caution": SURFACES}
UNSEEN = {"rule"}  # only parts one thing from another


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize(("pairs", "least"), [(WORDS, 4.5), (SIGNS, 3.0)], ids=["words", "signs"])
def test_contrast_of_every_pair(theme, pairs, least):
    found = {
        (above, below): Color(getattr(shades()[above], theme)).contrast(getattr(shades()[below], theme))
        for above, under in pairs.items()
        for below in under
    }
    assert {pair: round(ratio, 2) for pair, ratio in found.items() if ratio < least} == {}


def test_no_colour_is_left_out():
    named = set(re.findall(r"--refinish-([a-z-]+): light-dark", css()))
    assert named == set(shades())
    assert set(shades()) == {*WORDS, *SIGNS, *SURFACES} | UNSEEN


def test_day_is_light_and_night_is_dark():
    for name in SURFACES:
        shade = shades()[name]
        assert Color(shade.light).luminance() > 0.7 and Color(shade.dark).luminance() < 0.06


def test_letters_and_targets_are_large_enough_and_nothing_is_loaded():
    sizes = {name: int(size) for name, size in re.findall(r"--refinish-([a-z0-9-]+): (\d+)px;", css())}
    assert min(size for name, size in sizes.items() if name.endswith("-size")) >= 12
    assert (sizes["target"], sizes["target-main"]) == (44, 64)
    assert not re.search(r"url\(|@import|@font-face", css())


@pytest.mark.browser
@pytest.mark.parametrize(
    ("device", "html", "body", "dark"),
    [
        ("light", "", "", False),
        ("dark", "", "", True),
        ("dark", 'data-refinish-theme="light"', "", False),
        ("light", 'data-refinish-theme="dark"', "", True),
        ("dark", "", 'data-jp-theme-light="true"', False),
        ("light", "", 'data-jp-theme-light="false"', True),
    ],
)
def test_the_page_the_device_or_jupyterlab_says_whether_it_is_night(chromium, device, html, body, dark):
    page = chromium.new_page(color_scheme=device)
    page.set_content(
        f"<html {html}><style>{css()} .refinish-x {{ color: var(--refinish-ink) }}</style>"
        f'<body {body}><p class="refinish-x">x</p></body></html>'
    )
    colour = page.evaluate("getComputedStyle(document.querySelector('p')).color")
    page.emulate_media(media="print")
    on_paper = page.evaluate("getComputedStyle(document.querySelector('p')).color")
    page.close()
    ink = shades()["ink"]
    assert Color(colour).to_string(hex=True) == (ink.dark if dark else ink.light)
    assert Color(on_paper).to_string(hex=True) == ink.light
