"""The booth clock: a job laid out over the hours, with every flash, window and pot life on the day's own air.

Each step is judged on the air at its beginning. The times of the day are arrays throughout, so that one job can be laid
out from many starts at once. Several parts may be under way: the painter's hands do one thing at a time, while films
dry on every part by themselves.

Left out: that pot life runs on while the air warms up, that a second coat flashes slower than a first, and the time
that a booth takes to heat and to cool. What a limit of this room says is about the sheet and the day. It is never
leave to do the work.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike

from refinishlib.booth import cure, flash
from refinishlib.booth.climate import SURFACE_MARGIN_C, Reals, dew_point_c
from refinishlib.booth.day import DAY_MIN, Air, Day, at
from refinishlib.entry import BadEntry, number, numbers, one_of, whole
from refinishlib.shop.product import AIR_C, ProductSheet, hardener, reducer

HANDS_ON = ("mix", "coat", "sand", "unmask")
BY_ITSELF = ("flash", "wait", "bake", "air dry", "cool", "dust free")
ACTIONS = HANDS_ON + BY_ITSELF
# Drying overnight may go on after the shop has closed; everything else needs somebody there.
UNATTENDED = ("air dry", "wait", "dust free")
MIX_MIN = 4.0
COAT_MIN = 4.0
SAND_MIN = 20.0
UNMASK_MIN = 8.0
BAKE_AIR_C = 70.0
LONGEST_STEP_MIN = 20160.0
COATS_MAX = 9
OPENS_MIN = 480.0
CLOSES_MIN = 1080.0
COOL_GAP_C = 5.0
LEAST_EXTRACTION_M_PER_S = 0.2
THICKEST_RATIO = 1.5
THINNEST_RATIO = 0.5
# A flash that the air never ends is shown as a day long.
NEVER_MIN = DAY_MIN
# Limits are held to a tenth, as they are read and shown: then what is given and what is allowed never look the same.
ROUNDING = 0.1
FINE_ROUNDING = 0.005

SOURCES = {
    "MIX_MIN": "common practice, no source: minutes to weigh, stir, strain and fill the gun",
    "COAT_MIN": "common practice, no source: minutes to spray one coat on a few panels",
    "SAND_MIN": "common practice, no source: minutes to scuff and clean a few panels again",
    "UNMASK_MIN": "common practice, no source: minutes to take the masking off a few panels",
    "BAKE_AIR_C": "common practice, no source: the air is set about ten degrees above the panel's bake",
    "LONGEST_STEP_MIN": "teaching value: two weeks",
    "COATS_MAX": "teaching value",
    "OPENS_MIN": "teaching value: the shop opens at eight",
    "CLOSES_MIN": "teaching value: the shop closes at six in the evening",
    "COOL_GAP_C": "teaching value: a panel this near to the air is taken to have cooled",
    "LEAST_EXTRACTION_M_PER_S": "common practice, no source: the low end of what a down-draught booth moves past the "
    "vehicle; the booth's papers and the local code say what is asked for",
    "THICKEST_RATIO": "common practice, no source: half as much again as the sheet's coat runs and traps solvent",
    "THINNEST_RATIO": "common practice, no source: half of the sheet's coat does not flow together",
    "ROUNDING": "teaching value: a tenth of a minute, degree or percent breaks no limit",
    "FINE_ROUNDING": "teaching value: half a hundredth of an air speed or of a film ratio breaks no limit",
}


@dataclass(frozen=True)
class BoothStep:
    """One step of the job.

    action : mix, coat, sand, unmask (hands), flash, wait, bake, air dry, cool, dust free (by itself)
    sheet : the product of a mix or coat; of the others it is the coat before
    minutes : as planned; None stands for what the step needs, or the shop's usual time
    hardener, reducer : what is mixed in: fast, normal, slow, or the name of a tin
    film_ratio : wet film of a coat to that of the sheet
    part : which part it is on, where several are under way; a bake and what follows it are for all
    during_flash : a mix that is done while the coat before flashes
    blower_m_per_s : air that a blower adds over the panel during this flash, 0-10 m/s; it is no extraction
    """

    action: str
    sheet: ProductSheet | None = None
    minutes: float | None = None
    hardener: str = "normal"
    reducer: str = "normal"
    film_ratio: float = 1.0
    part: str = ""
    during_flash: bool = False
    blower_m_per_s: float = 0.0


@dataclass(frozen=True)
class Coating:
    """One product of a job: how many coats, how long each takes, and what is mixed in.

    during_flash : it is mixed while the product before flashes
    blower_m_per_s : air of a blower during its flashes
    """

    sheet: ProductSheet
    coats: int | None = None
    coat_min: float = COAT_MIN
    hardener: str = "normal"
    reducer: str = "normal"
    film_ratio: float = 1.0
    during_flash: bool = False
    blower_m_per_s: float = 0.0


@dataclass(frozen=True)
class Plan:
    """A job on a day.

    steps : in order
    day : its air
    start_min : minutes after midnight
    opens_min, closes_min : of the shop; the day ends at 1440
    bake_air_c : temperature of the air at bake, 20-150 degrees C
    material : of the panel: steel, aluminium or plastic; where several are under way, the one that takes least heat
    battery : the part is baked on a vehicle with a traction battery
    vehicle_max_c : the hottest air that the vehicle's maker allows at bake; None where nobody has asked
    """

    steps: tuple[BoothStep, ...]
    day: Day
    start_min: float = OPENS_MIN
    closes_min: float = CLOSES_MIN
    bake_air_c: float = BAKE_AIR_C
    material: str = "steel"
    opens_min: float = OPENS_MIN
    battery: bool = False
    vehicle_max_c: float | None = None


# Every rule that a step is held to, harm first: that is the order in which breaks are told.
HARM = (
    "no extraction",
    "battery",
    "too hot for the vehicle",
    "too hot for the part",
    "too hot for the sheet",
    "sanded soft",
)
QUALITY = (
    "dew point",
    "too cold",
    "too hot",
    "reducer too slow",
    "reducer too fast",
    "too dry",
    "too humid",
    "too thick",
    "too thin",
    "wet edge",
    "pot life",
    "flash",
    "recoat",
    "bake",
    "unmasked soft",
)
HOURS = ("opening", "closing")
RULES = HARM + QUALITY + HOURS
AT_MOST = (
    "battery",
    "too hot for the vehicle",
    "too hot for the part",
    "too hot for the sheet",
    "too hot",
    "reducer too fast",
    "too humid",
    "too thick",
    "wet edge",
    "pot life",
    "recoat",
    "closing",
)
FINE = ("no extraction", "too thick", "too thin", "battery")


@dataclass(frozen=True)
class Finding:
    """One limit that one step was held to, from every start: what it is, what is allowed, and where that breaks.

    rule : one of RULES
    given, limit : arrays over the starts, or one value for all
    air : at the beginning of the step
    begins : minutes after midnight, from every start
    """

    step: int
    rule: str
    given: Reals
    limit: Reals
    air: Air
    begins: Reals

    @property
    def broken(self) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
        over = self.given - self.limit if self.rule in AT_MOST else self.limit - self.given
        return np.asarray(over > (FINE_ROUNDING if self.rule in FINE else ROUNDING))

    @property
    def harm(self) -> bool:
        """Whether the limit is about people and vehicles, and not only about the finish."""
        return self.rule in HARM


@dataclass(frozen=True)
class Layout:
    """A job from many starts.

    begins, ends : (steps, starts) minutes after midnight of each step
    findings : all that was checked, in order of the steps
    dust_free : when the last coat on each part no longer takes up dust, (starts,)
    """

    begins: Reals
    ends: Reals
    findings: tuple[Finding, ...]
    dust_free: Mapping[str, Reals]


@dataclass
class _Coat:
    """The last coat on a part, while a job is laid out.

    bonus : minutes of flashing that a blower has saved
    had, needs : minutes of cure that it has had, and that it needs, once it was baked or dried
    """

    sheet: ProductSheet
    ends: Reals
    dries: Reals
    pace: float
    bonus: Reals = field(default_factory=lambda: np.zeros(1))
    had: Reals | None = None
    needs: Reals | None = None

    def flash(self, final: bool) -> Reals:
        return (self.sheet.final_flash_min if final else self.sheet.flash_min) * self.dries

    def flashed(self, now: Reals) -> Reals:
        return now - self.ends + self.bonus


def steps_for(coatings: Iterable[Coating], end: str = "bake", *, part: str = "") -> tuple[BoothStep, ...]:
    """The steps of a job: for each product mix, coats and flashes, then bake or air dry.

    Parameters
    ----------
    coatings : products in order
    end : "bake", "air dry", or "" for none
    part : what the coats go on, where several parts are under way

    Raises
    ------
    BadEntry : no coating, or coats that are not a whole number from 1 to 9

    >>> from refinishlib.shop.shop import load
    >>> job = [Coating(load().product("grey sealer")), Coating(load().product("water base"), coats=1)]
    >>> [step.action for step in steps_for(job, "")]
    ['mix', 'coat', 'flash', 'mix', 'coat', 'flash']
    """
    steps: list[BoothStep] = []
    for coating in coatings:
        coats = coating.sheet.coats if coating.coats is None else coating.coats
        mix = BoothStep(
            "mix", coating.sheet, hardener=coating.hardener, reducer=coating.reducer, part=part,
            during_flash=coating.during_flash,
        )  # fmt: skip
        coat = replace(mix, action="coat", minutes=coating.coat_min, film_ratio=coating.film_ratio, during_flash=False)
        dry = BoothStep("flash", part=part, blower_m_per_s=coating.blower_m_per_s)
        steps += [mix, *(coat, dry) * whole(f"{coating.sheet.name}, coats", coats, low=1, high=COATS_MAX)]
    if not steps:
        raise BadEntry("coatings: none was given, allowed is at least one.")
    return (*steps, BoothStep(end)) if end else tuple(steps)


def side_by_side(parts: Mapping[str, Sequence[Coating]], end: str = "bake") -> tuple[BoothStep, ...]:
    """The steps of several parts in one booth: while one flashes, the next is sprayed; a bake is for all.

    A product that two parts share is mixed once.

    Parameters
    ----------
    parts : the coatings of each part by its name, each in order
    end : "bake", "air dry", or "" for none

    Raises
    ------
    BadEntry : no part, or as `steps_for`

    >>> from refinishlib.shop.shop import load
    >>> clear = Coating(load().product("clear"), 1)
    >>> both = side_by_side({"door": [clear], "wing": [clear]})
    >>> labels(both)
    ('clear, mix', 'door: clear, coat 1', 'door: clear, flash 1', 'wing: clear, coat 1', 'wing: clear, flash 1', 'bake')
    """
    if not parts:
        raise BadEntry("parts: none was given, allowed is at least one.")
    turns: list[list[list[BoothStep]]] = []
    for part, coatings in parts.items():
        rounds: list[list[BoothStep]] = []
        pending: list[BoothStep] = []
        for step in steps_for(coatings, "", part=part):
            pending.append(step)
            if step.action == "flash":
                rounds.append(pending)
                pending = []
        turns.append(rounds)
    merged: list[BoothStep] = []
    mixed: set[tuple[str, str, str]] = set()
    for turn in range(max(len(rounds) for rounds in turns)):
        for rounds in turns:
            for step in rounds[turn] if turn < len(rounds) else ():
                cup = (step.sheet.name if step.sheet else "", step.hardener, step.reducer)
                if step.action == "mix" and cup in mixed:
                    continue
                mixed |= {cup} if step.action == "mix" else set()
                merged.append(step)
    return (*merged, BoothStep(end)) if end else tuple(merged)


def lay_out(plan: Plan, starts_min: ArrayLike) -> Layout:
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
    if not plan.steps:
        raise BadEntry("steps: none was given, allowed is at least one.")
    number("closing time", plan.closes_min, low=0, high=DAY_MIN, unit="min")
    number("opening time", plan.opens_min, low=0, high=DAY_MIN, unit="min")
    return _Laying(plan, now).whole()


def labels(steps: Sequence[BoothStep]) -> tuple[str, ...]:
    """What to call each step.

    >>> from refinishlib.shop.shop import load
    >>> labels(steps_for([Coating(load().product("clear"))]))
    ('clear, mix', 'clear, coat 1', 'clear, flash 1', 'clear, coat 2', 'clear, flash 2', 'bake')
    """
    names: list[str] = []
    seen: Counter[tuple[str, str, str]] = Counter()
    coats: dict[str, str] = {}
    for step in steps:
        name = step.action
        if step.action == "flash" and step.part in coats:
            name = coats[step.part].replace(", coat", ", flash")
        elif step.action in ("mix", "coat") and step.sheet is not None:
            whose = step.part if step.action == "coat" else ""
            seen[step.action, step.sheet.name, whose] += 1
            count = seen[step.action, step.sheet.name, whose]
            name = f"{step.sheet.name}, {step.action}" + (f" {count}" if step.action == "coat" or count > 1 else "")
            if step.action == "coat":
                name = f"{step.part}: {name}" if step.part else name
                coats[step.part] = name
        names.append(name)
    return tuple(names)


class _Laying:
    """One job while it is laid out: when the hands are free, when each part is, and what lies on it."""

    def __init__(self, plan: Plan, starts: Reals) -> None:
        self.plan = plan
        self.names = labels(plan.steps)
        self.constant = cure.time_constant_min(plan.material)
        self.bake_air_c = number(
            "air at bake", plan.bake_air_c, low=cure.BAKE_AIR_C[0], high=cure.BAKE_AIR_C[1], unit="degrees C"
        )
        self.starts = starts
        self.hands = starts
        self.free: dict[str, Reals] = {}
        self.coats: dict[str, _Coat] = {}
        self.cups: dict[str, tuple[Reals, Reals | None]] = {}
        self.findings: list[Finding] = []

    def whole(self) -> Layout:
        begins, ends = [], []
        for index, step in enumerate(self.plan.steps):
            begin = self._begins(step)
            takes = self._takes(index, step, begin)
            end = begin + np.where(np.isinf(takes), NEVER_MIN, takes)
            if step.action in HANDS_ON:
                self.hands = end
            if not step.part and step.action in BY_ITSELF:
                self.free = dict.fromkeys((*self.free, ""), end)
            else:
                self.free[step.part] = np.maximum(self.free.get(step.part, end), end)
            begins.append(begin)
            ends.append(end)
        self._hours(begins, ends)
        dust_free = {
            part: coat.ends + coat.sheet.dust_free_min * coat.dries - coat.bonus for part, coat in self.coats.items()
        }
        return Layout(np.array(begins), np.array(ends), tuple(self.findings), dust_free)

    def _begins(self, step: BoothStep) -> Reals:
        if step.action == "mix" and step.during_flash:
            return self.hands
        if not step.part and step.action in BY_ITSELF:  # for all that is in the booth
            last: Reals = np.maximum.reduce([*self.free.values(), self.starts])
            return last
        own = self.free.get(step.part, self.starts)
        return np.maximum(self.hands, own) if step.action in HANDS_ON else own

    def _takes(self, index: int, step: BoothStep, now: Reals) -> Reals:
        name = self.names[index]
        planned = _minutes(name, step)
        air = at(self.plan.day, now)

        def found(rule: str, given: ArrayLike, limit: ArrayLike) -> None:
            self.findings.append(Finding(index, rule, np.asarray(given), np.asarray(limit), air, now))

        if step.action == "mix":
            sheet = _sheet(name, step)
            self.cups[sheet.name] = now, cure.pot_life_min(sheet, step.hardener, air.air_c)
            return np.asarray(MIX_MIN if planned is None else planned)
        if step.action == "coat":
            return self._coat(name, step, now, air, planned, found)
        if step.action == "wait":
            return np.asarray(planned or 0.0)
        if step.action == "sand":
            for coat in self._under(step):
                had, needs = self._cure_so_far(name, coat, now, air)
                found("sanded soft", had, needs)
            for part in [part for part in self.coats if part == step.part or not step.part]:
                del self.coats[part]
            return np.asarray(SAND_MIN if planned is None else planned)
        coats = self._under(step)
        if not coats:
            raise BadEntry(f"{name}: allowed is this step, {step.action}, after a coat.")
        if step.action == "unmask":
            for coat in coats:
                if coat.had is None:
                    found("unmasked soft", coat.flashed(now), coat.sheet.dust_free_min * coat.dries)
            return np.asarray(UNMASK_MIN if planned is None else planned)
        if step.action == "flash":
            return self._flash(index, step, coats, now, air, planned, found)
        if step.action == "dust free":
            left = [np.maximum(c.sheet.dust_free_min * c.dries - c.flashed(now), 0) for c in coats]
            return np.maximum.reduce(left) if planned is None else np.asarray(planned)
        if step.action == "cool":
            gap = np.maximum(self.bake_air_c - air.air_c, COOL_GAP_C)
            need = self.constant * np.log(gap / COOL_GAP_C)
            return need if planned is None else np.asarray(planned)
        return self._cure(name, step, coats, now, air, planned, found)

    def _coat(
        self,
        name: str,
        step: BoothStep,
        now: Reals,
        air: Air,
        planned: float | None,
        found: Callable[[str, ArrayLike, ArrayLike], None],
    ) -> Reals:
        sheet = _sheet(name, step)
        takes = np.asarray(COAT_MIN if planned is None else planned)
        found("no extraction", air.air_m_per_s, LEAST_EXTRACTION_M_PER_S)
        _check_air(sheet, step, air, found)
        found("too thick", step.film_ratio, THICKEST_RATIO)
        found("too thin", step.film_ratio, THINNEST_RATIO)
        dries = flash.drying_factor(
            sheet, *_open(air), hardener_speed=step.hardener, reducer_speed=step.reducer, film_ratio=step.film_ratio
        )
        found("wet edge", takes, sheet.wet_edge_min * dries)
        last = self.coats.get(step.part)
        if last is not None and last.had is not None and last.sheet.cure is not None:
            found("recoat", now - last.ends, 0.0)
        elif last is not None:
            found("flash", last.flashed(now), last.flash(final=last.sheet.name != sheet.name))
            found("recoat", now - last.ends, _recoat(last, air))
        if sheet.name not in self.cups:
            raise BadEntry(f"{name}: allowed is a coat of a product that was mixed before.")
        mixed_at, lives = self.cups[sheet.name]
        if lives is not None:
            found("pot life", now + takes - mixed_at, lives)
        used = hardener(sheet, step.hardener)
        self.coats[step.part] = _Coat(sheet, now + takes, dries, used.pace if used else 1.0)
        return takes

    def _flash(
        self,
        index: int,
        step: BoothStep,
        coats: list[_Coat],
        now: Reals,
        air: Air,
        planned: float | None,
        found: Callable[[str, ArrayLike, ArrayLike], None],
    ) -> Reals:
        blower = number(
            f"{self.names[index]}, air of the blower", step.blower_m_per_s, low=0, high=flash.AIR_MAX_M_PER_S,
            unit="m/s",
        )  # fmt: skip
        found("no extraction", air.air_m_per_s, LEAST_EXTRACTION_M_PER_S)
        faster = flash.air_speed_factor(air.air_m_per_s) / flash.air_speed_factor(max(blower, air.air_m_per_s))
        final = _last_of_product(self.plan.steps, index)
        left = [np.maximum(coat.flash(final) - coat.flashed(now), 0) / faster for coat in coats]
        takes = np.maximum.reduce(left) if planned is None else np.asarray(planned)
        for coat in coats:
            coat.bonus = coat.bonus + np.where(np.isinf(takes), NEVER_MIN, takes) * (faster - 1)
        return takes

    def _cure(
        self,
        name: str,
        step: BoothStep,
        coats: list[_Coat],
        now: Reals,
        air: Air,
        planned: float | None,
        found: Callable[[str, ArrayLike, ArrayLike], None],
    ) -> Reals:
        plan = self.plan
        found("no extraction", air.air_m_per_s, LEAST_EXTRACTION_M_PER_S)
        if step.action == "bake":
            hottest = plan.vehicle_max_c
            if plan.battery and hottest is None:
                found("battery", 1.0, 0.0)
            if hottest is not None:
                found("too hot for the vehicle", self.bake_air_c, number("the vehicle's hottest air at bake", hottest))
            found("too hot for the part", self.bake_air_c, cure.HOTTEST_PART_C[plan.material])
            for coat in coats:
                if coat.sheet.cure is not None:
                    found("too hot for the sheet", self.bake_air_c, coat.sheet.cure.bake_max_c)
                if coat.had is None:
                    found("flash", coat.flashed(now), coat.flash(final=True))
        needs = [_cure_minutes(name, plan, step, coat, air, self.constant) for coat in coats]
        need = np.maximum.reduce(needs)
        takes = np.where(np.isinf(need), NEVER_MIN, need) if planned is None else np.asarray(planned)
        found("bake", takes, need)
        for coat, own in zip(coats, needs, strict=True):
            coat.had, coat.needs = takes, own
        return takes

    def _cure_so_far(self, name: str, coat: _Coat, now: Reals, air: Air) -> tuple[Reals, Reals]:
        """Minutes of cure that a coat has had, and that it needs before it is sanded."""
        if coat.had is not None and coat.needs is not None:
            return coat.had, coat.needs
        return now - coat.ends, _cure_minutes(name, self.plan, BoothStep("air dry"), coat, air, self.constant)

    def _under(self, step: BoothStep) -> list[_Coat]:
        return [coat for part, coat in self.coats.items() if part == step.part or not step.part]

    def _hours(self, begins: list[Reals], ends: list[Reals]) -> None:
        steps = self.plan.steps
        attended = [n for n, step in enumerate(steps) if step.action not in UNATTENDED] or [len(steps) - 1]
        done = np.maximum.reduce([ends[n] for n in attended])
        first, last = at(self.plan.day, begins[0]), at(self.plan.day, begins[attended[-1]])
        opens, closes = np.full_like(done, self.plan.opens_min), np.full_like(done, self.plan.closes_min)
        self.findings.append(Finding(0, "opening", begins[0], opens, first, begins[0]))
        self.findings.append(Finding(attended[-1], "closing", done, closes, last, begins[attended[-1]]))


def _open(air: Air) -> tuple[Reals, Reals, float]:
    return air.air_c, air.humidity_percent, air.air_m_per_s


def _minutes(name: str, step: BoothStep) -> float | None:
    one_of(f"{name}, action", step.action, ACTIONS)
    if step.minutes is None:
        return None
    return number(f"{name}, minutes", step.minutes, low=0, high=LONGEST_STEP_MIN, unit="min")


def _sheet(name: str, step: BoothStep) -> ProductSheet:
    if step.sheet is None:
        raise BadEntry(f"{name}: no product sheet was given, allowed is a {step.action} with one.")
    return step.sheet


def _recoat(last: _Coat, air: Air) -> Reals:
    return cure.minutes_at(last.sheet.recoat_max_min * last.pace, cure.AIR_DRY_C, air.air_c, cure.energy_of(last.sheet))


def _cure_minutes(name: str, plan: Plan, step: BoothStep, last: _Coat, air: Air, constant: float) -> Reals:
    sheet = last.sheet
    if step.action == "bake":
        if sheet.cure is None:
            raise BadEntry(f"{name}: {sheet.name} has no bake on its sheet, allowed is a product with one.")
        warming = cure.heat_up_minutes(plan.bake_air_c, air.surface_c, sheet.cure.bake_panel_c, constant)
        return warming + sheet.cure.bake_min * last.pace
    if sheet.cure is None:
        return np.asarray(sheet.dust_free_min * last.dries)
    return cure.minutes_at(sheet.cure.air_dry_min * last.pace, cure.AIR_DRY_C, air.air_c, cure.energy_of(sheet))


def _check_air(
    sheet: ProductSheet, step: BoothStep, air: Air, found: Callable[[str, ArrayLike, ArrayLike], None]
) -> None:
    found("too cold", air.air_c, sheet.air_c[0])
    found("too hot", air.air_c, sheet.air_c[1])
    used = reducer(sheet, step.reducer)
    low_c, high_c = used.air_c if used else AIR_C
    found("reducer too slow", air.air_c, low_c)
    found("reducer too fast", air.air_c, high_c)
    found("too dry", air.humidity_percent, sheet.humidity_percent[0])
    found("too humid", air.humidity_percent, sheet.humidity_percent[1])
    found("dew point", air.surface_c, dew_point_c(air.air_c, air.humidity_percent) + SURFACE_MARGIN_C)


def _last_of_product(steps: Sequence[BoothStep], index: int) -> bool:
    """Whether the flash at an index is the one before another product, a bake or the end."""
    part = steps[index].part
    before = next(s.sheet for s in reversed(steps[:index]) if s.action == "coat" and s.part == part)
    following = (s for s in steps[index + 1 :] if s.part == part or not s.part)
    after = next((s for s in following if s.action in ("coat", "sand", "bake", "air dry")), None)
    if after is None or after.sheet is None or before is None:
        return True
    return after.sheet.name != before.name
