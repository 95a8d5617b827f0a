"""Run in a process of its own: some work, then the most memory that the process ever held, in kB.

python peak_memory.py flights 100
python peak_memory.py tolerance 4096 FOLDER
"""

import sys
from pathlib import Path

TESTS = Path(__file__).parents[2]


def most_memory() -> int:
    """High-water mark of this process [kB]; that of `getrusage` would count the parent's too."""
    status = Path("/proc/self/status")
    if status.exists():
        line = next(line for line in status.read_text().splitlines() if line.startswith("VmHWM"))
        return int(line.split()[1])
    import resource

    kept = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return kept // 1024 if sys.platform == "darwin" else kept


def fly(count: int) -> None:
    """An hour's flight of so many machines, one after the other."""
    from measured.flights_flown import climb_and_cruise, flown, varied

    record = climb_and_cruise()
    for number in range(count):
        flown(varied(number), record)


def draw_hubs(count: int, folder: str) -> None:
    """The command `tolerance` with so many hubs."""
    from simengine.cli import app

    scenario = TESTS.parent / "scenarios" / "batch_of_hubs.yaml"
    app(["tolerance", str(scenario), "-n", str(count), "-o", folder, "-q"], standalone_mode=False)


if __name__ == "__main__":
    sys.path[:0] = [str(TESTS), str(TESTS / "benchmarks")]
    if sys.argv[1] == "flights":
        fly(int(sys.argv[2]))
    else:
        draw_hubs(int(sys.argv[2]), sys.argv[3])
    print(most_memory())
