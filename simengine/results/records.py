"""What a flight hands over to be stored: events, phases, the machine's fixed figures, provenance. SI."""

from dataclasses import dataclass
from math import nan

from simengine.results.catalogue import EventKind, PitchState


@dataclass(frozen=True)
class Event:
    """One located event.

    Attributes
    ----------
    time : float
        Since the start of the flight [s].
    kind : EventKind
    phase : int
        Number of the phase, from 0.
    engine_speed, propeller_speed : float
        [rad/s].
    blade_angle : float
        At the reference station [rad].
    height : float
        Above mean sea level [m].
    airspeed : float
        [m/s].
    note : str
        What the kind does not tell.
    """

    time: float
    kind: EventKind
    phase: int
    engine_speed: float
    propeller_speed: float
    blade_angle: float
    height: float
    airspeed: float
    note: str = ""


@dataclass(frozen=True)
class PhaseBounds:
    """When a phase was flown, from `start` to `end` [s], its `name`, and its `outcome` in words.

    `kind` as in the scenario.
    """

    name: str
    kind: str
    start: float
    end: float
    outcome: str


@dataclass(frozen=True)
class ModelFigures:
    """Figures of a phase that need the model and not only what was recorded.

    Attributes
    ----------
    shift_margin_moment : float
        Moment left to hold one blade on the fine stop at full throttle [N m].
    full_throttle_speed, shift_margin_speed : float or None
        Engine speeds [rad/s] that replace those read from the record.
    """

    shift_margin_moment: float = nan
    full_throttle_speed: float | None = None
    shift_margin_speed: float | None = None


@dataclass(frozen=True)
class PhaseSummary:
    """The figures of one phase; NaN for what did not happen.

    Attributes
    ----------
    name, kind, outcome : str
        As in `PhaseBounds`.
    start, end : float
        Since the start of the flight [s].
    initial_pitch_state, final_pitch_state : PitchState
    final_blade_angle : float
        At the reference station [rad].
    fuel, fuel_volume : float
        Burnt in the phase [kg], [m3].
    distance : float
        Over the ground [m].
    highest_engine_speed, full_throttle_speed : float
        Of the engine, at any time and at the end of full throttle [rad/s].
    highest_thrust, static_thrust : float
        Left for the aircraft, at any time and at full throttle tied down [N].
    mean_climb_rate, initial_climb_rate : float
        Over the phase, and once the start's swing has died out [m/s].
    shift_begin_speed, shift_finish_speed, return_begin_speed, return_finish_speed : float
        Of the engine [rad/s].
    shift_margin_speed : float
        Full-throttle engine speed less that at which the shift finishes [rad/s].
    shift_margin_moment : float
        Fine-going moment of one blade left on the fine stop at full throttle [N m].
    """

    name: str
    kind: str
    start: float
    end: float
    outcome: str
    initial_pitch_state: PitchState
    final_pitch_state: PitchState
    final_blade_angle: float
    fuel: float
    fuel_volume: float
    distance: float
    highest_engine_speed: float
    highest_thrust: float
    static_thrust: float = nan
    mean_climb_rate: float = nan
    initial_climb_rate: float = nan
    full_throttle_speed: float = nan
    shift_begin_speed: float = nan
    shift_finish_speed: float = nan
    return_begin_speed: float = nan
    return_finish_speed: float = nan
    shift_margin_speed: float = nan
    shift_margin_moment: float = nan

    @property
    def duration(self) -> float:
        """Length of the phase [s]."""
        return self.end - self.start

    @property
    def fuel_flow_volume(self) -> float:
        """Mean fuel flow [m3/s]; NaN for a phase of no duration."""
        return self.fuel_volume / self.duration if self.duration > 0.0 else nan


@dataclass(frozen=True)
class Setup:
    """Fixed figures of the machine that a reader of the result needs.

    `hub_kind` as in the scenario; `coarse_stop` and `fine_stop`, both the one blade angle of a fixed hub
    [rad]; `engine_speed_limit` [rad/s]; `reduction`, engine turns for one of the propeller [1];
    `fuel_density` [kg/m3]; `fuel_start` [kg]; `site_height` [m].
    """

    hub_kind: str
    coarse_stop: float
    fine_stop: float
    engine_speed_limit: float
    reduction: float
    fuel_density: float
    fuel_start: float
    site_height: float


@dataclass(frozen=True)
class Provenance:
    """Where a result comes from: enough to fly it again.

    Attributes
    ----------
    title, note, institution : str
        As in the scenario.
    scenario_text : str
        The whole scenario as one YAML text, layers merged.
    outcome : str
        How the flight ended.
    fidelity, solver : str
        Name, and the method in words.
    relative_tolerance : float
        Of one step [1].
    steps, rejected_steps : int
        Taken, and tried in vain.
    command : str
        What the user typed.
    defaults_used : tuple of str
        Keys that the scenario left to their default, with the value.
    inputs_marked : tuple of str
        Keys whose value carries an origin (measured, assumed, fitted) or an uncertainty, as typed.
    model_limits : tuple of str
        One sentence for each limit of the model that the flight met.
    """

    title: str
    scenario_text: str
    outcome: str
    fidelity: str
    solver: str
    relative_tolerance: float
    steps: int
    rejected_steps: int
    note: str = ""
    command: str = ""
    institution: str = ""
    defaults_used: tuple[str, ...] = ()
    inputs_marked: tuple[str, ...] = ()
    model_limits: tuple[str, ...] = ()
