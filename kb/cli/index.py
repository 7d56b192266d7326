"""`drillkb index`: bring the index up to date."""

import contextlib

import click

from kb.cli.common import as_json, library_of, print_json


@click.command("index")
@click.option("--fresh", is_flag=True, help="Build it from nothing.")
@click.option("--watch", is_flag=True, help="Go on watching: an edit is in open pages within two seconds.")
@as_json
@click.pass_context
def command(ctx: click.Context, fresh: bool, watch: bool, as_json: bool) -> None:
    """Bring the library's index up to date; only what changed is read again."""
    library = library_of(ctx)
    report = library.rebuild(fresh=fresh)
    if watch:
        click.echo("Watching. Stop it with Ctrl-C.", err=True)
        with contextlib.suppress(KeyboardInterrupt):
            for again in library.watch():
                click.echo(f"{again.cards} cards; {again.texts_encoded} texts read again; {again.problems} problems.")
        return
    if as_json:
        print_json(report)
        return
    click.echo(
        f"{report.cards} cards and {report.faults} faults; "
        f"{report.texts_encoded} texts read, {report.texts_reused} kept."
    )
    if report.problems:
        click.echo(f"{report.problems} problems: run 'drillkb check'.")
