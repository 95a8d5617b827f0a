"""The one door to numba: compiled kernels with a cache that cannot go stale."""

from simengine.compiled.external import compiled_once
from simengine.compiled.kernels import (
    POINTER,
    array_at,
    gapless,
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
    "cache_folder",
    "compiled_once",
    "gapless",
    "kernel",
    "kernel_digest",
    "kernel_part",
    "linked_part",
    "room",
    "square_root",
    "uncounted_kernel",
    "vector_kernel",
    "vector_part",
]
