"""Every ensemble gives the same file wherever it is worked out, and goes on from what was kept."""

from dataclasses import replace

import numpy as np
import pytest
from flights import demo_scenario
from small_route import small_scenario
from synthetic_readings import SHIFTS, reading

from simengine.execution.store import FolderStore, MemoryStore
from simengine.execution.where import Where
from simengine.scenario import records
from simengine.scenario.variation import with_values
from simengine.studies.calibrate.coverage import coverage
from simengine.studies.calibrate.forward import predicted
from simengine.studies.calibrate.study import calibrated
from simengine.studies.calibrate.subject import subject_of
from simengine.studies.envelope.study import envelope
from simengine.studies.route.study import route
from simengine.studies.tolerance.parts import PART
from simengine.studies.tolerance.study import Question, tolerance

pytestmark = pytest.mark.slow

GRID = {"heights_to": 4100.0, "heights_count": 3, "map_heights": 3, "map_throttles": 5}


def hubs(store, where):
    return arrays(tolerance(Question(demo_scenario("batch_of_hubs"), PART + 100, 1), store, where))


def points(store, where):
    scenario = demo_scenario("second_engine")
    record = scenario.record.model_copy(update={"envelope": records.Envelope(**GRID)})
    return arrays(envelope(replace(scenario, record=record), store=store, where=where))


def trips(store, where):
    scenario = small_scenario()
    return arrays(route(scenario, draws=6, store=store, where=where))


def repeats(store, where):
    """Coverage of a calibration whose fit is not repeated for every way."""
    found = coverage(fitted(), 5, store=store, where=where)
    return {"inside": found.inside, "joint": found.joint}


FITTED = []


def fitted():
    if not FITTED:
        scenario = demo_scenario()
        wanted = [reading(name, 1.0, "ground") for name in SHIFTS]
        values = predicted(subject_of(scenario.record), wanted)
        read = [
            replace(item, value=float(value), plus_minus=6.0)
            for item, value in zip(wanted, values, strict=True)
        ]
        FITTED.append(calibrated(scenario, read))
    return FITTED[0]


def arrays(dataset):
    """Every variable, and every attribute but the moment."""
    attributes = {name: str(value) for name, value in dataset.attrs.items() if name != "history"}
    return {name: variable.values for name, variable in dataset.variables.items()} | {
        "": np.array(sorted(attributes.items()))
    }


def assert_same(one, other):
    assert one.keys() == other.keys()
    for name, values in one.items():
        assert values.dtype == other[name].dtype, name
        if values.dtype == object:
            assert list(values.ravel()) == list(other[name].ravel()), name
        else:
            assert values.tobytes() == other[name].tobytes(), name


@pytest.mark.parametrize("study", [hubs, points, trips, repeats])
def test_one_thread_two_threads_two_processes_and_a_resumed_run(study, tmp_path):
    store = FolderStore(tmp_path / "parts")
    alone = study(store, Where(workers=1))
    kept = sorted((tmp_path / "parts").glob("*.npz"))
    assert len(kept) >= 2
    assert_same(alone, study(MemoryStore(), Where(workers=2)))
    for path in kept[::2]:
        path.unlink()
    times = {path: path.stat().st_mtime_ns for path in kept[1::2]}
    assert_same(alone, study(store, Where(workers=2, processes=True)))
    assert all(path.stat().st_mtime_ns == time for path, time in times.items())
    assert all(path.exists() for path in kept)


def test_another_question_is_worked_out_anew(tmp_path):
    """Also where only the record differs, which the merged text does not tell."""
    store = FolderStore(tmp_path / "parts")
    trips(store, Where())
    before = {path: path.stat().st_mtime_ns for path in (tmp_path / "parts").glob("*.npz")}
    scenario = small_scenario()
    heavier = with_values(scenario.record, {"masses.pilot": scenario.record.masses.pilot + 1.0})
    route(replace(scenario, record=heavier), draws=6, store=store)
    assert all(path.stat().st_mtime_ns != time for path, time in before.items())
