"""`drillkb index`: bring the index up to date."""

import click

from kb.cli.common import as_json, library_of, print_json


@click.command("index")
@click.option("--fresh", is_flag=True, help="Build it from nothing.")
@as_json
@click.pass_context
def command(ctx: click.Context, fresh: bool, as_json: bool) -> None:
    """Bring the library's index up to date; only what changed is read again."""
    report = library_of(ctx).rebuild(fresh=fresh)
    if as_json:
        print_json(report)
        return
    click.echo(
        f"{report.cards} cards and {report.faults} faults; "
        f"{report.texts_encoded} texts read, {report.texts_reused} kept."
    )
    if report.problems:
        click.echo(f"{report.problems} problems: run 'drillkb check'.")
