"""What the pictures of a route share: colours of hubs, states along the way."""

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import xarray
from numpy.typing import NDArray

from simengine.report.flight.panels import BLUE, GREEN, GREY, ORANGE, VERMILION

Array = NDArray[np.float64]

HUB_COLOURS = {"own": BLUE, "fine": GREEN, "coarse": ORANGE, "compromise": VERMILION, "governed": GREY}


def numbers(dataset: xarray.Dataset, name: str) -> Array:
    """Values of a variable as numbers."""
    return np.asarray(dataset[name].values, dtype=np.float64)


def colour_of(dataset: xarray.Dataset, row: int) -> str:
    """Colour of a hub."""
    return HUB_COLOURS[str(dataset["hub_key"].values[row])]


def leg_edges(dataset: xarray.Dataset) -> Array:
    """Distances at which legs begin and end [km]."""
    starts, lengths = numbers(dataset, "leg_start"), numbers(dataset, "leg_distance")
    return np.append(starts, starts[-1] + lengths[-1])


def stretches(dataset: xarray.Dataset) -> Iterator[tuple[int, int, int]]:
    """Pitch state between neighbouring points of one leg's way: first row, second row, state."""
    legs = np.asarray(dataset["path_leg"].values)
    states = np.asarray(dataset["path_pitch_state"].values)
    for first, second in pairwise(range(legs.size)):
        if legs[first] == legs[second]:
            yield first, second, int(states[second])
