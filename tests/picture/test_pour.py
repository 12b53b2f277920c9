import re
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refinishlib.mixing.progress import Made, steps
from refinishlib.mixing.rescue import rescue
from refinishlib.picture.pour import INKS, LABEL_STEP, Portion, describe, ink, layers, pour
from refinishlib.shop.shop import load

SHOP = load()

SVG = "{http://www.w3.org/2000/svg}"
stacks = st.lists(
    st.builds(
        Portion,
        name=st.sampled_from(sorted(INKS)),
        mass_g=st.floats(0.5, 600),
        state=st.sampled_from(["poured", "over", "to come"]),
        reading=st.just("123.4 g"),
    ),
    min_size=1,
    max_size=25,
)


@settings(max_examples=60, deadline=None)
@given(stacks, st.sampled_from([float("inf"), 100.0, 1000.0]))
def test_layers_are_to_scale_and_no_label_covers_another(stack, cup_g):
    tree = ElementTree.fromstring(pour(stack, cup_g=cup_g))
    heights = [float(rect.get("height")) for rect in tree.iter(f"{SVG}rect")]
    scale = max(heights) / max(layer.mass_g for layer in stack)
    for height, layer in zip(heights, stack, strict=True):
        assert height == pytest.approx(max(layer.mass_g * scale, 0.8), abs=0.02)
    labels = [float(t.get("y")) for t in tree.iter(f"{SVG}text") if t.get("text-anchor") == "end"]
    assert labels == sorted(labels, reverse=True)
    assert all(low - high >= LABEL_STEP - 0.2 for low, high in pairwise(labels))
    assert min(labels) > 0 and max(labels) < float(tree.get("height"))


def test_it_can_be_read_without_seeing_it_and_never_by_colour_alone():
    stack = [
        Portion("white", 120.0, "poured", "120.0 g"),
        Portion("white", 6.0, "over", "126.0 g"),
        Portion("rose & <co>", 30.0, "to come", "156.0 g"),
    ]
    text = pour(stack)
    tree = ElementTree.fromstring(text)
    assert tree.get("role") == "img"
    assert tree.find(f"{SVG}title").text and tree.find(f"{SVG}desc").text == describe(stack)
    assert "white, poured too much, 126.0 g in the cup" in describe(stack)
    words = [t.text for t in tree.iter(f"{SVG}text")]
    assert words == ["✓ white", "120.0 g", "! too much", "126.0 g", "rose & <co>", "156.0 g"]


def test_words_and_lines_take_the_themes_colours():
    text = pour([Portion("jet black", 10.0, "poured", "10.0 g")], cup_g=8.0)
    for painted in re.findall(r'(?:stroke|fill)="([^"]+)"', re.sub(r"<rect.*?/>", "", text)):
        assert painted == "none" or painted.startswith("var(--jp-")
    assert "cup full" in text and "cup full" not in pour([Portion("jet black", 10.0, "poured", "10.0 g")], cup_g=12.0)


def test_every_toner_of_the_shop_has_its_colour():
    assert {toner.name for toner in SHOP.toners} <= set(INKS)
    assert ink("hardener").startswith("#")


def test_layers_hold_what_was_poured_and_what_is_to_come():
    parts = SHOP.colour("Tarn Evening, as built").parts
    made = [Made(0, "deep blue", 310.0, 310.0, 310.0, 0.0), Made(1, "violet", 92.5, 92.5, 402.5, 7.5)]
    plan = rescue(parts, (310, 92.5, 0, 0), 500)
    stack = layers(made, steps(plan, 0.1), 1)
    assert [layer.state for layer in stack] == ["poured", "poured", "over", "to come", "to come", "to come"]
    assert sum(layer.mass_g for layer in stack) == pytest.approx(plan.total_g)
    assert [layer.reading for layer in stack][:3] == ["310.0 g", "395.0 g", "402.5 g"]


def test_an_empty_cup_can_be_drawn():
    assert "The cup is empty." in pour([])
