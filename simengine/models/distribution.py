"""Flow and loads along the blade, element by element: for pictures, bending and checks."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from simengine.models.atmosphere import Air
from simengine.models.blade import Blade
from simengine.models.element import ElementSolution, element_solution


class RotorDistribution(NamedTuple):
    """Flow and loads along the blade; every field is an array of shape (n,), loads are those of ONE blade.

    Attributes
    ----------
    radius : NDArray
        Place of the elements [m].
    inflow_angle, attack_angle : NDArray
        [rad].
    lift, drag : NDArray
        Coefficients of the section [1].
    loss : NDArray
        Prandtl's factor [1].
    speed : NDArray
        Air speed at the element, induction included [m/s].
    thrust, torque, air_moment : NDArray
        For each metre of span [N/m, N m/m, N m/m]; the air's moment about the pitch axis positive toward
        coarse.
    reynolds : NDArray
        Of the speed before induction [1].
    stalled : NDArray
        1 beyond the greatest lift on either side, else 0 [1].
    """

    radius: NDArray[np.float64]
    inflow_angle: NDArray[np.float64]
    attack_angle: NDArray[np.float64]
    lift: NDArray[np.float64]
    drag: NDArray[np.float64]
    loss: NDArray[np.float64]
    speed: NDArray[np.float64]
    thrust: NDArray[np.float64]
    torque: NDArray[np.float64]
    air_moment: NDArray[np.float64]
    reynolds: NDArray[np.float64]
    stalled: NDArray[np.float64]


def rotor_distribution(
    blade: Blade, blade_angle: float, rotor_speed: float, airspeed: float, air: Air
) -> RotorDistribution:
    """Flow and loads along the blade, for pictures; arguments as for `rotor_loads`, not both speeds zero.

    Every array has shape (n,), n the number of elements.
    """
    flows = [
        element_solution(blade, i, blade_angle, rotor_speed, airspeed, air) for i in range(len(blade.radius))
    ]
    flow = ElementSolution(*np.array(flows).T)
    pressure = 0.5 * air.density * np.asarray(flow.speed) ** 2
    across = flow.lift * np.cos(flow.attack_angle) + flow.drag * np.sin(flow.attack_angle)
    oncoming = np.hypot(rotor_speed * blade.radius, airspeed)
    return RotorDistribution(
        radius=blade.radius,
        inflow_angle=np.asarray(flow.inflow_angle),
        attack_angle=np.asarray(flow.attack_angle),
        lift=np.asarray(flow.lift),
        drag=np.asarray(flow.drag),
        loss=np.asarray(flow.loss),
        speed=np.asarray(flow.speed),
        thrust=pressure * blade.chord * flow.normal,
        torque=pressure * blade.chord * flow.tangential * blade.radius,
        air_moment=pressure * blade.chord * (across * blade.axis_lead + blade.chord * flow.moment),
        reynolds=air.density * oncoming * blade.chord / air.viscosity,
        stalled=np.asarray(flow.stalled),
    )
