"""Where the result of a study comes from."""

from collections.abc import Iterable

from simengine.results.records import Provenance
from simengine.scenario import Scenario


def study_provenance(
    scenario: Scenario,
    study: str,
    outcome: str,
    solver: str,
    *,
    relative_tolerance: float = 1e-8,
    steps: int = 0,
    model_limits: Iterable[str] = (),
    command: str = "",
) -> Provenance:
    """Provenance of figures of steady states.

    Parameters
    ----------
    scenario : Scenario
        What was asked about.
    study : str
        Name of the study, which is that of its Python call.
    outcome, solver : str
        What came out, and how it was computed, in words.
    relative_tolerance : float
        To which the balances were found.
    steps : int
        How many of them, where that is counted.
    model_limits : iterable of str
        One sentence for each limit of the model that was met.
    command : str
        What the user typed; the Python call if empty.
    """
    record = scenario.record
    return Provenance(
        title=record.title,
        note=record.note,
        scenario_text=scenario.text,
        outcome=outcome,
        fidelity="steady",
        solver=solver,
        relative_tolerance=relative_tolerance,
        steps=steps,
        rejected_steps=0,
        command=command or f"simengine.{study}",
        defaults_used=scenario.defaults,
        model_limits=tuple(model_limits),
    )
