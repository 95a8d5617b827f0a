"""The tutorial of the README, executed: every command works in its turn, and what it quotes comes out."""

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
HEADING = "## From zero to your first own hub"
PROGRAM = [sys.executable, "-c", "from simengine.cli import main; main()"]
BLOCK = re.compile(r"^```(\w+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
PICTURE = re.compile(r"!\[([^\]]+)\]\((scenarios/tutorial/[^)]+)\)")
SET_UP = ("python3 ", "mkdir ")  # a new environment and a folder: tests run in theirs
LARGEST_PICTURE = 120_000  # bytes
NUMBER = re.compile(r"\d+(?:\.\d+)?")
CLOSE = 0.05  # share by which a quoted number may differ: models are refined more often than texts
LONGEST = 300  # seconds for one command, on a busy machine


def tutorial() -> str:
    """The section of the README."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    assert HEADING in text, f"README.md has no section '{HEADING}'"
    return re.split(r"^## ", text.partition(HEADING)[2], maxsplit=1, flags=re.MULTILINE)[0]


def flat(text: str) -> str:
    """Text with every run of blanks as one, so that it does not matter where lines break."""
    return " ".join(text.split())


def quoted(quote: str, output: str) -> None:
    """Each piece of a quote stands in the output, its words to the letter, its numbers nearly."""
    told = flat(output)
    for piece in (flat(piece) for piece in quote.split("...")):
        if not piece:
            continue
        pattern = NUMBER.sub(r"(\\d+(?:\\.\\d+)?)", re.escape(piece).replace(r"\.", "."))
        found = re.search(pattern, told)
        assert found, f"not in the output: {piece}\n{output}"
        for here, there in zip(NUMBER.findall(piece), NUMBER.findall(found[0]), strict=True):
            assert float(there) == pytest.approx(float(here), rel=CLOSE, abs=0.5), (piece, found[0])


def run(command: str, folder: Path) -> str:
    """Run one command line in a folder; all that it told."""
    words = shlex.split(command)
    assert words[0] == "simengine", command
    environment = {**os.environ, "NO_COLOR": "1"}
    done = subprocess.run(
        [*PROGRAM, *words[1:]],
        cwd=folder,
        env=environment,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=LONGEST,
    )
    assert done.returncode == 0, f"{command}\n{done.stdout}\n{done.stderr}"
    return done.stdout + done.stderr


@pytest.mark.slow
def test_the_tutorial_works_step_by_step(tmp_path):
    section, output, commands = tutorial(), "", 0
    for block in BLOCK.finditer(section):
        kind, text = block.groups()
        if kind == "sh":
            lines = [line for line in text.splitlines() if line and not line.startswith(SET_UP)]
            output = "".join(run(line, tmp_path) for line in lines)
            commands += len(lines)
        elif kind == "text":
            quoted(text, output)
        else:  # a file that the reader writes, or adds to: the last one named before the block
            (name,) = re.findall(rf"`([\w.]+\.{kind})`", section[: block.start()])[-1:]
            with (tmp_path / name).open("a", encoding="utf-8") as file:
                file.write(f"\n{text}" if kind == "yaml" else text)
    assert commands >= 8
    for name in re.findall(r"`(outputs/[\w.]+)`", section):
        assert (tmp_path / name).is_file(), name


def test_the_pictures_are_there_small_and_described():
    pictures = PICTURE.findall(tutorial())
    assert pictures
    stored = {path.relative_to(ROOT).as_posix() for path in (ROOT / "scenarios" / "tutorial").iterdir()}
    assert {path for _, path in pictures} == stored
    for words, path in pictures:
        assert len(words) > 20
        assert (ROOT / path).stat().st_size < LARGEST_PICTURE
        assert (ROOT / path).read_bytes().startswith(b"\x89PNG")


def test_a_quote_that_is_not_in_the_output_is_found():
    quoted("Used 2.84 L in 41 min. ... rpm", "Used  2.86 L\nin 41 min. at 5 rpm")
    with pytest.raises(AssertionError):
        quoted("Used 2.84 L", "Used 4.1 L")
    with pytest.raises(AssertionError):
        quoted("Spent 2.84 L", "Used 2.84 L")
