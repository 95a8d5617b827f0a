"""Ways to spoil a file: functions from bytes and a random generator to bytes, the same for the same seed.

These fit every file (`BYTES`) or every text (`TEXT`). What fits one kind only is in `yaml_mutations.py`,
`table_mutations.py` and `netcdf_mutations.py`; what is wrong with the place of a file and not with what it
holds (links, devices, folders) in `places.py`.
"""

import re
from collections.abc import Callable
from random import Random

Mutator = Callable[[bytes, Random], bytes]

NUMBERS = (
    *(
        "0",
        "-0",
        "-1",
        "1",
        "1e-300",
        "1e300",
        "-1e300",
        "1e400",
        "-1e400",
        "5e-324",
        "9" * 400,
        "1" + "0" * 5000,
    ),
    *(
        ".nan",
        ".inf",
        "-.inf",
        "nan",
        "inf",
        "-inf",
        "NaN",
        "Infinity",
        "1_000",
        "0x10",
        "010",
        "1e",
        "--1",
        "1,5",
    ),
    *(
        "1e16",
        "-1e16",
        "123456789012345678901234567890",
        "4.9e-5",
        "1.7976931348623157e308",
        "²",
        "٣",
        "1e-9",
    ),
)
UNITS = (
    "mm",
    "m",
    "kg",
    "g",
    "rpm",
    "rad/s",
    "deg",
    "rad",
    "N",
    "N*m",
    "N/mm",
    "K",
    "degC",
    "%",
    "s",
    "h",
    "km/h",
    "hPa",
    "L",
    "L/h",
    "kW",
    "furlong",
    "",
    "mm mm",
    "°",
    "1",
    "m2",
    "kg*m2",
    "ft",
    "nmi",
    "inHg",
    "\u202e",
)
WORDS = (
    *(
        "true",
        "false",
        "null",
        "~",
        "yes",
        "off",
        "''",
        '""',
        "[]",
        "{}",
        "[[]]",
        "[1, 2",
        "{a: 1",
        "2026-11-25",
    ),
    *(
        "12:30:15",
        "2026-11-25T10:00:00Z",
        "!!python/object:os.system x",
        "!!binary aGk=",
        "!!float 1",
        "!x y",
    ),
    *(
        "&a x",
        "*a",
        "&a [*a]",
        "<<",
        "|",
        ">",
        "- 1",
        "? a",
        ": b",
        "%",
        "@",
        "`",
        "'",
        '"',
        '"\\e[2J\\a"',
        '"\\0"',
    ),
    *(
        '"\\u202e"',
        '"\\ud800"',
        "x" * 300,
        "x" * 70_000,
        "é" * 200,
        "😀",
        "$\\frac{1}{0}$",
        "$HOME",
        "../../x",
        "/",
    ),
    *(
        "46 mm",
        "46 +- mm",
        "46 +- 1e9 mm",
        "1 +- 0 kg",
        "1 kg, measured",
        "1 kg, fitted, fitted",
        "two_stop",
        "fixed",
    ),
    *(
        "__class__",
        "{0.__class__}",
        "%s%n",
        "<script>alert(1)</script>",
        "=1+1",
        "[red]x[/red]",
        "[/]",
        "\\n\\n",
    ),
)
CONTROLS = (
    b"\0",
    b"\x07",
    b"\x1b[2J",
    b"\x08",
    b"\x7f",
    b"\x85",
    b"\xc2\x85",
    b"\xe2\x80\xa8",
    b"\xe2\x80\xae",
    b"\xff",
    b"\xef\xbf\xbe",
    b"\xed\xa0\x80",
    b"\x0c",
    b"\x0b",
    b"\x1c",
    b"\t",
    b"\r",
    b"\x9b31m",
)
NUMBER = re.compile(rb"(?<![\w.])[-+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?")
QUANTITY = re.compile(rb"(\d) *(mm2?|m2?|kg|g|rpm|deg|N|N\*m|N/mm|K|degC|%|s|min|h|km/h|hPa|L|kW|kt|km)\b")


def some_number(random: Random) -> str:
    """A number that nobody means, or a plain one of any size."""
    if random.random() < 0.6:
        return random.choice(NUMBERS)
    return f"{random.choice((1, -1)) * 10 ** random.uniform(-12, 12):.6g}"


# Bytes of any file ---


def byte_flips(data: bytes, random: Random) -> bytes:
    """A few bits turned."""
    found = bytearray(data)
    for _ in range(random.choice((1, 1, 2, 8, 64))):
        if found:
            found[random.randrange(len(found))] ^= 1 << random.randrange(8)
    return bytes(found)


def cut_short(data: bytes, random: Random) -> bytes:
    """The end is missing."""
    return data[: random.choice((0, 1, 3, random.randrange(len(data) + 1), max(len(data) - 1, 0)))]


def piece_removed(data: bytes, random: Random) -> bytes:
    """A piece is missing."""
    start = random.randrange(len(data) + 1)
    return data[:start] + data[start + random.choice((1, 10, 100, 1000)) :]


def piece_doubled(data: bytes, random: Random) -> bytes:
    """A piece is there again somewhere else."""
    start, place = random.randrange(len(data) + 1), random.randrange(len(data) + 1)
    return data[:place] + data[start : start + random.choice((1, 20, 300))] + data[place:]


def bytes_inserted(data: bytes, random: Random) -> bytes:
    """Bytes of no meaning."""
    place = random.randrange(len(data) + 1)
    return data[:place] + random.randbytes(random.choice((1, 4, 64))) + data[place:]


def zeroed(data: bytes, random: Random) -> bytes:
    """A block of the disc came back empty."""
    start = random.randrange(len(data) + 1)
    length = min(random.choice((1, 16, 512, 4096)), len(data) - start)
    return data[:start] + bytes(length) + data[start + length :]


# Text ---


def control_characters(data: bytes, random: Random) -> bytes:
    """A character that a terminal would obey, or none at all."""
    place = random.randrange(len(data) + 1)
    return data[:place] + random.choice(CONTROLS) * random.choice((1, 1, 50)) + data[place:]


def line_removed(data: bytes, random: Random) -> bytes:
    """One or some lines are missing."""
    lines = data.splitlines(keepends=True)
    start = random.randrange(len(lines) + 1)
    return b"".join(lines[:start] + lines[start + random.choice((1, 1, 2, 5)) :])


def line_doubled(data: bytes, random: Random) -> bytes:
    """A line is there twice, or very often."""
    lines = data.splitlines(keepends=True) or [b""]
    place = random.randrange(len(lines))
    return b"".join([*lines[:place], *[lines[place]] * random.choice((2, 2, 3, 2000)), *lines[place + 1 :]])


def lines_swapped(data: bytes, random: Random) -> bytes:
    """Two lines change places."""
    lines = data.splitlines(keepends=True) or [b""]
    one, other = random.randrange(len(lines)), random.randrange(len(lines))
    lines[one], lines[other] = lines[other], lines[one]
    return b"".join(lines)


def line_indented(data: bytes, random: Random) -> bytes:
    """A line stands deeper, or less deep."""
    lines = data.splitlines(keepends=True) or [b""]
    place = random.randrange(len(lines))
    shift = random.choice((b" ", b"  ", b"\t", b"    ", b""))
    lines[place] = shift + (lines[place] if shift else lines[place].lstrip())
    return b"".join(lines)


def number_replaced(data: bytes, random: Random) -> bytes:
    """A number is another one: huge, tiny, negative, zero, not finite, or merely another."""
    places = list(NUMBER.finditer(data))
    for _ in range(random.choice((1, 1, 1, 3))):
        if places:
            place = places.pop(random.randrange(len(places)))
            data = data[: place.start()] + some_number(random).encode() + data[place.end() :]
            places = list(NUMBER.finditer(data)) if len(data) < 100_000 else []
    return data


def number_scaled(data: bytes, random: Random) -> bytes:
    """A number of the same sign that is off by a factor: what slips past a look at the sign."""
    places = list(NUMBER.finditer(data))
    if not places:
        return data
    place = random.choice(places)
    try:
        value = float(place.group()) * random.choice(
            (0.5, 0.9, 1.1, 2.0, 5.0, 10.0, 100.0, 0.1, 0.01, 0.0, -1.0)
        )
    except ValueError:
        return data
    return data[: place.start()] + f"{value:.9g}".encode() + data[place.end() :]


def unit_replaced(data: bytes, random: Random) -> bytes:
    """A unit is another one."""
    places = list(QUANTITY.finditer(data))
    if not places:
        return data
    place = random.choice(places)
    return data[: place.start(2)] + random.choice(UNITS).encode() + data[place.end(2) :]


def other_encoding(data: bytes, random: Random) -> bytes:
    """The same text in another encoding."""
    text = data.decode("utf-8", "replace")
    name = random.choice(("utf-16", "utf-16-le", "utf-32", "latin-1", "utf-8-sig", "cp037", "utf-7"))
    return text.encode(name, "replace") + ("é±°".encode("latin-1") if name == "latin-1" else b"")


def other_line_ends(data: bytes, random: Random) -> bytes:
    """Line ends of another system."""
    return data.replace(b"\n", random.choice((b"\r\n", b"\r", b"\r\r\n", b"\n\r", b"\xe2\x80\xa8", b"\x0b")))


def endless_line(data: bytes, random: Random) -> bytes:
    """A line that does not end."""
    lines = data.splitlines(keepends=True) or [b""]
    place = random.randrange(len(lines))
    filler = random.choice((b"x", b"9", b" ", b",", b"#", b"[", b'"', b"-", b"a: ", b"1 "))
    lines[place] = lines[place].rstrip(b"\n") + filler * random.choice((5_000, 150_000, 1_500_000)) + b"\n"
    return b"".join(lines)


def nothing(data: bytes, random: Random) -> bytes:
    """A file that holds nothing, or only what counts for nothing."""
    return random.choice(
        (b"", b"\n", b" \n\t\n", b"# only a comment\n", b"\xef\xbb\xbf", b"---\n", b"...", b"\0" * 9)
    )


def very_large(data: bytes, random: Random) -> bytes:
    """A file of many megabytes."""
    return data * (random.choice((2_000_000, 30_000_000)) // max(len(data), 1) + 1)


BYTES: tuple[Mutator, ...] = (byte_flips, cut_short, piece_removed, piece_doubled, bytes_inserted, zeroed)
TEXT: tuple[Mutator, ...] = (
    *BYTES,
    *(
        control_characters,
        line_removed,
        line_doubled,
        lines_swapped,
        line_indented,
        number_replaced,
        number_scaled,
    ),
    *(unit_replaced, other_encoding, other_line_ends, endless_line, nothing, very_large),
    *(number_replaced, number_scaled, unit_replaced),  # what comes through most often, and so again
)
