"""Where the shift begins, finishes, hangs and stalls: over height, temperature, mass, bar and throttle."""

from typing import TYPE_CHECKING, Any

import numpy as np

from simengine.balance.assembly import assemble_torsion
from simengine.execution.progress import Progress, told_to
from simengine.execution.run import work_out
from simengine.execution.store import MemoryStore, Store
from simengine.execution.task import Job
from simengine.execution.where import Where, threads_of
from simengine.results import envelope_catalogue as catalogue
from simengine.results.records import Setup
from simengine.results.study_dataset import study_dataset
from simengine.scenario import Scenario, records
from simengine.studies.envelope.grid import Grid
from simengine.studies.envelope.model_limits import model_limits
from simengine.studies.envelope.moment_budget import moment_budget
from simengine.studies.envelope.pieces import Ground, envelope_piece, ground_of, put_together
from simengine.studies.envelope.sensitivity import ranked
from simengine.studies.envelope.throttle_map import throttle_map, throttle_sweep
from simengine.studies.machine import Machine
from simengine.studies.provenance import study_provenance

if TYPE_CHECKING:
    import xarray

Values = dict[str, Any]

SWEEP_ABOVE = 1000.0  # height of the throttle sweep above the site [m]
SWEEP_POINTS = 201
SOLVER = (
    "moment balance of blade and torque balance of rotor by bracketed roots; pitch carried along the "
    "throttle; ceilings by root finding"
)


def envelope(
    scenario: Scenario,
    *,
    store: Store | None = None,
    where: Where | None = None,
    progress: Progress | None = None,
    command: str = "",
) -> "xarray.Dataset":
    """Compute the envelope of a scenario.

    Parameters
    ----------
    scenario : Scenario
        As `load_scenario` gives it; its `envelope` block says where.
    store : Store, optional
        Keeps the pieces as they come; those of the same question already there are not worked out again.
    where : Where, optional
        Threads, processes or a cluster; the numbers do not depend on it.
    progress : callable, optional
        Called with the share done, 0 to 1, and what is being done.
    command : str
        What the user typed, for the file's history.

    Returns
    -------
    xarray.Dataset
        Variables of `simengine.results.envelope_catalogue`; the odd cases in words in the attributes
        `balances`, `changes` and `model_limits`.

    Raises
    ------
    ExecutionError
        If the cluster asked for cannot be used.
    """
    tell, kept = told_to(progress), store or MemoryStore()
    record = scenario.record
    kept.begin("envelope", scenario.text, repr(record))
    with threads_of(where):
        ground = ground_of(record)
        machine, own, mass, grid = ground.machine, ground.own, ground.mass, ground.grid
        values = coordinates(grid) | maps(ground, tell)
        job = Job(ground_of, envelope_piece, record)
        pieces = len(ground.tasks)
        work_out(job, pieces, kept, where, lambda share: tell(0.05 + 0.95 * share, "heights"), ground)
    found, balances = put_together(ground, kept)
    values |= found | scalars(machine, record)
    tell(1.0, "done")
    sentences = {"balances": balances, "changes": ranked(values)}
    provenance = study_provenance(
        scenario,
        "envelope",
        "envelope computed",
        SOLVER,
        model_limits=model_limits(machine, own, values, assemble_torsion(record.propeller)),
        command=command,
    )
    tables = (catalogue.COORDINATES, catalogue.TABLES)
    dataset = study_dataset("envelope", *tables, values, sentences, provenance, setup_of(machine, record))
    dataset.attrs |= {"own_mass": mass, "own_temperature_offset": own.temperature_offset}
    return dataset


def maps(ground: Ground, tell: Progress) -> Values:
    """Throttle map, throttle sweep and moment budget: soon done."""
    machine, own, mass, grid = ground.machine, ground.own, ground.mass, ground.grid
    block = ground.record.envelope
    tell(0.0, "throttle map")
    heights = np.linspace(grid.lowest, float(grid.heights[-1]), block.map_heights)
    values: Values = throttle_map(machine, own, mass, heights, np.linspace(0.0, 1.0, block.map_throttles))
    sweep_height = ground.record.site.height + SWEEP_ABOVE
    values |= throttle_sweep(machine, own, mass, sweep_height, np.linspace(0.0, 1.0, SWEEP_POINTS))
    tell(0.04, "moment budget")
    return values | moment_budget(machine, own, mass, grid.lowest)


def coordinates(grid: Grid) -> Values:
    """Coordinate variables."""
    return {
        "temperature_offset": grid.offsets,
        "mass": grid.masses,
        "bar": grid.bars,
        "height": grid.heights,
    }


def scalars(machine: Machine, record: records.ScenarioRecord) -> Values:
    """Fixed figures."""
    return {
        "coarse_stop": machine.coarse_stop,
        "fine_stop": machine.fine_stop,
        "engine_rpm_limit": machine.speed_limit,
        "reduction": machine.reduction,
        "site_height": record.site.height,
    }


def setup_of(machine: Machine, record: records.ScenarioRecord) -> Setup:
    """Fixed figures for the file's attributes."""
    return Setup(
        hub_kind=record.hub.kind,
        coarse_stop=machine.coarse_stop,
        fine_stop=machine.fine_stop,
        engine_speed_limit=machine.speed_limit,
        reduction=machine.reduction,
        fuel_density=record.fuel.density,
        fuel_start=machine.aircraft.fuel_start,
        site_height=record.site.height,
    )
