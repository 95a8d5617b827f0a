"""Level flight and flight at a throttle with the blades from where they stood before."""

from simengine.balance.pitch import pitch_balance
from simengine.balance.trim import REACHED, SteadyFlight, steady_flight
from simengine.studies.full_throttle import ANGLE_TOLERANCE
from simengine.studies.level_flight import level_by_stops, level_from, reaches_fine, stays_coarse
from simengine.studies.machine import Condition, Machine, held_flight


def flight_after(machine: Machine, condition: Condition, throttle: float, blade_angle: float) -> SteadyFlight:
    """Flight at a throttle [1], blades from a blade angle [rad] before; the fine stop is tried first."""
    if machine.shifts and throttle == 1.0 and blade_angle > machine.fine_stop:
        fine = held_flight(machine, condition, machine.fine_stop, 0.0, throttle)
        if settles(machine, condition, fine, blade_angle, fine.blade_angle):
            return fine
    return steady_flight(
        machine.aircraft, condition.air, condition.mass, condition.bar, throttle, blade_angle, 0.0
    )


def settles(
    machine: Machine, condition: Condition, flight: SteadyFlight, blade_angle: float, wanted: float
) -> bool:
    """Whether blades let go from a blade angle [rad] come to stand at a `wanted` one [rad] in a flight."""
    axial_speed = machine.inflow_factor * flight.airspeed
    reached = pitch_balance(machine.aircraft, condition.air, blade_angle, axial_speed, flight.throttle, 0.0)
    return bool(abs(reached.blade_angle - wanted) <= ANGLE_TOLERANCE)


def level_after(
    machine: Machine, condition: Condition, blade_angle: float, opening: float = 0.0, near: float = 0.0
) -> tuple[SteadyFlight, int]:
    """Level flight, blades from a blade angle [rad] before: on the stop they stood on, else the other.

    From coarse that is `level_flight.level`; from fine, as after a climb, the throttle is closed until the
    flight is level, and the blades go back if the moments let them. `opening` [1] and `near` [rad/s], of the
    rotor, are where to look first, zero where unknown. The flight, and its status as of `balance.trim`.
    """
    if machine.shifts and blade_angle < machine.coarse_edge:
        return level_from_fine(machine, condition, blade_angle, opening, near)
    if machine.shifts:
        return level_by_stops(machine, condition, opening, near)
    flight = level_from(machine.aircraft, machine, condition, blade_angle, opening, near)
    return flight, flight.status


def level_from_fine(
    machine: Machine, condition: Condition, blade_angle: float, opening: float, near: float
) -> tuple[SteadyFlight, int]:
    """Level flight with the blades fine, or hung, before; the quick ways first, the long way if none fits.

    Arguments and results as for `level_after`.
    """
    if blade_angle <= machine.fine_stop + ANGLE_TOLERANCE:
        for stop in (machine.fine_stop, machine.coarse_stop):
            flight = level_from(machine.held, machine, condition, stop, opening, near)
            if flight.status == REACHED and settles(machine, condition, flight, blade_angle, stop):
                return flight, REACHED
    flight = level_from(machine.aircraft, machine, condition, blade_angle, opening, near)
    return flight, flight.status


def level_on_stops(
    machine: Machine, condition: Condition, blade_angle: float, opening: float = 0.0, near: float = 0.0
) -> tuple[SteadyFlight, int]:
    """As `level_after` where the blades come to stand on a stop; otherwise they are put half-way, to hang.

    For searches, maps and draws, which have no use for a flight with hanging or hunting blades. Arguments and
    results as for `level_after`.
    """
    from_coarse = blade_angle >= machine.coarse_edge
    if not from_coarse and blade_angle > machine.fine_stop + ANGLE_TOLERANCE:
        return level_from_fine(machine, condition, blade_angle, opening, near)
    first, second = machine.fine_stop, machine.coarse_stop
    flights = []
    for stop in (second, first) if from_coarse else (first, second):
        flight = level_from(machine.held, machine, condition, stop, opening, near)
        flights.append(flight)
        if flight.status == REACHED and stands(machine, condition, flight, blade_angle, stop):
            return flight, REACHED
    held = [flight for flight in flights if flight.status == REACHED]
    if not held:
        return flights[-1], flights[-1].status
    return held[0]._replace(blade_angle=0.5 * (first + second)), REACHED


def stands(
    machine: Machine, condition: Condition, flight: SteadyFlight, blade_angle: float, stop: float
) -> bool:
    """Whether blades from a blade angle [rad] before stand on a `stop` [rad] in a flight found so."""
    if blade_angle < machine.coarse_edge:
        return settles(machine, condition, flight, blade_angle, stop)
    if stop == machine.coarse_stop:
        return stays_coarse(machine, condition, flight)
    return reaches_fine(machine, condition, flight)
