"""One result of every kind that a page can be made from, small, as files; all invented."""

import shutil
import tempfile
from functools import cache
from pathlib import Path

from comparisons import comparison_folder
from flights import SCENARIOS
from synthetic_envelope import synthetic_envelope
from synthetic_flight import synthetic_flight

import simengine
from simengine.results.catalogue import STUDY
from simengine.results.netcdf import write_netcdf

READINGS = """\
what, value, unit, +-, phase
shift_begin_rpm, 4990, rpm, 60, ground
shift_finish_rpm, 6350, rpm, 60, ground
full_throttle_rpm, 7700, rpm, 60, ground
"""
CHOICE = """\
extends: climb_and_cruise.yaml
title: small choice (invented)
choose: {heights: [0 m], draws: 16, targets: {cruise_rpm: 5000 rpm}}
"""
ROUTE = """\
extends: cross_country.yaml
title: small route (invented)
route: {map: {heights: 3, winds: 3}, uncertainty: {draws: 8}}
"""
KINDS = ("fly", "envelope", "compare", "route", "calibrate", "card", "choose", "tolerance", "loads")


@cache
def own_scenarios():
    """A copy of the demo scenarios and a few small ones; kept until the process ends."""
    keeper = tempfile.TemporaryDirectory(prefix="simengine-tests-")
    folder = Path(keeper.name) / "scenarios"
    shutil.copytree(SCENARIOS, folder)
    for name, text in (("choice.yaml", CHOICE), ("route.yaml", ROUTE), ("run.csv", READINGS)):
        (folder / name).write_text(text)
    comparison_folder(folder / "short")
    return folder, keeper


@cache
def result_file(kind):
    """A result of a kind; neither it nor its file may be changed."""
    folder, _ = own_scenarios()
    if kind == "fly":
        return write_netcdf(synthetic_flight(hangs=True).dataset(), folder / "synthetic.nc")
    if kind == "envelope":
        made_up = synthetic_envelope().assign_attrs({STUDY: "envelope"})
        return write_netcdf(made_up, folder / "synthetic.envelope.nc")
    plain = {"pictures": False}
    made = {
        "compare": lambda: simengine.compare([folder / "short" / "base.yaml"], folder, **plain),
        "route": lambda: simengine.route(folder / "route.yaml", folder, **plain),
        "calibrate": lambda: simengine.calibrate(
            folder / "climb_and_cruise.yaml", [folder / "run.csv"], folder, **plain
        ),
        "card": lambda: simengine.card(folder / "ground_run.yaml", folder),
        "choose": lambda: simengine.choose(folder / "choice.yaml", folder, **plain),
        "tolerance": lambda: simengine.tolerance(folder / "batch_of_hubs.yaml", folder, draws=64, **plain),
        "loads": lambda: simengine.loads(folder / "loads_and_failures.yaml", folder, **plain),
    }[kind]()
    return next(path for path in made.paths if path.suffix == ".nc")
