"""`drillkb check`: what is wrong with the library, and what is missing in it."""

import sys
from pathlib import Path

import click

from kb.cli.common import as_json, print_json
from kb.cli.text import block, bold, echo
from kb.errors import UsageError
from kb.facade import Library, open_library


@click.command("check")
@click.argument("path", type=click.Path(path_type=Path), required=False)
@click.option("--map", "write_map", is_flag=True, help="Write MAP.md into the library: skill by rung by fault.")
@click.option(
    "--gaps", is_flag=True, help="Say instead what the library lacks: faults, levels, kit, hands, rungs, words."
)
@click.option("--schema", is_flag=True, help="Print instead the JSON Schema of a card's front matter, for editors.")
@as_json
@click.pass_context
def command(ctx: click.Context, path: Path | None, write_map: bool, gaps: bool, schema: bool, as_json: bool) -> None:
    """Say what is wrong with the library, with file, line and remedy. Exit code 1 when there are errors."""
    library = open_library(path or ctx.obj, say=lambda line: click.echo(line, err=True))
    if gaps and schema:
        raise UsageError("Say either --gaps or --schema.")
    if write_map:
        library.write_map()
    if schema:
        print_json(library.schema())
    elif gaps:
        _gaps(library, as_json)
    else:
        _problems(ctx, library, as_json)


def _problems(ctx: click.Context, library: Library, as_json: bool) -> None:
    collection = library.collection
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


HEADS = {
    "no low stage": "No card of a low stage",
    "level": "No card open at a level",
    "needs kit": "Nothing without special kit",
    "needs a spotter": "Nothing without a spotter",
    "thin ladder": "Thin ladders",
    "heard wrongly": "Words that lead to another fault",
}


def _gaps(library: Library, as_json: bool) -> None:
    found = library.gaps(_progress if sys.stderr.isatty() else None)
    if as_json:
        print_json({"gaps": found})
        return
    for kind, head in HEADS.items():
        holes = [gap for gap in found if gap.kind == kind]
        echo([bold(f"{head}: {len(holes) or 'none'}")])
        for event in dict.fromkeys(gap.event for gap in holes):
            of_event = [gap for gap in holes if gap.event == event]
            echo([f"  {event} ({len(of_event)})"])
            echo([block(f"{gap.name}: {gap.message}", "      ", "    ") for gap in of_event])
        echo([""])


def _progress(done: int, of: int) -> None:
    click.echo(f"\r  {done} of {of} ways to say a fault asked", nl=done == of, err=True)
