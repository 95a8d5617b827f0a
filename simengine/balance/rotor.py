"""Rotor speed at which the engine gives just the torque that the propeller takes."""

from simengine.balance.aircraft import Aircraft
from simengine.compiled import kernel
from simengine.models.atmosphere import Air
from simengine.models.drive import drive_line
from simengine.models.momentum import rotor_loads

TOLERANCE = 1e-10  # of the rotor speed
SEARCH_STEPS = 24
OVERSPEED = 1.6  # the search begins at this multiple of the engine's speed limit


@kernel
def torque_excess(
    aircraft: Aircraft, air: Air, blade_angle: float, rotor_speed: float, axial_speed: float, throttle: float
) -> float:
    """Torque at the propeller shaft that is left to speed the rotor up [N m]."""
    drive = drive_line(aircraft.engine, aircraft.drive, rotor_speed, throttle, air)
    return drive.rotor_torque - rotor_loads(aircraft.blade, blade_angle, rotor_speed, axial_speed, air).torque


@kernel
def steady_rotor_speed(
    aircraft: Aircraft, air: Air, blade_angle: float, axial_speed: float, throttle: float
) -> float:
    """Highest stable steady rotor speed [rad/s]; zero if the engine cannot turn the propeller at all.

    Comes down from beyond the speed limit until the engine is the stronger, then closes in: so the
    root found is stable (more speed brings a deficit) and the one that an opening throttle reaches.
    """
    high = OVERSPEED * aircraft.engine.speed_limit / aircraft.drive.reduction
    excess_high = torque_excess(aircraft, air, blade_angle, high, axial_speed, throttle)
    step = high / SEARCH_STEPS
    low, excess_low = high, excess_high
    while excess_low < 0.0:
        high, excess_high = low, excess_low
        low = high - step
        if low <= 0.0:
            return 0.0
        excess_low = torque_excess(aircraft, air, blade_angle, low, axial_speed, throttle)
    return close_in_rotor_speed(
        aircraft, air, blade_angle, axial_speed, throttle, low, excess_low, high, excess_high
    )


@kernel
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
) -> float:
    """Root of the torque excess in a bracket, by false position with the Illinois weight."""
    side = 0
    for _ in range(100):
        if high - low <= TOLERANCE * high or excess_low == excess_high:
            break
        middle = (low * excess_high - high * excess_low) / (excess_high - excess_low)
        excess = torque_excess(aircraft, air, blade_angle, middle, axial_speed, throttle)
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
