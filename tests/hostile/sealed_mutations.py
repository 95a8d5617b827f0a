"""Spoiled files whose digest fits all the same: written by a careful hand, or another version."""

import hashlib
from random import Random

import netCDF4
from mutations import Mutator, number_replaced, number_scaled, unit_replaced
from yaml_mutations import key_renamed, tree_spoiled, value_replaced

from simengine.scenario.overlay import SUM, sum_of
from simengine.studies.check.baseline_file import HEAD, digest

INNER: tuple[Mutator, ...] = (
    *(number_replaced, number_scaled, unit_replaced, key_renamed, tree_spoiled, value_replaced),
)


def sealed_baseline(data: bytes, random: Random) -> bytes:
    """A baseline with another content below its digest."""
    head, _, rest = data.decode("utf-8", "replace").partition("digest:")
    body = rest.partition("\n")[2]
    spoiled = random.choice(INNER)(body.encode(), random).decode("utf-8", "replace")
    if not head.startswith(HEAD):
        return data
    return f"{head}digest: {digest(spoiled)}\n{spoiled}".encode()


def sealed_overlay(data: bytes, random: Random) -> bytes:
    """A fitted scenario with another content below its sum."""
    first, _, rest = data.decode("utf-8", "replace").partition("\n")
    body = rest.partition("\n")[2]
    spoiled = random.choice(INNER)(body.encode(), random).decode("utf-8", "replace")
    return f"{first}\n{SUM}{sum_of(spoiled)}\n{spoiled}".encode()


def sealed_result(data: bytes, random: Random) -> bytes:
    """A result that carries another scenario, with the digest of that."""
    try:
        file = netCDF4.Dataset("in-memory.nc", mode="a", memory=data)
        text = str(file.simengine_scenario)
        spoiled = random.choice(INNER)(text.encode(), random).decode("utf-8", "replace").replace("\0", "")
        file.simengine_scenario = spoiled
        file.simengine_scenario_sha256 = hashlib.sha256(spoiled.encode()).hexdigest()
        return bytes(file.close())
    except (OSError, RuntimeError, ValueError, AttributeError, UnicodeError):
        return data[: random.randrange(len(data) + 1)]
