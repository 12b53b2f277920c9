"""Formula scaling beside a plain loop, the rescue, the picture, and what importing the library costs."""

import subprocess
import sys

import numpy as np
import pytest

from refinishlib.mixing.progress import steps
from refinishlib.mixing.rescue import rescue
from refinishlib.mixing.scale import rounded, scaled, to_mass
from refinishlib.picture import pour as picture
from refinishlib.shop.shop import load

INKS = {toner.name: toner.ink for toner in load().toners}
FORMULA = load().colour("Millrace Silver, as built")
MANY = np.random.default_rng(7).uniform(0.5, 100, (10_000, 6))


def plain_loop(rows, mass_g):
    """The plain way: multiply and add up, row by row, without any check."""
    result = []
    for row in rows:
        factor = mass_g / sum(row)
        own, cumulative, level = [], [], 0.0
        for parts in row:
            own.append(parts * factor)
            level += parts * factor
            cumulative.append(level)
        result.append((own, cumulative))
    return result


@pytest.mark.benchmark(group="scale one formula")
def test_one_formula_plain_loop(benchmark):
    row = [parts for _, parts in FORMULA.parts]
    own, _ = benchmark(plain_loop, [row], 500)[0]
    assert sum(own) == pytest.approx(500)


@pytest.mark.benchmark(group="scale one formula")
def test_one_formula_with_checks_and_records(benchmark):
    assert benchmark(to_mass, FORMULA.parts, 500).total_g == pytest.approx(500)


@pytest.mark.benchmark(group="scale one formula")
def test_one_formula_rounded_too(benchmark):
    assert benchmark(lambda: rounded(to_mass(FORMULA.parts, 500), 0.1)).total_g == 500


@pytest.mark.benchmark(group="scale 10 000 formulas")
def test_many_formulas_plain_loop(benchmark):
    rows = MANY.tolist()
    assert len(benchmark(plain_loop, rows, 500)) == len(rows)


@pytest.mark.benchmark(group="scale 10 000 formulas")
def test_many_formulas_as_arrays(benchmark):
    cumulative = benchmark(lambda: scaled(MANY, np.full(len(MANY), 500.0)).cumsum(axis=-1))
    assert cumulative[:, -1] == pytest.approx(np.full(len(MANY), 500.0))


@pytest.mark.benchmark(group="rescue and picture")
def test_rescue(benchmark):
    assert benchmark(rescue, FORMULA.parts, [340, 125, 0, 0, 0], 500).needed_g == pytest.approx(125 / 0.24)


@pytest.mark.benchmark(group="rescue and picture")
def test_picture(benchmark):
    left = steps(rescue(FORMULA.parts, [340, 125, 0, 0, 0], 500), 0.1)
    assert benchmark(lambda: picture.pour(picture.layers([], left, 1, INKS))).count("<rect") == len(left)


def fresh(code):
    subprocess.run([sys.executable, "-c", code], check=True)


@pytest.mark.benchmark(group="a fresh process", min_rounds=10)
def test_bare_python(benchmark):
    benchmark(fresh, "pass")


@pytest.mark.benchmark(group="a fresh process", min_rounds=10)
def test_import_refinishlib(benchmark):
    benchmark(fresh, "import refinishlib")


@pytest.mark.benchmark(group="a fresh process", min_rounds=10)
def test_import_units(benchmark):
    benchmark(fresh, "import refinishlib.units")


def test_importing_the_library_loads_nothing_heavy():
    code = (
        "import sys, refinishlib, refinishlib.units; "
        "print([m for m in ('numpy', 'scipy', 'pint', 'colour', 'matplotlib', 'ipywidgets') if m in sys.modules])"
    )
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True).stdout.strip() == "[]"
