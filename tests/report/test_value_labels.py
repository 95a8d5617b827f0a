"""Values beside bars stand clear of the lines that the bars are held against."""

import pytest
from one_of_each import result_file

from simengine.report.page.kinds import KINDS
from simengine.results.netcdf import read_netcdf


@pytest.mark.parametrize(
    ("kind", "name", "unit"), [("loads", "blade", " MPa "), ("calibrate", "next", " %: ")]
)
def test_no_value_lies_on_an_upright_line(kind, name, unit):
    dataset = read_netcdf(result_file(kind))
    axes = KINDS[kind].drawers(dataset)[name](dataset).axes[-1]
    axes.figure.canvas.draw()
    values = [text for text in axes.texts if unit in text.get_text()]
    lines = [line.get_window_extent() for line in axes.lines]
    assert len(values) > 1
    assert lines and all(line.width < 1.0 for line in lines)
    boxes = [text.get_window_extent() for text in values]
    assert not any(box.x0 < line.x0 < box.x1 for box in boxes for line in lines)
