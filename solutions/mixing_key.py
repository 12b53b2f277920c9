"""Right answers and known mistakes of the mixing lesson."""

from __future__ import annotations

from refinishlib.course.key import Before
from refinishlib.course.keys import Earlier, Key, Known, Right
from refinishlib.course.lessons.mixing.job import MixingJob
from refinishlib.course.lessons.mixing.questions import CLOSE, SCALE_G, questions


def key(mine: MixingJob, earlier: Earlier) -> Key:
    """For each question, for each part: which value is right, and which mistakes lead to the others."""
    values = {part.name: part.values for question in questions(mine) for part in question.parts}
    return {
        "1.1": {"own_g": OWN},
        "1.2": {"readings_g": READINGS},
        "2.1": {"total_g": BY_VOLUME, "toner_g": BY_VOLUME},
        "3.1": {
            "hardener_g": HARDENER,
            "all_in_g": Right("all three, g", ALL_IN, max(SCALE_G, CLOSE / 1.25 * values["all_in_g"]["all three, g"])),
        },
        "4.1": {
            "new_total_g": NEW_TOTAL,
            # What is missing is a difference: it is as uncertain as the whole that it is taken from.
            "add_first_g": Right(
                "what is missing", ADDITIONS, max(SCALE_G, CLOSE * values["add_first_g"]["all of it"])
            ),
            "fits_the_cup": FITS,
            "fits_the_cup_reason": FIT_REASON,
        },
        "5.1": {"smallest_g": SMALLEST},
        "6.1": {"ready_ml": AMOUNT},
        "7.1": {"order": Right(WORKS, rules=RULES)},
    }


OWN = Right(
    "own weight",
    {
        "scale reading": Known(
            "cumulative reading instead of own weight",
            1,
            "this is what the scale shows with everything before it in the cup. Its own weight is the step from "
            "the reading before.",
        ),
        "parts": Known(
            "parts taken as grams",
            0,
            "these are its parts in the formula. Parts are not grams: scale them to the amount you want.",
        ),
        "scaled down": Known(
            "scaled the wrong way",
            0.5,
            "you scaled the wrong way round. More paint wanted means more of each toner: divide by all parts, "
            "multiply by the grams you want.",
        ),
    },
)

READINGS = Right(
    "readings after",
    {
        "own weights": Known(
            "own weights instead of readings",
            1.5,
            "these are own weights. Without tare each toner lands on top of the ones before: add them up from the "
            "top down.",
        ),
        "parts added up": Known(
            "parts added up, not scaled",
            1,
            "you added up the parts. Scale them to the amount you want first, then add up.",
        ),
        "readings before": Known(
            "reading before the toner, not after",
            2,
            "these are the readings before each toner goes in. Asked is what the scale shows after it.",
        ),
    },
)

BY_VOLUME = Right(
    "by the room in the cup",
    {
        "like water": Known(
            "a millilitre taken for a gram",
            0.5,
            "you took a millilitre for a gram. Paint has a density: this mix is heavier than water.",
        ),
        "by the mean density": Known(
            "plain average of the densities",
            0.5,
            "you took the plain average of the densities. Each toner counts by how much of the room in the cup it "
            "fills.",
        ),
        "upside down": Known(
            "divided by the density",
            0.5,
            "you divided by the density. Weight is volume times density: heavy paint weighs more.",
        ),
    },
)

WATER = Known(
    "millilitres read as grams",
    0.5,
    "this is millilitres. The ratio is by volume, the scale is by weight: multiply by the density of each part.",
)

HARDENER = Right(
    "hardener, g",
    {
        "hardener, mL": WATER,
        "of the first part": Known(
            "ratio taken of the first part instead of the whole",
            0.5,
            "you divided by the parts of the first product only. The amount is the whole mix: divide by all "
            "parts together.",
        ),
        "reducer, g": Known(
            "hardener and reducer mixed up",
            0,
            "this is the reducer. Read the ratio in the order of the product sheet.",
        ),
    },
)

ALL_IN = {
    "all three, mL": WATER,
    "reducer, g": Known(
        "own weight instead of the reading",
        0.5,
        "this is the last part on its own. Without tare the scale shows everything in the cup.",
    ),
    "without the reducer": Known(
        "the last part left out",
        0.5,
        "the reducer is missing. Asked is the reading when all three are in.",
    ),
}

NEW_TOTAL = Right(
    "all brought up",
    {
        "slip left in": Known(
            "only added the over-pour",
            0.5,
            "this is the cup with the slip accepted. To get the ratios right every other toner must grow too.",
        ),
        "by the reading": Known(
            "factor from the scale reading instead of the own weight",
            1,
            "you compared what the whole scale shows. Compare the toner alone: its own weight in the cup with "
            "its own weight in the plan.",
        ),
        "as planned": Known(
            "left the total as planned",
            0,
            "this is the plan before the slip. There is more in the cup now, and nothing comes out again.",
        ),
    },
)

ADDITIONS = {
    "the over-pour": Known(
        "added the over-pour itself",
        0,
        "you added as much as went over. Each toner grows by the same factor, not by the same grams.",
    ),
    "all of it": Known(
        "its whole new weight instead of what is missing",
        1,
        "this is all of it in the rescued mix. Most of it is in the cup already: add only the rest.",
    ),
    "by the reading": Known(
        "factor from the scale reading instead of the own weight",
        0.5,
        "your factor comes from the whole scale reading. Take it from the own weight of the toner that went over.",
    ),
}

FITS = Right(
    "new total compared",
    {
        "plan compared": Known(
            "cup not compared with the rescued total",
            0,
            "compare what the cup holds with the new total, not with what was planned.",
        ),
    },
)

FIT_REASON = Right(
    "the new total",
    {
        "only what still goes in": Known(
            "forgot what is in the cup already",
            0,
            "what is in the cup already takes its room too.",
        ),
        "the planned total": Known(
            "cup compared with the plan",
            0,
            "that was before the slip. Now every toner has grown.",
        ),
        "the planned total and what went over": Known(
            "cup compared with the slip accepted",
            0,
            "that is the slip accepted. A rescue adds of every other toner too.",
        ),
    },
)

SMALLEST = Right(
    "this way",
    {
        "the other way": Known(
            "half a step and a whole step mixed up",
            1.5,
            "look at how you pour. With tare a toner hangs on one reading, half a step off; without, on two.",
        ),
        "all of the toner": Known(
            "allowed error left out",
            0.5,
            "at this size the toner may be off by all of itself. The allowed error makes the mix bigger.",
        ),
        "per cent as a number": Known(
            "per cent taken as a plain number",
            0.5,
            "one per cent is 0.01. Your share or your allowed error stands there in per cent as if it were whole.",
        ),
    },
)

AMOUNT = Right(
    "from film to cup",
    {
        "transfer multiplied": Known(
            "transfer efficiency multiplied instead of divided",
            1.5,
            "you multiplied by the transfer efficiency. Part of the spray misses, so more must leave the gun: divide.",
        ),
        "dry for wet": Known(
            "dry film taken for wet",
            1,
            "you took the dry film for the wet one. The solvent leaves: divide by the volume solids.",
        ),
        "one coat": Known("one coat only", 2, "this is one coat. Multiply by the number of coats."),
        "no overspray": Known(
            "overspray left out",
            1.5,
            "you sprayed without a loss. Divide by the transfer efficiency.",
        ),
        "no waste": Known("waste left out", 3, "the waste in cup and gun is missing. It comes on top."),
    },
)

WORKS = (
    "gloves and mask on",
    "check the colour and its variant",
    "stir the toners",
    "tare the empty cup",
    "pour the toners",
    "stir the mix",
    "spray a card and clear it",
    "hardener and reducer into the job's paint",
)

RULES = (
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
