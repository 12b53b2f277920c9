"""Whatever is typed into any field of any calculator: a reading or one sentence, and the last good answer stays."""

import importlib
import re
from html import escape

import ipywidgets as widgets
import pytest

from refinishlib.bench.calculator import Calculator
from refinishlib.bench.registry import CALCULATORS

TYPINGS = (
    "", " ", "abc", "0", "-5", "34,2", "1e999", "-1e999", "nan", "inf", "١٢", "１２", "½", "1 1/2", "12 parsec",
    "12 g g", "<b>1</b>", "'; DROP", "1/0", "7 x 28", "1²", "%", "100 %", "9" * 400, "x" * 5000, "1\t2", "1\n2",
    "0x10", "1_000", "1,234", "--3", "+", ".", "°C", "70 °F", "25:99", "13:30", "45: 1 2 3", "\u202e12", "\u0000",
    "None", "[1]", "darker", "a little lighter, flop darker", "🙂", "12 mil", "7 oz", "1 US pint", "much much",
)  # fmt: skip

NO_ANSWER = re.compile(r"\b(?:nan|inf|None|Traceback|Error)\b")


def make(one, tmp_path, monkeypatch) -> widgets.Widget:
    monkeypatch.chdir(tmp_path)  # the card log lies where the calculators were started
    return getattr(importlib.import_module(f"refinishlib.bench.{one.module}"), one.function)(remember=False)


def text_fields(calculator) -> dict:
    own = calculator.fields if isinstance(calculator, Calculator) else vars(calculator)
    return {
        name: one
        for name, one in own.items()
        if isinstance(getattr(one, "entry", None), widgets.Text | widgets.Textarea)
    }


def shown(calculator) -> str:
    def walk(one):
        yield one
        for child in getattr(one, "children", ()):
            yield from walk(child)

    return re.sub("<[^>]+>", " ", " ".join(one.value for one in walk(calculator) if isinstance(one, widgets.HTML)))


def test_the_bank_is_large_enough(tmp_path, monkeypatch):
    fields = sum(len(text_fields(make(one, tmp_path, monkeypatch))) for one in CALCULATORS)
    assert fields * len(TYPINGS) >= 400


@pytest.mark.parametrize("one", CALCULATORS, ids=lambda one: one.key)
def test_every_typing_is_a_reading_or_one_sentence(one, tmp_path, monkeypatch):
    calculator = make(one, tmp_path, monkeypatch)
    if isinstance(calculator, Calculator):
        assert calculator.shown, "it begins with an answer"
        assert "allowed" not in shown(calculator), "and with no complaint"
    for name, field in text_fields(calculator).items():
        good = field.entry.value
        for typed in TYPINGS:
            field.entry.value = typed
            assert field.entry.value == typed, "what was typed stays"
            assert (field.reading is None) == bool(field.sentence), (name, typed)
            assert "\n" not in field.sentence and len(field.sentence) < 400, (name, typed)
            assert not NO_ANSWER.search(shown(calculator).replace(escape(repr(typed)), "")), (name, typed)
        field.entry.value = good
        assert field.reading is not None and not field.sentence


@pytest.mark.parametrize("one", CALCULATORS, ids=lambda one: one.key)
def test_every_choice_gives_an_answer_or_a_sentence(one, tmp_path, monkeypatch):
    calculator = make(one, tmp_path, monkeypatch)
    own = calculator.fields if isinstance(calculator, Calculator) else vars(calculator)
    for name, field in own.items():
        entry = getattr(field, "entry", None)
        if not isinstance(entry, widgets.Dropdown | widgets.SelectionSlider):
            continue
        first = entry.index
        for index in {0, len(entry.options) // 2, len(entry.options) - 1}:
            entry.index = index
            assert not NO_ANSWER.search(shown(calculator)), (name, entry.label)
        entry.index = first
