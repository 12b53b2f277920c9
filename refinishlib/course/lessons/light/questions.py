"""The questions of the lesson on light, and the values that compete for each answer."""

from __future__ import annotations

from html import escape

from refinishlib.colour.fitness import edge_to_edge, parted
from refinishlib.colour.lamp import lamp
from refinishlib.course.lessons.light.job import (
    ANGLES,
    FACE,
    FLOP,
    LAMP_NAMES,
    LIGHTS,
    SAID,
    LightJob,
    apart,
    from_the_door,
    renders,
)
from refinishlib.course.question import Choice, Chosen, Number, Order, Part, Question, decision
from refinishlib.picture.table import html_table

APART = Number("number", "", 0, 100)

TRAPS = "day or tube"
LAMPS = "a lamp to judge by"
MIXED = "mixed light"
WHERE = "where to look"
PLACES = "face and flop"
EYES = "eyes differ"

NOT_IT, GOOD, TINT_HERE = (
    "it is not the colour: look for other toners",
    "it is right",
    "tint it under the tube until it fits",
)
DAY_OFF, DAY_FITS = "by day the two part, and cars stand by day", "by day the two are alike, and cars stand by day"
ONE_IS_ENOUGH = "somewhere the two are alike, so it is the colour"
EVERYWHERE = "it has to be alike in every light there is"
SHOP_LIGHT = "the shop's own light is what one has to judge by"

PAIRS_HOLD = "what matches by day still matches in it, and it is bright enough"
RENDERS = "it renders colours best of all"
BRIGHT, PRINTED = "it is the brightest, so one sees most", "daylight is printed on it"

JUDGE, OTHER_LIGHT, MORE_TUBES = (
    "judge here",
    "shut the door, and take the daylight lamp",
    "switch on more of the tubes",
)
PARTS, HOLDS = "what matches by day parts too far in this light", "what matches by day still matches in this light"
AVERAGE = "half of it is daylight, so it is half right"
BRIGHTER = "the brighter the better"
SOME_DAY = "some daylight in it is enough"

LOOKS = (
    "a phone's lamp, held close",
    "out of doors, in the shade at noon",
    "the daylight lamp, all others off",
    "the daylight lamp, with the tubes on too",
    "the tubes over the bench",
)
READINGS, TOLD, OTHER_EYE = "the readings, with their numbers", "words for face and flop", "a mate who looks too"
BRIGHT_TUBE, RED_GLASS, MORE_TIME = "a brighter tube", "a red glass to look through", "more time to look"
HELPS = (READINGS, TOLD, OTHER_EYE, BRIGHT_TUBE, RED_GLASS, MORE_TIME)

SOURCES = {"LOOKS": "common practice, no source", "HELPS": "common practice, no source"}


def questions(mine: LightJob) -> tuple[Question, ...]:
    """The graded questions with this apprentice's numbers."""
    return (
        Question("1.1", "Is it the colour?", TRAPS, _pair_text(mine), _pair()),
        Question("1.2", "How far apart?", TRAPS, _table_text(mine), _table(mine)),
        Question("2.1", "Which lamp decides?", LAMPS, _lamps_text(mine), _lamps(mine)),
        Question("3.1", "The door is open", MIXED, _door_text(mine), _door()),
        Question("4.1", "Best light first", WHERE, _order_text(), (Part("order", "Best first", Order(LOOKS), 3),)),
        Question("5.1", "On the flop", PLACES, _readings_text(mine), _readings(mine)),
        Question("5.2", "A red-weak eye", EYES, _eye_text(), _eye()),
    )


# --- the job cards ---------------------------------------------------------------------------------------------------


def _pair_text(mine: LightJob) -> str:
    found = apart(mine.state, mine.pair)
    rows = [[SAID[name], f"{found[name]:.2f}"] for name in LIGHTS]
    return (
        "<p>A card lies beside the panel. The table says how far the two are apart in each light. Up to "
        f"{edge_to_edge():.2f} goes edge to edge.</p><p>What do you say, and why?</p>"
        + html_table(["seen", "apart by"], rows)
    )


def _table_text(mine: LightJob) -> str:
    named = ("by day", "under the shop's tube", "under a bulb")
    rows = [[name, *(f"{one:.2f}" for one in row)] for name, row in zip(named, mine.table, strict=True)]
    return "<p>This is how far another card is from its panel.</p><p>Which number decides?</p>" + html_table(
        ["seen", "face", "straight on", "flop"], rows
    )


def _lamps_text(mine: LightJob) -> str:
    rows = [
        [name, escape(one.printed), f"{renders(one.name):.0f}", f"{parted(lamp(one.name)):.2f}", f"{one.lux:g} lx"]
        for name, one in zip(LAMP_NAMES, mine.lamps, strict=True)
    ]
    return (
        "<p>Four lamps hang in the shop. One of them may decide a match. A shop wants 1000 to 4000 lx at the panel. "
        f"Pairs that match by day may part by {edge_to_edge():.2f} at most.</p><p>Which lamp do you take, and why?</p>"
        + html_table(["", "printed on it", "renders", "pairs part by", "at the panel"], rows)
    )


def _door_text(mine: LightJob) -> str:
    return (
        f"<p>The tubes are old ones, and the door stands open. <b>{mine.daylight_percent} %</b> of the light at the "
        "panel is daylight. In this light, pairs that match by day part by "
        f"<b>{from_the_door(mine.daylight_percent):.2f}</b>. Up to {edge_to_edge():.2f} is allowed.</p><p>What do you do, and why?</p>"
    )


def _order_text() -> str:
    listed = "<br>".join(f"<code>{escape(one, quote=False)}</code>" for one in LOOKS)
    return f"<p>You want to look at a card beside the car. Put these ways in order, the best first.</p><p>{listed}</p>"


def _readings_text(mine: LightJob) -> str:
    rows = [[angle, f"{off:.2f}"] for angle, off in zip(ANGLES, mine.readings, strict=True)]
    return (
        "<p>A silver was read at five angles. This is how far card and panel are apart.</p><p>At which angle is it "
        "worst on the <b>flop</b>?</p>" + html_table(["angle", "apart by"], rows)
    )


def _eye_text() -> str:
    listed = "<br>".join(f"<code>{escape(one, quote=False)}</code>" for one in sorted(HELPS))
    return (
        "<p>A mate has a red-weak eye. He sprays well, and he wants to judge his own cards.</p><p>What helps him? "
        f"Choose all that do.</p><p>{listed}</p>"
    )


# --- the values that compete for each answer --------------------------------------------------------------------------


def _pair() -> tuple[Part, ...]:
    whys = (DAY_OFF, DAY_FITS, ONE_IS_ENOUGH, EVERYWHERE, SHOP_LIGHT)
    return decision("is_it", "What you say", (NOT_IT, GOOD, TINT_HERE), whys)


def _table(mine: LightJob) -> tuple[Part, ...]:
    by_day = mine.table[0]
    values = {
        "worst by day": max(by_day),
        "worst of all": max(max(row) for row in mine.table),
        "mean by day": sum(by_day) / len(by_day),
        "face by day": by_day[0],
    }
    return (Part("apart", "Apart by", APART, 2, "", values, 0.06),)


def _lamps(mine: LightJob) -> tuple[Part, ...]:
    values = {one.use: name for name, one in zip(LAMP_NAMES, mine.lamps, strict=True)}
    return decision("lamp", "Lamp", LAMP_NAMES, (PAIRS_HOLD, RENDERS, BRIGHT, PRINTED), values=values)


def _door() -> tuple[Part, ...]:
    whys = (PARTS, HOLDS, AVERAGE, BRIGHTER, SOME_DAY)
    return decision("here", "What you do", (JUDGE, OTHER_LIGHT, MORE_TUBES), whys)


def _readings(mine: LightJob) -> tuple[Part, ...]:
    found = mine.readings
    flop, face = (max(places, key=lambda at: found[at]) for places in (FLOP, FACE))
    [best] = set(FLOP) - {flop}
    values = {"worst of the flop": flop, "worst of all": face, "straight on": 2, "the better one of the flop": best}
    return (Part("angle", "Angle", Choice(ANGLES), 2, "", {name: ANGLES[at] for name, at in values.items()}),)


def _eye() -> tuple[Part, ...]:
    values = {
        "numbers, words, another eye": frozenset({READINGS, TOLD, OTHER_EYE}),
        "numbers alone": frozenset({READINGS}),
        "more light": frozenset({READINGS, TOLD, OTHER_EYE, BRIGHT_TUBE}),
        "a glass": frozenset({READINGS, TOLD, OTHER_EYE, RED_GLASS}),
        "time": frozenset({READINGS, TOLD, OTHER_EYE, MORE_TIME}),
        "nobody else": frozenset({READINGS, TOLD}),
    }
    return (Part("helps", "What helps him", Chosen(HELPS), 2, "", values),)
