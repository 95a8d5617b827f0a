"""What every question's report reads of a result."""

from math import isfinite

import numpy as np
import xarray


def moves_by_itself(dataset: xarray.Dataset) -> bool:
    """Whether the hub is one whose shift is the question."""
    return str(dataset.attrs["hub_kind"]) == "two_stop"


def time_words(seconds: float) -> str:
    """`42 s`, `3:05 min`, `1:02:00 h`."""
    if not isfinite(seconds):
        return "unknown time"
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        return f"{whole // 60}:{whole % 60:02d} min"
    return f"{whole // 3600}:{whole % 3600 // 60:02d}:{whole % 60:02d} h"


def number(dataset: xarray.Dataset, name: str) -> float:
    """A single stored number."""
    return float(np.asarray(dataset[name].values))
