"""`drillkb check`: what is wrong with the library."""

from pathlib import Path

import click

from kb.cli.common import as_json, print_json
from kb.facade import open_library


@click.command("check")
@click.argument("path", type=click.Path(path_type=Path), required=False)
@click.option("--map", "write_map", is_flag=True, help="Write MAP.md into the library: skill by rung by fault.")
@as_json
@click.pass_context
def command(ctx: click.Context, path: Path | None, write_map: bool, as_json: bool) -> None:
    """Say what is wrong with the library, with file, line and remedy. Exit code 1 when there are errors."""
    library = open_library(path or ctx.obj)
    collection = library.collection
    if write_map:
        library.write_map()
    errors = [problem for problem in library.problems if not problem.warning]
    if as_json:
        print_json({"cards": len(collection.cards), "problems": library.problems})
    else:
        for problem in library.problems:
            click.echo(f"{'advice: ' if problem.warning else ''}{problem}")
        kept_out = len({problem.file for problem in errors if problem.keeps_out})
        left_out = f", {kept_out} files left out." if kept_out else "."
        click.echo(f"{len(collection.cards)} cards, {len(errors)} errors{left_out}")
    if errors:
        ctx.exit(1)
