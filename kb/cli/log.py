"""`drillkb log`: what was done, and what came of it."""

import datetime
import sys
from pathlib import Path
from textwrap import wrap
from typing import Any

import click

from kb.cli.common import as_json, library_of, print_json
from kb.cli.text import block, bold, echo
from kb.errors import PersonNamed, UsageError
from kb.facade import Library
from kb.model.log import REPORTS, RESULTS, By, LogEntry, LogReport, LogRow, Result

SHOWN = 10
"""Entries that are shown when nothing is asked."""


@click.command("log")
@click.argument("card", required=False, metavar="[CARD]")
@click.option("--result", type=click.Choice(RESULTS), help="What came of it.")
@click.option("--group", metavar="SQUAD", help="With which squad; with --last or --report: only this one.")
@click.option("--child", type=int, metavar="N", help="Her number in the squad; never a name.")
@click.option("--fault", metavar="F", help="The fault that it was meant for.")
@click.option("--date", "day", type=click.DateTime(["%Y-%m-%d"]), metavar="YYYY-MM-DD", help="The day; today without.")
@click.option("--note", metavar="TEXT", help="A few words, without names.")
@click.option("--yes", "sure", is_flag=True, help="What looks like a person's name is none.")
@click.option("--last", type=click.IntRange(1), metavar="N", help="Show the entries written last.")
@click.option("--undo", is_flag=True, help="Take back the entry written last, for good.")
@click.option("--report", "by", type=click.Choice(REPORTS), help="A table of what was used and what came of it.")
@click.option("--plot", type=click.Path(path_type=Path), metavar="FILE", help="Draw the report: a .svg or .png file.")
@as_json
@click.pass_context
def command(
    ctx: click.Context,
    card: str | None,
    result: Result | None,
    group: str | None,
    child: int | None,
    fault: str | None,
    day: datetime.datetime | None,
    note: str | None,
    sure: bool,
    last: int | None,
    undo: bool,
    by: By | None,
    plot: Path | None,
    as_json: bool,
) -> None:
    """Write down that a drill was used: drillkb log vault-tall-fall --group Slate --result helped.

    Without a card it shows what was written last. Children are a squad and a number, never names.
    """
    _one_thing(ctx)
    library = library_of(ctx)
    if card:
        if result is None:
            raise UsageError(f"Say what came of {card} with --result: {', '.join(RESULTS)}.")
        use = {"group": group, "child": child, "fault": fault, "when": day.date() if day else None, "note": note}
        entry = _log(library, card, result, use, sure=sure)
        _print(entry, entry_lines("Logged", entry, library), as_json=as_json)
    elif undo:
        entry = library.undo_log()
        _print(entry, entry_lines("Taken back", entry), as_json=as_json)
    elif by:
        report = library.log_report(by, group)
        if plot:
            library.write_report(report, plot)
        _print(report, report_lines(report) + ([block(f"Drawn: {plot}")] if plot else []), as_json=as_json)
    else:
        entries = library.log_entries(group)[-(last or SHOWN) :]
        _print(entries, list_lines(entries, library.log_file), as_json=as_json)


ALONE = {"card": "CARD", "last": "--last", "undo": "--undo", "by": "--report"}
"""What the command can do, of which it does one."""
GOES_WITH = {
    **dict.fromkeys(("result", "child", "fault", "day", "note", "sure"), ("card",)),
    "group": ("card", "last", "by"),
    "plot": ("by",),
}
"""Option to what it goes with."""


def _one_thing(ctx: click.Context) -> None:
    """Raise UsageError for options that do not go together."""
    given = [name for name, value in ctx.params.items() if value]
    asked = [name for name in ALONE if name in given]
    if len(asked) > 1:
        raise UsageError(f"{' and '.join(ALONE[name] for name in asked)} do not go together; ask for one at a time.")
    doing = asked[0] if asked else "last"
    names = {option.name: option.opts[0] for option in ctx.command.params}
    for name in given:
        if name in GOES_WITH and doing not in GOES_WITH[name]:
            raise UsageError(f"{names[name]} goes with {' or '.join(ALONE[one] for one in GOES_WITH[name])}.")


def _log(library: Library, card: str, result: Result, use: dict[str, Any], *, sure: bool) -> LogEntry:
    """Write an entry; on a terminal ask about what looks like a name, elsewhere refuse it."""
    try:
        return library.log(card, result, **use, sure=sure)
    except PersonNamed as error:
        if not sys.stdin.isatty():
            raise PersonNamed(error.where, error.words, f"{error.remedy} If it names nobody, add --yes.") from None
        click.echo(f"{error}", err=True)
        if not click.confirm("Is it sure that this names nobody?", err=True):
            raise UsageError("Nothing was written.") from None
        return library.log(card, result, **use, sure=True)


def _print(value: Any, lines: list[str], *, as_json: bool) -> None:
    if as_json:
        print_json(value)
    else:
        echo(lines)


def entry_lines(done: str, entry: LogEntry, library: Library | None = None) -> list[str]:
    """Return what was written or taken back and, with a library, what the log now says of the drill."""
    uses = library.uses(entry.group) if library else None
    said = uses.of(entry.card).text if uses else ""
    return [block(f"{done}: {_entry(entry)}"), *([block(f"{entry.card}: {said}")] if said else [])]


def list_lines(entries: tuple[LogEntry, ...], path: Path) -> list[str]:
    """Return entries as a coach reads them, oldest first."""
    lines = [block(_entry(entry), "      ", f"{entry.number:>4}. ") for entry in entries]
    return [*(lines or [block("Nothing is logged yet: drillkb log CARD --group SQUAD --result helped.")]), f"({path})"]


def _entry(entry: LogEntry) -> str:
    who = " ".join(str(part) for part in (entry.group, entry.child) if part is not None)
    parts = [
        f"{entry.when}",
        who,
        f"{entry.card}: {entry.result.replace('-', ' ')}",
        f"for {entry.fault}" if entry.fault else "",
        f'"{entry.note}"' if entry.note else "",
    ]
    return ", ".join(part for part in parts if part)


NAME_WIDTH = 38
COLUMNS = ("used", "helped", "mastered", "no change", "too hard")


def report_lines(report: LogReport) -> list[str]:
    """Return a report as a table of 80 columns."""
    if not report.rows:
        return [block(f"Nothing is logged{f' with {report.group}' if report.group else ''} yet.")]
    widths = [max(len(name), 4) + 1 for name in COLUMNS]
    head = f"{report.by:<{NAME_WIDTH}}" + "".join(f"{c:>{w}}" for c, w in zip(COLUMNS, widths, strict=True))
    lines = [bold(head)]
    for row in report.rows:
        *above, name = wrap(row.name, NAME_WIDTH - 1)
        lines += [*above, f"{name:<{NAME_WIDTH}}" + _numbers(row, widths)]
    return [*lines, *map(block, report.notes)]


def _numbers(row: LogRow, widths: list[int]) -> str:
    counts = row.counts
    values = (row.uses, counts.helped, counts.mastered, counts.no_change, counts.too_hard)
    return "".join(f"{value or '-':>{width}}" for value, width in zip(values, widths, strict=True))
