"""The calculators, in the order of a job: address, name, what it is for, and who makes it; and what a job carries."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class CalculatorRow:
    """One calculator.

    key : its address
    title : its name on the screen
    task : what a painter wants from it, for its tile
    module, function : who makes it; the module is loaded when it is opened
    takes : what of the bench it is made with, "shop" and "units"
    is_light : whether it needs no engine of colour at its start, so that it can be made before anybody asks
    """

    key: str
    title: str
    task: str
    module: str
    function: str
    takes: tuple[str, ...] = ("shop", "units")
    is_light: bool = True


# What one job carries from calculator to calculator, in the words of the screen. A value is what is typed or chosen.
JOB = {
    "vehicle": "Vehicle",
    "colour": "Colour",
    "panel": "Panel",
    "panels": "Panels",
    "undercoat": "Undercoat, L*",
    "coats": "Coats of colour",
    "amount": "How much is wanted",
    "product": "Product",
    "air": "Air",
    "humidity": "Humidity",
    "panel_temperature": "Temperature of the panel",
    "ends": "Where colour and clear end",
    "hardener": "Hardener of the clear",
    "reducer": "Reducer of the clear",
    "approved_by": "Who said yes to the card",
    "notes": "Notes",
}

SOURCES = {"SHOP": "definition", "CALCULATORS": "definition", "JOB": "definition"}

SHOP = ("shop",)

CALCULATORS = (
    CalculatorRow(
        "compare",
        "Compare two colours",
        "How far off is it, and which way?",
        "compare",
        "CompareColours",
        SHOP,
        is_light=False,
    ),
    CalculatorRow("mix", "Mix sheet", "Weigh a colour. Save a pour that went wrong.", "mix_sheet", "MixSheet"),
    CalculatorRow("ratio", "Mix by ratio", "Clear or primer: how many grams of each?", "ratio", "ByRatio"),
    CalculatorRow(
        "undercoat",
        "Undercoat and coats",
        "Which grey, and how many coats?",
        "undercoat",
        "UndercoatAndCoats",
        SHOP,
        is_light=False,
    ),
    CalculatorRow(
        "tint", "Tint", "The card is off: what to add, or what else to do?", "tint", "Tint", SHOP, is_light=False
    ),
    CalculatorRow(
        "blend",
        "Blend plan",
        "Spray to the edge, or fade it: how long, which panels?",
        "blend_plan",
        "BlendPlan",
        SHOP,
        is_light=False,
    ),
    CalculatorRow(
        "surface", "Surface plan", "Which paper, how far out, how many passes are left?", "surface", "SurfacePlan"
    ),
    CalculatorRow(
        "order", "Order of work", "What comes first, and what breaks if it does not?", "order", "OrderOfWork", ()
    ),
    CalculatorRow("clock", "Booth clock", "When may I start, and when is it done?", "clock", "BoothClock"),
    CalculatorRow(
        "amount", "Amount, cost and hours", "How much to mix, what it takes and costs?", "amount", "WholeAmount"
    ),
    CalculatorRow("cards", "Card log", "What did we spray of this colour before?", "cards", "CardLog"),
)


def row(key: str) -> CalculatorRow | None:
    """The calculator with this address; None where there is none.

    >>> row("tint").title, row("teapot")
    ('Tint', None)
    """
    return next((one for one in CALCULATORS if one.key == key), None)
