"""Every variable of a tolerance study: its dimensions, its stored unit and how that follows from SI."""

from simengine.constants import DEGREE, RPM
from simengine.results.catalogue import Variable

PLACE, INPUT, FIGURE, CRITERION, SAMPLE = "place", "input", "ranked_figure", "limit", "sample"
EDGE, BIN, WASHERS = "bin_edge", "bin", "washers"
FULL = "full throttle, opened with the blades coarse"


def rpm(name: str, long_name: str) -> Variable:
    """An engine speed; arguments as in `Variable`."""
    return Variable(name, "rpm", long_name, 1.0 / RPM)


FIGURES: tuple[Variable, ...] = (
    rpm("shift_begin_rpm", "engine speed at which the blades leave the coarse stop"),
    rpm("shift_finish_rpm", "engine speed at which the blades reach the fine stop"),
    rpm("return_begin_rpm", "engine speed at which the blades leave the fine stop"),
    rpm("return_finish_rpm", "engine speed at which the blades are back on the coarse stop"),
    rpm("full_throttle_rpm", f"engine speed with the blades where they really are, {FULL}"),
    rpm(
        "shift_margin_rpm",
        "full-throttle engine speed on the fine stop minus that at which the shift finishes",
    ),
    Variable("shift_margin_moment", "N m", "moment left to hold one blade on the fine stop at full throttle"),
    Variable("shift_drive", "N m", "least fine-going moment left on one blade on its way to the fine stop"),
    Variable("full_throttle_blade_angle", "degree", f"blade angle, {FULL}", 1.0 / DEGREE),
    rpm("begin_spread_rpm", "engine speed between the first and the last blade to leave the coarse stop"),
    rpm("finish_spread_rpm", "engine speed between the first and the last blade to reach the fine stop"),
)
RANKED = ("shift_begin_rpm", "shift_finish_rpm", "return_finish_rpm", "shift_margin_rpm", "shift_drive")


def text(name: str, long_name: str) -> Variable:
    """Words; arguments as in `Variable`."""
    return Variable(name, "", long_name, stored="text")


def share(name: str, long_name: str) -> Variable:
    """A share of one; arguments as in `Variable`."""
    return Variable(name, "1", long_name)


COORDINATES: tuple[Variable, ...] = (
    text(PLACE, "where the hubs are looked at"),
    text(INPUT, "what varies from hub to hub"),
    text(FIGURE, "figure whose variance is shared out"),
    text(CRITERION, "limit that a hub must keep"),
    Variable(WASHERS, "1", "washers under the spring"),
)
BAND = "95 % band, Clopper and Pearson"
TABLES: tuple[tuple[tuple[str, ...], tuple[Variable, ...]], ...] = (
    (
        (PLACE,),
        (
            Variable("place_height", "m", "geometric height above mean sea level"),
            Variable("place_on_ground", "1", "where", flags=("flight", "ground"), stored="flag"),
            share("yield", "share of hubs inside all limits of the place"),
            share("yield_low", f"lower end of the yield's {BAND}"),
            share("yield_high", f"upper end of the yield's {BAND}"),
            share("yield_on_first_draws", "yield of the draws on which the halved tolerances are compared"),
        ),
    ),
    (
        (),
        (
            share("yield_together", "share of hubs inside all limits in every place"),
            share("yield_together_low", f"lower end of its {BAND}"),
            share("yield_together_high", f"upper end of its {BAND}"),
            share("yield_together_on_first_draws", "the same on the draws for the halved tolerances"),
            share("reshim_share", "share of hubs that other washers bring inside all limits"),
            share("reject_share", "share of hubs that no number of washers brings inside"),
            Variable("own_washers", "1", "washers of the drawing; -1 for a spring without washers"),
            Variable("hubs_counted", "1", "number of hubs, drawn or measured"),
        ),
    ),
    (
        (CRITERION, PLACE),
        (share("limit_met", "share of hubs that keep a limit; NaN where it is none"),),
    ),
    (
        (CRITERION,),
        (
            text("limit_figure", "figure that a limit is about"),
            Variable("limit_at_least", "", "lower end of a limit, in the unit of its figure"),
            Variable("limit_at_most", "", "upper end of a limit, in the unit of its figure"),
        ),
    ),
    ((WASHERS,), (share("washers_share", "share of hubs that are in with so many washers, nearest first"),)),
    (
        (INPUT,),
        (
            Variable("input_half_width", "", "half-width in SI; two standard deviations of a normal one"),
            text("input_width_text", "half-width in words"),
            text("input_distribution", "distribution"),
            text("input_origin", "where the tolerance comes from"),
            share("halved_yield_together", "yield in every place with this tolerance halved, same draws"),
        ),
    ),
    ((INPUT, PLACE), (share("halved_yield", "yield with this tolerance halved, on the same draws"),)),
    (
        (INPUT, FIGURE, PLACE),
        (
            share("first_order", "share of the figure's variance by this input alone (Sobol' index)"),
            share("first_order_low", "lower end of its 95 % bootstrap band"),
            share("first_order_high", "upper end of its 95 % bootstrap band"),
            share("total_order", "share of the variance that this input has a part in (Sobol' index)"),
            share("total_order_low", "lower end of its 95 % bootstrap band"),
            share("total_order_high", "upper end of its 95 % bootstrap band"),
        ),
    ),
)


def statistics(figure: Variable) -> tuple[tuple[tuple[str, ...], Variable], ...]:
    """Variables that describe one figure over all hubs."""
    told = (
        ("mean", "mean"),
        ("deviation", "standard deviation"),
        ("low", "2.5 % quantile, from the histogram"),
        ("high", "97.5 % quantile, from the histogram"),
        ("lowest", "lowest"),
        ("highest", "highest"),
        ("nominal", "of the drawing without tolerances"),
    )
    found: list[tuple[tuple[str, ...], Variable]] = [
        (
            (PLACE,),
            Variable(f"{figure.name}_{name}", figure.units, f"{words}: {figure.long_name}", figure.factor),
        )
        for name, words in told
    ]
    edges = Variable(
        f"{figure.name}_edges", figure.units, f"edges of the histogram: {figure.long_name}", figure.factor
    )
    counts = Variable(f"{figure.name}_histogram", "1", f"hubs in each bin: {figure.long_name}")
    return (*found, ((PLACE, EDGE), edges), ((PLACE, BIN), counts))
