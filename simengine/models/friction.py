"""Dry friction with true stick: a blade at rest stays until the moment on it exceeds the limit.

Nothing is smoothed. A smoothed law lets a stuck blade creep, and over an hour of flight the creep
erases the hysteresis that decides at which rpm a hub shifts and returns.
"""

from simengine.compiled import kernel_part

REST, TO_COARSE, TO_FINE = 0, 1, -1


@kernel_part
def movement_from_rest(net: float, friction_at_rest: float, may_go_coarse: bool, may_go_fine: bool) -> int:
    """Which way a resting blade starts to move: TO_COARSE, TO_FINE, or REST.

    Parameters
    ----------
    net : float
        Driving moment, positive toward coarse [N m].
    friction_at_rest : float
        Breakaway limit, zero or positive [N m].
    may_go_coarse, may_go_fine : bool
        False on the stop of that side.
    """
    if net < -friction_at_rest and may_go_fine:
        return TO_FINE
    if net > friction_at_rest and may_go_coarse:
        return TO_COARSE
    return REST


@kernel_part
def play(previous: float, driven: float, half_width: float) -> float:
    """Rate-independent play operator: the output, any one unit, moves only as the input crosses its play.

    `w_n = max(u_n - r, min(u_n + r, w_(n-1)))`, the elementary hysteresis of the Prandtl-Ishlinskii family,
    with `driven` u, `half_width` r and `previous` output w: any one unit for all three.
    """
    return max(driven - half_width, min(driven + half_width, previous))


def recover_preload_and_friction(
    centrifugal_coefficient: float, speed_up: float, speed_down: float
) -> tuple[float, float]:
    """Spring moment and friction share from the rotor speeds of leaving a stop and of coming back to it.

    For a blade whose friction is proportional to Omega2, in balance at one blade angle going up
    (`K s Om_u2 - f Om_u2 = M0`) and coming back (`K s Om_d2 + f Om_d2 = M0`).

    Parameters
    ----------
    centrifugal_coefficient : float
        `K s`: fine-going moment over rotor speed squared at that angle [kg m2], positive.
    speed_up, speed_down : float
        Rotor speeds of the two passages [rad/s], `speed_up > speed_down > 0`.

    Returns
    -------
    spring : float
        Spring moment M0 at that angle [N m].
    friction : float
        Friction moment over rotor speed squared [kg m2].

    Raises
    ------
    ValueError
        If the speeds are not positive or not in order.
    """
    if not speed_up >= speed_down > 0.0:
        raise ValueError("the rotor speed going up must be at least that coming back, both positive")
    up, down = 1.0 / speed_up**2, 1.0 / speed_down**2
    spring = 2.0 * centrifugal_coefficient / (up + down)
    return spring, centrifugal_coefficient * (down - up) / (down + up)
