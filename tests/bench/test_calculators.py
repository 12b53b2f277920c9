"""Every calculator shows what the engines say, takes up and hands on the job, and keeps the last good answer."""

import html
import re

import pytest
from ipywidgets import HTML

from refinishlib.bench.amount import WholeAmount
from refinishlib.bench.blend_plan import BlendPlan
from refinishlib.bench.cards import CardLog
from refinishlib.bench.clock import BoothClock
from refinishlib.bench.compare import CompareColours, readings
from refinishlib.bench.order import OrderOfWork
from refinishlib.bench.surface import SurfacePlan
from refinishlib.bench.tint import Tint
from refinishlib.bench.undercoat import UndercoatAndCoats
from refinishlib.booth.advice import booth_clock, scan_starts
from refinishlib.booth.breaks import clock_time
from refinishlib.booth.clock import Coating, Plan, steps_for
from refinishlib.booth.day import steady_day
from refinishlib.booth.quantity import application, bill
from refinishlib.colour import joint, predict
from refinishlib.colour.conditions import Conditions
from refinishlib.colour.decision import decide
from refinishlib.colour.hiding import coats_to_hide, fewest_coats
from refinishlib.colour.optics import of_formula
from refinishlib.colour.reading import from_spectra
from refinishlib.colour.tolerance import of_kind
from refinishlib.colour.verdict import compare
from refinishlib.entry import BadEntry
from refinishlib.job.card_log import read_log
from refinishlib.mixing.scale import to_mass
from refinishlib.prep.order import first_violation, good_order, jobs
from refinishlib.prep.removal import burn_through
from refinishlib.prep.scratch import final_scratches, ladder_for, ways_to_sand
from refinishlib.shop.shop import load

SHOP = load()


def words(text: str) -> str:
    return html.unescape(re.sub(r"<[^>]+>", " ", text))


def walk(widget):
    yield widget
    for child in getattr(widget, "children", ()):
        yield from walk(child)


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


@pytest.mark.parametrize("air, humidity", [("21 °C", "55 %"), ("12 °C", "85 %"), ("34 °C", "20 %")])
def test_the_booth_clock_tells_the_first_break_and_the_good_starts_of_the_engine(air, humidity):
    reply = BoothClock(air, humidity, "10:00", remember=False).shown
    steps = steps_for(
        [
            Coating(SHOP.product("grey sealer")),
            Coating(SHOP.product("water base"), 3),
            Coating(SHOP.product("clear"), 2),
        ]
    )
    plan = Plan(steps, steady_day(float(air.split()[0]), float(humidity.split()[0])), start_min=600.0)
    clock, scan = booth_clock(plan), scan_starts(plan)
    assert reply.figure == clock_time(clock.ends_min) and reply.reason == clock.checked.sentence
    assert scan.sentence in words(reply.about)
    for one in clock.breaks:
        assert one.sentence in words(reply.detail)
    assert set(reply.tasks) == set(clock.checked.cautions) and reply.tasks


def test_amounts_are_the_bill_of_the_ticked_panels_and_go_into_the_job():
    panels = ("left rear door", "left front door")
    reply = WholeAmount(panels, 2, remember=False).shown
    areas = [SHOP.vehicle.panel(name).area_m2 for name in panels]
    paint = bill([application(SHOP.product("water base"), areas, coats=2), application(SHOP.product("clear"), areas)])
    assert reply.figure == f"{paint.mixed_ml:.0f} mL"
    assert reply.hands["amount"] == f"{paint.amounts[0].mixed_ml:.0f} mL"
    calculator = WholeAmount(remember=False)
    before = calculator.shown
    calculator.fields["panels"].entry.value = ()
    assert calculator.shown is before and "allowed is at least one" in calculator.fields["panels"].children[1].value


def test_tint_pours_what_the_decision_pours():
    reply = Tint("Chalk Barn, as built", "Chalk Barn, greyer", remember=False).shown
    formula = SHOP.colour("Chalk Barn, as built")
    card, panel = (
        from_spectra(predict.reflectance(of_formula(SHOP.colour(f"Chalk Barn, {one}"))))
        for one in ("as built", "greyer")
    )
    others = [one for one in SHOP.colours if one.name == "Chalk Barn" and one.variant != "as built"]
    made = decide(formula, to_mass(formula.parts, 200.0).own_g, card, panel, variants=others)
    assert made.why in reply.reason
    if made.chosen.what == "add":
        assert all(name in reply.figure for name in made.correction.pour.names)
    else:
        assert reply.figure == (made.chosen.name or reply.figure)


@pytest.mark.parametrize("old", ["Millrace Silver, as built", "Millrace Silver, warmer", "Millrace Silver, darker"])
def test_the_blend_plan_is_the_joint_of_the_engine(old):
    reply = BlendPlan("left rear door", "Millrace Silver, as built", old, remember=False).shown
    part = SHOP.vehicle.panel("left rear door")
    new, there = SHOP.colour("Millrace Silver, as built"), SHOP.colour(old)
    made, _, joins = joint.plan(SHOP.vehicle, part, new, there, conditions=Conditions(undercoat=56.0))
    assert made.why == reply.reason and (f"{made.blend_m:.2f} m" in reply.figure) == bool(made.blend_m)
    assert reply.hands["panels"] == ", ".join(made.panels) and joins.why in words(reply.about)
    for stop in made.clear:
        assert stop.words in words(reply.detail)


def test_a_card_is_one_line_more_of_the_file_and_comes_first_the_next_time(tmp_path):
    log = tmp_path / "cards.csv"
    calculator = CardLog("Kiln Red", log=log, remember=False)
    assert calculator.shown.figure == "No card yet" and not log.exists()
    [button] = (one for one in walk(calculator) if getattr(one, "description", "") == "Add this card")
    for variant, verdict in (("darker", "not yet"), ("lighter", "goes edge to edge")):
        calculator.fields["variant"].entry.value = variant
        calculator.fields["verdict"].entry.value = verdict
        button.click()
    assert [(card.variant, card.verdict) for card in read_log(log.read_text())] == [
        ("darker", "not yet"),
        ("lighter", "goes edge to edge"),
    ]
    assert calculator.shown.figure == "lighter" == CardLog("Kiln Red", log=log, remember=False).shown.figure
    log.write_text(log.read_text() + "2026-99-99,x\n", "utf-8")
    again = CardLog("Kiln Red", log=log, remember=False)
    assert again.shown is None and "line 4" in " ".join(one.value for one in walk(again) if isinstance(one, HTML))
    button.click()
    assert log.read_text().endswith("2026-99-99,x\n"), "a damaged log is never written over"
