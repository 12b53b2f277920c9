"""Mix by ratio: a primer or a clear with hardener and reducer, by volume on its sheet, by weight on the scale."""

from __future__ import annotations

from typing import Any

from refinishlib.bench.calculator import Calculator, Reply
from refinishlib.bench.fields import choice_field, offer, text_field
from refinishlib.booth.cure import AIR_DRY_C, pot_life_min
from refinishlib.mixing.ratio import by_ratio
from refinishlib.mixing.scale import LARGEST_MIX_G
from refinishlib.picture.bars import Bar, bars
from refinishlib.picture.table import html_table
from refinishlib.shop.product import ready_to_spray
from refinishlib.shop.shop import Shop, load
from refinishlib.units import METRIC, ShopUnits
from refinishlib.units import show as printed

PRODUCT, WANTED_ML = "clear", 400.0
NONE = "none"
CLEAR = "clear"
WANTED, AIR = "How much, ready to spray", "Air where the cup stands"

SOURCES = {
    "PRODUCT": "invented for the demo",
    "WANTED_ML": "teaching value: clear for a door",
    "NONE": "definition",
    "CLEAR": "definition: the kind of product whose tins the record asks for",
    "WANTED": "definition",
    "AIR": "definition",
}


def ByRatio(
    product: str = PRODUCT,
    wanted_ml: float = WANTED_ML,
    *,
    remember: bool = True,
    shop: Shop | None = None,
    units: ShopUnits = METRIC,
) -> Calculator:
    """Mixing by ratio as a widget, beginning with this product and this much of it.

    >>> calculator = ByRatio(remember=False)
    >>> calculator.shown.lead, calculator.shown.figure
    ('Of clear: the scale shows, one after the other', '255.5, 391.0, 402.3 g')
    """
    here = shop or load()
    mixed = {sheet.name: sheet for sheet in here.products if len(ready_to_spray(sheet).parts) > 1}

    def show(product: str, wanted: float, hardener: str, reducer: str, air: float) -> Reply:
        sheet = mixed[product]
        mix = ready_to_spray(sheet, *("normal" if name == NONE else name for name in (hardener, reducer)))
        tins = [tin for tin, _ in mix.parts]
        names = [tin.name for tin in tins]
        found = by_ratio(names, [share for _, share in mix.parts], [tin.density_g_per_ml for tin in tins], wanted)
        rows = list(zip(names, found.own_ml, found.pour.own_g, found.pour.cumulative_g, strict=True))
        table = html_table(
            ("into the cup", "volume", "own, g", "scale shows, g"),
            [
                (name, units.say(own_ml, "volume"), f"{own_g:.1f}", f"{reading:.1f}")
                for name, own_ml, own_g, reading in rows
            ],
            caption=f"{' : '.join(f'{part:g}' for part in sheet.mix if part)} by volume, one cup, no tare",
        )
        begins = [0.0, *found.pour.cumulative_g]
        picture = bars(
            [
                Bar(name, own_g, f"+ {printed(own_g, 'g')}", start=begin)
                for (name, _, own_g, _), begin in zip(rows, begins, strict=False)
            ],
            "Each on top of the ones before",
        )
        life = "Nothing reacts in this cup."
        lives = pot_life_min(sheet, "normal" if hardener == NONE else hardener, air)
        if lives is not None:
            life = (
                f"Once the hardener is in, the cup lives {float(lives):.0f} minutes at {units.say(air, 'temperature')}."
            )
        least = (
            f" Less than {units.say(sheet.smallest_mix_ml, 'volume')} cannot be weighed well: mix that much."
            if wanted < sheet.smallest_mix_ml
            else ""
        )
        readings = ", ".join(f"{reading:.1f}" for _, _, _, reading in rows)
        return Reply(
            figure=f"{readings} g",
            lead=f"Of {product}: the scale shows, one after the other",
            reason=f"{life}{least}",
            picture=picture,
            detail=table,
            text="\n".join(
                [
                    f"{product}, {units.say(wanted, 'volume')}",
                    *(f"{name}: to {reading:.1f} g" for name, _, _, reading in rows),
                ]
            ),
            summary=f"{product}, {units.say(wanted, 'volume')}",
            tasks=("mix",),
            hands={"product": product, **({"hardener": hardener, "reducer": reducer} if sheet.kind == CLEAR else {})},
        )

    def tins(product: str, what: str) -> list[str]:
        """Those of the sheet, the usual one first."""
        found = sorted(getattr(mixed[product], what), key=lambda tin: tin.speed != "normal")
        return [tin.name for tin in found] or [NONE]

    def other(change: Any = None) -> None:
        for name in ("hardener", "reducer"):
            offer(fields[name], tins(fields["product"].reading, f"{name}s"))

    begins_with = product if product in mixed else next(iter(mixed))
    fields = {
        "product": choice_field("Product", list(mixed), begins_with),
        "wanted": text_field(
            WANTED,
            lambda text: units.read(text, "volume", field=WANTED, low=1, high=LARGEST_MIX_G),
            units.say(wanted_ml, "volume"),
            hint=f"A volume, such as {units.say(wanted_ml, 'volume')}.",
        ),
        "hardener": choice_field("Hardener", tins(begins_with, "hardeners")),
        "reducer": choice_field("Reducer", tins(begins_with, "reducers")),
        "air": text_field(
            AIR,
            lambda text: units.read(text, "temperature", field=AIR, low=0, high=50),
            units.say(AIR_DRY_C, "temperature"),
        ),
    }
    fields["product"].observe(other, "reading")
    return Calculator(
        "ratio",
        "Mix by ratio",
        fields,
        show,
        names={"ready-to-spray volume": "wanted", "mass of the mix": "wanted", "to_c": "air"},
        carries={"product": "product", "air": "air"},
        remember=remember,
    )
