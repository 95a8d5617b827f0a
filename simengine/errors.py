"""What simengine raises.

SimengineError
 |-- ScenarioError    the input cannot be used          (exit code 2)
 |-- OutputError      a result cannot be written      (exit code 2)
 |-- ExecutionError   workers cannot be used          (exit code 2)
 |-- NoSolutionError  the physics has no answer there   (exit code 3)

KeyboardInterrupt
 |-- InterruptedStudy stopped by the user; pieces kept  (exit code 130)
"""

from dataclasses import dataclass

MOST_TOLD = 250  # problems, more than anybody reads
LONGEST = 1000  # characters of a text that was typed or of a message, more than anybody reads
LONGEST_KEY = 200
LONGEST_LINE = 5000  # with the longest path that systems know


class SimengineError(Exception):
    """Base of everything simengine raises on purpose; its text is meant for the user."""

    exit_code = 2

    def __str__(self) -> str:
        """The text, line by line as it can be shown."""
        return "\n".join(shown(line, LONGEST_LINE) for line in super().__str__().split("\n"))


def shown(text: str, longest: int = LONGEST) -> str:
    """Text on one line, without characters that a terminal obeys, and without the middle if it is endless."""
    text = cut(text, longest)
    if text.isprintable():
        return text
    letters = (each if each.isprintable() else each.encode("unicode_escape").decode() for each in text)
    return cut("".join(letters), longest)


def letters(text: str) -> str:
    """Text with escapes in place of what no file can hold: the name of a file may have any bytes."""
    return text.encode("utf-8", "backslashreplace").decode()


def cut(text: str, longest: int) -> str:
    """Text without its middle if it is too long: what is typed stands first, what is accepted last."""
    return text if len(text) <= longest else f"{text[: longest // 2]} ... {text[-longest // 4 :]}"


@dataclass(frozen=True)
class Problem:
    """One thing wrong with an input file: where it stands and what would be accepted."""

    file: str
    line: int | None
    key: str
    message: str

    def __str__(self) -> str:
        """`file:line: key: message`, on one line that can be shown."""
        file, key, message = shown(self.file), shown(self.key, LONGEST_KEY), shown(self.message)
        place = file if self.line is None else f"{file}:{self.line}"
        return f"{place}: {key}: {message}" if key else f"{place}: {message}"


class ScenarioError(SimengineError):
    """A scenario that cannot be used; carries every problem found, not only the first."""

    exit_code = 2

    def __init__(self, problems: "list[Problem] | tuple[Problem, ...]") -> None:
        self.problems = tuple(problems)
        told = [str(problem) for problem in self.problems[:MOST_TOLD]]
        more = len(self.problems) - len(told)
        super().__init__("\n".join([*told, f"and {more} more problems"] if more else told))

    def __reduce__(self) -> "tuple[type[ScenarioError], tuple[tuple[Problem, ...]]]":
        """Pickled by its problems, as it is made: it may come from another process."""
        return type(self), (self.problems,)


class OutputError(SimengineError):
    """A result that cannot be written; the text names the file and the reason."""

    exit_code = 2


class ExecutionError(SimengineError):
    """Workers or a cluster that cannot be used; the text says why and what to do."""

    exit_code = 2


class NoSolutionError(SimengineError):
    """The model has no physical answer for what was asked; the text says where and what to change."""

    exit_code = 3


class InterruptedStudy(KeyboardInterrupt):
    """A study that its user stopped; its text tells what is kept and how to go on."""
