"""Every calculator shows what the engines say, takes up and hands on the job, and keeps the last good answer."""

import html
import re

import pytest

from refinishlib.bench.compare import CompareColours, readings
from refinishlib.bench.order import OrderOfWork
from refinishlib.bench.surface import SurfacePlan
from refinishlib.bench.undercoat import UndercoatAndCoats
from refinishlib.colour import predict
from refinishlib.colour.hiding import coats_to_hide, fewest_coats
from refinishlib.colour.optics import of_formula
from refinishlib.colour.reading import from_spectra
from refinishlib.colour.tolerance import of_kind
from refinishlib.colour.verdict import compare
from refinishlib.entry import BadEntry
from refinishlib.prep.order import first_violation, good_order, jobs
from refinishlib.prep.removal import burn_through
from refinishlib.prep.scratch import final_scratches, ladder_for, ways_to_sand
from refinishlib.shop.shop import load

SHOP = load()


def words(text: str) -> str:
    return html.unescape(re.sub(r"<[^>]+>", " ", text))


@pytest.mark.parametrize("next_coat", list(final_scratches()))
@pytest.mark.parametrize("start", ["gloss", "P240", "P1500"])
def test_the_surface_plan_shows_the_ladder_and_the_passes_of_the_engine(next_coat, start):
    calculator = SurfacePlan(next_coat, start, "45 µm", remember=False)
    reply, papers = calculator.shown, [one.name for one in ladder_for(next_coat, start)]
    if not papers:
        assert reply.figure == "Nothing to sand"
        return
    assert reply.figure.split(" then ") == papers
    way = ways_to_sand(next_coat, colour="dark solid")[0]
    left = burn_through(45.0, papers[-1], machine=way.machine, interface_pad=way.interface_pad)
    for zone in left.values():
        assert f"{zone.passes(more_clear=next_coat != 'machine polish')} passes" in words(reply.picture)


def test_a_slip_through_an_edge_names_the_neighbour_that_comes_in():
    reply = SurfacePlan(panel="left front door", remember=False).shown
    assert re.search(r"edge to the left \w+ \w+, .*left \w+ \w+: colour, clear", words(reply.about))


@pytest.mark.parametrize("title", ["Kiln Red, as built", "Night Ferry, as built", "Kingfisher Pool, as built"])
@pytest.mark.parametrize("grey", [40, 60, 84])
def test_undercoat_counts_the_coats_of_the_engine_and_names_the_quickest_grey(title, grey):
    reply = UndercoatAndCoats(title, grey, remember=False).shown
    paint = of_formula(SHOP.colour(title))
    coats, best = coats_to_hide(paint, grey), fewest_coats(paint)
    assert reply.figure.startswith(f"{coats} coat") and reply.hands["coats"] == str(coats)
    assert f"need L* {best.lightness:.0f}: {best.coats}." in reply.reason


def test_a_mid_coat_hides_over_no_grey_and_says_so():
    reply = UndercoatAndCoats("Orchard Dusk, mid coat", 50, remember=False).shown
    assert reply.figure == "Does not hide" and "ground coat" in reply.reason and not reply.hands


@pytest.mark.parametrize("card", ["Kiln Red, darker", "Millrace Silver, coarser", "Kiln Red, lighter"])
def test_compare_gives_the_verdict_of_the_one_ruler(card):
    of = card.split(",")[0]
    panel, formula = f"{of}, as built", SHOP.colour(card)
    reply = CompareColours(panel, card, remember=False).shown
    one, other = (from_spectra(predict.reflectance(of_formula(SHOP.colour(name)))) for name in (panel, card))
    found = compare(one, other, of_kind(formula.kind))
    assert reply.figure == found.verdict and found.why in reply.reason
    for apart in found.differences[0]:
        assert f"{apart:.2f}" in words(reply.detail)


def test_a_typed_reading_and_words_of_the_eye_are_compared_too():
    calculator = CompareColours(remember=False)
    panel = calculator.fields["panel"].entry
    panel.value = "a reading of my own"
    assert calculator.shown.figure == "goes edge to edge", "the example is close to the card"
    panel.value = "what my eye says"
    assert "flop" in calculator.shown.reason
    calculator.fields["said"].entry.value = "much darker"
    assert calculator.shown.figure != "goes edge to edge" and "much darker" in calculator.shown.reason
    before = calculator.shown
    calculator.fields["said"].entry.value = "sort of blurple"
    assert calculator.shown is before, "the last good answer stays"
    assert "blurple" in calculator.fields["said"].children[1].value, "and the sentence stands below its field"
    calculator.fields["said"].entry.value = "lighter"
    assert "refinish-bad" not in calculator.fields["said"]._dom_classes


@pytest.mark.parametrize(
    "text", ["", "45", "45: 1 2", "45: a b c", "45: nan 1 2", "45 1 2 3\n45 1 2 3", "44.5 1 2 3", "45: 1e9 0 0"]
)
def test_a_reading_that_cannot_be_read_is_one_sentence(text):
    with pytest.raises(BadEntry) as bad:
        readings(text)
    assert "allowed is" in str(bad.value) and str(bad.value).count("\n") == 0


@pytest.mark.parametrize("name", list(jobs()))
def test_the_order_of_work_begins_right_and_explains_the_first_fault(name):
    job = jobs()[name]
    calculator = OrderOfWork(name, remember=False)
    assert calculator.shown.figure == "Keeps every rule"
    earlier, *_ = (one for one in calculator.children[0].children[3].children[0].children[1].children)
    order = list(good_order(job))
    calculator.fields["task"].entry.value = order[5]
    for _ in range(5):
        earlier.click()
    order.insert(0, order.pop(5))
    wrong = first_violation(job, order)
    assert calculator.shown.reason == wrong.sentence if wrong else calculator.shown.figure == "Keeps every rule"
    assert calculator.fields["task"].reading == order[0], "the task that is moved stays chosen"
    assert calculator.shown.text.splitlines()[1:] == [f"{step}. {one}" for step, one in enumerate(order, 1)]


@pytest.mark.parametrize("make", [CompareColours, UndercoatAndCoats])
def test_the_job_is_taken_up_and_handed_on(make):
    calculator = make(remember=False)
    calculator.page.job = {"colour": "Chalk Barn, greyer", "vehicle": "demo 7"}
    assert "Chalk Barn, greyer" in calculator.shown.text
    calculator.page.job = {"colour": "a colour that is not here", "vehicle": "demo 7"}
    assert "Chalk Barn, greyer" in calculator.shown.text
