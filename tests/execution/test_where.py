"""Nothing heavy is loaded for a choice of place."""

import subprocess
import sys


def test_a_choice_of_place_loads_nothing_heavy():
    code = (
        "import sys, pathlib\nfrom simengine.execution.where import Where\n"
        "from simengine.execution.store import kept_beside\nWhere(workers=2)\n"
        "print([name for name in ('numpy', 'numba', 'xarray', 'distributed') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
