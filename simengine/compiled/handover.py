"""Tuples handed on through one address, for functions behind C calls, which take no tuples.

A tuple is laid out flat in words of eight bytes, in the order of its fields: floats and whole numbers as they
are, an array as the address of its first number and its lengths, a tuple within it field by field. Both
sides name the type, so that each reads what the other wrote.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
from llvmlite import ir as llvm_types
from numba import types
from numba.core import cgutils
from numba.extending import intrinsic, overload
from numba.np import arrayobj

POINTER = types.CPointer(types.float64)
FLOAT_BYTES = 8
NUMBERS = (types.float64, types.int64)


def tuple_kind(kind: type, *fields: Any) -> Any:
    """numba's type of a NamedTuple whose fields are of these types."""
    return types.BaseTuple.from_types(fields, kind)


def array_kind(dimensions: int) -> Any:
    """numba's type of an array of floats without gaps."""
    return types.Array(types.float64, dimensions, "C")


def has_gaps(kind: Any) -> bool:
    """Whether a type is, or holds, that of an array with gaps."""
    if isinstance(kind, types.Array):
        return bool(kind.layout != "C")
    return isinstance(kind, types.BaseTuple) and any(map(has_gaps, kind))


def words_of(kind: Any) -> int:
    """Words that a value of a type takes."""
    if isinstance(kind, types.BaseTuple):
        return sum(map(words_of, kind))
    return 1 + kind.ndim if isinstance(kind, types.Array) else 1


def array_from(context: Any, builder: Any, kind: Any, address: Any, lengths: Sequence[Any]) -> Any:
    """Array of floats without gaps at an address; nobody counts who holds it."""
    itemsize = context.get_constant(types.intp, FLOAT_BYTES)
    strides = [itemsize]
    for length in lengths[:0:-1]:
        strides.insert(0, builder.mul(strides[0], length))
    made = arrayobj.make_array(kind)(context, builder)
    arrayobj.populate_array(made, address, lengths, strides, itemsize, None)
    return made._getvalue()


class Words:
    """Words from an address on, one after the other, while code is made that reads or writes them."""

    def __init__(self, context: Any, builder: Any, address: Any) -> None:
        self.context, self.builder, self.address, self.place = context, builder, address, 0

    def next_word(self, kind: Any) -> Any:
        """Address of the next word, as that of a value of an LLVM type."""
        index = self.context.get_constant(types.intp, self.place)
        self.place += 1
        return self.builder.bitcast(self.builder.gep(self.address, [index]), kind.as_pointer())

    def write(self, value: Any, given: Any, wanted: Any) -> None:
        """Write a value of a given type as one of a wanted type."""
        if isinstance(wanted, types.BaseTuple):
            for i, (part, into) in enumerate(zip(given, wanted, strict=True)):
                self.write(self.builder.extract_value(value, i), part, into)
        elif isinstance(wanted, types.Array):
            array = arrayobj.make_array(given)(self.context, self.builder, value)
            for word in (array.data, *cgutils.unpack_tuple(self.builder, array.shape)):
                self.builder.store(word, self.next_word(word.type))
        else:
            number = self.context.cast(self.builder, value, given, wanted)
            self.builder.store(number, self.next_word(number.type))

    def read(self, kind: Any) -> Any:
        """Read a value of a type."""
        if isinstance(kind, types.BaseTuple):
            return self.context.make_tuple(self.builder, kind, [self.read(part) for part in kind])
        if isinstance(kind, types.Array):
            word = self.context.get_value_type(types.intp)
            data = self.builder.load(self.next_word(self.context.get_value_type(POINTER)))
            lengths = [self.builder.load(self.next_word(word)) for _ in range(kind.ndim)]
            return array_from(self.context, self.builder, kind, data, lengths)
        return self.builder.load(self.next_word(self.context.get_value_type(kind)))


def fits(given: Any, wanted: Any) -> bool:
    """Whether a value of a given type can be laid out as one of a wanted type."""
    if isinstance(wanted, types.BaseTuple):
        same_length = isinstance(given, types.BaseTuple) and len(given) == len(wanted)
        return same_length and all(map(fits, given, wanted))
    if isinstance(wanted, types.Array):
        alike = isinstance(given, types.Array) and given.dtype == wanted.dtype and given.ndim == wanted.ndim
        return alike and not has_gaps(given)
    return wanted in NUMBERS and isinstance(given, types.Number | types.Boolean)


@intrinsic  # type: ignore[untyped-decorator]
def laid_out(typingctx: Any, values: Any, kind: Any) -> Any:
    """Address of a tuple laid out as one of a type, which lasts until the kernel returns."""
    wanted = kind.instance_type
    if not fits(values, wanted):
        return None

    def generate(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        word = context.get_value_type(types.float64)
        space = cgutils.alloca_once(builder, llvm_types.ArrayType(word, words_of(wanted)))
        address = builder.bitcast(space, word.as_pointer())
        Words(context, builder, address).write(arguments[0], values, wanted)
        return address

    return POINTER(values, kind), generate


@intrinsic  # type: ignore[untyped-decorator]
def lay_out_at(typingctx: Any, address: Any, values: Any, kind: Any) -> Any:
    """Lay a tuple out at an address, as one of a type."""
    wanted = kind.instance_type
    if not fits(values, wanted):
        return None

    def generate(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        Words(context, builder, arguments[0]).write(arguments[1], values, wanted)
        return context.get_dummy_value()

    return types.void(POINTER, values, kind), generate


@intrinsic  # type: ignore[untyped-decorator]
def taken_up(typingctx: Any, address: Any, kind: Any) -> Any:
    """The tuple of a type that was laid out at an address; nobody counts who holds its arrays."""
    wanted = kind.instance_type

    def generate(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        return Words(context, builder, arguments[0]).read(wanted)

    return wanted(POINTER, kind), generate


@intrinsic  # type: ignore[untyped-decorator]
def held_until_here(typingctx: Any, values: Any) -> Any:
    """Nothing; whoever counts the holders of arrays lets go of these only afterwards."""

    def generate(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        return context.get_dummy_value()

    return types.void(values), generate


def gapless(value: Any) -> Any:
    """In a kernel: an array or a tuple as it is, or with copies of the arrays that have gaps."""
    if isinstance(value, tuple):
        return type(value)(*map(gapless, value))
    return np.ascontiguousarray(value) if isinstance(value, np.ndarray) else value


@overload(gapless, inline="always", strict=False)  # type: ignore[untyped-decorator]
def gapless_value(value: Any) -> Any:
    """What stands for `gapless` in a kernel."""
    if not has_gaps(value):
        return lambda value: value
    if isinstance(value, types.Array):
        return lambda value: np.ascontiguousarray(value)
    kind = value.instance_class
    return lambda value: kind(*gapless_each(tuple(value)))


def gapless_each(values: tuple[Any, ...]) -> tuple[Any, ...]:
    """`gapless` of each."""
    return tuple(map(gapless, values))


@overload(gapless_each, strict=False)  # type: ignore[untyped-decorator]
def gapless_fields(values: Any) -> Any:
    """What stands for `gapless_each` in a kernel."""
    if len(values) == 0:
        return lambda values: ()
    return lambda values: (gapless(values[0]), *gapless_each(values[1:]))
