"""Rotor speed at which the engine gives just the torque that the propeller takes."""

from simengine.balance.aircraft import Aircraft, propeller_loads
from simengine.compiled import kernel, kernel_part
from simengine.models.atmosphere import Air
from simengine.models.blade import Inflow
from simengine.models.drive import drive_line

TOLERANCE = 1e-10  # of the rotor speed
OVERSPEED = 1.6  # the search begins at this multiple of the engine's speed limit
STRIDE = 1.08  # from one speed tried to the next
BRACKET = 0.005  # first bracket around a speed held before
LOWEST_SPEED = 0.5  # slower than this the rotor counts as standing [rad/s]


@kernel_part
def highest_searched_speed(aircraft: Aircraft) -> float:
    """Rotor speed beyond the engine's limit at which searches begin or end [rad/s]."""
    return OVERSPEED * aircraft.engine.speed_limit / aircraft.drive.reduction


@kernel
def torque_excess(
    aircraft: Aircraft,
    air: Air,
    blade_angle: float,
    rotor_speed: float,
    axial_speed: float,
    throttle: float,
    inflow: Inflow,
) -> float:
    """Torque at the propeller shaft that is left to speed the rotor up [N m].

    Parameters
    ----------
    aircraft, air : the machine, and the air at the disc
    blade_angle : at the reference station [rad]
    rotor_speed : [rad/s]
    axial_speed : air speed at the disc [m/s]
    throttle : opening, 0 to 1 [1]
    inflow : what a point near by left, shape (turns, WORK_SIZE), overwritten
    """
    drive = drive_line(aircraft.engine, aircraft.drive, rotor_speed, throttle, air)
    loads = propeller_loads(aircraft, blade_angle, rotor_speed, axial_speed, air, inflow)
    return drive.rotor_torque - loads.torque


@kernel_part
def steady_rotor_speed(
    aircraft: Aircraft,
    air: Air,
    blade_angle: float,
    axial_speed: float,
    throttle: float,
    near: float,
    inflow: Inflow,
) -> float:
    """Stable steady rotor speed [rad/s]; zero if the engine cannot turn the propeller at all.

    Looks around `near` [rad/s], the speed held before, for a bracket in which more speed brings a deficit of
    torque. With `near` zero it comes down from beyond the speed limit, and so finds the highest. The other
    arguments as for `torque_excess`.
    """
    high = near * (1.0 + BRACKET) if near > 0.0 else highest_searched_speed(aircraft)
    top = 2.0 * highest_searched_speed(aircraft)
    excess_high = torque_excess(aircraft, air, blade_angle, high, axial_speed, throttle, inflow)
    low, excess_low = high, excess_high
    while excess_high > 0.0 and high < top:
        low, excess_low = high, excess_high
        high *= STRIDE
        excess_high = torque_excess(aircraft, air, blade_angle, high, axial_speed, throttle, inflow)
    stride = 1.0 + 2.0 * BRACKET if near > 0.0 else STRIDE
    while excess_low < 0.0:
        high, excess_high = low, excess_low
        low /= stride
        stride = STRIDE
        if low < LOWEST_SPEED:
            return 0.0
        excess_low = torque_excess(aircraft, air, blade_angle, low, axial_speed, throttle, inflow)
    return close_in_rotor_speed(
        aircraft, air, blade_angle, axial_speed, throttle, low, excess_low, high, excess_high, inflow
    )


@kernel_part
def close_in_rotor_speed(
    aircraft: Aircraft,
    air: Air,
    blade_angle: float,
    axial_speed: float,
    throttle: float,
    low: float,
    excess_low: float,
    high: float,
    excess_high: float,
    inflow: Inflow,
) -> float:
    """Root of the torque excess in a bracket [rad/s], by false position with the Illinois weight.

    Between rotor speeds `low` and `high` [rad/s], where the excess is `excess_low`, positive, and
    `excess_high`, negative [N m]; the other arguments as for `torque_excess`.
    """
    side = 0
    for _ in range(100):
        if high - low <= TOLERANCE * high or excess_low == excess_high:
            break
        middle = (low * excess_high - high * excess_low) / (excess_high - excess_low)
        excess = torque_excess(aircraft, air, blade_angle, middle, axial_speed, throttle, inflow)
        if abs(excess) < 1e-11:
            return middle
        if excess > 0.0:
            low, excess_low = middle, excess
            if side == 1:
                excess_high *= 0.5
            side = 1
        else:
            high, excess_high = middle, excess
            if side == -1:
                excess_low *= 0.5
            side = -1
    return 0.5 * (low + high) if side == 0 else (low if side == 1 else high)
