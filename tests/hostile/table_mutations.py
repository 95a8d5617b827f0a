"""Ways to spoil a table (csv) or a file of waypoints (GPX, which is XML)."""

import re
from random import Random

from mutations import NUMBERS, TEXT, UNITS, WORDS, Mutator


def cell_replaced(data: bytes, random: Random) -> bytes:
    """A cell holds something else."""
    lines = data.split(b"\n")
    for _ in range(random.choice((1, 1, 2))):
        place = random.randrange(len(lines))
        cells = lines[place].split(b",")
        value = random.choice(
            (*NUMBERS, *WORDS, *UNITS, "", '"', '"a\nb"', "'", "hold", "fit", "up", "level")
        )
        cells[random.randrange(len(cells))] = value.encode("utf-8", "surrogatepass")
        lines[place] = b",".join(cells)
    return b"\n".join(lines)


def column_changed(data: bytes, random: Random) -> bytes:
    """A column is missing, doubled, or changes its place."""
    rows = [line.split(b",") for line in data.split(b"\n")]
    width = max(map(len, rows))
    one, other = random.randrange(width), random.randrange(width)
    way = random.randrange(3)
    for row in rows:
        if max(one, other) < len(row):
            if way == 0:
                del row[one]
            elif way == 1:
                row.insert(other, row[one])
            else:
                row[one], row[other] = row[other], row[one]
    return b"\n".join(b",".join(row) for row in rows)


def heading_replaced(data: bytes, random: Random) -> bytes:
    """A heading says something else."""
    lines = data.split(b"\n")
    place = next((place for place, line in enumerate(lines) if line and not line.startswith(b"#")), 0)
    cells = lines[place].split(b",")
    number = random.randrange(len(cells))
    heading = cells[number].decode("utf-8", "replace").split(" ")[0]
    cells[number] = random.choice(
        (heading, f"{heading} {random.choice(UNITS)}", "", "__class__", "x" * 4000, "\x1b[2J", "rows", "note")
    ).encode()
    lines[place] = b",".join(cells)
    return b"\n".join(lines)


def few_rows(data: bytes, random: Random) -> bytes:
    """Headings with no row, or with one."""
    lines = [line for line in data.split(b"\n") if line.strip() and not line.startswith(b"#")]
    return b"\n".join(lines[: random.choice((1, 2, 3))]) + b"\n"


def other_separator(data: bytes, random: Random) -> bytes:
    """Cells are set apart by something else, or wrapped in quotes that do not end."""
    return data.replace(b",", random.choice((b";", b"\t", b" ", b"|", b",,", b'","', b",\n", b'"')))


def entities(data: bytes, random: Random) -> bytes:
    """Entities that unfold into a huge file, or fetch another one."""
    laughs = "".join(f"<!ENTITY l{n} '{f'&l{n - 1};' * 10 if n else 'ha'}'>" for n in range(12))
    declared = random.choice(
        (
            f"<!DOCTYPE gpx [{laughs}]>",
            "<!DOCTYPE gpx [<!ENTITY l11 SYSTEM 'file:///etc/passwd'>]>",
            "<!DOCTYPE gpx [<!ENTITY l11 SYSTEM 'http://127.0.0.1:9/x'>]>",
            "<!DOCTYPE gpx SYSTEM 'file:///etc/passwd'>",
            "<!DOCTYPE gpx [<!ENTITY % p SYSTEM 'file:///dev/zero'> %p;]>",
            "<!doctype gpx>",
            "<?xml-stylesheet href='file:///etc/passwd'?>",
        )
    ).encode()
    place = data.find(b"<gpx")
    spoiled = data[:place] + declared + data[place:]
    return re.sub(rb"<name>[^<]*</name>", b"<name>&l11;</name>", spoiled, count=random.choice((0, 1)))


def elements_changed(data: bytes, random: Random) -> bytes:
    """Elements of another name, without end, without attributes, or ten thousand deep."""
    way = random.randrange(6)
    if way == 0:
        return re.sub(
            rb'lat="[^"]*"', random.choice((b"", b'lat=""', b'lat="x"', b'lat="1e400"', b'lat="nan"')), data
        )
    if way == 1:
        return data.replace(b"rtept", random.choice((b"wpt", b"trkpt", b"x", b"rte", b"")))
    if way == 2:
        depth = random.choice((1_000, 10_000, 200_000))
        return data.replace(b"</gpx>", b"<a>" * depth + b"</a>" * depth + b"</gpx>")
    if way == 3:
        many = random.choice((999, 1_001, 50_000))
        points = b"".join(b'<rtept lat="%d.5" lon="%f"/>' % (n % 80, n / 1000) for n in range(many))
        return re.sub(rb"<rte>.*</rte>", b"<rte>" + points + b"</rte>", data, flags=re.DOTALL)
    if way == 4:
        name = random.choice(WORDS).replace("<", "&lt;").replace("&l11", "").encode("utf-8", "replace")
        return re.sub(rb"<name>[^<]*</name>", b"<name>" + name.replace(b"\\", b"") + b"</name>", data)
    return data.replace(
        b"http://www.topografix.com/GPX/1/1", random.choice((b"", b"urn:x", b"file:///etc/passwd"))
    )


TABLE: tuple[Mutator, ...] = (
    *TEXT,
    cell_replaced,
    cell_replaced,
    column_changed,
    heading_replaced,
    few_rows,
    other_separator,
)
XML: tuple[Mutator, ...] = (*TEXT, entities, entities, elements_changed, elements_changed)
