"""Tuples handed on through one address come out as they went in."""

from typing import NamedTuple

import numpy as np
import pytest
from numba import njit, types
from numba.core.errors import TypingError

from simengine.compiled import (
    POINTER,
    array_kind,
    compiled_once,
    gapless,
    held_until_here,
    kernel,
    laid_out,
    lay_out_at,
    room,
    taken_up,
    tuple_kind,
)


class Inner(NamedTuple):
    """A tuple within another."""

    column: np.ndarray
    number: float


class Outer(NamedTuple):
    """Whatever can be handed on."""

    table: np.ndarray
    inner: Inner
    count: int


INNER = tuple_kind(Inner, array_kind(1), types.float64)
OUTER = tuple_kind(Outer, array_kind(2), INNER, types.int64)
ANSWER = types.UniTuple(types.float64, 3)


@compiled_once("test_of_handing_over", types.void(POINTER, POINTER))
def weighed(result, given):
    """Sums of what was handed over, each field with a weight of its own."""
    whole = taken_up(given, OUTER)
    column = 0.0
    for i in range(len(whole.inner.column)):
        column += (i + 1) * whole.inner.column[i]
    table = 0.0
    for i in range(whole.table.shape[0]):
        for j in range(whole.table.shape[1]):
            table += (10 * i + j) * whole.table[i, j]
    lay_out_at(result, (column + whole.inner.number, table, whole.count), ANSWER)


@kernel
def asked(outer):
    """`weighed` from a kernel."""
    result, held = room(3), gapless(outer)
    weighed(result, laid_out(held, OUTER))
    held_until_here(held)
    return taken_up(result, ANSWER)


def expected(outer):
    """The same by numpy."""
    rows, columns = np.indices(outer.table.shape)
    column = np.sum((np.arange(len(outer.inner.column)) + 1) * outer.inner.column)
    return column + outer.inner.number, np.sum((10 * rows + columns) * outer.table), outer.count


def example(number=0.25):
    """Something to hand over; whole numbers in every array, so that sums are exact."""
    return Outer(np.arange(6.0).reshape(2, 3), Inner(np.array([3.0, 1.0, 4.0, 1.0]), number), 7)


def test_every_field_arrives():
    assert asked(example()) == expected(example())


def test_a_whole_number_becomes_the_float_that_is_asked_for():
    assert asked(example(number=2)) == expected(example(number=2.0))


def test_arrays_with_gaps_go_as_copies_that_last_as_long_as_they_are_read():
    gapped = example()._replace(table=np.arange(12.0).reshape(2, 6)[:, ::2])
    gapped = gapped._replace(inner=Inner(np.repeat(gapped.inner.column, 2)[::2], 0.25))
    assert asked(gapped) == expected(gapped)


def test_an_empty_array_arrives():
    empty = example()._replace(table=np.empty((0, 3)))
    assert asked(empty) == expected(empty)


@pytest.mark.parametrize(
    "wrong",
    [
        example()._replace(table=np.arange(6.0)),
        example()._replace(table=np.arange(12.0).reshape(2, 6)[:, ::2]),
        example()._replace(inner=1.0),
    ],
    ids=["dimensions", "gaps", "no tuple"],
)
def test_what_does_not_fit_is_refused_before_it_runs(wrong):
    @njit
    def handed(outer):
        return taken_up(laid_out(outer, OUTER), OUTER).count

    with pytest.raises(TypingError):
        handed(wrong)


def test_in_plain_python_gaps_go_as_well():
    gapped = example()._replace(table=np.arange(12.0).reshape(2, 6)[:, ::2])
    assert gapless(gapped).table.flags.c_contiguous
    assert gapless(gapped).inner.number == 0.25
