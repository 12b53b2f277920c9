"""Written answers become HTML in a time that grows with their length, and with the same formulas as before."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from nbconvert.filters.markdown_mistune import MarkdownWithMath

from refinishlib.grading import clean

SIGNS = (
    "\\\\(",
    "\\\\)",
    "\\\\[",
    "\\\\]",
    "$",
    "$$",
    "\\begin{a}",
    "\\end{a}",
    "a",
    " ",
    "\n",
    "\n\n",
    "*",
    "`",
    "[",
    "]",
)


@given(st.lists(st.sampled_from(SIGNS), max_size=120).map("".join))
def test_short_texts_read_as_nbconvert_reads_them(text):
    renderer = clean._Renderer(escape=False, attachments={}, exclude_anchor_links=True)
    assert clean.to_html(text) == clean.sanitize(MarkdownWithMath(renderer=renderer).render(text))


@pytest.mark.parametrize("parser", [clean._Blocks, clean._Inline])
def test_no_formula_looks_further_than_a_formula_may_reach(parser):
    patterns = [pattern for name, pattern in parser.SPECIFICATION.items() if clean._is_formula(name)]
    assert len(patterns) >= 1
    reaches = [int(most) for pattern in patterns for most in re.findall(r"\.\{[01],(\d+)\}", pattern)]
    assert len(reaches) >= 3 and set(reaches) == {clean.LONGEST_FORMULA}
    assert not [pattern for pattern in patterns if re.search(r"\.[*+]", pattern)]


@pytest.mark.parametrize(
    ("opens", "closes"),
    [("$", "$"), ("$$", "$$"), ("\\\\(", "\\\\)"), ("\\\\[", "\\\\]"), ("\\begin{gather}", "\\end{gather}")],
)
def test_a_formula_of_the_longest_length_is_one_and_a_longer_one_stays_text(opens, closes):
    for length, found in ((clean.LONGEST_FORMULA - 40, True), (clean.LONGEST_FORMULA + 40, False)):
        body = "x" + "+x" * (length // 2)
        page = clean.to_html(f"see {opens}{body}{closes} here")
        assert ("<math" in page) is found
        assert page.count("x") >= length // 2, "nothing that was written is lost"


def test_a_text_without_end_is_shown_as_it_is_and_cut():
    page = clean.to_html("*a* " * 100_000)
    assert page.startswith("<pre>*a* *a*") and len(page) < clean.LONGEST_TEXT + 100
