"""`simengine loads`: figures of strength and vibration, and what failures leave; every figure a yardstick."""

from typing import TYPE_CHECKING, Any

import numpy as np

from simengine.balance.assembly import assemble
from simengine.execution.progress import Progress, told_to
from simengine.flight.simulate import simulate
from simengine.results.loads_dataset import loads_dataset
from simengine.scenario import Scenario, records
from simengine.studies.envelope.study import setup_of
from simengine.studies.loads.blade_frequencies import frequency_figures
from simengine.studies.loads.blade_loads import DOUBLE_PULL, pull_of, root_of, stop_loads
from simengine.studies.loads.conditions import load_figures, points
from simengine.studies.loads.failures import failure_figures
from simengine.studies.loads.spring_loads import spring_figures
from simengine.studies.machine import Condition, Machine, condition_at, machine_of
from simengine.studies.provenance import study_provenance

if TYPE_CHECKING:
    import xarray

STOP_POINTS = 401  # the moment on a stop ends with a corner
SOLVER = "steady balances by bracketed roots; strokes of the blades by rainflow counting of the flown flight"


def loads(scenario: Scenario, *, progress: Progress | None = None, command: str = "") -> "xarray.Dataset":
    """Loads, frequencies and failures of a scenario's machine, at its site's height and its own mass.

    Parameters
    ----------
    scenario : Scenario
        As `load_scenario` gives it; its `loads` block says what is known of root, pin and wire, its
        `failures` which ones are wanted.
    progress : callable, optional
        Called with the share done, 0 to 1, and what is being done.
    command : str
        What the user typed, for the file's history.

    Returns
    -------
    xarray.Dataset
        Variables of `simengine.results.loads_catalogue`.

    Raises
    ------
    NoSolutionError
        If the scenario's flight cannot be flown.
    ValueError
        If the spring's wire or washer cannot be as the scenario tells it.
    """
    tell = told_to(progress)
    record = scenario.record
    aircraft = assemble(record)
    machine = machine_of(aircraft)
    mass = aircraft.dry_mass + aircraft.fuel_start
    condition = condition_at(aircraft.atmosphere, record.site.height, mass, 0.0)
    tell(0.0, "loads of one blade")
    every, climb, flown = points(machine, condition, record)
    values = load_figures(machine, condition.air, record, every)
    marked = [factor * machine.speed_limit for factor in (1.0, record.loads.overspeed_factor)]
    values |= stop_curves(machine, condition, climb.airspeed, marked)
    tell(0.1, "frequencies")
    values |= frequency_figures(machine, condition.air, record, climb, flown)
    tell(0.2, "flying, to count the strokes of the spring")
    of_spring, basis = spring_figures(machine, record, simulate(scenario, command=command))
    values |= of_spring
    values |= failure_figures(machine, condition, record, lambda share: tell(0.4 + 0.6 * share, "failures"))
    values |= scalars(machine, record, condition)
    tell(1.0, "done")
    left_out = [name for name in record.failures or () if name not in values["failure"]]
    words = {
        "spring_basis": basis,
        "root_material": material(record),
        "failures_left_out": ", ".join(left_out),
    }
    return loads_dataset(
        values,
        words,
        study_provenance(scenario, "loads", "loads computed", SOLVER, command=command),
        setup_of(machine, record),
    )


def stop_curves(
    machine: Machine, condition: Condition, airspeed: float, marked: list[float]
) -> dict[str, Any]:
    """Moment that either stop carries against engine speed, SI, at the airspeed of the climb [m/s].

    `marked` are engine speeds that must be among them [rad/s].
    """
    axial_speed = machine.inflow_factor * airspeed
    grid = np.linspace(machine.idle_speed, DOUBLE_PULL * machine.speed_limit, STOP_POINTS)
    speeds = np.unique(np.append(grid, marked))
    found = np.array(
        [stop_loads(machine, condition.air, float(n) / machine.reduction, axial_speed) for n in speeds]
    )
    return {
        "stop_rpm": speeds,
        "coarse_stop_moment": found[:, 0],
        "fine_stop_moment": found[:, 1],
    }


def scalars(machine: Machine, record: records.ScenarioRecord, condition: Condition) -> dict[str, Any]:
    """Fixed figures."""
    root = root_of(record)
    pin = record.loads.pin_radius or machine.aircraft.hub.stop_radius
    return {
        "coarse_stop": machine.coarse_stop,
        "fine_stop": machine.fine_stop,
        "engine_rpm_limit": machine.speed_limit,
        "engine_rpm_idle": machine.idle_speed,
        "reduction": machine.reduction,
        "site_height": record.site.height,
        "blades": record.propeller.blades,
        "own_mass": condition.mass,
        "blade_mass": machine.aircraft.inertia.mass,
        "pull_at_limit": pull_of(machine, machine.speed_limit / machine.reduction),
        "root_radius": root.radius,
        "root_strength": root.strength,
        "pin_radius": pin,
    }


def material(record: records.ScenarioRecord) -> str:
    """Name of the material at the root, as given."""
    return record.loads.root.material if record.loads.root else ""
