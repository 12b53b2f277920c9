"""Right answers and known mistakes of the mixing lesson.

A mistake is, where it can be, the engine asked for the wrong thing: a density of 1, one coat, the other way to pour.
"""

from __future__ import annotations

from itertools import accumulate

from refinishlib.booth.quantity import paint_needed
from refinishlib.course.key import Before, Mistake, PartKey
from refinishlib.course.lessons.mixing import planned
from refinishlib.mixing.ratio import by_ratio
from refinishlib.mixing.rescue import rescue
from refinishlib.mixing.scale import smallest_mix, to_mass, to_volume
from refinishlib.shop.job import MixingJob, job
from refinishlib.shop.paint import toner

# How far a right answer may be off: what rounding on the way does, and never less than what the scale can show.
SCALE_G = 0.16
CLOSE = 0.005
WORKED = 0.01


def key(apprentice: str) -> dict[str, dict[str, PartKey]]:
    """For each question, for each part: the right answer of this apprentice and the mistakes that are made often."""
    mine: MixingJob = job("mixing", apprentice)
    return {
        "1.1": {"own_g": _own(mine)},
        "1.2": {"readings_g": _whole_pour(mine)},
        "2.1": _by_volume(mine),
        "3.1": _by_ratio(mine),
        "4.1": _rescue(mine),
        "5.1": {"smallest_g": _smallest(mine)},
        "6.1": {"ready_ml": _amount(mine)},
        "7.1": {"order": PartKey(BENCH_ORDER, rules=BENCH_RULES)},
    }


def _near(value: float, part: float = CLOSE) -> float:
    return max(SCALE_G, part * value)


def _own(mine: MixingJob) -> PartKey:
    pour = to_mass(mine.formula.parts, mine.wanted_g)
    at = pour.names.index(mine.toner)
    parts = mine.formula.parts[at][1]
    all_parts = sum(p for _, p in mine.formula.parts)
    return PartKey(
        pour.own_g[at],
        _near(pour.own_g[at]),
        (
            Mistake(
                "cumulative reading instead of own weight",
                pour.cumulative_g[at],
                1,
                "this is what the scale shows with everything before it in the cup. Its own weight is the step from "
                "the reading before.",
            ),
            Mistake(
                "parts taken as grams",
                parts,
                0,
                "these are its parts in the formula. Parts are not grams: scale them to the amount you want.",
            ),
            Mistake(
                "scaled the wrong way",
                parts * all_parts / mine.wanted_g,
                0.5,
                "you scaled the wrong way round. More paint wanted means more of each toner: divide by all parts, "
                "multiply by the grams you want.",
            ),
        ),
    )


def _whole_pour(mine: MixingJob) -> PartKey:
    pour = to_mass(mine.formula.parts, mine.wanted_g)
    return PartKey(
        pour.cumulative_g,
        _near(mine.wanted_g, WORKED / 4),
        (
            Mistake(
                "own weights instead of readings",
                pour.own_g,
                1.5,
                "these are own weights. Without tare each toner lands on top of the ones before: add them up from the "
                "top down.",
            ),
            Mistake(
                "parts added up, not scaled",
                tuple(accumulate(parts for _, parts in mine.formula.parts)),
                1,
                "you added up the parts. Scale them to the amount you want first, then add up.",
            ),
            Mistake(
                "reading before the toner, not after",
                (0.0, *pour.cumulative_g[:-1]),
                2,
                "these are the readings before each toner goes in. Asked is what the scale shows after it.",
            ),
        ),
    )


def _by_volume(mine: MixingJob) -> dict[str, PartKey]:
    parts = mine.heavy_formula.parts
    densities = {name: toner(name).density_g_per_ml for name, _ in parts}
    plain = sum(densities.values()) / len(densities)
    pour = to_volume(parts, mine.wanted_ml, densities)
    like_water = to_volume(parts, mine.wanted_ml, dict.fromkeys(densities, 1.0))
    average = to_volume(parts, mine.wanted_ml, dict.fromkeys(densities, plain))
    upside_down = to_mass(parts, mine.wanted_ml**2 / pour.total_g)
    at = pour.names.index(mine.heavy_toner)
    water = "you took a millilitre for a gram. Paint has a density: this mix is heavier than water."
    mean = "you took the plain average of the densities. Each toner counts by how much of the room in the cup it fills."
    divided = "you divided by the density. Weight is volume times density: heavy paint weighs more."

    def part(right: float, values: tuple[float, float, float]) -> PartKey:
        names = ("a millilitre taken for a gram", "plain average of the densities", "divided by the density")
        sentences = (water, mean, divided)
        return PartKey(
            right,
            _near(right),
            tuple(Mistake(n, v, 0.5, s) for n, v, s in zip(names, values, sentences, strict=True)),
        )

    return {
        "total_g": part(pour.total_g, (like_water.total_g, average.total_g, upside_down.total_g)),
        "toner_g": part(pour.own_g[at], (like_water.own_g[at], average.own_g[at], upside_down.own_g[at])),
    }


def _by_ratio(mine: MixingJob) -> dict[str, PartKey]:
    ratio = mine.ratio
    mixed = by_ratio(ratio.names, ratio.parts, ratio.density_g_per_ml, mine.ready_ml)
    _, hardener_g, reducer_g = mixed.pour.own_g
    of_first = mine.ready_ml * ratio.parts[1] / ratio.parts[0] * ratio.density_g_per_ml[1]
    water = "this is millilitres. The ratio is by volume, the scale is by weight: multiply by the density of each part."
    return {
        "hardener_g": PartKey(
            hardener_g,
            _near(hardener_g),
            (
                Mistake("millilitres read as grams", mixed.own_ml[1], 0.5, water),
                Mistake(
                    "ratio taken of the first part instead of the whole",
                    of_first,
                    0.5,
                    "you divided by the parts of the first product only. The amount is the whole mix: divide by all "
                    "parts together.",
                ),
                Mistake(
                    "hardener and reducer mixed up",
                    reducer_g,
                    0,
                    "this is the reducer. Read the ratio in the order of the product sheet.",
                ),
            ),
        ),
        "all_in_g": PartKey(
            mixed.pour.total_g,
            _near(mixed.pour.total_g, CLOSE / 1.25),
            (
                Mistake("millilitres read as grams", mine.ready_ml, 0.5, water),
                Mistake(
                    "own weight instead of the reading",
                    reducer_g,
                    0.5,
                    "this is the last part on its own. Without tare the scale shows everything in the cup.",
                ),
                Mistake(
                    "the last part left out",
                    mixed.pour.cumulative_g[1],
                    0.5,
                    "the reducer is missing. Asked is the reading when all three are in.",
                ),
            ),
        ),
    }


def _rescue(mine: MixingJob) -> dict[str, PartKey]:
    plan = planned(mine)
    parts = mine.pour_formula.parts
    at = plan.names.index(mine.over_toner)
    in_cup = [*plan.own_g[:at], plan.own_g[at] + mine.over_g, *(0.0 for _ in plan.own_g[at + 1 :])]
    saved = rescue(parts, in_cup, mine.pour_wanted_g)
    by_reading = mine.pour_wanted_g * (plan.cumulative_g[at] + mine.over_g) / plan.cumulative_g[at]
    first_g = saved.own_g[0]
    fits = "yes" if saved.needed_g <= mine.cup_g else "no"
    return {
        "new_total_g": PartKey(
            saved.total_g,
            _near(saved.total_g),
            (
                Mistake(
                    "only added the over-pour",
                    mine.pour_wanted_g + mine.over_g,
                    0.5,
                    "this is the cup with the slip accepted. To get the ratios right every other toner must grow too.",
                ),
                Mistake(
                    "factor from the scale reading instead of the own weight",
                    by_reading,
                    1,
                    "you compared what the whole scale shows. Compare the toner alone: its own weight in the cup with "
                    "its own weight in the plan.",
                ),
                Mistake(
                    "left the total as planned",
                    mine.pour_wanted_g,
                    0,
                    "this is the plan before the slip. There is more in the cup now, and nothing comes out again.",
                ),
            ),
        ),
        "add_first_g": PartKey(
            saved.add_g[0],
            _near(first_g),
            (
                Mistake(
                    "added the over-pour itself",
                    mine.over_g,
                    0,
                    "you added as much as went over. Each toner grows by the same factor, not by the same grams.",
                ),
                Mistake(
                    "its whole new weight instead of what is missing",
                    first_g,
                    1,
                    "this is all of it in the rescued mix. Most of it is in the cup already: add only the rest.",
                ),
                Mistake(
                    "factor from the scale reading instead of the own weight",
                    to_mass(parts, by_reading).own_g[0] - plan.own_g[0],
                    0.5,
                    "your factor comes from the whole scale reading. Take it from the own weight of the toner that "
                    "went over.",
                ),
            ),
        ),
        "fits_the_cup": PartKey(
            fits,
            mistakes=(
                Mistake(
                    "cup not compared with the rescued total",
                    "no" if fits == "yes" else "yes",
                    0,
                    "compare what the cup holds with the new total, not with what was planned.",
                ),
            ),
        ),
        "fits_the_cup_reason": PartKey(
            "the new total",
            mistakes=tuple(Mistake(name, reason, 0, help) for reason, (name, help) in FIT_MISTAKES.items()),
        ),
    }


FIT_MISTAKES = {
    "only what still goes in": (
        "forgot what is in the cup already",
        "what is in the cup already takes its room too.",
    ),
    "the planned total": (
        "cup compared with the plan",
        "that was before the slip. Now every toner has grown.",
    ),
    "the planned total and what went over": (
        "cup compared with the slip accepted",
        "that is the slip accepted. A rescue adds of every other toner too.",
    ),
}


def _smallest(mine: MixingJob) -> PartKey:
    def ask(**change: object) -> float:
        asked = {
            "share": mine.small_share,
            "readability_g": mine.small_readability_g,
            "allowed": mine.small_allowed,
            "way": mine.small_way,
        } | change
        return smallest_mix(**asked)  # type: ignore[arg-type]

    right = ask()
    return PartKey(
        right,
        _near(right, WORKED),
        (
            Mistake(
                "half a step and a whole step mixed up",
                ask(way="cumulative" if mine.small_way == "tared" else "tared"),
                1.5,
                "look at how you pour. With tare a toner hangs on one reading, half a step off; without, on two.",
            ),
            Mistake(
                "allowed error left out",
                ask(allowed=1.0),
                0.5,
                "at this size the toner may be off by all of itself. The allowed error makes the mix bigger.",
            ),
            Mistake(
                "per cent taken as a plain number",
                right / 100,
                0.5,
                "one per cent is 0.01. Your share or your allowed error stands there in per cent as if it were whole.",
            ),
        ),
    )


def _amount(mine: MixingJob) -> PartKey:
    def ask(**change: float) -> float:
        asked = {
            "area_m2": mine.area_m2,
            "coats": mine.coats,
            "film_um": mine.film_um,
            "volume_solids": mine.volume_solids,
            "transfer_efficiency": mine.transfer_efficiency,
            "waste": mine.waste,
        } | change
        return float(paint_needed(**asked))

    right = ask()
    return PartKey(
        right,
        _near(right, WORKED),
        (
            Mistake(
                "transfer efficiency multiplied instead of divided",
                ask(transfer_efficiency=1.0) * mine.transfer_efficiency,
                1.5,
                "you multiplied by the transfer efficiency. Part of the spray misses, so more must leave the gun: "
                "divide.",
            ),
            Mistake(
                "dry film taken for wet",
                ask(volume_solids=1.0),
                1,
                "you took the dry film for the wet one. The solvent leaves: divide by the volume solids.",
            ),
            Mistake("one coat only", ask(coats=1), 2, "this is one coat. Multiply by the number of coats."),
            Mistake(
                "overspray left out",
                ask(transfer_efficiency=1.0),
                1.5,
                "you sprayed without a loss. Divide by the transfer efficiency.",
            ),
            Mistake("waste left out", ask(waste=0.0), 3, "the waste in cup and gun is missing. It comes on top."),
        ),
    )


BENCH_ORDER = (
    "gloves and mask on",
    "check the colour and its variant",
    "stir the toners",
    "tare the empty cup",
    "pour the toners",
    "stir the mix",
    "spray a card and clear it",
    "hardener and reducer into the job's paint",
)
BENCH_RULES = (
    Before(
        "gloves and mask on",
        "stir the toners",
        "tins opened without gloves and mask",
        0,
        "gloves and mask come on before the first tin is opened.",
    ),
    Before(
        "gloves and mask on",
        "pour the toners",
        "poured without gloves and mask",
        0,
        "gloves and mask come on before you pour.",
    ),
    Before(
        "check the colour and its variant",
        "pour the toners",
        "poured before the variant was checked",
        0,
        "a wrong variant is poured as fast as the right one. Check before you pour.",
    ),
    Before(
        "stir the toners",
        "pour the toners",
        "poured from unstirred tins",
        0,
        "pigment settles in the tin. Stir the toners before you pour.",
    ),
    Before(
        "tare the empty cup",
        "pour the toners",
        "cup not tared",
        0,
        "the cup has a weight of its own. Tare it before the first toner.",
    ),
    Before(
        "pour the toners",
        "stir the mix",
        "stirred before all toners were in",
        0,
        "stir the mix when all toners are in, not before.",
    ),
    Before(
        "stir the mix",
        "spray a card and clear it",
        "card sprayed from an unstirred mix",
        1,
        "a card from an unstirred mix shows another colour. Stir first.",
    ),
    Before(
        "spray a card and clear it",
        "hardener and reducer into the job's paint",
        "hardener in before the card was seen",
        1.5,
        "once the hardener is in, the clock runs and no toner can go in. See the card first.",
    ),
)
