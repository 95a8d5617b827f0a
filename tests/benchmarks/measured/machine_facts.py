"""What a reader must know of the machine: processor, cores, versions; nothing that tells whose it is."""

import os
import platform
import subprocess
import sys
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path

from llvmlite import binding as llvm

from measured.c_kernel import compiler

LIBRARIES = ("numpy", "scipy", "numba", "llvmlite", "xarray", "pydantic", "matplotlib", "simengine-flight")
VECTORS = ("avx512f", "avx2", "avx", "neon", "sse2")


def processor() -> str:
    """Name of the processor, as it gives it."""
    information = Path("/proc/cpuinfo")
    if information.exists():
        for line in information.read_text().splitlines():
            if line.startswith("model name"):
                return line.split(":", 1)[1].strip()
    return platform.processor() or platform.machine()


def widest_vectors() -> str:
    """The widest vector units."""
    features = llvm.get_host_cpu_features()
    return next((name for name in VECTORS if features.get(name, False)), "none known")


def compiler_version() -> str:
    """First line of the C compiler about itself."""
    program = compiler()
    if program is None:
        return "no compiler"
    told = subprocess.run([program, "--version"], capture_output=True, text=True, check=False).stdout
    return told.splitlines()[0] if told else "unknown"


def load() -> float | None:
    """How many processes want a core, mean of the last minute; figures of a busy machine are too high."""
    return round(os.getloadavg()[0], 2) if hasattr(os, "getloadavg") else None


def facts() -> dict[str, object]:
    """For the table's heading and the JSON."""
    return {
        "date": datetime.now(UTC).strftime("%Y-%m-%d"),
        "processor": processor(),
        "compiled_for": llvm.get_host_cpu_name(),
        "vectors": widest_vectors(),
        "cores": os.cpu_count(),
        "load_before": load(),
        "system": f"{platform.system()} {platform.machine()}",
        "python": sys.version.split()[0],
        "c_compiler": compiler_version(),
    } | {name: version(name) for name in LIBRARIES}
