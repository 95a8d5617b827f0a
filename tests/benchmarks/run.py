"""Measure how fast the engine is, as ratios wherever there is something to hold it against.

    python tests/benchmarks/run.py            a few minutes, on a machine that does nothing else
    python tests/benchmarks/run.py --quick    about a minute, to see where things stand

Prints a table; writes `benchmarks.json` and `benchmarks.png` into outputs/benchmarks (or the folder of -o).
Leaves with 0 whatever was measured: a missed target is told, not an error; with 1 if a part broke off.
"""

import argparse
import importlib
import json
import sys
from collections.abc import Sequence
from pathlib import Path
from time import perf_counter

from rich.console import Console

HERE = Path(__file__).parent
for folder in (HERE.parent, HERE):
    sys.path.insert(0, str(folder))

from measured.figure import Figure  # noqa: E402
from measured.machine_facts import facts  # noqa: E402
from measured.picture import write_picture  # noqa: E402
from measured.table import print_table  # noqa: E402

BROKEN = "the whole part"
BUSY = "This machine was busy: map, start-up and what a second core brings are worse than they could be."

MODULES = (
    "propeller",
    "flight_hour",
    "ensembles",
    "hubs",
    "envelope_map",
    "slopes",
    "start_up",
    "memory",
)


def asked(arguments: Sequence[str] | None) -> argparse.Namespace:
    """What was typed."""
    parser = argparse.ArgumentParser(
        prog="python tests/benchmarks/run.py",
        description=__doc__,
        formatter_class=argparse.RawTextHelpFormatter,
    )
    parser.add_argument("--quick", action="store_true", help="fewer repeats; leaves out what takes long")
    parser.add_argument("-o", "--output", type=Path, default=Path("outputs/benchmarks"), metavar="DIR")
    parser.add_argument("--json", action="store_true", help="print the JSON document instead of the table")
    parser.add_argument(
        "--only", nargs="+", choices=MODULES, default=MODULES, metavar="PART", help=", ".join(MODULES)
    )
    return parser.parse_args(arguments)


def measured(part: str, quick: bool) -> list[Figure]:
    """Figures of one part; one that breaks off is told and does not take the others with it."""
    try:
        return list(importlib.import_module(f"measured.{part}").measure(quick))
    except Exception as error:
        why = f"broke off: {type(error).__name__}: {error}".splitlines()[0]
        return [Figure(part, BROKEN, None, "", why=why)]


def main(arguments: Sequence[str] | None = None) -> int:
    """Measure, print, write."""
    options = asked(arguments)
    machine = facts()
    console, aside = Console(width=None if sys.stdout.isatty() else 150), Console(stderr=True)
    figures: list[Figure] = []
    durations: dict[str, float] = {}
    for part in options.only:
        start = perf_counter()
        figures += measured(part, options.quick)
        durations[part] = round(perf_counter() - start, 1)
        aside.print(f"{part}: {durations[part]:.0f} s", highlight=False)
    heading = (
        "{processor}, {cores} cores, {vectors}, load {load_before}; {date}, simengine {simengine-flight}, "
        "numba {numba}"
    ).format_map(machine)
    document = {
        "machine": machine,
        "quick": options.quick,
        "seconds": durations,
        "figures": [figure.document() for figure in figures],
    }
    options.output.mkdir(parents=True, exist_ok=True)
    text = json.dumps(document, indent=2, allow_nan=False)
    (options.output / "benchmarks.json").write_text(text + "\n")
    write_picture(options.output / "benchmarks.png", figures, heading)
    if options.json:
        print(text)
    else:
        print_table(console, figures, heading)
        if (machine["load_before"] or 0.0) > 0.5 * machine["cores"]:
            console.print(BUSY, style="yellow")
        for name in ("benchmarks.json", "benchmarks.png"):
            aside.print(f"written: {options.output / name}", highlight=False)
    return 1 if any(figure.name == BROKEN for figure in figures) else 0


if __name__ == "__main__":
    sys.exit(main())
