"""A progress bar on a terminal, for what takes longer than a second."""

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

from simengine.execution.progress import Progress

PATIENCE = 1.0  # nothing is shown before that [s]


@contextmanager
def progress_bar(heading: str) -> Iterator[Progress | None]:
    """Give a function to report progress to (share done 0 to 1, what is being done).

    None where standard error is no terminal. The bar is taken back when the work is done.
    """
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, TextColumn, TimeRemainingColumn
    from rich.progress import Progress as Bar

    columns = (
        BarColumn(24),
        TextColumn("{task.percentage:>3.0f} %"),
        TimeRemainingColumn(),
        TextColumn("{task.description}", markup=False),
    )
    bar = Bar(*columns, console=Console(stderr=True), transient=True)
    task = bar.add_task(heading, total=1.0)
    started, shown = time.monotonic(), False

    def report(share: float, words: str) -> None:
        nonlocal shown
        bar.update(task, completed=min(max(share, 0.0), 1.0), description=f"{heading} {words}".rstrip())
        if not shown and time.monotonic() - started >= PATIENCE:
            shown = True
            bar.start()

    try:
        yield report
    finally:
        if shown:
            bar.stop()
