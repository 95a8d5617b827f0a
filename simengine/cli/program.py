"""The program that the commands belong to, and what they share."""

import gc
import os
import shlex
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Protocol, TypedDict

import typer
import typer.core

from simengine.cli import completion
from simengine.errors import InterruptedStudy, SimengineError, letters, shown

if TYPE_CHECKING:
    import xarray
    from rich.status import Status

    from simengine.execution.progress import Progress
    from simengine.execution.where import Where
    from simengine.report.outputs import Outcome


class Program(typer.core.TyperGroup):
    """The commands. Where one is named first, the program's own options are not looked at.

    Typer reads even the options that were not given with pydantic, which would cost `COMMAND --help` more
    time than all the rest.
    """

    command_first = False

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Read the line; remember whether it begins with a command."""
        self.command_first = bool(args) and args[0] in self.commands
        return super().parse_args(ctx, args)

    def get_params(self, ctx: Any) -> list[Any]:
        """Options of the program itself; none are left to read where a command comes first."""
        return [] if self.command_first else super().get_params(ctx)

    def make_context(self, *args: Any, **settings: Any) -> Any:
        """Read the line, and print help where it is asked for."""
        with quiet_without_readers():
            return super().make_context(*args, **settings)

    def invoke(self, ctx: Any) -> Any:
        """Do what the line says, and tell what went wrong."""
        with quiet_without_readers(), errors_told():
            return super().invoke(ctx)


@contextmanager
def quiet_without_readers() -> Iterator[None]:
    """End without a word when nobody reads what is printed, as in `simengine ... | head -1`."""
    try:
        yield
    except BrokenPipeError:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        for stream in (sys.stdout, sys.stderr):  # what is still to be flushed must not complain either
            os.dup2(nowhere, stream.fileno())
        raise typer.Exit(NO_READERS) from None


def example(command: str, more: str = "") -> str:
    """Last lines of a help text: a command that works in a checkout of the repository, not broken into lines.

    Tests run every one of them.
    """
    return f"\b\nExample:  {command}" + (f"\n\n{more}" if more else "")


app = typer.Typer(
    name="simengine",
    cls=Program,
    help=(
        "Fly a self-shifting two-stop pitch hub on a paramotor, from a scenario file.\n\n"
        "Estimates from simple models: they prove no part strong enough and replace no test."
    ),
    epilog=example("simengine new my_hub.yaml && simengine fly my_hub.yaml"),
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)

# Exit codes of the system's own programs: 128 and the number of the signal.
INTERRUPTED = 130
NO_READERS = 141
FLYING_ONLY = {"fly", "compare", "check"}  # commands that need no kernels of the studies
OBJECTS_BEFORE_COLLECTION = 1_000_000


ScenarioFile = Annotated[
    Path, typer.Argument(help="Scenario file.", show_default=False, autocompletion=completion.scenarios)
]
Variant = Annotated[
    str | None,
    typer.Option(
        "--variant",
        metavar="NAME",
        help="One of the file's variants, instead of it.",
        autocompletion=completion.variants_of_file,
    ),
]
OutputFolder = Annotated[
    Path,
    typer.Option("-o", "--output", metavar="DIR", help="Folder for the results; made if missing."),
]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document instead of tables.")]
Quiet = Annotated[bool, typer.Option("-q", "--quiet", help="Print the answer and the caution only.")]
Verbose = Annotated[bool, typer.Option("-v", "--verbose", help="Print defaults used and every caution too.")]
Workers = Annotated[
    int | None,
    typer.Option(
        "--workers", metavar="N", min=1, help="How many at once; all cores if left out. Same numbers."
    ),
]
Processes = Annotated[bool, typer.Option("--processes", help="Work in separate processes, not threads.")]
Scheduler = Annotated[
    str | None,
    typer.Option("--scheduler", metavar="ADDRESS", help="Work on the dask.distributed cluster there."),
]
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
    except InterruptedStudy as stop:
        typer.echo(f"\n{stop}", err=True)
        os._exit(INTERRUPTED)  # threads are still at work on pieces that nobody waits for any more
    except KeyboardInterrupt:
        typer.echo("\ninterrupted; no file is left half written", err=True)
        raise typer.Exit(INTERRUPTED) from None


def compile_missing(quiet: bool) -> None:
    """Compile what the command needs if this machine has not yet; say so, unless `quiet`."""
    from simengine.report.compilation.crew import ALL, FLIGHT
    from simengine.report.compilation.run import prepare

    for status in SHOWN:  # two moving lines would write over each other
        status.stop()
    try:
        prepare(FLIGHT if FLYING_ONLY.intersection(sys.argv[1:2]) else ALL, quiet=quiet)
    finally:
        for status in SHOWN:
            status.start()


def compilation(quiet: bool) -> Callable[[], None]:
    """What a command does once its input is found good."""
    return partial(compile_missing, quiet)


class Computing(TypedDict):
    """What every command that computes hands on, by the names of the Python calls."""

    command: str
    before_computing: Callable[[], None]
    progress: "Progress | None"


@contextmanager
def computing(heading: str, quiet: bool) -> Iterator[Computing]:
    """Show progress on a terminal, and give what is to be handed on."""
    from simengine.report.progress import progress_bar

    with progress_bar(heading) as progress:
        yield {"command": typed_command(), "before_computing": compilation(quiet), "progress": progress}


def where(workers: int | None, processes: bool, scheduler: str | None) -> "Where":
    """Where the work is done, from the three options that say it."""
    from simengine.execution.where import Where

    return Where(workers, processes, scheduler)


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
    return letters(shlex.join(["simengine", *sys.argv[1:]]))


class Printer(Protocol):
    """What prints a result to be read."""

    def __call__(self, dataset: "xarray.Dataset", /, *, quiet: bool, verbose: bool) -> None:
        """Print it; the answer only, or everything."""


def tell(
    result: "Outcome",
    document: "Callable[[xarray.Dataset], Mapping[str, object]]",
    printer: Printer,
    *,
    as_json: bool,
    quiet: bool,
    verbose: bool,
) -> None:
    """Print a result as one document or to be read, and name its files."""
    if as_json:
        print_json(document(result.dataset))
    else:
        printer(result.dataset, quiet=quiet, verbose=verbose)
    if not quiet:
        tell_written(result.paths)


def print_json(document: Mapping[str, object]) -> None:
    """One document and nothing else on standard output."""
    import json

    text = json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False)
    if not encodable(text):
        text = json.dumps(document, indent=2, allow_nan=False)
    typer.echo(text)


def encodable(text: str) -> bool:
    """Whether text can be printed as it is; names of files may hold what is no letter at all."""
    if not text.replace("\n", "").isprintable():
        return False
    try:
        text.encode(getattr(sys.stdout, "encoding", None) or "utf-8")
    except UnicodeEncodeError:
        return False
    return True


def tell_written(paths: Iterable[Path]) -> None:
    """Name the files that were written, and how to make a page of a result among them."""
    results = []
    for path in paths:
        typer.echo(f"written: {shown(str(path))}", err=True)
        results += [path] if path.suffix == ".nc" else []
    for path in results:
        typer.echo(f"one page of it: simengine report {shown(shlex.quote(str(path)))}", err=True)
