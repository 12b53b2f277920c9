"""Measured spectra from a text file: a plain table (CSV), or CGATS.17 / ISO 28178 text.

Both are read by what their columns are called, in any order. What a file does not say for certain is asked for: never
is a share taken for a percentage in silence.
"""

from __future__ import annotations

import csv
import re
import shlex
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from refinishlib.colour.reading import Reading, average, from_spectra
from refinishlib.colour.steps import at_ten_nm
from refinishlib.entry import BadEntry, one_of

SCALES = {"share": 1.0, "percent": 100.0}
SURELY_SHARE = 1.2
SURELY_PERCENT = 20.0
MOST_ROWS = 20_000
MOST_LETTERS = 20_000_000
MIDDLE_DEG = 45

SOURCES = {
    "SCALES": "definition",
    "SURELY_SHARE": "teaching value: a file whose largest value is no larger is taken to hold shares of the white tile",
    "SURELY_PERCENT": "teaching value: a file whose largest value is at least this is taken to hold percentages; no "
    "metallic's face reads 20 times the white tile",
    "MOST_ROWS": "teaching value: limit of entry",
    "MOST_LETTERS": "teaching value: limit of entry",
    "MIDDLE_DEG": "ASTM E2194 (2014): 45 degrees from the mirror is what an instrument with one angle reads",
}

# "400", "400 nm", "R400", "nm400", "SPECTRAL_NM400", "SPECTRAL_400", "SPEC_400", "400_NM".
_WAVELENGTH = re.compile(r"^(?:SPECTRAL_?|SPEC_?|R_?)?(?:NM_?)?(\d{3,4}(?:[.,]\d+)?)(?: ?_?NM)?$", re.IGNORECASE)
_NAMES = ("NAME", "SAMPLE_NAME", "SAMPLE", "SAMPLE_ID", "SAMPLENAME", "SAMPLEID", "ID")
_ANGLES = ("ANGLE", "ANGLE_DEG", "ASPECULAR", "ASPECULAR_DEG")


@dataclass(frozen=True, eq=False)
class Sample:
    """One row of a file.

    name : what was read
    angle_deg : aspecular, 45 if the file has no such column
    reflectance : factors, (31,), 400-700 nm at 10 nm
    other : the columns that are no spectrum, as text
    """

    name: str
    angle_deg: int
    reflectance: NDArray[np.float64]
    other: Mapping[str, str]


def samples(text: str, *, scale: str | None = None) -> tuple[Sample, ...]:
    """The rows of a file.

    Parameters
    ----------
    text : of the file: CSV with a first line of names, parted by commas, semicolons or tabs; or CGATS.17 text
    scale : "share" (1 for the white tile) or "percent"; told from the file if not given

    Raises
    ------
    BadEntry : no row, no wavelengths, a value that is no number, rows of unequal length, wavelengths that leave a part
        of 400-700 nm out, a scale that cannot be told

    Source
    ------
    ISO 28178 (2009) and CGATS.17, plain text: keywords, BEGIN_DATA_FORMAT, BEGIN_DATA; spectra as one column for each
    wavelength, or as pairs of SPECTRAL_NM with SPECTRAL_DEC or SPECTRAL_PCT. Names of the columns from memory, and as
    files in public repositories have them.

    >>> header = "name;" + ";".join(f"{nm} nm" for nm in range(400, 701, 20))
    >>> row = "grey card;" + ";".join(16 * ["0,2"])
    >>> [(one.name, float(one.reflectance.max().round(3))) for one in samples(header + "\\n" + row)]
    [('grey card', 0.2)]
    """
    if not isinstance(text, str) or not text.strip():
        raise BadEntry("spectra: an empty file was given, allowed is a table or CGATS.17 text.")
    if len(text) > MOST_LETTERS:
        raise BadEntry(f"spectra: {len(text)} letters were given, allowed are up to {MOST_LETTERS}.")
    names, rows, known = _cgats(text) if _is_cgats(text) else _table(text)
    if not rows:
        raise BadEntry("spectra: no row was given, allowed is one or more.")
    if len(rows) > MOST_ROWS:
        raise BadEntry(f"spectra: {len(rows)} rows were given, allowed are up to {MOST_ROWS}.")
    for number_of, row in enumerate(rows, 1):
        if len(row) != len(names):
            raise BadEntry(f"spectra, row {number_of}: {len(row)} values were given, allowed are {len(names)}.")
    nm, values, used = _pairs(names, rows) or _columns(names, rows)
    order = np.argsort(nm)
    factors = at_ten_nm("spectra", values[:, order] / _divisor(values, scale or known or used[1]), nm[order])
    upper = [name.upper() for name in names]
    named = next((upper.index(name) for name in _NAMES if name in upper), None)
    angled = next((upper.index(name) for name in _ANGLES if name in upper), None)
    rest = [i for i in range(len(names)) if i not in used[0]]
    return tuple(
        Sample(
            name=row[named] if named is not None else f"row {i + 1}",
            angle_deg=MIDDLE_DEG if angled is None else int(_number(row[angled], f"angle in row {i + 1}")),
            reflectance=factors[i],
            other={names[k]: row[k] for k in rest},
        )
        for i, row in enumerate(rows)
    )


def readings(rows: Sequence[Sample]) -> tuple[Reading, ...]:
    """One reading for each name: its angles together, its repeats averaged.

    Raises
    ------
    BadEntry : an angle that no instrument has; a name whose angles were not read equally often

    >>> header = "name,angle," + ",".join(str(nm) for nm in range(400, 701, 10))
    >>> rows = [f"silver,{angle}," + ",".join(31 * [share]) for angle, share in ((15, "1.1"), (45, "0.4"))]
    >>> [(one.name, one.angles_deg) for one in readings(samples("\\n".join([header, *rows])))]
    [('silver', (15, 45))]
    """
    by_name: dict[str, dict[int, list[NDArray[Any]]]] = {}
    for row in rows:
        by_name.setdefault(row.name, {}).setdefault(row.angle_deg, []).append(row.reflectance)
    found = []
    for name, angles in by_name.items():
        times = {len(spectra) for spectra in angles.values()}
        if len(times) > 1:
            raise BadEntry(f"spectra of {name!r}: angles read unequally often were given, allowed is each as often.")
        spots = [
            from_spectra([spectra[i] for spectra in angles.values()], list(angles), name=name)
            for i in range(times.pop())
        ]
        found.append(average(spots))
    return tuple(found)


def _is_cgats(text: str) -> bool:
    return re.search(r"^\s*BEGIN_DATA_FORMAT\b", text, re.MULTILINE) is not None


def _table(text: str) -> tuple[list[str], list[list[str]], str | None]:
    lines = [line for line in text.lstrip("\ufeff").splitlines() if line.strip() and not line.startswith("#")]
    if not lines:
        return [], [], None
    parted = max(";\t,", key=lines[0].count)
    rows = [[cell.strip() for cell in row] for row in csv.reader(lines, delimiter=parted)]
    return rows[0], rows[1:], None


def _cgats(text: str) -> tuple[list[str], list[list[str]], str | None]:
    try:
        parts = [shlex.split(line, comments=True) for line in text.lstrip("\ufeff").splitlines()]
    except ValueError:
        raise BadEntry("spectra: a quotation mark that is not closed was given, allowed are pairs of them.") from None
    names: list[str] = []
    flat: list[str] = []
    rows: list[list[str]] = []
    known, part = None, ""
    for words in filter(None, parts):
        keyword = words[0].upper()
        if keyword in ("BEGIN_DATA_FORMAT", "BEGIN_DATA"):
            part = keyword
        elif keyword in ("END_DATA_FORMAT", "END_DATA"):
            part = ""
        elif part == "BEGIN_DATA_FORMAT":
            names += words
        elif part == "BEGIN_DATA":
            flat += words
            rows.append(words)
        elif keyword == "SPECTRAL_NORM" and len(words) > 1:
            norm = _number(words[1], "SPECTRAL_NORM")
            known = next((name for name, whole in SCALES.items() if whole == norm), None)
    if names and any(len(row) != len(names) for row in rows) and len(flat) % len(names) == 0:
        # A set may run over several lines.
        rows = [flat[i : i + len(names)] for i in range(0, len(flat), len(names))]
    return names, rows, known


Found = tuple[NDArray[np.float64], NDArray[np.float64], tuple[set[int], str | None]]


def _columns(names: Sequence[str], rows: Sequence[Sequence[str]]) -> Found:
    """Wavelengths, values and the columns they stand in, of a file with one column for each wavelength."""
    which = {i: match[1] for i, name in enumerate(names) if (match := _WAVELENGTH.match(name.strip()))}
    if len(which) < 2:
        raise BadEntry("spectra: columns without wavelengths were given, allowed are such as 400 or SPECTRAL_NM400.")
    nm = np.array([_number(text, "wavelength") for text in which.values()])
    values = np.array([[_number(row[i], f"{names[i]} in row {n}") for i in which] for n, row in enumerate(rows, 1)])
    return nm, values, (set(which), None)


def _pairs(names: Sequence[str], rows: Sequence[Sequence[str]]) -> Found | None:
    """The same of a file with pairs of columns, the wavelength and its value; None if it has none."""
    upper = [name.upper() for name in names]
    if "SPECTRAL_NM" not in upper:
        return None
    scale = "percent" if "SPECTRAL_PCT" in upper else "share"
    at = [i for i, name in enumerate(upper) if name == "SPECTRAL_NM"]
    of = [i for i, name in enumerate(upper) if name in ("SPECTRAL_PCT", "SPECTRAL_DEC")]
    if len(at) != len(of) or len({upper[i] for i in of}) != 1:
        raise BadEntry("spectra: SPECTRAL_NM without its value was given, allowed are pairs of the two.")
    nm = np.array([[_number(row[i], f"SPECTRAL_NM in row {n}") for i in at] for n, row in enumerate(rows, 1)])
    if (nm != nm[0]).any():
        raise BadEntry("spectra: rows at different wavelengths were given, allowed are the same in all rows of a file.")
    values = np.array([[_number(row[i], f"{names[i]} in row {n}") for i in of] for n, row in enumerate(rows, 1)])
    return nm[0], values, ({*at, *of}, scale)


def _divisor(values: NDArray[Any], scale: str | None) -> float:
    if scale is not None:
        return SCALES[one_of("scale", scale, SCALES)]
    largest = float(values.max())
    if largest <= SURELY_SHARE:
        return SCALES["share"]
    if largest >= SURELY_PERCENT:
        return SCALES["percent"]
    raise BadEntry(f"scale: values up to {largest:g} were given, allowed is to say whether they are share or percent.")


def _number(text: str, field: str) -> float:
    try:
        found = float(text.replace(",", "."))
    except ValueError:
        found = float("nan")
    if not np.isfinite(found):
        raise BadEntry(f"spectra, {field}: {text!r} was given, allowed is a number.")
    return found
