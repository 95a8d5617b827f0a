"""One measured figure beside its target, and how times are taken."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from statistics import median
from time import thread_time

AT_LEAST, AT_MOST, TOLD = "at least", "at most", "told"


@dataclass(frozen=True)
class Figure:
    """One line of the table.

    Attributes
    ----------
    group, name : str
        What was measured.
    value, unit
        What came out; None where it could not be measured, and `why` says so.
    measured : str
        The absolute values behind a ratio, in words.
    target : float or None
        None for a figure that is told only.
    sense : str
        AT_LEAST, AT_MOST or TOLD.
    why : str
        A short reason where the target is missed or nothing was measured.
    """

    group: str
    name: str
    value: float | None
    unit: str
    measured: str = ""
    target: float | None = None
    sense: str = TOLD
    why: str = ""

    @property
    def share(self) -> float | None:
        """How far on the good side of the target: 1 on it, 2 twice as good."""
        if self.value is None or self.target is None:
            return None
        if self.sense == AT_LEAST:
            return self.value / self.target
        return self.target / max(self.value, 1e-3 * self.target)

    @property
    def met(self) -> bool | None:
        """None where there is no target, or nothing was measured."""
        return None if self.share is None else self.share >= 1.0

    def document(self) -> dict[str, object]:
        """For JSON."""
        return {
            "group": self.group,
            "name": self.name,
            "value": self.value,
            "unit": self.unit,
            "measured": self.measured,
            "sense": self.sense,
            "target": self.target,
            "ratio_to_target": self.share,
            "met": self.met,
            "why": self.why,
        }


def at_most(group: str, name: str, value: float, unit: str, target: float, **more: str) -> Figure:
    """A figure that should stay below its target; `why` is kept only where it does not."""
    return told_why(Figure(group, name, value, unit, more.get("measured", ""), target, AT_MOST), more)


def at_least(group: str, name: str, value: float, unit: str, target: float, **more: str) -> Figure:
    """A figure that should reach its target; `why` is kept only where it does not."""
    return told_why(Figure(group, name, value, unit, more.get("measured", ""), target, AT_LEAST), more)


def told_why(figure: Figure, more: Mapping[str, str]) -> Figure:
    """The figure with its reason, if it needs one."""
    values = vars(figure) | {"why": "" if figure.met else more.get("why", "")}
    return Figure(**values)


def seconds(function: Callable[[], object], clock: Callable[[], float] = thread_time) -> float:
    """Time of one call [s]: of this thread on the processor, which others at work do not lengthen."""
    start = clock()
    function()
    return clock() - start


def interleaved(rounds: int, **competitors: Callable[[], object]) -> dict[str, list[float]]:
    """Times [s] of every competitor, taken in turns so that a busy moment meets all of them alike.

    Each is called once before, to load and warm it.
    """
    for function in competitors.values():
        function()
    times: dict[str, list[float]] = {name: [] for name in competitors}
    for _ in range(rounds):
        for name, function in competitors.items():
            times[name].append(seconds(function))
    return times


def medians(rounds: int, **competitors: Callable[[], object]) -> dict[str, float]:
    """Median time [s] of every competitor, taken in turns."""
    return {name: median(times) for name, times in interleaved(rounds, **competitors).items()}


def ratio(times: Mapping[str, list[float]], above: str, below: str) -> float:
    """Median over the turns of the ratio of two competitors' times in the same turn."""
    return median(a / b for a, b in zip(times[above], times[below], strict=True))


def readable_time(value: float) -> str:
    """A time [s] for tables."""
    for unit, size in (("s", 1.0), ("ms", 1e-3), ("us", 1e-6)):
        if value >= size:
            return f"{value / size:.3g} {unit}"
    return f"{1e9 * value:.3g} ns"
