"""Contacts of steady flight: in which order blades that snap pass them, and with what rotor speed."""

from simengine.balance.aircraft import Aircraft
from simengine.balance.pitch import shift_speed
from simengine.flight.events import COARSE_CONTACT, FINE_CONTACT
from simengine.flight.state import AIRSPEED, BLADE_ANGLE, HEIGHT, ROTOR_SPEED, Command, Vector
from simengine.models.atmosphere import air_at
from simengine.models.friction import TO_COARSE, TO_FINE
from simengine.models.mechanism import CONTACT_BAND, TWO_STOP, coarse_edge

FELL, ROSE = 1, 0  # how a watched function passed its zero


def in_order(fired: list[Vector]) -> list[Vector]:
    """Event rows of one instant, `fired`, shape (12,) each, in the order in which a shift would pass them.

    A return leaves fine first.
    """
    kinds = [int(row[1]) for row in fired]
    if COARSE_CONTACT in kinds and FINE_CONTACT in kinds:
        coarse, fine = kinds.index(COARSE_CONTACT), kinds.index(FINE_CONTACT)
        if fired[fine][-1] == FELL:
            fired[coarse], fired[fine] = fired[fine], fired[coarse]
    return fired


def at_contact(aircraft: Aircraft, command: Command, event: int, lost: bool, end: Vector) -> Vector:
    """State to note an event with, shape (9,): a contact is noted with the rotor speed that makes it so.

    `lost` says that the contact was lost and not made; `end` is the state past it, shape (9,). Where the
    blades snap, one step holds the whole shift, and the balance after it has another speed than the blade met
    when it let go, or than it had when it came home: the moments on the stop decide both.
    """
    hub = aircraft.hub
    if event not in (COARSE_CONTACT, FINE_CONTACT) or hub.kind != TWO_STOP:
        return end
    noted = end.copy()
    noted[BLADE_ANGLE] = contact_angle(aircraft, event, lost)
    direction = TO_FINE if lost == (event == COARSE_CONTACT) else TO_COARSE
    stop = coarse_edge(hub) if event == COARSE_CONTACT else hub.fine_stop
    air = air_at(aircraft.atmosphere, end[HEIGHT])
    airspeed = end[AIRSPEED] if command.airborne else command.headwind
    speed = shift_speed(aircraft, air, stop, aircraft.inflow_factor * airspeed, direction, lost)
    if speed > 0.0:
        noted[ROTOR_SPEED] = speed
    return noted


def contact_angle(aircraft: Aircraft, event: int, lost: bool) -> float:
    """Blade angle just past the edge at which an event's stop contact is made or `lost` [rad]."""
    hub = aircraft.hub
    if event == COARSE_CONTACT:
        edge = coarse_edge(hub) - CONTACT_BAND
        return edge - 1e-9 if lost else edge + 1e-9
    edge = hub.fine_stop + CONTACT_BAND
    return edge + 1e-9 if lost else edge - 1e-9
