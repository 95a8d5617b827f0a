"""The command line: one file a command. Reads arguments, calls one function, prints.

Heavy imports wait until a command needs them: `simengine --help` must be there at once.
"""

from simengine.cli import (
    calibrate,
    card,
    check,
    choose,
    compare,
    envelope,
    fly,
    loads,
    report,
    route,
    start,
    tolerance,
    warmup,
)
from simengine.cli.program import app, main

__all__ = [
    "app",
    "calibrate",
    "card",
    "check",
    "choose",
    "compare",
    "envelope",
    "fly",
    "loads",
    "main",
    "report",
    "route",
    "start",
    "tolerance",
    "warmup",
]
