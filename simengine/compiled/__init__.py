"""The one door to numba: compiled kernels with a cache that cannot go stale."""

from simengine.compiled.external import compiled_once
from simengine.compiled.handover import (
    POINTER,
    array_kind,
    gapless,
    held_until_here,
    laid_out,
    lay_out_at,
    taken_up,
    tuple_kind,
)
from simengine.compiled.kernels import (
    array_at,
    kernel,
    kernel_part,
    linked_part,
    room,
    square_root,
    uncounted_kernel,
    vector_kernel,
    vector_part,
)
from simengine.compiled.store import CACHE_VARIABLE, cache_folder, kernel_digest

__all__ = [
    "CACHE_VARIABLE",
    "POINTER",
    "array_at",
    "array_kind",
    "cache_folder",
    "compiled_once",
    "gapless",
    "held_until_here",
    "kernel",
    "kernel_digest",
    "kernel_part",
    "laid_out",
    "lay_out_at",
    "linked_part",
    "room",
    "square_root",
    "taken_up",
    "tuple_kind",
    "uncounted_kernel",
    "vector_kernel",
    "vector_part",
]
