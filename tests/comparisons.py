"""Short flights beside one another for tests: the demo hub and what may become of it, all invented."""

import shutil

from flights import SCENARIOS

BASE = """\
extends: ground_run.yaml
title: short flight (invented)
flight:
  record_interval: 0.5 s
  phases:
    - kind: ground_run
      throttle:
        columns: [time s, throttle %]
        rows: [[0, 0], [3, 0], [20, 100], [27, 100], [40, 0]]
    - kind: climb
      to_height: 300 m
variants:
  bolted: {hub: {use: parts/hubs/fixed_12.yaml}}
  washer: {hub: {spring: {washers: 5}}}
  other_words: {note: nothing that flies is changed, masses: {machine: 29000 g}}
"""
HEAVY = """\
extends: base.yaml
atmosphere: {tailwind: 2 m/s}
masses: {pilot: 110 kg}
"""
STRANGE = "hub: {use: parts/hubs/torsion_14_10.yaml}\nextends: base.yaml\n"


def comparison_folder(folder):
    """Write the files into a folder; returns it."""
    shutil.copytree(SCENARIOS / "parts", folder / "parts")
    shutil.copy(SCENARIOS / "ground_run.yaml", folder)
    for name, text in (("base", BASE), ("heavy", HEAVY), ("strange", STRANGE)):
        (folder / f"{name}.yaml").write_text(text)
    return folder
