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
