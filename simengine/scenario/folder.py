"""The scenario folder: what a scenario may pull in lies in it, and nothing outside it is read.

It is the folder that the scenario lies in, or the nearest one above that holds a file named `simengine.root`:
so scenarios in folders of their own share parts. The file counts only if it belongs to whom the scenario
belongs to: who could put it there could as well have put the scenario there, and so it opens no folder to
anybody that was closed to him before.
"""

import os
from pathlib import Path

MARK = "simengine.root"


def scenario_folder(file: Path) -> Path:
    """Folder, resolved, outside of which a scenario reads nothing.

    Parameters
    ----------
    file : Path
        The scenario.
    """
    own = file.parent.resolve()
    try:
        owner = file.stat().st_uid
    except (OSError, ValueError):
        return own
    return next((folder for folder in (own, *own.parents) if is_marked(folder, owner)), own)


def is_marked(folder: Path, owner: int) -> bool:
    """Whether a folder holds the mark, as a plain file of that owner."""
    mark = folder / MARK
    try:
        return mark.is_file() and not mark.is_symlink() and mark.stat().st_uid == owner
    except OSError:
        return False


def shown_folder(file: Path, folder: Path) -> Path:
    """The scenario folder as the user would type it."""
    if folder == file.parent.resolve():
        return file.parent
    return folder if file.is_absolute() else Path(os.path.relpath(folder))
