"""The demo revisions in a folder of their own, to be broken by tests."""

import shutil
from pathlib import Path

REVISIONS = Path(__file__).parent.parent / "scenarios" / "revisions"


def copied_suite(folder):
    """A copy of the suite with its baselines and, in its own folder, the parts; returns the folder."""
    shutil.copytree(REVISIONS, folder / "revisions")
    shutil.copytree(REVISIONS.parent / "parts", folder / "revisions" / "parts")
    return folder / "revisions"


def revision(suite, name, text):
    """Put a change on top of the agreed hub, under the baseline of the agreed hub; returns the file."""
    path = suite / f"{name}.yaml"
    path.write_text(f"extends: agreed.yaml\n{text}\n", encoding="utf-8")
    return path


def changed(suite, text):
    """The agreed hub itself changed, as by an edit of its file; returns the file."""
    path = suite / "agreed.yaml"
    head, tail = path.read_text(encoding="utf-8").split("\nhub:", 1)
    (suite / "base.yaml").write_text(f"{head}\nhub:{tail}", encoding="utf-8")
    path.write_text(f"extends: base.yaml\n{text}\n", encoding="utf-8")
    return path


PROGRAM = ("simengine:", "versions:", "platform:", "fidelity:", "solver:")


def of_the_scenario(changes):
    """Changes of the machine alone: a baseline may have been stored by other library versions."""
    return tuple(change for change in changes if not change.startswith(PROGRAM))
