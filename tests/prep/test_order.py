"""Orders of work: every rule is kept, every broken one is found and named, and equally good orders are all accepted."""

import random
import tomllib
from itertools import combinations, islice
from pathlib import Path

import networkx as nx
import pytest

from refinishlib import prep
from refinishlib.entry import BadEntry
from refinishlib.prep.order import first_violation, good_order, graph, jobs, make_job, plan, read_jobs, read_plan

HERE = Path(prep.__file__).parent
RAW = tomllib.loads((HERE / "tasks.toml").read_text(encoding="utf-8"))
JOBS = {row["name"]: row["tasks"] for row in tomllib.loads((HERE / "jobs.toml").read_text(encoding="utf-8"))["job"]}
BEFORE = [(rule["first"], rule["then"], rule["reason"]) for rule in RAW["rule"]]
RANDOM_ORDERS = 1000


def before(tasks):
    return [(first, then) for first, then, _ in BEFORE if first in tasks and then in tasks]


def at_once(tasks):
    """What must follow at once, straight from the file."""
    found = {}
    for row in RAW["next"]:
        then = next((name for name in row["then"] if name in tasks), None)
        if row["first"] in tasks and then:
            found[row["first"]] = then
    return found


def keeps_all(order):
    """The plain way: every rule, one after the other, on positions."""
    place = {task: index for index, task in enumerate(order)}
    return all(place[a] < place[b] for a, b in before(place)) and all(
        place[b] == place[a] + 1 for a, b in at_once(place).items()
    )


def random_orders(tasks, draw):
    """Any task that is free to start, at random; tasks that belong together are drawn together."""
    follow, needed = at_once(tasks), {task: set() for task in tasks}
    for first, then in before(tasks):
        needed[then].add(first)
    chains = []
    for task in tasks:
        if task not in follow.values():
            chain = [task]
            while chain[-1] in follow:
                chain.append(follow[chain[-1]])
            chains.append((chain, set().union(*(needed[link] for link in chain)) - set(chain)))
    while True:
        left, done, order = list(chains), set(), []
        while left:
            drawn = draw.choice([entry for entry in left if entry[1] <= done])
            left.remove(drawn)
            order += drawn[0]
            done.update(drawn[0])
        yield order


@pytest.mark.parametrize("name", JOBS)
def test_the_written_order_and_the_good_order_are_valid(name):
    job = jobs()[name]
    assert keeps_all(JOBS[name])
    assert good_order(job) == tuple(JOBS[name])
    assert first_violation(job, JOBS[name]) is None


@pytest.mark.parametrize("name", JOBS)
def test_a_thousand_random_valid_orders_are_accepted(name):
    job, draw = jobs()[name], random.Random(name)
    orders = {tuple(order) for order in islice(random_orders(JOBS[name], draw), RANDOM_ORDERS + 100)}
    assert len(orders) >= RANDOM_ORDERS
    assert [order for order in orders if not keeps_all(order) or first_violation(job, order)] == []


@pytest.mark.parametrize("name", JOBS)
def test_every_forbidden_swap_is_refused_and_every_allowed_one_accepted(name):
    job, draw = jobs()[name], random.Random(name)
    verdicts = set()
    for order in [JOBS[name], *islice(random_orders(JOBS[name], draw), 3)]:
        for i, j in combinations(range(len(order)), 2):
            swapped = list(order)
            swapped[i], swapped[j] = swapped[j], swapped[i]
            valid = keeps_all(swapped)
            assert (first_violation(job, swapped) is None) == valid, (order[i], order[j])
            verdicts.add(valid)
    assert verdicts == {True, False}


@pytest.mark.parametrize("name", JOBS)
def test_every_rule_of_a_job_is_found_and_named_when_it_alone_is_broken(name):
    """An order that keeps every rule but one, wherever there is such an order, is refused for just that rule."""
    job, tasks = jobs()[name], JOBS[name]
    follow = at_once(tasks)
    alone = 0
    for first, then, reason in [row for row in BEFORE if row[0] in tasks and row[1] in tasks]:
        others = nx.DiGraph([edge for edge in before(tasks) if edge != (first, then)])
        others.add_nodes_from(tasks)
        if nx.has_path(others, first, then):
            continue  # other rules ask the same, so no order breaks only this one; see the next test
        others.add_edge(then, first)
        place = {task: index for index, task in enumerate(tasks)}
        order = list(nx.lexicographical_topological_sort(others, key=place.__getitem__))
        found = first_violation(job, order)
        assert found is not None
        if found.rule.at_once:  # the move has also torn two tasks apart that belong together
            assert follow[found.rule.first] == found.rule.then
        else:
            assert (found.rule.first, found.rule.then, found.task) == (first, then, then)
            assert found.sentence == f"Step {order.index(then) + 1}, {then}: {first} comes first. {reason}"
        alone += 1
    assert alone > len(tasks) / 2


@pytest.mark.parametrize("first, then, reason", BEFORE, ids=lambda text: text if len(text) < 40 else "")
def test_every_rule_in_the_file_is_named_by_a_job_of_its_two_tasks(first, then, reason):
    found = first_violation(make_job("two", "Two tasks", [first, then]), [then, first])
    assert (found.step, found.task) == (1, then)
    assert found.sentence.endswith(f"{first} comes first. {reason}")
    assert reason.endswith(".") and len(reason) > 30


@pytest.mark.parametrize("row", RAW["next"], ids=lambda row: row["first"])
def test_every_task_that_must_follow_at_once_is_missed_when_something_comes_between(row):
    for then in row["then"]:
        job = make_job("three", "Three tasks", [row["first"], then, "assess the damage"])
        found = first_violation(job, [row["first"], "assess the damage", then])
        assert found.step == 2
        assert found.sentence == (
            f"Step 2, assess the damage: after {row['first']}, {then} follows at once. {row['reason']}"
        )


def test_no_rule_gets_lost_in_a_job_that_leaves_a_task_out():
    """What all rules together ask of two tasks, the rules between a job's own tasks ask too."""

    def either_first(first, then):
        """What only goes through a task that the job does not have."""
        return (
            first.startswith("mix")  # before what is sprayed, and no sooner
            or first == "get the sprayed card approved"  # before the colour, and no sooner
            or (first == "gauge the film" and not then.startswith(("sand", "edge")))  # before sanding, and no sooner
            or then == "judge the part in place"  # whoever finds the part hanging may look at once
            or (first, then) == ("reassemble", "record")
        )

    whole = nx.transitive_closure_dag(nx.DiGraph(edge[:2] for edge in BEFORE))
    lost = set()
    for tasks in JOBS.values():
        own = nx.transitive_closure_dag(nx.DiGraph(before(tasks)))
        lost |= {edge for edge in whole.subgraph(tasks).edges if not own.has_edge(*edge)}
    assert {edge for edge in lost if not either_first(*edge)} == set()


@pytest.mark.parametrize(
    "name, hasty, word",
    [
        ("blend panel", ("sand", "degrease"), "works the contamination into the scratches"),
        ("blend panel", ("tack", "blow out"), "Tacking before blowing out"),
        ("blend panel", ("clear", "flash the base"), "has not flashed"),
        ("blend panel", ("base", "get the sprayed card approved"), "nobody has seen sprayed"),
        ("new metal part", ("degrease", "test fit"), "fingerprints"),
        ("plastic bumper cover", ("sealer", "adhesion promoter"), "bare plastic"),
        ("bare-metal repair", ("fill", "epoxy primer"), "bare steel"),
        ("bare-metal repair with etch", ("etch primer", "fill"), "acid"),
        ("bare-metal repair", ("sand", "guide coat"), "low spots"),
        ("three-stage colour", ("get the sprayed card approved", "spray the stepped card"), "how many midcoats"),
        ("three-stage colour", ("midcoat", "flash the base"), "lets the pearl swim"),
        ("blend panel", ("sand", "gauge the film"), "through it"),
        ("blend panel", ("sand", "read the colour"), "no colour to read"),
        ("blend panel", ("edge by hand", "degrease"), "works the contamination into the scratches"),
        ("blend panel", ("protect edges and trim", "rinse"), "keeps the cleaner under its edge"),
        ("blend panel", ("mask fully", "rinse again"), "comes out in the booth"),
        ("blend panel", ("final clean", "mask fully"), "fingerprints"),
        ("blend panel", ("base", "tack"), "Dust under the base"),
        ("blend panel", ("unmask", "cure"), "tears its edge"),
        ("blend panel", ("clear", "base"), "never under it"),
        ("blend panel", ("denib and polish", "check film and colour"), "how much there is to polish away"),
        ("new metal part", ("base", "flash the sealer"), "sinks and shuts the solvent in"),
        ("new metal part", ("fit the part", "check film and colour"), "sprayed again more easily"),
        ("new metal part", ("judge the part in place", "fit the part"), "where it will be seen"),
        # faults that stood: each of these orders passed, or could not be said
        ("bare-metal repair", ("epoxy primer", "mask for epoxy"), "on the glass it is too late"),
        ("bare-metal repair", ("primer-surfacer", "mask for surfacer"), "on the trim it is too late"),
        ("bare-metal repair with etch", ("etch primer", "mask for surfacer"), "Acid on trim"),
        ("new metal part", ("denib and polish", "cure for the blend"), "shine sinks back"),
        ("new metal part", ("sand for the blend", "cure"), "pulled through at the edges"),
        ("new metal part", ("sand for the blend", "degrease for the blend"), "contamination into the scratches"),
        ("new metal part", ("degrease for the blend", "judge the part in place"), "decided on the vehicle"),
        ("new metal part", ("base", "spray the inside edges"), "Dry mist from the folds"),
        ("new metal part", ("sand", "clean the inside edges"), "wax from a fold"),
        ("new metal part", ("sand", "test fit"), "a sanded one does not"),
        ("new metal part", ("scuff with paste", "test fit"), "a scuffed one does not"),
        ("new metal part", ("tighten", "check the gaps"), "cannot be set any more"),
        ("new metal part", ("align to the old marks", "start the fasteners by hand"), "hangs on nothing"),
        ("new metal part", ("check the gaps", "align to the old marks"), "even in the wrong place"),
        ("new metal part", ("remove the damaged part", "mark the old position"), "nobody knows where it sat"),
        ("blend panel", ("sand", "agree the scope"), "nobody pays for"),
        ("blend panel", ("clear", "mix"), "Nothing is sprayed that was not mixed"),
        ("blend panel", ("clean the gun", "clear"), "out of it the same day"),
        ("new metal part", ("explain the aftercare", "reassemble"), "together"),
        ("plastic bumper cover", ("sand", "plan for the sensors"), "vehicle maker's procedure"),
        ("plastic bumper cover", ("have the sensors calibrated", "reassemble"), "final place"),
        ("plastic bumper cover", ("sand", "clean with plastic cleaner"), "release agent into the scratches"),
        ("plastic bumper cover", ("sealer", "flash the promoter"), "lets go later"),
        ("bare-metal repair", ("epoxy primer", "clean the bare metal"), "flash rust"),
        ("bare-metal repair", ("fill", "let the epoxy cure"), "lifts it"),
        ("bare-metal repair", ("primer-surfacer", "clean before surfacer"), "pinholes"),
        ("bare-metal repair", ("sand", "let the surfacer cure"), "clogs the paper"),
    ],
)
def test_the_mistakes_that_the_trade_warns_of(name, hasty, word):
    """`hasty` gives a task and what it is done ahead of; all else stays where it was."""
    early, late = hasty
    order = [task for task in JOBS[name] if task != early]
    order.insert(order.index(late), early)
    found = first_violation(jobs()[name], order)
    assert found.task == early or found.rule.at_once
    assert word in found.sentence


@pytest.mark.parametrize("name", JOBS)
def test_the_code_may_be_looked_up_before_anything_else(name):
    """Everyone starts at the plate; to look it up before reading was refused."""
    order = ["find the code", *(task for task in JOBS[name] if task != "find the code")]
    assert first_violation(jobs()[name], order) is None


def test_every_job_that_sprays_has_mixing_and_cleaning_the_gun():
    sprays = {"base", "clear", "base for the blend", "clear for the blend", "sealer", "primer-surfacer", "epoxy primer"}
    for tasks in JOBS.values():
        assert sprays & set(tasks)
        assert {"mix", "mix for the blend"} & set(tasks) and any(task.startswith("clean the gun") for task in tasks)
        if {"epoxy primer", "primer-surfacer"} & set(tasks):
            assert {"mix the primer", "clean the primer gun"} <= set(tasks)


def test_no_gun_is_left_with_what_reacts_in_it_until_the_next_visit():
    for tasks in JOBS.values():
        for spray, clean, later in (
            ("clear", "clean the gun", "check film and colour"),
            ("primer-surfacer", "clean the primer gun", "sand"),
            ("clear for the blend", "clean the gun after the blend", "judge the blend"),
        ):
            if spray in tasks:
                assert tasks.index(spray) < tasks.index(clean)
                assert later not in tasks or tasks.index(clean) < tasks.index(later)


@pytest.mark.parametrize(
    "task",
    ["fill", "sand", "edge by hand", "warm out the part", "clean with plastic cleaner", "scuff the inside edges"],
)
def test_the_sensors_are_planned_for_before_anything_is_done_to_their_cover(task):
    job = make_job("two", "Two tasks", ["plan for the sensors", task])
    found = first_violation(job, [task, "plan for the sensors"])
    assert "plan for the sensors comes first" in found.sentence and "vehicle maker's procedure" in found.sentence


def test_etch_over_filler_is_warned_of_where_it_is_sprayed():
    assert "never over the filler" in plan().tasks["etch primer"].look


@pytest.mark.parametrize(
    ("task", "words"),
    [
        ("sealer", "dull means go on"),
        ("sand", "even dull sheen means ready for paint; peel is dulled, not levelled; a light, even hand"),
        ("scuff with paste", "a first scuff dry shows the bright spots that a wet one hides"),
        ("clear", "one coat of clear where it will be sanded and blended"),
        ("degrease", "wider than you will sand"),
        ("start the fasteners by hand", "none tight"),
        ("check the gaps", "the same as on the other side"),
    ],
)
def test_what_a_painter_looks_for_is_data_too(task, words):
    assert words in plan().tasks[task].look


def test_the_second_visit_has_the_care_of_the_first():
    """Clean, protect, sand, edge, scuff, rinse, dry, mask, clean, blow out, tack: it was one single task."""
    second = [task for task in JOBS["new part, second visit"] if "blend" in task and task != "decide on the blend"]
    cares = "degrease, sand, edge, scuff, rinse, dry, final clean, blow out, tack, base, clear, cure, unmask"
    assert {f"{care} for the blend" for care in cares.split(", ")} <= set(second)
    assert set(second) <= set(JOBS["new metal part"])


def test_a_task_left_out_is_missed_where_it_is_needed_and_at_the_end():
    job = jobs()["blend panel"]
    for task in JOBS["blend panel"]:
        order = [name for name in JOBS["blend panel"] if name != task]
        found = first_violation(job, order)
        assert f"{task} is missing" in found.sentence or found.rule.at_once
    assert first_violation(job, JOBS["blend panel"][:-1]).step == len(job.tasks)
    assert first_violation(job, []).task == JOBS["blend panel"][0]


@pytest.mark.parametrize(
    "order, sentence",
    [
        (["wash", "wash"], "order: 'wash' was given twice, allowed is each task once."),
        (["polish the chrome"], "order: 'polish the chrome' was given, allowed are "),
        (["etch primer"], "order: 'etch primer' was given, allowed are "),
        (["base", "wash", "wash"], "order: 'wash' was given twice"),
        (["base", ["wash"]], "order: ['wash'] was given, allowed are "),
        (["base", float("nan")], "order: nan was given, allowed are "),
        ("wash", "order: 'wash' was given, allowed is a list of tasks."),
        (None, "order: None was given, allowed is a list of tasks."),
    ],
)
def test_an_order_of_something_else_is_refused_in_one_sentence(order, sentence):
    with pytest.raises(BadEntry) as caught:
        first_violation(jobs()["blend panel"], order)
    assert str(caught.value).startswith(sentence)


def test_the_graph_shows_every_task_and_rule_of_the_job():
    for job in jobs().values():
        drawn = graph(job)
        assert list(drawn) == [task.name for task in job.tasks]
        assert {(r.first, r.then) for r in job.rules} == set(drawn.edges)
        assert nx.is_directed_acyclic_graph(drawn)


def test_every_task_of_the_trade_belongs_to_a_job():
    assert set(plan().tasks) == {task for tasks in JOBS.values() for task in tasks}


FAULTY_PLAN = """source = "teaching value"

[[task]]
name = "wash"
why = "dirt"

[[task]]
name = "wash"
why = 3

[[task]]
nam = "sand"
why = "grip"

[[rule]]
first = "wash"
then = "sand"

[[next]]
first = "wash"
then = "sand"
reason = "at once"
"""


def test_a_faulty_task_file_lists_all_faults_with_their_lines():
    with pytest.raises(BadEntry) as caught:
        read_plan(FAULTY_PLAN, file="tasks.toml")
    rows = str(caught.value).splitlines()
    assert [row.split(",", 1)[1].split(":")[0].split(",")[0] for row in rows] == [
        " line 8", " line 9", " line 11", " line 12", " line 15", " line 21",
    ]  # fmt: skip
    assert "given twice" in rows[0] and "why" in rows[1] and "name is missing" in rows[2] and "nam " in rows[3]


def test_rules_that_name_no_task_or_close_a_ring_are_faults_of_the_file():
    text = FAULTY_PLAN.replace('name = "wash"\nwhy = 3', 'name = "dry"\nwhy = "wet"').replace("nam =", "name =")
    text = text.replace('then = "sand"\n\n', 'then = "sand"\nreason = "a"\n\n').replace(
        'then = "sand"\nreason = "at once"', 'then = ["buff"]\nreason = "at once"'
    )
    text += '\n[[rule]]\nfirst = "sand"\nthen = "wash"\nreason = "b"\n'
    text += '\n[[rule]]\nfirst = "sand"\nthen = "rub"\nreason = "c"\n'
    with pytest.raises(BadEntry) as caught:
        read_plan(text, file="tasks.toml")
    assert str(caught.value).splitlines() == [
        "tasks.toml, line 22: then: 'buff' was given, allowed is the name of a task.",
        "tasks.toml, line 25: rule: 'sand' before 'wash' closes a ring, allowed is none.",
        "tasks.toml, line 32: then: 'rub' was given, allowed is the name of a task.",
    ]


def test_a_faulty_job_file_lists_all_faults_and_gives_no_job():
    text = (
        'source = "teaching value"\n\n[[job]]\nname = "one"\ntitle = "One"\ntasks = ["wash", "swim"]\n\n'
        '[[job]]\nname = "one"\ntasks = ["base"]\n'
    )
    with pytest.raises(BadEntry) as caught:
        read_jobs(text, file="jobs.toml")
    assert [row.split(":")[0] for row in str(caught.value).splitlines()] == [
        'jobs.toml, line 6, job "one"',
        'jobs.toml, line 8, job "one"',
        'jobs.toml, line 9, job "one"',
    ]
    twice = 'source = "teaching value"\n[[job]]\nname = "one"\ntitle = "One"\ntasks = ["wash", "wash"]\n'
    with pytest.raises(BadEntry, match=r"line 5.*'wash' was given twice"):
        read_jobs(twice)


def test_rules_that_no_order_can_keep_are_refused():
    text = """source = "teaching value"
[[task]]
name = "a"
why = "a"
[[task]]
name = "b"
why = "b"
[[task]]
name = "c"
why = "c"
[[rule]]
first = "a"
then = "b"
reason = "a first"
[[rule]]
first = "b"
then = "c"
reason = "b first"
[[next]]
first = "a"
then = ["c"]
reason = "c at once"
"""
    trade = read_plan(text)
    assert good_order(make_job("two", "Two", ["a", "c"], trade)) == ("a", "c")
    with pytest.raises(BadEntry, match="some order can keep"):
        make_job("three", "Three", ["a", "b", "c"], trade)
    both = trade.__class__(trade.tasks, (), (("a", ("c",), "x"), ("b", ("c",), "y")))
    with pytest.raises(BadEntry, match="at once"):
        make_job("three", "Three", ["a", "b", "c"], both)
