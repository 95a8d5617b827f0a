"""Pieces of work that the overhead is measured with, found by workers under this name."""

import numpy as np
from measured.flights_flown import climb_and_cruise, flown, varied

from simengine.flight import dynamic

FLIGHTS = 20  # of a piece


def nothing(_plan):
    """Nothing to make ready."""


def no_work(_built, number):
    """Nothing to do."""
    return {"number": np.array(number)}


def as_large_as_hubs(_built, number):
    """Nothing to do, and as much to hand back as a part of a tolerance study: 1024 hubs with 52 numbers."""
    return {"values": np.full((1024, 52), float(number))}


def flown_machine(_plan):
    """The scenario, and one flight for the kernels' sake."""
    flown(varied(0), climb_and_cruise(), dynamic.fly_leg)
    return climb_and_cruise()


def flights(record, number):
    """Dynamic flights of one hour of machines that differ: fuel [kg]."""
    numbers = range(number * FLIGHTS, (number + 1) * FLIGHTS)
    return {"fuel": np.array([flown(varied(each), record, dynamic.fly_leg).fuel for each in numbers])}
