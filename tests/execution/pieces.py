"""Pieces of work for the tests: found by worker processes under this name, and by nothing else."""

import os
import signal
import time
from pathlib import Path

import numpy as np

from simengine.errors import Problem, ScenarioError
from simengine.execution.where import on_threads


def doubled(plan):
    """Build: the plan twice."""
    return 2.0 * plan


def random_piece(built, number):
    """Depends on nothing but plan and number."""
    random = np.random.default_rng([int(built), number])
    return {"drawn": random.standard_normal(5), "process": np.array(os.getpid())}


def slow_piece(built, number):
    time.sleep(0.05)
    return random_piece(built, number)


def thread_counting_piece(built, number):
    """Names of the threads that inner work runs on."""
    import threading

    names = on_threads(lambda _: threading.current_thread().name, range(4))
    return {"threads": np.array(len(set(names)))}


def impossible_piece(built, number):
    raise ScenarioError([Problem("own.yaml", 3, "hub.kind", f"number {number} is odd")])


def the_plan(plan):
    return plan


def deadly_once(plan, number):
    """Kills its process the first time that it gets to number 3; `plan` is a folder to remember it in."""
    mark = Path(plan) / "died"
    if number == 3 and not mark.exists():
        mark.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return random_piece(1.0, number)


def deadly(plan, number):
    """Kills its process whenever it gets to number 3."""
    if number == 3:
        os.kill(os.getpid(), signal.SIGKILL)
    return random_piece(1.0, number)
