"""`refinish bench`: the calculators on one page, for someone who paints and wants a number now."""

from __future__ import annotations

import argparse
from pathlib import Path

from refinishlib.course.lab.opening import add_lab_arguments, start_lab

# Heading, and the function that makes the calculator.
CALCULATORS = {
    "Compare two colours": "refinishlib.bench.compare.CompareColours",
    "Mix sheet": "refinishlib.bench.mix_sheet.MixSheet",
    "Undercoat and coats": "refinishlib.bench.undercoat.UndercoatAndCoats",
    "Tint": "refinishlib.bench.tint.Tint",
    "Blend plan": "refinishlib.bench.blend_plan.BlendPlan",
    "Surface plan": "refinishlib.bench.surface.SurfacePlan",
    "Order of work": "refinishlib.bench.order.OrderOfWork",
    "Booth clock": "refinishlib.bench.clock.BoothClock",
    "Amount, cost and hours": "refinishlib.bench.amount.WholeAmount",
    "Card log": "refinishlib.bench.cards.CardLog",
}
PAGE = "Calculators.ipynb"
PORT = 8878  # its own, since browsers keep remembered entries by address


def add_arguments(parser: argparse.ArgumentParser) -> None:
    add_lab_arguments(parser, PORT)


def run(arguments: argparse.Namespace) -> int:
    bench = Path.cwd() / ".local" / "painter" / "page"
    bench.mkdir(parents=True, exist_ok=True)
    (bench / PAGE).write_text(calculator_page(), encoding="utf-8")
    return start_lab(
        desk="painter", root=bench, page=PAGE, hidden=(), port=arguments.port, browser=not arguments.no_browser
    )


def calculator_page() -> str:
    """A notebook with one calculator in each cell."""
    import nbformat
    from nbformat.v4 import new_code_cell, new_notebook

    cells = []
    for title, place in CALCULATORS.items():
        module, function = place.rsplit(".", 1)
        cell = new_code_cell(f"# {title}\nfrom {module} import {function}\n\n{function}()", id=function.lower())
        cell.metadata.jupyter = {"source_hidden": True}
        cells.append(cell)
    kernel = {"name": "python3", "display_name": "Python 3 (ipykernel)", "language": "python"}
    text: str = nbformat.writes(new_notebook(cells=cells, metadata={"kernelspec": kernel}))
    return text
