"""Waypoints of a route from a file: GPX 1.0 and 1.1 by the gpxpy library, or csv."""

from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any, Never

from simengine.errors import Problem, ScenarioError
from simengine.scenario.text_files import csv_rows, names_in, read_text
from simengine.units import nearest

SUFFIXES = (".gpx", ".csv")
SIZE_LIMIT = 20_000_000  # bytes
POINT_LIMIT = 1001
LONGEST_NAME = 60
POLE = 90.0  # [degree]
TRACK_TOLERANCE = 500.0  # a recorded track is thinned to legs that stay within this of it [m]
NAMESPACE, MOST_NAMESPACES = "xmlns:", 100
COLUMNS = ("name", "latitude", "longitude")
KEY = "route.waypoints"


@dataclass(frozen=True)
class Waypoint:
    """A named point, WGS 84, in degrees."""

    name: str
    latitude: float
    longitude: float


def read_waypoints(name: str, folder: Path) -> tuple[Waypoint, ...]:
    """Points of a route in their order.

    Parameters
    ----------
    name : str
        A .gpx or .csv file inside the folder. Of a GPX file the first route is taken, without one the first
        track, thinned, without that the waypoints. A csv file has the columns latitude and longitude in
        decimal degrees, and name where points have one.
    folder : Path
        That of the scenario; nothing outside it is read.

    Raises
    ------
    ScenarioError
        With file, line where there is one, and what is accepted.
    """
    path = folder / name
    check_name(name, path, folder)
    refuse_missing(path)
    text = read_text(path, str(path), SIZE_LIMIT)
    points = gpx_points(text, path) if path.suffix.lower() == ".gpx" else csv_points(text, path)
    if not 2 <= len(points) <= POINT_LIMIT:
        refuse(path, None, f"must hold 2 to {POINT_LIMIT} points, but holds {len(points)}")
    for number, (before, after) in enumerate(pairwise(points), start=2):
        if same_place(before.latitude, before.longitude, after.latitude, after.longitude):
            refuse(path, None, f"point {number} '{after.name}' is the same place as the point before it")
    return points


def same_place(latitude: float, longitude: float, to_latitude: float, to_longitude: float) -> bool:
    """Whether two points in degrees are one: a pole has no longitude, and 180 east is 180 west."""
    pole = abs(latitude) == POLE
    return latitude == to_latitude and (pole or (longitude - to_longitude) % 360.0 == 0.0)


def plain_name(name: str) -> str:
    """A point's name without characters that a terminal would obey, cut where it is no name any more."""
    return "".join(letter if letter.isprintable() else " " for letter in name)[:LONGEST_NAME].strip()


def check_name(name: str, path: Path, folder: Path) -> None:
    """Refuse what is no such file of the scenario's folder."""
    if path.suffix.lower() not in SUFFIXES:
        refuse(path, None, f"must be a {' or '.join(SUFFIXES)} file")
    if "\0" in name or Path(name).is_absolute() or not is_below(path, folder):
        refuse(path, None, "leads outside the scenario's folder, where nothing is read")


def refuse_missing(path: Path) -> None:
    """Refuse a file that does not exist; what else is wrong shows when it is read."""
    try:
        path.lstat()
    except FileNotFoundError:
        refuse(path, None, f"there is no such file{nearest_file(path)}")
    except OSError:
        return


def is_below(path: Path, folder: Path) -> bool:
    """Whether a file is in a folder, wherever links lead."""
    try:
        return path.resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError):  # a name too long, a link that leads round to itself
        return False


def refuse(path: Path, line: int | None, message: str) -> Never:
    """Raise a problem of the file."""
    raise ScenarioError([Problem(str(path), line, KEY, message)])


def nearest_file(path: Path) -> str:
    """A hint at the file most like one that does not exist."""
    names = [name for name in names_in(path.parent) if name.lower().endswith(SUFFIXES)]
    near = nearest(path.name, names)
    return f"; nearest: '{near}'" if near else ""


def gpx_points(text: str, path: Path) -> tuple[Waypoint, ...]:
    """Points of a GPX file."""
    import gpxpy
    from gpxpy.gpx import GPXException

    if "<!DOCTYPE" in text or "<!ENTITY" in text:
        refuse(path, None, "holds a document type or entities, which a GPX file has no use for")
    if text.count(NAMESPACE) > MOST_NAMESPACES:  # the reader looks at each again for every other
        refuse(path, None, f"names more than {MOST_NAMESPACES} namespaces; that is no GPX file")
    try:
        found = gpxpy.parse(text)
    except (GPXException, ValueError, TypeError) as error:
        refuse(path, xml_line(error), f"is no GPX file: {error}")
    points: list[Any] = []
    if found.routes:
        points = found.routes[0].points
    elif found.tracks:
        found.tracks[0].simplify(max_distance=TRACK_TOLERANCE)
        points = [point for segment in found.tracks[0].segments for point in segment.points]
    else:
        points = found.waypoints
    return tuple(
        checked(path, None, number, point.name or f"point {number}", point.latitude, point.longitude)
        for number, point in enumerate(points, start=1)
    )


def xml_line(error: BaseException) -> int | None:
    """Line of an error of the XML reader underneath, if it tells."""
    cause = getattr(error, "original_exception", None) or error.__cause__ or error
    position = getattr(cause, "position", None)
    return int(position[0]) if position else None


def csv_points(text: str, path: Path) -> tuple[Waypoint, ...]:
    """Points of a csv file."""
    rows = csv_rows(text, str(path))
    _, first = next(rows, (1, []))
    headings = [cell.strip().lower() for cell in first]
    for index, heading in enumerate(headings):
        if heading not in COLUMNS or heading in headings[:index]:
            near = nearest(heading, COLUMNS)
            hint = f"; nearest: '{near}'" if near else ""
            refuse(path, 1, f"column '{heading}' is unknown or twice; accepted: {', '.join(COLUMNS)}{hint}")
    for name in COLUMNS[1:]:
        if name not in headings:
            refuse(path, 1, f"column '{name}' is missing: the first line names the columns")
    points: list[Waypoint] = []
    for line, row in rows:
        if not any(cell.strip() for cell in row):
            continue
        if len(row) != len(headings):
            refuse(path, line, f"has {len(row)} values, but there are {len(headings)} columns")
        cells = dict(zip(headings, (cell.strip() for cell in row), strict=True))
        points.append(csv_point(cells, path, line, len(points) + 1))
    return tuple(points)


def csv_point(cells: dict[str, str], path: Path, line: int, number: int) -> Waypoint:
    """One row."""
    numbers = {}
    for name in COLUMNS[1:]:
        try:
            numbers[name] = float(cells[name])
        except ValueError:
            message = f"{name} must be a number of decimal degrees, for example 47.5 (got '{cells[name]}')"
            refuse(path, line, message)
    name = cells.get("name") or f"point {number}"
    return checked(path, line, number, name, numbers["latitude"], numbers["longitude"])


def checked(
    path: Path, line: int | None, number: int, name: str, latitude: float, longitude: float
) -> Waypoint:
    """A point on the earth."""
    for word, value, most in (("latitude", latitude, POLE), ("longitude", longitude, 180.0)):
        if not -most <= value <= most:
            refuse(path, line, f"point '{name}': {word} must be {-most:g} to {most:g} (got {value:g})")
    return Waypoint(plain_name(name) or f"point {number}", float(latitude), float(longitude))
