"""The cautions as they are printed with every result. No option leaves them out."""

from simengine.results.cautions import CAUTIONS, SHORT_CAUTION


def short_caution() -> str:
    """One line for terminals and footers."""
    return f"CAUTION. {SHORT_CAUTION}"


def caution_list() -> tuple[str, ...]:
    """Every caution, one sentence or a few each."""
    return CAUTIONS


def caution_text() -> str:
    """Every caution, numbered, one a line."""
    return "\n".join(f"{number}. {caution}" for number, caution in enumerate(CAUTIONS, start=1))
