"""`simengine warmup`."""

from typing import TYPE_CHECKING

import typer

from simengine.cli import program

if TYPE_CHECKING:
    from simengine.report.compilation.run import Compilation
    from simengine.report.document_shapes import WarmupDocument


@program.app.command(epilog=program.example("simengine warmup"))
def warmup(as_json: program.AsJson = False, quiet: program.Quiet = False) -> None:
    """Compile everything for this machine now, so that no later run waits for it.

    Says where the compiled code is kept. Leaves with 0 when all is ready, else with 1.
    """
    from simengine.report.compilation.run import compile_all

    done = compile_all(quiet=quiet)
    if as_json:
        program.print_json(document(done))
    elif not quiet:
        if done.compiled:
            typer.echo(f"compiled in {done.seconds:.0f} s: {', '.join(done.compiled)}")
        typer.echo(f"{'ready' if done.ready else 'NOT ready'}: {where(done.folder, done.kept, done.size)}")
    if not done.ready:
        raise typer.Exit(1)


def document(done: "Compilation") -> "WarmupDocument":
    """What `--json` prints."""
    return {
        "ready": done.ready,
        "folder": str(done.folder) if done.folder else None,
        "kept": done.kept,
        "size_bytes": done.size,
        "seconds": round(done.seconds, 3),
        "compiled": list(done.compiled),
        "failed": list(done.failed),
    }


def where(folder: object, kept: bool, size: int) -> str:
    """Where the compiled code is, for a reader."""
    if folder is None or not kept:
        return "compiled code cannot be kept; set SIMENGINE_CACHE_DIR to a folder that can be written"
    return f"{size / 1e6:.1f} MB of compiled code in {folder}"
