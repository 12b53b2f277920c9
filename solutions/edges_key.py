"""Right answers and known mistakes of the lesson on edges."""

from __future__ import annotations

from refinishlib.course.keys import Earlier, Key, Known, Right
from refinishlib.course.lessons.edges.job import EdgesJob, asked_for
from refinishlib.course.lessons.edges.questions import (
    BLOCK,
    CAN_PAY,
    CLEAR_HIDES,
    COARSE_ONLY,
    CUTS_BETTER,
    DAB,
    DOTS_HARMLESS,
    DULL_WILL_DO,
    FASTER,
    FINER,
    FIRST,
    FIRST_WHY,
    GENTLER,
    LOW_DOTS,
    MOVERS,
    ON,
    ON_CROWN,
    PAD,
    PAD_REACHES,
    PAYS_NONE,
    PAYS_ONE,
    PEEL_FLAT,
    STILL_BRIGHT,
    STOP,
    THROUGH,
    UNSEEN,
    questions,
    right_on_crown,
    shop,
)


def key(mine: EdgesJob, earlier: Earlier) -> Key:
    """For each question, for each part: which value is right, and which mistakes lead to the others."""
    values = {part.name: part.values for question in questions(mine) for part in question.parts}
    crown = right_on_crown(mine)
    what, why = NOW[mine.seen]
    first = asked_for(shop(), mine.first, {}).panels[0].needs[0]
    return {
        "1.1": mover(mine),
        "2.1": {"passes": PASSES},
        "2.2": {
            "on_the_crown": others(crown, CROWN),
            "on_the_crown_reason": others(CROWN_WHY_RIGHT[crown], CROWN_WHY),
        },
        "3.1": {"left_um": LEFT},
        "3.2": {"what_now": others(what, NOW_WAYS), "what_now_reason": others(why, NOW_WHY)},
        "4.1": {
            "colour_on": among(values["colour_on"], "as far as the blend", COLOUR_ON),
            "clear_on": among(values["clear_on"], "to a line", CLEAR_ON),
        },
        "4.2": {
            "sprayed_first": others(FIRST[first], SPRAYED),
            "sprayed_first_reason": others(FIRST_WHY[first], SPRAYED_WHY),
        },
        "4.3": {"costs": COSTS},
    }


def others(right: str, known: dict[str, Known], also: tuple[str, ...] = ()) -> Right:
    """One of them is right for this apprentice, or a few are; the others are the mistakes."""
    return Right(right, {value: one for value, one in known.items() if value not in (right, *also)}, also=also)


def among(values: object, right: str, known: dict[str, Known]) -> Right:
    """The mistakes that lead to another set of panels on this apprentice's car."""
    return Right(right, {name: one for name, one in known.items() if name in values})  # type: ignore[operator]


def mover(mine: EdgesJob) -> dict[str, Right]:
    """By the engine's ways to sand: the short stroke, either of them, or the hand."""
    if mine.mover.case == "both":
        way = others(MOVERS["3/16 in"], MOVED, (MOVERS["3/32 in"],))
        return {"mover": way, "mover_reason": others(FASTER, MOVED_WHY, (FINER,))}
    way, why = (MOVERS["hand"], THROUGH) if mine.mover.case == "hand" else (MOVERS["3/32 in"], FINER)
    return {"mover": others(way, MOVED), "mover_reason": others(why, MOVED_WHY)}


MOVED = {
    MOVERS["3/16 in"]: Known(
        "long stroke where its scratch shows", 0, "ask what lies over the scratch, and how thin the film is there."
    ),
    MOVERS["3/32 in"]: Known(
        "machine on an edge", 0, "look where on the panel you are. No machine is slow enough there."
    ),
    MOVERS["hand"]: Known(
        "hand where a machine does better", 0, "the straight strokes of a hand show more. Keep the hand for the edges."
    ),
    BLOCK: Known("hard block on a finish", 0, "a hard block levels. Here the scratch must be dull, not flat."),
}
MOVED_WHY = {
    FINER: Known(
        "finer scratch named where the edge decides", 0, "on an edge it is not the scratch that counts first."
    ),
    FASTER: Known(
        "speed named where it does not decide", 0, "speed is no help where the scratch shows, or the film is thin."
    ),
    THROUGH: Known("thin edge seen where there is none", 0, "read once more where on the panel you work."),
    GENTLER: Known("long stroke taken for gentle", 0, "a longer stroke is a longer path. It takes off more."),
    UNSEEN: Known("scratch thought to be unseen", 0, "clear shows a scratch under it, and silver shows it most."),
}

PASSES = Right(
    "until it is through",
    {
        "until it is thin": Known(
            "stopped at the safe build though clear follows",
            1,
            "this is where a finished film would be thin. More clear follows here.",
        ),
        "the other zone": Known("passes of the other zone", 0.5, "you took the row of the other zone."),
        "no room for the scratch": Known(
            "scratch left out", 1, "the scratch goes below the surface. Leave room for it before you divide."
        ),
    },
)

CROWN = {
    ON_CROWN["both"]: Known(
        "both papers out on a thin crown", 0, "add up what both take. Add the scratch. Is that there?"
    ),
    ON_CROWN["the finer"]: Known("crown not worked out", 0, "work it out for the fine paper first, and then for both."),
    ON_CROWN["none"]: Known(
        "thick crown left to the hand", 0, "there is more clear on it than you think. Work it out."
    ),
    COARSE_ONLY: Known(
        "coarse paper further out", 0, "the coarser paper takes more, and cuts deeper. It stays further in."
    ),
}
CROWN_WHY_RIGHT = {ON_CROWN["both"]: CAN_PAY, ON_CROWN["the finer"]: PAYS_ONE, ON_CROWN["none"]: PAYS_NONE}
CROWN_WHY = {
    CAN_PAY: Known("crown thought to pay for both", 0, "take both papers and the scratch off the clear that is there."),
    PAYS_ONE: Known("crown thought to pay for one", 0, "do the sum for the fine paper, then for both."),
    PAYS_NONE: Known("crown thought to pay for none", 0, "do the sum for the fine paper with its scratch."),
    CUTS_BETTER: Known("cut taken for reach", 0, "a strong cut is the reason to stay further in."),
    PAD_REACHES: Known("goes where it fits", 0, "that it fits there does not tell if the film can pay for it."),
}

LEFT = Right(
    "left on the crown",
    {
        "left on the flat": Known(
            "flat taken for the crown", 0.5, "this is the flat. The crown has less film, and is pressed harder."
        ),
        "taken off": Known("film taken off instead of left", 1, "this is what came off. Asked is what stays."),
        "without the finer paper": Known(
            "second paper left out", 1, "this is after the first paper. The second one takes film too."
        ),
        "from the flat's film": Known(
            "film of the flat", 1, "you began with the film of the flat. The crown has less."
        ),
    },
)

NOW = {
    "mostly bright": (ON, STILL_BRIGHT),
    "dull with bright dots": (PAD, LOW_DOTS),
    "dull, and peel is felt": (STOP, DULL_WILL_DO),
}
NOW_WAYS = {
    ON: Known("machine kept going", 0, "a machine gets to the lows last. Ask what it costs on the way."),
    PAD: Known("pad on what needs none", 0, "look for dots once more: some, none, or broad parts?"),
    STOP: Known("stopped while it shines", 0, "something still shines, and paint peels there."),
}
NOW_WHY = {
    STILL_BRIGHT: Known("broad bright parts seen where there are none", 0, "read once more how much of it shines."),
    LOW_DOTS: Known("bright dots seen where there are none", 0, "read once more what still shines."),
    DULL_WILL_DO: Known("dull taken on trust", 0, "it is not dull all over yet."),
    PEEL_FLAT: Known(
        "peel chased until it is flat", 0, "flat costs the film of the whole panel. Peel under clear may stay."
    ),
    DOTS_HARMLESS: Known("bright dots left", 0, "each bright dot is a place where paint can peel."),
}

COLOUR_ON = {
    "the place alone": Known(
        "colour on the spot only", 0.5, "hold the length of the blend against the way to the edge."
    ),
    "over the edge": Known(
        "colour over an edge that the blend does not reach",
        0.5,
        "hold the length of the blend against the way to the edge.",
    ),
    "all that is seen": Known("all neighbours given colour", 0, "the place is far from the other edges."),
}
CLEAR_ON = {
    "where colour goes": Known(
        "clear stopped where no line is", 0.5, "clear needs a line to stop at. On one smooth skin it runs on."
    ),
    "over the edge": Known(
        "clear over a gap for nothing", 0.5, "clear goes where colour went, and then on to the next line."
    ),
    "all that is seen": Known("all neighbours given clear", 0, "a gap is a line. Clear can stop there."),
}

SPRAYED = {
    FIRST["clear"]: Known(
        "clear over what is cut through", 0, "clear hides nothing. Say first what you see in the place."
    ),
    FIRST["colour"]: Known(
        "colour on the wrong ground", 0, "say first what you see in the place, then what holds on it."
    ),
    FIRST["sealer"]: Known(
        "sealer on the wrong ground", 0, "say first what you see in the place, then what it asks for."
    ),
    FIRST["primer"]: Known("primed more than it takes", 0, "no ground is bare. Say what you see in the place."),
}
SPRAYED_WHY = {
    FIRST_WHY["clear"]: Known("clear seen where it is gone", 0, "read again what can be seen in the place."),
    FIRST_WHY["colour"]: Known("colour seen where there is none", 0, "read again what can be seen in the place."),
    FIRST_WHY["sealer"]: Known("primer seen where there is none", 0, "read again what can be seen in the place."),
    FIRST_WHY["primer"]: Known("bare ground seen where there is none", 0, "read again what can be seen in the place."),
    CLEAR_HIDES: Known("clear thought to hide a slip", 0, "clear shows what lies under it."),
    DAB: Known("dab of colour on any ground", 0, "a dab shows as a spot, and on the wrong ground it peels."),
}

COSTS = Right(
    "all of it",
    {
        "the material alone": Known("time left out", 0.5, "this is the material. The hours cost more than the paint."),
        "without the booth": Known("booth left out", 1, "the booth costs too, also while nobody sprays."),
        "without the work": Known("work left out", 1, "the work is missing. Somebody has to do it all once more."),
        "minutes for hours": Known("minutes taken for hours", 0.5, "these are minutes. The price is for an hour."),
    },
)
