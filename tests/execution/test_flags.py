"""The flags of the commands that run ensembles, as a user meets them."""

import pytest
from command_line import run
from flights import SCENARIOS

import simengine
from simengine.errors import ExecutionError, NoSolutionError
from simengine.execution import cluster
from simengine.execution.where import HERE, cores

ASKED = {
    "tolerance": ("batch_of_hubs.yaml", "-n", "64"),
    "envelope": ("climb_and_cruise.yaml",),
    "route": ("cross_country.yaml", "--draws", "2"),
    "calibrate": ("climb_and_cruise.yaml", SCENARIOS / "readings" / "first_flight.csv", "--coverage", "2"),
}


def arguments(command):
    scenario, *others = ASKED[command]
    return [command, SCENARIOS / scenario, *others]


@pytest.mark.parametrize("command", ASKED)
def test_every_ensemble_has_the_same_flags(monkeypatch, capsys, command):
    assert run(monkeypatch, command, "--help") == 0
    text = capsys.readouterr().out
    assert all(flag in text for flag in ("--workers", "--processes", "--scheduler"))


@pytest.mark.parametrize("command", ASKED)
def test_a_cluster_is_not_asked_for_with_local_workers(monkeypatch, tmp_path, capsys, command):
    more = ("--scheduler", "tcp://127.0.0.1:9", "--workers", "2", "-o", tmp_path / "out")
    assert run(monkeypatch, *arguments(command), *more) == 2
    assert "a cluster works with all the workers it has" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_a_cluster_that_does_not_answer_leaves_nothing_behind(monkeypatch, tmp_path, capsys):
    pytest.importorskip("distributed", reason="the extra 'cluster' is not installed")
    monkeypatch.setattr(cluster, "PATIENCE", 1.0)
    more = ("--scheduler", "tcp://127.0.0.1:9", "-q", "-o", tmp_path / "out")
    assert run(monkeypatch, *arguments("tolerance"), *more) == 2
    err = capsys.readouterr().err
    assert "nothing answers at tcp://127.0.0.1:9" in err and "dask scheduler" in err
    assert "Traceback" not in err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("command", ASKED)
def test_the_python_calls_ask_for_the_cluster_before_anything_is_computed(monkeypatch, tmp_path, command):
    pytest.importorskip("distributed", reason="the extra 'cluster' is not installed")
    monkeypatch.setattr(cluster, "PATIENCE", 0.5)

    def too_early():
        raise AssertionError("computing begins though nothing answers")

    call = getattr(simengine, command)
    files = [item for item in arguments(command)[1:3] if str(item).endswith((".yaml", ".csv"))]
    where = simengine.Where(scheduler="tcp://127.0.0.1:9")
    with pytest.raises(ExecutionError, match=r"nothing answers at tcp://127\.0\.0\.1:9"):
        call(*files, output=tmp_path / "out", where=where, before_computing=too_early)
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("elsewhere", [{"processes": True}, {"scheduler": "tcp://127.0.0.1:9"}])
def test_a_choice_is_made_on_threads_alone(tmp_path, elsewhere):
    with pytest.raises(ExecutionError, match="choose works on threads of this process alone"):
        simengine.choose(
            SCENARIOS / "choose_spring.yaml",
            tmp_path / "out",
            where=simengine.Where(**elsewhere),
            before_computing=lambda: pytest.fail("computed"),
        )


def test_a_choice_takes_as_many_threads_as_it_is_told(monkeypatch, tmp_path):
    told = []

    def threads_told(*_, **__):
        told.append(HERE.threads)
        raise NoSolutionError("nothing is computed")

    monkeypatch.setattr("simengine.studies.choose.study.choose", threads_told)
    for where in (simengine.Where(workers=3), None):
        with pytest.raises(NoSolutionError):
            simengine.choose(SCENARIOS / "choose_spring.yaml", tmp_path, where=where)
    assert told == [3, cores()]
