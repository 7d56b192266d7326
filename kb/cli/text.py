"""Plain text for a terminal: 80 columns, black and white, the same when piped."""

import shutil
from collections.abc import Iterable
from textwrap import wrap

import click

WIDEST = 80


def width() -> int:
    """Return the columns to print in: those of the terminal, at most 80."""
    return max(40, min(WIDEST, shutil.get_terminal_size((WIDEST, 24)).columns))


def block(text: str, indent: str = "", first: str | None = None) -> str:
    """Return the text wrapped to the width, `first` before its first line and `indent` before the others."""
    lines = wrap(
        text,
        width(),
        initial_indent=indent if first is None else first,
        subsequent_indent=indent,
        break_long_words=True,
        break_on_hyphens=False,
    )
    return "\n".join(lines)


def labelled(label: str, text: str, column: int = 12) -> str:
    """Return 'label   text', wrapped so that the text stays in its column."""
    return block(text, " " * column, f"{label:<{column}}")


def bold(text: str) -> str:
    """Return the text in bold on a terminal; click drops it when piped or when NO_COLOR is set."""
    return click.style(text, bold=True)


def echo(lines: Iterable[str]) -> None:
    """Print the lines; colour and bold only on a terminal that wants them."""
    import os

    click.echo("\n".join(lines), color=False if os.environ.get("NO_COLOR") else None)
