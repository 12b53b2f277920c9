"""How much film sanding takes off, and how far a zone of a panel can be sanded.

What the model leaves out stands in `LEAVES_OUT`, to be shown wherever its numbers are.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from refinishlib.entry import number, numbers, whole
from refinishlib.prep.grades import grade
from refinishlib.prep.scratch import EDGE, machine_named, zone_named, zones

LEAVES_OUT = (
    "This is for proportions, not for setting up work. It takes paper that does not wear or clog, one pressure over "
    "the whole pad and clear that is hard right through, and it knows nothing of heat, dust nibs, runs or orange peel, "
    "whose peaks go first. Gauge the film, and stop early."
)
REFERENCE_GRAIN_UM = 12.6
REFERENCE_PRESSURE_KPA = 5.0
CUT_PER_PASS_UM = 0.5
SCRATCH_SHARE = 0.15
INTERFACE_CUT = 0.8
INTERFACE_SCRATCH = 0.8
SAFE_CLEAR_UM = 40.0
USUAL_PASSES = 4
KEEP_OFF_MM = 20.0
KEEP_OFF_GRADE = "P800"
LEAST_OFF_MM = 10.0
LARGEST_FILM_UM = 2000.0
LARGEST_PRESSURE_KPA = 100.0
MOST_PASSES = 10_000
LARGEST_GRAIN_UM = 2000.0
SMALLEST_GRAIN_UM = 1.0

SOURCES = {
    "REFERENCE_GRAIN_UM": "ISO 6344-3 (2013): P1500, the paper the cut below is stated for",
    "REFERENCE_PRESSURE_KPA": "teaching value: the weight of a sander and a light hand on a 150 mm pad",
    "CUT_PER_PASS_UM": "teaching value: clear that one pass of P1500 takes, 3/32 inch orbit, reference pressure",
    "SCRATCH_SHARE": "teaching value: depth of scratch as a share of the grain",
    "INTERFACE_CUT": "teaching value: a soft pad lets the grains sink back",
    "INTERFACE_SCRATCH": "teaching value: a soft pad lets the grains sink back",
    "SAFE_CLEAR_UM": "common practice, no source: a finished film keeps about 40 um of clear for its light protection",
    "USUAL_PASSES": "common practice, no source: twice along and twice across",
    "KEEP_OFF_MM": "teaching value: a thumb's width from the edge with P800",
    "KEEP_OFF_GRADE": "teaching value: the paper that the distance is stated for",
    "LEAST_OFF_MM": "teaching value: a pad is not steered closer than this to an edge",
    "LARGEST_FILM_UM": "teaching value: range of an entry",
    "LARGEST_PRESSURE_KPA": "teaching value: range of an entry",
    "MOST_PASSES": "teaching value: range of an entry",
    "LARGEST_GRAIN_UM": "ISO 6344-2 (2021): P12 is 1815 um",
    "SMALLEST_GRAIN_UM": "teaching value: range of an entry",
}


@dataclass(frozen=True)
class BurnThrough:
    """How far a zone can be sanded with one paper.

    clear_um : clear before sanding
    per_pass_um : clear that one pass takes
    scratch_um : how deep the scratch below the surface goes
    thin_passes : whole passes after which the finished film still has its light protection
    through_passes : whole passes after which the deepest scratch has not yet met what lies under the clear
    by_hand : the trade leaves this zone to the hand, whatever a machine could do there
    """

    zone: str
    clear_um: float
    per_pass_um: float
    scratch_um: float
    thin_passes: int
    through_passes: int
    by_hand: bool

    def passes(self, *, more_clear: bool) -> int:
        """The limit that counts: before more clear only going through, on the finished film being thin."""
        return self.through_passes if more_clear else self.thin_passes


@dataclass(frozen=True)
class Reach:
    """How far out on a panel one paper of a ladder goes.

    zones : where a machine may move it
    keep_off_mm : how far the edge of the paper stays from the edge of the panel; further in is fine
    """

    grade: str
    zones: tuple[str, ...]
    keep_off_mm: float


def scratch_depth_um(grain_um: Any, *, machine: str = "3/32 in", interface_pad: bool = False) -> Any:
    """Depth of the scratch that a grain leaves, micrometres.

    Parameters
    ----------
    grain_um : mean grain size, 1 to 2000, any shape
    machine : "3/16 in", "3/32 in" or "hand"
    interface_pad : a soft pad between machine and paper

    Returns
    -------
    array of the shape of grain_um

    Raises
    ------
    BadEntry : a grain out of range or an unknown machine

    Source
    ------
    Depth in proportion to the grain; the share and the factors are teaching values.

    >>> round(float(scratch_depth_um(21.8)), 2)
    3.27
    """
    grain = numbers("grain", grain_um, low=SMALLEST_GRAIN_UM, high=LARGEST_GRAIN_UM, unit="um")
    soft = INTERFACE_SCRATCH if interface_pad else 1.0
    return SCRATCH_SHARE * machine_named(machine).scratch * soft * grain


def removed_um(
    grain_um: Any,
    *,
    passes: Any = 1,
    pressure_kpa: Any = REFERENCE_PRESSURE_KPA,
    machine: str = "3/32 in",
    interface_pad: bool = False,
    zone: str = "flat",
) -> Any:
    """Film that sanding takes off, micrometres: k x grain x pressure x path (Preston).

    Parameters
    ----------
    grain_um : mean grain size, 1 to 2000, any shape
    passes : times that the machine goes over the place, 0 or more; broadcasts
    pressure_kpa : mean pressure on the flat, above 0 up to 100; broadcasts
    machine : "3/16 in", "3/32 in" or "hand": a longer stroke is a longer path
    interface_pad : a soft pad between machine and paper
    zone : "flat", "crown" or "edge": the same hand presses harder on less area

    Returns
    -------
    array of the broadcast shape

    Raises
    ------
    BadEntry : an entry out of range or an unknown machine or zone

    Source
    ------
    Preston (1927), J. Soc. Glass Technol. 11, 214, for pressure and path; in proportion to the grain as for fixed
    grains that cut and do not roll; the constant and the factors are teaching values.

    >>> round(float(removed_um(12.6, passes=4)), 3)
    2.0
    """
    grain = numbers("grain", grain_um, low=SMALLEST_GRAIN_UM, high=LARGEST_GRAIN_UM, unit="um")
    count = numbers("passes", passes, low=0, high=MOST_PASSES)
    pressure = numbers("pressure", pressure_kpa, low=0, high=LARGEST_PRESSURE_KPA, unit="kPa")
    soft = INTERFACE_CUT if interface_pad else 1.0
    rate = CUT_PER_PASS_UM / (REFERENCE_GRAIN_UM * REFERENCE_PRESSURE_KPA)
    return rate * grain * pressure * zone_named(zone).pressure * machine_named(machine).cut * soft * count


def burn_through(
    clear_um: float,
    name: str,
    *,
    pressure_kpa: float = REFERENCE_PRESSURE_KPA,
    machine: str = "3/32 in",
    interface_pad: bool = False,
    safe_um: float = SAFE_CLEAR_UM,
) -> dict[str, BurnThrough]:
    """How many passes each zone takes before its clear is thin, and before the paper is through it.

    Parameters
    ----------
    clear_um : clear on the flat, 0 to 2000; a gauge on metal reads all coats, so take off what lies under the clear
    name : grade of the paper
    pressure_kpa : mean pressure on the flat, above 0 up to 100
    machine, interface_pad : as for `removed_um`
    safe_um : the least clear that a finished film keeps under the deepest scratch, 0 to 2000

    Returns
    -------
    one estimate for each zone, with both limits; which of them counts says `BurnThrough.passes`

    Raises
    ------
    BadEntry : an entry out of range or an unknown grade or machine

    Source
    ------
    Preston (1927); constants are teaching values. What the model leaves out stands in `LEAVES_OUT`.

    >>> left = burn_through(50, "P800")
    >>> [(zone.thin_passes, zone.through_passes) for zone in left.values()]
    [(7, 54), (1, 30), (0, 12)]
    """
    thick = number("clear", clear_um, low=0, high=LARGEST_FILM_UM, unit="um")
    least = number("least clear of a finished film", safe_um, low=0, high=LARGEST_FILM_UM, unit="um")
    number("pressure", pressure_kpa, low=0, high=LARGEST_PRESSURE_KPA, unit="kPa", above_low=True)
    grain = grade(name).grain_um
    depth = float(scratch_depth_um(grain, machine=machine, interface_pad=interface_pad))
    found = {}
    for zone in zones().values():
        each = float(
            removed_um(grain, pressure_kpa=pressure_kpa, machine=machine, interface_pad=interface_pad, zone=zone.name)
        )
        here = thick * zone.film
        thin, through = (max(0, min(MOST_PASSES, math.floor((here - keep - depth) / each))) for keep in (least, 0.0))
        found[zone.name] = BurnThrough(zone.name, here, each, depth, thin, through, zone.name == EDGE)
    return found


def how_far_out(
    clear_um: float,
    names: Sequence[str],
    *,
    more_clear: bool,
    passes: int = USUAL_PASSES,
    machine: str = "3/32 in",
    interface_pad: bool = False,
) -> tuple[Reach, ...]:
    """Where on a panel each paper of a ladder may go by machine: coarser ones are kept off the edges.

    Parameters
    ----------
    clear_um : clear on the flat, 0 to 2000
    names : grades, in the order in which they are used
    more_clear : whether more clear follows; then only going through counts, else being thin too
    passes : passes that each paper makes everywhere it goes, 1 to 10000
    machine, interface_pad : as for `removed_um`

    Returns
    -------
    one for each paper, as they were given; what a zone can lose is shared out from the finest paper on, and an edge
    belongs to the hand

    Raises
    ------
    BadEntry : an entry out of range, or an unknown grade or machine

    Source
    ------
    Common practice, no source, that coarser paper stays further in; the distance, in proportion to the grain, and the
    passes are teaching values.

    >>> for reach in how_far_out(30, ["P600", "P800"], more_clear=True, passes=9):
    ...     print(reach.grade, reach.zones, round(reach.keep_off_mm))
    P600 ('flat',) 24
    P800 ('flat', 'crown') 20
    """
    thick = number("clear", clear_um, low=0, high=LARGEST_FILM_UM, unit="um")
    count = whole("passes", passes, low=1, high=MOST_PASSES)
    keep = 0.0 if more_clear else SAFE_CLEAR_UM
    spare = {zone.name: thick * zone.film - keep for zone in zones().values() if zone.name != EDGE}
    found = []
    for one in sorted(grade(name) for name in names):  # the finest first: it goes furthest out, the rest share
        goes = []
        for zone, left in spare.items():
            taken = float(
                removed_um(one.grain_um, passes=count, machine=machine, interface_pad=interface_pad, zone=zone)
            )
            depth = float(scratch_depth_um(one.grain_um, machine=machine, interface_pad=interface_pad))
            if left - taken - depth >= 0:
                goes.append(zone)
                spare[zone] = left - taken
        off = KEEP_OFF_MM * one.grain_um / grade(KEEP_OFF_GRADE).grain_um
        found.append(Reach(one.name, tuple(goes), max(off, LEAST_OFF_MM)))
    return tuple(sorted(found, key=lambda reach: [*names].index(reach.grade)))


def passes_to_clear(
    coarse: str,
    fine: str,
    *,
    pressure_kpa: float = REFERENCE_PRESSURE_KPA,
    machine: str = "3/32 in",
    interface_pad: bool = False,
) -> int:
    """Passes of the finer paper on the flat until the scratches of the coarser one, left by the same machine, are gone.

    Parameters
    ----------
    coarse, fine : grades
    pressure_kpa, machine, interface_pad : as for `removed_um`

    Raises
    ------
    BadEntry : an entry out of range, an unknown grade or machine

    Source
    ------
    Preston (1927); constants are teaching values. Sanding as deep as the scratch is deep takes it out.

    >>> passes_to_clear("P180", "P320"), passes_to_clear("P180", "P800")
    (7, 15)
    """
    number("pressure", pressure_kpa, low=0, high=LARGEST_PRESSURE_KPA, unit="kPa", above_low=True)
    depth = float(scratch_depth_um(grade(coarse).grain_um, machine=machine))
    grain = grade(fine).grain_um
    each = float(removed_um(grain, pressure_kpa=pressure_kpa, machine=machine, interface_pad=interface_pad))
    return math.ceil(depth / each)
