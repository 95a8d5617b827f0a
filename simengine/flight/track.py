"""What a flight leaves behind while it is flown: rows, events, legs."""

from dataclasses import dataclass, field

from simengine.flight.state import Command, Vector


@dataclass
class FlightState:
    """Where a flight stands between two legs: `time` [s], `vector`, shape (9,), `mode` and `throttle` [1]."""

    time: float
    vector: Vector
    mode: int
    throttle: float

    def copy(self) -> "FlightState":
        """An independent copy."""
        return FlightState(self.time, self.vector.copy(), self.mode, self.throttle)


@dataclass(frozen=True)
class LegResult:
    """How a leg ended: `event` is None if it ran its full time; `failure` is a sentence if it broke off."""

    event: int | None = None
    failure: str | None = None


@dataclass(frozen=True)
class TrackEvent:
    """One located event: its `time` [s] and `kind`, state `vector`, shape (9,), command and `phase`."""

    time: float
    kind: int
    vector: Vector
    command: Command
    phase: int


@dataclass
class Track:
    """Record of a flight as it grows.

    Blocks of `rows`, shape (n, 11): time, state and mode; the `commands` and `phases` of each block;
    `events`; `steps` taken and `rejected`; `phase` flown now.
    """

    rows: list[Vector] = field(default_factory=list)  # blocks of shape (n, 11): time, state, mode
    commands: list[Command] = field(default_factory=list)  # one for each block
    phases: list[int] = field(default_factory=list)  # one for each block
    events: list[TrackEvent] = field(default_factory=list)
    steps: int = 0
    rejected: int = 0
    phase: int = 0

    def add_rows(self, block: Vector, command: Command) -> None:
        """Append a `block` of rows, shape (n, 11), flown under one command."""
        self.rows.append(block)
        self.commands.append(command)
        self.phases.append(self.phase)

    def add_event(self, time: float, kind: int, vector: Vector, command: Command) -> None:
        """Append an event of a `kind` at a `time` [s] with the state `vector`, shape (9,)."""
        self.events.append(TrackEvent(time, kind, vector.copy(), command, self.phase))


@dataclass(frozen=True)
class Settings:
    """How finely a flight is flown and recorded: `relative_tolerance` [1], `record_interval` [s].

    Without `all_events` only those that end a leg matter.
    """

    relative_tolerance: float
    record_interval: float
    all_events: bool = True
