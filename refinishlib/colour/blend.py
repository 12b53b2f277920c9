"""Blending: what colour the panel has along a fade from new paint to old finish, and whether an eye finds the place."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from refinishlib.colour import eye as eyes
from refinishlib.colour import flake, predict, spray, weights
from refinishlib.colour.conditions import USUAL, Conditions
from refinishlib.colour.difference import HIGHEST_LAB, ciede2000
from refinishlib.colour.eye import FARTHEST_M, NEAREST_M, Eye
from refinishlib.colour.film import Layer
from refinishlib.colour.lamp import Lamp
from refinishlib.colour.optics import Mixture
from refinishlib.colour.spray import Coat, Gun
from refinishlib.colour.stage import Finish, Stage, kind, stages
from refinishlib.entry import BadEntry, number, numbers

STATIONS = 240
DISTANCES_M = (1.0, 2.0, 5.0)
LENGTHS_M = (0.2, 0.25, 0.3, 0.35, 0.4, 0.45, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.2, 1.4, 1.6, 1.8, 2.0)
THINNEST_UM = 1e-6
NODES = 96
HIDING = 1e3
SCALES_UM = (0.5, 2.0, 8.0)
EVEN = 2.0
WORDS = (("lighter", "darker"), ("redder", "greener"), ("yellower", "bluer"))
CAUSES = ("the hand's own fade", "the colour", "the undercoat shows", "the flakes' tilt", "the film that builds up")
HAND, COLOUR, UNDERCOAT, TILT, FILM = CAUSES
HELPS = 0.9
PROMISED = 0.9
PROBE = 0.02
THINNED = 2

SOURCES = {
    "STATIONS": "teaching value: places along the panel",
    "DISTANCES_M": "teaching value: an eye at arm's length, a step away and across the yard",
    "LENGTHS_M": "common practice, no source: a hand cannot fade colour over less than about a fan, nobody plans a "
    "blend finer than a hand's width, and one longer than a door and a half is no blend",
    "NODES": "teaching value: stations at which the colour is worked out, with a cubic between them",
    "HIDING": "definition: a thousand coats show nothing of what lies below",
    "SCALES_UM": "teaching value: films over which a strong, a usual and a transparent paint hide",
    "EVEN": "teaching value: nodes that are spread evenly for each that follows the film",
    "THINNEST_UM": "definition: less film than this is none",
    "WORDS": "definition: what each channel of the eye is called, up and down",
    "CAUSES": "definition: what sets the length of a blend; the words are ours",
    "HAND": "definition: the first of the causes",
    "COLOUR": "definition: the second of the causes",
    "UNDERCOAT": "definition: the third of the causes",
    "TILT": "definition: the fourth of the causes",
    "FILM": "definition: the last of the causes, for what is left when none of the others is at work",
    "PROMISED": "teaching value: nine tries of ten must stay unseen before somebody promises it",
    "PROBE": "teaching value: share by which an old finish is darkened to be told from the new one",
    "THINNED": "teaching value: every second station does where hundreds of tries are looked at",
    "HELPS": "teaching value: what is seen must fall to this share without a cause, for it to be one",
}


@dataclass(frozen=True)
class Shows:
    """Where an eye finds a blend most easily.

    angle_deg, distance_m : how it looks, and from where; infinite when no length changes it
    word : what the new side is against the old: "darker"
    strength : how many times what is just seen
    """

    angle_deg: float
    distance_m: float
    word: str
    strength: float


@dataclass(frozen=True, eq=False)
class Blend:
    """Film and colour along the panel, from the repair at the left to the old finish at the right.

    stations_m : (n,)
    film_per_coat_um : (coats, n)
    angles_deg : (angles,)
    lab : (n, angles, 3)
    old_lab, new_lab : (angles, 3) of the untouched finish and of the new paint at hiding film, orientation coat on
    from_old : CIEDE2000 to the old finish, (n, angles)
    total : CIEDE2000 between new paint and old finish, (angles,)
    signals : what the eye gets of the change, as `eye.signals`, (n, angles, 3)
    distances_m : (distances,) of the eye
    by_channel : how well it finds it, (distances, angles, 3); 1 is just seen
    end_to_end : how well it tells the ends apart, whatever lies between, (angles,); 1 is just seen
    eye : who looks
    length_m : where the last coat ends, seen from the edge of the repair
    old_share : how much of the old finish the eye still gets at each station and angle, 0-1, (n, angles), of a blend
        from `shortest`; 0 where primer lies below
    unseen : how often it stays hidden, 0-1, by `sure`, of a blend from `shortest` with draws; nan without
    cause : one of CAUSES, of a blend from `shortest`
    why : in a sentence, of a blend from `shortest`
    """

    stations_m: NDArray[np.float64]
    film_per_coat_um: NDArray[np.float64]
    angles_deg: NDArray[np.float64]
    lab: NDArray[np.float64]
    old_lab: NDArray[np.float64]
    new_lab: NDArray[np.float64]
    from_old: NDArray[np.float64]
    total: NDArray[np.float64]
    signals: NDArray[np.float64]
    distances_m: NDArray[np.float64]
    by_channel: NDArray[np.float64]
    end_to_end: NDArray[np.float64]
    eye: Eye
    length_m: float
    old_share: NDArray[np.float64] | None = None
    unseen: float = np.nan
    cause: str = ""
    why: str = ""

    @property
    def film_um(self) -> NDArray[np.float64]:
        """Dry film of all coats, (n,)."""
        found: NDArray[np.float64] = self.film_per_coat_um.sum(axis=0)
        return found

    @property
    def seen(self) -> NDArray[np.float64]:
        """How well the eye finds the blend, (distances, angles); 1 is just seen."""
        found: NDArray[np.float64] = np.maximum(eyes.together(self.by_channel), self.end_to_end)
        return found

    @property
    def worst(self) -> float:
        """How well the eye finds it at the worst angle and from the worst distance."""
        return float(self.seen.max())

    @property
    def hidden(self) -> bool:
        """Whether no angle and no distance shows it."""
        return self.worst <= 1

    @property
    def shows(self) -> Shows:
        """Where it is found most easily, be it hidden or not."""
        seen = self.seen
        far, angle = (int(i) for i in np.unravel_index(seen.argmax(), seen.shape))
        by_ends = self.end_to_end[angle] >= seen[far, angle]
        channel = 0 if by_ends else int(self.by_channel[far, angle].argmax())
        along_it = self.signals[:, angle, channel]
        up = along_it[np.abs(along_it).argmax()] > 0
        distance = np.inf if by_ends else float(self.distances_m[far])
        return Shows(float(self.angles_deg[angle]), distance, WORDS[channel][0 if up else 1], float(seen[far, angle]))

    @property
    def colour_ends_m(self) -> float:
        """The last station whose colour, put hard beside the old one, would be found; the first if there is none."""
        beside = eyes.together(eyes.edge(self.signals, self.distances_m, eye=self.eye))
        shows = np.flatnonzero((beside > 1).any(axis=(0, 2)))
        return float(self.stations_m[shows[-1] if len(shows) else 0])

    @property
    def film_ends_m(self) -> float:
        """The last station that gets any paint; clear must run beyond it."""
        wet = np.flatnonzero(self.film_um > THINNEST_UM)
        return float(self.stations_m[wet[-1] if len(wet) else 0])


def along(
    new: Finish,
    old: Finish,
    coats: Sequence[Coat],
    *,
    stations_m: ArrayLike,
    gun: Gun | None = None,
    repair_end_m: float | None = None,
    old_tilt: float | None = None,
    sprayed: Mapping[str, float] = flake.SPRAYED,
    distances_m: ArrayLike = DISTANCES_M,
    eye: Eye = eyes.USUAL,
    conditions: Conditions = USUAL,
    lamp: Lamp | None = None,
) -> Blend:
    """Film build and colour along a blend, cleared, and how well an eye finds it that walks away.

    Parameters
    ----------
    new, old : the finish in the gun and the one on the panel: a paint, or stages such as a ground and a mid coat. The
        lowest paint of the old one hides; of the new one `coats` say how much there is
    coats : from `planned` or `spray.carried`, in the order in which they are sprayed
    stations_m : (n,) evenly spaced and rising, at least 2
    gun : fan, overlap and profile
    repair_end_m : stations before it have primer instead of old finish under the new paint; none if not given
    old_tilt : how much the flakes of the old finish stand up, from `hand.tilt_of`; if not given, as the new ones lie
        where all coats are on, since the card that was held against the panel was sprayed as the job will be
    sprayed : factor on the flakes' tilt by how a coat went on
    distances_m : of the eye, 0.3-20 m, (distances,)
    eye : who looks
    conditions : undercoat, which is that primer, surface, tilt and angles; the film is that of the coats
    lamp : D65 if not given

    Returns
    -------
    Blend

    Notes
    -----
    The new film lies on the old finish, whose flakes still shine through where it is thin. Where a coat fades it
    falls dry and its flakes lie flatter; an orientation coat lies on top of all of it with flakes of its own even tilt.

    Raises
    ------
    BadEntry : stations that are not even and rising, no coat, a coat of a stage that the finish lacks, a distance or
        angle out of range

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> blue, white = load().picked("deep blue", "white")
    >>> deep, faded = mixture([blue], [1.0]), mixture([blue, white], [30.0, 1.0])
    >>> coats = spray.carried(3, film_um=7, first_end_m=0.2, carry_m=0.2, fade_m=0.2)
    >>> blend = along(deep, faded, coats, stations_m=np.linspace(-0.2, 1.2, 200))
    >>> blend.lab.shape, 0.5 < blend.colour_ends_m < blend.film_ends_m < 0.8
    ((200, 5, 3), True)
    """
    stations = _stations(stations_m)
    news, olds = stages(new), stages(old)
    if not coats:
        raise BadEntry("coats: none was given, allowed is one or more.")
    for coat in coats:
        if coat.stage >= len(news):
            raise BadEntry(f"stage of a coat: {coat.stage + 1} was given, allowed is 1 to {len(news)}.")
    distances = np.atleast_1d(numbers("distance", distances_m, low=NEAREST_M, high=FARTHEST_M, unit="m"))
    angles = np.asarray(conditions.angles_deg, dtype=float)
    film_per_coat = spray.film_build(stations, coats, gun)
    # Behind the last station stand two more: nothing on the old finish, and new paint of which the lowest hides.
    hiding = [coat.film_um * (1 if coat.orientation or coat.stage else HIDING) for coat in coats]
    layers = _layers(news, coats, np.column_stack([film_per_coat, np.zeros(len(coats)), hiding]), sprayed)
    beneath = _beneath(olds, news[-1] if any(coat.orientation for coat in coats) else None, old_tilt, sprayed)

    lamps = None if lamp is None else [lamp]
    wet = film_per_coat.sum(axis=0) > THINNEST_UM
    primed = stations < (-np.inf if repair_end_m is None else number("end of the repair", repair_end_m))
    shape = (len(stations), len(angles), 3)
    lab, from_old, signals = np.empty(shape), np.zeros(shape[:2]), np.zeros(shape)
    worked_out: list[tuple[NDArray[Any], Callable[[NDArray[Any]], NDArray[Any]], NDArray[Any]]] = []
    for where, stack in ((np.flatnonzero(wet & ~primed), beneath), (np.flatnonzero(primed), [])):
        nodes = _nodes(film_per_coat[:, where])
        picked = np.append(where[nodes], [len(stations), len(stations) + 1])
        at_nodes = predict.of_layers([*stack, *(_where(layer, picked) for layer in layers)], conditions)
        worked_out.append((where, _between(nodes, len(where)), weights.lab(at_nodes, lamps)[..., 0, :, :]))
        if not primed.any():
            break
    old_lab, new_lab = worked_out[0][2][-2:]
    lab[~wet & ~primed] = old_lab
    # One call for every pair, since a call costs as much as a thousand of them.
    held = np.concatenate([found for _, _, found in worked_out])
    reference = np.broadcast_to(old_lab, held.shape)
    level = held.copy()
    level[..., 0] = reference[..., 0]
    apart, colour_apart = ciede2000(np.stack([reference, reference]), np.stack([held, level]))
    to_eye = eyes.shared_out(reference, held, colour_apart, eye.veil)
    total, first = apart[len(worked_out[0][2]) - 1], 0
    for where, spread, found in worked_out:
        own = slice(first, first + len(found) - 2)
        lab[where], from_old[where] = spread(found[:-2]), np.maximum(spread(apart[own]), 0)
        signals[where] = spread(to_eye[own])
        first += len(found)
    by_channel = eyes.ramp(stations, signals, distances, eye)
    if 0 < (edge := int(primed.sum())) < len(stations):
        # The primer ends between two stations, and hard.
        by_channel = np.maximum(by_channel, eyes.edge(signals[edge] - signals[edge - 1], distances, eye=eye))
    return Blend(
        stations_m=stations,
        film_per_coat_um=film_per_coat,
        angles_deg=angles,
        lab=lab,
        old_lab=old_lab,
        new_lab=new_lab,
        from_old=from_old,
        total=total,
        signals=signals,
        distances_m=distances,
        by_channel=by_channel,
        end_to_end=eyes.end_to_end(signals, eye),
        eye=eye,
        length_m=round(max(coat.end_m for coat in coats), 6),
    )


def _nodes(film_per_coat: NDArray[Any]) -> NDArray[Any]:
    """Stations at which the colour is worked out, close together where thin film changes, (nodes,).

    What a film of some thickness lets through falls off exponentially, so that is what should change by equal steps.
    """
    n = film_per_coat.shape[1]
    if n <= NODES:
        return np.arange(n)
    upper = np.stack([film_per_coat.sum(axis=0), film_per_coat[-1]])
    through = np.exp(-upper / np.array(SCALES_UM)[:, None, None])
    change = np.abs(np.diff(through, axis=-1)).sum(axis=(0, 1))
    dense = np.concatenate([[0], np.cumsum(change / max(change.sum(), THINNEST_UM) + EVEN / n)])
    return np.unique(np.searchsorted(dense, np.linspace(0, dense[-1], NODES)).clip(0, n - 1))


def _between(nodes: NDArray[Any], n: int) -> Callable[[NDArray[Any]], NDArray[Any]]:
    """Spreads values (nodes, ...) at some places over all of them (n, ...), by the cubic through the nearest four."""
    if len(nodes) == n:
        return lambda found: found
    places = np.arange(n)
    first = np.clip(np.searchsorted(nodes, places, side="right") - 2, 0, len(nodes) - 4)
    four = first + np.arange(4)[:, None]
    # Lagrange: the share of node i is the product of (x - x_j) / (x_i - x_j) over the other three.
    at = nodes[four].astype(float)
    share = np.ones((4, n))
    for i in range(4):
        for j in range(4):
            if i != j:
                share[i] *= (places - at[j]) / (at[i] - at[j])

    def spread(found: NDArray[Any]) -> NDArray[Any]:
        flat = found.reshape(len(nodes), -1)
        result = share[0, :, None] * flat[four[0]]
        for i in range(1, 4):
            result += share[i, :, None] * flat[four[i]]
        return np.asarray(result.reshape(n, *found.shape[1:]))

    return spread


def planned(
    length_m: float, finish: Finish, *, thinning: float = 1.0, orientation: bool | None = None
) -> tuple[Coat, ...]:
    """Coats that use up a blend of this length evenly: each is carried one share further and fades over one share.

    Parameters
    ----------
    length_m : from the edge of the repair to where the last coat ends, above 0, up to 2 m
    finish : what is sprayed; a mid coat is carried on where the ground coat ends
    thinning : film of each coat as a share of the one before, 0.1-1
    orientation : whether a light coat goes over all of it; for every finish with flakes if not given

    >>> from refinishlib.shop.shop import load
    >>> red = load().colour("Kiln Red, as built")
    >>> [round(coat.end_m, 2) for coat in planned(0.6, red)]
    [0.2, 0.4, 0.6]
    """
    number("blend length", length_m, low=0, high=LENGTHS_M[-1], unit="m", above_low=True)
    each = stages(finish)
    drop = kind(finish) != "solid" if orientation is None else orientation
    share = length_m / (sum(stage.coats for stage in each) + 2 * int(drop))
    coats: list[Coat] = []
    for number_of, stage in enumerate(each):
        coats += spray.carried(
            stage.coats,
            film_um=stage.film_um,
            first_end_m=share * (len(coats) + 1),
            carry_m=share,
            fade_m=share,
            thinning=thinning,
            orientation=drop and number_of == len(each) - 1,
            stage=number_of,
        )
    return tuple(coats)


def shortest(
    new: Finish,
    old: Finish,
    *,
    thinning: float = 1.0,
    orientation: bool | None = None,
    gun: Gun | None = None,
    repair_end_m: float | None = 0.0,
    old_tilt: float | None = None,
    sprayed: Mapping[str, float] = flake.SPRAYED,
    longest_m: float = LENGTHS_M[-1],
    draws_lab: ArrayLike | None = None,
    distances_m: ArrayLike = DISTANCES_M,
    eye: Eye = eyes.USUAL,
    conditions: Conditions = USUAL,
    lamp: Lamp | None = None,
) -> Blend:
    """The shortest blend that no angle and no distance shows; where there is none, the one that shows least.

    Parameters
    ----------
    new, old, gun, old_tilt, sprayed, distances_m, eye, conditions, lamp : as for `along`
    thinning, orientation : as for `planned`
    repair_end_m : where the primer of the repair ends under the new paint; None for a fade on sound finish only
    longest_m : what room there is
    draws_lab : what the new paint is off by in each try, as for `sure`; the blend then is the shortest that stays
        hidden nine times of ten, or the most often

    Returns
    -------
    Blend with its cause and why; ask its `hidden`

    Notes
    -----
    A longer blend is not always seen less, since coats that are carried further also show their own dry ends. So the
    lengths are tried one after the other.

    >>> from refinishlib.colour.optics import mixture
    >>> from refinishlib.shop.shop import load
    >>> a, b = (mixture(load().picked("white", "soft black"), grams) for grams in ([9.0, 1.0], [8.8, 1.2]))
    >>> blend = shortest(a, b)
    >>> blend.hidden, blend.length_m < 2.0
    (True, True)
    """
    number("longest blend", longest_m, low=LENGTHS_M[0], high=LENGTHS_M[-1], unit="m")

    def at(length: float, **otherwise: Any) -> Blend:
        given: dict[str, Any] = {
            "new": new,
            "old": old,
            "repair_end_m": repair_end_m,
            "sprayed": sprayed,
            "old_tilt": old_tilt,
        }
        return along(
            coats=planned(length, new, thinning=thinning, orientation=orientation),
            stations_m=np.linspace(-spray.FAN_M, length + 2 * spray.FAN_M, STATIONS),
            gun=gun,
            distances_m=distances_m,
            eye=eye,
            conditions=conditions,
            lamp=lamp,
            **given | otherwise,
        )

    def shared(one: Blend) -> Blend:
        found = replace(one, old_share=_old_share(one, at(one.length_m, old=_darker(old))))
        return found if draws_lab is None else replace(found, unseen=sure(found, draws_lab))

    tried: list[Blend] = []
    for length in (one for one in LENGTHS_M if one <= longest_m):
        tried.append(at(length))
        if tried[-1].hidden:
            tried[-1] = shared(tried[-1])
            if not tried[-1].unseen < PROMISED:
                break
        elif float(tried[-1].end_to_end.max()) > 1:
            break
    hidden = [one for one in tried if one.hidden]
    best = max(hidden, key=lambda one: (np.nan_to_num(one.unseen), -one.length_m)) if hidden else None
    best = best or shared(min(tried, key=lambda one: one.worst))
    if best.hidden and best.length_m == tried[0].length_m:
        why = "The eye would take less: the hand's own fade sets the length."
        return replace(best, cause=HAND, why=why)
    # A shorter one that was seen decides, or the longest where none is hidden.
    before = next((n for n, one in enumerate(tried) if one.length_m == best.length_m), 0) - 1
    deciding = tried[max(before, 0)] if best.hidden else at(longest_m)
    without = {COLOUR: at(deciding.length_m, new=_repainted(new, old)).worst}
    if repair_end_m is not None:
        without[UNDERCOAT] = at(deciding.length_m, repair_end_m=None).worst
    if kind(new) != "solid":
        without[TILT] = at(deciding.length_m, sprayed=dict.fromkeys(sprayed, 1.0), old_tilt=1.0).worst
    least = min(without, key=lambda name: without[name])
    cause = least if without[least] < HELPS * deciding.worst else FILM
    return replace(best, cause=cause, why=_why(best, deciding.shows, cause, longest_m))


def _repainted(new: Finish, old: Finish) -> tuple[Stage, ...]:
    """The stages of the new finish with the paints of the old one, as far as there are as many."""
    news, olds = stages(new), stages(old)
    if len(news) != len(olds):
        return news
    return tuple(replace(stage, paint=before.paint) for stage, before in zip(news, olds, strict=True))


def sure(made: Blend, draws_lab: ArrayLike) -> float:
    """How often a blend stays hidden when the new paint comes out otherwise than meant, 0-1.

    Parameters
    ----------
    made : from `shortest`
    draws_lab : what the new paint is off by in each try, CIELAB, (tries, angles, 3): the scatter of a hand from
        `hand.panels` less its mean, the doubt of a reading, or their sum

    Notes
    -----
    First order: what a try is off by shows wherever the old finish does not.

    >>> from refinishlib.shop.shop import load
    >>> red = load().colour("Kiln Red, as built")
    >>> made = shortest(red, red, repair_end_m=None)
    >>> sure(made, np.zeros((10, 5, 3))), sure(made, np.full((10, 5, 3), 9.0))
    (1.0, 0.0)
    """
    if made.old_share is None:
        raise BadEntry("blend: one from along was given, allowed is one from shortest.")
    high = HIGHEST_LAB
    off = numbers("draws of the colour", draws_lab, low=-high, high=high, shape=(None, len(made.angles_deg), 3))
    there = eyes.signals(made.old_lab, made.new_lab, veil=made.eye.veil)
    moved = eyes.signals(made.old_lab, made.new_lab + off, veil=made.eye.veil) - there
    every = slice(None, None, THINNED)
    new_share = 1 - made.old_share[every]
    signals = made.signals[every, None] + new_share[:, None, :, None] * moved
    by_channel = eyes.ramp(made.stations_m[every], signals, made.distances_m, made.eye)
    seen = np.maximum(eyes.together(by_channel), eyes.end_to_end(signals, made.eye)).max(axis=(0, -1))
    return float((seen <= 1).mean())


def _darker(old: Finish) -> tuple[Stage, ...]:
    """The old finish with a little more absorption, by which it is found how much of it is left to be seen."""
    found = []
    for stage in stages(old):
        mix = stage.mixture
        more = PROBE * (mix.absorption_per_um + mix.scattering_per_um + mix.flake_scattering_per_um)
        found.append(replace(stage, paint=replace(mix, absorption_per_um=mix.absorption_per_um + more)))
    return tuple(found)


def _old_share(made: Blend, probe: Blend) -> NDArray[np.float64]:
    moved = probe.lab[..., 0] - made.lab[..., 0]
    found: NDArray[np.float64] = np.clip(moved / (probe.old_lab - made.old_lab)[:, 0], 0, 1)
    return found


def _why(best: Blend, shows: Shows, cause: str, longest_m: float) -> str:
    at = f"at {shows.angle_deg:g} degrees"
    if np.isfinite(shows.distance_m):
        at += f" from {shows.distance_m:g} m"
    what = shows.word if cause == COLOUR else f"{shows.word}, {cause}"
    if best.hidden:
        often = "would be seen" if shows.strength > 1 else "would too often be seen"
        return f"Any shorter, it {often} {at}: {what}."
    if longest_m < LENGTHS_M[-1]:
        return f"No blend of up to {longest_m:.2f} m, which is the room there is, hides it: seen {at}, {what}."
    if cause == COLOUR:
        return f"The new paint is too much {shows.word} for any length: seen {at}."
    return f"No length hides it: seen {at}, {what}."


def _stations(stations_m: ArrayLike) -> NDArray[Any]:
    stations = numbers("stations", stations_m, low=-spray.MAX_PANEL_M, high=spray.MAX_PANEL_M, unit="m", shape=(None,))
    steps = np.diff(stations)
    if stations.ndim != 1 or len(stations) < 2 or not (steps > 0).all() or not np.allclose(steps, steps[0]):
        raise BadEntry("stations: uneven or falling ones were given, allowed are two or more that rise evenly.")
    return stations


def _layers(
    new: Sequence[Stage], coats: Sequence[Coat], film_per_coat: NDArray[Any], sprayed: Mapping[str, float]
) -> list[Layer]:
    """The new film from below: of each stage what was laid wet and what fell dry, then an orientation coat."""
    layers: list[Layer] = []
    for number_of, stage in enumerate(new):
        paint = stage.mixture
        rows = [i for i, coat in enumerate(coats) if coat.stage == number_of and not coat.orientation]
        light = [i for i, coat in enumerate(coats) if coat.stage == number_of and coat.orientation]
        if not paint.flakes:
            layers.append(Layer(paint, film_per_coat[rows + light].sum(axis=0)))
            continue
        colour = film_per_coat[rows]
        full = np.array([max(coats[i].film_um, THINNEST_UM) for i in rows])[:, None]
        film = colour.sum(axis=0)
        dry = (colour * (1 - np.clip(colour / full, 0, 1))).sum(axis=0) / np.maximum(film, THINNEST_UM)
        layers.append(Layer(_tilted(paint, [(1 - dry, sprayed["normal"]), (dry, sprayed["dry"])]), film))
        if light:
            even = _tilted(paint, [(np.ones(film.shape), sprayed["drop coat"])])
            layers.append(Layer(even, film_per_coat[light].sum(axis=0)))
    return layers


def _beneath(
    old: Sequence[Stage], dropped: Stage | None, old_tilt: float | None, sprayed: Mapping[str, float]
) -> list[Layer]:
    """The old finish, whose lowest paint hides; without a tilt of its own its top lies as the drop coat will."""
    tilt = sprayed["normal"] if old_tilt is None else old_tilt
    paints = [_tilted(stage.mixture, [(1.0, tilt)]) for stage in old]
    layers = [
        Layer(paint, stage.coats * stage.film_um if number_of else np.inf)
        for number_of, (paint, stage) in enumerate(zip(paints, old, strict=True))
    ]
    if dropped and old_tilt is None and old[-1].mixture.flakes:
        even = _tilted(old[-1].mixture, [(1.0, sprayed["drop coat"])])
        layers.append(Layer(even, dropped.film_um * spray.ORIENTATION_FILM))
    return layers


def _tilted(paint: Mixture, ways: Sequence[tuple[ArrayLike, float]]) -> Mixture:
    """The same paint with shares, each one or (n,), of its flakes tilted by their factors."""
    shares = [np.asarray(share, dtype=float)[..., None] for share, _ in ways]
    stations = shares[0].shape[:-1]
    return Mixture(
        absorption_per_um=np.broadcast_to(paint.absorption_per_um, (*stations, *paint.absorption_per_um.shape)),
        scattering_per_um=np.broadcast_to(paint.scattering_per_um, (*stations, *paint.scattering_per_um.shape)),
        flakes=tuple(replace(one, tilt_deg=one.tilt_deg * factor) for _, factor in ways for one in paint.flakes),
        cover_per_um=np.concatenate([share * paint.cover_per_um for share in shares], axis=-1),
        flake_reflectance=np.tile(paint.flake_reflectance, (len(ways), 1)),
        flake_absorptance=np.tile(paint.flake_absorptance, (len(ways), 1)),
    )


def _where(layer: Layer, places: NDArray[Any]) -> Layer:
    """The layer at some of the stations."""
    paint = layer.mixture
    if paint.absorption_per_um.ndim > 1:
        paint = replace(
            paint,
            absorption_per_um=paint.absorption_per_um[places],
            scattering_per_um=paint.scattering_per_um[places],
            cover_per_um=paint.cover_per_um[places],
        )
    return Layer(paint, np.asarray(layer.film_um)[places])
