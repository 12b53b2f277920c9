"""Right answers and known mistakes of the mixing lesson."""

from __future__ import annotations

from refinishlib.course.key import Before
from refinishlib.course.keys import Earlier, Key, Known, Right
from refinishlib.course.lessons.mixing.job import MixingJob, colour_rule_g, judged
from refinishlib.course.lessons.mixing.questions import (
    AFRESH,
    ALWAYS,
    CLOSE,
    COLOUR_FAILS,
    COLOUR_HOLDS,
    ENOUGH,
    FIRST_IN,
    HEAVIEST,
    LEAVE,
    LIGHTEST,
    POUR_ON,
    SCALE_G,
    SCALE_SHOWS,
    SEEN_FITS,
    SEEN_TOO_MUCH,
    SHARE_FAILS,
    SHOWS_MOST,
    SMALL_PART,
    TOO_SMALL,
    UNSEEN,
    questions,
)


def key(mine: MixingJob, earlier: Earlier) -> Key:
    """For each question, for each part: which value is right, and which mistakes lead to the others."""
    values = {part.name: part.values for question in questions(mine) for part in question.parts}
    return {
        "1.1": {"own_g": OWN},
        "1.2": {"readings_g": READINGS, "wrong_row": ROW, "wrong_row_reason": what_he_wrote(mine.wrong.slip)},
        "2.1": {"total_g": BY_VOLUME, "toner_g": BY_VOLUME},
        "3.1": {
            "hardener_g": HARDENER,
            "all_in_g": Right("all three, g", ALL_IN, max(SCALE_G, CLOSE / 1.25 * values["all_in_g"]["all three, g"])),
        },
        "4.1": {"new_total_g": NEW_TOTAL},
        "5.1": slip(mine),
        "6.1": {"ready_ml": AMOUNT},
        "7.1": {"fine_scale": FINE_SCALE, "fine_scale_reason": FINE_SCALE_WHY},
        "7.2": for_a_card(mine),
        "8.1": {"order": Right(WORKS, rules=RULES)},
    }


def what_he_wrote(right: str) -> Right:
    """What stands in the wrong row; the other slips are the mistakes."""
    return Right(right, {name: known for name, known in WRITTEN.items() if name != right})


def slip(mine: MixingJob) -> dict[str, Right]:
    """By the colour first, then by the cup."""
    advice = judged(mine.care)
    if advice.word == "accept":
        way, why = LEAVE, UNSEEN
    elif advice.rescued.needed_g <= mine.care.cup_g:
        way, why = POUR_ON, SEEN_FITS
    else:
        way, why = AFRESH, SEEN_TOO_MUCH
    wrong_ways = {POUR_ON: SAVED_FOR_NOTHING if way == LEAVE else TOO_MUCH_FOR_THE_CUP, **NOT_THAT_WAY[way]}
    return {
        "slip": Right(way, {name: known for name, known in wrong_ways.items() if name != way}),
        "slip_reason": Right(why, {name: known for name, known in SLIP_WHY.items() if name != why}),
    }


def for_a_card(mine: MixingJob) -> dict[str, Right]:
    """The card is only looked at, so the colour rule decides."""
    enough = mine.card_g >= colour_rule_g(mine.card_formula)
    way, why = (ENOUGH, COLOUR_HOLDS) if enough else (TOO_SMALL, COLOUR_FAILS)
    other, known = (TOO_SMALL, CARD_REFUSED) if enough else (ENOUGH, CARD_LIES)
    return {
        "for_a_card": Right(way, {other: known}),
        "for_a_card_reason": Right(why, {name: known for name, known in CARD_WHY.items() if name != why}),
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
            0.5,
            "these are own weights. Without tare each toner lands on top of the ones before: add them up from the "
            "top down.",
        ),
        "parts added up": Known(
            "parts added up, not scaled",
            0.5,
            "you added up the parts. Scale them to the amount you want first, then add up.",
        ),
        "readings before": Known(
            "reading before the toner, not after",
            1,
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

ROW = Right(
    "the wrong one",
    {
        "the one beside it": Known(
            "took the row beside the wrong one",
            0,
            "the step to this row looks wrong, but its reading is right. Work out each reading from the parts.",
        ),
        "the largest step": Known(
            "took the largest step for the wrong one",
            0,
            "a large step is no fault. The toner with most parts makes it. Work out each reading from the parts.",
        ),
    },
)

WRITTEN = {
    "its own weight": Known(
        "own weight not told from a slip of another kind",
        0,
        "work out what this toner weighs on its own. He did not write that.",
    ),
    "its parts": Known(
        "parts not told from a slip of another kind",
        0,
        "look at the parts in that row. He did not write those.",
    ),
    "the reading before it": Known(
        "reading before the toner not told from a slip of another kind",
        0,
        "work out the reading of the row above. He did not write that.",
    ),
    "two digits turned round": Known(
        "turned digits not told from a slip of another kind",
        0,
        "write the right reading below his. The digits are not the same ones.",
    ),
}

SAVED_FOR_NOTHING = Known(
    "saved a slip that nobody sees",
    0,
    "look at the worst angle first. What nobody sees needs no more paint.",
)

TOO_MUCH_FOR_THE_CUP = Known(
    "saved mix not held against the cup",
    0,
    "the colour would come right. But hold the saved mix against what the cup holds.",
)

LEFT_THOUGH_SEEN = Known(
    "left a slip that shows",
    0,
    "look at the worst angle. It is the one that the customer sees.",
)

THREW_GOOD_PAINT_AWAY = Known(
    "threw a good mix away",
    0,
    "this mix can still be used. Look at the colour, then at the cup.",
)

NOT_THAT_WAY = {
    LEAVE: {AFRESH: THREW_GOOD_PAINT_AWAY},
    POUR_ON: {LEAVE: LEFT_THOUGH_SEEN, AFRESH: THREW_GOOD_PAINT_AWAY},
    AFRESH: {LEAVE: LEFT_THOUGH_SEEN},
}

SLIP_WHY = {
    UNSEEN: Known("worst angle read as within the limit", 0, "hold the worst angle against the limit once more."),
    SEEN_FITS: Known(
        "worst angle or cup read wrong", 0, "hold the worst angle against the limit, and the saved mix against the cup."
    ),
    SEEN_TOO_MUCH: Known(
        "cup or worst angle read wrong", 0, "hold the worst angle against the limit, and the saved mix against the cup."
    ),
    SMALL_PART: Known(
        "over-pour compared with the whole mix",
        0,
        "a strong toner shows at a small part of the mix. The colour decides, not the part.",
    ),
    ALWAYS: Known(
        "rescues always",
        0,
        "not each slip can be seen. The colour decides, not the habit.",
    ),
}

FINE_SCALE = Right(
    "by the colour",
    {
        "by the share": Known(
            "picked the smallest toner though the panel must look right",
            0,
            "this toner is off by the largest part of itself. The panel shows another one more.",
        ),
        "by the weight": Known(
            "picked the heaviest toner",
            0,
            "on a heavy toner one step of the scale is next to nothing.",
        ),
    },
)

FINE_SCALE_WHY = Right(
    SHOWS_MOST,
    {
        LIGHTEST: Known(
            "share rule used where the eye decides",
            0,
            "the lightest toner is off by the largest part of itself. That is the share rule. Who looks at the panel "
            "sees the colour.",
        ),
        HEAVIEST: Known("weight taken for effect", 0, "a heavy toner hides a step of the scale best."),
        FIRST_IN: Known("order taken for effect", 0, "when it goes in does not change what a step does."),
    },
)

CARD_REFUSED = Known(
    "card refused by the share rule",
    0,
    "this card is only looked at. Ask the rule that tells what the eye sees.",
)

CARD_LIES = Known(
    "card sprayed from a mix that is too small",
    0,
    "the scale may be so far off that the card shows another colour. Hold the amount against both rules.",
)

CARD_WHY = {
    COLOUR_HOLDS: Known("colour rule read as met", 0, "hold the amount against the colour rule once more."),
    COLOUR_FAILS: Known("colour rule read as not met", 0, "hold the amount against the colour rule once more."),
    SHARE_FAILS: Known(
        "share rule used where the eye decides",
        0,
        "the share rule is for grams that you keep for more paint. This card is only looked at.",
    ),
    SCALE_SHOWS: Known(
        "any reading taken for a good one",
        0,
        "that the scale shows a toner does not tell how far off it is.",
    ),
}

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
        "one coat": Known("one coat only", 1.5, "this is one coat. Multiply by the number of coats."),
        "no overspray": Known(
            "overspray left out",
            1.5,
            "you sprayed without a loss. Divide by the transfer efficiency.",
        ),
        "no waste": Known("waste left out", 2, "the waste in cup and gun is missing. It comes on top."),
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
