"""Where scenario and models meet: a checked scenario becomes one `Aircraft`."""

from typing import Any

from simengine.balance.aircraft import Aircraft, new_aircraft
from simengine.models.atmosphere import Atmosphere, offset_from_measured
from simengine.models.blade import Blade, build_blade
from simengine.models.drive import build_drive, rotor_inertia
from simengine.models.engine import Engine, build_engine
from simengine.models.inertia import BladeInertia, build_inertia, counterweight_inertia
from simengine.models.mechanism import FIXED, GOVERNED, NO_SPRING, SELECTED, TWO_STOP, Hub, Spring
from simengine.models.polar_tables import build_polar
from simengine.models.springs import disc_stack_coefficients, helical_rate
from simengine.models.windup import TorsionBlade, build_torsion
from simengine.models.wing import build_wing
from simengine.scenario import records


def assemble(scenario: records.ScenarioRecord) -> Aircraft:
    """Build the models of a scenario.

    Parameters
    ----------
    scenario : ScenarioRecord
        Checked values in SI units.

    Returns
    -------
    Aircraft
        What the compiled kernels take.

    Raises
    ------
    ValueError
        If a part cannot be as described: what the models check, after the checks of the scenario.
    """
    return new_aircraft(**assemble_parts(scenario))


def assemble_parts(scenario: records.ScenarioRecord) -> dict[str, Any]:
    """The parts of an `Aircraft` by name; ValueError as `assemble`."""
    masses, fuel = scenario.masses, scenario.fuel
    inertia = assemble_inertia(scenario.propeller)
    blades = scenario.propeller.blades
    drive = build_drive(reduction=scenario.drive.reduction, efficiency=scenario.drive.efficiency)
    propeller_inertia = blades * inertia.second_moment + scenario.propeller.hub_inertia
    return {
        "atmosphere": assemble_atmosphere(scenario.atmosphere),
        "blade": assemble_blade(scenario.propeller),
        "inertia": inertia,
        "hub": assemble_hub(scenario, inertia),
        "engine": assemble_engine(scenario.engine),
        "drive": drive,
        "wing": build_wing(
            area=scenario.wing.area,
            bar=scenario.wing.polar.bar,
            speed=scenario.wing.polar.speed,
            sink=scenario.wing.polar.sink,
            mass=scenario.wing.polar_mass,
            density=scenario.wing.polar_density,
        ),
        "dry_mass": masses.pilot + masses.equipment + masses.machine + masses.wing,
        "fuel_start": fuel.start * fuel.density,
        "fuel_reserve": fuel.reserve * fuel.density,
        "drag_area": scenario.installation.drag_area,
        "thrust_tilt": scenario.installation.thrust_tilt,
        "inflow_factor": scenario.installation.inflow_factor,
        "thrust_loss": scenario.installation.thrust_loss,
        "rotor_inertia": rotor_inertia(propeller_inertia, drive, scenario.engine.inertia),
        "tailwind": scenario.atmosphere.tailwind,
        "air_moment_factor": scenario.propeller.air_moment_factor,
    }


def assemble_atmosphere(record: records.Atmosphere) -> Atmosphere:
    """The air of the day."""
    offset = record.temperature_offset
    if record.measured is not None:
        offset = offset_from_measured(record.measured.height, record.measured.temperature)
    return Atmosphere(offset, record.qnh, record.relative_humidity)


def blade_shape(record: records.Propeller) -> dict[str, Any]:
    """What the aerodynamics and the mass of a blade share."""
    stations = record.stations
    return {
        "diameter": record.diameter,
        "hub_radius": record.hub_radius,
        "radius": stations.radius,
        "chord": stations.chord,
        "blade_angle": stations.blade_angle,
        "thickness": stations.thickness,
        "axis": stations.axis,
        "section": outline_family(record),
        "camber": record.camber,
        "reference_station": record.reference_station,
        "datum": record.blade_angle_datum,
        "elements": record.elements,
    }


def outline_family(record: records.Propeller) -> str:
    """Family of the sections; with the user's own polar that of their outline, which only the mass needs."""
    return "naca_4digit" if record.polar is not None and record.camber is not None else record.section


def assemble_blade(record: records.Propeller) -> Blade:
    """Blade elements for the aerodynamics; ValueError as `build_blade` and `build_polar`."""
    if record.polar is None:
        return build_blade(blades=record.blades, **blade_shape(record))
    return build_blade(blades=record.blades, polar=build_polar(**dict(record.polar)), **blade_shape(record))


def assemble_inertia(record: records.Propeller) -> BladeInertia:
    """Mass properties of one blade about its pitch axis; ValueError as `build_inertia`."""
    return build_inertia(
        cone_angle=record.cone_angle,
        axis_offset=record.axis_offset,
        **blade_mass(record),
        **blade_shape(record),
    )


def blade_mass(record: records.Propeller) -> dict[str, Any]:
    """What the mass of a blade has beside its shape."""
    stations = record.stations
    return {
        "density": record.density,
        "section_mass": stations.mass_per_length,
        "mass_centre": stations.mass_centre,
    }


def assemble_torsion(record: records.Propeller) -> TorsionBlade | None:
    """One blade under torsion, None where its shear modulus is not told; ValueError as `build_torsion`."""
    if record.shear_modulus is None:
        return None
    return build_torsion(record.shear_modulus, **blade_mass(record), **blade_shape(record))


def assemble_engine(record: records.Engine) -> Engine:
    """The engine's tables; ValueError as `build_engine`."""
    part_load, thirst = record.part_load, record.consumption_factor
    return build_engine(
        engine_speed=record.curve.engine_speed,
        torque=tuple(record.torque_factor * torque for torque in record.curve.torque),
        consumption=tuple(thirst * consumption for consumption in record.curve.consumption),
        throttle=record.throttle_map.throttle if record.throttle_map else None,
        torque_share=record.throttle_map.torque_share if record.throttle_map else None,
        friction_torque=record.friction_torque,
        idle_speed=record.idle_speed,
        speed_limit=record.speed_limit,
        inertia=record.inertia,
        altitude_law=record.altitude.law,
        loss_factor=record.altitude.loss_factor,
        reference_pressure=record.reference_air.pressure,
        reference_temperature=record.reference_air.temperature,
        fixed_jet=record.fixed_jet,
        clutch_speed=record.clutch.engage_speed if record.clutch else 0.0,
        part_load=(
            part_load.engine_speed,
            part_load.load,
            tuple(thirst * consumption for consumption in part_load.consumption),
        )
        if part_load
        else None,
    )


def assemble_hub(scenario: records.ScenarioRecord, inertia: BladeInertia) -> Hub:
    """The hub, with the blade's inertia about the pitch axis in it; ValueError as `assemble_two_stop`."""
    record = scenario.hub
    if isinstance(record, records.TwoStopHub):
        return assemble_two_stop(record, inertia, scenario.propeller)
    if isinstance(record, records.FixedHub):
        return plain_hub(FIXED, record.blade_angle, record.blade_angle, inertia)
    if isinstance(record, records.SelectedHub):
        return plain_hub(SELECTED, record.coarse_stop, record.fine_stop, inertia, record.pitch_rate)
    governed_speed = record.engine_speed / scenario.drive.reduction
    return plain_hub(
        GOVERNED, record.coarse_stop, record.fine_stop, inertia, record.pitch_rate, governed_speed
    )


def plain_hub(
    kind: int,
    coarse_stop: float,
    fine_stop: float,
    inertia: BladeInertia,
    pitch_rate: float = 0.0,
    governed_speed: float = 0.0,
) -> Hub:
    """A hub of a `kind` whose blades are held or driven: blade loads do not move them.

    `coarse_stop` and `fine_stop` [rad]; `pitch_rate` of a driven hub [rad/s]; `governed_speed` of the rotor
    [rad/s].
    """
    return Hub(
        kind=kind,
        coarse_stop=coarse_stop,
        fine_stop=fine_stop,
        spring=NO_SPRING,
        lost_motion=0.0,
        friction_constant=0.0,
        friction_arm=0.0,
        breakaway=1.0,
        counterweight_sin2=0.0,
        counterweight_cos2=0.0,
        pitch_inertia=inertia.polar_inertia,
        damping=0.0,
        stop_radius=0.02,
        pitch_rate=pitch_rate,
        governed_speed=governed_speed,
    )


def assemble_two_stop(record: records.TwoStopHub, inertia: BladeInertia, propeller: records.Propeller) -> Hub:
    """The self-shifting hub; counterweight arms are told from the chord, blade angles from the face.

    ValueError as `assemble_spring` and `counterweight_inertia`.
    """
    datum = propeller.blade_angle_datum
    weights = [
        counterweight_inertia(w.mass, w.arm, w.angle_from_chord + datum) for w in record.counterweights
    ]
    friction = record.friction
    return Hub(
        kind=TWO_STOP,
        coarse_stop=record.coarse_stop,
        fine_stop=record.fine_stop,
        spring=assemble_spring(record.spring, propeller.blades),
        lost_motion=record.lost_motion,
        friction_constant=friction.constant,
        friction_arm=friction.bearing_coefficient * friction.bearing_radius,
        breakaway=friction.breakaway,
        counterweight_sin2=float(sum(weight.sin2 for weight in weights)),
        counterweight_cos2=float(sum(weight.cos2 for weight in weights)),
        pitch_inertia=inertia.polar_inertia
        + record.root_inertia
        + sum(weight.polar_inertia for weight in weights),
        damping=record.damping,
        stop_radius=record.stop_radius,
        pitch_rate=0.0,
        governed_speed=0.0,
    )


def assemble_spring(
    record: records.HelicalSpring | records.TorsionSpring | records.DiscWasherSpring, blades: int
) -> Spring:
    """Force law, preload (washers as shims included) and lever of the spring of a hub with so many `blades`.

    Friction between the faces of parallel disc washers counts once for each pair: common practice, no source.
    ValueError as `spring_rate` and `disc_stack_coefficients`.
    """
    share = 1.0 / blades if record.shared else 1.0
    if isinstance(record, records.TorsionSpring):
        return Spring(record.rate, 0.0, 0.0, record.preload_angle, 0.0, 0.0, share, 0.0)
    shims = record.washers * record.washer_thickness
    if isinstance(record, records.HelicalSpring):
        preload = record.free_length - record.fitted_length + shims
        return Spring(
            spring_rate(record), 0.0, 0.0, preload, record.lever_arm, record.lever_angle, share, 0.0
        )
    linear, quadratic, cubic = disc_stack_coefficients(
        outer_diameter=record.outer_diameter,
        inner_diameter=record.inner_diameter,
        thickness=record.thickness,
        cone_height=record.cone_height,
        elastic_modulus=record.elastic_modulus,
        poisson_ratio=record.poisson_ratio,
        parallel=record.parallel,
        series=record.series,
    )
    face_friction = record.face_friction * (record.parallel - 1)
    preload = record.fitted_compression + shims
    return Spring(
        linear, quadratic, cubic, preload, record.lever_arm, record.lever_angle, share, face_friction
    )


def spring_rate(record: records.HelicalSpring) -> float:
    """Rate as given, or from the wire [N/m]; ValueError if there is neither."""
    if record.rate is not None:
        return record.rate
    wire = record.wire
    if wire is None:
        raise ValueError("a helical spring needs a rate or a wire")
    return helical_rate(wire.wire_diameter, wire.mean_diameter, wire.active_coils, wire.shear_modulus)
