"""The program that the commands belong to, and what they share."""

import gc
import shlex
import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from simengine.errors import SimengineError

if TYPE_CHECKING:
    from rich.status import Status

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

FLYING_ONLY = {"fly", "compare", "check"}  # commands that need no kernels of the studies
OBJECTS_BEFORE_COLLECTION = 1_000_000

ScenarioFile = Annotated[Path, typer.Argument(help="Scenario file.", show_default=False)]
Variant = Annotated[
    str | None, typer.Option("--variant", metavar="NAME", help="One of the file's variants, instead of it.")
]
OutputFolder = Annotated[
    Path, typer.Option("-o", "--output", metavar="DIR", help="Folder for the results; made if missing.")
]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document instead of tables.")]
Quiet = Annotated[bool, typer.Option("-q", "--quiet", help="Print the answer and the caution only.")]
Verbose = Annotated[bool, typer.Option("-v", "--verbose", help="Print defaults used and every caution too.")]
OUTPUTS = Path("outputs")


def main() -> None:
    """Entry point of the command `simengine`."""
    # A command makes little garbage and is soon over: searching for it while the libraries load costs 0.2 s.
    gc.set_threshold(OBJECTS_BEFORE_COLLECTION)
    app()


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


def announce_compilation() -> None:
    """Compile what the command needs if this machine has not yet; say why the first run takes its time."""
    compile_missing(quiet=False)


def compile_missing(quiet: bool = True) -> None:
    """Compile what the command needs if this machine has not yet."""
    from simengine.report.compilation.crew import ALL, FLIGHT
    from simengine.report.compilation.run import prepare

    for status in SHOWN:  # two moving lines would write over each other
        status.stop()
    try:
        prepare(FLIGHT if FLYING_ONLY.intersection(sys.argv[1:2]) else ALL, quiet=quiet)
    finally:
        for status in SHOWN:
            status.start()


SHOWN: "list[Status]" = []  # what `working` shows at present


@contextmanager
def working(words: str) -> Iterator[None]:
    """Say on a terminal what is going on, and take it back when it is done."""
    if not sys.stderr.isatty():
        yield
        return
    from rich.console import Console

    with Console(stderr=True).status(words) as status:
        SHOWN.append(status)
        try:
            yield
        finally:
            SHOWN.remove(status)


def typed_command() -> str:
    """What the user typed, for the history of the result."""
    return shlex.join(["simengine", *sys.argv[1:]])


def print_json(document: dict[str, object]) -> None:
    """One document and nothing else on standard output."""
    import json

    typer.echo(json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False))


def tell_written(paths: Iterable[Path]) -> None:
    """Name the files that were written."""
    for path in paths:
        typer.echo(f"written: {path}", err=True)
