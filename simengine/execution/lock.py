"""Only one run at a time in a folder of parts."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from simengine.results.lock import locked


@contextmanager
def alone_in(folder: Path) -> Iterator[None]:
    """Keep other runs out of `folder` for the block, by a locked file beside it.

    Raises
    ------
    OutputError
        If another run is at work there, or the file cannot be made.
    """
    path = folder.with_name(f"{folder.name}.lock")
    busy = (
        f"{path.parent}: another run of the same study is at work here ({path.name} is locked); "
        "wait for it, or give another folder with -o"
    )
    with locked(path, busy):
        yield
