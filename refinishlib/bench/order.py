"""Order of work: the tasks of a job in the order that somebody means to do them, and the first fault explained."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Any

import ipywidgets as widgets

from refinishlib.bench.calculator import Calculator, Reply
from refinishlib.bench.fields import choice_field, offer
from refinishlib.prep.order import Job, first_violation, good_order, jobs

JOB = "blend panel"

VISIT = (
    '<tr class="refinish-visit"><th scope="rowgroup" colspan="3">Second visit: the part hangs on the vehicle</th></tr>'
)

SOURCES = {"JOB": "definition", "VISIT": "definition"}


def OrderOfWork(job: str = JOB, *, remember: bool = True) -> Calculator:
    """The order of work as a widget; it begins with an order that keeps every rule, and any task can be moved.

    job : the job that it begins with

    >>> plan = OrderOfWork(remember=False)
    >>> plan.shown.figure, plan.shown.lead
    ('Keeps every rule', '36 tasks of: Blend panel on the vehicle')
    """
    known = jobs()
    orders: dict[str, list[str]] = {name: list(good_order(one)) for name, one in known.items()}

    def show(job: str, task: str) -> Reply:
        order = orders[job]
        return _reply(known[job], order, task if task in order else order[0])

    def again(change: Any = None) -> None:
        offer(fields["task"], orders[fields["job"].reading])

    def move(by: int) -> None:
        job, task = fields["job"].reading, fields["task"].reading
        order = orders[job]
        at = order.index(task)
        to = min(max(at + by, 0), len(order) - 1)
        order.insert(to, order.pop(at))
        kept()
        again()
        calculator.again()

    def afresh() -> None:
        job = fields["job"].reading
        orders[job][:] = good_order(known[job])
        kept()
        again()
        calculator.again()

    def kept() -> None:
        calculator.page.keep("orders", {name: list(order) for name, order in orders.items()})

    def take(found: Any) -> None:
        for name, order in found.items() if isinstance(found, dict) else ():
            if name in orders and isinstance(order, list) and sorted(map(str, order)) == sorted(orders[name]):
                orders[name][:] = order
        again()
        calculator.again()

    fields = {
        "job": choice_field("Job", [(one.title, name) for name, one in known.items()], known[job] and job),
        "task": choice_field("Task to move", orders[job]),
    }
    buttons = [
        _button("Earlier", lambda: move(-1), "refinish-go"),
        _button("Later", lambda: move(1), "refinish-go"),
        _button("A good order", afresh),
    ]
    fields["job"].observe(again, "reading")
    calculator = Calculator(
        "order", "Order of work", fields, show, buttons=buttons, more={"orders": take}, remember=remember
    )
    return calculator


def _button(words: str, act: Any, *classes: str) -> widgets.Button:
    button = widgets.Button(description=words)
    for name in classes:
        button.add_class(name)
    button.on_click(lambda _: act())
    return button


def _reply(job: Job, order: Sequence[str], task: str) -> Reply:
    wrong = first_violation(job, order)
    why = {one.name: one.why for one in job.tasks}
    marks = ["refinish-now" if name == task else "" for name in order]
    rows = "".join(
        f"{VISIT if name == job.second_visit else ''}<tr class='{mark}'><td>{step}</td><th scope='row'>{escape(name)}"
        f"{_here(wrong is not None and wrong.step == step)}</th><td class='refinish-why'>{escape(why[name])}</td></tr>"
        for step, (name, mark) in enumerate(zip(order, marks, strict=True), 1)
    )
    table = (
        "<table class='refinish-table'><thead><tr><th scope='col'>Step</th><th scope='col'>Task</th>"
        f"<th scope='col'>Why</th></tr></thead><tbody>{rows}</tbody></table>"
    )
    return Reply(
        figure="Keeps every rule" if wrong is None else f"Step {wrong.step} cannot be there",
        lead=f"{len(order)} tasks of: {job.title}",
        reason=(
            f"Chosen: {task}. Why: {why[task].rstrip('.')}. Move it and see what breaks."
            if wrong is None
            else wrong.sentence
        ),
        about=f'<div class="refinish-words">{table}</div>',
        text="\n".join([job.title, *(f"{step}. {name}" for step, name in enumerate(order, 1))]),
        summary=job.title,
        tasks=(task,),
    )


def _here(wrong: bool) -> str:
    return "<div class='refinish-note'>Here is the first fault.</div>" if wrong else ""
