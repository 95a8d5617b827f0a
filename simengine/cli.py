"""The command line. Reads arguments, calls one function, prints; heavy imports wait until they are needed."""

import gc
import shlex
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from simengine.errors import OutputError, SimengineError

if TYPE_CHECKING:
    import xarray

app = typer.Typer(
    name="simengine",
    help=(
        "Fly a self-shifting two-stop pitch hub on a paramotor, from a scenario file.\n\n"
        "Estimates from simple models: they prove no part strong enough and replace no test."
    ),
    epilog="Example:  simengine new my_hub.yaml  and then  simengine fly my_hub.yaml",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)

COMPILING = "Compiling the flight model for this machine, once: ten to twenty seconds ..."
STARTER_NAME = "scenario.yaml"
OBJECTS_BEFORE_COLLECTION = 1_000_000


def main() -> None:
    """Entry point of the command `simengine`."""
    # A command makes little garbage and is soon over: searching for it while the libraries load costs 0.2 s.
    gc.set_threshold(OBJECTS_BEFORE_COLLECTION)
    app()


@contextmanager
def errors_told() -> Iterator[None]:
    """Print what a user can mend, without a traceback, and leave with the error's exit code.

    Anything else is a defect of ours and keeps its traceback.
    """
    try:
        yield
    except SimengineError as error:
        typer.echo(str(error), err=True)
        raise typer.Exit(error.exit_code) from None


def print_version(wanted: bool) -> None:
    """Print the version and leave."""
    if wanted:
        from importlib.metadata import version

        typer.echo(f"simengine {version('simengine-flight')}")
        raise typer.Exit


@app.callback()
def options(
    version: Annotated[
        bool, typer.Option("--version", callback=print_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """Options of the program itself; its help text is that of `app`."""


# --- fly -------------------------------------------------------------------------------------------
@app.command(epilog="Example:  simengine fly my_hub.yaml -o outputs")
def fly(
    scenario: Annotated[Path, typer.Argument(help="Scenario file.", show_default=False)],
    output: Annotated[
        Path, typer.Option("-o", "--output", metavar="DIR", help="Folder for the results; made if missing.")
    ] = Path("outputs"),
    fidelity: Annotated[
        Literal["dynamic", "steady"] | None,
        typer.Option(help="Pitch and rotor resolved in time, or in balance; instead of the scenario's own."),
    ] = None,
    as_json: Annotated[
        bool, typer.Option("--json", help="Print one JSON document instead of tables.")
    ] = False,
    quiet: Annotated[
        bool, typer.Option("-q", "--quiet", help="Print the conclusion and the caution only.")
    ] = False,
    verbose: Annotated[
        bool, typer.Option("-v", "--verbose", help="Print events, defaults used and every caution too.")
    ] = False,
) -> None:
    """Fly a scenario; write the result (NetCDF) and its picture (PNG, SVG), print the figures."""
    from simengine.report.outputs import run_fly

    with errors_told():
        with working(f"Flying {scenario.name} ..."):
            result = run_fly(
                scenario,
                output,
                fidelity=fidelity,
                command=typed_command(),
                before_flying=None if quiet else announce_compilation,
            )
        if as_json:
            print_document(result.dataset)
        else:
            print_result(result.dataset, quiet=quiet, verbose=verbose)
    if not quiet:
        for path in result.paths:
            typer.echo(f"written: {path}", err=True)


def announce_compilation() -> None:
    """Say why the first run on a machine takes its time."""
    from simengine.compiled import compiled_before

    if not compiled_before():
        typer.echo(COMPILING, err=True)


@contextmanager
def working(words: str) -> Iterator[None]:
    """Say on a terminal what is going on, and take it back when it is done."""
    if not sys.stderr.isatty():
        yield
        return
    from rich.console import Console

    with Console(stderr=True).status(words):
        yield


def typed_command() -> str:
    """What the user typed, for the history of the result."""
    return shlex.join(["simengine", *sys.argv[1:]])


def print_document(dataset: "xarray.Dataset") -> None:
    """The figures as JSON, cautions included."""
    from simengine.report.flight_table import summary_json

    print_json(summary_json(dataset))


def print_json(document: dict[str, object]) -> None:
    """One document and nothing else on standard output."""
    import json

    typer.echo(json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False))


def print_result(dataset: "xarray.Dataset", *, quiet: bool, verbose: bool) -> None:
    """Conclusion, tables, limits met and the caution."""
    from simengine.report.terminal import print_flight

    print_flight(dataset, quiet=quiet, verbose=verbose)


# --- envelope --------------------------------------------------------------------------------------
@app.command(epilog="Example:  simengine envelope my_hub.yaml -o outputs")
def envelope(
    scenario: Annotated[Path, typer.Argument(help="Scenario file.", show_default=False)],
    output: Annotated[
        Path, typer.Option("-o", "--output", metavar="DIR", help="Folder for the results; made if missing.")
    ] = Path("outputs"),
    as_json: Annotated[
        bool, typer.Option("--json", help="Print one JSON document instead of tables.")
    ] = False,
    quiet: Annotated[
        bool, typer.Option("-q", "--quiet", help="Print the answer and the caution only.")
    ] = False,
    verbose: Annotated[
        bool, typer.Option("-v", "--verbose", help="Print defaults used and every caution too.")
    ] = False,
) -> None:
    """Find up to which height the shift finishes, where it hangs, why, and which change helps.

    Writes the figures (NetCDF) and pictures (PNG, SVG): height against rpm, maps of the pitch state,
    moments, a throttle sweep, and what one change does.
    """
    from simengine.report.outputs import run_envelope
    from simengine.report.progress import progress_bar

    with errors_told():
        with progress_bar(f"Envelope of {scenario.name}:") as progress:
            result = run_envelope(
                scenario,
                output,
                command=typed_command(),
                before_computing=None if quiet else announce_compilation,
                progress=progress,
            )
        if as_json:
            print_json(envelope_document(result.dataset))
        else:
            print_envelope_result(result.dataset, quiet=quiet, verbose=verbose)
    if not quiet:
        for path in result.paths:
            typer.echo(f"written: {path}", err=True)


def envelope_document(dataset: "xarray.Dataset") -> dict[str, object]:
    """The figures of an envelope, cautions included."""
    from simengine.report.envelope_document import envelope_json

    return envelope_json(dataset)


def print_envelope_result(dataset: "xarray.Dataset", *, quiet: bool, verbose: bool) -> None:
    """Answer, tables, balances, limits met and the caution."""
    from simengine.report.envelope_terminal import print_envelope

    print_envelope(dataset, quiet=quiet, verbose=verbose)


# --- new, schema -----------------------------------------------------------------------------------
@app.command(epilog="Example:  simengine new my_hub.yaml")
def new(
    path: Annotated[Path, typer.Argument(help="File to write.")] = Path(STARTER_NAME),
    force: Annotated[bool, typer.Option("--force", help="Overwrite a file that is there.")] = False,
) -> None:
    """Write a commented scenario of invented numbers to start from."""
    from importlib.resources import files

    from simengine.results.files import write_text

    with errors_told():
        if path.exists() and not force:
            raise OutputError(f"{path}: is there already; give another name, or --force to overwrite it")
        starter = files("simengine.scenario").joinpath("starter.yaml")
        write_text(path, starter.read_text(encoding="utf-8"))
    typer.echo(f"written: {path}\nnext: simengine fly {shlex.quote(str(path))}", err=True)


@app.command(epilog="Example:  simengine schema -o simengine.schema.json")
def schema(
    output: Annotated[
        Path | None, typer.Option("-o", "--output", metavar="FILE", help="File instead of standard output.")
    ] = None,
) -> None:
    """Give the JSON Schema of scenario files, with which editors complete and check keys."""
    import json

    from simengine.results.files import write_text
    from simengine.scenario import json_schema

    text = json.dumps(json_schema(), indent=2, ensure_ascii=False) + "\n"
    if output is None:
        typer.echo(text, nl=False)
        return
    with errors_told():
        write_text(output, text)
    typer.echo(f"written: {output}", err=True)
