"""Keys that a calibration leaves in the scenario it writes."""

from collections.abc import Iterator
from typing import Annotated

from pydantic import Field

from simengine.scenario.quantities import Complaint, Fraction, Record

ROUNDING = 1e-3


class Calibration(Record):
    """How fitted values hang together; written by `simengine calibrate`, not meant to be typed.

    `parameters` are key paths of values that carry their `+-` where they stand, `correlation` the matrix of
    their correlation coefficients. `mass_per_length_band` is the half-width, as a share, of the factor fitted
    to the column `mass_per_length` of a blade's stations, where no `+-` can stand.
    """

    readings: str = ""
    """Which readings it was fitted to."""
    mass_per_length_band: Annotated[Fraction, Field(gt=0, le=1)] | None = None
    """Half-width (95 %) of the factor fitted to the column `mass_per_length`."""
    parameters: Annotated[tuple[str, ...], Field(min_length=1, max_length=200)]
    """Key paths of the fitted values."""
    correlation: tuple[tuple[Annotated[float, Field(ge=-1, le=1)], ...], ...]
    """Correlation coefficients of the fitted values, a row for each."""

    def complaints(self) -> Iterator[Complaint]:
        """A correlation matrix: square, symmetric, ones on its diagonal."""
        size = len(self.parameters)
        if len(self.correlation) != size or any(len(row) != size for row in self.correlation):
            yield Complaint(
                ("correlation",), f"must be {size} rows of {size} numbers, one for each parameter"
            )
            return
        for i, row in enumerate(self.correlation):
            if abs(row[i] - 1.0) > ROUNDING or any(
                abs(row[j] - self.correlation[j][i]) > ROUNDING for j in range(i)
            ):
                yield Complaint(("correlation", i), "must be symmetric with ones on the diagonal")
