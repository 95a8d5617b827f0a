"""A checked scenario becomes the models it says, of one type whatever the hub."""

from importlib.resources import files
from math import radians
from pathlib import Path

import pytest
from spring_formulas import disc_washer_load
from standard_atmosphere import standard_air

from simengine.balance.aircraft import new_aircraft, parts
from simengine.balance.assembly import assemble, assemble_spring
from simengine.balance.pitch import balance_at
from simengine.constants import RPM
from simengine.flight import dynamic
from simengine.flight.integrate import integrate_leg
from simengine.flight.simulate import fly_all
from simengine.models.atmosphere import air_at
from simengine.models.engine import engine_torque, fuel_flow
from simengine.models.mechanism import (
    FIXED,
    GOVERNED,
    NO_SPRING,
    SELECTED,
    TWO_STOP,
    spring_compression,
    spring_force,
    spring_moment,
)
from simengine.models.springs import DiscWasher
from simengine.scenario import load_scenario, records
from simengine.scenario.variation import with_values

SCENARIOS = Path(__file__).parents[2] / "scenarios"
GROUND_RUN = load_scenario(SCENARIOS / "ground_run.yaml").record

COIL = records.HelicalSpring(
    kind="helical", rate=16e3, free_length=0.052, fitted_length=0.040, lever_arm=0.022, lever_angle=0.05
)
DISCS = records.DiscWasherSpring(
    kind="disc_washers",
    outer_diameter=0.028,
    inner_diameter=0.0142,
    thickness=0.0008,
    cone_height=0.0008,
    series=12,
    fitted_compression=0.0025,
    lever_arm=0.018,
)
WOUND = records.TorsionSpring(kind="torsion", rate=9.0, preload_angle=radians(40.0))


def two_stop(spring=COIL, **changes):
    return records.TwoStopHub(
        **{"kind": "two_stop", "name": "invented", "coarse_stop": 0.24, "fine_stop": 0.18, "spring": spring}
        | changes
    )


FIXED_HUB = records.FixedHub(kind="fixed", name="invented", blade_angle=0.21)
SELECTED_HUB = records.SelectedHub(
    kind="two_stop_selected", name="invented", coarse_stop=0.24, fine_stop=0.18, pitch_rate=0.04
)
GOVERNED_HUB = records.GovernedHub(
    kind="governed", name="invented", coarse_stop=0.24, fine_stop=0.15, engine_speed=7000.0 * RPM
)
HUBS = {
    "two_stop": (two_stop(), TWO_STOP),
    "fixed": (FIXED_HUB, FIXED),
    "two_stop_selected": (SELECTED_HUB, SELECTED),
    "governed": (GOVERNED_HUB, GOVERNED),
}
WEIGHTED = two_stop(WOUND, counterweights=({"mass": 0.02, "arm": 0.03},), lost_motion=0.01)


def with_hub(hub, **changes):
    return GROUND_RUN.model_copy(update={"hub": hub} | changes)


def propeller_of(**changes):
    return GROUND_RUN.propeller.model_copy(update=changes)


# --- springs ---------------------------------------------------------------------------------------
def test_a_coil_by_its_wire_is_the_coil_by_its_rate():
    # 3 mm wire, 24 mm mean diameter, 6 coils, 79.3 GPa: 9.6802 N/mm by G d4/(8 D3 N) (own arithmetic).
    wire = records.HelicalWire(
        wire_diameter=0.003, mean_diameter=0.024, active_coils=6.0, total_coils=8.0, shear_modulus=79.3e9
    )
    by_wire = assemble_spring(COIL.model_copy(update={"rate": None, "wire": wire}), 2)
    by_rate = assemble_spring(COIL.model_copy(update={"rate": 9680.2}), 2)
    assert by_wire == pytest.approx(by_rate, rel=6e-6)


def test_a_coil_is_pressed_by_what_fitting_and_washers_take_from_its_free_length():
    spring = assemble_spring(COIL.model_copy(update={"washers": 3, "washer_thickness": 0.0007}), 2)
    assert spring_compression(spring, 0.0) == pytest.approx(0.052 - 0.040 + 3 * 0.0007)
    assert spring_force(spring, 0.01) == pytest.approx(160.0)
    assert (spring.lever_arm, spring.lever_angle, spring.friction_share) == (0.022, 0.05, 0.0)


@pytest.mark.parametrize("parallel", [1, 3])
def test_a_stack_loads_as_its_washers_do(parallel):
    spring = assemble_spring(DISCS.model_copy(update={"parallel": parallel}), 2)
    washer = DiscWasher(0.028, 0.0142, 0.0008, 0.0008)
    for compression in (0.0005, 0.0025, 0.006):
        load = parallel * disc_washer_load(washer, compression / 12)
        assert spring_force(spring, compression) == pytest.approx(load, rel=1e-12)
    assert spring.friction_share == pytest.approx(0.025 * (parallel - 1))


def test_washers_press_a_stack_further():
    shimmed = DISCS.model_copy(update={"washers": 2, "washer_thickness": 0.0003})
    assert spring_compression(assemble_spring(shimmed, 2), 0.0) == pytest.approx(0.0025 + 2 * 0.0003)


def test_a_torsion_spring_is_wound_up_by_its_preload_angle():
    hub = assemble(with_hub(two_stop(WOUND))).hub
    assert spring_moment(hub, 0.24) == pytest.approx(9.0 * radians(40.0))
    assert spring_moment(hub, 0.18) == pytest.approx(9.0 * (radians(40.0) + 0.06))


@pytest.mark.parametrize("blades", [2, 3])
@pytest.mark.parametrize("spring", [COIL, DISCS, WOUND], ids=["coil", "discs", "torsion"])
def test_a_shared_spring_gives_each_blade_its_part(spring, blades):
    own, shared = (
        assemble(with_hub(two_stop(s), propeller=propeller_of(blades=blades))).hub
        for s in (spring, spring.model_copy(update={"shared": True}))
    )
    for blade_angle in (0.18, 0.24):
        part = spring_moment(shared, blade_angle) / spring_moment(own, blade_angle)
        assert part == pytest.approx(1.0 / blades, rel=1e-12)


# --- hubs ------------------------------------------------------------------------------------------
@pytest.mark.parametrize(("hub", "kind"), HUBS.values(), ids=HUBS)
def test_each_hub_kind_keeps_its_stops(hub, kind):
    built = assemble(with_hub(hub)).hub
    assert built.kind == kind
    stops = (hub.blade_angle, hub.blade_angle) if kind == FIXED else (hub.coarse_stop, hub.fine_stop)
    assert (built.coarse_stop, built.fine_stop) == stops
    if kind != TWO_STOP:
        assert built.spring == NO_SPRING


def test_driven_hubs_keep_rate_and_speed_and_the_speed_is_the_propeller_s():
    assert assemble(with_hub(SELECTED_HUB)).hub.pitch_rate == 0.04
    governed = assemble(with_hub(GOVERNED_HUB)).hub
    assert governed.governed_speed == pytest.approx(7000.0 * RPM / GROUND_RUN.drive.reduction)


def test_a_two_stop_hub_keeps_friction_counterweights_and_inertia():
    weights = ({"mass": 0.02, "arm": 0.03, "angle_from_chord": 1.2}, {"mass": 0.01, "arm": 0.05})
    friction = {"constant": 0.07, "bearing_coefficient": 0.004, "bearing_radius": 0.013, "breakaway": 1.2}
    aircraft = assemble(
        with_hub(two_stop(counterweights=weights, friction=friction, root_inertia=3e-5, lost_motion=0.01))
    )
    hub, polar = aircraft.hub, 0.02 * 0.03**2 + 0.01 * 0.05**2
    assert (hub.friction_constant, hub.breakaway, hub.lost_motion) == (0.07, 1.2, 0.01)
    assert hub.friction_arm == pytest.approx(0.004 * 0.013)
    assert hub.pitch_inertia == pytest.approx(aircraft.inertia.polar_inertia + 3e-5 + polar)


# --- masses, air, rotor ----------------------------------------------------------------------------
def test_masses_add_up_and_fuel_is_weighed():
    masses = records.Masses(pilot=90.0, equipment=9.0, machine=28.0, wing=5.5)
    fuel = records.Fuel(start=0.010, reserve=0.002, density=730.0)
    aircraft = assemble(with_hub(FIXED_HUB, masses=masses, fuel=fuel))
    assert aircraft.dry_mass == pytest.approx(132.5)
    assert aircraft.fuel_start == pytest.approx(7.30)
    assert aircraft.fuel_reserve == pytest.approx(1.46)


def test_a_measured_temperature_is_the_air_there():
    measured = records.MeasuredTemperature(height=420.0, temperature=305.15)
    atmosphere = records.Atmosphere(measured=measured, qnh=100900.0, relative_humidity=0.6, tailwind=3.0)
    aircraft = assemble(with_hub(FIXED_HUB, atmosphere=atmosphere))
    assert air_at(aircraft.atmosphere, 420.0).temperature == pytest.approx(305.15, abs=1e-9)
    # ISO 2533: 288.15 K less 6.5 K for each kilometre, all but the same in geometric metres down here.
    assert aircraft.atmosphere.temperature_offset == pytest.approx(305.15 - (288.15 - 2.73), abs=0.001)
    assert aircraft.atmosphere.qnh == 100900.0
    assert aircraft.tailwind == 3.0


def test_an_offset_is_taken_as_given():
    atmosphere = records.Atmosphere(temperature_offset=12.0)
    assert assemble(with_hub(FIXED_HUB, atmosphere=atmosphere)).atmosphere.temperature_offset == 12.0


@pytest.mark.parametrize("blades", [2, 3])
def test_the_rotor_is_blades_hub_and_the_engine_through_the_reduction(blades):
    propeller = propeller_of(blades=blades, hub_inertia=0.006)
    drive = records.Drive(reduction=3.0)
    aircraft = assemble(with_hub(FIXED_HUB, propeller=propeller, drive=drive))
    expected = blades * aircraft.inertia.second_moment + 0.006 + 9.0 * GROUND_RUN.engine.inertia
    assert aircraft.rotor_inertia == pytest.approx(expected, rel=1e-12)


# --- one type --------------------------------------------------------------------------------------
def short_ground_run():
    throttle = {"time": (0.0, 1.0), "throttle": (0.0, 1.0)}
    return records.Flight(phases=({"kind": "ground_run", "throttle": throttle},))


def run_through(record):
    """Use the kernels as a flight does."""
    aircraft = assemble(record)
    balance_at(aircraft, air_at(aircraft.atmosphere, 0.0), aircraft.hub.coarse_stop, 0.0, 0.5, 0.0)
    fly_all(aircraft, record, dynamic.fly_leg)


def other_machines():
    """Scenarios as different as the format allows, whole numbers where numbers are wanted included."""
    flight = short_ground_run()
    for hub in (FIXED_HUB, SELECTED_HUB, GOVERNED_HUB, two_stop(DISCS), WEIGHTED):
        yield with_hub(hub, flight=flight)
    whole = {"kind": "helical", "rate": 16000, "free_length": 1, "fitted_length": 0.9, "lever_arm": 1}
    for hub in (two_stop(whole | {"shared": True}, lost_motion=0, friction={"constant": 0}), FIXED_HUB):
        yield with_hub(
            hub,
            flight=flight,
            engine=load_scenario(SCENARIOS / "second_engine.yaml").record.engine,
            atmosphere=records.Atmosphere(temperature_offset=5, qnh=100000, relative_humidity=1),
            masses=records.Masses(pilot=90, machine=30),
            drive=records.Drive(reduction=3),
            propeller=propeller_of(
                blades=3, elements=30, section="naca_4digit", camber=0.04, axis_offset=0.0
            ),
        )


def test_machines_of_every_hub_share_one_compiled_kernel():
    # A new signature costs the user ten seconds of compiling and is the mark of a mistyped argument.
    kernels = (new_aircraft, parts, balance_at, integrate_leg)
    run_through(with_hub(two_stop(), flight=short_ground_run()))
    before = [len(kernel.signatures) for kernel in kernels]
    for record in other_machines():
        run_through(record)
    assert [len(kernel.signatures) for kernel in kernels] == before


@pytest.mark.parametrize("path", sorted(SCENARIOS.glob("*.yaml")), ids=lambda path: path.stem)
def test_the_demo_scenarios_share_it_too(path):
    run_through(with_hub(two_stop(), flight=short_ground_run()))
    before = len(balance_at.signatures)
    aircraft = assemble(load_scenario(path).record)
    balance_at(aircraft, air_at(aircraft.atmosphere, 0.0), aircraft.hub.coarse_stop, 0.0, 0.5, 0.0)
    assert len(balance_at.signatures) == before


# --- starter ---------------------------------------------------------------------------------------
def test_the_starter_is_the_demo_machine_written_out():
    starter = load_scenario(str(files("simengine.scenario") / "starter.yaml")).record
    for part in ("engine", "drive", "propeller", "installation", "hub", "wing", "masses", "fuel"):
        mine, demo = (getattr(record, part).model_dump(exclude={"name"}) for record in (starter, GROUND_RUN))
        assert mine == demo


def test_engine_factors_scale_torque_and_fuel() -> None:
    plain = assemble(GROUND_RUN).engine
    scaled = assemble(
        with_values(GROUND_RUN, {"engine.torque_factor": 1.1, "engine.consumption_factor": 0.9})
    ).engine
    air = standard_air(0.0)
    speed = 0.8 * plain.speed_limit
    full, more = (engine_torque(engine, speed, 1.0, air) for engine in (plain, scaled))
    assert more == pytest.approx(1.1 * full, rel=1e-3)
    thirst = [
        fuel_flow(engine, speed, 1.0, air) / engine_torque(engine, speed, 1.0, air)
        for engine in (plain, scaled)
    ]
    assert thirst[1] == pytest.approx(0.9 * thirst[0], rel=1e-2)
