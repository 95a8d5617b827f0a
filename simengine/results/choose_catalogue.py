"""Every variable of a choice of spring, washers and stops, with its stored unit."""

from collections.abc import Iterable

from simengine.constants import DEGREE, RPM
from simengine.results.catalogue import Variable

OPTION, TARGET, PLACE, WASHERS, SHIM_PLACE, CHANGE = (
    "option",
    "target",
    "place",
    "washers",
    "shim_place",
    "relaxation",
)


def rpm(name: str, long_name: str, comment: str | None = None) -> Variable:
    """An engine speed; arguments as in `Variable`."""
    return Variable(name, "rpm", long_name, 1.0 / RPM, comment=comment)


def text(name: str, long_name: str) -> Variable:
    """Words; arguments as in `Variable`."""
    return Variable(name, "", long_name, stored="text")


COORDINATES: tuple[Variable, ...] = (
    Variable(OPTION, "1", "number of the option, best first"),
    text(TARGET, "what is asked for"),
    text(PLACE, "where the targets must hold"),
    Variable(WASHERS, "1", "washers under the spring, of the shim table"),
    text(SHIM_PLACE, "where the shim table holds, own day and mass"),
)
WORST = "in the worst place"
TABLES: tuple[tuple[tuple[str, ...], Iterable[Variable]], ...] = (
    (
        (OPTION,),
        (
            text("option_spring", "spring"),
            Variable(
                "option_spring_rate",
                "N mm-1",
                "rate of the spring",
                1e-3,
                comment="N m rad-1 x 1e-3 of torsion",
            ),
            Variable("option_free_length", "mm", "free length of the spring", 1e3),
            Variable("option_washers", "1", "washers under the spring"),
            Variable("option_coarse_stop", "degree", "blade angle on the coarse stop", 1.0 / DEGREE),
            Variable("option_fine_stop", "degree", "blade angle on the fine stop", 1.0 / DEGREE),
            Variable("option_counterweight", "g", "counterweight on each blade", 1e3),
            Variable(
                "option_meets_all", "1", "whether all targets are met", flags=("no", "yes"), stored="flag"
            ),
            rpm("option_begin_rpm", f"engine speed at which the shift begins, {WORST} (lowest)"),
            rpm("option_finish_rpm", f"engine speed at which the shift finishes, {WORST} (highest)"),
            rpm("option_return_rpm", f"engine speed at which the return ends, {WORST} (lowest)"),
            rpm("option_margin_rpm", f"full throttle on the fine stop less the finish, {WORST}"),
            rpm(
                "option_fastest_rpm", "highest full-throttle engine speed of all places, the ground included"
            ),
            Variable(
                "option_life_factor", "1", "allowed over largest spring stress for the strokes asked for"
            ),
            Variable("option_yield", "1", "share of hubs that meet all targets in every place, common draws"),
            text("option_gives_up", "what the option gives up against the others"),
        ),
    ),
    (
        (OPTION, TARGET),
        (
            Variable(
                "option_slack",
                "",
                "slack of each target in the worst place; rpm, of spring life the factor; below zero: missed",
            ),
        ),
    ),
    (
        (WASHERS, SHIM_PLACE),
        (
            rpm("shim_begin_rpm", "engine speed at which the shift begins"),
            rpm("shim_finish_rpm", "engine speed at which the shift finishes"),
            rpm("shim_return_rpm", "engine speed at which the return ends"),
            rpm("shim_margin_rpm", "full throttle on the fine stop less the finish"),
        ),
    ),
    (
        (CHANGE,),
        (
            text("relaxation_target", "target that must give"),
            Variable("relaxation_by", "", "by how much; rpm, of spring life the factor"),
            Variable(
                "relaxation_enough",
                "1",
                "whether relaxing this target alone leaves a choice",
                flags=("no", "yes"),
                stored="flag",
            ),
            Variable(
                "relaxation_alone",
                "1",
                "whether it is out of reach by itself",
                flags=("no", "yes"),
                stored="flag",
            ),
        ),
    ),
    (
        (),
        (
            Variable("combinations_tried", "1", "combinations looked at"),
            Variable("combinations_buildable", "1", "of them those that can be built"),
            Variable("combinations_meeting_all", "1", "of those the ones that meet all targets"),
            Variable("draws", "1", "draws behind the yield"),
        ),
    ),
)
