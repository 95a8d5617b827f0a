"""A comparison on the terminal: what was changed, the answer, the tables, the caution."""

import xarray

from simengine.report.compare.facts import case_names
from simengine.report.compare.table import event_tables, figure_tables
from simengine.report.compare.text import change_lines, compare_sentences
from simengine.report.terminal import Speaker

LEGEND = (
    "▲ better  ▼ worse, everything else equal;  = the same within the errors of both solvers;  "
    "~ moved, neither way is better"
)


def print_comparison(dataset: xarray.Dataset, *, quiet: bool = False, verbose: bool = False) -> None:
    """Print a comparison to standard output; the caution is always part of it."""
    say = Speaker()
    say.line(str(dataset.attrs.get("title", "")), style="bold")
    say.block("What was changed:", "\n".join(change_lines(dataset)))
    say.line("")
    say.sentences(compare_sentences(dataset))
    if not quiet:
        say.line("")
        say.tables((*figure_tables(dataset), *event_tables(dataset)))
        say.line(LEGEND)
        say.block("Limits of the model that were met:", limit_text(dataset))
    if verbose:
        say.block("How it was compared:", f"{dataset.attrs['alignment']}\n{dataset.attrs['sameness']}")
        say.block("Cases:", case_text(dataset))
    say.caution(verbose=verbose)


def limit_text(dataset: xarray.Dataset) -> str:
    """Limits of the model, each once, with the cases that met it."""
    met: dict[str, list[str]] = {}
    for name, text in zip(case_names(dataset), dataset["case_model_limits"].values, strict=True):
        for sentence in str(text).splitlines():
            met.setdefault(sentence, []).append(name)
    return "\n".join(f"{', '.join(names)}: {sentence}" for sentence, names in met.items())


def case_text(dataset: xarray.Dataset) -> str:
    """Where each case comes from and how it was flown."""
    lines = []
    for case, name in enumerate(case_names(dataset)):
        own = {key: str(dataset[f"case_{key}"].values[case]) for key in CASE_KEYS}
        tolerance = float(dataset["case_relative_tolerance"].values[case])
        lines.append(
            f"{name}: {own['title']}; {own['file']}; {own['fidelity']} fidelity, relative tolerance "
            f"{tolerance:g}; simengine {own['version']}; scenario sha256 {own['scenario_sha256'][:12]}; "
            f"{own['outcome']}"
        )
    return "\n".join(lines)


CASE_KEYS = ("title", "file", "fidelity", "version", "scenario_sha256", "outcome")
