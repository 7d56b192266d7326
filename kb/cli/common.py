"""What the commands share: opening the library with progress, and printing JSON."""

import sys
from pathlib import Path
from typing import Any

import click

from kb.facade import Library, open_library

as_json = click.option("--json", "as_json", is_flag=True, help="Print JSON for other programs.")


def library_of(ctx: click.Context) -> Library:
    """Return the library that was named on the command line, with progress on a terminal."""
    path: Path | None = ctx.obj
    general: bool = ctx.meta.get("drillkb.general", False)
    return open_library(path, say=_say, progress=_progress if sys.stderr.isatty() else None, general=general)


def print_json(value: Any) -> None:
    """Print a model object as indented JSON."""
    import msgspec

    click.echo(msgspec.json.format(msgspec.json.encode(value), indent=2).decode())


def _say(line: str) -> None:
    click.echo(line, err=True)


def _progress(done: int, of: int) -> None:
    click.echo(f"\r  {done} of {of} texts read", nl=done == of, err=True)
