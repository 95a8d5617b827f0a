"""Every variable of a test card. Values stand in the unit that their row names, for a maker to read."""

from simengine.results.calibration_catalogue import mixed, text, yes
from simengine.results.catalogue import Variable

COORDINATES: tuple[Variable, ...] = (text("item", "one line of the card"),)
ITEMS: tuple[Variable, ...] = (
    text("stage", "stage of the test, from safe to risky"),
    text("action", "what to do"),
    text("look", "what to look at: the light, the tachometer, the scale"),
    text("item_words", "the figure in words"),
    text("item_units", "unit of the values"),
    mixed("item_value", "what the model expects"),
    mixed("item_band", "half-width of the band that holds 95 %, two standard deviations"),
    yes("item_happens", "whether it happens in the model at all"),
)
SCALARS: tuple[Variable, ...] = (
    Variable("engine_rpm_limit", "rpm", "engine speed limit", 60.0 / (2.0 * 3.141592653589793)),
    Variable("card_height", "m", "height of the level run and of the test of the shift up high"),
)
TABLES: tuple[tuple[tuple[str, ...], tuple[Variable, ...]], ...] = ((("item",), ITEMS), ((), SCALARS))
