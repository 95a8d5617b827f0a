"""The one door to numba: compiled kernels with a cache that cannot go stale."""

from simengine.compiled.external import compiled_once
from simengine.compiled.kernels import (
    POINTER,
    kernel,
    kernel_part,
    linked_part,
    square_root,
    vector_kernel,
    vector_part,
)
from simengine.compiled.store import CACHE_VARIABLE, cache_folder, kernel_digest

__all__ = [
    "CACHE_VARIABLE",
    "POINTER",
    "cache_folder",
    "compiled_once",
    "kernel",
    "kernel_digest",
    "kernel_part",
    "linked_part",
    "square_root",
    "vector_kernel",
    "vector_part",
]
