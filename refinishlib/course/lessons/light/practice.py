"""Practice for the lesson on light. The working is the engine's numbers put into words."""

from __future__ import annotations

from refinishlib.colour.fitness import BRIGHT_LX, edge_to_edge, parted
from refinishlib.colour.lamp import lamp
from refinishlib.course.draw import Draw
from refinishlib.course.lessons.light.figures import CALLED, LAMPS
from refinishlib.course.lessons.light.job import (
    ANGLES,
    DAY,
    FLOP,
    LIGHTS,
    SAID,
    SHARES,
    STATES,
    apart,
    from_the_door,
    number_of_pairs,
)
from refinishlib.course.practice import Drill, Problem, step
from refinishlib.course.question import Choice, Number
from refinishlib.picture.table import html_table
from refinishlib.shop.shop import Shop

PLAIN = Number("number", "")
YES, NO = "yes", "no"
JUDGE, ELSEWHERE = "judge here", "look in other light"
RIGHT, NOT_IT = "it is the colour", "it is not the colour"
ME, ALL_EYES = "a number, or words", "a hue that he has to see"
NEAR = 0.006

SOURCES = {"NEAR": "teaching value: what a table of hundredths shows"}


def _pair(draw: Draw, shop: Shop) -> Problem:
    def drawn() -> dict[str, float]:
        return apart(STATES[0], int(draw.step(0, number_of_pairs(STATES[0]) - 1, 1)))

    found = draw.until(drawn, lambda made: made[DAY] > NEAR and abs(made[DAY] - edge_to_edge()) > NEAR)
    passes = found[DAY] <= edge_to_edge()
    panel = draw.one_of(shop.vehicle.panels).name
    rows = [[SAID[name], f"{found[name]:.2f}"] for name in LIGHTS]
    return Problem(
        f"<p>A card beside the {panel}, in four lights. Up to {edge_to_edge():.2f} goes edge to edge.</p><p>Is it the colour?</p>"
        + html_table(["seen", "apart by"], rows),
        (
            step(
                "The number that decides",
                PLAIN,
                found[DAY],
                "cars stand by day.",
                f"By day they are {found[DAY]:.2f} apart.",
                (found["FL11"], "that is under the tube."),
                near=NEAR,
            ),
            step(
                "So",
                Choice((RIGHT, NOT_IT)),
                RIGHT if passes else NOT_IT,
                f"hold it against {edge_to_edge():.2f}.",
                f"{found[DAY]:.2f} is {'no more' if passes else 'more'} than {edge_to_edge():.2f}. "
                f"So {RIGHT if passes else NOT_IT}.",
            ),
        ),
    )


def _lamp(draw: Draw, shop: Shop) -> Problem:
    name, lux = draw.one_of(LAMPS[1:]), draw.step(200, 4800, 100)
    parts, (least, most) = parted(lamp(name)), BRIGHT_LX
    holds, bright = parts <= edge_to_edge(), least <= lux <= most
    return Problem(
        f"<p>A {CALLED[name]} gives <b>{lux:g} lx</b> at the panel. Asked for are {least:g} to {most:g} lx. In its light, "
        f"pairs that match by day part by <b>{parts:.2f}</b>. Allowed is {edge_to_edge():.2f}.</p>"
        "<p>May it decide a match?</p>",
        (
            step(
                "Do the pairs hold?",
                Choice((YES, NO)),
                YES if holds else NO,
                f"hold the number against {edge_to_edge():.2f}.",
                f"{parts:.2f} is {'no more' if holds else 'more'} than {edge_to_edge():.2f}: {YES if holds else NO}.",
            ),
            step(
                "Is it bright enough, and not too bright?",
                Choice((YES, NO)),
                YES if bright else NO,
                "hold the lx against the two that are asked for.",
                f"{lux:g} lx: {YES if bright else NO}.",
            ),
            step(
                "May it decide?",
                Choice((YES, NO)),
                YES if holds and bright else NO,
                "both have to be so.",
                f"So: {YES if holds and bright else NO}.",
            ),
        ),
    )


def _mixed(draw: Draw, shop: Shop) -> Problem:
    percent, lux = draw.one_of(SHARES), draw.step(1000, 4000, 100)
    found = from_the_door(percent)
    passes = found <= edge_to_edge()
    return Problem(
        f"<p>{percent} % of the light is daylight from the door. The rest is from old tubes. There are {lux:g} lx at the "
        f"panel. Pairs that match by day part by <b>{found:.2f}</b> in it. Allowed is {edge_to_edge():.2f}.</p><p>What "
        "do you do?</p>",
        (
            step(
                "Do the pairs hold?",
                Choice((YES, NO)),
                YES if passes else NO,
                f"hold the number against {edge_to_edge():.2f}.",
                f"{found:.2f} is {'no more' if passes else 'more'} than {edge_to_edge():.2f}: {YES if passes else NO}.",
            ),
            step(
                "So",
                Choice((JUDGE, ELSEWHERE)),
                JUDGE if passes else ELSEWHERE,
                "a light in which pairs part tells nothing.",
                f"So {JUDGE if passes else ELSEWHERE}.",
            ),
        ),
    )


def _better(draw: Draw, shop: Shop) -> Problem:
    one, two = draw.until(
        lambda: (draw.one_of(LAMPS[1:]), draw.one_of(LAMPS[1:])),
        lambda made: abs(parted(lamp(made[0])) - parted(lamp(made[1]))) > 0.1,
    )
    lux = draw.step(1000, 4000, 100)
    better, worse = sorted((one, two), key=lambda name: parted(lamp(name)))
    return Problem(
        f"<p>You can look under a {CALLED[one]}, or under a {CALLED[two]}. Both give {lux:g} lx. Pairs that match by "
        f"day part by {parted(lamp(one)):.2f} under the {CALLED[one]}, and by {parted(lamp(two)):.2f} under the "
        f"{CALLED[two]}.</p><p>Which light is the better one?</p>",
        (
            step(
                "Pairs part by, in the better one",
                PLAIN,
                parted(lamp(better)),
                "the smaller number is the better one.",
                f"The smaller number: {parted(lamp(better)):.2f}.",
                (parted(lamp(worse)), "in that light they part further."),
                near=NEAR,
            ),
            step(
                "The better light",
                Choice(tuple(CALLED.values())),
                CALLED[better],
                "take the light of the smaller number.",
                f"That is the {CALLED[better]}.",
                (CALLED[worse], "in that light pairs part further."),
            ),
        ),
    )


def _flop(draw: Draw, shop: Shop) -> Problem:
    found = draw.until(
        lambda: [round(draw.step(0.2, 3.2, 0.05), 2) for _ in ANGLES], lambda made: abs(made[3] - made[4]) > 0.1
    )
    at = max(FLOP, key=lambda place: found[place])
    other = next(place for place in FLOP if place != at)
    rows = [[angle, f"{off:.2f}"] for angle, off in zip(ANGLES, found, strict=True)]
    return Problem(
        "<p>Card and panel of a silver, at five angles.</p><p>Where is it worst on the flop?</p>"
        + html_table(["angle", "apart by"], rows),
        (
            step(
                "Worst of the flop",
                PLAIN,
                found[at],
                "75 and 110 degrees are the flop. Take the larger one.",
                f"The larger of the two: {found[at]:.2f}.",
                (found[other], "that is the better one of the two."),
                near=NEAR,
            ),
            step(
                "Angle",
                Choice(ANGLES),
                ANGLES[at],
                "read the angle in its row.",
                f"It stands at {ANGLES[at]}.",
                (ANGLES[other], "that is the better one of the two."),
            ),
        ),
    )


def _eye(draw: Draw, shop: Shop) -> Problem:
    colour = draw.one_of(shop.colours).title
    angle = draw.one_of(ANGLES)
    what = draw.one_of(("a reading", "words for face and flop", "a swatch with nothing beside it", "a red glass"))
    helps = what in ("a reading", "words for face and flop")
    return Problem(
        f"<p>A mate with a red-weak eye looks at {colour}, at {angle}. He gets <b>{what}</b>.</p><p>Does that help "
        "him?</p>",
        (
            step(
                "What he gets is",
                Choice((ME, ALL_EYES)),
                ME if helps else ALL_EYES,
                "ask if he needs to see red or green for it.",
                f"{what[:1].upper()}{what[1:]}: {ME if helps else ALL_EYES}.",
            ),
            step(
                "It helps",
                Choice((YES, NO)),
                YES if helps else NO,
                "numbers and words say the same to every eye.",
                f"So: {YES if helps else NO}.",
            ),
        ),
    )


DRILLS = (
    Drill("Day or tube?", _pair),
    Drill("May it decide?", _lamp),
    Drill("Mixed light", _mixed),
    Drill("The better light", _better),
    Drill("Face or flop?", _flop),
    Drill("What helps?", _eye),
)
