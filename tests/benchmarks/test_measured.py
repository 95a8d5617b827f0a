"""What the benchmarks compare gives the same answers, and the command that measures writes what it says.

No time is looked at here: `python tests/benchmarks/run.py` does that.
"""

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import run
from machines import STANDARD_DAY, demo_blade
from measured import propeller
from measured.c_kernel import BUILDS, c_kernels, compiler
from measured.figure import AT_LEAST, AT_MOST, Figure, at_least, at_most
from measured.flights_flown import TIGHT, climb_and_cruise, demo_machine, flown
from measured.library_flight import library_leg

from simengine.models.atmosphere import air_at

AIR = air_at(STANDARD_DAY, 500.0)


@pytest.mark.skipif(compiler() is None, reason="no C compiler")
def test_the_same_propeller_in_c_gives_the_same_loads():
    blade, points = demo_blade(), propeller.operating_points(100)
    with c_kernels() as twins:
        assert set(twins) >= {"fast", "strict"} <= set(BUILDS)
        for twin in twins.values():
            met = propeller.attached(blade, AIR, points, twin)
            assert len(met) > 50
            propeller.check_same(propeller.own_loads(blade, AIR, met), twin.many_loads(blade, AIR, met))


def test_without_a_compiler_the_table_says_so(monkeypatch):
    monkeypatch.setenv("PATH", "")
    monkeypatch.delenv("CC", raising=False)
    with c_kernels() as twins:
        assert twins == {}
    times = {"own": [1e-6], "one by one": [4e-6], "library": [1e-3]}
    missing, *rest = propeller.figures(times, 1.0)
    assert (missing.value, missing.met, missing.why) == (None, None, "no compiler")
    assert [figure.value for figure in rest] == pytest.approx([1000.0, 0.25])


def test_a_library_root_finder_gives_the_same_thrust():
    blade, points = demo_blade(), propeller.operating_points(3)
    own = propeller.own_loads(blade, AIR, points)
    with propeller.plain_python():
        library = [propeller.library_loads(blade, *point, AIR) for point in points]
    assert library == pytest.approx(own[:, propeller.THRUST], rel=propeller.LIBRARY_AGREEMENT)


def test_elements_in_step_give_the_same_loads_as_one_by_one():
    blade, points = demo_blade(), propeller.operating_points(50)
    one_by_one = blade._replace(lanes=blade.lanes[:0])
    propeller.check_same(
        propeller.own_loads(blade, AIR, points), propeller.own_loads(one_by_one, AIR, points)
    )


@pytest.mark.slow
@pytest.mark.parametrize("method", ["Radau", "BDF", "LSODA"])
def test_an_integrator_of_a_library_flies_the_same_hour(method):
    machine = demo_machine()
    reference = flown(machine, climb_and_cruise(tolerance=TIGHT))
    library = flown(machine, climb_and_cruise(), library_leg(method))
    # At the same tolerances LSODA is off most, by 3e-5 in fuel and 0.1 s.
    assert library.fuel == pytest.approx(reference.fuel, rel=1e-4)
    assert library.time == pytest.approx(reference.time, abs=0.2)
    assert library.outcome == reference.outcome


@pytest.mark.slow
def test_fuel_of_a_flight_hour_is_within_its_target_of_the_tight_tolerance():
    machine = demo_machine()
    tight = flown(machine, climb_and_cruise(tolerance=TIGHT))
    assert flown(machine, climb_and_cruise()).fuel == pytest.approx(tight.fuel, rel=1e-4)


def test_a_figure_is_met_on_the_good_side_of_its_target():
    assert at_most("g", "n", 3.0, "s", 6.0).share == 2.0
    assert at_least("g", "n", 3.0, "x", 6.0).share == 0.5
    assert at_most("g", "n", 6.0, "s", 6.0, why="slow").met
    assert at_most("g", "n", 6.0, "s", 6.0, why="slow").why == ""
    missed = at_least("g", "n", 5.0, "x", 6.0, why="slow")
    assert (missed.met, missed.why) == (False, "slow")
    assert Figure("g", "n", 1.0, "s").met is None
    assert Figure("g", "n", None, "s", target=1.0, sense=AT_MOST, why="no compiler").met is None
    assert Figure("g", "n", np.nan, "s", target=1.0, sense=AT_LEAST).met is False


def test_a_part_that_breaks_off_is_told():
    (figure,) = run.measured("nothing_of_that_name", quick=True)
    assert (figure.name, figure.met) == (run.BROKEN, None)
    assert "nothing_of_that_name" in figure.why


@pytest.mark.slow
def test_the_command_writes_a_document_and_a_picture_without_paths_of_the_machine(tmp_path):
    command = [sys.executable, "tests/benchmarks/run.py", "--quick", "--only", "envelope_map"]
    root = Path(__file__).parents[2]
    done = subprocess.run(
        [*command, "-o", str(tmp_path)], cwd=root, capture_output=True, text=True, check=True, timeout=300
    )
    assert "targets met" in done.stdout
    text = (tmp_path / "benchmarks.json").read_text()
    document = json.loads(text)
    assert str(Path.home()) not in text
    assert str(root) not in text
    assert document["machine"]["cores"] >= 1
    assert {figure["group"] for figure in document["figures"]} == {"envelope map"}
    assert all(figure["why"] for figure in document["figures"] if figure["met"] is False)
    assert (tmp_path / "benchmarks.png").read_bytes().startswith(b"\x89PNG")
