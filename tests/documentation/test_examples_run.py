"""Every piece of Python that the README, the contributor guide and the docstrings show does what they say."""

import doctest
import importlib
import re
import shutil
from pathlib import Path

import pytest

import simengine

PACKAGE = Path(simengine.__file__).parent
ROOT = PACKAGE.parent
SLOW = {"choose", "envelope"}


def python_blocks():
    """Blocks of Python code in the documents, by document and line."""
    for name in ("README.md", "DEVELOPERS.md"):
        text = (ROOT / name).read_text(encoding="utf-8")
        for block in re.finditer(r"^```(?:python|py|pycon)\n(.*?)^```", text, re.MULTILINE | re.DOTALL):
            yield pytest.param(block[1], id=f"{name}:{text.count(chr(10), 0, block.start()) + 1}")


def modules_with_examples():
    """Modules whose text holds an example, but those of the public names, which have tests of their own."""
    public = {getattr(simengine, name).__module__ for name in simengine.__all__}
    for source in sorted(PACKAGE.rglob("*.py")):
        name = ".".join(source.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
        if ">>> " in source.read_text(encoding="utf-8") and name not in public:
            yield name


@pytest.fixture
def checkout(tmp_path, monkeypatch):
    """A folder that looks like a checkout to an example, with the scenarios and without results."""
    shutil.copytree(ROOT / "scenarios", tmp_path / "scenarios")
    with (tmp_path / "scenarios" / "ground_run.yaml").open("a") as file:
        file.write("envelope: {heights_count: 5, map_heights: 4, map_throttles: 4}\n")  # coarse, so quick
    monkeypatch.chdir(tmp_path)


@pytest.mark.parametrize("code", list(python_blocks()))
def test_python_in_the_documents(checkout, code, capsys):
    exec(compile(code, "document", "exec"), {})
    assert capsys.readouterr().out


@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=[pytest.mark.slow] * (name in SLOW)) for name in simengine.__all__]
)
def test_example_of_a_public_function(checkout, name):
    function = getattr(simengine, name)
    tests = doctest.DocTestFinder(recurse=False).find(function, name, globs={})
    assert [example for test in tests for example in test.examples], f"simengine.{name} has no example"
    for test in tests:
        assert_right(test)


@pytest.mark.parametrize("module", list(modules_with_examples()))
def test_examples_of_a_module(checkout, module):
    for test in doctest.DocTestFinder().find(importlib.import_module(module), globs={}):
        assert_right(test)


def assert_right(test):
    told = []
    failed, _ = doctest.DocTestRunner(verbose=False).run(test, out=told.append)
    assert failed == 0, "".join(told)
