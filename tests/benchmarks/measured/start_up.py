"""How long until something is on the screen, each command in a process of its own."""

from collections.abc import Callable
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

from measured.children import ROOT, Ran, checked, simengine
from measured.figure import Figure, at_most, readable_time

GROUP = "start-up"
HELP, INPUT_ERROR, FLY, FIRST_EVER = 0.15, 1.0, 3.0, 15.0  # targets [s]
FIRST_EXAMPLE = "scenarios/climb_and_cruise.yaml"
COMPILING = "Compiling"  # is in what the first run tells
MISSPELT = "extends: {example}\nsite:\n  hight: 300 m\n"
INPUT_ERROR_CODE = 2
BUSY = "time on the processor is {busy}: Python, and the libraries that the command line needs"


def commands() -> list[str]:
    """Names of all commands."""
    import click
    import typer.main

    from simengine.cli import app

    group = typer.main.get_group(app)
    return group.list_commands(click.Context(group))


def repeated(count: int, once: Callable[[], Ran]) -> tuple[float, float]:
    """Median time passed and time on the processor [s], after one run that loads what is to load."""
    once()
    runs = [once() for _ in range(count)]
    return median(ran.passed for ran in runs), median(ran.busy for ran in runs)


def helps(count: int, quick: bool) -> list[Figure]:
    """`--help` of the program and of each command."""
    own, busy = repeated(count, lambda: checked(simengine("--help")))
    program = at_most(GROUP, "simengine --help", own, "s", HELP, measured=busy_told(busy), why=why_slow(busy))
    if quick:
        return [program]
    times = {
        name: repeated(count, lambda name=name: checked(simengine(name, "--help"))) for name in commands()
    }
    slowest = max(times, key=lambda name: times[name][0])
    told = ", ".join(f"{name} {passed:.2f}" for name, (passed, _) in times.items())
    passed, busy = times[slowest]
    return [
        program,
        at_most(
            GROUP,
            f"--help of a command, the slowest ({slowest})",
            passed,
            "s",
            HELP,
            measured=told,
            why=why_slow(busy),
        ),
    ]


def busy_told(busy: float) -> str:
    """For the table."""
    return f"{readable_time(busy)} on the processor"


def why_slow(busy: float) -> str:
    """Why a start is slow."""
    return BUSY.format(busy=readable_time(busy))


def input_error(count: int, folder: Path) -> Figure:
    """A misspelt key."""
    path = folder / "misspelt.yaml"
    path.write_text(MISSPELT.format(example=ROOT / FIRST_EXAMPLE))
    passed, busy = repeated(
        count, lambda: checked(simengine("fly", str(path), "-o", str(folder)), INPUT_ERROR_CODE)
    )
    return at_most(
        GROUP, "an input error", passed, "s", INPUT_ERROR, measured=busy_told(busy), why=why_slow(busy)
    )


def fly_warm(count: int, folder: Path) -> Figure:
    """The first example with its pictures, kernels compiled before."""
    passed, busy = repeated(count, lambda: checked(simengine("fly", FIRST_EXAMPLE, "-o", str(folder))))
    return at_most(
        GROUP,
        "fly of the first example, with pictures",
        passed,
        "s",
        FLY,
        measured=busy_told(busy),
        why=why_slow(busy),
    )


def first_ever(folder: Path) -> Figure:
    """The same where nothing was compiled before, once."""
    cache = folder / "cache"
    ran = checked(simengine("fly", FIRST_EXAMPLE, "-o", str(folder), SIMENGINE_CACHE_DIR=str(cache)))
    announced = "announced" if COMPILING in ran.told else "NOT announced"
    return at_most(
        GROUP,
        "fly of the first example, first run ever",
        ran.passed,
        "s",
        FIRST_EVER,
        measured=f"{busy_told(ran.busy)}; compilation {announced}",
        why="every kernel is compiled for this processor",
    )


def measure(quick: bool) -> list[Figure]:
    """Help, error, flight; the first run ever unless in haste."""
    count = 3 if quick else 5
    with TemporaryDirectory() as folder:
        figures = [
            *helps(count, quick),
            input_error(count, Path(folder)),
            fly_warm(count, Path(folder)),
        ]
        return figures if quick else [*figures, first_ever(Path(folder))]
