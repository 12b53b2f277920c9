import re
from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree

import numpy as np
import pytest
from coloraide import Color
from hypothesis import given, settings
from hypothesis import strategies as st

from refinishlib.mixing.progress import Made, steps
from refinishlib.mixing.rescue import rescue
from refinishlib.picture import ink
from refinishlib.picture.pour import LABEL_STEP, LABEL_X, RIGHT, Portion, describe, layers, pour
from refinishlib.shop.shop import load

SVG = "{http://www.w3.org/2000/svg}"
stacks = st.lists(
    st.builds(
        Portion,
        name=st.sampled_from([toner.name for toner in load().toners]),
        mass_g=st.floats(0.5, 600),
        state=st.sampled_from(["poured", "over", "to come"]),
        reading=st.just("123.4 g"),
        ink=st.sampled_from([toner.ink for toner in load().toners]),
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
    labels = [float(t.get("y")) for t in tree.iter(f"{SVG}text") if t.text == "123.4 g"]
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
        assert painted == "none" or painted.startswith("var(--refinish-")
    assert "cup is full" in text
    assert "cup is full" not in pour([Portion("jet black", 10.0, "poured", "10.0 g")], cup_g=12.0)


def test_paint_has_the_engines_colour_and_no_other():
    for toner in load().toners:
        assert toner.ink == ink.computed_ink(toner), f"what toners.toml should say for {toner.name}"
    red, white = load().picked("warm red", "white")
    text = pour(
        [
            Portion("warm red", 10.0, "poured", "10.0 g", red.ink),
            Portion("white", 5.0, "to come", "15.0 g", white.ink),
        ]
    )
    assert set(re.findall(r"#[0-9a-f]{6}(?!\))", text)) == {red.ink, white.ink}


def test_a_toner_is_one_entry_its_ink_is_computed_where_the_file_says_none():
    rose, violet = load().picked("rose", "violet")
    bare = replace(rose, ink="")
    assert bare == rose and ink.inks([bare, violet]) == ink.inks([rose, violet])
    # The name decides nothing: somebody's own toner of the same name is drawn as it is.
    assert ink.inks([replace(violet, name="rose", ink="")]) == {"rose": violet.ink}
    steps_of_it = layers([], steps(rescue([("rose", 1.0)], (0,), 100), 0.1), 1, ink.inks([bare]))
    assert {layer.ink for layer in steps_of_it} == {rose.ink}


def test_a_neutral_is_the_same_grey_on_a_screen_as_another_library_makes_it():
    # coloraide 4; a neutral stays neutral whatever the observer, so that D65's two observers cannot differ.
    for lightness in (20.0, 50.0, 80.0):
        grey = Color("lab-d65", [lightness, 0, 0]).convert("srgb").to_string(hex=True)
        assert ink.on_screen(np.array([lightness, 0.0, 0.0])) == grey


def test_what_is_not_there_yet_is_hatched_and_not_faded():
    red = load().toner("warm red").ink
    to_come = pour([Portion("warm red", 10.0, "to come", "10.0 g", red)])
    assert "opacity" not in to_come
    [rect] = ElementTree.fromstring(to_come).iter(f"{SVG}rect")
    assert rect.get("fill") == "none"
    [stripes] = re.findall(rf'<path d="([^"]+)" fill="none" stroke="{red}"', to_come)
    assert stripes.count("M") > 20
    poured = pour([Portion("warm red", 10.0, "poured", "10.0 g", red)])
    assert red not in re.sub(r"<rect.*?/>", "", poured)


@settings(max_examples=30, deadline=None)
@given(stacks)
def test_stripes_stay_within_their_layer_and_no_line_runs_through_a_label(stack):
    tree = ElementTree.fromstring(pour(stack))
    for path in tree.iter(f"{SVG}path"):
        far = [float(x) for x in re.findall(r"[ML](-?[\d.]+) ", path.get("d"))]
        assert max(far) < LABEL_X, "the labels begin there"
        if path.get("stroke", "").startswith("#"):
            assert max(far) <= RIGHT
    for text in tree.iter(f"{SVG}text"):
        assert float(text.get("font-size")) >= 12
    assert tree.get("viewBox") is None, "the picture is not shrunk, and its letters neither"


def test_layers_hold_what_was_poured_and_what_is_to_come():
    parts = load().colour("Tarn Evening, as built").parts
    made = [Made(0, "deep blue", 310.0, 310.0, 310.0, 0.0), Made(1, "violet", 92.5, 92.5, 402.5, 7.5)]
    plan = rescue(parts, (310, 92.5, 0, 0), 500)
    stack = layers(made, steps(plan, 0.1), 1, {toner.name: toner.ink for toner in load().toners})
    assert [layer.state for layer in stack] == ["poured", "poured", "over", "to come", "to come", "to come"]
    assert sum(layer.mass_g for layer in stack) == pytest.approx(plan.total_g)
    assert [layer.reading for layer in stack][:3] == ["310.0 g", "395.0 g", "402.5 g"]


def test_an_empty_cup_can_be_drawn():
    assert "The cup is empty." in pour([])
