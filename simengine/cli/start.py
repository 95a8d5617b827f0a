"""`simengine new` and `simengine schema`: what a first hour needs."""

import shlex
from pathlib import Path
from typing import Annotated

import typer

from simengine.cli.program import app, errors_told
from simengine.errors import OutputError

STARTER_NAME = "scenario.yaml"


@app.command(epilog="Example:  simengine new my_hub.yaml")
def new(
    path: Annotated[Path, typer.Argument(help="File to write.")] = Path(STARTER_NAME),
    force: Annotated[bool, typer.Option("--force", help="Overwrite a file that is there.")] = False,
) -> None:
    """Write a commented scenario of invented numbers to start from."""
    from importlib.resources import files

    from simengine.results.files import write_text

    with errors_told():
        if path.exists() and not force:
            raise OutputError(f"{path}: is there already; give another name, or --force to overwrite it")
        starter = files("simengine.scenario").joinpath("starter.yaml")
        write_text(path, starter.read_text(encoding="utf-8"))
    typer.echo(f"written: {path}\nnext: simengine fly {shlex.quote(str(path))}", err=True)


@app.command(epilog="Example:  simengine schema -o simengine.schema.json")
def schema(
    output: Annotated[
        Path | None, typer.Option("-o", "--output", metavar="FILE", help="File instead of standard output.")
    ] = None,
) -> None:
    """Give the JSON Schema of scenario files, with which editors complete and check keys."""
    import json

    from simengine.results.files import write_text
    from simengine.scenario import json_schema

    text = json.dumps(json_schema(), indent=2, ensure_ascii=False) + "\n"
    if output is None:
        typer.echo(text, nl=False)
        return
    with errors_told():
        write_text(output, text)
    typer.echo(f"written: {output}", err=True)
