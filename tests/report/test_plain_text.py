"""Names of a maker's own are drawn and printed as they are, and a taken name is refused before writing."""

import warnings

import pytest

from simengine.errors import OutputError
from simengine.report.flight.terminal import print_flight
from simengine.report.outputs import write_outputs


@pytest.mark.parametrize("title", ["$\\frac{$", "雨 fan", "[/] [bold]"])
def test_odd_names_are_drawn_and_printed(flight_result, tmp_path, capsys, title):
    odd = flight_result.copy()
    odd.attrs = {**flight_result.attrs, "title": title}
    odd["phase_name"] = ("phase", [title] * odd.sizes["phase"], flight_result.phase_name.attrs)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        paths = write_outputs(odd, tmp_path, "odd")
        print_flight(odd)
    assert [path.suffix for path in paths] == [".nc", ".png", ".svg"]
    assert title in capsys.readouterr().out


def test_a_folder_in_the_way_leaves_nothing_behind(flight_result, tmp_path):
    (tmp_path / "flight.png").mkdir()
    with pytest.raises(OutputError, match="is a folder"):
        write_outputs(flight_result, tmp_path, "flight")
    assert [path.name for path in tmp_path.iterdir()] == ["flight.png"]
