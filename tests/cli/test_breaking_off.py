"""A command that is broken off, and one whose output nobody reads any more."""

import os
import signal
import subprocess
import sys
import time

import pytest
from flights import SCENARIOS

PROGRAM = "import sys; sys.argv[0] = 'simengine'; from simengine.cli import main; main()"
COMMAND = [sys.executable, "-c", PROGRAM]

pytestmark = pytest.mark.skipif(os.name == "nt", reason="signals and pipes of another kind")


@pytest.mark.slow
def test_ctrl_c_in_a_long_study_tells_what_is_kept_and_how_to_go_on(tmp_path):
    asked = [*COMMAND, "tolerance", SCENARIOS / "batch_of_hubs.yaml", "-n", "200000", "-q", "-o", tmp_path]
    parts = tmp_path / ".batch_of_hubs.tolerance.nc.parts"
    with subprocess.Popen(asked, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as child:
        while len(list(parts.glob("*.npz"))) < 2:
            assert child.poll() is None, "it was done before it could be broken off"
            time.sleep(0.002)
        child.send_signal(signal.SIGINT)
        out, err = child.communicate(timeout=60)
    kept = len(list(parts.glob("*.npz")))
    assert (child.returncode, out) == (130, "")
    assert f"interrupted; {kept} pieces of work are kept in {parts}: ask the same again to go on" in err
    assert "Traceback" not in err and "Aborted" not in err
    assert list(tmp_path.iterdir()) == [parts]


def said_to_nobody(arguments, *, both=False):
    """Exit code of a command whose output goes into a pipe without a reader, and what it complained."""
    reader, writer = os.pipe()
    os.close(reader)
    try:
        done = subprocess.run(
            [*COMMAND, *arguments],
            stdout=writer,
            stderr=writer if both else subprocess.PIPE,
            text=True,
            check=False,
            timeout=120,
        )
    finally:
        os.close(writer)
    return done.returncode, done.stderr or ""


@pytest.mark.parametrize(
    ("arguments", "both"),
    [
        (("--help",), False),
        (("loads", "--help"), True),
        (("schema",), False),
        (("fly", SCENARIOS / "ground_run.yaml"), True),
        (("fly", SCENARIOS / "ground_run.yaml", "--json"), False),
        (("loads", SCENARIOS / "ground_run.yaml", "-v"), False),
    ],
    ids=["help", "help_of_a_command", "schema", "print_out_and_messages", "document", "print_out"],
)
@pytest.mark.usefixtures("all_compiled")
def test_without_a_reader_it_ends_quietly(tmp_path, arguments, both):
    # 141 is what the system's own programs leave with then: 128 and the number of SIGPIPE.
    written = ["-o", tmp_path / "out"] if "--help" not in arguments and arguments[0] != "schema" else []
    code, complaints = said_to_nobody([*arguments, *written], both=both)
    assert code == 141
    assert complaints == ""
    if written:
        assert list((tmp_path / "out").glob("*.nc"))
