"""`drillkb export`: the cards as one file, or the whole library as one's own copy."""

from pathlib import Path

import click

from kb.cli.common import as_json, library_of, print_json
from kb.cli.text import block, echo
from kb.errors import UsageError


@click.command("export")
@click.option(
    "-o", "--output", type=click.Path(path_type=Path), metavar="FILE", help="A new .zip, .csv, .json or .pdf file."
)
@click.option("--folder", type=click.Path(path_type=Path), metavar="DIR", help="Copy the whole library, to write in.")
@click.option("--event", "events", multiple=True, help="Only cards of this event; may be given more than once.")
@as_json
@click.pass_context
def command(
    ctx: click.Context, output: Path | None, folder: Path | None, events: tuple[str, ...], as_json: bool
) -> None:
    """Hand the cards out as a zip, CSV or JSON file or a printed book, or copy the library with --folder."""
    if (output is None) == (folder is None):
        raise UsageError("Say either -o FILE (.zip, .csv, .json or .pdf) or --folder DIR.")
    if folder and events:
        raise UsageError("--event goes with -o; --folder copies the whole library.")
    library = library_of(ctx)
    if folder:
        done = library.copy_to(folder)
    elif output and output.suffix.lower() == ".pdf":
        done = library.export_book(output, events)
    else:
        done = library.export(output or Path(), events)
    if as_json:
        print_json(done)
        return
    echo([block(f"{done.cards} cards written: {done.path}")])
    if done.left_out:
        echo([block(f"Left out, because 'drillkb check' finds errors in them: {', '.join(done.left_out)}")])
    if folder:
        echo([block(f"It is yours to change: drillkb --library {done.path} new")])
