"""The search behind a tint: few toners, pourable amounts, least mean difference. It knows numbers, no paint."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from itertools import combinations, product
from typing import Any

import numpy as np
from numpy.typing import NDArray

FIRST_SHARES = (1.0, 0.4)
STEP_SHARES = (1.0, 0.4)
PROBE = 0.02
ROUNDS = 2
TRIED = 24
KEPT = 3
ROUNDED = 1
POLISH_ROUNDS = 12
STRIDES = (64, 400)
SETTLED = 0.05
CLOSE = 0.05
RIDGE = 1e-9
METRIC_STEP = 0.5

SOURCES = {
    "FIRST_SHARES": "teaching value: shares of the first full step that are tried, since the response is curved",
    "STEP_SHARES": "teaching value: shares of a later full step that are tried",
    "PROBE": "teaching value: share of the largest addition that is added to feel the slope",
    "ROUNDS": "teaching value: the slope is felt anew this often after the first step",
    "TRIED": "teaching value: sets of toners of each size that are tried after the first slope",
    "KEPT": "teaching value: sets of toners of each size that are followed",
    "ROUNDED": "teaching value: sets of toners of each size that are rounded to the balance",
    "POLISH_ROUNDS": "teaching value: the polish stops at the latest after this many rounds",
    "STRIDES": "teaching value: the polish walks by the largest addition divided by these",
    "SETTLED": "teaching value: a round that gains less than this share is the last",
    "CLOSE": "teaching value: differences below this count alike when residuals are weighted, in CIEDE2000",
    "RIDGE": "teaching value: keeps the normal equations solvable when two toners act alike",
    "METRIC_STEP": "teaching value: step in CIELAB over which a difference formula is felt as an ellipsoid",
}


@dataclass(frozen=True)
class Steps:
    """What can be poured, in steps of the balance.

    smallest : fewest steps of one toner, if any
    together : most steps of all toners
    toners : most toners
    """

    smallest: int
    together: int
    toners: int

    def allowed(self, steps: NDArray[Any]) -> NDArray[np.bool_]:
        """Which rows (..., n) of whole steps can be poured."""
        used = steps > 0
        each = (steps >= 0) & (~used | (steps >= self.smallest))
        together = (steps.sum(axis=-1) <= self.together) & (used.sum(axis=-1) <= self.toners)
        possible: NDArray[np.bool_] = each.all(axis=-1) & together
        return possible


Equations = tuple[NDArray[Any], NDArray[Any]]
Response = Callable[[NDArray[Any]], NDArray[Any]]
Difference = Callable[[NDArray[Any], NDArray[Any]], NDArray[Any]]


def least(
    n: int,
    limits: Steps,
    given: NDArray[Any],
    response: Response,
    target: NDArray[Any],
    weight: NDArray[Any],
    difference: Difference,
) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any]]:
    """The best pourable steps for each number of toners from none to limits.toners.

    Parameters
    ----------
    n : toners to choose from
    given : what there is before anything is poured, (terms, 3)
    response : steps (rows, n), any real numbers of 0 or more, to what they give, (rows, terms, 3)
    target : (terms, 3) what is wanted; a term is one angle under one lamp
    weight : (terms,) of each term in the mean
    difference : target and response (..., 3) to the difference that counts, (...)

    Returns
    -------
    steps (found, n), differences (found, terms) and responses (found, terms, 3), fewer toners first; the first row is
    nothing at all

    How
    ---
    Near the target a difference formula is an ellipsoid, so the best real amounts for every set of toners are a
    least squares problem with a slope that is felt by small additions. The sum of lengths, not of squares, is wanted:
    the squares are weighted anew each round. The best sets are rounded to the balance and polished by whole steps,
    all with the exact difference.
    """
    found = _Best(n, limits, weight)
    shape, apart = ellipsoid(target, given, difference)
    nothing = np.zeros((1, n))
    found.take(nothing, apart[None], given[None])
    if min(n, limits.toners) == 0 or limits.together < limits.smallest:
        return found.rows()

    def exact(steps: NDArray[Any]) -> None:
        if len(steps):
            given = response(steps)
            found.take(steps, difference(target, given), given)

    def residual(steps: NDArray[Any]) -> NDArray[Any]:
        return stretched(response(steps) - target, shape)

    at, at_residual = nothing, stretched(given[None] - target, shape)
    best = np.inf
    for first in [True] + [False] * ROUNDS:
        probe = max(1.0, PROBE * limits.together)
        slope = _slopes(at, at_residual, residual, probe, np.ones_like(at) if first else at)
        equations = _normal_equations(at, at_residual, slope, weight)
        goals, start = _first_goals(equations, limits, at) if first else (_goals(equations, at, limits), at)
        shares = FIRST_SHARES if first else STEP_SHARES
        tries = np.concatenate([start + share * (goals - start) for share in shares] + [at])
        tries_residual = np.concatenate([residual(tries[: -len(at)]), at_residual])
        length = np.linalg.norm(tries_residual, axis=-1) @ weight
        kept = _best_of_each_set(tries, length)
        at, at_residual = tries[kept], tries_residual[kept]
        if length[kept].sum() > (1 - SETTLED) * best:
            break
        best = length[kept].sum()
    used = (at > 0).sum(axis=1)
    chosen = [row for count in range(1, limits.toners + 1) for row in at[used == count][:ROUNDED]]
    exact(np.concatenate([_corners(row, limits) for row in chosen] or [nothing]))
    _polish(found, limits, exact)
    return found.rows()


class _Best:
    """The best row of whole steps for each number of toners."""

    def __init__(self, n: int, limits: Steps, weight: NDArray[Any]) -> None:
        self.weight = weight
        self.steps = np.zeros((limits.toners + 1, n))
        self.apart = np.full((limits.toners + 1, len(weight)), np.inf)
        self.given = np.zeros((limits.toners + 1, len(weight), 3))
        self.score = np.full(limits.toners + 1, np.inf)

    def take(self, steps: NDArray[Any], apart: NDArray[Any], given: NDArray[Any]) -> None:
        score = apart @ self.weight
        used = (steps > 0).sum(axis=1)
        for count in np.unique(used):
            rows = np.flatnonzero(used == count)
            best = rows[np.argmin(score[rows])]
            if score[best] < self.score[count]:
                self.score[count], self.steps[count] = score[best], steps[best]
                self.apart[count], self.given[count] = apart[best], given[best]

    def rows(self) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any]]:
        known = np.isfinite(self.score)
        return self.steps[known], self.apart[known], self.given[known]


@cache
def _sets(n: int, most: int) -> tuple[NDArray[np.intp], ...]:
    """All sets of 1 to `most` out of n toners, one array (sets, size) for each size."""
    return tuple(np.array(list(combinations(range(n), size))) for size in range(1, min(most, n) + 1))


def ellipsoid(target: NDArray[Any], given: NDArray[Any], difference: Difference) -> tuple[NDArray[Any], NDArray[Any]]:
    """Matrices (terms, 3, 3) that stretch a small step in CIELAB, as a row, to the length that it differs by.

    Parameters
    ----------
    target, given : CIELAB, (terms, 3)
    difference : target and response (..., 3) to the difference that counts, (...)

    Returns
    -------
    the matrices, and the differences (terms,) of what is given, since a call costs as much as a thousand differences

    >>> from refinishlib.colour.difference import cie76
    >>> shape, apart = ellipsoid(np.full((1, 3), 50.0), np.array([[50.0, 53.0, 46.0]]), cie76)
    >>> float(np.linalg.norm([0.0, 3.0, -4.0] @ shape[0]).round(6)), float(apart[0])
    (5.0, 5.0)
    """
    unit = METRIC_STEP * np.eye(3)
    first, second = np.triu_indices(3)
    moved = target + (unit[first] + np.where(first == second, 0, unit[second].T).T)[:, None]
    apart = difference(target, np.concatenate([moved, given[None]]))
    squares = np.square(apart[:-1] / METRIC_STEP)
    form = np.empty((len(target), 3, 3))
    alone = squares[first == second]
    for square, i, j in zip(squares, first, second, strict=True):
        # d^2(e_i + e_j) = g_ii + g_jj + 2 g_ij
        form[:, i, j] = form[:, j, i] = square if i == j else (square - alone[i] - alone[j]) / 2
    value, vector = np.linalg.eigh(form)
    return vector * np.sqrt(np.maximum(value, RIDGE))[:, None, :], apart[-1]


def stretched(off: NDArray[Any], shape: NDArray[Any]) -> NDArray[np.float64]:
    """Steps in CIELAB (..., terms, 3) as lengths (..., terms, 3), by the matrices (terms, 3, 3) of an ellipsoid.

    >>> stretched(np.array([[3.0, 0.0, 4.0]]), np.eye(3)[None]).tolist()
    [[3.0, 0.0, 4.0]]
    """
    # sum over i of off_i M_ij; as a product of small matrices it would take ten times as long.
    found: NDArray[np.float64] = off[..., :1] * shape[:, 0] + off[..., 1:2] * shape[:, 1] + off[..., 2:] * shape[:, 2]
    return found


def _slopes(
    at: NDArray[Any], at_residual: NDArray[Any], residual: Response, probe: float, felt: NDArray[Any]
) -> NDArray[Any]:
    """Change of the residual per step of each toner, (rows, n, terms, 3); 0 for toners that are not felt."""
    rows, toners = np.nonzero(felt)
    slope = np.zeros((*at.shape, *at_residual.shape[1:]))
    if not len(rows):
        return slope
    moved = at[rows]
    moved[np.arange(len(rows)), toners] += probe
    slope[rows, toners] = (residual(moved) - at_residual[rows]) / probe
    return slope


def _normal_equations(
    at: NDArray[Any], at_residual: NDArray[Any], slope: NDArray[Any], weight: NDArray[Any]
) -> tuple[NDArray[Any], NDArray[Any]]:
    """Matrix (rows, n, n) and right side (rows, n) for the amounts at which a straight response would be best."""
    importance = np.sqrt(weight / np.maximum(np.linalg.norm(at_residual, axis=-1), CLOSE))[..., None]
    rows, n = at.shape
    a = (slope * importance[:, None]).reshape(rows, n, -1)
    b = (at[:, None] @ a)[:, 0] - (at_residual * importance).reshape(rows, -1)
    return a @ a.transpose(0, 2, 1), (a @ b[..., None])[..., 0]


def _first_goals(equations: Equations, limits: Steps, at: NDArray[Any]) -> tuple[NDArray[Any], NDArray[Any]]:
    """The best amounts for the most promising sets of each size, and the start repeated for each."""
    goals = []
    for chosen in _sets(at.shape[1], limits.toners):
        options, value = _solve(equations, np.zeros(len(chosen), dtype=int), chosen, limits)
        goals.append(options[np.argsort(value, kind="stable")[:TRIED]])
    wanted = np.concatenate(goals)
    return wanted, np.repeat(at, len(wanted), axis=0)


def _goals(equations: Equations, at: NDArray[Any], limits: Steps) -> NDArray[Any]:
    """The best amounts of the toners that each row uses already, or of some of them, (rows, n)."""
    goals, best = at.copy(), np.full(len(at), np.inf)
    used = [np.flatnonzero(row) for row in at]
    for size in range(1, limits.toners + 1):
        some = [
            (row, used[row][_sets(len(used[row]), size)[size - 1]]) for row in range(len(at)) if len(used[row]) >= size
        ]
        if not some:
            break
        rows = np.concatenate([np.full(len(sets), row) for row, sets in some])
        options, value = _solve(equations, rows, np.concatenate([sets for _, sets in some]), limits)
        for row, option, its_value in zip(rows, options, value, strict=True):
            if its_value < best[row]:
                goals[row], best[row] = option, its_value
    return goals


def _best_of_each_set(tries: NDArray[Any], score: NDArray[Any]) -> list[int]:
    """The best rows of each number of toners, best first, no two with the same set of toners."""
    used = tries > 0
    sizes = used.sum(axis=1).tolist()
    keys = (used @ (1 << np.arange(used.shape[1]))).tolist()
    kept: dict[int, int] = {}
    room: dict[int, int] = {}
    for row in np.argsort(score, kind="stable").tolist():
        size, key = sizes[row], keys[row]
        if room.get(size, 0) < KEPT and key not in kept:
            kept[key] = row
            room[size] = room.get(size, 0) + 1
    return list(kept.values())


def _solve(
    equations: Equations, rows: NDArray[Any], chosen: NDArray[Any], limits: Steps
) -> tuple[NDArray[Any], NDArray[Any]]:
    """Least squares for each set of toners (sets, size) with its row's equations: amounts (sets, n), value (sets,).

    The whole is held to the cap; negative amounts are cut to 0, since the smaller set has its own turn.
    """
    normal, right = equations
    size = chosen.shape[1]
    inner = normal[rows[:, None, None], chosen[:, :, None], chosen[:, None, :]]
    wanted = right[rows[:, None], chosen]
    ridge = RIDGE * (1 + inner.reshape(len(inner), -1).max(axis=1))
    both = np.stack([wanted, np.ones_like(wanted)], axis=-1)
    solved = np.linalg.solve(inner + ridge[:, None, None] * np.eye(size), both)
    free, along = solved[..., 0], solved[..., 1]
    # ((A'A) + ridge) x = A'b.
    # On the cap the same equations hold with a multiplier for the sum.
    excess = np.maximum(free.sum(axis=1) - limits.together, 0)
    free = np.clip(free - along * (excess / along.sum(axis=1))[:, None], 0, None)
    free *= np.minimum(1, limits.together / np.maximum(free.sum(axis=1), RIDGE))[:, None]
    value = ((inner @ free[..., None])[..., 0] / 2 - wanted) * free
    goals = np.zeros((len(chosen), normal.shape[-1]))
    goals[np.arange(len(chosen))[:, None], chosen] = free
    return goals, value.sum(axis=1)


def _corners(start: NDArray[Any], limits: Steps) -> NDArray[Any]:
    """All pourable rows around real amounts: each used toner down or up, or at its smallest or left out."""
    used = np.flatnonzero(start)
    ladders = [
        (0.0, float(limits.smallest)) if amount < limits.smallest else (np.floor(amount), np.ceil(amount))
        for amount in start[used]
    ]
    grid = np.zeros((1 << len(used), len(start)))
    grid[:, used] = np.array(list(product(*ladders)))
    return grid[limits.allowed(grid)]


@cache
def _moves(n: int) -> NDArray[Any]:
    """One or two toners up or down by one step, (moves, n)."""
    unit = np.eye(n)
    single = [sign * unit[i] for i in range(n) for sign in (1, -1)]
    pairs = [s * unit[i] + t * unit[j] for i, j in combinations(range(n), 2) for s in (1, -1) for t in (1, -1)]
    return np.array(single + pairs)


def _polish(found: _Best, limits: Steps, exact: Callable[[NDArray[Any]], None]) -> None:
    """Walk by whole steps, long and short, from the best row of each number of toners while it gets better."""
    strides = sorted({max(1, limits.together // share) for share in STRIDES})
    walking = [int(count) for count in np.flatnonzero(np.isfinite(found.score)) if count]
    for _ in range(POLISH_ROUNDS):
        if not walking:
            return
        around = []
        for count in walking:
            moves = np.concatenate([stride * _moves(count) for stride in strides])
            moved = np.repeat(found.steps[count][None], len(moves), axis=0)
            moved[:, np.flatnonzero(found.steps[count])] += moves
            around.append(moved[limits.allowed(moved)])
        before = found.score.copy()
        exact(np.concatenate(around))
        walking = [count for count in walking if found.score[count] < before[count]]
