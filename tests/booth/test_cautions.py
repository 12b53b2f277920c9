"""Cautions stand at every task that needs them, name their topic, defer, and never call anything safe."""

import dataclasses
import inspect
import re

import pytest

from refinishlib.booth import cautions as module
from refinishlib.booth.cautions import Caution, cautions, for_task, for_tasks, notice, why_none
from refinishlib.entry import BadEntry
from refinishlib.prep.order import jobs, plan
from refinishlib.sources import is_source

ALL = list(cautions().values())


def test_every_task_of_the_trade_has_been_thought_about():
    assert set(module._by_task()) == set(plan().tasks)


@pytest.mark.parametrize("caution", ALL, ids=lambda caution: caution.name)
def test_a_caution_has_a_source_and_defers(caution):
    assert caution.sources and all(is_source(source) for source in caution.sources)
    assert caution.tasks
    assert "safety data sheet" in caution.defer and "local code" in caution.defer and "licensed" in caution.defer
    assert caution.text.endswith(caution.defer)


@pytest.mark.parametrize("caution", ALL, ids=lambda caution: caution.name)
def test_a_caution_calls_nothing_safe_and_gives_no_number_to_lean_on(caution):
    own = f"{caution.danger} {caution.usual} {caution.short}".lower()
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


# Every caution and every task that it stands at, written down a second time on purpose: taking one away, or adding one,
# is a decision that this list has to follow. Common practice, no source.
PAIRS = {
    "isocyanates": {
        "mix", "clean the gun", "spray the stepped card", "get the sprayed card approved", "epoxy primer",
        "let the epoxy cure", "primer-surfacer", "let the surfacer cure", "sealer", "flash the sealer",
        "spray the inside edges", "base", "midcoat", "clear", "cure", "base for the blend",
        "clear for the blend", "cure for the blend", "sand for the blend", "denib and polish", "mix the primer",
        "mix for the blend", "clean the primer gun", "clean the gun after the blend",
    },
    "training for diisocyanates in the European Union": {
        "mix", "clean the gun", "spray the stepped card", "epoxy primer", "primer-surfacer", "sealer",
        "spray the inside edges", "base", "midcoat", "clear", "base for the blend", "clear for the blend",
        "mix the primer", "mix for the blend", "clean the primer gun", "clean the gun after the blend",
    },
    "training and booth rules in the United States": {
        "clean the gun", "spray the stepped card", "etch primer", "epoxy primer", "primer-surfacer",
        "adhesion promoter", "sealer", "spray the inside edges", "base", "midcoat", "clear",
        "base for the blend", "clear for the blend", "clean the primer gun", "clean the gun after the blend",
    },
    "solvent vapour and fire": {
        "mix", "clean the gun", "clean with plastic cleaner", "degrease", "clean the inside edges",
        "clean the bare metal", "clean before surfacer", "final clean", "spray the stepped card", "etch primer",
        "epoxy primer", "let the epoxy cure", "primer-surfacer", "let the surfacer cure", "guide coat",
        "adhesion promoter", "flash the promoter", "sealer", "flash the sealer", "spray the inside edges",
        "base", "flash the base", "midcoat", "flash the midcoat", "clear", "cure", "degrease for the blend",
        "final clean for the blend", "base for the blend", "flash for the blend", "clear for the blend",
        "cure for the blend", "mix the primer", "mix for the blend", "clean the primer gun",
        "clean the gun after the blend",
    },
    "sanding dust": {
        "strip to bare metal", "featheredge", "sand the filler", "sand", "edge by hand", "scuff with paste",
        "scuff the inside edges", "sand for the blend", "edge for the blend", "scuff for the blend",
        "denib and polish", "polish a reference area",
    },
    "old chromate and lead coatings": {
        "assess the damage", "strip to bare metal", "featheredge", "sand", "edge by hand", "scuff with paste",
        "scuff the inside edges", "sand for the blend", "edge for the blend", "scuff for the blend",
    },
    "power tools": {
        "strip to bare metal", "sand the filler", "featheredge", "sand", "sand for the blend",
        "denib and polish", "polish a reference area", "tighten",
    },
    "static": {
        "clean with plastic cleaner", "protect edges and trim", "mask for epoxy", "mask for surfacer",
        "mask fully", "mask for sanding on the vehicle", "mask the vehicle", "final clean",
        "final clean for the blend", "tack", "tack for the blend", "adhesion promoter", "sealer", "base",
        "midcoat", "clear", "base for the blend", "clear for the blend", "unmask", "unmask for the blend",
    },
    "compressed air": {
        "blow dry", "dry again", "blow out", "dry for the blend", "blow out for the blend",
    },
    "rags and waste that heat themselves": {
        "mix", "clean the gun", "clean with plastic cleaner", "degrease", "clean the inside edges",
        "clean the bare metal", "clean before surfacer", "final clean", "tack", "fill",
        "polish a reference area", "denib and polish", "unmask", "degrease for the blend",
        "final clean for the blend", "tack for the blend", "unmask for the blend", "mix the primer",
        "mix for the blend", "clean the primer gun", "clean the gun after the blend",
    },
    "filler hardener": {
        "fill",
    },
    "acid etch": {
        "etch primer",
    },
    "heat, batteries and plastics": {
        "warm out the part", "let the epoxy cure", "let the surfacer cure", "cure", "cure for the blend",
    },
    "sensors behind a cover": {
        "assess the damage", "plan for the sensors", "remove the damaged part", "fill", "sand the filler",
        "primer-surfacer", "sand", "edge by hand", "scuff with paste", "adhesion promoter", "sealer", "base",
        "midcoat", "clear", "sand for the blend", "edge for the blend", "scuff for the blend",
        "base for the blend", "clear for the blend", "denib and polish", "fit the part", "reassemble",
        "have the sensors calibrated",
    },
    "fresh paint at hand-over": {
        "explain the aftercare",
    },
    "restraints that have not fired": {
        "assess the damage", "remove trim", "remove the damaged part", "test fit", "fit the part", "reassemble",
    },
    "high voltage": {
        "assess the damage", "remove trim", "remove the damaged part", "fit the part", "tighten", "reassemble",
    },
    "glass and sharp edges": {
        "assess the damage", "wash", "remove trim", "remove the damaged part", "test fit", "featheredge",
        "strip to bare metal", "edge by hand", "edge for the blend", "fit the part", "align to the old marks",
        "reassemble",
    },
    "lifting": {
        "remove the damaged part", "test fit", "fit the part", "start the fasteners by hand",
        "align to the old marks", "reassemble",
    },
    "noise": {
        "strip to bare metal", "sand the filler", "sand", "sand for the blend", "blow dry", "dry again",
        "dry for the blend", "blow out", "blow out for the blend", "spray the stepped card", "epoxy primer",
        "primer-surfacer", "sealer", "spray the inside edges", "base", "midcoat", "clear", "base for the blend",
        "clear for the blend", "denib and polish", "polish a reference area", "tighten",
    },
    "spills and waste": {
        "mix", "clean the gun", "wash", "clean with plastic cleaner", "degrease", "clean the inside edges",
        "rinse", "rinse again", "rinse for the blend", "degrease for the blend", "clean the bare metal",
        "clean before surfacer", "final clean", "final clean for the blend", "scuff with paste",
        "scuff for the blend", "fill", "unmask", "unmask for the blend", "strip to bare metal",
        "mix the primer", "mix for the blend", "clean the primer gun", "clean the gun after the blend",
    },
}  # fmt: skip


@pytest.mark.parametrize("name", PAIRS)
def test_each_caution_stands_at_each_of_its_tasks_and_at_no_other(name):
    assert set(cautions()[name].tasks) == PAIRS[name]


def test_no_caution_is_without_its_list():
    assert set(PAIRS) == set(cautions())


@pytest.mark.parametrize("task", plan().tasks)
def test_every_task_has_a_caution_or_a_stated_reason_why_none(task):
    if found := for_task(task):
        assert why_none(task) == ""
        assert all(caution.short in notice(task) for caution in found) and notice(task).endswith(found[0].defer)
    else:
        assert "because" in why_none(task) and "may still hurt" in why_none(task)
        assert notice(task) == why_none(task)


@pytest.mark.parametrize(
    "task, named",
    [
        ("assess the damage", {"restraints that have not fired", "high voltage", "glass and sharp edges"}),
        ("remove trim", {"restraints that have not fired", "high voltage", "glass and sharp edges"}),
        ("fit the part", {"restraints that have not fired", "high voltage", "lifting"}),
        ("reassemble", {"restraints that have not fired", "high voltage", "lifting"}),
        ("mask fully", {"static"}),
        ("sand the filler", {"sanding dust", "sensors behind a cover", "noise"}),
        ("primer-surfacer", {"sensors behind a cover"}),
        ("denib and polish", {"sensors behind a cover"}),
        ("base for the blend", {"sensors behind a cover", "isocyanates"}),
        ("clear", {"sensors behind a cover"}),
        ("mix", {"spills and waste"}),
        ("clean the gun", {"spills and waste", "isocyanates"}),
    ],
)
def test_what_was_called_harmless_is_no_longer(task, named):
    assert named <= {caution.name for caution in for_task(task)}


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
        assert {"mix", "mix for the blend"} & set(found) and any(name.startswith("clean the gun") for name in found)


def test_an_unknown_task_is_refused_rather_than_taken_for_harmless():
    with pytest.raises(BadEntry, match="task: 'sanding' was given, allowed are"):
        for_task("sanding")
