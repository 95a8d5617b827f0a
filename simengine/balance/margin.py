"""How much is left over for the shift at full throttle: in rotor speed and in moment."""

from typing import NamedTuple

from simengine.balance.aircraft import Aircraft
from simengine.balance.pitch import balance_at, pitch_balance, shift_speed
from simengine.compiled import kernel
from simengine.models.atmosphere import Air
from simengine.models.friction import TO_FINE
from simengine.models.mechanism import TWO_STOP


class ShiftMargin(NamedTuple):
    """Full-throttle margin of the shift in one air, at one air speed.

    Attributes
    ----------
    full_throttle_speed : float
        Rotor speed at full throttle with the blade where it really is [rad/s].
    blade_angle : float
        That blade angle [rad].
    finish_speed : float
        Rotor speed needed to bring the blade onto the fine stop [rad/s]; not a number if none does.
    speed : float
        Full-throttle rotor speed on the fine stop less `finish_speed` [rad/s]; negative: does not finish.
    moment : float
        Fine-going moment of one blade left on the fine stop at full throttle, friction paid [N m].
    """

    full_throttle_speed: float
    blade_angle: float
    finish_speed: float
    speed: float
    moment: float


@kernel
def shift_margin(aircraft: Aircraft, air: Air, axial_speed: float, previous_angle: float) -> ShiftMargin:
    """Margin of a two-stop hub whose blade stood at `previous_angle` [rad] before the throttle was opened.

    `axial_speed` is the air speed at the disc [m/s]. Not a number throughout for a hub whose blades the loads
    do not move.
    """
    if aircraft.hub.kind != TWO_STOP:
        nothing = float("nan")
        return ShiftMargin(nothing, nothing, nothing, nothing, nothing)
    reached = pitch_balance(aircraft, air, previous_angle, axial_speed, 1.0, 0.0)
    fine = balance_at(aircraft, air, aircraft.hub.fine_stop, axial_speed, 1.0, 0.0)
    finish = shift_speed(aircraft, air, aircraft.hub.fine_stop, axial_speed, TO_FINE, False)
    return ShiftMargin(
        reached.rotor_speed,
        reached.blade_angle,
        finish,
        fine.rotor_speed - finish,
        -fine.net - fine.friction,
    )
