"""The files that are spoiled, one entry for each kind of input, and what is asked of each."""

import os
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from mutations import BYTES, TEXT, Mutator
from netcdf_mutations import INSIDE
from sealed_mutations import sealed_baseline, sealed_overlay, sealed_result
from table_mutations import TABLE, XML
from yaml_mutations import YAML

SCENARIOS = Path(__file__).parents[2] / "scenarios"
STARTER = Path(__file__).parents[2] / "simengine" / "scenario" / "starter.yaml"

SMALL_CHOICE = """\
simengine: 1
extends: choose_spring.yaml
choose:
  heights: [0 m]
  temperature_offsets: [0 K]
  masses: [155 kg]
  fewest_washers: 5
  most_washers: 7
  coarse_stops: [14 deg]
  fine_stops: [10 deg]
  wire_springs: {mean_diameters: [28 mm], active_coils: [4], free_lengths: [44 mm, 46 mm]}
"""
SMALL_BATCH = """\
simengine: 1
extends: batch_of_hubs.yaml
tolerance: {draws: 32, heights: [0 m],
  limits: [{figure: shift_begin_rpm, at_least: 4850 rpm, heights: [0 m]}]}
"""
SMALL_ENVELOPE = """\
simengine: 1
extends: second_engine.yaml
envelope: {heights_to: 4000 m, heights_count: 3, temperature_offsets: [0 K], masses: [150 kg], bars: [0 %],
  map_heights: 3, map_throttles: 3}
"""
SMALL_READINGS = """\
what,value,unit,+-,phase,height m,direction,use,note
shift_begin_rpm,5170,rpm,60,ground,120,,fit,lights
return_finish_rpm,4861,rpm,60,ground,120,,hold,lights
"""
HUBS = """\
hub,hub.spring.rate N/mm,propeller.blade_angle_datum deg,blade_angle_1 deg
one,14.2,0.1,0
two,13.8,-0.2,0.3
"""
SPRINGS = """\
name,wire_diameter mm,mean_diameter mm,active_coils,total_coils,free_length mm
a,3.8,28,4,6,46
b,4,28,5,7,45
"""
POINTS = "name,latitude,longitude\nfield,46.8,9.0\nlake,46.95,9.3\nfield,46.8,9.0\n"
MARK = b"# this folder holds scenarios\n"


@dataclass(frozen=True)
class Seed:
    """A file to spoil.

    Attributes
    ----------
    kind : str
        Kind of input, as it is counted.
    file : str
        Its path inside the folder of inputs.
    command : tuple of str
        What is run; `{}` stands for the path of the file, `{in}` for the folder of inputs.
    mutators : tuple of Mutator
    named : bool
        Whether the file is named on the command line, and so may have another name.
    """

    kind: str
    file: str
    command: tuple[str, ...]
    mutators: tuple[Mutator, ...]
    named: bool = True


def demo(name: str, *command: str) -> Seed:
    """A demo."""
    return Seed("scenario", f"{name}.yaml", (*command, "{}"), YAML)


def part(name: str, scenario: str, *command: str) -> Seed:
    """A part, pulled in by a demo."""
    return Seed("part", f"parts/{name}.yaml", (*command, f"{{in}}/{scenario}.yaml"), YAML, named=False)


NETCDF = (*BYTES, *INSIDE, *INSIDE, sealed_result, sealed_result)
STEADY = ("fly", "--fidelity", "steady")
SEEDS: tuple[Seed, ...] = (
    demo("ground_run", "fly"),
    demo("climb_and_cruise", "fly"),
    demo("climb_and_cruise_fixed", "fly"),
    demo("heavy_pilot_hot_day", "fly"),
    demo("disc_washer_hub", "fly"),
    demo("torsion_hub", *STEADY),
    demo("own_polar", *STEADY),
    demo("starter", "fly"),
    demo("small_envelope", "envelope"),
    demo("second_engine", "envelope"),
    demo("two_stop_or_fixed", "compare"),
    demo("cross_country", "route", "--draws", "0"),
    demo("triangle", "route", "--draws", "0"),
    demo("long_route", "route", "--draws", "0"),
    demo("small_choice", "choose"),
    demo("choose_spring", "choose"),
    demo("small_batch", "tolerance", "-n", "32"),
    demo("batch_of_hubs", "tolerance"),
    demo("loads_and_failures", "loads"),
    demo("climb_and_cruise", "loads"),
    Seed("scenario", "revisions/revision_a_first_hub.yaml", ("check", "{}"), YAML),
    part("hubs/coil_14_10", "ground_run", "fly"),
    part("hubs/disc_washers_13_9", "disc_washer_hub", "fly"),
    part("hubs/torsion_14_10", "torsion_hub", "fly"),
    part("hubs/fixed_12", "climb_and_cruise_fixed", "fly"),
    part("engines/single_200_20kw", "ground_run", "fly"),
    part("engines/single_130_15kw", "second_engine", "fly"),
    part("propellers/two_blade_130", "ground_run", "fly"),
    part("propellers/three_blade_125", "second_engine", "fly"),
    part("wings/reflex_23", "climb_and_cruise", "fly"),
    part("wings/touring_26", "heavy_pilot_hot_day", "fly"),
    part("hubs/coil_14_10", "small_batch", "tolerance", "-n", "32"),
    part("engines/single_200_20kw", "loads_and_failures", "loads"),
    part("engines/single_130_15kw", "small_envelope", "envelope"),
    part("propellers/two_blade_130", "small_choice", "choose"),
    part("wings/touring_26", "triangle", "route", "--draws", "0"),
    Seed("readings", "readings/first_flight.csv", ("calibrate", "{in}/climb_and_cruise.yaml", "{}"), TABLE),
    Seed("readings", "readings/few.csv", ("calibrate", "{in}/climb_and_cruise.yaml", "{}"), TABLE),
    Seed(
        "raw log",
        "readings/ground_run_log.csv",
        ("calibrate", "{in}/climb_and_cruise.yaml", "{}"),
        TABLE,
    ),
    Seed("polar", "parts/polars/cambered_12.csv", ("fly", "{in}/own_polar.yaml"), TABLE, named=False),
    Seed(
        "waypoints gpx",
        "triangle.gpx",
        ("route", "--draws", "0", "{in}/triangle.yaml"),
        XML,
        named=False,
    ),
    Seed(
        "waypoints csv",
        "points.csv",
        ("route", "--draws", "0", "{in}/points.yaml"),
        TABLE,
        named=False,
    ),
    Seed("hubs", "hubs.csv", ("tolerance", "{in}/small_batch.yaml", "--hubs", "{}"), TABLE),
    Seed("springs", "springs.csv", ("choose", "{in}/small_choice.yaml", "--springs", "{}"), TABLE),
    Seed(
        "baseline",
        "revisions/revision_a_first_hub.baseline.yaml",
        ("check", "{in}/revisions/revision_a_first_hub.yaml"),
        (*YAML, *[sealed_baseline] * len(YAML)),
        named=False,
    ),
    Seed("fitted", "climb_and_cruise.fitted.yaml", ("card", "{}"), YAML),
    Seed("fitted", "climb_and_cruise.fitted.yaml", ("fly", "{}"), (*YAML, sealed_overlay, sealed_overlay)),
    Seed(
        "fitted",
        "climb_and_cruise.fitted.yaml",
        ("calibrate", "{in}/climb_and_cruise.yaml", "{in}/readings/few.csv"),
        (*TEXT, *[sealed_overlay] * len(TEXT)),
        named=False,
    ),
    Seed("result", "ground_run.nc", ("compare", "{in}/ground_run_again.nc", "{}"), NETCDF),
    Seed("result", "ground_run.nc", ("report", "{}"), NETCDF),
    Seed("result", "made.calibrate.nc", ("report", "{}"), NETCDF),
    Seed("result", "made.envelope.nc", ("report", "{}"), NETCDF),
    Seed(
        "folder mark",
        "simengine.root",
        ("fly", "{in}/revisions/revision_a_first_hub.yaml"),
        TEXT,
        named=False,
    ),
)


def make_inputs(folder: Path) -> None:
    """Every seed in a folder of its own, and beside it what must not be touched."""
    shutil.copytree(SCENARIOS, folder, dirs_exist_ok=True)
    for name, text in {
        "small_choice.yaml": SMALL_CHOICE,
        "small_batch.yaml": SMALL_BATCH,
        "small_envelope.yaml": SMALL_ENVELOPE,
        "readings/few.csv": SMALL_READINGS,
        "hubs.csv": HUBS,
        "springs.csv": SPRINGS,
        "points.csv": POINTS,
        "points.yaml": (SCENARIOS / "triangle.yaml").read_text().replace("triangle.gpx", "points.csv"),
        "starter.yaml": STARTER.read_text(),
        "ring_a.yaml": "extends: ring_b.yaml\n",
        "ring_b.yaml": "extends: ring_a.yaml\n",
        **{f"ladder_{step}.yaml": ladder(step) for step in range(12)},
    }.items():
        (folder / name).write_text(text, encoding="utf-8")
    outside = folder.parent / "outside"
    outside.mkdir(exist_ok=True)
    (outside / "secret.yaml").write_text("simengine: 1\ntitle: TOPSECRET\n")
    (folder / "link_out.yaml").symlink_to(outside / "secret.yaml")
    (folder / "link_out").symlink_to(outside)
    (folder / "link_loop.yaml").symlink_to("link_loop.yaml")
    (folder / "link_zero.yaml").symlink_to("/dev/zero")
    (folder / "folder.yaml").mkdir()
    if hasattr(os, "mkfifo"):
        os.mkfifo(folder / "pipe.yaml")


def ladder(step: int) -> str:
    """A file that pulls in the next one ten times: a bomb of parts."""
    keys = (f"k{number}: {{use: ladder_{step + 1}.yaml}}" for number in range(10))
    return "\n".join(keys) + "\n"


def make_results(folder: Path, run: Callable[..., int]) -> None:
    """The seeds that a run writes: a result, and a fitted scenario."""
    out = folder.parent / "made"
    for name in ("ground_run.nc", "ground_run_again.nc"):
        assert run("fly", str(folder / "ground_run.yaml"), "-o", str(out)) == 0
        shutil.copy(out / "ground_run.nc", folder / name)
    readings = folder / "readings" / "few.csv"
    assert run("calibrate", str(folder / "climb_and_cruise.yaml"), str(readings), "-o", str(out)) == 0
    shutil.copy(out / "climb_and_cruise.calibrate.nc", folder / "made.calibrate.nc")
    assert run("envelope", str(folder / "small_envelope.yaml"), "-o", str(out)) == 0
    shutil.copy(out / "small_envelope.envelope.nc", folder / "made.envelope.nc")
    shutil.rmtree(out)
