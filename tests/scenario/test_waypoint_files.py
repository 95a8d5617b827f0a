"""Waypoints from GPX and csv files, and every way in which such a file can be wrong."""

import pytest

from simengine.errors import ScenarioError
from simengine.scenario.waypoint_files import Waypoint, read_waypoints

ROUTE = """<?xml version="1.0"?>
<gpx version="1.1" creator="invented" xmlns="http://www.topografix.com/GPX/1/1">
  <wpt lat="10" lon="10"><name>not on the route</name></wpt>
  <rte><name>demo</name>
    <rtept lat="47.0" lon="8.0"><name>start</name></rtept>
    <rtept lat="47.5" lon="8.5"/>
    <rtept lat="47.2" lon="9.0"><name>end</name></rtept>
  </rte>
</gpx>
"""


def put(tmp_path, name, text):
    (tmp_path / name).write_text(text, encoding="utf-8")
    return read_waypoints(name, tmp_path)


def refused(tmp_path, name, text):
    with pytest.raises(ScenarioError) as caught:
        put(tmp_path, name, text)
    return caught.value.problems[0]


def test_the_route_of_a_gpx_file_is_taken(tmp_path):
    points = put(tmp_path, "a.gpx", ROUTE)
    assert points == (
        Waypoint("start", 47.0, 8.0),
        Waypoint("point 2", 47.5, 8.5),
        Waypoint("end", 47.2, 9.0),
    )


def test_without_a_route_the_waypoints_are_taken(tmp_path):
    text = '<gpx version="1.0" creator="x"><wpt lat="1" lon="2"/><wpt lat="3" lon="4"/></gpx>'
    assert [point.latitude for point in put(tmp_path, "a.gpx", text)] == [1.0, 3.0]


def test_a_track_is_thinned(tmp_path):
    inner = "".join(f'<trkpt lat="47.0" lon="{8 + i / 1000}"/>' for i in range(500))
    text = f'<gpx version="1.1" creator="x"><trk><trkseg>{inner}</trkseg></trk></gpx>'
    points = put(tmp_path, "a.gpx", text)
    assert 2 <= len(points) < 10
    assert (points[0].longitude, points[-1].longitude) == (8.0, 8.499)


def test_csv_with_names_in_any_order_and_a_byte_order_mark(tmp_path):
    points = put(tmp_path, "a.csv", "\ufefflongitude,name,latitude\n8.0,start,47.0\n\n8.5,,47.5\n")
    assert points == (Waypoint("start", 47.0, 8.0), Waypoint("point 2", 47.5, 8.5))


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("latitude,longitude\n47,8\n47.5;8.5\n", 3, "has 1 values, but there are 2 columns"),
        ("latitude,longitude\n47,8\n47.5,east\n", 3, "longitude must be a number of decimal degrees"),
        ("latitude,longitude\n47,8\n95,8\n", 3, "latitude must be -90 to 90 (got 95)"),
        ("latitude,longitude\n47,8\nnan,8\n", 3, "latitude must be -90 to 90"),
        ("latitude,longtude\n47,8\n", 1, "nearest: 'longitude'"),
        ("latitude,name\n47,8\n", 1, "column 'longitude' is missing"),
        ("latitude,longitude\n47,8\n", None, "must hold 2 to 1001 points, but holds 1"),
        ("latitude,longitude\n47,8\n47,8\n", None, "is the same place as the point before it"),
        ("", 1, "column 'latitude' is missing"),
    ],
)
def test_bad_csv(tmp_path, text, line, words):
    problem = refused(tmp_path, "a.csv", text)
    assert words in problem.message
    assert problem.line == line
    assert problem.file == str(tmp_path / "a.csv")
    assert problem.key == "route.waypoints"


def test_broken_gpx_tells_the_line(tmp_path):
    problem = refused(tmp_path, "a.gpx", ROUTE.replace("</rte>", ""))
    assert "is no GPX file" in problem.message
    assert problem.line == 9


@pytest.mark.parametrize(
    "text", ["hello", '<gpx version="1.1"><rte><rtept lat="x" lon="1"/></rte></gpx>', ""]
)
def test_what_is_no_gpx_is_refused(tmp_path, text):
    assert "is no GPX file" in refused(tmp_path, "a.gpx", text).message


def test_entities_are_refused(tmp_path):
    bomb = '<!DOCTYPE gpx [<!ENTITY a "b">]>' + ROUTE.partition("\n")[2]
    assert "document type or entities" in refused(tmp_path, "a.gpx", bomb).message


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("../a.csv", "leads outside the scenario's folder"),
        ("/etc/a.csv", "leads outside the scenario's folder"),
        ("a.txt", "must be a .gpx or .csv file"),
        ("rout.csv", "there is no such file; nearest: 'route.csv'"),
    ],
)
def test_names_that_lead_nowhere(tmp_path, name, words):
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "route.csv").write_text("latitude,longitude\n")
    with pytest.raises(ScenarioError, match=r"route\.waypoints") as caught:
        read_waypoints(name, tmp_path / "in")
    assert words in str(caught.value)


def test_bytes_that_are_no_text(tmp_path):
    (tmp_path / "a.csv").write_bytes(b"\xff\xfe\x00latitude")
    with pytest.raises(ScenarioError, match="not UTF-8 text"):
        read_waypoints("a.csv", tmp_path)


@pytest.mark.parametrize("points", ["90,0\n90,50", "10,180\n10,-180", "-90,10\n-90,20"])
def test_one_place_written_in_two_ways_is_the_same_place(tmp_path, points):
    problem = refused(tmp_path, "a.csv", f"latitude,longitude\n{points}\n")
    assert "same place" in problem.message


def test_a_cell_without_end_is_refused_by_line(tmp_path):
    problem = refused(tmp_path, "a.csv", f"name,latitude,longitude\na,1,2\n{'x' * 200_000},1,3\n")
    assert (problem.line, "no row of a csv file" in problem.message) == (3, True)


def test_names_hold_nothing_that_a_terminal_obeys(tmp_path):
    points = put(tmp_path, "a.csv", f"name,latitude,longitude\n\x1b[31mred\x07,46,9\n{'y' * 500},47,9\n")
    assert points[0].name == "[31mred"
    assert points[1].name == "y" * 60
