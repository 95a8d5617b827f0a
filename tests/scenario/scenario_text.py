"""A small complete scenario as text, for the tests. All values are invented."""

SCENARIO = """\
simengine: 1
title: Invented demo machine, 20 kW two-stroke and 1.3 m propeller
atmosphere:
  temperature_offset: 5 K
  qnh: 1013.25 hPa
  relative_humidity: 60 %
site:
  height: 1500 ft
masses:
  pilot: 85 +- 1 kg, measured
  machine: 29 kg
fuel:
  start: 10 L
engine:
  name: invented two-stroke
  curve:
    columns: [engine_speed rpm, torque N*m, consumption g/kWh]
    rows:
      - [2000, 10.0, 620]
      - [4000, 17.0, 540]
      - [6000, 22.5, 480]
      - [8000, 23.5, 450]
      - [9000, 21.0, 470]
  friction_torque: 2.5 N*m
  idle_speed: 2200 rpm
  speed_limit: 8500 rpm
  inertia: {value: 0.0011 +- 0.0002 kg*m2, origin: assumed, note: from the drawing}
drive:
  reduction: 2.68
propeller:
  name: invented two-blade
  blades: 2
  diameter: 1.3 m
  hub_radius: 60 mm
  density: 720 kg/m3
  stations:
    columns: [radius mm, chord mm, blade_angle deg, thickness %, axis %]
    rows:
      - [60, 60, 30, 24, 35]
      - [200, 95, 24, 16, 32]
      - [350, 105, 17, 12, 31]
      - [487.5, 92, 13, 10, 31]
      - [600, 70, 10.5, 9, 33]
      - [650, 40, 9.5, 9, 35]
hub:
  kind: two_stop
  name: invented hub
  coarse_stop: 16 deg
  fine_stop: 12.5 deg
  spring:
    kind: helical
    rate: 14 N/mm
    free_length: 46 +- 0.5 mm, measured
    fitted_length: 39 mm
    solid_length: 26 mm
    lever_arm: 22 mm
    washers: 2
  counterweights:
    - {mass: 25 g, arm: 40 mm}
wing:
  name: invented wing
  area: 26 m2
  polar_mass: 110 kg
  polar:
    columns: [bar, speed km/h, sink m/s]
    rows:
      - [0, 38, 1.2]
      - [1, 52, 1.9]
flight:
  phases:
    - kind: ground_run
      throttle:
        columns: [time s, throttle %]
        rows: [[0, 0], [10, 100], [20, 0]]
    - kind: climb
      to_height: 1000 m
    - kind: cruise
      duration: 10 min
"""

LINES = SCENARIO.splitlines()


def line_of(text: str, part: str, occurrence: int = 1) -> int:
    """Number of the line that holds a text."""
    numbers = [number for number, line in enumerate(text.splitlines(), 1) if part in line]
    return numbers[occurrence - 1]


def replaced(old: str, new: str, text: str = SCENARIO) -> str:
    """The scenario with one thing changed; it must be there, once."""
    assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in the scenario"
    return text.replace(old, new)
