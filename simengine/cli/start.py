"""`simengine new` and `simengine schema`: what a first hour needs."""

import os
import shlex
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from simengine.cli.completion import yaml_files
from simengine.cli.program import INTERRUPTED, app, example
from simengine.errors import OutputError

if TYPE_CHECKING:
    from simengine.scenario.first_scenario import Settled

FIRST_NAME = "scenario.yaml"
SCHEMA_NAME = "simengine.schema.json"

# What a maker is asked, in the order of asking: `simengine.scenario.first_questions` knows range and default.
WORDS = {
    "pilot": "Pilot, dressed to fly",
    "machine": "Motor, frame, cage, hub and propeller, without fuel",
    "fuel": "Fuel in the tank",
    "wing_area": "Wing area, flat",
    "trim_speed": "Trim speed of the wing, as you fly it",
    "site_height": "Height of your field above the sea",
    "power": "Engine power, at its best",
    "power_rpm": "ENGINE rpm at that power",
    "rpm_limit": "ENGINE rpm never to be passed",
    "reduction": "Reduction, engine turns for one of the propeller",
    "blades": "Number of blades",
    "diameter": "Propeller diameter, tip to tip",
    "fine": "Fine blade angle, at 75 % of the radius",
    "coarse": "Coarse blade angle, at 75 % of the radius",
    "lever_arm": "Lever from the pitch axis to the spring",
    "spring_rate": "Rate of the coil spring, of one blade",
    "washers": "Washers of 0.3 mm under the spring",
    "preload": "Spring pressed in on the coarse stop, without washers",
}


EngineFile = Annotated[
    Path | None,
    typer.Option(
        "--engine",
        metavar="FILE",
        help="An engine in a file of its own, in place of power and rpm.",
        autocompletion=yaml_files,
    ),
]
AskNothing = Annotated[bool, typer.Option("--yes", "-y", help="Ask nothing: defaults for what is not given.")]
Overwrite = Annotated[bool, typer.Option("--force", help="Overwrite a file that is there.")]


def asked(name: str, value: str) -> typer.models.OptionInfo:
    """The option that answers one question."""
    option: typer.models.OptionInfo = typer.Option(
        f"--{name.replace('_', '-')}", metavar=value, help=f"{WORDS[name]}.", show_default=False
    )
    return option


@app.command(epilog=example("simengine new my_hub.yaml --pilot '95 kg' --power '18 kW' --diameter '1250 mm'"))
def new(
    context: typer.Context,
    path: Annotated[Path, typer.Argument(help="File to write.")] = Path(FIRST_NAME),
    pilot: Annotated[str | None, asked("pilot", "'95 kg'")] = None,
    machine: Annotated[str | None, asked("machine", "'29 kg'")] = None,
    fuel: Annotated[str | None, asked("fuel", "'10 L'")] = None,
    wing_area: Annotated[str | None, asked("wing_area", "'26 m2'")] = None,
    trim_speed: Annotated[str | None, asked("trim_speed", "'39 km/h'")] = None,
    site_height: Annotated[str | None, asked("site_height", "'120 m'")] = None,
    power: Annotated[str | None, asked("power", "'18 kW'")] = None,
    power_rpm: Annotated[str | None, asked("power_rpm", "'7800 rpm'")] = None,
    rpm_limit: Annotated[str | None, asked("rpm_limit", "'8400 rpm'")] = None,
    reduction: Annotated[str | None, asked("reduction", "2.45")] = None,
    blades: Annotated[str | None, asked("blades", "2")] = None,
    diameter: Annotated[str | None, asked("diameter", "'1300 mm'")] = None,
    fine: Annotated[str | None, asked("fine", "'10.5 deg'")] = None,
    coarse: Annotated[str | None, asked("coarse", "'14 deg'")] = None,
    lever_arm: Annotated[str | None, asked("lever_arm", "'22 mm'")] = None,
    spring_rate: Annotated[str | None, asked("spring_rate", "'96 N/mm'")] = None,
    washers: Annotated[str | None, asked("washers", "6")] = None,
    preload: Annotated[str | None, asked("preload", "'1.8 mm'")] = None,
    engine: EngineFile = None,
    yes: AskNothing = False,
    force: Overwrite = False,
) -> None:
    """Write a commented scenario to start from, from the few figures you know; the rest is invented.

    On a terminal and without options it asks; press Enter to take what stands in brackets. Any unit of the
    kind will do: '210 lb', '51 in', '24 mph'; a number alone is taken in the unit shown. What you leave out
    follows from what you gave: a hub that shifts, on a propeller that suits the engine. The file marks what
    is yours and what is assumed. Beside it a schema is put, with which an editor completes the keys.
    """
    from simengine.scenario.first_scenario import first_scenario, read_engine, settled

    typed = {name: context.params[name] for name in WORDS if context.params[name] is not None}
    if os.path.lexists(path) and not force:
        raise OutputError(f"{path}: is there already; give another name, or --force to overwrite it")
    part = read_engine(engine) if engine is not None else None
    if not (typed or part or yes) and sys.stdin.isatty() and sys.stderr.isatty():
        typed = ask_all()
    answers = settled(typed, part)
    named = None if engine is None else beside(engine, path)
    written = write_first(path, first_scenario(path.stem, answers, named))
    tell_new(path, written, answers)


def ask_all() -> dict[str, str]:
    """Ask one question after the other on the terminal; what is taken as proposed does not count as given."""
    from simengine.scenario.first_questions import AnswerError, questions

    typer.echo(
        "Press Enter to take what stands in brackets; a unit of your own is fine: 210 lb, 51 in.", err=True
    )
    typed: dict[str, str] = {}
    values: dict[str, float] = {}
    for question in questions():
        default = question.default_text(values)
        while question.name not in values:
            answer = prompted(f"{WORDS[question.name]} [{default}]: ").strip()
            try:
                values[question.name], text = question.read(answer or default, values)
            except AnswerError as error:
                typer.echo(f"  {error}", err=True)
            else:
                if answer:
                    typed[question.name] = text
    return typed


def prompted(words: str) -> str:
    """One line from the terminal; an end of input or Ctrl-C leaves with nothing written."""
    typer.echo(words, nl=False, err=True)
    try:
        line = sys.stdin.readline()
    except KeyboardInterrupt:
        line = ""
    except UnicodeDecodeError:
        return "?"
    if not line:
        typer.echo("\nnothing written", err=True)
        raise typer.Exit(INTERRUPTED)
    return line


def beside(part: Path, scenario: Path) -> str:
    """Path of a part as a scenario names it; a scenario reads nothing outside its folder."""
    from simengine.scenario.folder import MARK, is_marked

    folder = scenario.absolute().parent.resolve()
    named = Path(os.path.relpath(part.resolve(), folder)).as_posix()
    owner = part.stat().st_uid
    root = next((above for above in (folder, *folder.parents) if is_marked(above, owner)), folder)
    if not part.resolve().is_relative_to(root):
        raise OutputError(
            f"--engine: {part}: lies outside the folder of {scenario}, and a scenario reads nothing there; "
            f"put a copy beside the scenario, or a file '{MARK}' in a folder above both"
        )
    return named


def write_first(path: Path, text: str) -> list[Path]:
    """Write the scenario, and the schema beside it if there is none."""
    from simengine.results.files import write_text
    from simengine.scenario.schema import json_schema, schema_text

    write_text(path, text)
    schema_file = path.with_name(SCHEMA_NAME)
    if os.path.lexists(schema_file):
        return [path]
    write_text(schema_file, schema_text(json_schema()))
    return [path, schema_file]


def tell_new(path: Path, written: list[Path], answers: "Settled") -> None:
    """What was written, whose numbers it holds, and what to do with it."""
    for file in written:
        typer.echo(f"written: {file}", err=True)
    if answers.typed:
        given = ", ".join(f"{name.replace('_', ' ')} {text}" for name, text in answers.typed.items())
        typer.echo(f"yours: {given}; all else is assumed", err=True)
    else:
        typer.echo("all numbers are invented: open the file and put in yours", err=True)
    typer.echo(f"next: simengine fly {shlex.quote(str(path))}", err=True)


@app.command(epilog=example("simengine schema -o simengine.schema.json"))
def schema(
    output: Annotated[
        Path | None, typer.Option("-o", "--output", metavar="FILE", help="File instead of standard output.")
    ] = None,
    part: Annotated[
        str | None,
        typer.Option("--part", metavar="PART", help="For a file of one part: engine, propeller, hub, wing."),
    ] = None,
    reference: Annotated[
        bool, typer.Option("--reference", help="Every key in words instead, as Markdown to read.")
    ] = False,
    json_output: Annotated[
        str | None,
        typer.Option(
            "--json-output", metavar="COMMAND", help="Schema of what a command prints with --json instead."
        ),
    ] = None,
) -> None:
    """Give the JSON Schema of scenario files, with which editors complete and check keys.

    Put it beside a scenario whose first line is
    '# yaml-language-server: $schema=simengine.schema.json'.
    """
    from simengine.results.files import write_text

    if sum((part is not None, reference, json_output is not None)) > 1:
        raise typer.BadParameter("one of --part, --reference and --json-output at a time")
    text = schema_or_reference(part, reference, json_output)
    if output is None:
        typer.echo(text, nl=False)
        return
    write_text(output, text)
    typer.echo(f"written: {output}", err=True)


def schema_or_reference(part: str | None, reference: bool, json_output: str | None) -> str:
    """The text that was asked for."""
    from simengine.scenario.schema import PARTS, json_schema, part_schema, schema_text

    if reference:
        from simengine.report.reference import reference_text

        return reference_text()
    if json_output is not None:
        from simengine.report.documents import DOCUMENTS, document_schema

        if json_output not in DOCUMENTS:
            raise typer.BadParameter(f"--json-output: must be one of {', '.join(DOCUMENTS)}")
        return schema_text(document_schema(json_output))
    if part is None:
        return schema_text(json_schema())
    if part not in PARTS:
        raise typer.BadParameter(f"--part: must be one of {', '.join(PARTS)}")
    return schema_text(part_schema(part))
