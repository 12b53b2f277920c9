"""A whole job planned at once: order, papers, film, the first good start, quantities, emissions and price."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from refinishlib.booth.advice import Clock, Scan, booth_clock, cautions_of, scan_starts
from refinishlib.booth.cautions import Caution, for_tasks
from refinishlib.booth.clock import Coating, Plan, steps_for
from refinishlib.booth.cure import HOTTEST_PART_C
from refinishlib.booth.day import Day
from refinishlib.booth.emissions import JobEmissions, job_emissions
from refinishlib.booth.hours import Hours, panel_area
from refinishlib.booth.quantity import Bill, application, bill
from refinishlib.entry import BadEntry
from refinishlib.job.price import Price, price
from refinishlib.prep.film_book import FilmBook, passes_left
from refinishlib.prep.grades import Grade
from refinishlib.prep.order import Job, good_order
from refinishlib.prep.removal import Reach, how_far_out
from refinishlib.prep.scratch import SandingWay, ladder_for, ways_to_sand
from refinishlib.shop.product import ready_to_spray
from refinishlib.shop.vehicle import Panel


@dataclass(frozen=True)
class Sanding:
    """How the surface is got ready before the first coat.

    papers : in order
    ways : what may move the last of them on the flat, the usual way first
    reaches : how far out each paper goes
    passes : whole passes of the last paper that each zone has left
    """

    papers: tuple[Grade, ...]
    ways: tuple[SandingWay, ...]
    reaches: tuple[Reach, ...]
    passes: Mapping[str, int]


@dataclass(frozen=True)
class WholeJob:
    """A job with all that follows from it.

    order : one good order of its tasks
    scan : the starts of the day; clock : from the first good one, or from opening where there is none
    cautions : of every task, mixing and cleaning the gun among them
    """

    order: tuple[str, ...]
    sanding: Sanding
    scan: Scan
    clock: Clock
    paint: Bill
    emissions: JobEmissions
    price: Price
    cautions: Mapping[str, tuple[Caution, ...]]


def whole_job(
    job: Job,
    panels: Sequence[Panel],
    coatings: Sequence[Coating],
    day: Day,
    hours: Hours,
    book: FilmBook,
    *,
    next_coat: str,
    start: str,
    colour: str = "light solid",
    end: str = "bake",
    closes_min: float | None = None,
    battery: bool = False,
    vehicle_max_c: float | None = None,
) -> WholeJob:
    """All of a job from its order to its price.

    Parameters
    ----------
    job : its tasks
    panels : that it is done on, each wholly
    coatings : products in the order in which they are sprayed
    day : of the booth
    hours : the shop's own working times and rates
    book : film of the panel that has least
    next_coat, start, colour : row of the finishing table, scratch that is there or "gloss", and kind of colour
    end : "bake" or "air dry"
    closes_min : when the shop closes, minutes after midnight; as usual if not given
    battery, vehicle_max_c : as for a plan of the booth clock: whether it is baked on a vehicle with a traction battery,
        and the hottest air that its maker allows

    Raises
    ------
    BadEntry : no panel, or what the rooms below refuse

    >>> from refinishlib.booth.day import SPRING_DAY
    >>> from refinishlib.booth.hours import shop_hours
    >>> from refinishlib.prep.film_book import Film, open_book
    >>> from refinishlib.prep.order import jobs
    >>> from refinishlib.shop.shop import load
    >>> from refinishlib.shop.shop import load
    >>> shop = load()
    >>> done = whole_job(jobs()["blend panel"], [shop.vehicle.panel("left rear door")],
    ...                  [Coating(shop.product("water base"), 2), Coating(shop.product("clear"))],
    ...                  SPRING_DAY, shop_hours(),
    ...                  open_book([Film("clear", 50.0), Film("colour", 18.0), Film("primer", 60.0)]),
    ...                  next_coat="blend into old clear", start="gloss")
    >>> [paper.name for paper in done.sanding.papers], done.clock.breaks, done.scan.first_min
    (['P800'], (), 580.0)
    """
    if not panels:
        raise BadEntry("panels: none was given, allowed is at least one.")
    order = good_order(job)
    papers = ladder_for(next_coat, start)
    ways = ways_to_sand(next_coat, colour=colour)
    first = ways[0]
    names = [paper.name for paper in papers]
    pad = first.interface_pad
    clear_um = book.clear_um("flat")
    reaches = how_far_out(clear_um, names, more_clear=True, machine=first.machine, interface_pad=pad)
    left = passes_left(book, names[-1], more_clear=True, machine=first.machine, interface_pad=pad) if names else {}
    sanding = Sanding(papers, ways, reaches, left)
    delicate = min((panel.material for panel in panels), key=HOTTEST_PART_C.__getitem__)
    plan = Plan(steps_for(coatings, end), day, material=delicate, battery=battery, vehicle_max_c=vehicle_max_c)
    plan = plan if closes_min is None else replace(plan, closes_min=closes_min)
    scan = scan_starts(plan)
    start_min = plan.opens_min if scan.first_min is None else scan.first_min
    clock = booth_clock(replace(plan, start_min=start_min))
    areas_m2 = [panel.area_m2 for panel in panels]
    paint = bill(
        application(one.sheet, areas_m2, coats=one.coats, hardener=one.hardener, reducer=one.reducer)
        for one in coatings
    )
    mixed = (
        (amount.product, ready_to_spray(one.sheet, one.hardener, one.reducer), amount.mixed_ml)
        for amount, one in zip(paint.amounts, coatings, strict=True)
    )
    return WholeJob(
        order,
        sanding,
        scan,
        clock,
        paint,
        job_emissions(mixed),
        price(
            hours,
            order,
            [panel_area(panel) for panel in panels],
            bill=paint,
            booth_min=clock.ends_min - start_min,
            grades={"sand": max(1, len(papers))},
        ),
        for_tasks(order) | cautions_of(plan.steps),
    )
