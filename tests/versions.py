"""Run tests with the lowest or the newest versions of the libraries that pyproject.toml allows.

    python3.11 tests/versions.py lowest                      # in a new virtual environment, the quick tests
    python3.13 tests/versions.py newest -- tests/scenario    # with another Python, and only these tests

What stands after `--` goes to pytest instead of `-m "not slow"`. `--keep FOLDER` leaves the environment there
and uses it again.
"""

import argparse
import os
import re
import subprocess
import sys
import tempfile
import tomllib
import venv
from pathlib import Path

ROOT = Path(__file__).parent.parent
QUICK = ["-n", "2", "-q", "-m", "not slow"]
NOT_TO_RUN = ("mypy", "ruff", "scipy-stubs", "types-")  # look at the source only, and tie other versions down


def needed() -> list[str]:
    """Requirements of the program and of its tests."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    tools = [text for text in project["optional-dependencies"]["test"] if not text.startswith(NOT_TO_RUN)]
    return [*project["dependencies"], *tools]


def lowest(requirement: str) -> str:
    """`name==version` of the lower bound, where there is one."""
    bound = re.match(r"([\w.-]+)\s*>=\s*([\w.]+)", requirement)
    return f"{bound[1]}=={bound[2]}" if bound else requirement


def make_environment(folder: Path, which: str) -> None:
    """A virtual environment of this Python with simengine, its source as it stands, and what tests need."""
    venv.create(folder, with_pip=True)
    pip = [folder / "bin" / "python", "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    wanted = [lowest(text) for text in needed()] if which == "lowest" else needed()
    subprocess.run([*pip, "--editable", ROOT, *wanted], check=True)


def run_tests(folder: Path, arguments: list[str]) -> int:
    """Run pytest in an environment, with compiled kernels of its own; its exit code."""
    python = folder / "bin" / "python"
    subprocess.run([python, "-m", "pip", "list", "--disable-pip-version-check"], check=True)
    environment = os.environ | {"SIMENGINE_CACHE_DIR": str(folder / "cache")}
    return subprocess.run(
        [python, "-m", "pytest", *arguments], cwd=ROOT, env=environment, check=False
    ).returncode


def main() -> int:
    """Make the environment and run."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("which", choices=("lowest", "newest"))
    parser.add_argument("--keep", type=Path, metavar="FOLDER")
    split = sys.argv.index("--") if "--" in sys.argv else len(sys.argv)
    asked = parser.parse_args(sys.argv[1:split])
    with tempfile.TemporaryDirectory() as passing:
        folder = (asked.keep or Path(passing) / "environment").absolute()
        if not (folder / "bin" / "python").exists():
            make_environment(folder, asked.which)
        # Old libraries warn of one another; only what fails is of interest there.
        warnings = ["-W", "default"] if asked.which == "lowest" else []
        return run_tests(folder, [*warnings, *(sys.argv[split + 1 :] or QUICK)])


if __name__ == "__main__":
    sys.exit(main())
