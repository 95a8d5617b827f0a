"""Nodes -> YAML text that reads back as the same nodes."""

import io

import yaml
from yaml.emitter import Emitter
from yaml.serializer import Serializer

from simengine.scenario.yaml_nodes import (
    BOOL,
    FLOAT,
    INT,
    NULL,
    TEXT,
    Mapping,
    Node,
    Scalar,
    ScenarioResolver,
    Sequence,
)

MAP, LIST = "tag:yaml.org,2002:map", "tag:yaml.org,2002:seq"
TAGS: dict[type, str] = {str: TEXT, int: INT, float: FLOAT, bool: BOOL, type(None): NULL}


class ScenarioEmitter(Emitter, Serializer, ScenarioResolver):
    """PyYAML's writer with our reading of plain scalars, so that it quotes what we would misread."""

    def __init__(self, stream: io.StringIO) -> None:
        Emitter.__init__(self, stream, width=1_000_000, allow_unicode=True)
        Serializer.__init__(self)
        ScenarioResolver.__init__(self)


def emit(tree: Mapping) -> str:
    """YAML text of a tree; empty values are left out."""
    stream = io.StringIO()
    emitter = ScenarioEmitter(stream)
    emitter.open()
    emitter.serialize(yaml_node(tree))
    emitter.close()
    return stream.getvalue()


def yaml_node(node: Node) -> yaml.Node:
    """PyYAML's node of one of ours; lists of values stay on one line."""
    if isinstance(node, Scalar):
        return yaml.ScalarNode(TAGS[type(node.value)], node.text)
    if isinstance(node, Sequence):
        flat = all(isinstance(item, Scalar) for item in node.items)
        return yaml.SequenceNode(LIST, [yaml_node(item) for item in node.items], flow_style=flat)
    pairs = [
        (yaml.ScalarNode(TEXT, key), yaml_node(item))
        for key, item in node.entries.items()
        if not (isinstance(item, Scalar) and item.value is None)
    ]
    return yaml.MappingNode(MAP, pairs, flow_style=False)
