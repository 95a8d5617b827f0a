"""The scenario reference as Markdown: every key, the units, and what `--json` prints."""

from simengine import units
from simengine.report.documents import DOCUMENTS
from simengine.scenario.key_tables import key_sections
from simengine.scenario.reading_kinds import KINDS
from simengine.scenario.records import ScenarioRecord

HEAD = """\
# Scenario reference

Every key that a scenario may hold. Written by `simengine schema --reference`, from the same records that
check your file: do not edit it. An editor that knows YAML schemas tells the same while you type, if the first
line of the file names the schema: `# yaml-language-server: $schema=simengine.schema.json`.

**How a value is written.** A number with its unit: `46 mm`, `14 N/mm`, `9500 ft`. It may say how sure it is,
as the half-width that holds 95 % of such parts, and where it comes from: `46 +- 0.5 mm, measured`; origins
are `measured`, `assumed` and `fitted`. In full: `{value: 46 mm, origin: measured, note: with the new gauge}`.
Only shares and plain numbers go without a unit.

**How a table is written.** Headings with their units, then rows of numbers:

```yaml
columns: [bar %, speed km/h, sink m/s]
rows:
  - [0, 37.5, 1.30]
  - [100, 49.5, 2.40]
```

**How files build on one another.** `extends: other.yaml` at the top puts a file on top of another; `use:
parts/engines/mine.yaml` pulls a part into a block. Keys of the upper file win, lists are replaced, and an
empty value takes away what lies below. `variants:` holds other versions of the same machine, each by what
differs; `simengine check` does not fly them, so what is agreed on one belongs in a file of its own.

"""


def reference_text() -> str:
    """The whole reference."""
    return HEAD + contents() + key_sections() + unit_table() + reading_table() + document_table()


def contents() -> str:
    """Links to the blocks."""
    names = [
        name for name in ScenarioRecord.model_fields if name not in ("simengine", "title", "note", "failures")
    ]
    links = ", ".join(f"[`{name}`](#{name})" for name in names)
    others = "[quantities and their units](#quantities-and-their-units), [readings](#readings), "
    return f"**Blocks:** {links}.\n\n**Further:** {others}[what `--json` prints](#what---json-prints).\n\n"


def unit_table() -> str:
    """Every kind of quantity with the units accepted."""
    lines = [
        "\n## Quantities and their units\n",
        "Other spellings are understood: `N m`, `Nm`, `m^2`, `m²`, `°`, `l`, `lbs`. Whatever its key, no",
        "value may be larger than the last column says; one nearer to 0 than anybody measures counts as 0.\n",
        "| quantity | units | example | largest |",
        "|---|---|---|---|",
    ]
    for dimension in units.DIMENSIONS:
        accepted = ", ".join(f"`{unit}`" if unit else "no unit" for unit in dimension.units)
        name, largest = dimension.name, units.readable(dimension.largest, dimension)
        link = f'<a id="{name.replace(" ", "-")}"></a>'
        lines.append(f"| {link}{name} | {accepted} | `{dimension.example}` | {largest} |")
    return "\n".join(lines) + "\n"


def reading_table() -> str:
    """Kinds of readings for `simengine calibrate`."""
    lines = [
        "\n## Readings\n",
        "A csv file for `simengine calibrate`, one reading a row; `simengine calibrate --help` names the",
        "columns. Under `what` stands one of these. Where no `+-` is typed, the usual band is taken (common",
        "practice, no source).\n",
        "| what | meaning | unit | phase | usual `+-` | needs |",
        "|---|---|---|---|---|---|",
    ]
    for kind in KINDS.values():
        dimension = kind.dimensions[0]
        band = (
            f"{100 * kind.usual:g} %" if kind.relative else units.readable(kind.usual, dimension, kind.unit)
        )
        rpm = " (ENGINE)" if kind.unit == "rpm" else ""
        cells = [f"`{kind.name}`", kind.words, f"{kind.unit}{rpm}", ", ".join(kind.phases), band]
        lines.append(f"| {' | '.join(cells)} | {', '.join(f'`{name}`' for name in kind.needs) or '–'} |")
    return "\n".join(lines) + "\n"


def document_table() -> str:
    """What each command prints with `--json`."""
    lines = [
        "\n## What `--json` prints\n",
        "One JSON document and nothing else on standard output. `simengine schema --json-output COMMAND`",
        "gives its JSON Schema, with the unit of each number; `null` stands for what did not happen.\n",
        "| command | keys |",
        "|---|---|",
    ]
    for command, shape in DOCUMENTS.items():
        keys = ", ".join(f"`{key}`" for key in shape.__annotations__)
        lines.append(f"| `simengine {command} --json` | {keys} |")
    return "\n".join(lines) + "\n"
