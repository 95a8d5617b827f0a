"""The fast evaluator against the points of the envelope, hub by hub."""

from pathlib import Path

import numpy as np
import pytest

from simengine.balance.assembly import assemble
from simengine.balance.shift_tables import FIGURES
from simengine.constants import DEGREE, RPM
from simengine.execution.where import threads_here
from simengine.scenario import load_scenario
from simengine.scenario.variation import with_values
from simengine.studies.full_throttle import full_throttle, ground, shift_speeds
from simengine.studies.machine import condition_at, held_flight, machine_of
from simengine.studies.shift_evaluator import Place, equal_blades, shift_evaluator
from simengine.studies.tolerance.hub_rows import row_of, varied_rows

SCENARIOS = Path(__file__).parents[2] / "scenarios"
DIFFERENCE = 2.0  # rpm
HUBS = 12
PLACES = [Place(0.0, 0.0, 135.0), Place(3000.0, 10.0, 150.0, 0.3), Place(0.0, 0.0, 135.0, ground=True)]


@pytest.fixture(scope="module")
def record():
    return load_scenario(SCENARIOS / "climb_and_cruise.yaml").record


@pytest.fixture(scope="module")
def evaluator(record):
    hub = record.hub
    return shift_evaluator(record, PLACES, hub.fine_stop - 3.5 * DEGREE, hub.coarse_stop + 3.5 * DEGREE)


def chance_hubs(record):
    """Hubs far from the drawing, some of which hang, and by how much their blades stand wrong [rad]."""
    rng = np.random.default_rng(5)
    made = []
    for _ in range(HUBS):
        made.append(
            with_values(
                record,
                {
                    "hub.coarse_stop": record.hub.coarse_stop + rng.uniform(-1, 1) * DEGREE,
                    "hub.fine_stop": record.hub.fine_stop + rng.uniform(-1, 1) * DEGREE,
                    "hub.spring.rate": record.hub.spring.rate * rng.uniform(0.8, 1.4),
                    "hub.friction.bearing_coefficient": rng.uniform(0.0, 0.006),
                    "hub.friction.breakaway": rng.uniform(1.0, 1.5),
                },
            )
        )
    return made, rng.uniform(-1.5, 1.5, HUBS) * DEGREE


def reference(machine, place):
    """Figures of one hub by the envelope's own functions."""
    offset = machine.aircraft.atmosphere._replace(temperature_offset=place.temperature_offset)
    condition = condition_at(offset, place.height, place.mass, place.bar)
    if place.ground:
        found, axial_speed = ground(machine, condition.air), 0.0
    else:
        found = full_throttle(machine, condition)
        axial_speed = machine.inflow_factor * held_flight(machine, condition, machine.fine_stop).airspeed
    speeds = shift_speeds(machine, condition.air, axial_speed)
    return speeds._asdict() | {
        "speed_coarse": found.speed_coarse,
        "speed_fine": found.speed_fine,
        "margin_speed": found.margin_speed,
        "full_throttle": found.engine_speed,
    }


def test_random_hubs_as_the_envelope_has_them(record, evaluator):
    hubs, errors = chance_hubs(record)
    blades = equal_blades(HUBS)
    blades[:, 0, 0] = errors
    found = evaluator.figures(np.array([row_of(hub) for hub in hubs]), blades)
    hung = 0
    for number, hub in enumerate(hubs):
        datum = record.propeller.blade_angle_datum + errors[number]
        machine = machine_of(assemble(with_values(hub, {"propeller.blade_angle_datum": datum})))
        for place, where in enumerate(PLACES):
            for name, value in reference(machine, where).items():
                ours = found[place, number, FIGURES.index(name)]
                assert ours == pytest.approx(value, abs=DIFFERENCE * RPM, nan_ok=True), (name, number, where)
            hung += found[place, number, FIGURES.index("drive")] < 0.0
    assert hung > 0  # else the way to a hung blade is not looked at


OTHER_HUBS = [
    ("disc_washer_hub.yaml", {}),  # one stack for both blades
    ("disc_washer_hub.yaml", {"hub.lost_motion": 0.5 * DEGREE, "hub.spring.washers": 0}),
    ("torsion_hub.yaml", {}),  # three blades, springs and counterweights of their own
    ("torsion_hub.yaml", {"hub.counterweights.0.mass": 0.06, "hub.counterweights.0.angle_from_chord": 1.2}),
    ("torsion_hub.yaml", {"hub.spring.shared": True, "hub.spring.rate": 36.0, "hub.blades_linked": True}),
    ("second_engine.yaml", {"hub.spring.shared": True, "hub.friction.bearing_coefficient": 0.01}),
]


@pytest.mark.parametrize(("name", "values"), OTHER_HUBS)
def test_other_hubs_as_the_envelope_has_them(name, values):
    """Springs, blades, counterweights and days that the tables were not tried on when they were cut."""
    hub = with_values(load_scenario(SCENARIOS / name).record, values)
    places = [Place(200.0, -5.0, 130.0), Place(2500.0, 12.0, 160.0, 0.2)]
    fine, coarse = hub.hub.fine_stop, hub.hub.coarse_stop
    found = shift_evaluator(hub, places, fine - DEGREE, coarse + DEGREE).figures(row_of(hub)[None])
    machine = machine_of(assemble(hub))
    for place, where in enumerate(places):
        expected = reference(machine, where)
        assert np.isfinite([expected["shift_begin"], expected["shift_finish"]]).all()
        for figure, value in expected.items():
            ours = found[place, 0, FIGURES.index(figure)]
            assert ours == pytest.approx(value, abs=DIFFERENCE * RPM, nan_ok=True), (figure, where)


def test_figures_do_not_depend_on_the_threads(record, evaluator):
    rows = np.tile(row_of(record), (1100, 1))
    rows[:, 3] *= np.linspace(0.9, 1.1, 1100)
    with threads_here(1):
        alone = evaluator.figures(rows)
    with threads_here(2):
        assert np.array_equal(evaluator.figures(rows), alone)


@pytest.mark.parametrize(
    ("name", "values"),
    [
        (
            "climb_and_cruise.yaml",
            {
                "hub.spring.rate": 0.03,
                "hub.spring.free_length": 0.001,
                "hub.spring.lever_angle": 0.02,
                "hub.spring.lever_arm": 0.01,
                "hub.friction.bearing_coefficient": 0.2,
                "hub.coarse_stop": 0.01,
            },
        ),
        (
            "torsion_hub.yaml",
            {
                "hub.spring.rate": 0.1,
                "hub.spring.preload_angle": 0.1,
                "hub.counterweights.0.mass": 0.1,
                "hub.counterweights.0.arm": 0.05,
            },
        ),
        (
            "disc_washer_hub.yaml",
            {
                "hub.spring.thickness": 0.01,
                "hub.spring.fitted_compression": 0.05,
                "hub.spring.face_friction": 0.1,
            },
        ),
    ],
)
def test_varied_rows_are_those_of_the_built_hub(name, values):
    """Shares by which each input is changed, up and down."""
    record = load_scenario(SCENARIOS / name).record
    from simengine.scenario.variation import value_at

    varied = {
        path: value_at(record, path) * (1.0 + share * np.array([-1.0, 0.0, 1.0]))
        for path, share in values.items()
    }
    rows, errors = varied_rows(record, varied)
    for number in range(3):
        built = with_values(record, {path: float(column[number]) for path, column in varied.items()})
        assert rows[number] == pytest.approx(row_of(built), rel=1e-12)
    assert np.array_equal(errors, np.zeros(3))


def test_a_hub_that_cannot_be_built_is_not_a_number(record):
    free = record.hub.spring.free_length
    rows, _ = varied_rows(record, {"hub.spring.free_length": np.array([free, free - 0.02])})
    assert np.isfinite(rows[0]).all()
    assert np.isnan(rows[1]).all()


@pytest.mark.parametrize(
    ("name", "path", "good", "bad"),
    [
        ("climb_and_cruise.yaml", "friction", 0.0, -0.1),
        ("climb_and_cruise.yaml", "blade_mass", 0.5, -0.1),
        ("climb_and_cruise.yaml", "hub.lost_motion", 0.0, -0.001),
        ("climb_and_cruise.yaml", "hub.friction.breakaway", 1.0, 0.9),
        ("torsion_hub.yaml", "hub.counterweights.0.mass", 0.0, -0.001),
        ("disc_washer_hub.yaml", "hub.spring.thickness", 0.001, -0.001),
        ("disc_washer_hub.yaml", "hub.spring.inner_diameter", 0.0102, 0.2),
        ("disc_washer_hub.yaml", "hub.spring.inner_diameter", 0.0102, 0.0),
    ],
)
def test_a_draw_that_no_part_can_have_is_not_a_number(name, path, good, bad):
    rows, _ = varied_rows(load_scenario(SCENARIOS / name).record, {path: np.array([good, bad])})
    assert np.isfinite(rows[0]).all()
    assert np.isnan(rows[1]).all()


def test_an_evaluator_needs_a_place(record):
    with pytest.raises(ValueError, match="a place"):
        shift_evaluator(record, [], 0.1, 0.2)
