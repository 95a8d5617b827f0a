"""Every variable of a calibration. Values stand in the unit that their row names, for a maker to read."""

from simengine.results.catalogue import Variable

OWN_UNIT = "in the unit that the variable of units along this dimension names"
BAND = "half-width of the band that holds 95 %, two standard deviations"


def text(name: str, long_name: str) -> Variable:
    """Words; arguments as in `Variable`."""
    return Variable(name, "", long_name, stored="text")


def mixed(name: str, long_name: str) -> Variable:
    """A number whose unit its row names; to CF it is a number without one; arguments as in `Variable`."""
    return Variable(name, "1", long_name, comment=OWN_UNIT)


def yes(name: str, long_name: str) -> Variable:
    """A yes or no; arguments as in `Variable`."""
    return Variable(name, "1", long_name, flags=("no", "yes"), stored="flag")


COORDINATES: tuple[Variable, ...] = (
    text("parameter", "key path of a fitted input; for the column mass_per_length a factor on it"),
    text("other_parameter", "the same again, for the correlation"),
    text("reading", "a reading, with its phase and row"),
    text("candidate", "a reading that could be taken next"),
    text("question", "a question to the fitted machine"),
)
PARAMETERS: tuple[Variable, ...] = (
    text("parameter_words", "the input in words"),
    text("parameter_units", "unit of the values"),
    mixed("parameter_before", "value before the fit"),
    mixed("parameter_band_before", f"{BAND}, before the fit"),
    mixed("parameter_value", "fitted value"),
    mixed("parameter_band", f"{BAND}, of the fitted value"),
    mixed("parameter_low", "lower end of the 95 % interval by profile likelihood"),
    mixed("parameter_high", "upper end of the 95 % interval by profile likelihood"),
    yes("parameter_band_usual", "whether the band before was the usual one, because none was typed"),
    yes("parameter_narrowed", "whether the readings narrowed the band by a tenth or more"),
)
CORRELATION: tuple[Variable, ...] = (Variable("correlation", "1", "correlation of two fitted inputs"),)
COLLINEARITY: tuple[Variable, ...] = (
    Variable("collinearity", "1", "cosine between the effects of two inputs on the readings of the fit"),
)
READINGS: tuple[Variable, ...] = (
    text("reading_kind", "kind of the reading"),
    text("reading_units", "unit of the values"),
    text("reading_phase", "phase in which it was read"),
    text("reading_file", "file it came from"),
    Variable("reading_row", "1", "row of the file", stored="count"),
    mixed("reading_value", "value read"),
    mixed("reading_band", f"{BAND}, of the reading"),
    mixed("reading_before", "what the model said before the fit"),
    mixed("reading_predicted", "what the fitted model says"),
    mixed("reading_predicted_band", f"{BAND}, of what the fitted model says, without the reading's own"),
    Variable("reading_residual", "1", "reading less prediction over the standard deviation of the reading"),
    Variable(
        "reading_deleted_residual",
        "1",
        "reading less what the fit of the other readings says, over the standard deviation of the difference",
    ),
    Variable("reading_height", "m", "height at which it was read", comment="NaN on the bench"),
    yes("reading_held", "whether it was kept out of the fit to be predicted"),
    yes("reading_set_aside", "whether it contradicts the others and was set aside"),
    yes("reading_suspect", "whether it was kept but excluded the one set aside: either may be the wrong one"),
    yes("reading_band_usual", "whether its band is the usual one, because none was typed"),
    text("reading_note", "note"),
)
QUESTIONS: tuple[Variable, ...] = (
    text("question_words", "the question in words"),
    text("question_units", "unit of the values"),
    mixed("question_value", "answer of the fitted machine"),
    mixed("question_band_before", f"{BAND}, before the fit"),
    mixed("question_band", f"{BAND}, of the fitted machine"),
)
CANDIDATES: tuple[Variable, ...] = (
    text("candidate_cost", "what it costs: bench, ground run or flight"),
    text("candidate_units", "unit of the values"),
    mixed("candidate_expected", "value to expect"),
    mixed("candidate_reading_band", f"{BAND}, of the reading"),
)
GAINS: tuple[Variable, ...] = (
    Variable("band_share", "1", "band of the question after that reading over the band now"),
)
SCALARS: tuple[Variable, ...] = (
    Variable("chi_squared", "1", "sum of squared residuals of the readings in the fit"),
    Variable("readings_fitted", "1", "readings in the fit", stored="count"),
)
TABLES: tuple[tuple[tuple[str, ...], tuple[Variable, ...]], ...] = (
    (("parameter",), PARAMETERS),
    (("parameter", "other_parameter"), (*CORRELATION, *COLLINEARITY)),
    (("reading",), READINGS),
    (("question",), QUESTIONS),
    (("candidate",), CANDIDATES),
    (("candidate", "question"), GAINS),
    ((), SCALARS),
)

HELD = "share of repeats on made-up readings in which the 95 % band held the truth"
ENDS = "end of its 95 % binomial band"
COVERAGE_TABLES: tuple[tuple[tuple[str, ...], tuple[Variable, ...]], ...] = (
    (
        ("parameter",),
        (
            Variable("parameter_coverage", "1", HELD),
            Variable("parameter_coverage_low", "1", f"{HELD}: lower {ENDS}"),
            Variable("parameter_coverage_high", "1", f"{HELD}: upper {ENDS}"),
        ),
    ),
    (
        (),
        (
            Variable("coverage_repeats", "1", "repeats on made-up readings", stored="count"),
            Variable("coverage", "1", f"{HELD}, all inputs"),
            Variable("coverage_low", "1", f"{HELD}, all inputs: lower {ENDS}"),
            Variable("coverage_high", "1", f"{HELD}, all inputs: upper {ENDS}"),
            Variable("coverage_joint", "1", "share of repeats in which the joint 95 % region held the truth"),
            Variable("coverage_joint_low", "1", f"the same of the joint region: lower {ENDS}"),
            Variable("coverage_joint_high", "1", f"the same of the joint region: upper {ENDS}"),
        ),
    ),
)
