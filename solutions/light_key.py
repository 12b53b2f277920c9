"""Right answers and known mistakes of the lesson on light."""

from __future__ import annotations

from refinishlib.colour.fitness import edge_to_edge
from refinishlib.course.key import Before
from refinishlib.course.keys import Earlier, Key, Known, Right
from refinishlib.course.lessons.light.job import LightJob, from_the_door
from refinishlib.course.lessons.light.questions import (
    AVERAGE,
    BRIGHT,
    BRIGHTER,
    DAY_FITS,
    DAY_OFF,
    EVERYWHERE,
    GOOD,
    HOLDS,
    JUDGE,
    LOOKS,
    MORE_TUBES,
    NOT_IT,
    ONE_IS_ENOUGH,
    OTHER_LIGHT,
    PAIRS_HOLD,
    PARTS,
    PRINTED,
    RENDERS,
    SHOP_LIGHT,
    SOME_DAY,
    TINT_HERE,
)


def key(mine: LightJob, earlier: Earlier) -> Key:
    """For each question, for each part: which value is right, and which mistakes lead to the others."""
    by_day = mine.state == "matched by day"
    holds = from_the_door(mine.daylight_percent) <= edge_to_edge()
    return {
        "1.1": {
            "is_it": others(GOOD if by_day else NOT_IT, IS_IT),
            "is_it_reason": others(DAY_FITS if by_day else DAY_OFF, IS_IT_WHY),
        },
        "1.2": {"apart": APART},
        "2.1": {"lamp": LAMP, "lamp_reason": others(PAIRS_HOLD, LAMP_WHY)},
        "3.1": {
            "here": others(JUDGE if holds else OTHER_LIGHT, HERE),
            "here_reason": others(HOLDS if holds else PARTS, HERE_WHY),
        },
        "4.1": {"order": Right(BEST, rules=RULES)},
        "5.1": {"angle": ANGLE},
        "5.2": {"helps": HELPS},
    }


def others(right: str, known: dict[str, Known]) -> Right:
    """One of them is right for this apprentice; the others are the mistakes."""
    return Right(right, {value: one for value, one in known.items() if value != right})


IS_IT = {
    NOT_IT: Known("refused though it fits by day", 0, "look at the row of the day again."),
    GOOD: Known("taken though it parts by day", 0, "look at the row of the day again."),
    TINT_HERE: Known("tinted under the tube", 0, "what is made to fit under a tube may part by day even further."),
}
IS_IT_WHY = {
    DAY_OFF: Known("parting by day seen where there is none", 0, "read the number of the day again."),
    DAY_FITS: Known("parting by day not seen", 0, "read the number of the day again."),
    ONE_IS_ENOUGH: Known("one match taken for all", 0, "any two paints can be alike in some light."),
    EVERYWHERE: Known("a match asked for in every light", 0, "few paints of other toners do that. One light decides."),
    SHOP_LIGHT: Known("the shop's light taken for the car's", 0, "the car leaves the shop. Where does it stand then?"),
}
APART = Right(
    "worst by day",
    {
        "worst of all": Known("worst of every light", 0.5, "this is the worst of all lights. Which light decides?"),
        "mean by day": Known("mean instead of the worst", 0.5, "this is the mean. The eye finds the worst place."),
        "face by day": Known("judged on the face alone", 0.5, "this is the face. Look at the flop too."),
    },
)
LAMP = Right(
    "fit",
    {
        "renders best": Known(
            "lamp chosen by how it renders", 0, "it renders well, but look how far pairs part in it."
        ),
        "brightest": Known(
            "lamp chosen by how bright it is", 0, "bright light of the wrong kind shows the wrong thing well."
        ),
        "called daylight": Known("lamp chosen by its name", 0, "a name proves nothing. Look how far pairs part in it."),
    },
)
LAMP_WHY = {
    RENDERS: Known("rendering taken for fitness", 0, "a bulb renders best. Would you match a colour under it?"),
    BRIGHT: Known("brightness taken for fitness", 0, "bright enough is needed. It is not all that is needed."),
    PRINTED: Known("print taken for proof", 0, "what is printed proves nothing."),
}
HERE = {
    JUDGE: Known("judged in mixed light", 0, "hold the number against what is allowed."),
    OTHER_LIGHT: Known("good light not used", 0, "hold the number against what is allowed."),
    MORE_TUBES: Known("more of the wrong light", 0, "then even less of the light is daylight."),
}
HERE_WHY = {
    PARTS: Known("parting seen where there is none", 0, "read the number again, and what is allowed."),
    HOLDS: Known("parting not seen", 0, "read the number again, and what is allowed."),
    AVERAGE: Known("two lights averaged", 0, "pairs do not part by half. Read the number."),
    BRIGHTER: Known("brightness counted instead of the spectrum", 0, "more light of the wrong kind is not better."),
    SOME_DAY: Known("some daylight taken for enough", 0, "read the number. It says if it is enough."),
}
PHONE, SHADE, ALONE, WITH_TUBES, TUBES = LOOKS
BEST = (SHADE, ALONE, WITH_TUBES, TUBES, PHONE)
RULES = (
    Before(SHADE, ALONE, "lamp before the sky", 0, "no lamp is as good as the light of the sky."),
    Before(SHADE, WITH_TUBES, "mixed light before the day", 0, "put light from the sky before light that is mixed."),
    Before(ALONE, WITH_TUBES, "tubes left on beside the lamp", 0, "each lamp beside it makes the daylight lamp worse."),
    Before(WITH_TUBES, TUBES, "tubes before the daylight lamp", 0, "some good light is better than none."),
    Before(SHADE, PHONE, "a phone before the sky", 0, "a phone's lamp is small, and not daylight."),
    Before(ALONE, PHONE, "a phone before the daylight lamp", 0, "a phone's lamp is small, and not daylight."),
)
ANGLE = Right(
    "worst of the flop",
    {
        "worst of all": Known(
            "worst of all angles, not of the flop", 0, "this is the face. Which angles are the flop?"
        ),
        "straight on": Known("straight on taken for the flop", 0, "this is between face and flop."),
        "the better one of the flop": Known("the better angle of the flop", 0, "it is the flop, but not its worst."),
    },
)
HELPS = Right(
    "numbers, words, another eye",
    {
        "numbers alone": Known("numbers alone", 1, "that helps. There is more that does."),
        "more light": Known("a brighter lamp against a weak eye", 0.5, "one of these does not mend an eye."),
        "a glass": Known("a glass against a weak eye", 0.5, "one of these only shifts the trouble."),
        "time": Known("time against a weak eye", 0.5, "one of these changes nothing about what an eye takes in."),
        "nobody else": Known("no second eye", 1, "that helps. There is more that does."),
    },
)
