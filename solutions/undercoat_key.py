"""Right answers and known mistakes of the undercoat lesson."""

from __future__ import annotations

from refinishlib.colour.hiding import VISIBLE
from refinishlib.colour.tolerance import EDGE
from refinishlib.course.keys import Earlier, Key, Known, Right
from refinishlib.course.lessons.undercoat.job import UndercoatJob, ruling, shows
from refinishlib.course.lessons.undercoat.questions import (
    ADD_COAT,
    BARE_LIES,
    BLAME,
    CLEAR_HIDES,
    CLEAR_IT,
    COAT_MENDS,
    COLOUR_IS,
    DARK_DARK,
    FACE_SAME,
    GO_ON,
    IS_READY,
    JUDGE,
    LEAST_WORST,
    LIGHT_CLEAN,
    LONGER,
    LOOK_NOW,
    NEAR,
    NOT_YET,
    ON_FACE,
    ONE_MORE,
    OTHER,
    OVERDUE,
    RESPRAY,
    SAFER,
    SAND,
    SHINES,
    SOLVENT_DOES,
    SPRAY,
    STILL,
    TOO_FAR,
    TOUCH,
    UNSEEN,
    UNTIL_ZERO,
    VARIANT,
    WAIT,
    WEARS_CLEAR,
    WET_LIES,
)


def key(mine: UndercoatJob, earlier: Earlier) -> Key:
    """For each question, for each part: which value is right, and which mistakes lead to the others."""
    one = mine.enough
    enough = shows(one.formula, one.grey, one.coat_um)[one.coats] <= VISIBLE
    passes = ruling(mine.sprayed).verdict == EDGE
    way, why = STATES[mine.waiting.state]
    look, look_why = LOOKED[mine.look]
    return {
        "1.1": {"coats": COATS},
        "1.2": {
            "enough": others(GO_ON if enough else ONE_MORE, ENOUGH_WAYS),
            "enough_reason": others(UNSEEN if enough else STILL, ENOUGH_WHY),
        },
        "2.1": {"grey": GREY, "grey_reason": others(LEAST_WORST, GREY_WHY)},
        "3.1": {
            "this_card": others(JUDGE if passes else RESPRAY, CARD_WAYS),
            "this_card_reason": others(NEAR if passes else TOO_FAR, CARD_WHY),
        },
        "4.1": {"look": others(look, LOOK_WAYS), "look_reason": others(look_why, LOOK_WHY)},
        "5.1": {"black_g": BLACK},
        "5.2": {"colour_on": others(way, WAITING_WAYS), "colour_on_reason": others(why, WAITING_WHY)},
    }


def others(right: str, known: dict[str, Known]) -> Right:
    """One of them is right for this apprentice; the others are the mistakes."""
    return Right(right, {value: one for value, one in known.items() if value != right})


COATS = Right(
    "nobody sees it",
    {
        "by a limit of one": Known(
            "one taken for the limit",
            1,
            "a difference of one is seen. Hold each number against the limit on the job card.",
        ),
        "until nothing is left": Known(
            "coats until nothing is left", 1, "you went on until the number was next to nothing. You may stop earlier."
        ),
        "rows counted": Known(
            "rows counted instead of coats", 0.5, "the first row has no coat at all. Read its number."
        ),
    },
)

ENOUGH_WAYS = {
    GO_ON: Known("stopped while it still shows", 0, "hold what still shows against the limit."),
    ONE_MORE: Known(
        "a coat that nobody sees", 0, "hold what still shows against the limit. A coat costs paint and time."
    ),
    OTHER: Known("another variant for a ground that shows", 0, "the ground is what shows. No variant mends that."),
}
ENOUGH_WHY = {
    UNSEEN: Known("taken for unseen what is seen", 0, "look at the number again, and at the limit."),
    STILL: Known("taken for seen what is not", 0, "look at the number again, and at the limit."),
    UNTIL_ZERO: Known("coats until zero", 0, "it never comes to nothing. Ask what anybody sees."),
    SAFER: Known("a coat to be on the safe side", 0, "a coat that is not needed costs paint, time and film."),
    BLAME: Known("the colour blamed for the ground", 0, "the tin is right. It is the ground that comes through."),
}

GREY = Right(
    "shows least",
    {
        "the darkest": Known(
            "the darkest grey taken", 0, "look along its row. Somewhere it shows more than another one."
        ),
        "the lightest": Known(
            "the lightest grey taken", 0, "look along its row. Somewhere it shows more than another one."
        ),
        "the one beside it": Known("the second best grey taken", 0, "another row has a smaller largest number."),
    },
)
GREY_WHY = {
    DARK_DARK: Known("a dark ground for a strong colour", 0, "no rule says so. Look at what each grey still does."),
    LIGHT_CLEAN: Known("a light ground to keep it clean", 0, "light from below shows through. Look at the numbers."),
    ON_FACE: Known("judged on the face alone", 0, "the flop is seen too. Look where each grey shows most."),
}

CARD_WAYS = {
    RESPRAY: Known("a new card that nobody needs", 0, "hold the largest number against the limit."),
    JUDGE: Known("judged by a card on another ground", 0, "hold the largest number against the limit."),
    ADD_COAT: Known("a coat on the card alone", 0, "then card and job no longer have the same coats."),
}
CARD_WHY = {
    TOO_FAR: Known("a difference seen where it passes", 0, "read the largest number again, and the limit."),
    NEAR: Known("a difference not seen", 0, "read the largest number again, and the limit."),
    CLEAR_HIDES: Known("clear left to hide the ground", 0, "clear hides no colour. It lies over both in the same way."),
    FACE_SAME: Known("card judged on the face alone", 0, "look at all angles. The worst one counts."),
    COAT_MENDS: Known("a coat against a grey", 0, "the job would still have another ground and other coats."),
}

LOOKED = {
    "bare": (CLEAR_IT, BARE_LIES),
    "wiped": (CLEAR_IT, WET_LIES),
    "cleared": (LOOK_NOW, WEARS_CLEAR),
}
LOOK_WAYS = {
    CLEAR_IT: Known("clear asked for where it is", 0, "read again what lies on this card."),
    LOOK_NOW: Known("judged without clear", 0, "the car wears clear. What does the card wear?"),
    VARIANT: Known(
        "another variant before the card can tell", 0, "no card has told anything yet. First let this one tell."
    ),
}
LOOK_WHY = {
    BARE_LIES: Known("bare base seen where there is none", 0, "read again what lies on this card."),
    WET_LIES: Known("solvent seen where there is none", 0, "read again what lies on this card."),
    WEARS_CLEAR: Known("clear seen where there is none", 0, "read again what lies on this card."),
    COLOUR_IS: Known("clear taken for nothing", 0, "clear has no colour, but it takes the grey veil off the base."),
    SOLVENT_DOES: Known("solvent taken for clear", 0, "look at the number: it comes nearer, and stays away."),
}

BLACK = Right(
    "black",
    {
        "white": Known("white instead of black", 0.5, "this is the white. Black is the small one."),
        "for 100 g": Known("not scaled to the amount", 0.5, "this is for a hundred grams. You need another amount."),
        "by the number": Known(
            "grey by its number", 0, "L* is no recipe. Black is strong: take the grams of the table."
        ),
    },
)

STATES = {
    "shining": (WAIT, SHINES),
    "dull too soon": (WAIT, NOT_YET),
    "ready": (SPRAY, IS_READY),
    "too late": (SAND, OVERDUE),
}
WAITING_WAYS = {
    WAIT: Known("waited for nothing", 0, "look at it, and hold the time against the sheet's two times."),
    SPRAY: Known("colour on at the wrong time", 0, "look at it, and hold the time against the sheet's two times."),
    SAND: Known("sanded what needs none", 0, "hold the time against the sheet's longest time."),
}
WAITING_WHY = {
    SHINES: Known("shine seen where there is none", 0, "read again how it looks."),
    NOT_YET: Known("sheet's time not read", 0, "hold the time that has gone by against the sheet's."),
    IS_READY: Known("ready before it is, or after", 0, "it must be dull, and between the sheet's two times."),
    OVERDUE: Known("the longest time not read", 0, "hold the time that has gone by against the longest time."),
    TOUCH: Known("the finger taken for the sheet", 0, "a finger feels the skin, not what is under it."),
    LONGER: Known("standing taken for good", 0, "after its longest time the next coat may not hold."),
}
