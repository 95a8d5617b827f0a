"""A comparison in words, tables, pictures and as a document."""

import json
from io import StringIO

import numpy as np
import pytest
from comparisons import comparison_folder
from matplotlib import colors
from rich.console import Console

from simengine.report.compare.document import compare_json
from simengine.report.compare.dots import figures_picture
from simengine.report.compare.facts import Row, case_names, event_rows, figure_rows, shown
from simengine.report.compare.lines import LINES
from simengine.report.compare.pictures import COMPARE_DRAWERS
from simengine.report.compare.run import compare_stem
from simengine.report.compare.table import MARKS, event_tables, figure_tables
from simengine.report.compare.terminal import print_comparison
from simengine.report.compare.text import (
    case_sentences,
    change_lines,
    compare_sentences,
    harm_sentences,
    overall,
    short_changes,
)
from simengine.report.compare.traces import differences_picture, traces_picture
from simengine.report.outputs import plain_text
from simengine.results.catalogue import EventKind
from simengine.results.cautions import CAUTIONS, SHORT_CAUTION
from simengine.results.compare_catalogue import VERDICT, Verdict
from simengine.studies.compare.cases import read_cases
from simengine.studies.compare.study import compare

KINDS = list(EventKind)


@pytest.fixture(scope="module")
def dataset(tmp_path_factory):
    folder = comparison_folder(tmp_path_factory.mktemp("report"))
    return compare(read_cases([str(folder / "base.yaml")]))


@pytest.fixture
def hung(dataset):
    """The washer case made to hang in the climb: no finish there, an event that says so."""
    made = dataset.copy(deep=True)
    washer = case_names(made).index("washer")
    for number, row in enumerate(event_rows(made)):
        if row.phase == 1 and row.kind is EventKind.SHIFT_FINISHES:
            made["event_elapsed"].values[washer, number] = np.nan
        if row.phase == 1 and row.kind is EventKind.HEIGHT_REACHED:
            made["event_kind"].values[number] = KINDS.index(EventKind.SHIFT_HANGS)
            made["event_elapsed"].values[:washer, number] = np.nan
    made["final_pitch_state" + VERDICT].values[washer, 1] = list(Verdict).index(Verdict.WORSE)
    return made


def text_of(tables):
    console = Console(file=StringIO(), width=160, color_system=None)
    for table in tables:
        console.print(table)
    return console.file.getvalue()


def words(sentences):
    return " ".join(sentence.words for sentence in sentences)


# --- words ------------------------------------------------------------------------------------------
def test_what_was_changed(dataset):
    lines = change_lines(dataset)
    assert lines[0] == "base is what the others are held against."
    assert "    hub.spring.washers: 6 -> 5" in lines
    assert "other_words: nothing that a flight depends on" in lines
    assert short_changes(dataset, 1).startswith("hub: demo coil hub")
    assert "hub.kind" not in short_changes(dataset, 1)


def test_the_conclusion_counts_and_names_what_moved(dataset):
    told = words(case_sentences(dataset, 2))
    assert told.startswith("washer against base: of ")
    assert "Better: " in told
    assert "shift margin" in told
    assert "Moved: " in told
    assert "Whole flight: " in told
    assert not any(sentence.warns for sentence in case_sentences(dataset, 2))


def test_counts_add_up(dataset):
    told = case_sentences(dataset, 2)[0].words
    rows = figure_rows(dataset)
    total = int(told.split("of ")[1].split()[0])
    absent = sum(row.verdicts[2] is Verdict.ABSENT for row in rows)
    assert total == len(rows) - absent


def test_identical_machines_say_so(dataset):
    (sentence,) = case_sentences(dataset, 3)
    assert (
        sentence.words == "other_words against base: every figure is the same within the error of the solver."
    )


def test_what_a_fixed_propeller_has_not(dataset):
    assert "Not there: shift begins" in words(case_sentences(dataset, 1))
    assert not harm_sentences(dataset, event_rows(dataset), 1)


def test_a_shift_that_no_longer_finishes_warns(hung):
    told = case_sentences(hung, 2)
    warned = words(sentence for sentence in told if sentence.warns)
    assert "NEW in the climb: blades hang between stops" in warned
    assert "NO LONGER in the climb: shift finishes" in warned
    assert "hung at the end, in the climb" in warned
    assert overall(hung).warns
    assert overall(hung).words.startswith("LOOK FIRST at washer")


def test_flights_that_are_not_alike_are_named_first(dataset):
    made = dataset.assign_attrs(unlike="flights are not alike; they differ in: masses.pilot")
    assert compare_sentences(made)[0].warns
    assert "masses.pilot" in compare_sentences(made)[0].words


def test_a_difference_is_never_shown_as_zero():
    assert shown(0.0004, 2, "+") == "+0.0004"
    assert shown(0.0, 2, "+") == "+0.00"
    assert shown(float("nan"), 2) == "–"
    assert shown(-12.34, 1) == "-12.3"


# --- tables and document ----------------------------------------------------------------------------
def test_tables_show_every_figure_and_every_event(dataset):
    text = text_of(figure_tables(dataset))
    for row in figure_rows(dataset):
        assert row.label in text
    for name in case_names(dataset):
        assert name in text
    assert MARKS[Verdict.BETTER] in text and MARKS[Verdict.SAME] in text and "none here" in text
    events = text_of(event_tables(dataset))
    assert "shift finishes" in events and "none here" in events


def test_events_within_the_solvers_errors_are_the_same(dataset):
    for row in event_rows(dataset):
        assert row.same[0] and row.same[3]
        if row.phase == 0:
            assert not row.same[1] and not row.same[2]


def test_many_cases_are_shown_a_few_at_a_time(dataset):
    many = dataset.isel(case=[0, 1, 2, 3, 1, 2, 3])
    tables = figure_tables(many)
    assert len(tables) == 2 * len({row.phase for row in figure_rows(many)})


def test_terminal_shows_changes_before_the_answer_and_cautions_always(dataset, capsys):
    for quiet in (False, True):
        print_comparison(dataset, quiet=quiet)
        out = " ".join(capsys.readouterr().out.split())
        assert out.index("What was changed") < out.index("washer against base: of")
        assert SHORT_CAUTION in out
        assert ("▲ better" in out) is not quiet
    print_comparison(dataset, verbose=True)
    out = " ".join(capsys.readouterr().out.split())
    assert CAUTIONS[-1] in out
    assert "phases side by side" in out


def test_document(dataset):
    document = json.loads(json.dumps(compare_json(dataset), allow_nan=False))
    assert [case["name"] for case in document["cases"]] == ["base", "bolted", "washer", "other_words"]
    assert {"case": "washer", "key": "hub.spring.washers", "first": "6", "here": "5", "kind": "machine"} in (
        document["changes"]
    )
    figure = next(f for f in document["figures"] if f["figure"] == "shift_margin_rpm")
    assert figure["verdicts"] == ["same", "only_first", "better", "same"]
    assert figure["values"][1] is None
    assert figure["differences"][2] == pytest.approx(figure["values"][2] - figure["values"][0])
    assert all(bound > 0 for bound in figure["tolerances"])
    assert document["cautions"] == list(CAUTIONS)


def test_file_names():
    assert compare_stem(["a/b.yaml"]) == "b.compare"
    assert compare_stem(["b.yaml:x", "c.nc"]) == "b-x-c.compare"
    assert compare_stem(["a.yaml", "b.yaml", "c.yaml"]) == "a-b-and-1-more.compare"


# --- pictures ---------------------------------------------------------------------------------------
@pytest.mark.parametrize("name", sorted(COMPARE_DRAWERS))
def test_every_picture_says_what_was_changed_and_cautions(dataset, name):
    with plain_text():
        picture = COMPARE_DRAWERS[name](dataset)
    told = " ".join(text.get_text() for axes in picture.axes for text in axes.texts)
    assert "hub.spring.washers: 6 -> 5" in told
    assert "what the others are held against" in told
    foot = " ".join(" ".join(text.get_text() for text in picture.texts).split())
    assert SHORT_CAUTION in foot
    assert overall(dataset).words.split(".")[0] in foot


def labelled(picture, part):
    return next(axes for axes in picture.axes if part in axes.get_ylabel())


def test_one_colour_and_dash_a_case():
    assert len({colour for colour, *_ in LINES}) == len(LINES)
    assert len({str(dashes) for _, dashes, _ in LINES[1:]}) == len(LINES) - 1


def test_traces_have_a_line_a_case_with_limits_and_stops(dataset):
    picture = traces_picture(dataset)
    for part in ("throttle", "ENGINE", "blade angle", "height", "fuel used"):
        drawn = {colors.to_hex(line.get_color()) for line in labelled(picture, part).lines}
        assert {colors.to_hex(LINES[case][0]) for case in range(4)} <= drawn, part
    assert "min" in picture.axes[-1].get_xlabel()
    told = [text.get_text() for text in labelled(picture, "ENGINE").texts]
    assert any(text.startswith("limit") for text in told)
    angles = [text.get_text() for text in labelled(picture, "blade angle").texts]
    assert {"coarse 14.0°", "fine 10.5°", "fixed 12.0°"} == set(angles)


def test_differences_leave_the_first_case_out_and_draw_its_zero(dataset):
    axes = labelled(differences_picture(dataset), "ENGINE")
    drawn = [line for line in axes.lines if len(line.get_xdata()) > 2]
    assert len(drawn) == dataset.sizes["case"] - 1
    zero = [line for line in axes.lines if len(line.get_xdata()) == 2]
    assert {float(y) for line in zero for y in line.get_ydata()} == {0.0}


def test_dots_point_the_way_of_merit(dataset):
    axes = figures_picture(dataset).axes[-1]
    rows = [label.get_text() for label in axes.get_yticklabels()]
    margin = next(number for number, words in enumerate(rows) if words.startswith("shift margin,"))
    marks = [line for line in axes.lines if len(line.get_xdata()) == 1]
    of_margin = [line for line in marks if abs(float(line.get_ydata()[0]) - margin) < 0.5]
    assert [line.get_marker() for line in of_margin] == ["^"]
    assert float(of_margin[0].get_xdata()[0]) > 0.0
    assert "×" in {text.get_text() for text in axes.texts}


def test_nothing_moved_is_drawn_too(dataset):
    same = dataset.isel(case=[0, 3], change=[])
    picture = figures_picture(same)
    assert any("no figure moved" in text.get_text() for text in picture.axes[-1].texts)
    assert overall(same).words == "Every figure is the same within the error of the solver."


def test_more_cases_than_lines_are_told(dataset):
    many = dataset.isel(case=[0, *[1, 2, 3] * 4])
    foot = " ".join(" ".join(text.get_text() for text in traces_picture(many).texts).split())
    assert "5 more are in the result file" in foot


def test_rows_are_whole(dataset):
    rows = figure_rows(dataset)
    assert all(isinstance(row, Row) and len(row.verdicts) == 4 for row in rows)
    assert len({(row.name, row.phase) for row in rows}) == len(rows)
