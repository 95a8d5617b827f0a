"""What each key means: the text that stands below it in its record.

Python drops such texts when it loads a module, so they are read from the source, and only when somebody asks.
"""

import ast
import inspect
import sys
from functools import cache

from simengine.scenario.quantities import Record


@cache
def descriptions(record: type[Record]) -> dict[str, str]:
    """Text of every key of a record, those of the records it builds on included."""
    found: dict[str, str] = {}
    for kind in reversed(record.__mro__):
        if issubclass(kind, Record):
            found |= own_descriptions(kind.__module__).get(kind.__name__, {})
    return {name: found[name] for name in record.model_fields if name in found}


@cache
def own_descriptions(module: str) -> dict[str, dict[str, str]]:
    """Texts in a module, by class and key."""
    tree = ast.parse(inspect.getsource(sys.modules[module]))
    return {item.name: texts_below_keys(item) for item in tree.body if isinstance(item, ast.ClassDef)}


def texts_below_keys(record: ast.ClassDef) -> dict[str, str]:
    """Each key that has a text on the lines below it."""
    found = {}
    for key, below in zip(record.body, record.body[1:], strict=False):
        if not (isinstance(key, ast.AnnAssign) and isinstance(key.target, ast.Name)):
            continue
        if isinstance(below, ast.Expr) and isinstance(below.value, ast.Constant):
            found[key.target.id] = " ".join(str(below.value.value).split())
    return found
