"""How far the work is, told to whoever waits for it."""

from collections.abc import Callable

Progress = Callable[[float, str], None]  # share done, 0 to 1, and what is being done


def nobody(share: float, words: str) -> None:
    """Nobody waits: neither the `share` done [1] nor the `words` are told."""


def told_to(progress: Progress | None) -> Progress:
    """Whom to tell: `progress`, or nobody where it is None."""
    return progress or nobody
