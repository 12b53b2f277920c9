"""The order of work: tasks with reasons, rules between them, and whether an order of a job keeps them.

A rule says that one task comes before another wherever a job has both. A few tasks must also be followed at once by
another. Every order that keeps all rules is as good as any other.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property
from importlib.resources import files
from typing import Any

import networkx as nx

from refinishlib.entry import BadEntry, one_of
from refinishlib.shop.faults import Faults, Field, read


@dataclass(frozen=True)
class Task:
    """One task, what it is for, and what a painter looks for while at it, if there is something to look for."""

    name: str
    why: str
    look: str = ""


@dataclass(frozen=True)
class Rule:
    """`first` comes before `then`; if at_once, nothing comes in between."""

    first: str
    then: str
    reason: str
    at_once: bool = False


@dataclass(frozen=True)
class Trade:
    """All tasks of the trade and the rules between them.

    follow_ons : for a task that must be followed at once, the tasks that may follow it, and the reason; in a job it is
        the first of them that the job has
    """

    tasks: dict[str, Task]
    rules: tuple[Rule, ...]
    follow_ons: tuple[tuple[str, tuple[str, ...], str], ...]


@dataclass(frozen=True)
class Job:
    """The tasks of one job, in one good order, with the rules between them, and the one that begins a second visit."""

    name: str
    title: str
    tasks: tuple[Task, ...]
    rules: tuple[Rule, ...]
    second_visit: str = ""

    @cached_property
    def needs(self) -> dict[str, list[Rule]]:
        """For each task, in order, the rules that name what comes before it, the one to begin with first."""
        found: dict[str, list[Rule]] = {task.name: [] for task in self.tasks}
        place = {name: index for index, name in enumerate(found)}
        for rule in sorted(self.rules, key=lambda rule: place[rule.first]):
            found[rule.then].append(rule)
        return found

    @cached_property
    def follows(self) -> dict[str, Rule]:
        """For each task that must be followed at once, the rule that says so."""
        return {rule.first: rule for rule in self.rules if rule.at_once}


@dataclass(frozen=True)
class Violation:
    """The first thing that is wrong with an order.

    step : where, the first task is 1; one more than the last if something is missing at the end
    task : what is done there, or what is missing
    rule : the rule that is broken, or None if only the task is missing
    sentence : what to say about it
    """

    step: int
    task: str
    rule: Rule | None
    sentence: str


def first_violation(job: Job, order: Sequence[str]) -> Violation | None:
    """The first step of an order at which a rule is broken, with its reason; None for a valid order.

    Parameters
    ----------
    job : the job, such as `jobs()["blend panel"]`
    order : names of its tasks

    Raises
    ------
    BadEntry : a task that the job does not have, or one given twice

    Source
    ------
    Common practice, no source; the reasons stand in tasks.toml.

    >>> job = jobs()["blend panel"]
    >>> first_violation(job, good_order(job)) is None
    True
    >>> hasty = [name for name in good_order(job) if name != "flash the base"]
    >>> first_violation(job, hasty).sentence
    'Step 27, clear: flash the base is missing. Clear over base that has not flashed shuts the solvent in: it dulls,
     wrinkles or lifts.'
    """
    needs, follows = job.needs, job.follows
    given = _tasks_of(job, order)
    done: set[str] = set()
    due: Rule | None = None
    for step, task in enumerate(order, 1):
        for rule in needs[task]:
            if rule.first not in done:
                what = "comes first" if rule.first in given else "is missing"
                return _violation(step, task, rule, f"{rule.first} {what}")
        if due and due.then != task:
            return _violation(step, task, due, f"after {due.first}, {due.then} follows at once")
        done.add(task)
        due = follows.get(task)
    for left in job.tasks:
        if left.name not in done:
            return Violation(len(order) + 1, left.name, None, f"{left.name} is missing: {left.why}.")
    return None


def good_order(job: Job) -> tuple[str, ...]:
    """One order that keeps all rules: of those, the one closest to how the job is written down.

    >>> good_order(jobs()["new metal part"])[-1]
    'explain the aftercare'
    """
    place = {task.name: index for index, task in enumerate(job.tasks)}
    blocks = _blocks(job)
    sorted_heads = nx.lexicographical_topological_sort(_block_graph(job, blocks), key=place.__getitem__)
    return tuple(task for head in sorted_heads for task in blocks[head])


def graph(job: Job) -> nx.DiGraph:
    """The job as a graph: a node for each task with its `why`, an edge for each rule with its `reason` and `at_once`.

    >>> graph(jobs()["blend panel"]).edges["degrease", "sand"]["reason"]
    'Sanding before degreasing works the contamination into the scratches.'
    """
    drawn = nx.DiGraph()
    drawn.add_nodes_from((task.name, {"why": task.why}) for task in job.tasks)
    drawn.add_edges_from((r.first, r.then, {"reason": r.reason, "at_once": r.at_once}) for r in job.rules)
    return drawn


def make_job(name: str, title: str, tasks: Iterable[str], trade: Trade | None = None) -> Job:
    """A job of these tasks, with the rules that lie between them.

    Parameters
    ----------
    name, title : what to call it
    tasks : names of tasks, in the order that `good_order` stays close to
    trade : the tasks and rules to take; None for the shop's own

    Raises
    ------
    BadEntry : an unknown task, one given twice, or rules that no order can keep

    >>> [rule.first for rule in make_job("small", "Two tasks", ["base", "clear"]).rules]
    ['base']
    """
    trade = trade or plan()
    names = list(tasks)
    for index, task in enumerate(names):
        one_of("task", task, trade.tasks)
        if task in names[:index]:
            raise BadEntry(f"task: {task!r} was given twice, allowed is each task once.")
    job = Job(name, title, tuple(trade.tasks[task] for task in names), tuple(_rules(names, trade)))
    blocks = _blocks(job)
    if sorted(task for block in blocks.values() for task in block) != sorted(names):
        raise BadEntry("task: two tasks want the same one at once, or each other, allowed is one.")
    if ring := _ring(_block_graph(job, blocks)):
        raise BadEntry(f"task: {' before '.join(ring)} was asked for, allowed are rules that some order can keep.")
    return job


@cache
def plan() -> Trade:
    """The shop's own tasks and rules.

    >>> plan().tasks["tack"].why
    'the cloth takes the last dust, and only just before the coat does it stay off'
    """
    return read_plan((files(__package__) / "tasks.toml").read_text(encoding="utf-8"), file="tasks.toml")


@cache
def jobs() -> dict[str, Job]:
    """The shop's own jobs by name.

    >>> list(jobs())[:3]
    ['new metal part', 'new part, second visit', 'blend panel']
    """
    return read_jobs((files(__package__) / "jobs.toml").read_text(encoding="utf-8"), file="jobs.toml")


def read_plan(text: str, *, file: str = "the text") -> Trade:
    """Tasks and rules from a task file.

    Parameters
    ----------
    text : TOML with `source`, and tables `[[task]]`, `[[rule]]` and `[[next]]` as in tasks.toml
    file : the name to say in a fault

    Raises
    ------
    BadEntry : one line for each fault, with its line number; nothing is used of a file that has any

    >>> read_plan('source = "teaching value"\\n[[task]]\\nname = "wash"\\n')
    Traceback (most recent call last):
        ...
    refinishlib.entry.BadEntry: the text, line 1: next is missing.
    the text, line 1: rule is missing.
    the text, line 2, task "wash": why is missing.
    """
    first, reason = Field("first", str), Field("reason", str)
    tables = (
        Field("source", str),
        Field(
            "task",
            fields=(Field("name", str, unique=True), Field("why", str), Field("look", str, optional=True)),
            many=True,
        ),
        Field("rule", fields=(first, Field("then", str), reason), many=True),
        Field("next", fields=(first, Field("then", str, many=True), reason), many=True),
    )
    data = read(text, tables, file=file, also=_plan_faults)
    return Trade(
        {row["name"]: Task(**row) for row in data["task"]},
        tuple(Rule(**row) for row in data["rule"]),
        tuple((row["first"], tuple(row["then"]), row["reason"]) for row in data["next"]),
    )


def read_jobs(text: str, trade: Trade | None = None, *, file: str = "the text") -> dict[str, Job]:
    """Jobs from a job file.

    Parameters
    ----------
    text : TOML with `source` and tables `[[job]]` as in jobs.toml
    trade : the tasks and rules to take; None for the shop's own
    file : the name to say in a fault

    Raises
    ------
    BadEntry : one line for each fault, with its line number; nothing is used of a file that has any

    >>> list(read_jobs('source = "teaching value"\\n[[job]]\\nname = "a"\\ntitle = "A"\\ntasks = ["wash"]\\n'))
    ['a']
    """
    trade = trade or plan()
    fields = (
        Field("name", str, unique=True),
        Field("title", str),
        Field("tasks", str, many=True, choices=tuple(trade.tasks)),
        Field("second_visit", str, optional=True, choices=tuple(trade.tasks)),
    )

    def also(data: dict[str, Any]) -> Faults:
        for index, row in enumerate(data["job"]):
            try:
                make_job(row["name"], row["title"], row["tasks"], trade)
            except BadEntry as fault:
                yield ("job", index, "tasks"), str(fault)

    data = read(text, (Field("source", str), Field("job", fields=fields, many=True)), file=file, also=also)
    return {
        row["name"]: replace(
            make_job(row["name"], row["title"], row["tasks"], trade), second_visit=row.get("second_visit", "")
        )
        for row in data["job"]
    }


def _plan_faults(data: dict[str, Any]) -> Faults:
    known = {row["name"] for row in data["task"]}
    drawn = nx.DiGraph()
    for table in ("rule", "next"):
        for index, row in enumerate(data[table]):
            after = row["then"] if isinstance(row["then"], list) else [row["then"]]
            places = [("first", row["first"]), *(("then", name) for name in after)]
            for field, name in places:
                if name not in known:
                    yield (table, index, field), f"{field}: {name!r} was given, allowed is the name of a task."
            if table == "rule":
                pair = (row["first"], row["then"])
                if drawn.has_edge(*pair):
                    yield (table, index), f"rule: {pair[0]!r} before {pair[1]!r} was given twice, allowed is once."
                elif pair[0] == pair[1] or (pair[0] in drawn and pair[1] in drawn and nx.has_path(drawn, *pair[::-1])):
                    yield (table, index), f"rule: {pair[0]!r} before {pair[1]!r} closes a ring, allowed is none."
                else:
                    drawn.add_edge(*pair)


def _rules(names: Sequence[str], trade: Trade) -> Iterator[Rule]:
    here = set(names)
    yield from (rule for rule in trade.rules if rule.first in here and rule.then in here)
    for first, candidates, reason in trade.follow_ons:
        then = next((name for name in candidates if name in here), None)
        if first in here and then:
            yield Rule(first, then, reason, at_once=True)


def _blocks(job: Job) -> dict[str, list[str]]:
    """Tasks that follow each other at once, under the first of them."""
    followers = {rule.then for rule in job.follows.values()}
    blocks = {}
    for task in job.tasks:
        if task.name not in followers:
            block = blocks[task.name] = [task.name]
            while block[-1] in job.follows and len(block) <= len(job.tasks):
                block.append(job.follows[block[-1]].then)
    return blocks


def _block_graph(job: Job, blocks: dict[str, list[str]]) -> nx.DiGraph:
    head = {task: first for first, block in blocks.items() for task in block}
    drawn = nx.DiGraph()
    drawn.add_nodes_from(blocks)
    drawn.add_edges_from((head[r.first], head[r.then]) for r in job.rules if head[r.first] != head[r.then])
    return drawn


def _ring(drawn: nx.DiGraph) -> list[str]:
    try:
        edges = nx.find_cycle(drawn)
    except nx.NetworkXNoCycle:
        return []
    return [edges[0][0], *(edge[1] for edge in edges)]


def _violation(step: int, task: str, rule: Rule, what: str) -> Violation:
    return Violation(step, task, rule, f"Step {step}, {task}: {what}. {rule.reason}")


def _tasks_of(job: Job, order: Sequence[str]) -> set[str]:
    """The tasks of an order, if all of them belong to the job and none comes twice."""
    if isinstance(order, str) or not isinstance(order, Sequence):
        raise BadEntry(f"order: {order!r} was given, allowed is a list of tasks.")
    if not all(isinstance(task, str) and task in job.needs for task in order):
        for task in order:
            one_of("order", task, job.needs)
    given = set(order)
    if len(given) < len(order):
        twice = next(task for index, task in enumerate(order) if task in order[:index])
        raise BadEntry(f"order: {twice!r} was given twice, allowed is each task once.")
    return given
