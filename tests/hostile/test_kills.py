"""A few kills at random moments; `kills.py` does a hundred."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

KILLS = 6


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(__import__("os"), "fork"), reason="kills children of its own")
def test_no_half_file_after_a_kill(tmp_path: Path) -> None:
    script, figures = Path(__file__).parent / "kills.py", tmp_path / "figures.json"
    run = subprocess.run(
        [
            *(sys.executable, str(script), "--kills", str(KILLS)),
            *("--only", "fly,check,tolerance", "--json", str(figures)),
        ],
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stdout + run.stderr
    found = json.loads(figures.read_text())
    assert found["kills"] == KILLS
    assert found["moments"].get("it had ended", 0) < KILLS, "nothing was killed"
