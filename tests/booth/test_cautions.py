"""Cautions stand at every task that needs them, name their topic, defer, and never call anything safe."""

import dataclasses
import inspect
import re

import pytest

from refinishlib.booth import cautions as module
from refinishlib.booth.cautions import Caution, cautions, for_task, for_tasks
from refinishlib.entry import BadEntry
from refinishlib.prep.order import jobs, plan
from refinishlib.sources import is_source

ALL = list(cautions().values())


def test_every_task_of_the_trade_has_been_thought_about():
    assert set(module._by_task()) == set(plan().tasks) | {"mix", "clean the gun"}


@pytest.mark.parametrize("caution", ALL, ids=lambda caution: caution.name)
def test_a_caution_has_a_source_and_defers(caution):
    assert caution.sources and all(is_source(source) for source in caution.sources)
    assert caution.tasks
    assert "safety data sheet" in caution.defer and "local code" in caution.defer and "licensed" in caution.defer
    assert caution.text.endswith(caution.defer)


@pytest.mark.parametrize("caution", ALL, ids=lambda caution: caution.name)
def test_a_caution_calls_nothing_safe_and_gives_no_number_to_lean_on(caution):
    own = f"{caution.danger} {caution.usual}".lower()
    assert not re.search(r"\b(safe|safely|harmless|no risk|enough protection|sufficient|ppm|mg|n95|p100|a2p3)\b", own)
    numbers = re.findall(r"\d[\d.]*", own)
    legal = ["24", "2023", "0.1"] if "European Union" in caution.name else []
    assert numbers == legal


def test_nothing_here_computes():
    """No function returns a number or a verdict, and no record holds one."""
    functions = [f for _, f in inspect.getmembers(module, inspect.isfunction) if f.__module__ == module.__name__]
    returned = {inspect.signature(f).return_annotation for f in functions}
    assert not {"float", "int", "bool"} & returned
    assert {field.type for field in dataclasses.fields(Caution)} == {"str", "tuple[str, ...]"}


@pytest.mark.parametrize(
    "task, topics",
    [
        ("clear", {"isocyanates", "training for diisocyanates in the European Union", "static"}),
        ("mix", {"isocyanates", "training for diisocyanates in the European Union", "solvent vapour and fire"}),
        ("sand", {"sanding dust", "old chromate and lead coatings"}),
        ("strip to bare metal", {"sanding dust", "old chromate and lead coatings", "power tools"}),
        ("degrease", {"solvent vapour and fire", "rags and waste that heat themselves"}),
        ("final clean", {"solvent vapour and fire", "static", "rags and waste that heat themselves"}),
        ("cure", {"heat, batteries and plastics", "isocyanates"}),
        ("plan for the sensors", {"sensors behind a cover"}),
        ("fill", {"sensors behind a cover", "filler hardener", "rags and waste that heat themselves"}),
        ("base", {"sensors behind a cover", "isocyanates", "solvent vapour and fire"}),
        ("blow dry", {"compressed air"}),
    ],
)  # fmt: skip
def test_the_dangers_of_the_trade_stand_at_their_task(task, topics):
    assert topics <= {caution.name for caution in for_task(task)}


@pytest.mark.parametrize(
    "topic, words",
    [
        ("isocyanates", ["1910.134", "1910.1000", "HHHHHH"]),
        ("training for diisocyanates in the European Union", ["entry 74", "2020/1149"]),
        ("solvent vapour and fire", ["1910.107", "NFPA 33"]),
        ("static", ["NFPA 77"]),
        ("old chromate and lead coatings", ["1910.1025", "1910.1026"]),
    ],
)
def test_the_topics_name_their_rules(topic, words):
    named = " ".join(cautions()[topic].sources)
    assert all(word in named for word in words)


def test_the_eu_training_duty_is_told_as_the_regulation_tells_it():
    """Regulation (EU) 2020/1149: 0.1 % by weight, from 24 August 2023, renewed every five years, employed or not."""
    text = cautions()["training for diisocyanates in the European Union"].usual
    assert all(word in text for word in ("24 August 2023", "0.1 % by weight", "five years", "self-employed"))


def test_the_sensor_caution_sends_to_the_vehicle_maker_and_to_calibration():
    caution = cautions()["sensors behind a cover"]
    assert "vehicle maker's procedure" in caution.usual and "calibrated" in caution.usual
    assert all(word in caution.danger for word in ("film", "Filler", "flake"))


def test_every_job_shows_its_cautions_in_the_order_of_its_tasks():
    for job in jobs().values():
        names = [task.name for task in job.tasks]
        found = for_tasks(names)
        assert list(found) == [name for name in names if for_task(name)]
        assert {"clear", "cure", "sand"} <= set(found)


def test_an_unknown_task_is_refused_rather_than_taken_for_harmless():
    with pytest.raises(BadEntry, match="task: 'sanding' was given, allowed are"):
        for_task("sanding")
