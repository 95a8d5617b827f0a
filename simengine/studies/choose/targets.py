"""How far each candidate stays inside each target in the worst place, and what to relax where none does."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simengine.balance.shift_tables import FIGURES
from simengine.constants import DEGREE, RPM
from simengine.scenario.choose_records import Targets
from simengine.studies.shift_evaluator import Place

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

BEGIN, FINISH, RETURN, LIMIT, LIFE = range(5)
TARGETS = (
    "shift begins above cruise",
    "shift finishes below full throttle",
    "return ends above idle",
    "rpm limit",
    "spring life",
)
NEVER = -2000.0 * RPM  # slack of what does not happen at all [rad/s, engine]
UNSHIFTED = -1.0 * RPM  # slack at best of a blade that does not come through to the fine stop
TRAVEL_SCALE = 0.5 * DEGREE
CLIP = 20.0  # of a slack in its scale: beyond that more is not worth more
SCALE = np.array([100.0 * RPM, 100.0 * RPM, 100.0 * RPM, 100.0 * RPM, 0.2])  # what weighs the same


@dataclass(frozen=True)
class Relaxation:
    """What must give for there to be a choice.

    Attributes
    ----------
    target : int
        Number in `TARGETS`.
    by : float
        How much less may be asked [rad/s of the engine, or 1 of the life factor], positive.
    alone : bool
        Whether nothing that may be fitted meets this target even by itself.
    candidate : int
        The one that meets all once it is relaxed; -1 where more must give.
    """

    target: int
    by: float
    alone: bool
    candidate: int


def slacks_of(
    figures: Array, places: Sequence[Place], targets: Targets, idle: float, limit: float, life: Array
) -> Array:
    """Slack of every target in the worst place, shape (n, targets): zero or above is met.

    Parameters
    ----------
    figures : as `ShiftEvaluator.figures` gives them, shape (places, n, figures)
    places : the ground counts for the rpm limit alone
    targets, idle, limit : asked for; the engine's speeds [rad/s]
    life : allowed over largest stress of the spring, NaN where the wire is unknown, shape (n,)
    """
    flights = [i for i, place in enumerate(places) if not place.ground]

    def worst(name: str, where: Sequence[int]) -> Array:
        return figures[list(where), :, FIGURES.index(name)]

    slack = np.empty((figures.shape[1], len(TARGETS)))
    begin = worst("shift_begin", flights).min(axis=0) - targets.cruise_rpm - targets.begin_above_cruise
    # A blade that never leaves coarse does begin late enough; that it does not finish is told by the next.
    slack[:, BEGIN] = np.where(np.isnan(begin), -NEVER, begin)
    margin = worst("margin_speed", flights).min(axis=0) - targets.finish_below_full
    through = worst("drive", flights).min(axis=0) > 0.0
    slack[:, FINISH] = np.where(through, margin, np.minimum(margin, UNSHIFTED))
    back = worst("return_finish", flights).min(axis=0) - idle - targets.return_above_idle
    slack[:, RETURN] = back
    fastest = np.maximum(worst("speed_fine", range(len(places))), worst("full_throttle", range(len(places))))
    slack[:, LIMIT] = limit - targets.limit_reserve - fastest.max(axis=0)
    slack[:, LIFE] = np.where(np.isnan(life), np.inf, life - targets.life_factor)
    return np.where(np.isnan(slack), NEVER, slack)


def met(slacks: Array) -> Flags:
    """Whether all targets are met, shape (n,); `slacks` of shape (n, targets)."""
    return np.asarray((slacks >= 0.0).all(axis=1))


def least_slack(slacks: Array) -> Array:
    """The smallest of some `slacks`, shape (n, targets), each in its own scale, shape (n,) [1]."""
    return np.asarray((slacks / SCALE).min(axis=1))


def violation(slacks: Array) -> Array:
    """What is missing in all targets together, in scale, shape (n,) [1]; `slacks` of shape (n, targets)."""
    return np.asarray(np.maximum(-slacks / SCALE, 0.0).sum(axis=1))


def relaxations(slacks: Array) -> list[Relaxation]:
    """What must give where no candidate meets all targets, nearest first; `slacks` of shape (n, targets).

    First the targets that nothing meets even alone; else those that one by one would do; else all that the
    nearest candidate misses.
    """
    best = slacks.max(axis=0)
    out_of_reach = [target for target in range(len(TARGETS)) if best[target] < 0.0]
    if out_of_reach:
        return [
            Relaxation(target, float(-best[target]), True, only_missing(slacks, target))
            for target in out_of_reach
        ]
    found = []
    for target in range(len(TARGETS)):
        candidate = only_missing(slacks, target)
        if candidate >= 0:
            found.append(Relaxation(target, float(-slacks[candidate, target]), False, candidate))
    if found:
        return sorted(found, key=lambda each: each.by / SCALE[each.target])
    nearest = int(np.argmin(violation(slacks)))
    return [
        Relaxation(target, float(-slacks[nearest, target]), False, -1)
        for target in range(len(TARGETS))
        if slacks[nearest, target] < 0.0
    ]


def only_missing(slacks: Array, target: int) -> int:
    """The candidate that meets all targets but `target` and misses that least; -1 if there is none.

    `slacks` of shape (n, targets).
    """
    others = np.delete(slacks, target, axis=1)
    good = np.flatnonzero((others >= 0.0).all(axis=1))
    return int(good[np.argmax(slacks[good, target])]) if good.size else -1


def merits(slacks: Array, travel: Array) -> Array:
    """What options are weighed by, each in its own scale: slacks, and the travel, shape (n, targets + 1).

    The travel between the stops is what the hub is there for: without it the smallest would always win.
    """
    scaled = np.clip(slacks / SCALE, -CLIP, CLIP)
    return np.column_stack([scaled, travel / TRAVEL_SCALE])


def pareto_front(values: Array) -> NDArray[np.int64]:
    """Numbers of those that no other is at least as good as in every merit and better in one, shape (k,).

    `values` of shape (n, merits). Largest sum first, so that whoever comes later cannot beat those before.
    """
    front: list[int] = []
    kept = np.empty((0, values.shape[1]))
    for number in np.argsort(-values.sum(axis=1), kind="stable"):
        if kept.size and (kept >= values[number]).all(axis=1).any():
            continue
        front.append(int(number))
        kept = np.vstack([kept, values[number]])
    return np.array(front, dtype=np.int64)


def spread_choice(values: Array, count: int) -> NDArray[np.int64]:
    """Up to `count` that differ most: the most even one, the best in each merit, then the farthest.

    `values` of shape (n, merits); their numbers, shape (k,).
    """
    evenness = values[:, : len(TARGETS)].min(axis=1)
    if values.shape[0] <= count:
        return np.argsort(-evenness, kind="stable")
    chosen = [int(np.argmax(evenness))]
    for merit in range(values.shape[1]):
        best = int(np.lexsort((-evenness, -values[:, merit]))[0])
        if best not in chosen and len(chosen) < count:
            chosen.append(best)
    while len(chosen) < count:
        gaps = np.linalg.norm(values[:, None, :] - values[None, chosen, :], axis=2).min(axis=1)
        if gaps.max() <= 0.0:
            break
        chosen.append(int(np.argmax(gaps)))
    return np.array(chosen, dtype=np.int64)
