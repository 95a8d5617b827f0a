"""The command line: one file a command. Reads arguments, calls one function, prints.

Heavy imports wait until a command needs them: `simengine --help` must be there at once.
"""

from simengine.cli import envelope, fly, start
from simengine.cli.program import app, main

__all__ = ["app", "envelope", "fly", "main", "start"]
