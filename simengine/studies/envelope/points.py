"""Single figures of the envelope at the scenario's own mass and day, without computing the whole of it."""

from collections.abc import Iterable, Mapping
from math import floor, isnan, nan

from simengine.balance.assembly import assemble
from simengine.results.catalogue import Variable
from simengine.results.envelope_catalogue import IN_FLIGHT, ON_GROUND
from simengine.results.figures import ENVELOPE_FIGURES
from simengine.scenario import records
from simengine.studies.envelope.grid import flight_figures, ground_figures
from simengine.studies.envelope.shift_ceiling import SEARCH_TOP, Column, service_ceiling, shift_ceiling
from simengine.studies.machine import Machine, machine_of

VARIABLES: Mapping[str, Variable] = {
    variable.name: variable for variable in (*ENVELOPE_FIGURES, *IN_FLIGHT, *ON_GROUND)
}
Wanted = tuple[str, float | None]


class EnvelopePoints:
    """Figures of one scenario's envelope, each computed when it is first asked for.

    Parameters
    ----------
    record : ScenarioRecord
        The scenario.
    """

    def __init__(self, record: records.ScenarioRecord) -> None:
        aircraft = assemble(record)
        self.record = record
        self.machine: Machine = machine_of(aircraft)
        self.column = Column(self.machine, aircraft.atmosphere, aircraft.dry_mass + aircraft.fuel_start, 0.0)
        self.at_height: dict[float, dict[str, float]] = {}

    def figure(self, name: str, height: float | None) -> tuple[float, str]:
        """A figure in its stored unit (that of the catalogue); a state as NaN and a word.

        Parameters
        ----------
        name : str
            Of the envelope's catalogue.
        height : float or None
            Geometric [m]; None for a ceiling.
        """
        variable = VARIABLES[name]
        value = self.ceiling(name) if height is None else self.at(height)[name]
        if variable.flags:
            return nan, variable.flags[int(value)]
        return value * variable.factor, ""

    def ceiling(self, name: str) -> float:
        """A ceiling [m] of a `name`, searched from where the envelope begins; the search's top where above.

        Not a number where nothing is reached at the lowest height.
        """
        lowest = 100.0 * floor(max(self.record.site.height, 0.0) / 100.0)
        margin = self.column.climb_margin if name == "service_ceiling" else self.column.margin
        if name == "service_ceiling":
            found = service_ceiling(self.column, lowest, SEARCH_TOP)
        else:
            found = shift_ceiling(self.column, self.record.engine, lowest).height
        searched = name == "service_ceiling" or self.machine.shifts
        above = isnan(found) and searched and margin(lowest) > 0.0 and margin(SEARCH_TOP) > 0.0
        return SEARCH_TOP if above else found

    def at(self, height: float) -> dict[str, float]:
        """Every figure at a height, SI."""
        if height not in self.at_height:
            column = self.column
            self.at_height[height] = flight_figures(
                column, height, self.record.fuel.density, 0.0, 0.0
            ) | ground_figures(self.machine, column.atmosphere, height)
        return self.at_height[height]


def envelope_points(
    record: records.ScenarioRecord, wanted: Iterable[Wanted]
) -> dict[Wanted, tuple[float, str]]:
    """Several figures by name and height [m], in stored units; nothing is computed if none is wanted."""
    names = list(dict.fromkeys(wanted))
    if not names:
        return {}
    points = EnvelopePoints(record)
    return {(name, height): points.figure(name, height) for name, height in names}
