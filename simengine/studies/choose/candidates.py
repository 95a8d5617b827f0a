"""Everything that may be fitted, as rows for the evaluator, with the strength of each spring."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from math import isinf, isnan, nan

import numpy as np
from numpy.typing import NDArray

from simengine.balance.assembly import spring_rate
from simengine.balance.shift_tables import HUB_FIELDS
from simengine.models.inertia import counterweight_inertia
from simengine.models.spring_strength import SHEAR_LIVES, STATIC_SHEAR, helical_strength
from simengine.scenario import records
from simengine.scenario.choose_records import Choose, Targets
from simengine.studies.choose.spring_catalogue import SpringOffer, own_spring
from simengine.studies.tolerance.hub_rows import row_of, two_stop

Array = NDArray[np.float64]
Numbers = NDArray[np.int64]

AnySpring = records.HelicalSpring | records.TorsionSpring | records.DiscWasherSpring

FOR_EVER = 1e7  # strokes from which a life without end is asked for
MOST_CANDIDATES = 3_000_000


@dataclass(frozen=True)
class Candidates:
    """All combinations that can be built.

    Attributes
    ----------
    springs : tuple of SpringOffer
        Those on offer; empty for a hub that keeps its own disc washers or torsion spring.
    spring, washers : NDArray of int
        Number of the spring (-1 for the hub's own) and of washers, shape (n,).
    coarse_stop, fine_stop, counterweight : NDArray
        [rad], [rad], [kg], shape (n,).
    rows : NDArray
        For the evaluator, shape (n, fields).
    tried : int
        Combinations looked at, those that cannot be built among them.
    """

    springs: tuple[SpringOffer, ...]
    spring: Numbers
    washers: Numbers
    coarse_stop: Array
    fine_stop: Array
    counterweight: Array
    rows: Array
    tried: int

    def __len__(self) -> int:
        return int(self.spring.size)


def candidates(record: records.ScenarioRecord, block: Choose, catalogue: Sequence[SpringOffer]) -> Candidates:
    """Every combination of spring, washers, stops and counterweight that can be built.

    Raises
    ------
    ValueError
        If there are more than three million combinations.
    """
    hub = two_stop(record)
    springs = tuple(catalogue) or own_offers(hub.spring)
    counts = washer_counts(hub.spring, block)
    weights = block.counterweight.masses if block.counterweight else (0.0,)
    axes = (
        np.arange(len(springs)) if springs else np.array([-1]),
        np.array(counts),
        np.array(block.coarse_stops or (hub.coarse_stop,)),
        np.array(block.fine_stops or (hub.fine_stop,)),
        np.array(weights),
    )
    tried = int(np.prod([axis.size for axis in axes], dtype=np.int64))
    if tried > MOST_CANDIDATES:
        raise ValueError(
            f"{tried:,} combinations are more than {MOST_CANDIDATES:,}: give fewer springs, stops or washers"
        )
    spring, washers, coarse, fine, weight = (grid.ravel() for grid in np.meshgrid(*axes, indexing="ij"))
    rows = candidate_rows(record, springs, spring, washers, coarse, fine)
    add_counterweights(record, block, rows, weight)
    fits = can_be_fitted(hub.spring, springs, spring, washers, rows)
    return Candidates(
        springs, spring[fits], washers[fits], coarse[fits], fine[fits], weight[fits], rows[fits], tried
    )


def own_offers(
    spring: records.HelicalSpring | records.TorsionSpring | records.DiscWasherSpring,
) -> tuple[SpringOffer, ...]:
    """The hub's own coil spring as the only one on offer; none for other kinds."""
    if isinstance(spring, records.HelicalSpring):
        return (own_spring(spring, spring_rate(spring)),)
    return ()


def washer_counts(spring: AnySpring, block: Choose) -> range:
    """Numbers of washers to try."""
    if isinstance(spring, records.TorsionSpring):
        return range(1)
    return range(block.fewest_washers, block.most_washers + 1)


def column(rows: Array, name: str) -> Array:
    """One number of every row, by its `name` in `HUB_FIELDS`, shape (n,), as a view of `rows` (n, fields)."""
    return rows[:, HUB_FIELDS.index(name)]


def candidate_rows(
    record: records.ScenarioRecord,
    springs: Sequence[SpringOffer],
    spring: Numbers,
    washers: Numbers,
    coarse: Array,
    fine: Array,
) -> Array:
    """Rows with spring, washers and stops put in."""
    rows = np.tile(row_of(record), (spring.size, 1))
    column(rows, "coarse_stop")[:], column(rows, "fine_stop")[:] = coarse, fine
    own = two_stop(record).spring
    if isinstance(own, records.TorsionSpring):
        return rows
    shims = washers * own.washer_thickness
    if isinstance(own, records.DiscWasherSpring):
        column(rows, "preload")[:] = own.fitted_compression + shims
        return rows
    rates = np.array([offer.rate for offer in springs])
    frees = np.array([offer.free_length for offer in springs])
    column(rows, "spring_linear")[:] = rates[spring]
    column(rows, "preload")[:] = frees[spring] - own.fitted_length + shims
    return rows


def add_counterweights(record: records.ScenarioRecord, block: Choose, rows: Array, weight: Array) -> None:
    """The counterweight of each candidate on top of those that the hub has."""
    if block.counterweight is None:
        return
    angle = block.counterweight.angle_from_chord + record.propeller.blade_angle_datum
    unit = counterweight_inertia(1.0, block.counterweight.arm, angle)
    column(rows, "counterweight_sin2")[:] += weight * unit.sin2
    column(rows, "counterweight_cos2")[:] += weight * unit.cos2


def swing(rows: Array) -> Array:
    """Compression that the lever adds from coarse to fine, shape (n,) [m]; of a torsion spring the travel.

    `rows` of shape (n, fields).
    """
    travel = column(rows, "coarse_stop") - column(rows, "fine_stop") - column(rows, "lost_motion")
    angle = column(rows, "lever_angle")
    by_lever = column(rows, "lever_arm") * (np.sin(angle) - np.sin(angle - travel))
    return np.where(column(rows, "lever_arm") == 0.0, travel, by_lever)


def can_be_fitted(
    own: AnySpring,
    springs: Sequence[SpringOffer],
    spring: Numbers,
    washers: Numbers,
    rows: Array,
) -> NDArray[np.bool_]:
    """Pressed on the coarse stop, neither solid nor past the lever's dead centre on the fine one."""
    travel = column(rows, "coarse_stop") - column(rows, "fine_stop") - column(rows, "lost_motion")
    fits = (travel > 0.0) & (column(rows, "lever_angle") - travel > -0.5 * np.pi)
    pressed = column(rows, "preload") + swing(rows)
    if isinstance(own, records.TorsionSpring):
        return np.asarray(fits)
    if isinstance(own, records.DiscWasherSpring):
        return np.asarray(fits & (pressed < own.series * own.cone_height))
    fits &= column(rows, "preload") > 0.0
    fits &= washers * own.washer_thickness < own.fitted_length
    solids = np.array([offer.solid_length or 0.0 for offer in springs])
    frees = np.array([offer.free_length for offer in springs])
    fits &= frees[spring] > own.fitted_length  # it must be pressed when fitted without washers, too
    return np.asarray(fits & (frees[spring] - pressed > solids[spring]))


def life_factors(found: Candidates, targets: Targets, peened: bool) -> Array:
    """Allowed over largest stress for the life asked for, shape (n,); NaN where the wire is unknown."""
    low = column(found.rows, "spring_linear") * column(found.rows, "preload")
    high = column(found.rows, "spring_linear") * (column(found.rows, "preload") + swing(found.rows))

    @cache
    def factor(spring: int, low_force: float, high_force: float) -> float:
        offer = found.springs[spring]
        if offer.wire_diameter is None or offer.mean_diameter is None:
            return nan
        return life_factor(offer.wire_diameter, offer.mean_diameter, low_force, high_force, targets, peened)

    if not found.springs:
        return np.full(len(found), nan)
    return np.array(
        [
            factor(int(spring), float(a), float(b))
            for spring, a, b in zip(found.spring, low, high, strict=True)
        ]
    )


def life_factor(
    wire: float, mean: float, low_force: float, high_force: float, targets: Targets, peened: bool
) -> float:
    """Allowed over largest stress of one coil spring [1]; for ever by the Goodman factor, never above set.

    Diameters of `wire` and coil, `mean` [m]; ends of the stroke `low_force` and `high_force` [N]; `peened`
    wire. ValueError as `helical_strength`.
    """
    strength = helical_strength(
        wire_diameter=wire, mean_diameter=mean, low_force=low_force, high_force=high_force, peened=peened
    )
    against_set = STATIC_SHEAR / strength.share if strength.share > 0.0 else np.inf
    for_ever = targets.strokes >= FOR_EVER or isinf(strength.strokes)
    lasting = strength.goodman if for_ever else 0.0
    allowed = [shares[peened] for strokes, shares in SHEAR_LIVES.items() if strokes >= targets.strokes]
    by_share = max(allowed, default=0.0) / strength.share if targets.strokes < FOR_EVER else 0.0
    found = min(max(lasting, by_share), against_set)
    return nan if isnan(found) else float(found)
