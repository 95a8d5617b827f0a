"""Ways to spoil a YAML file."""

import re
from copy import deepcopy
from random import Random

import yaml
from mutations import NUMBERS, TEXT, WORDS, Mutator, byte_flips, number_scaled


def value_replaced(data: bytes, random: Random) -> bytes:
    """What stands behind a key is something else."""
    lines = data.splitlines() or [b""]
    places = [
        place for place, line in enumerate(lines) if b":" in line and not line.lstrip().startswith(b"#")
    ]
    if places:
        place = random.choice(places)
        key = lines[place].partition(b":")[0]
        value = random.choice((*WORDS, *NUMBERS)).encode("utf-8", "surrogatepass")
        lines[place] = key + b": " + value
    return b"\n".join(lines) + b"\n"


def key_renamed(data: bytes, random: Random) -> bytes:
    """A key is another one."""
    lines = data.splitlines() or [b""]
    places = [place for place, line in enumerate(lines) if b":" in line]
    if places:
        place = random.choice(places)
        head, _, rest = lines[place].partition(b":")
        indent = head[: len(head) - len(head.lstrip())]
        new = random.choice((*WORDS, *NUMBERS, head.decode("utf-8", "replace").strip() + "x")).encode(
            "utf-8", "replace"
        )
        lines[place] = indent + new + b":" + rest
    return b"\n".join(lines) + b"\n"


def nested(data: bytes, random: Random) -> bytes:
    """Levels without end."""
    depth = random.choice((40, 1_000, 10_000))
    deep = random.choice(
        (
            b"deep: " + b"[" * depth + b"]" * depth,
            b"deep: " + b"{a: " * depth + b"1" + b"}" * depth,
            b"title: " + b"[" * depth,
            b"hub: " + b"- " * depth,
            b"\n".join(b" " * level + b"a:" for level in range(min(depth, 1200))),
            b"? " * depth,
        )
    )
    return data + b"\n" + deep + b"\n"


def bomb(data: bytes, random: Random) -> bytes:
    """Anchors that unfold into a huge file, point at themselves, or carry a tag of another language."""
    laughs = "\n".join(f"l{n}: &l{n} [{', '.join([f'*l{n - 1}' if n else '1'] * 9)}]" for n in range(12))
    extra = random.choice(
        (
            laughs,
            "loop: &x [*x]",
            "loop: &x {a: *x}",
            "base: &b {a: 1}\nhub: {<<: *b}",
            "title: !!python/object/apply:os.system ['touch bomb']",
            "title: !!python/name:os.system",
            "title: !!python/object/new:tuple [[1]]",
            "hub: !!set {a, b}",
            "hub: !!omap [a: 1]",
            "title: !!timestamp 2026-01-01",
            "%YAML 9.9\n---\ntitle: x",
            "%TAG ! tag:example.org,2000:\n---\ntitle: !x y",
        )
    ).encode()
    return extra + b"\n" + data if random.random() < 0.5 else data + b"\n" + extra + b"\n"


MOST_BRANCHES = 100_000
LARGEST = 200_000  # bytes of a file whose tree is spoiled: this campaign's own memory is bounded too


def documents(data: bytes, random: Random) -> bytes:
    """More than one document in a file."""
    return data + random.choice((b"\n---\n", b"\n...\n---\n", b"\n--- \n--- \n")) + data


def tree_spoiled(data: bytes, random: Random) -> bytes:
    """The tree of a file with a branch of another type, or with a branch in another place."""
    tree = tree_of_text(data)
    if tree is None:
        return byte_flips(data, random)
    owners = branches(tree)
    if len(owners) > MOST_BRANCHES:
        return data  # aliases of aliases: hostile as it is, and without end once they are written out
    owner, key = random.choice(owners)
    other_owner, other_key = random.choice(owners)
    way = random.randrange(6)
    if way == 0:
        del owner[key]
    elif way == 1:
        owner[key] = deepcopy(other_owner[other_key]) if other_key in keys_of(other_owner) else None
    elif way == 2:
        owner[key] = [owner[key]] * random.choice((0, 1, 3, 3_000))
    elif way == 3:
        owner[key] = {"value": owner[key], "plus_minus": random.choice(("1 mm", "-1 mm", 5, None)), "a": {}}
    elif way == 4:
        owner[key] = random.choice(
            (None, True, 0, -1, 10**30, 1e300, "", "x", [], {}, [[]], {"use": "nowhere.yaml"})
        )
    elif isinstance(owner, dict):
        owner[random.choice((1, 1.5, True, None, "", "extends", "use", "variants", "kind", "a.b", "é"))] = (
            owner[key]
        )
    text: str = yaml.dump(tree, Dumper=Plain, allow_unicode=True, sort_keys=False)
    return text.encode()


def tree_of_text(data: bytes) -> dict[str, object] | None:
    """The tree of a file; None if there is none, or the file is too large to make one here."""
    if len(data) > LARGEST:
        return None
    try:
        tree = yaml.safe_load(data)
    except (yaml.YAMLError, ValueError, RecursionError):
        return None
    return tree if isinstance(tree, dict) else None


class Plain(yaml.SafeDumper):
    """Writes a branch that stands in two places twice."""

    def ignore_aliases(self, data: object) -> bool:
        """Never an alias."""
        return True


def keys_of(owner: object) -> list[object]:
    """Keys of a branch."""
    return list(range(len(owner))) if isinstance(owner, list) else list(owner)  # type: ignore[call-overload]


def branches(tree: object) -> list[tuple[object, object]]:
    """Every branch of a tree, as who owns it and under which key; an endless one cut short."""
    found = []
    stack = [tree]
    while stack and len(found) <= MOST_BRANCHES:
        owner = stack.pop()
        for key in keys_of(owner):
            found.append((owner, key))
            if isinstance(owner[key], dict | list):  # type: ignore[index]
                stack.append(owner[key])  # type: ignore[index]
    return found or [({"a": 1}, "a")]


def reference(data: bytes, random: Random) -> bytes:
    """A file that pulls in what it must not: itself, what is outside, what is no scenario."""
    name = random.choice(
        (
            *(
                "mutant.yaml",
                "./mutant.yaml",
                "../outside/secret.yaml",
                "../../etc/passwd",
                "/etc/passwd",
                "~/x.yaml",
            ),
            *(
                "/dev/zero",
                "parts",
                "parts/",
                ".",
                "..",
                "",
                "//x.yaml",
                "C:/x.yaml",
                "\\\\x\\y.yaml",
                "a\0.yaml",
            ),
            *(
                "link_out.yaml",
                "link_loop.yaml",
                "link_zero.yaml",
                "pipe.yaml",
                "x" * 300 + ".yaml",
                "😀.yaml",
            ),
            *(
                "x\n.yaml",
                "file:///etc/passwd",
                "http://localhost/x.yaml",
                "folder.yaml",
                "ring_a.yaml",
                "%00.yaml",
            ),
            *(
                "a/" * 3000 + "x.yaml",
                "link_out/secret.yaml",
                "outside/../../outside/secret.yaml",
                "ladder_0.yaml",
            ),
        )
    )
    quoted = '"' + name.replace("\\", "\\\\").replace("\n", "\\n").replace("\0", "\\0") + '"'
    if random.random() < 0.4:
        return b"extends: " + quoted.encode() + b"\n" + re.sub(rb"(?m)^extends:.*$", b"", data)
    owner = random.choice(("hub", "engine", "wing", "propeller", "drive", "a.b", "route"))
    key = "polar" if owner == "propeller" and random.random() < 0.5 else "use"
    if random.random() < 0.2:
        return data + f"\nroute: {{waypoints: {quoted}}}\n".encode()
    return data + f"\n{owner}: {{{key}: {quoted}}}\n".encode()


YAML: tuple[Mutator, ...] = (
    *TEXT,
    *(
        value_replaced,
        value_replaced,
        key_renamed,
        nested,
        bomb,
        documents,
        tree_spoiled,
        tree_spoiled,
        reference,
    ),
    *(number_scaled, number_scaled),
)
