"""Every calculator shows what the engines say, takes up and hands on the job, and keeps the last good answer."""

import html
import io
import json
import re
from datetime import UTC, datetime

import pytest
from ipywidgets import HTML
from PIL import Image

from refinishlib.bench.amount import WholeAmount
from refinishlib.bench.blend_plan import BlendPlan
from refinishlib.bench.cards import CardLog
from refinishlib.bench.clock import BoothClock
from refinishlib.bench.compare import CompareColours, readings
from refinishlib.bench.mix_sheet import MixSheet
from refinishlib.bench.order import OrderOfWork
from refinishlib.bench.ratio import ByRatio
from refinishlib.bench.surface import SurfacePlan
from refinishlib.bench.tint import Tint
from refinishlib.bench.undercoat import UndercoatAndCoats
from refinishlib.booth.advice import booth_clock, scan_starts
from refinishlib.booth.breaks import clock_time
from refinishlib.booth.clock import Coating, Plan, steps_for
from refinishlib.booth.cure import pot_life_min
from refinishlib.booth.day import steady_day
from refinishlib.booth.quantity import application, bill
from refinishlib.colour import joint, predict
from refinishlib.colour.conditions import Conditions
from refinishlib.colour.decision import decide
from refinishlib.colour.hiding import coats_to_hide, fewest_coats
from refinishlib.colour.optics import of_formula
from refinishlib.colour.pour_error import smallest_mix_by_colour
from refinishlib.colour.reading import from_spectra
from refinishlib.colour.tolerance import of_kind
from refinishlib.colour.verdict import compare
from refinishlib.entry import BadEntry
from refinishlib.job.card_log import read_log
from refinishlib.mixing.ratio import by_ratio
from refinishlib.mixing.scale import to_mass
from refinishlib.prep.order import first_violation, good_order, jobs
from refinishlib.prep.removal import burn_through
from refinishlib.prep.scratch import final_scratches, ladder_for, ways_to_sand
from refinishlib.shop.product import ready_to_spray
from refinishlib.shop.shop import load
from refinishlib.units import ShopUnits

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


def test_a_photo_of_the_card_is_kept_small_beside_the_log_and_what_is_no_picture_adds_nothing(tmp_path):
    log = tmp_path / "cards.csv"
    calculator = CardLog("Kiln Red", log=log, remember=False)
    [button] = (one for one in walk(calculator) if getattr(one, "description", "") == "Add this card")
    [photo] = (one for one in walk(calculator) if getattr(one, "accept", "") == "image/*")
    whole = io.BytesIO()
    exif = Image.Exif()
    exif[0x010F] = "who made the phone"
    Image.new("RGB", (4000, 3000), "maroon").save(whole, "JPEG", exif=exif)

    def given(content: bytes) -> tuple:
        about = {"name": "x.jpg", "type": "image/jpeg", "size": len(content), "last_modified": datetime.now(UTC)}
        return ({**about, "content": memoryview(content)},)

    photo.set_trait("value", given(b"no picture"))
    button.click()
    assert not log.exists() and "allowed is a picture" in calculator.fields["note"].sentence
    calculator.fields["note"].entry.value = "by the window"
    photo.set_trait("value", given(whole.getvalue()))
    button.click()
    [card] = read_log(log.read_text())
    kept = tmp_path / "photos" / card.note.rpartition(" ")[2]
    with Image.open(kept) as found:
        assert found.size == (1600, 1200) and not found.getexif()
    assert card.note.startswith("by the window photo ") and "data:image/jpeg" in calculator.shown.about
    assert photo.value == ()


def test_the_clock_runs_from_the_tap_by_the_plan_of_that_moment_and_stops():
    calculator = BoothClock(remember=False)
    [button] = (one for one in walk(calculator) if getattr(one, "description", "") == "Start the clock now")
    rows = booth_clock(_plan(21.0, 55.0)).rows
    button.click()
    steps = calculator.page.entries["running"]
    assert [one["label"] for one in steps] == [row.label for row in rows]
    lasts_ms = [one["ends_ms"] - one["begins_ms"] for one in steps]
    assert lasts_ms == pytest.approx([60_000 * (row.ends_min - row.begins_min) for row in rows], abs=1)
    [shown] = (one for one in walk(calculator) if isinstance(one, HTML) and "data-refinish-clock" in one.value)
    assert json.loads(html.unescape(re.search('clock="(.*?)">', shown.value)[1])) == steps
    calculator.fields["air"].entry.value = "30 °C"
    assert calculator.page.entries["running"] == steps, "what runs goes on as it was begun"

    again = BoothClock(remember=False)
    again.page.remembered = {"running": steps}
    assert any("data-refinish-clock" in one.value for one in walk(again) if isinstance(one, HTML))
    again.page.remembered = {"running": [{"label": 7}]}
    button.click()
    assert calculator.page.entries["running"] == [] and shown.value == ""


def _plan(air_c: float, humidity: float) -> Plan:
    coatings = [(SHOP.product("grey sealer"), None), (SHOP.product("water base"), 3), (SHOP.product("clear"), 2)]
    steps = steps_for([Coating(sheet, count) for sheet, count in coatings])
    return Plan(steps, steady_day(air_c, humidity), start_min=810.0)


def test_by_ratio_shows_the_readings_of_the_engine_and_what_is_left_of_the_cups_life():
    calculator = ByRatio(remember=False)
    clear = SHOP.product("clear")
    mix = ready_to_spray(clear, "slow")
    calculator.fields["hardener"].entry.value = "slow hardener"
    calculator.fields["wanted"].entry.value = "1 US pint"
    calculator.fields["air"].entry.value = "30 °C"
    found = by_ratio(
        [tin.name for tin, _ in mix.parts],
        [share for _, share in mix.parts],
        [tin.density_g_per_ml for tin, _ in mix.parts],
        473.176473,
    )
    assert calculator.shown.figure == f"{', '.join(f'{one:.1f}' for one in found.pour.cumulative_g)} g"
    assert f"lives {float(pot_life_min(clear, 'slow', 30.0)):.0f} minutes" in calculator.shown.reason
    assert calculator.shown.hands["hardener"] == "slow hardener"
    calculator.fields["product"].entry.value = "water base"
    assert calculator.shown.reason == "Nothing reacts in this cup." and "hardener" not in calculator.shown.hands


def test_two_readings_of_ones_own_are_compared_typed_or_from_a_file_of_spectra():
    calculator = CompareColours(remember=False)
    for name in ("panel", "card"):
        calculator.fields[name].entry.value = "a reading of my own"
    nm = range(400, 701, 10)
    head = "name;angle;" + ";".join(f"{one} nm" for one in nm)

    def table(*shares: float) -> str:
        rows = [
            f"door;{angle};" + ";".join([f"{share:.3f}"] * len(nm))
            for angle, share in zip((15, 45, 110), shares, strict=True)
        ]
        return "\n".join([head, *rows])

    calculator.fields["typed"].entry.value = table(0.30, 0.20, 0.10)
    calculator.fields["typed_card"].entry.value = table(0.30, 0.20, 0.10)
    assert calculator.shown.figure == "goes edge to edge" and "0.00" in words(calculator.shown.detail)
    calculator.fields["typed_card"].entry.value = table(0.30, 0.20, 0.05)
    assert calculator.shown.figure == "not yet" and "darker" in calculator.shown.reason
    cgats = "NUMBER_OF_FIELDS 33\nBEGIN_DATA_FORMAT\nSAMPLE_ID ANGLE " + " ".join(f"SPECTRAL_NM{one}" for one in nm)
    rows = "\n".join(f"door {angle} " + " ".join(["0.2"] * len(nm)) for angle in (15, 45, 110))
    calculator.fields["typed_card"].entry.value = f"CGATS.17\n{cgats}\nEND_DATA_FORMAT\nBEGIN_DATA\n{rows}\nEND_DATA"
    assert calculator.fields["typed_card"].reading.lab[1].tolist() == pytest.approx([51.84, 0, 0], abs=0.01)
    calculator.fields["typed_card"].entry.value = table(0.3, 0.2, 0.1) + "\nwing;45;" + ";".join(["0.2"] * len(nm))
    assert "2 samples were given" in calculator.fields["typed_card"].sentence


def test_a_small_mix_is_judged_by_both_rules():
    sheet = MixSheet("Kiln Red, as built", "60 g", remember=False)
    sheet.judging.join(60)
    enough = smallest_mix_by_colour(SHOP.colour("Kiln Red, as built"), 0.1)
    assert f"only looked at, {enough:.1f} g are enough" in words(sheet.about.value)
    assert ("refinish-caution" in sheet.about.value) == (enough > 60)
    sheet.amount.entry.value = "900 g"
    assert "only looked at" in words(sheet.about.value)


def test_the_strip_shows_each_panel_of_the_plan_as_far_as_the_plan_goes():
    reply = BlendPlan("left rear door", "Kiln Red, as built", "Kiln Red, darker", remember=False).shown
    part = SHOP.vehicle.panel("left rear door")
    made, *_ = joint.plan(
        SHOP.vehicle, part, SHOP.colour("Kiln Red, as built"), SHOP.colour("Kiln Red, darker"),
        conditions=Conditions(undercoat=56.0),
    )  # fmt: skip
    said = re.search("<desc>(.*?)</desc>", reply.picture)[1]
    for stop in made.colour:
        run = stop.run_m(SHOP.vehicle.panel(stop.panel).length_m)
        whole = run == SHOP.vehicle.panel(stop.panel).length_m
        assert f"{stop.panel}: colour {'all over' if whole else f'to {run:.2f} m'}" in said
    assert {one.partition(":")[0] for one in said.split("; ")} == set(made.panels)
    ends = [line.split("; ") for line in reply.hands["ends"].splitlines()]
    assert {(panel, what) for panel, what, _ in ends} == {(one.panel, "colour") for one in made.colour} | {
        (one.panel, "clear") for one in made.clear
    }


def test_a_job_of_two_visits_shows_where_the_second_begins():
    reply = OrderOfWork("new metal part", remember=False).shown
    before, visit, after = reply.about.partition("Second visit")
    assert visit and "judge the part in place" in after and "judge the part in place" not in before
    assert "Second visit" not in OrderOfWork("blend panel", remember=False).shown.about


def test_the_shops_units_are_read_and_shown():
    us = ShopUnits(volume="US fl oz", film="mil", temperature="degF")
    clock = BoothClock(remember=False, units=us)
    assert clock.fields["air"].entry.value == "70 °F" and clock.shown.summary.startswith("70 °F")
    clock.fields["air"].entry.value = "68"
    assert clock.fields["air"].reading == pytest.approx(20.0)
    surface = SurfacePlan(remember=False, units=us)
    surface.fields["clear"].entry.value = "1"
    assert surface.fields["clear"].reading == pytest.approx(25.4)
    assert WholeAmount(remember=False, units=us).shown.figure.endswith("US fl oz")
    assert "US fl oz" in MixSheet(remember=False, units=us).about.value
