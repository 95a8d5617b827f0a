"""Run the command in this process, or a piece of code on a terminal."""

import os
import subprocess
import sys

import pytest

from simengine import cli


def run(monkeypatch, *arguments):
    """Run the command in this process; its exit code."""
    monkeypatch.setattr(sys, "argv", ["simengine", *map(str, arguments)])
    with pytest.raises(SystemExit) as caught:
        cli.main()
    return caught.value.code or 0


def failing(error):
    """A stand-in that raises whatever it is called with."""

    def stub(*_):
        raise error

    return stub


def on_a_terminal(code, stream, environment):
    """Run code with one of its streams on a terminal; the bytes it wrote there."""
    ours, theirs = os.openpty()
    child = subprocess.Popen([sys.executable, "-c", code], env=environment, **{stream: theirs})
    os.close(theirs)
    seen = b""
    while True:
        try:
            block = os.read(ours, 65536)
        except OSError:
            break
        if not block:
            break
        seen += block
    os.close(ours)
    assert child.wait() == 0
    return seen
