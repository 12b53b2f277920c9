"""The questions of the lesson on edges, and the values that compete for each answer."""

from __future__ import annotations

from math import floor

from refinishlib.course import lessons
from refinishlib.course.lessons.edges.job import (
    PAPERS,
    ZONES,
    CutThrough,
    EdgesJob,
    asked_for,
    hours,
    left_um,
    limits,
    papers_on_the_crown,
    taken_um,
)
from refinishlib.course.question import Chosen, Number, Part, Question, decision
from refinishlib.job.price import Added
from refinishlib.picture.table import html_table
from refinishlib.prep.grades import grade
from refinishlib.prep.removal import removed_um, scratch_depth_um
from refinishlib.prep.scratch import final_scratch, zones
from refinishlib.shop.shop import Shop
from refinishlib.shop.vehicle import neighbours

COUNT = Number("number", "", 0, 1000)
FILM = Number("film", "um", 0, 500)
MONEY = Number("number", "", 0, 100000)

STROKE = "stroke and pad"
OUT = "how far out"
BUDGET = "film as a budget"
ENOUGH = "dull is enough"
SLIP = "the price of a slip"

MOVERS = {
    "3/16 in": "the 3/16 inch orbit",
    "3/32 in": "the 3/32 inch orbit",
    "hand": "a pad, by hand",
}
BLOCK = "a hard block, by hand"
FINER, FASTER, THROUGH = (
    "it leaves the finer scratch",
    "it cuts faster, and its scratch does not show here",
    "a machine is through there in a moment",
)
GENTLER, UNSEEN = "a longer stroke is a gentler one", "nobody sees the stroke under paint"

ON_CROWN = {"both": "both papers", "the finer": "P800 only", "none": "none of them"}
COARSE_ONLY = "P600 only"
CAN_PAY, PAYS_ONE, PAYS_NONE = (
    "what both take, and the scratch, is less than there is",
    "it can pay for the finer paper, but not for both",
    "even the finer paper would be through",
)
CUTS_BETTER, PAD_REACHES = "the coarser one cuts better out there", "the machine gets there, so it may go there"

ON, PAD, STOP = "go on with the machine", "stop, and pad the dots by hand", "stop: it is ready"
STILL_BRIGHT, LOW_DOTS, DULL_WILL_DO = (
    "most of it is bright, and there is film enough",
    "the dots are low, and the film is gone before they are",
    "paint holds on dull, and peel may stay",
)
PEEL_FLAT, DOTS_HARMLESS = "the peel must be flat before paint", "a few bright dots do no harm"

SIDE = (
    "bonnet",
    "front bumper",
    "left front door",
    "left front wing",
    "left pillar",
    "left quarter panel",
    "left rear door",
    "left roof side",
    "left sill",
    "right front wing",
)
FIRST = {"clear": "clear", "colour": "colour", "sealer": "sealer", "primer": "primer, as its sheet says"}
FIRST_WHY = {
    "clear": "there is still clear, only too little to be the last coat",
    "colour": "the clear is gone, and the colour is still there",
    "sealer": "the colour is gone, and the primer is still there",
    "primer": "the ground is bare",
}
CLEAR_HIDES, DAB = "clear on top makes it one again", "a dab of colour hides any ground"

NEAR_UM = 0.16
NEAR_MONEY = 0.3

SOURCES = {
    "NEAR_UM": "teaching value: what the two decimals on the job card and an entry to its tenth leave open",
    "NEAR_MONEY": "teaching value: what the tenth of a minute on the job card leaves open",
}


def questions(mine: EdgesJob) -> tuple[Question, ...]:
    """The graded questions with this apprentice's numbers."""
    return (
        Question("1.1", "What moves the paper?", STROKE, _mover_text(mine), _mover()),
        Question("2.1", "Until it is through", OUT, _limit_text(mine), _limit(mine)),
        Question("2.2", "Out on the crown", OUT, _crown_text(mine), _crown(mine)),
        Question("3.1", "What is left", BUDGET, _film_text(mine), _film(mine)),
        Question("3.2", "On, or stop?", ENOUGH, _seen_text(mine), _seen()),
        Question("4.1", "Who joins in?", SLIP, _joins_text(mine), _joins(mine)),
        Question("4.2", "What comes first?", SLIP, _first_text(mine), _first()),
        Question("4.3", "The bill", SLIP, _bill_text(mine), _bill(mine)),
    )


def shop() -> Shop:
    """The shop that the lesson draws from."""
    return lessons.record("edges").shop


# --- the job cards ---------------------------------------------------------------------------------------------------


def _mover_text(mine: EdgesJob) -> str:
    one = mine.mover
    row = final_scratch(one.coat)
    return (
        f"<p>The <b>{one.panel}</b>, a <b>{one.colour}</b> colour. You work on its <b>{one.zone}</b>.</p>"
        f"<p>The surface: {row.surface}. Next comes: <b>{row.before}</b>.</p>"
        "<p>What moves your last paper there, and why?</p>"
    )


def _limit_text(mine: EdgesJob) -> str:
    one, found = mine.limit, limits(mine.limit)
    soft = "with a soft pad" if one.interface_pad else "without a soft pad"
    rows = [
        [name, f"{found[name].clear_um:.1f}", f"{found[name].per_pass_um:.2f}", f"{found[name].scratch_um:.2f}"]
        for name in ZONES
    ]
    return (
        f"<p>A panel will be blended, so more clear follows. You go over it with <b>{PAPERS[0]}</b>, the {one.machine} "
        f"orbit, {soft}.</p><p>How many whole passes may you make on the <b>{one.zone}</b>? Even the ground of the "
        "scratch must stay in the clear.</p>"
        + html_table(["", "clear there, µm", "one pass takes, µm", "scratch, µm deep"], rows)
    )


def _crown_text(mine: EdgesJob) -> str:
    one = mine.crown
    rows = [
        [
            paper,
            f"{float(removed_um(grade(paper).grain_um, passes=one.passes, machine=one.machine, zone='crown')):.1f}",
            f"{float(scratch_depth_um(grade(paper).grain_um, machine=one.machine)):.1f}",
        ]
        for paper in PAPERS
    ]
    return (
        f"<p>The crown of a panel has <b>{one.clear_um * zones()['crown'].film:.1f} µm</b> of clear. More clear "
        f"follows. Each paper makes <b>{one.passes} passes</b> wherever it goes, with the {one.machine} orbit.</p>"
        "<p>The finer paper goes further out than the coarse one. Which of them may go over the crown, and why?</p>"
        + html_table(["paper", "takes off the crown, µm", "scratch, µm deep"], rows)
    )


def _film_text(mine: EdgesJob) -> str:
    one = mine.film
    soft = "with a soft pad" if one.interface_pad else "without a soft pad"
    rows = [
        [
            name,
            f"{one.clear_um * zones()[name].film:.1f}",
            *(f"{taken_um(one, name, paper, 1):.2f}" for paper in PAPERS),
        ]
        for name in ZONES
    ]
    return (
        f"<p>Ivo went over a bonnet with the {one.machine} orbit, {soft}. He made <b>{one.coarse_passes} passes of "
        f"{PAPERS[0]}</b>, then <b>{one.fine_passes} passes of {PAPERS[1]}</b>.</p>"
        "<p>How much clear is left on the <b>crown</b>?</p>"
        + html_table(
            ["", "clear before, µm", f"one pass of {PAPERS[0]} takes, µm", f"one pass of {PAPERS[1]} takes, µm"], rows
        )
    )


def _seen_text(mine: EdgesJob) -> str:
    told = {
        "mostly bright": "You made one light pass. The gauge says that there is clear enough. Broad parts still shine.",
        "dull with bright dots": "You made four light passes. It is dull all over, but small dots shine in the lows "
        "of the peel. The clear is near its limit.",
        "dull, and peel is felt": "You made four light passes. It was rinsed and dried. It is dull all over, and no dot "
        "shines. The peel can still be felt with a hand.",
    }[mine.seen]
    return (
        f"<p>The flat of the <b>{mine.seen_panel}</b> will get clear. You look along it.</p><p>{told}</p>"
        "<p>What do you do, and why?</p>"
    )


def _joins_text(mine: EdgesJob) -> str:
    cut = mine.joins
    car = shop().vehicle
    between = {
        frozenset({name, other}): [f"{name}, {other}", _EYE[seam.faces], _BREAK[seam.clear_break]]
        for name in (*reversed(_smooth(cut.towards)), cut.towards, cut.panel)
        for other, seam in neighbours(car, car.panel(name)).items()
        if name == cut.panel or seam.clear_break == "none"
    }
    rows = reversed(between.values())
    return (
        f"<p>Only the <b>{cut.panel}</b> was to get colour and clear. Then the paper went through the clear into the "
        f"colour. The place is <b>{cut.away_m:.2f} m</b> from the edge to the <b>{cut.towards}</b>. It is far from all "
        f"other edges. The blend of this colour needs <b>{cut.blend_m:.2f} m</b>.</p>"
        "<p>Which panels get colour now, and which get clear? Name all of them.</p>"
        f'<div class="refinish-words">{html_table(["between", "seen together", "a line for the clear"], rows)}</div>'
    )


_EYE = {"same way": "yes", "other way": "no"}
_BREAK = {"gap": "a gap", "body line": "a body line", "none": "none: one smooth skin"}


def _smooth(panel: str) -> list[str]:
    """The panels that clear runs on to from this one, because no line lies between."""
    car, found = shop().vehicle, [panel]
    for name in found:
        found += [
            other
            for other, seam in neighbours(car, car.panel(name)).items()
            if seam.clear_break == "none" and other not in found
        ]
    return found[1:]


def _first_text(mine: EdgesJob) -> str:
    told = {
        "clear": "You are not through. But the gauge says that hardly any clear is left.",
        "colour": "The paper is through the clear. You see the colour, dull and even.",
        "primer": "The paper is through clear and colour. You see grey primer.",
        "bare": "The paper is through all of it. You see bright metal.",
    }[mine.first.into]
    return (
        f"<p>At the edge of the <b>{mine.first.panel}</b> the paper went too far. {told}</p>"
        "<p>What is the first thing that is sprayed on this place, and why?</p>"
    )


def _bill_text(mine: EdgesJob) -> str:
    cut, more, rates = mine.bill, bill(mine.bill), hours().rates
    into = {"primer": "into the primer", "bare": "down to the bare ground"}[cut.into]
    return (
        f"<p>The <b>{cut.panel}</b> was to get colour and clear. At its edge to the {cut.towards} the paper went "
        f"{into}. This is what comes on top of the plan.</p><p>What does the slip cost in all?</p>"
        + html_table(
            ["on top of the plan", ""],
            [
                ["work", f"{more.work_min:.1f} min"],
                ["an hour of work costs", f"{rates.labour_per_hour:.2f}"],
                ["time in the booth", f"{more.booth_min:.1f} min"],
                ["an hour in the booth costs", f"{rates.booth_per_hour:.2f}"],
                ["paint", f"{more.paint:.2f}"],
                ["paper, tape and cloths", f"{_small(more):.2f}"],
            ],
        )
    )


def bill(cut: CutThrough) -> Added:
    """What a slip adds to a plan in which its panel gets colour and clear."""
    return asked_for(shop(), cut, {cut.panel: ("colour", "clear")}).added


def _small(more: Added) -> float:
    """What is neither work, booth nor paint."""
    return more.money - more.paint - _hours(more.work_min, more.booth_min)


def _hours(work_min: float, booth_min: float) -> float:
    rates = hours().rates
    return work_min / 60 * rates.labour_per_hour + booth_min / 60 * rates.booth_per_hour


# --- the values that compete for each answer --------------------------------------------------------------------------


def _mover() -> tuple[Part, ...]:
    return decision("mover", "What moves the paper", (*MOVERS.values(), BLOCK), (FINER, FASTER, THROUGH, GENTLER, UNSEEN))


def _limit(mine: EdgesJob) -> tuple[Part, ...]:
    one, found = mine.limit, limits(mine.limit)
    here = found[one.zone]
    other = found[next(name for name in ZONES if name != one.zone)]
    values = {
        "until it is through": here.through_passes,
        "until it is thin": here.thin_passes,
        "the other zone": other.through_passes,
        "no room for the scratch": floor(here.clear_um / here.per_pass_um),
    }
    return (Part("passes", "Passes", COUNT, 2, "", {name: float(value) for name, value in values.items()}),)


def _crown(mine: EdgesJob) -> tuple[Part, ...]:
    ways = (*ON_CROWN.values(), COARSE_ONLY)
    whys = (CAN_PAY, PAYS_ONE, PAYS_NONE, CUTS_BETTER, PAD_REACHES)
    return decision("on_the_crown", "Over the crown", ways, whys)


def _film(mine: EdgesJob) -> tuple[Part, ...]:
    one = mine.film
    crown = one.clear_um * zones()["crown"].film
    coarse = taken_um(one, "crown", PAPERS[0], one.coarse_passes)
    fine = taken_um(one, "crown", PAPERS[1], one.fine_passes)
    values = {
        "left on the crown": left_um(one, "crown"),
        "left on the flat": left_um(one, "flat"),
        "taken off": coarse + fine,
        "without the finer paper": crown - coarse,
        "from the flat's film": one.clear_um - coarse - fine,
    }
    return (Part("left_um", "Clear left on the crown", FILM, 2, "", values, NEAR_UM),)


def _seen() -> tuple[Part, ...]:
    whys = (STILL_BRIGHT, LOW_DOTS, DULL_WILL_DO, PEEL_FLAT, DOTS_HARMLESS)
    return decision("what_now", "What you do", (ON, PAD, STOP), whys)


def _joins(mine: EdgesJob) -> tuple[Part, ...]:
    cut = mine.joins
    car = shop().vehicle
    found = asked_for(shop(), cut, {})
    colour = frozenset(one.panel for one in found.panels if "colour" in one.needs)
    clear = frozenset(one.panel for one in found.panels if "clear" in one.needs)
    beside = neighbours(car, car.panel(cut.panel))
    here, both = frozenset({cut.panel}), frozenset({cut.panel, cut.towards})
    all_seen = here | {name for name, seam in beside.items() if seam.faces == "same way"}
    colours = {"as far as the blend": colour, "the place alone": here, "over the edge": both, "all that is seen": all_seen}
    clears = {"to a line": clear, "where colour goes": colour, "over the edge": both, "all that is seen": all_seen}
    return (
        Part("colour_on", "Panels that get colour", Chosen(SIDE), 2, "", _told_apart(colours)),
        Part("clear_on", "Panels that get clear", Chosen(SIDE), 2, "", _told_apart(clears)),
    )


def _told_apart(values: dict[str, frozenset[str]]) -> dict[str, frozenset[str]]:
    """Each set once, under the first name that it has."""
    found: dict[str, frozenset[str]] = {}
    for name, value in values.items():
        if value not in found.values():
            found[name] = value
    return found


def _first() -> tuple[Part, ...]:
    whys = (*FIRST_WHY.values(), CLEAR_HIDES, DAB)
    return decision("sprayed_first", "Sprayed first", FIRST.values(), whys)


def _bill(mine: EdgesJob) -> tuple[Part, ...]:
    more = bill(mine.bill)
    materials = more.paint + _small(more)
    values = {
        "all of it": more.money,
        "the material alone": materials,
        "without the booth": materials + _hours(more.work_min, 0.0),
        "without the work": materials + _hours(0.0, more.booth_min),
        "minutes for hours": materials + 60 * _hours(more.work_min, more.booth_min),
    }
    return (Part("costs", "The slip costs", MONEY, 2, "", values, NEAR_MONEY),)


def right_on_crown(mine: EdgesJob) -> str:
    """Which papers may go over the crown, by the engine."""
    papers = papers_on_the_crown(mine.crown)
    return ON_CROWN["both" if len(papers) == len(PAPERS) else "the finer" if papers else "none"]
