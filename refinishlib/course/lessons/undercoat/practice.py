"""Practice for the undercoat lesson. The working is the engine's numbers put into words."""

from __future__ import annotations

from refinishlib.colour import surface
from refinishlib.colour.conditions import COAT_UM
from refinishlib.colour.hiding import VISIBLE
from refinishlib.colour.tolerance import EDGE
from refinishlib.colour.undercoat import sealer_for
from refinishlib.course.draw import Draw
from refinishlib.course.lessons.undercoat.job import (
    GREY_NAMES,
    LOOKS,
    SEALER,
    Ground,
    Sprayed,
    apart,
    best_on,
    coat_of_sealer,
    coats,
    first_below,
    flash_today_min,
    off_cleared,
    over_greys,
    ruling,
    shelf,
    shows,
    tinted,
)
from refinishlib.course.practice import Drill, Problem, step
from refinishlib.course.question import Choice, Number
from refinishlib.picture.table import html_table
from refinishlib.shop.paint import Formula
from refinishlib.shop.shop import Shop

COUNT = Number("number", "")
MASS = Number("mass", "g")
YES, NO = "yes", "no"
ENOUGH, MORE = "go on to clear", "one more coat"
TELLS, LIES = "it tells the truth", "it misleads"
WAIT, SPRAY, SAND = "wait", "spray the colour", "sand it first"
FACE, STRAIGHT, FLOP = "face", "straight on", "flop"
SCALE_G = 0.16
COATS = (2, 6)
NEAR_A_LIMIT, LEAST_APART = 0.1, 0.1

SOURCES = {
    "SCALE_G": "teaching value: what a scale of 0.1 g can show, and the rounding of an entry to its tenth",
    "COATS": "teaching value: enough coats to count",
    "NEAR_A_LIMIT": "teaching value: nearer to a limit than this is no clear case",
    "LEAST_APART": "teaching value: less is not read off a table",
}


def _colours(shop: Shop) -> list[Formula]:
    return [one for one in shop.colours if one.kind != "pearl"]


def _coats(draw: Draw, shop: Shop) -> Problem:
    def counts(one: Ground) -> bool:
        number = coats(one.formula, one.grey, COAT_UM)
        return number is not None and COATS[0] <= number <= COATS[1]

    one = draw.until(lambda: Ground(draw.one_of(_colours(shop)), draw.step(36, 84, 4), COAT_UM), counts)
    found, number = shows(one.formula, one.grey, COAT_UM), coats(one.formula, one.grey, COAT_UM) or 0
    left = found[number]
    rows = [[f"{at}", f"{value:.2f}"] for at, value in enumerate(found)]
    return Problem(
        f"<p>{one.formula.title}, over a grey of L* {one.grey:g}. The table says what still shows at the worst angle. "
        f"Up to {VISIBLE:.2f} nobody sees it.</p><p>How many coats does it take?</p>"
        + html_table(["coats", "still shows"], rows),
        (
            step(
                "Shows then, at most",
                Number("number", ""),
                left,
                f"go down the table until a number is {VISIBLE:.2f} or less.",
                f"The first number that is {VISIBLE:.2f} or less: {left:.2f}.",
                (found[number - 1], "that is still more than passes."),
                near=0.006,
            ),
            step(
                "Coats",
                COUNT,
                float(number),
                "read the coats in the same row. No coat at all is a row too.",
                f"It stands in the row of {number} coats.",
                (float(number + 1), "you counted the row with no coat."),
                (float(first_below(found, 0.1)), "that is until nothing is left. You stop when nobody sees it."),
                near_share=0.0,
            ),
        ),
    )


def _enough(draw: Draw, shop: Shop) -> Problem:
    def drawn() -> tuple[Formula, float, int, float]:
        formula, grey, count = draw.one_of(_colours(shop)), draw.step(36, 84, 4), int(draw.step(1, 6, 1))
        return formula, grey, count, shows(formula, grey, COAT_UM)[count]

    passes = draw.one_of((True, False))
    formula, grey, count, left = draw.until(
        drawn, lambda made: 0.1 < made[3] < 0.45 if passes else 0.55 < made[3] < 2.5
    )
    many = f"{count} coat{'s' if count > 1 else ''}"
    return Problem(
        f"<p>{many} of {formula.title} over L* {grey:g}. The grey still shows by <b>{left:.2f}</b> at its worst "
        "angle.</p><p>What comes next?</p>",
        (
            step(
                "Does anybody see it?",
                Choice((YES, NO)),
                NO if passes else YES,
                f"hold it against {VISIBLE:.2f}.",
                f"{left:.2f} is {'no more' if passes else 'more'} than {VISIBLE:.2f}.",
            ),
            step(
                "So",
                Choice((ENOUGH, MORE)),
                ENOUGH if passes else MORE,
                "what nobody sees needs no coat. What shows needs one.",
                f"So: {ENOUGH if passes else MORE}.",
            ),
        ),
    )


def _grey(draw: Draw, shop: Shop) -> Problem:
    formula, greys = draw.until(
        lambda: (draw.one_of(_colours(shop)), shelf(draw)), lambda made: _clear_of_the_next(*made)
    )
    found = over_greys(formula, greys)
    at = best_on(formula, greys)
    rows = [
        [name, f"{grey:g}", *(f"{one:.2f}" for one in row)]
        for name, grey, row in zip(GREY_NAMES, greys, found, strict=True)
    ]
    places = (FACE, STRAIGHT, FLOP)
    worst = places[found[at].index(max(found[at]))]
    return Problem(
        f"<p>Two coats of {formula.title} go on one of these. The table says what each grey still does.</p><p>Which "
        "grey do you take?</p>" + html_table(["", "L*", *places], rows),
        (
            step(
                f"Most that {GREY_NAMES[at]} shows",
                Number("number", ""),
                max(found[at]),
                "look along its row for the largest number.",
                f"{GREY_NAMES[at]} shows most on the {worst}: {max(found[at]):.2f}."
                if worst != STRAIGHT
                else f"{GREY_NAMES[at]} shows most straight on: {max(found[at]):.2f}.",
                (min(found[at]), "that is where it shows least. The worst place counts."),
                near=0.006,
            ),
            step(
                "Grey",
                Choice(GREY_NAMES),
                GREY_NAMES[at],
                "find the largest number of each row. Take the grey whose largest is the smallest.",
                f"No other grey stays below that everywhere. So {GREY_NAMES[at]}.",
            ),
        ),
    )


def _clear_of_the_next(formula: Formula, greys: tuple[float, ...]) -> bool:
    worst = sorted(max(one) for one in over_greys(formula, greys))
    return worst[1] - worst[0] > 0.02


def _card(draw: Draw, shop: Shop) -> Problem:
    def drawn() -> Sprayed:
        return Sprayed(draw.one_of(_colours(shop)), draw.step(36, 84, 4), draw.step(36, 84, 4), int(draw.step(1, 3, 1)))

    def clear_case(made: Sprayed) -> bool:
        found = ruling(made)
        clear = abs(found.worst / found.limit - 1) > NEAR_A_LIMIT
        return made.card_grey != made.job_grey and clear and LEAST_APART < found.worst == max(apart(made))

    one = draw.until(drawn, clear_case)
    found = ruling(one)
    passes = found.verdict == EDGE
    rows = [[f"{angle:g} degrees", f"{off:.2f}"] for angle, off in zip(surface.ANGLES_DEG, apart(one), strict=True)]
    return Problem(
        f"<p>A spray-out of {one.formula.title} carries L* {one.card_grey:g}. The job carries L* {one.job_grey:g}. "
        f"Both get {one.coats} coat{'s' if one.coats > 1 else ''} and clear. At the worst angle up to "
        f"{found.limit:.2f} goes edge to edge.</p><p>Does the spray-out tell the truth?</p>"
        + html_table(["seen", "apart by"], rows),
        (
            step(
                "Worst, at any angle",
                Number("number", ""),
                found.worst,
                "look for the largest number in the table.",
                f"The worst of them: {found.worst:.2f}.",
                (min(apart(one)), "that is the best angle. The worst one counts."),
                near=0.006,
            ),
            step(
                "So",
                Choice((TELLS, LIES)),
                TELLS if passes else LIES,
                f"hold the worst angle against {found.limit:.2f}.",
                f"{found.worst:.2f} is {'no more' if passes else 'more'} than {found.limit:.2f}. "
                f"So {TELLS if passes else LIES}.",
            ),
        ),
    )


def _tells(draw: Draw, shop: Shop) -> Problem:
    formula = tinted(draw, draw.one_of(_colours(shop)))
    look, panel = draw.one_of(tuple(LOOKS)), draw.one_of(shop.vehicle.panels).name
    off = off_cleared(formula, look)
    told = {"bare": "bare base", "wiped": "base that is wet with solvent", "cleared": "base with clear on it"}[look]
    passes = look == "cleared"
    return Problem(
        f"<p>You hold {told} of {formula.title} beside the {panel}. It reads <b>{off:.1f}</b> away from the same paint "
        "under clear.</p><p>What do you do?</p>",
        (
            step(
                "Does it wear what the car wears?",
                Choice((YES, NO)),
                YES if passes else NO,
                "the car wears clear.",
                f"It is {told}: {YES if passes else NO}.",
            ),
            step(
                "So",
                Choice(("look at it now", "put clear on it first")),
                "look at it now" if passes else "put clear on it first",
                "only clear tells.",
                "It wears clear, so it may be looked at." if passes else "Only clear tells. Put it on, then look.",
            ),
        ),
    )


def _black(draw: Draw, shop: Shop) -> Problem:
    lightness, mass_g = draw.step(36, 64, 2), draw.step(150, 600, 10)
    for_100, mix = sealer_for(shop.sealers, lightness), sealer_for(shop.sealers, lightness, mass_g=mass_g)
    share = mix.black_g / mass_g
    return Problem(
        f"<p>You need <b>{mass_g:g} g</b> of sealer of L* {lightness:g}. For 100 g it takes {for_100.white_g:.1f} g of "
        f"white and {for_100.black_g:.1f} g of black.</p><p>How much black goes in?</p>",
        (
            step(
                "Times 100 g",
                Number("number", ""),
                mass_g / 100,
                "divide what you need by 100 g.",
                f"{mass_g:g} g is {mass_g / 100:g} times 100 g.",
            ),
            step(
                "Black",
                MASS,
                mix.black_g,
                "take the black of 100 g as many times.",
                f"Black: {for_100.black_g:.1f} g x {mass_g / 100:g} = {mix.black_g:.1f} g. That is {share:.1%} of it.",
                (for_100.black_g, "that is for 100 g."),
                (mix.white_g, "that is the white."),
                near=3 * SCALE_G,
            ),
        ),
    )


def _dull(draw: Draw, shop: Shop) -> Problem:
    one = coat_of_sealer(draw, shop)
    longest = shop.product(SEALER).recoat_max_min
    flash = flash_today_min(shop, one)
    dull = one.state != "shining"
    right = {"shining": WAIT, "dull too soon": WAIT, "ready": SPRAY, "too late": SAND}[one.state]
    why = {
        "shining": "It still shines, so solvent still leaves it.",
        "dull too soon": "It is dull. But the sheet's time is not over.",
        "ready": "It is dull, and the sheet's time is over.",
        "too late": "The sheet's longest time is over.",
    }[one.state]
    return Problem(
        f"<p>Sealer was sprayed <b>{one.minutes:g} minutes</b> ago. Today its sheet asks for {flash:.0f} minutes. "
        f"After {longest:g} minutes it has to be sanded. It {'is dull all over' if dull else 'still shines'}.</p>"
        "<p>What now?</p>",
        (
            step(
                "Is the sheet's time over?",
                Choice((YES, NO)),
                YES if one.minutes >= flash else NO,
                "hold the minutes that have gone by against the sheet's.",
                f"{one.minutes:g} of {flash:.0f} minutes have gone by: {YES if one.minutes >= flash else NO}.",
            ),
            step(
                "So",
                Choice((WAIT, SPRAY, SAND)),
                right,
                "it must be dull, and in the sheet's time.",
                f"{why} So {right}.",
            ),
        ),
    )


DRILLS = (
    Drill("Coats to hide", _coats),
    Drill("Enough coats", _enough),
    Drill("Which grey", _grey),
    Drill("Same ground", _card),
    Drill("Which one tells", _tells),
    Drill("Black by weight", _black),
    Drill("Ready for colour?", _dull),
)
