"""What simengine raises.

SimengineError
 |-- ScenarioError    the input cannot be used          (exit code 2)
 |-- OutputError      a result cannot be written      (exit code 2)
 |-- NoSolutionError  the physics has no answer there   (exit code 3)
"""

from dataclasses import dataclass


class SimengineError(Exception):
    """Base of everything simengine raises on purpose; its text is meant for the user."""

    exit_code = 2


@dataclass(frozen=True)
class Problem:
    """One thing wrong with an input file: where it stands and what would be accepted."""

    file: str
    line: int | None
    key: str
    message: str

    def __str__(self) -> str:
        """`file:line: key: message`."""
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        return f"{place}: {self.key}: {self.message}" if self.key else f"{place}: {self.message}"


class ScenarioError(SimengineError):
    """A scenario that cannot be used; carries every problem found, not only the first."""

    exit_code = 2

    def __init__(self, problems: "list[Problem] | tuple[Problem, ...]") -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class OutputError(SimengineError):
    """A result that cannot be written; the text names the file and the reason."""

    exit_code = 2


class NoSolutionError(SimengineError):
    """The model has no physical answer for what was asked; the text says where and what to change."""

    exit_code = 3
