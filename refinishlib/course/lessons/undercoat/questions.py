"""The questions of the undercoat lesson, and the values that compete for each answer."""

from __future__ import annotations

from refinishlib.colour import surface
from refinishlib.colour.hiding import VISIBLE
from refinishlib.colour.undercoat import sealer_for
from refinishlib.course.lessons.undercoat.job import (
    GREY_NAMES,
    NOTHING_LEFT,
    ONE,
    SEALER,
    UndercoatJob,
    apart,
    best_on,
    coats,
    first_below,
    flash_today_min,
    off_cleared,
    over_greys,
    ruling,
    shows,
)
from refinishlib.course.question import Number, Part, Question, decision
from refinishlib.course.world import world
from refinishlib.picture.table import html_table

COUNT = Number("number", "", 0, 100)
MASS = Number("mass", "g")
WORLD = 2

COUNTING = "counting coats"
ENOUGH = "enough is enough"
GREY = "the grey that hides"
ALIKE = "card and job alike"
CLEARED = "only clear tells"
WEIGHT = "grey by weight"
READY = "when the sealer is ready"

GO_ON, ONE_MORE, OTHER = "go on to clear", "one more coat", "mix another variant"
UNSEEN, STILL = "less is left than anybody sees", "more is left than passes"
UNTIL_ZERO, SAFER = "it has to come down to nothing", "one more coat is always safer"
BLAME = "it still shows, so the colour must be wrong"

LEAST_WORST = "it shows least at the angle where it shows most"
DARK_DARK = "a strong colour wants a dark ground"
LIGHT_CLEAN = "a light ground keeps the colour clean"
ON_FACE = "it shows least where you look straight at it"

RESPRAY, JUDGE, ADD_COAT = "a new card, on the job's grey", "judge this card", "one more coat on this card"
TOO_FAR = "at one angle card and job differ by more than passes"
NEAR = "at no angle do card and job differ by more than passes"
CLEAR_HIDES, FACE_SAME = "clear hides what is under the colour", "on the face the two are alike"
COAT_MENDS = "one coat more makes up for any grey"

CLEAR_IT, LOOK_NOW, VARIANT = "put clear on it first", "look at it now", "spray another variant"
BARE_LIES = "base without clear reads otherwise than the car does"
WET_LIES = "solvent comes nearer, but clear does more"
WEARS_CLEAR = "it wears what the car wears"
COLOUR_IS, SOLVENT_DOES = "clear has no colour, so it changes nothing", "solvent shows it just as clear does"

WAIT, SPRAY, SAND = "wait", "spray the colour", "sand it first"
SHINES = "it still shines, so solvent is still leaving"
NOT_YET = "it is dull, but the sheet's time is not over"
IS_READY = "it is dull, and the sheet's time is over"
OVERDUE = "the sheet's longest time is over, so colour may not hold"
TOUCH, LONGER = "it is dry to the finger", "the longer a sealer stands, the better"

SCALE_G = 0.16
CLOSE = 0.005

SOURCES = {
    "WORLD": "definition",
    "SCALE_G": "teaching value: what a scale of 0.1 g can show, and the rounding of an entry to its tenth",
    "CLOSE": "teaching value: what rounding one intermediate result does",
}


def questions(mine: UndercoatJob) -> tuple[Question, ...]:
    """The graded questions with this apprentice's numbers."""
    return (
        Question("1.1", "How many coats?", COUNTING, _ground_text(mine), _ground(mine)),
        Question("1.2", "Is it enough?", ENOUGH, _enough_text(mine), _enough()),
        Question("2.1", "Which grey?", GREY, _shelf_text(mine), _shelf(mine)),
        Question("3.1", "May this card judge?", ALIKE, _sprayed_text(mine), _sprayed()),
        Question("4.1", "What is on the card?", CLEARED, _look_text(mine), _look()),
        Question("5.1", "How much black?", WEIGHT, _sealer_text(mine), _sealer(mine)),
        Question("5.2", "May the colour go on?", READY, _waiting_text(mine), _waiting()),
    )


# --- the job cards ---------------------------------------------------------------------------------------------------


def _ground_text(mine: UndercoatJob) -> str:
    one = mine.ground
    rows = [[f"{at}", f"{left:.2f}"] for at, left in enumerate(shows(one.formula, one.grey, one.coat_um))]
    return (
        f"<p>{one.formula.title}, over a grey of <b>L* {one.grey:g}</b>. One coat is <b>{one.coat_um:g} µm</b> dry.</p>"
        f"<p>The table says what the grey still does to the colour, at its worst angle. Up to {VISIBLE:.2f} nobody "
        "sees it.</p><p>How many coats does it take?</p>" + html_table(["coats", "still shows"], rows)
    )


def _enough_text(mine: UndercoatJob) -> str:
    one = mine.enough
    found = shows(one.formula, one.grey, one.coat_um)
    many = f"{one.coats} coat{'s' if one.coats > 1 else ''}"
    return (
        f"<p>{one.formula.title}, over a grey of L* {one.grey:g}. On the panel: <b>{many}</b>. The grey still "
        f"shows by <b>{found[one.coats]:.2f}</b> at its worst angle.</p><p>One coat more would bring it to "
        f"{found[one.coats + 1]:.2f}. It would also put {one.coat_um:g} µm more on the panel, and take paint and a "
        "flash.</p><p>What do you do, and why?</p>"
    )


def _shelf_text(mine: UndercoatJob) -> str:
    rows = [
        [name, f"{grey:g}", *(f"{one:.2f}" for one in found)]
        for name, grey, found in zip(GREY_NAMES, mine.shelf, over_greys(mine.shelf_formula, mine.shelf), strict=True)
    ]
    return (
        f"<p>Two coats of {mine.shelf_formula.title} will go on. Four greys stand mixed on the shelf. The table says "
        "what each still does to the colour after two coats.</p><p>Which grey do you take, and why?</p>"
        + html_table(["", "L*", "face", "straight on", "flop"], rows)
    )


def _sprayed_text(mine: UndercoatJob) -> str:
    one, found = mine.sprayed, ruling(mine.sprayed)
    rows = [[f"{angle:g} degrees", f"{off:.2f}"] for angle, off in zip(surface.ANGLES_DEG, apart(one), strict=True)]
    many = f"{one.coats} coat{'s' if one.coats > 1 else ''}"
    return (
        f"<p>The card is cleared. It carries {many} of {one.formula.title} over <b>L* {one.card_grey:g}</b>. The job "
        f"will have the same coats over <b>L* {one.job_grey:g}</b>. This is how far the two will be apart. At the "
        f"worst angle up to {found.limit:.2f} goes edge to edge.</p><p>The card looks right beside the car. What do "
        "you do, and why?</p>" + html_table(["seen at", "apart by"], rows)
    )


def _look_text(mine: UndercoatJob) -> str:
    told = {
        "bare": "The base is dry. Nobody has put clear on it.",
        "wiped": "The base is dry. Nobody has put clear on it. Ivo keeps it wet with solvent while he looks.",
        "cleared": "It has its base and its clear. The clear is through its flash and its cure.",
    }[mine.look]
    off = [(one, off_cleared(mine.look_formula, one)) for one in ("bare", "wiped")]
    said = " and ".join(f"{one} base is {value:.1f} away" for one, value in off)
    return (
        f"<p>A card of {mine.look_formula.title} lies in the light. {told} From a cleared card, {said}.</p><p>Ivo "
        "wants to hold it against the car. What do you tell him, and why?</p>"
    )


def _sealer_text(mine: UndercoatJob) -> str:
    sealers = world(WORLD).sealers
    near = [mine.sealer_lightness + step for step in (-4, 0, 4)]
    rows = [
        [f"{grey:g}", f"{mix.white_g:.1f}", f"{mix.black_g:.1f}"]
        for grey, mix in ((grey, sealer_for(sealers, grey)) for grey in near)
    ]
    return (
        f"<p>You need <b>{mine.sealer_g:g} g</b> of sealer of <b>L* {mine.sealer_lightness:g}</b>. The table is for "
        "100 g.</p><p>How much black goes in?</p>" + html_table(["L*", "white, g", "black, g"], rows)
    )


def _waiting_text(mine: UndercoatJob) -> str:
    shop, one = world(WORLD), mine.waiting
    looks = "It has gone dull all over." if one.state != "shining" else "It still shines."
    longest_h = shop.product(SEALER).recoat_max_min / 60
    gone = f"{one.minutes / 60:g} hours" if one.state == "too late" else f"{one.minutes:g} minutes"
    return (
        f"<p>The sealer is on. The air has {one.air_c:g} °C and {one.humidity_percent:g} %. By its sheet that asks for "
        f"<b>{flash_today_min(shop, one):.0f} minutes</b> before the colour. After {longest_h:g} hours it has to be "
        f"sanded.</p><p><b>{gone}</b> have gone by. {looks}</p><p>What do you do, and why?</p>"
    )


# --- the values that compete for each answer --------------------------------------------------------------------------


def _ground(mine: UndercoatJob) -> tuple[Part, ...]:
    one = mine.ground
    found, number = shows(one.formula, one.grey, one.coat_um), coats(one.formula, one.grey, one.coat_um)
    values = {
        "nobody sees it": number,
        "by a limit of one": first_below(found, ONE),
        "until nothing is left": first_below(found, NOTHING_LEFT),
        "rows counted": (number or 0) + 1,
    }
    return (Part("coats", "Coats", COUNT, 2, "", {name: float(value or 0) for name, value in values.items()}),)


def _enough() -> tuple[Part, ...]:
    return decision("enough", "What you do", (GO_ON, ONE_MORE, OTHER), (UNSEEN, STILL, UNTIL_ZERO, SAFER, BLAME))


def _shelf(mine: UndercoatJob) -> tuple[Part, ...]:
    at = best_on(mine.shelf_formula, mine.shelf)
    dark, light = (mine.shelf.index(find(mine.shelf)) for find in (min, max))
    [beside] = {0, 1, 2, 3} - {at, dark, light}
    named = {"shows least": at, "the darkest": dark, "the lightest": light, "the one beside it": beside}
    values = {name: GREY_NAMES[place] for name, place in named.items()}
    return decision("grey", "Grey", GREY_NAMES, (LEAST_WORST, DARK_DARK, LIGHT_CLEAN, ON_FACE), values=values)


def _sprayed() -> tuple[Part, ...]:
    whys = (TOO_FAR, NEAR, CLEAR_HIDES, FACE_SAME, COAT_MENDS)
    return decision("this_card", "What you do", (RESPRAY, JUDGE, ADD_COAT), whys)


def _look() -> tuple[Part, ...]:
    whys = (BARE_LIES, WET_LIES, WEARS_CLEAR, COLOUR_IS, SOLVENT_DOES)
    return decision("look", "What you tell him", (CLEAR_IT, LOOK_NOW, VARIANT), whys)


def _sealer(mine: UndercoatJob) -> tuple[Part, ...]:
    sealers = world(WORLD).sealers
    mix = sealer_for(sealers, mine.sealer_lightness, mass_g=mine.sealer_g)
    values = {
        "black": mix.black_g,
        "white": mix.white_g,
        "for 100 g": sealer_for(sealers, mine.sealer_lightness).black_g,
        "by the number": mine.sealer_g * (1 - mine.sealer_lightness / 100),
    }
    return (Part("black_g", "Black", MASS, 2, "", values, 2 * SCALE_G, 4 * CLOSE),)


def _waiting() -> tuple[Part, ...]:
    whys = (SHINES, NOT_YET, IS_READY, OVERDUE, TOUCH, LONGER)
    return decision("colour_on", "What you do", (WAIT, SPRAY, SAND), whys)
