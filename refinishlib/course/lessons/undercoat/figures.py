"""The pictures of the undercoat lesson: what a grey does after each coat, which grey does least, what lies on top."""

from __future__ import annotations

from refinishlib.colour import surface
from refinishlib.colour.conditions import COAT_UM
from refinishlib.colour.hiding import VISIBLE
from refinishlib.colour.undercoat import sealer_for
from refinishlib.course.lessons.undercoat.job import Sprayed, apart, off_cleared, over_greys, ruling, shows
from refinishlib.picture.bars import Bar, bars
from refinishlib.shop.shop import Shop

RED, BLUE = "Kiln Red, as built", "Kingfisher Pool, as built"
LIGHT, MIDDLE, DARK = 84.0, 56.0, 40.0
GREYS = (36.0, 46.0, 56.0, 66.0, 76.0, 86.0)
CARD, JOB = 62.0, 40.0
MOST_COATS = 6
SEALER_GREY, SEALER_G = 60.0, 100.0

SOURCES = {
    "RED": "definition",
    "BLUE": "definition",
    "LIGHT": "teaching value: a light sealer",
    "MIDDLE": "teaching value: a middle grey",
    "DARK": "teaching value: a dark grey",
    "GREYS": "teaching value: greys from dark to light",
    "CARD": "teaching value: what a card often carries",
    "JOB": "teaching value: what the job may carry",
    "MOST_COATS": "teaching value: bars that a phone shows",
    "SEALER_GREY": "teaching value: a grey that looks as if it needed much black",
    "SEALER_G": "definition",
}


def ground(shop: Shop, title: str = RED, grey: float = LIGHT) -> str:
    """What a grey still does to a colour after each coat."""
    found = shows(shop.colour(title), grey, COAT_UM)[1 : MOST_COATS + 1]
    rows = [
        Bar(f"{at} coat{'s' if at > 1 else ''}", left, f"{left:.2f} shows", look="plain" if left <= VISIBLE else "soft")
        for at, left in enumerate(found, 1)
    ]
    return bars(rows, f"{title}, over L* {grey:g}", limit=VISIBLE, limit_words=f"nobody sees {VISIBLE:.2f}")


def greys(shop: Shop, title: str = RED, coats: int = 2) -> str:
    """What each grey still does to a colour after so many coats, at the angle where it shows most."""
    found = [max(one) for one in over_greys(shop.colour(title), GREYS, coats)]
    rows = [
        Bar(f"L* {grey:g}", left, f"{left:.2f} shows", look="plain" if left == min(found) else "soft")
        for grey, left in zip(GREYS, found, strict=True)
    ]
    many = f"{coats} coat{'s' if coats > 1 else ''}"
    return bars(rows, f"{title}, {many}", limit=VISIBLE, limit_words=f"nobody sees {VISIBLE:.2f}")


def card(shop: Shop, title: str = RED, card_grey: float = CARD, job_grey: float = JOB, coats: int = 2) -> str:
    """How far a card on one grey is from a job on another one, at each angle."""
    sprayed = Sprayed(shop.colour(title), card_grey, job_grey, coats)
    found = ruling(sprayed)
    rows = [
        Bar(f"{angle:g} degrees", off, f"{off:.2f}", look="plain" if off <= found.limit else "warn")
        for angle, off in zip(surface.ANGLES_DEG, apart(sprayed), strict=True)
    ]
    many = f"{coats} coat{'s' if coats > 1 else ''}"
    return bars(
        rows,
        f"{title}, {many}: card on L* {card_grey:g}, job on L* {job_grey:g}. It {found.verdict}.",
        limit=found.limit,
        limit_words=f"edge to edge up to {found.limit:.2f}",
    )


def bare(shop: Shop, title: str = RED) -> str:
    """How far bare and wiped base read from the cleared card."""
    rows = [
        Bar(
            said, off_cleared(shop.colour(title), look), f"{off_cleared(shop.colour(title), look):.1f} away", look=shade
        )
        for said, look, shade in (
            ("bare base", "bare", "warn"),
            ("wet with solvent", "wiped", "soft"),
            ("cleared", "cleared", "plain"),
        )
    ]
    return bars(rows, f"{title}: how far from the cleared card")


def sealer(shop: Shop, lightness: float = SEALER_GREY) -> str:
    """White and black of a grey sealer, and the coats that it needs."""
    mix = sealer_for(shop.sealers, lightness, mass_g=SEALER_G)
    rows = [
        Bar("white", mix.white_g, f"{mix.white_g:.1f} g", look="soft"),
        Bar("black", mix.black_g, f"{mix.black_g:.1f} g", start=mix.white_g),
    ]
    many = f"{mix.coats} coat{'s' if mix.coats > 1 else ''}"
    return bars(rows, f"{SEALER_G:g} g of sealer, L* {lightness:g}: {many} over any old paint")
