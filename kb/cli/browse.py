"""`drillkb browse`: the library in the browser."""

import click

from kb.cli.common import as_json, library_of, print_json
from kb.cli.text import block


@click.command("browse")
@click.option("--port", type=click.IntRange(1, 65535), default=8421, show_default=True, metavar="P", help="Port.")
@click.option("--no-open", is_flag=True, help="Do not open the browser.")
@click.option("--share", is_flag=True, help="Let every phone on the club's network see it.")
@click.option("--log", "logs", is_flag=True, help="Let the pages write into the practice log.")
@as_json
@click.pass_context
def command(ctx: click.Context, port: int, no_open: bool, share: bool, logs: bool, as_json: bool) -> None:
    """Open the library in the browser: drillkb browse, or for the phones in the gym: drillkb browse --share."""
    from kb.browse.serve import own_address, serve

    library = library_of(ctx)
    if as_json:
        addresses = [f"http://127.0.0.1:{port}/", *([f"http://{own_address()}:{port}/"] if share else [])]
        print_json({"addresses": addresses, "shared": share})

    def say(line: str) -> None:
        click.echo(line if "\n" in line or not line else block(line), err=as_json)

    serve(library, port=port, share=share, opens=not no_open, logs=logs, say=say)
