"""Ways to spoil what a result holds while it stays a NetCDF file: bytes to bytes, in memory."""

from collections.abc import Callable
from random import Random

import netCDF4
import numpy as np
from mutations import WORDS, Mutator

Change = Callable[[netCDF4.Dataset, Random], None]


def changed(change: Change) -> Mutator:
    """A mutator that opens the file, changes it and closes it."""

    def mutate(data: bytes, random: Random) -> bytes:
        try:
            file = netCDF4.Dataset("in-memory.nc", mode="a", memory=data)
            change(file, random)
            return bytes(file.close())
        except (OSError, RuntimeError, ValueError, TypeError, AttributeError, UnicodeError, IndexError):
            return data[: random.randrange(len(data) + 1)]  # the library will not write such a thing

    mutate.__name__ = change.__name__
    return mutate


def attribute_changed(file: netCDF4.Dataset, random: Random) -> None:
    """An attribute of the file or of a variable is gone or says something else."""
    owner = file if random.random() < 0.6 else file[random.choice(list(file.variables))]
    names = owner.ncattrs()
    if not names:
        return
    name = random.choice(names)
    if random.random() < 0.3:
        owner.delncattr(name)
        return
    value = random.choice(
        (
            "",
            *WORDS[:60],
            0,
            -1,
            1e300,
            float("nan"),
            np.zeros(0),
            np.arange(3),
            "x" * 60_000,
            "line\nline\x1b[2J",
        )
    )
    owner.setncattr(name, value)


def values_changed(file: netCDF4.Dataset, random: Random) -> None:
    """Numbers of a variable are not finite, huge, all the same, or out of order."""
    variable = file[random.choice(list(file.variables))]
    if variable.dtype is str or variable.size == 0:
        variable[...] = np.full(variable.shape, random.choice(WORDS[:60]), dtype=object)
        return
    values = np.array(variable[...], dtype=variable.dtype)
    way = random.randrange(4)
    if way == 0:
        values = values[::-1]
    elif way == 1:
        values[...] = random.choice((0, 1, 127))
    elif np.issubdtype(variable.dtype, np.floating):
        values.flat[random.randrange(values.size)] = random.choice((np.nan, np.inf, -np.inf, 1e308, -1.0))
        values = np.full_like(values, np.nan) if way == 2 else values
    variable[...] = values


def variable_renamed(file: netCDF4.Dataset, random: Random) -> None:
    """A variable has another name: it is missing."""
    name = random.choice(list(file.variables))
    file.renameVariable(name, random.choice((f"{name}_x", "x", "a/b", "é", "time", "phase")))


def dimension_renamed(file: netCDF4.Dataset, random: Random) -> None:
    """A dimension has another name."""
    name = random.choice(list(file.dimensions))
    file.renameDimension(name, random.choice((f"{name}_x", "time", "event", "phase")))


def variable_of_another_type(file: netCDF4.Dataset, random: Random) -> None:
    """A variable of the right name holds another type, on another dimension, or nothing."""
    name = random.choice(list(file.variables))
    file.renameVariable(name, f"{name}_before")
    file.createDimension("nothing", random.choice((0, 1, 3)))
    dimensions = random.choice(((), ("nothing",), ("nothing", "nothing"), file[f"{name}_before"].dimensions))
    made = file.createVariable(name, random.choice((str, "i1", "f8", "u8", "S1")), dimensions)
    made.units = random.choice(("s", "furlong", "days since 2000-01-01", "seconds since the Flood", ""))


def group_added(file: netCDF4.Dataset, random: Random) -> None:
    """The file holds groups too."""
    group = file
    for _ in range(random.choice((1, 50))):
        group = group.createGroup("deeper")
    group.setncattr("simengine_scenario", "x")


INSIDE: tuple[Mutator, ...] = tuple(
    changed(change)
    for change in (
        *(attribute_changed, attribute_changed, values_changed, variable_renamed, dimension_renamed),
        *(variable_of_another_type, group_added),
    )
)
