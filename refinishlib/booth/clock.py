"""The booth clock: a job laid out over the hours, with every flash, window and pot life on the day's own air.

Each step is judged on the air at its beginning. The times of the day are arrays throughout, so that one job can be laid
out from many starts at once.

Left out: that pot life runs on while the air warms up, that a second coat flashes slower than a first, and the time
that a booth takes to heat and to cool.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from refinishlib.booth import cure, flash
from refinishlib.booth.climate import SURFACE_MARGIN_C, dew_point_c
from refinishlib.booth.day import DAY_MIN, Air, Day, at
from refinishlib.entry import BadEntry, number, numbers, one_of, whole
from refinishlib.shop.product import AIR_C, ProductSheet, hardener, reducer

ACTIONS = ("mix", "coat", "flash", "wait", "sand", "bake", "air dry")
MIX_MIN = 4.0
COAT_MIN = 4.0
SAND_MIN = 20.0
BAKE_AIR_C = 70.0
LONGEST_STEP_MIN = 20160.0
COATS_MAX = 9
OPENS_MIN = 480.0
# A flash that the air never ends is shown as a day long.
NEVER_MIN = DAY_MIN
# Limits are held to a tenth, as they are read and shown: then what is given and what is allowed never look the same.
ROUNDING = 0.1

SOURCES = {
    "MIX_MIN": "common practice, no source: minutes to weigh, stir, strain and fill the gun",
    "COAT_MIN": "common practice, no source: minutes to spray one coat on a few panels",
    "SAND_MIN": "common practice, no source: minutes to scuff and clean a few panels again",
    "BAKE_AIR_C": "common practice, no source: the air is set about ten degrees above the panel's bake",
    "LONGEST_STEP_MIN": "teaching value: two weeks",
    "COATS_MAX": "teaching value",
    "OPENS_MIN": "teaching value: the shop opens at eight",
    "ROUNDING": "teaching value: a tenth of a minute, degree or percent breaks no limit",
}


@dataclass(frozen=True)
class Step:
    """One step of the job.

    action : mix, coat, flash, wait, sand, bake or air dry
    sheet : the product of a mix or coat; of a flash, bake or air dry it is the coat before
    minutes : as planned; None stands for what the step needs, or the shop's usual time
    hardener, reducer : what is mixed in: fast, normal, slow, or the name of a tin
    film_ratio : wet film of a coat to that of the sheet
    """

    action: str
    sheet: ProductSheet | None = None
    minutes: float | None = None
    hardener: str = "normal"
    reducer: str = "normal"
    film_ratio: float = 1.0


@dataclass(frozen=True)
class Coating:
    """One product of a job: how many coats, how long each takes, and what is mixed in."""

    sheet: ProductSheet
    coats: int | None = None
    coat_min: float = COAT_MIN
    hardener: str = "normal"
    reducer: str = "normal"
    film_ratio: float = 1.0


@dataclass(frozen=True)
class Plan:
    """A job on a day.

    steps : in order
    day : its air
    start_min : minutes after midnight
    closes_min : minutes after that midnight by which the job must be done
    bake_air_c : temperature of the air at bake
    material : of the panel: steel, aluminium or plastic
    """

    steps: tuple[Step, ...]
    day: Day
    start_min: float = OPENS_MIN
    closes_min: float = 2 * DAY_MIN
    bake_air_c: float = BAKE_AIR_C
    material: str = "steel"


@dataclass(frozen=True)
class Finding:
    """One limit that one step was held to, from every start: what it is, what is allowed, and where that breaks.

    rule : too cold, too hot, reducer too fast, reducer too slow, too humid, too dry, dew point, wet edge, pot life,
        flash, recoat, bake or closing
    given, limit : arrays over the starts, or one value for all
    air : at the beginning of the step
    """

    step: int
    rule: str
    given: np.ndarray
    limit: np.ndarray
    air: Air

    @property
    def broken(self) -> np.ndarray:
        over = self.given - self.limit if self.rule in AT_MOST else self.limit - self.given
        return over > ROUNDING


AT_MOST = ("too hot", "reducer too fast", "too humid", "wet edge", "pot life", "recoat", "closing")


@dataclass(frozen=True)
class Layout:
    """A job from many starts: (steps, starts) minutes at which each step begins and ends, and all that was checked."""

    begins: np.ndarray
    ends: np.ndarray
    findings: tuple[Finding, ...]


@dataclass
class _Coat:
    """The last coat on the panel, while a job is laid out."""

    sheet: ProductSheet
    label: str
    ends: np.ndarray
    dries: np.ndarray
    pace: float
    cured: bool = False

    def flash(self, final: bool) -> np.ndarray:
        return (self.sheet.final_flash_min if final else self.sheet.flash_min) * self.dries


def steps_for(coatings: Iterable[Coating], end: str = "bake") -> tuple[Step, ...]:
    """The steps of a job: for each product mix, coats and flashes, then bake or air dry.

    Parameters
    ----------
    coatings : products in order
    end : "bake", "air dry", or "" for none

    Raises
    ------
    BadEntry : no coating, or coats that are not a whole number from 1 to 9

    >>> from refinishlib.shop.product import product
    >>> job = [Coating(product("grey sealer")), Coating(product("water base"), coats=1)]
    >>> [step.action for step in steps_for(job, "")]
    ['mix', 'coat', 'flash', 'mix', 'coat', 'flash']
    """
    steps: list[Step] = []
    for coating in coatings:
        coats = coating.sheet.coats if coating.coats is None else coating.coats
        mix = Step("mix", coating.sheet, hardener=coating.hardener, reducer=coating.reducer)
        coat = replace(mix, action="coat", minutes=coating.coat_min, film_ratio=coating.film_ratio)
        steps += [mix, *(coat, Step("flash")) * whole(f"{coating.sheet.name}, coats", coats, low=1, high=COATS_MAX)]
    if not steps:
        raise BadEntry("coatings: none was given, allowed is at least one.")
    return (*steps, Step(end)) if end else tuple(steps)


def lay_out(plan: Plan, starts_min: np.ndarray) -> Layout:
    """The job of a plan from many starts; see `booth_clock` for one.

    Parameters
    ----------
    plan : its own start does not count here
    starts_min : (n,) minutes after midnight

    Raises
    ------
    BadEntry : a step that cannot be where it is, or a value outside its range, naming the step
    """
    now = numbers("start", starts_min, low=0, high=DAY_MIN, unit="min", shape=(None,))
    constant = cure.time_constant_min(plan.material)
    closes = number("closing time", plan.closes_min, low=0, high=LONGEST_STEP_MIN, unit="min")
    if not plan.steps:
        raise BadEntry("steps: none was given, allowed is at least one.")
    names = labels(plan.steps)
    begins, ends = [], []
    findings: list[Finding] = []
    cups: dict[str, tuple[np.ndarray, np.ndarray | None]] = {}
    last: _Coat | None = None
    for index, step in enumerate(plan.steps):
        name = names[index]
        planned = _minutes(name, step)
        air = at(plan.day, now)

        def found(rule: str, given: ArrayLike, limit: ArrayLike, index: int = index, air: Air = air) -> None:
            findings.append(Finding(index, rule, np.asarray(given), np.asarray(limit), air))

        if step.action == "mix":
            sheet = _sheet(name, step)
            cups[sheet.name] = now, _pot_life(sheet, step, air)
            takes = np.asarray(MIX_MIN if planned is None else planned)
        elif step.action == "coat":
            sheet = _sheet(name, step)
            takes = np.asarray(COAT_MIN if planned is None else planned)
            _check_air(sheet, step, air, found)
            dries = flash.drying_factor(sheet, *_open(air), reducer_speed=step.reducer, film_ratio=step.film_ratio)
            found("wet edge", takes, sheet.wet_edge_min * dries)
            if last is not None and last.cured:
                found("recoat", now - last.ends, 0.0)
            elif last is not None:
                found("flash", now - last.ends, last.flash(final=last.sheet.name != sheet.name))
                found("recoat", now - last.ends, _recoat(last, air))
            if sheet.name not in cups:
                raise BadEntry(f"{name}: allowed is a coat of a product that was mixed before.")
            mixed_at, lives = cups[sheet.name]
            if lives is not None:
                found("pot life", now + takes - mixed_at, lives)
            used = hardener(sheet, step.hardener)
            last = _Coat(sheet, name, now + takes, dries, used.pace if used else 1.0)
        elif step.action in ("flash", "bake", "air dry"):
            if last is None:
                raise BadEntry(f"{name}: allowed is a {step.action} after a coat.")
            if step.action == "flash":
                need = np.maximum(last.ends + last.flash(_last_of_product(plan.steps, index)) - now, 0)
                takes = need if planned is None else np.asarray(planned)
            else:
                if step.action == "bake" and not last.cured:
                    found("flash", now - last.ends, last.flash(final=True))
                need = _cure_minutes(name, plan, step, last, air, constant)
                takes = np.where(np.isinf(need), NEVER_MIN, need) if planned is None else np.asarray(planned)
                found("bake", takes, need)
                last.cured = last.sheet.cure is not None
        else:
            takes = np.asarray(SAND_MIN if planned is None and step.action == "sand" else planned or 0.0)
            last = None if step.action == "sand" else last
        begins.append(now)
        now = now + np.where(np.isinf(takes), NEVER_MIN, takes)
        ends.append(now)
    findings.append(Finding(len(plan.steps) - 1, "closing", now, np.full_like(now, closes), air))
    return Layout(np.array(begins), np.array(ends), tuple(findings))


def labels(steps: Sequence[Step]) -> tuple[str, ...]:
    """What to call each step.

    >>> from refinishlib.shop.product import product
    >>> labels(steps_for([Coating(product("clear"))]))
    ('clear, mix', 'clear, coat 1', 'clear, flash 1', 'clear, coat 2', 'clear, flash 2', 'bake')
    """
    names: list[str] = []
    seen: Counter[tuple[str, str]] = Counter()
    coat = ""
    for step in steps:
        name = step.action
        if step.action == "flash" and coat:
            name = coat.replace(", coat", ", flash")
        elif step.action in ("mix", "coat") and step.sheet is not None:
            seen[step.action, step.sheet.name] += 1
            count = seen[step.action, step.sheet.name]
            name = f"{step.sheet.name}, {step.action}" + (f" {count}" if step.action == "coat" or count > 1 else "")
            coat = name if step.action == "coat" else coat
        names.append(name)
    return tuple(names)


def _open(air: Air) -> tuple[np.ndarray, np.ndarray, float]:
    return air.air_c, air.humidity_percent, air.air_m_per_s


def _minutes(name: str, step: Step) -> float | None:
    one_of(f"{name}, action", step.action, ACTIONS)
    if step.minutes is None:
        return None
    return number(f"{name}, minutes", step.minutes, low=0, high=LONGEST_STEP_MIN, unit="min")


def _sheet(name: str, step: Step) -> ProductSheet:
    if step.sheet is None:
        raise BadEntry(f"{name}: no product sheet was given, allowed is a {step.action} with one.")
    return step.sheet


def _energy(sheet: ProductSheet) -> float:
    return cure.sheet_energy(sheet.cure) if sheet.cure else 0.0


def _pot_life(sheet: ProductSheet, step: Step, air: Air) -> np.ndarray | None:
    used = hardener(sheet, step.hardener)
    if sheet.pot_life_min is None or used is None:
        return None
    return cure.minutes_at(sheet.pot_life_min * used.pace, cure.AIR_DRY_C, air.air_c, _energy(sheet))


def _recoat(last: _Coat, air: Air) -> np.ndarray:
    return cure.minutes_at(last.sheet.recoat_max_min * last.pace, cure.AIR_DRY_C, air.air_c, _energy(last.sheet))


def _cure_minutes(name: str, plan: Plan, step: Step, last: _Coat, air: Air, constant: float) -> np.ndarray:
    sheet = last.sheet
    if step.action == "bake":
        if sheet.cure is None:
            raise BadEntry(f"{name}: {sheet.name} has no bake on its sheet, allowed is a product with one.")
        warming = cure.heat_up_minutes(plan.bake_air_c, air.surface_c, sheet.cure.bake_panel_c, constant)
        return warming + sheet.cure.bake_min * last.pace
    if sheet.cure is None:
        return sheet.dust_free_min * last.dries
    return cure.minutes_at(sheet.cure.air_dry_min * last.pace, cure.AIR_DRY_C, air.air_c, _energy(sheet))


def _check_air(sheet: ProductSheet, step: Step, air: Air, found: Callable[[str, ArrayLike, ArrayLike], None]) -> None:
    found("too cold", air.air_c, sheet.air_c[0])
    found("too hot", air.air_c, sheet.air_c[1])
    used = reducer(sheet, step.reducer)
    low_c, high_c = used.air_c if used else AIR_C
    found("reducer too slow", air.air_c, low_c)
    found("reducer too fast", air.air_c, high_c)
    found("too dry", air.humidity_percent, sheet.humidity_percent[0])
    found("too humid", air.humidity_percent, sheet.humidity_percent[1])
    found("dew point", air.surface_c, dew_point_c(air.air_c, air.humidity_percent) + SURFACE_MARGIN_C)


def _last_of_product(steps: Sequence[Step], index: int) -> bool:
    """Whether the flash at an index is the one before another product, a bake or the end."""
    before = next(s.sheet for s in reversed(steps[:index]) if s.action == "coat")
    after = next((s for s in steps[index + 1 :] if s.action in ("coat", "sand", "bake", "air dry")), None)
    if after is None or after.sheet is None or before is None:
        return True
    return after.sheet.name != before.name
