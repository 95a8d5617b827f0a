"""What a flight leaves behind while it is flown: rows, events, legs."""

from dataclasses import dataclass, field

from simengine.flight.state import Command, Vector


@dataclass
class FlightState:
    """Where the flight stands between two legs; SI."""

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
    """One located event of the integration."""

    time: float
    kind: int
    vector: Vector
    command: Command
    phase: int


@dataclass
class Track:
    """Record of a flight as it grows."""

    rows: list[Vector] = field(default_factory=list)  # blocks of shape (n, 11): time, state, mode
    commands: list[Command] = field(default_factory=list)  # one for each block
    phases: list[int] = field(default_factory=list)  # one for each block
    events: list[TrackEvent] = field(default_factory=list)
    steps: int = 0
    rejected: int = 0
    phase: int = 0

    def add_rows(self, block: Vector, command: Command) -> None:
        """Append a block of rows flown under one command."""
        self.rows.append(block)
        self.commands.append(command)
        self.phases.append(self.phase)

    def add_event(self, time: float, kind: int, vector: Vector, command: Command) -> None:
        """Append an event."""
        self.events.append(TrackEvent(time, kind, vector.copy(), command, self.phase))


@dataclass(frozen=True)
class Settings:
    """How finely a flight is flown and recorded; without `all_events` only those that end a leg matter."""

    relative_tolerance: float
    record_interval: float
    all_events: bool = True
