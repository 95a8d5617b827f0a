"""Tolerance study: closed forms, published indices, independence of how the work is cut."""

from pathlib import Path

import numpy as np
import pytest
from scipy.stats import binomtest, norm, sobol_indices

import simengine
from simengine.balance.shift_tables import FIGURES
from simengine.errors import ScenarioError
from simengine.execution.store import MemoryStore, plan_digest
from simengine.execution.where import threads_here
from simengine.scenario import load_scenario
from simengine.studies.tolerance.inputs import groups, shares_from, tolerance_inputs
from simengine.studies.tolerance.measured_hubs import read_hubs
from simengine.studies.tolerance.model import NONE_FITS
from simengine.studies.tolerance.parts import PART
from simengine.studies.tolerance.ranking import variance_shares
from simengine.studies.tolerance.study import Question, model_of, plan_of, tolerance, worked_out
from simengine.studies.tolerance.tally import Tally, histogram_edges, share_band

SCENARIOS = Path(__file__).parents[2] / "scenarios"
MOMENT = FIGURES.index("margin_moment")


def scenario_with(tmp_path, block, base="climb_and_cruise.yaml", more=""):
    """A scenario beside the demo ones with another block `tolerance`."""
    import shutil

    folder = tmp_path / "scenarios"
    if not folder.exists():
        shutil.copytree(SCENARIOS, folder)
    path = folder / "own.yaml"
    path.write_text(f"extends: {base}\n{more}tolerance:\n{block}", encoding="utf-8")
    return load_scenario(path)


ONE_NORMAL = """  heights: [0 m]
  ground: false
  inputs:
    - {input: hub.spring.preload_angle, distribution: normal, plus_minus: 2 deg}
  limits:
    - {figure: shift_margin_moment, at_least: LIMIT N*m}
"""


@pytest.fixture(scope="module")
def torsion(tmp_path_factory):
    """One normal input whose effect is exactly linear: moment on the fine stop against wind-up."""
    block = ONE_NORMAL.replace("LIMIT", "-100")
    return scenario_with(tmp_path_factory.mktemp("torsion"), block, "torsion_hub.yaml")


def test_one_normal_input_in_a_linear_case(torsion, tmp_path):
    """M = M_nominal - k (preload - preload_nominal): normal with standard deviation k sigma."""
    record = torsion.record
    question = Question(torsion, 4096, 3)
    model = model_of(question)
    part = worked_out(question, model, 0)
    moment = part.figures[0, :, MOMENT]
    nominal = model.figures(model.values(np.full((1, 1), 0.5)))[0, 0, MOMENT]
    rate, sigma = record.hub.spring.rate, np.radians(1.0)
    assert moment == pytest.approx(
        nominal - rate * (part.values[:, 0] - record.hub.spring.preload_angle), abs=1e-9
    )
    assert moment.mean() == pytest.approx(nominal, abs=0.002 * rate * sigma)
    assert moment.std() == pytest.approx(rate * sigma, rel=0.002)
    for share in (0.025, 0.5, 0.9):
        assert np.quantile(moment, share) == pytest.approx(
            nominal + rate * sigma * norm.ppf(share), abs=0.01 * rate * sigma
        )


def test_yield_of_the_linear_case_is_the_normal_integral(torsion, tmp_path):
    question = Question(torsion, 4096, 3)
    model = model_of(question)
    nominal = model.figures(model.values(np.full((1, 1), 0.5)))[0, 0, MOMENT]
    sigma = torsion.record.hub.spring.rate * np.radians(1.0)
    limit = nominal - 1.2 * sigma
    tighter = scenario_with(tmp_path, ONE_NORMAL.replace("LIMIT", f"{limit:.9f}"), "torsion_hub.yaml")
    dataset = tolerance(Question(tighter, 4096, 3), MemoryStore())
    exact = norm.cdf(1.2)
    assert float(dataset["yield_together"]) == pytest.approx(exact, abs=0.001)
    assert float(dataset["yield_together_low"]) < exact < float(dataset["yield_together_high"])
    halved = norm.cdf(2.4)
    assert float(dataset["halved_yield_together"][0]) == pytest.approx(halved, abs=0.001)
    first = dataset["first_order"].sel(ranked_figure="shift_drive").isel(place=0, input=0)
    assert float(first) == pytest.approx(1.0, abs=0.02)
    assert float(dataset["shift_margin_moment_deviation"][0]) == pytest.approx(sigma, rel=0.002)
    quantile = nominal + sigma * norm.ppf(0.025)
    assert float(dataset["shift_margin_moment_low"][0]) == pytest.approx(quantile, abs=0.03 * sigma)


def test_draws_do_not_depend_on_how_they_are_cut(torsion):
    inputs = tolerance_inputs(load_scenario(SCENARIOS / "batch_of_hubs.yaml"))
    whole = shares_from(len(inputs), 0, 2 * PART, 7)
    assert np.array_equal(whole[:PART], shares_from(len(inputs), 0, PART, 7))
    assert np.array_equal(whole[PART:], shares_from(len(inputs), PART, PART, 7))
    assert not np.array_equal(whole[:PART], shares_from(len(inputs), 0, PART, 8))
    shorter = worked_out(Question(torsion, 300, 1), model_of(Question(torsion, 300, 1)), 0)
    with threads_here(1):
        longer = worked_out(Question(torsion, 1000, 1), model_of(Question(torsion, 1000, 1)), 0)
    assert np.array_equal(shorter.figures, longer.figures[:, :300])


@pytest.mark.parametrize("place", range(6))
def test_distributions_have_their_deviation(place):
    inputs = tolerance_inputs(load_scenario(SCENARIOS / "batch_of_hubs.yaml"))
    item = inputs[place]
    shares = (np.arange(200_000) + 0.5) / 200_000
    values = item.values(shares)
    assert values.mean() == pytest.approx(item.value, abs=1e-6 * item.width)
    assert values.std() == pytest.approx(item.deviation, rel=1e-3)
    assert np.abs(values - item.value).max() <= item.farthest
    assert item.halved().values(shares).std() == pytest.approx(0.5 * item.deviation, rel=1e-3)


def test_inputs_left_out_are_the_scenarios_and_the_usual(tmp_path):
    more = "hub:\n  spring:\n    rate: 96 +- 3 N/mm\n"
    scenario = scenario_with(tmp_path, "  draws: 100\n", more=more)
    inputs = {item.name: item for item in tolerance_inputs(scenario)}
    assert inputs["hub.spring.rate"].width == pytest.approx(3000.0)
    assert inputs["hub.spring.rate"].origin == "+- of the scenario"
    assert "no source" in inputs["hub.spring.free_length"].origin
    assert list(groups(tolerance_inputs(scenario)))[-1] == "blade_mass between blades"


# T. Ishigami and T. Homma, Proc. ISUMA (1990) 398-403: a = 7, b = 0.1; indices from their closed form.
def ishigami(x):
    return np.sin(x[:, 0]) + 7.0 * np.sin(x[:, 1]) ** 2 + 0.1 * x[:, 2] ** 4 * np.sin(x[:, 0])


def ishigami_indices():
    first = 0.5 * (1.0 + 0.1 * np.pi**4 / 5.0) ** 2, 49.0 / 8.0, 0.0
    both = 0.1**2 * np.pi**8 * (1.0 / 18.0 - 1.0 / 50.0)
    variance = sum(first) + both
    total = first[0] + both, first[1], both
    return np.array(first) / variance, np.array(total) / variance


@pytest.fixture(scope="module")
def ishigami_samples():
    points = shares_from(6, 0, 4096, 2) * 2.0 * np.pi - np.pi
    base, other = points[:, :3], points[:, 3:]
    mixed = []
    for column in range(3):
        swapped = base.copy()
        swapped[:, column] = other[:, column]
        mixed.append(ishigami(swapped))
    return ishigami(base), ishigami(other), np.array(mixed)


def test_indices_of_a_published_function(ishigami_samples):
    base, other, mixed = ishigami_samples
    found = variance_shares(base[:, None], other[:, None], mixed[:, :, None], seed=1)
    first, total = ishigami_indices()
    assert found.first_order[:, 0] == pytest.approx(first, abs=0.02)
    assert found.total_order[:, 0] == pytest.approx(total, abs=0.02)
    assert (found.first_low[:, 0] <= first).all()
    assert (found.first_high[:, 0] >= first).all()


def test_indices_as_scipy_has_them(ishigami_samples):
    base, other, mixed = ishigami_samples
    found = variance_shares(base[:, None], other[:, None], mixed[:, :, None], seed=1)
    theirs = sobol_indices(
        func={"f_A": base[None, :], "f_B": other[None, :], "f_AB": mixed[:, None, :]}, n=base.size
    )
    assert found.first_order[:, 0] == pytest.approx(np.ravel(theirs.first_order), abs=1e-9)
    assert found.total_order[:, 0] == pytest.approx(np.ravel(theirs.total_order), abs=1e-9)


@pytest.mark.parametrize(("passed", "count"), [(0, 20), (20, 20), (7, 20), (9931, 10000)])
def test_band_of_a_share_as_scipy_has_it(passed, count):
    exact = binomtest(passed, count).proportion_ci(0.95, method="exact")
    assert share_band(passed, count) == pytest.approx((exact.low, exact.high), abs=1e-9)


def test_tally_is_that_of_all_hubs_at_once():
    rng = np.random.default_rng(1)
    question = Question(load_scenario(SCENARIOS / "batch_of_hubs.yaml"), 2 * 600, 1)
    model = model_of(question)
    figures = rng.normal(500.0, 20.0, (4, 1200, len(FIGURES)))
    figures[0, ::7, 0] = np.nan
    washers = rng.integers(NONE_FITS, 9, 1200).astype(np.int16)
    from simengine.studies.tolerance.parts import Part

    tally = Tally(histogram_edges(figures[:, :600]), 12, model.criteria)
    for start in (0, 600):
        rows = slice(start, start + 600)
        part = Part(start, np.empty((600, 0)), figures[:, rows], figures[:, rows, 1] > 495.0, washers[rows])
        tally.add(part)
    assert tally.mean() == pytest.approx(np.nanmean(figures, axis=1), rel=1e-12)
    assert tally.deviation() == pytest.approx(np.nanstd(figures, axis=1, ddof=1), rel=1e-9)
    wide = np.nanquantile(figures, 0.9, axis=1)
    assert tally.quantile(0.9) == pytest.approx(wide, abs=2.0)
    assert np.array_equal(tally.passed, (figures[:, :, 1] > 495.0).sum(axis=1))
    assert np.array_equal(tally.washers, np.bincount(washers + 1, minlength=14))
    assert tally.bins[1, 0].sum() == 1200


def test_washers_bring_a_stiff_spring_in(tmp_path):
    """The study names the washers nearest to the drawing's that bring a hub in, by trying one by one."""
    block = "  heights: [0 m]\n  ground: false\n"
    free = model_of(Question(scenario_with(tmp_path, block), 2, 1))
    limit = free.figures(free.values(np.full((1, len(free.inputs)), 0.5)))[0, 0, 0]  # the drawing's begin
    block += f"  limits:\n    - {{figure: shift_begin_rpm, at_most: {limit * 30.0 / np.pi:.3f} rpm}}\n"
    question = Question(scenario_with(tmp_path, block), 200, 1)
    model = model_of(question)
    part = worked_out(question, model, 0)
    out = np.flatnonzero(~part.inside[0])
    assert 50 < out.size < 150
    for hub in out[:5]:
        begins = [model.figures(part.values[[hub]], count)[0, 0, 0] for count in range(13)]
        within = [count for count, begin in enumerate(begins) if begin <= limit]
        assert part.washers[hub] == max(within, default=NONE_FITS)


def test_a_drawing_with_more_washers_than_are_tried(tmp_path):
    """Counts between those to be tried and the drawing's are tried as well, and so is the drawing's."""
    more = "hub:\n  spring:\n    washers: 6\n"
    limit = "  limits:\n    - {figure: shift_begin_rpm, at_most: LIMIT rpm}\n"
    block = "  heights: [0 m]\n  ground: false\n  most_washers: 2\n"
    free = model_of(Question(scenario_with(tmp_path, block, more=more), 2, 1))
    middle = free.values(np.full((1, len(free.inputs)), 0.5))
    begins = [free.figures(middle, count)[0, 0, 0] * 30.0 / np.pi for count in range(7)]
    between = 0.5 * (begins[4] + begins[5])
    model = model_of(
        Question(scenario_with(tmp_path, block + limit.replace("LIMIT", f"{between:.3f}"), more=more), 2, 1)
    )
    assert model.most_washers == 6
    figures = model.figures(middle)
    assert list(model.washers_to_fit(middle, model.inside(figures))) == [4]


def test_measured_hubs_with_more_washers_than_are_tried(tmp_path):
    scenario = scenario_with(
        tmp_path,
        "  heights: [0 m]\n  most_washers: 2\n  limits:\n    - {figure: shift_begin_rpm, at_least: 1 rpm}\n",
    )
    path = tmp_path / "hubs.csv"
    path.write_text("hub,hub.spring.washers\nA,9\nB,1\n", encoding="utf-8")
    hubs = read_hubs(path, scenario.record)
    dataset = tolerance(Question(scenario, 2, 1, hubs), MemoryStore())
    assert dataset["washers_share"].sel(washers=9) == 0.5
    assert float(dataset["washers_share"].sum()) == 1.0


def test_friction_below_zero_counts_as_no_hub(tmp_path):
    block = (
        "  heights: [0 m]\n  inputs:\n    - {input: friction, plus_minus: 200 %}\n"
        "  between_blades:\n    - {input: friction, plus_minus: 20 %}\n"
    )
    question = Question(scenario_with(tmp_path, block), 1024, 1)
    model = model_of(question)
    part = worked_out(question, model, 0)
    broken = np.isnan(part.figures[0, :, 0])
    assert np.array_equal(broken, part.values[:, 0] < 0.0)
    assert broken.mean() == pytest.approx(norm.cdf(-1.0), abs=0.01)
    assert not part.inside[:, broken].any()
    dataset = tolerance(question, MemoryStore())
    assert f"{broken.sum()} of 1024 hubs cannot be built" in dataset.attrs["model_limits"]


def test_two_degrees_of_blade_angle_cost_yield(tmp_path):
    """The wider blade angle error gives the smaller yield, on the demo batch."""
    shares = []
    for width in ("0.5 deg", "2 deg"):
        block = (
            "  heights: [0 m, 3000 m]\n  inputs:\n    - {input: propeller.blade_angle_datum, plus_minus: "
            f"{width}}}\n  limits:\n    - {{figure: shift_margin_rpm, at_least: 150 rpm}}\n"
        )
        question = Question(scenario_with(tmp_path, block), 512, 1)
        model = model_of(question)
        shares.append(worked_out(question, model, 0).inside.all(axis=0).mean())
    assert shares[1] < shares[0]


def test_a_plan_is_everything_that_draws_depend_on(tmp_path):
    """Also what is changed in a file that the scenario extends."""
    one = scenario_with(tmp_path, "  draws: 100\n")
    hubs = tmp_path / "hubs.csv"
    hubs.write_text("hub,hub.spring.washers\nA,1\n", encoding="utf-8")
    measured = read_hubs(hubs, one.record)
    lower = tmp_path / "scenarios" / "parts" / "hubs" / "coil_14_10.yaml"
    text = lower.read_text(encoding="utf-8")
    assert text.count("rate: 96 N/mm") == 1
    lower.write_text(text.replace("rate: 96 N/mm", "rate: 97 N/mm"), encoding="utf-8")
    other = load_scenario(tmp_path / "scenarios" / "own.yaml")
    asked = [(one, 100, 1), (other, 100, 1), (one, 101, 1), (one, 100, 2), (one, 100, 1, measured)]
    assert len({plan_digest(*plan_of(Question(*question))) for question in asked}) == 5


@pytest.mark.parametrize(
    "given",
    [
        {"draws": 0},
        {"draws": 1},
        {"draws": 100_000_000},
        {"draws": 99.5},
        {"seed": -1},
    ],
)
def test_the_python_call_keeps_to_the_bounds(tmp_path, given):
    with pytest.raises(ScenarioError, match=f"{next(iter(given))}: must be a whole number"):
        simengine.tolerance(SCENARIOS / "batch_of_hubs.yaml", tmp_path / "out", **given)
    assert not (tmp_path / "out").exists()


def test_measured_hubs_are_read_in_their_units(tmp_path):
    record = load_scenario(SCENARIOS / "climb_and_cruise.yaml").record
    path = tmp_path / "hubs.csv"
    path.write_text(
        "hub,hub.spring.rate N/mm,propeller.blade_angle_datum deg,hub.spring.washers,blade_angle_2 deg\n"
        "A1,95,2.0,5,0.3\nA2,97,1.8,7,-0.2\n",
        encoding="utf-8",
    )
    hubs = read_hubs(path, record)
    assert hubs.names == ("A1", "A2")
    assert hubs.values[0] == pytest.approx([95e3, np.radians(2.0), 5.0, np.radians(0.3)])
    assert hubs.inputs[3].blade == 1


@pytest.mark.parametrize(
    "varied",
    [
        "{input: propeller.blade_angle_datum, plus_minus: 4 deg}",
        "{input: hub.fine_stop, distribution: uniform, plus_minus: 5000 deg}",
    ],
)
def test_blade_angles_that_scatter_into_other_hubs_are_refused(tmp_path, varied):
    scenario = scenario_with(tmp_path, f"  inputs: [{varied}]\n")
    with pytest.raises(ScenarioError, match=r"scatters by up to .* deg; accepted: up to 11.5 deg"):
        model_of(Question(scenario, 64, 1))
