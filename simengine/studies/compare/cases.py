"""Cases of a comparison: scenario files, variants and results, read, checked and flown."""

from collections import Counter
from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from simengine.errors import NoSolutionError, Problem, ScenarioError
from simengine.execution.progress import Progress
from simengine.results.catalogue import EVENTS, PHASES, STUDY, TIME, TRACES, Variable, all_variables
from simengine.results.compare_catalogue import ChangeKind
from simengine.scenario import Scenario, load_scenario, load_variant, load_variants
from simengine.scenario.loader import scenario_of_text
from simengine.scenario.references import split_reference
from simengine.studies.scenario_changes import Change, scenario_changes

if TYPE_CHECKING:
    import xarray

RESULT = ".nc"
MOST_CASES = 20
NUMBERS, WORDS = "fiu", "OSTU"  # kinds of types, as NumPy calls them
ROWS = {("time",): (TIME, *TRACES), ("event",): EVENTS, ("phase",): PHASES}
TEXT = "simengine_scenario"
DIGEST = "simengine_scenario_sha256"


@dataclass(frozen=True)
class Case:
    """One of those that are compared.

    Attributes
    ----------
    name : str
        Told apart from the others.
    reference : str
        As typed.
    scenario : Scenario
        For a result, the one it carries.
    dataset : xarray.Dataset or None
        The flight; None while it is still to be flown.
    ceilings : mapping of str to float
        In stored units, if they are compared too.
    """

    name: str
    reference: str
    scenario: Scenario
    dataset: "xarray.Dataset | None" = None
    ceilings: Mapping[str, float] = field(default_factory=dict)

    @property
    def flight(self) -> "xarray.Dataset":
        """The flight, once it is flown."""
        assert self.dataset is not None
        return self.dataset


def read_cases(references: Sequence[str]) -> list[Case]:
    """What is to be compared, the first being what the others are held against.

    One reference to a file with variants stands for the file and all its variants; one to a variant for the
    file and that variant.

    Raises
    ------
    ScenarioError
        With the problems of every file, or because there is nothing to compare with.
    """
    cases: list[Case] = []
    problems: list[Problem] = []
    for reference in references:
        try:
            cases += cases_of(reference, alone=len(references) == 1)
        except ScenarioError as error:
            problems += [problem for problem in error.problems if problem not in problems]
    if problems:
        raise ScenarioError(problems)
    if len(cases) > MOST_CASES:
        message = f"is the first of {len(cases)} cases; at most {MOST_CASES} are compared at once"
        raise ScenarioError([Problem(references[0], None, "", message)])
    return told_apart(cases)


def cases_of(reference: str, *, alone: bool) -> list[Case]:
    """Cases that one reference stands for."""
    path, variant = split_reference(reference)
    if path.suffix == RESULT:
        if alone:
            raise refused(reference, "is one result: name what to compare it with")
        return [result_case(path)]
    if not alone:
        scenario = load_scenario(path) if variant is None else load_variant(path, variant)
        return [Case(variant or path.stem, reference, scenario)]
    if variant is not None:
        base = Case(path.stem, str(path), load_scenario(path))
        return [base, Case(variant, reference, load_variant(path, variant))]
    found = load_variants(path)
    if len(found) == 1:
        raise refused(reference, "has no variants: name a second file to compare it with, or add 'variants:'")
    return [
        Case(name, str(path) if scenario is found[path.stem] else f"{path}:{name}", scenario)
        for name, scenario in found.items()
    ]


def result_case(path: Path) -> Case:
    """A flight that was flown before; ScenarioError if it is no flight, damaged or not whole."""
    from simengine.results.netcdf import read_netcdf

    dataset = read_netcdf(path)
    if STUDY in dataset.attrs:
        raise refused(path, f"is the result of `simengine {dataset.attrs[STUDY]}`, not of a flight")
    missing = [variable.name for variable in all_variables() if variable.name not in dataset.variables]
    if missing:
        raise refused(path, f"is no whole flight: {', '.join(missing[:5])} missing; fly it again")
    strange = [variable.name for variable in all_variables() if not is_as_written(variable, dataset)]
    if strange:
        raise refused(
            path, f"holds something else as {', '.join(strange[:5])} than a flight does; fly it again"
        )
    text = str(dataset.attrs[TEXT])
    if sha256(text.encode()).hexdigest() != dataset.attrs.get(DIGEST):
        raise refused(path, "carries a scenario that its digest does not fit; fly it again")
    try:
        scenario = scenario_of_text(text, f"{path} (the scenario in it)")
    except ScenarioError as error:
        message = "carries a scenario that this version of simengine does not read; fly it again"
        raise ScenarioError([Problem(str(path), None, "", message), *error.problems]) from None
    return Case(path.stem, str(path), scenario, dataset)


def is_as_written(variable: Variable, dataset: "xarray.Dataset") -> bool:
    """Whether a variable of a result holds numbers or words as the catalogue says, row by row."""
    found = dataset[variable.name]
    kinds = WORDS if variable.stored == "text" else NUMBERS
    dimensions = next((dims for dims, group in ROWS.items() if variable in group), ())
    return found.dtype.kind in kinds and found.dims == dimensions


def refused(reference: str | Path, message: str) -> ScenarioError:
    """An input that cannot be compared."""
    return ScenarioError([Problem(str(reference), None, "", message)])


def told_apart(cases: list[Case]) -> list[Case]:
    """Cases of one name by their folder too, and by number if that is not enough."""
    counts = Counter(case.name for case in cases)
    named = [case if counts[case.name] == 1 else replace(case, name=longer_name(case)) for case in cases]
    seen: Counter[str] = Counter()
    result = []
    for case in named:
        seen[case.name] += 1
        again = seen[case.name]
        result.append(case if again == 1 else replace(case, name=f"{case.name} ({again})"))
    return result


def longer_name(case: Case) -> str:
    """A name with the folder, or the file of a variant."""
    path, variant = split_reference(case.reference)
    if variant is not None:
        return f"{path.stem}:{variant}"
    return f"{path.parent.name}/{path.stem}" if path.parent.name else path.stem


def fidelity_of(case: Case, fidelity: str | None) -> str:
    """Fidelity that a case was or will be flown at."""
    if case.dataset is not None:
        return str(case.dataset.attrs["fidelity"])
    return fidelity or case.scenario.record.flight.fidelity


def changes_of(cases: Sequence[Case], fidelity: str | None) -> list[list[Change]]:
    """What differs in each case from the first; nothing for the first itself."""
    first = cases[0]
    found: list[list[Change]] = [[]]
    for case in cases[1:]:
        changes = [
            change
            for change in scenario_changes(first.scenario, case.scenario)
            if change.path != "flight.fidelity"
        ]
        flown = [fidelity_of(one, fidelity) for one in (first, case)]
        if flown[0] != flown[1]:
            changes.append(Change("flight.fidelity", flown[0], flown[1], ChangeKind.FLIGHT, "", None))
        found.append(changes)
    return found


def refuse_unlike(cases: Sequence[Case], changes: Sequence[Sequence[Change]]) -> None:
    """Refuse to compare different flights, and say in what they differ.

    Raises
    ------
    ScenarioError
        With one problem for each key that makes another flight.
    """
    problems = []
    for case, own in zip(cases, changes, strict=True):
        for change in own:
            if change.kind is ChangeKind.FLIGHT:
                message = f"is {change.here}, but {change.first} in {cases[0].name}: not the same flight"
                file = change.file or case.reference
                problems.append(Problem(file, change.line, change.path, message))
    if problems:
        advice = (
            "flights are compared that differ in the machine only; to compare these as they are: --unlike"
        )
        raise ScenarioError([*problems, Problem(cases[0].reference, None, "", advice)])


def fly_cases(
    cases: Sequence[Case], fidelity: str | None, command: str, progress: Progress | None = None
) -> list[Case]:
    """Every case with its flight: those that are results as they are, the others flown, two at a time.

    Raises
    ------
    NoSolutionError
        Names the case that cannot be flown.
    """
    from simengine.flight.simulate import simulate

    done = 0

    def flown(case: Case) -> Case:
        nonlocal done
        dataset = case.dataset
        if dataset is None:
            try:
                dataset = simulate(case.scenario, fidelity=fidelity, command=command)
            except NoSolutionError as error:
                raise NoSolutionError(f"{case.name}: {error}") from error
        done += 1
        if progress:
            progress(done / len(cases), f"{case.name} flown")
        return replace(case, dataset=dataset)

    first = flown(cases[0])  # alone: what has to be compiled is compiled once
    with ThreadPoolExecutor() as pool:
        return [first, *pool.map(flown, cases[1:])]
