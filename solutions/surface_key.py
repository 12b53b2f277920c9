"""Right answers and known mistakes of the surface lesson."""

from __future__ import annotations

from refinishlib.course.key import Before
from refinishlib.course.keys import Earlier, Key, Known, Right
from refinishlib.course.lessons.surface.job import SurfaceJob, fits, pad_fits, part_of, told
from refinishlib.course.lessons.surface.questions import (
    AS_PAPER_320,
    AS_PAPER_800,
    CLEAN_AGAIN,
    CLEAR_ALONE,
    CLOGS,
    COARSE_HOLDS,
    COAT_HIDES,
    DRIES,
    DRY,
    DULL,
    EACH_ONE,
    FINER_BETTER,
    FLAT_FIRST,
    GO_ON,
    GREY,
    HARD_TO_SEE,
    HIDES,
    LOOK,
    MACHINE,
    MAROON,
    NO_FILL,
    NOTHING,
    PAPER_CLEANS,
    PAPERS,
    PASTE_DID,
    PEELS,
    QUICK,
    READY,
    SAND,
    SCUFF,
    SLIP_WHY,
    SMOOTH_HOLDS,
    TAKES_OUT,
    TAPE,
    WATER_ENOUGH,
    WET_HIDES,
    questions,
)


def key(mine: SurfaceJob, earlier: Earlier) -> Key:
    """For each question, for each part: which value is right, and which mistakes lead to the others."""
    values = {part.name: part.values for question in questions(mine) for part in question.parts}
    way, why = NEXT[mine.state]
    now, now_why = NOW[mine.seen]
    pad, pad_why = (MAROON, AS_PAPER_320) if pad_fits(mine.pad_coat, "maroon pad") == "right" else (GREY, AS_PAPER_800)
    return {
        "1.1": {"next_step": others(way, NEXT_WAYS), "next_step_reason": others(why, NEXT_WHY)},
        "2.1": {"too_early": TOO_EARLY, "too_early_reason": others(SLIP_WHY[mine.slip.name], SLIPS)},
        "2.2": {"order": Right(WORKS, rules=rules())},
        "3.1": {
            "next_paper": Right(
                "skips one at most", {name: one for name, one in NEXT_PAPER.items() if name in values["next_paper"]}
            ),
            "next_paper_reason": others(TAKES_OUT, PAPER_WHY),
        },
        "3.2": {"passes": PASSES},
        "3.3": last_paper(mine),
        "4.1": {"in_the_fold": others(pad, FOLD), "in_the_fold_reason": others(pad_why, FOLD_WHY)},
        "4.2": {"what_now": others(now, NOW_WAYS), "what_now_reason": others(now_why, NOW_WHY)},
    }


def others(right: str, known: dict[str, Known]) -> Right:
    """One of them is right for this apprentice; the others are the mistakes."""
    return Right(right, {value: one for value, one in known.items() if value != right})


def last_paper(mine: SurfaceJob) -> dict[str, Right]:
    """Each paper that the coat covers and holds on to is right; the others are too coarse or too fine."""
    said = {paper: fits(mine.last_coat, paper) for paper in PAPERS}
    right, *also = [paper for paper in PAPERS if said[paper] == "right"]
    wrong = {paper: OFF[word] for paper, word in said.items() if word != "right"}
    why = HIDES if "sealer" in mine.last_coat else NO_FILL if "base on" in mine.last_coat else CLEAR_ALONE
    return {"last_paper": Right(right, wrong, also=tuple(also)), "last_paper_reason": others(why, LAST_WHY)}


NEXT = {
    "only where it is sanded": (CLEAN_AGAIN, TAPE),
    "paper clogs": (CLEAN_AGAIN, CLOGS),
    "wet after the rinse": (DRY, DRIES),
    "clean and dry": (SAND, READY),
}
NEXT_WAYS = {
    CLEAN_AGAIN: Known("cleaned though it was clean", 0, "see how far the cleaner went, and if any of it is left."),
    DRY: Known("dried though nothing was wet", 0, "see first what is still on the panel: grease, water, or nothing."),
    SAND: Known("sanded too soon", 0, "the panel is not ready for paper. Look for what is still on it."),
}
NEXT_WHY = {
    TAPE: Known("tape not looked at", 0, "compare where the cleaner went with where the tape will stand."),
    CLOGS: Known("clogged paper seen where there is none", 0, "no paper has been on this panel. Look at what is told."),
    DRIES: Known("water seen where there is none", 0, "read again if the panel is wet."),
    READY: Known("clean and dry taken on trust", 0, "go through it again: grease gone, far enough out, rinsed, dry?"),
    WATER_ENOUGH: Known("water taken for cleaner", 0, "water runs off grease and leaves it there."),
    PAPER_CLEANS: Known("paper taken for cleaner", 0, "paper takes no grease off. It rubs it in."),
}

TOO_EARLY = Right(
    "too early",
    {
        "what should be done by then": Known(
            "named the task that was left behind",
            0.5,
            "this task comes late, but it does no harm. Which one came before it and should not have?",
        ),
        "the one before it": Known("stopped one step too soon", 0, "up to here all is well. Go on down the list."),
    },
)
SLIPS = {
    SLIP_WHY["sanded on grease"]: Known("grease blamed for another slip", 0, "here the cleaner came before the paper."),
    SLIP_WHY["water first"]: Known("rinse blamed for another slip", 0, "here the cleaner came before the water."),
    SLIP_WHY["taped while wet"]: Known("wet tape blamed for another slip", 0, "here it was dry when the tape went on."),
    SLIP_WHY["nothing taped"]: Known(
        "missing tape blamed for another slip", 0, "here the tape came before the sander."
    ),
    SLIP_WHY["paste first"]: Known("paste blamed for another slip", 0, "here the sander came before the paste."),
    SLIP_WHY["rinsed before the paste"]: Known(
        "second rinse blamed for another slip", 0, "here the second rinse came after the paste."
    ),
}

NEXT_PAPER = {
    "one paper too far": Known(
        "leap: two papers skipped",
        0,
        "this leaves out two usual papers. It polishes the old scratch and leaves it there.",
    ),
    "straight to the last": Known(
        "straight to the last paper", 0, "so fine a paper never gets to the ground of this scratch."
    ),
    "the very next one": Known(
        "one paper more than it takes", 0.5, "this works, but costs one more paper. One may be skipped."
    ),
}
PAPER_WHY = {
    COAT_HIDES: Known(
        "coat left to hide the scratch", 0, "the coat sinks into a deep scratch as it dries. Then it shows."
    ),
    FINER_BETTER: Known(
        "finer taken for safer", 0, "a paper that is too fine only shines the ridges between the scratches."
    ),
    EACH_ONE: Known("no paper skipped", 0, "one usual paper may be left out. That saves time."),
}

PASSES = Right(
    "until it is gone",
    {
        "rounded down": Known("rounded down", 1, "the ground of the scratch is still there. Round up to a whole pass."),
        "by the coarse paper": Known(
            "cut of the coarse paper", 0.5, "you took what the coarse paper takes off. The finer one does the work now."
        ),
        "by the grain": Known(
            "grain taken for the scratch", 0.5, "a grain is much larger than the scratch that it leaves."
        ),
    },
)

OFF = {
    "too coarse": Known("last paper too coarse", 0, "the coat does not cover so deep a scratch."),
    "too fine": Known("last paper too fine", 0, "so fine a scratch gives the coat nothing to hold on to."),
}
LAST_WHY = {
    HIDES: Known("sealer seen where there is none", 0, "read what comes next. No sealer lies over this scratch."),
    NO_FILL: Known("what comes next not read", 0, "read what lies over the scratch first. It decides."),
    CLEAR_ALONE: Known("clear alone seen where more comes", 0, "read what comes next. More than clear lies over it."),
    SMOOTH_HOLDS: Known("smooth taken for hold", 0, "paint peels off what is too smooth."),
    COARSE_HOLDS: Known("deep taken for good", 0, "a deep scratch comes back through the coat."),
}

FOLD = {
    MAROON: Known(
        "maroon pad where nothing covers it", 0, "this pad leaves a coarse scratch. See what will lie over it."
    ),
    GREY: Known("grey pad under sealer", 0, "this pad leaves a fine scratch. Sealer wants more to hold on to."),
    MACHINE: Known("machine in a fold", 0, "a machine is through a fold in a moment."),
    NOTHING: Known("fold left bright", 0, "paint peels in a fold that was not scuffed. It begins there."),
}
FOLD_WHY = {
    AS_PAPER_320: Known("scratch of the maroon pad", 0, "hold the scratch of the pad against what comes next."),
    AS_PAPER_800: Known("scratch of the grey pad", 0, "hold the scratch of the pad against what comes next."),
    QUICK: Known("quickest way taken", 0, "quick is no reason. The scratch and the film decide."),
    HARD_TO_SEE: Known("hidden place left out", 0, "peeling begins where nobody looks."),
}

NOW = {
    "bright after a dry scuff": (SCUFF, PEELS),
    "even, but wet with paste": (LOOK, WET_HIDES),
    "even when dry": (GO_ON, DULL),
}
NOW_WAYS = {
    SCUFF: Known("scuffed where nothing shines", 0, "nobody has seen a bright spot. More scuffing only costs film."),
    LOOK: Known("looked again at what is dry", 0, "it has been rinsed and dried already. Trust what you see."),
    GO_ON: Known("went on too soon", 0, "the panel is not ready yet. Ask what the light shows, and when."),
}
NOW_WHY = {
    PEELS: Known("bright spot seen where there is none", 0, "read again if anything still shines."),
    WET_HIDES: Known("dry panel taken for wet", 0, "read again if it is wet."),
    DULL: Known("dull taken on trust", 0, "is it dull all over, and was it seen dry?"),
    PASTE_DID: Known("paste trusted without a look", 0, "paste slides over a spot as well. Only a dry look tells."),
    FLAT_FIRST: Known(
        "sanded flat what need only be dull", 0, "the peel may stay. Dull is enough, and the film is thin."
    ),
}

# What each task of the job card is in the trade's own list.
WORKS = (
    "wash with water and soap",
    "hang the door to see if it fits",
    "wipe with cleaner, out round the edges",
    "rinse and blow dry",
    "sand the flat by machine",
    "rub the edges by hand",
    "scuff the corners with pad and paste",
    "rinse and dry once more",
    "mask what stays clean",
    "last wipe, blow out, then tack",
)
MEANS = dict(
    zip(
        WORKS,
        (
            ("wash",),
            ("test fit",),
            ("degrease",),
            ("rinse", "blow dry"),
            ("sand",),
            ("edge by hand",),
            ("scuff with paste",),
            ("rinse again", "dry again"),
            ("mask fully",),
            ("final clean", "blow out", "tack"),
        ),
        strict=True,
    )
)


def rules() -> tuple[Before, ...]:
    """The trade's rules between the tasks of the job card, each with its own reason."""
    card = {task: words for words, tasks in MEANS.items() for task in tasks}
    found: dict[tuple[str, str], Before] = {}
    for one in part_of(task for tasks in MEANS.values() for task in tasks).rules:
        pair = card[one.first], card[one.then]
        if pair[0] != pair[1] and pair not in found:
            reason = told(one)
            found[pair] = Before(*pair, f"{one.then} before {one.first}", 0, reason[0].lower() + reason[1:])
    return tuple(sorted(found.values(), key=lambda rule: (WORKS.index(rule.first), WORKS.index(rule.then))))
