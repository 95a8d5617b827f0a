"""Memory: the most that a process holds over a number of runs, and over ten times as many."""

import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from measured.children import checked, run
from measured.figure import Figure, at_most

GROUP = "memory"
CHILD = Path(__file__).with_name("peak_memory.py")
FLAT = 1.1  # target: ten times the runs over the runs
PART = 4096  # hubs that a tolerance study works out and keeps at once; fewer say nothing


def most_memory(*arguments: str) -> float:
    """Most memory of a child [MB]."""
    return int(checked(run(sys.executable, str(CHILD), *arguments)).printed.split()[-1]) / 1024


def growth(words: str, few: int, *work: str, folder: bool = False) -> Figure:
    """Ten times as many runs over few."""
    peaks = []
    for count in (few, 10 * few):
        with TemporaryDirectory() as place:
            peaks.append(most_memory(*work, str(count), *([place] if folder else [])))
    told = f"{peaks[0]:.0f} MB for {few}, {peaks[1]:.0f} MB for {10 * few}"
    return at_most(
        GROUP, words, peaks[1] / peaks[0], "x", FLAT, measured=told, why="something is kept of every run"
    )


def measure(quick: bool) -> list[Figure]:
    """Flights and hubs."""
    flights = growth("ten times the flights", 5 if quick else 15, "flights")
    if quick:
        return [flights]
    return [flights, growth("ten times the hubs of a tolerance study", PART, "tolerance", folder=True)]
