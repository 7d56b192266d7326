"""`drillkb import`: cards of another club, or a table of drills; shown, confirmed, and taken back whole if need be."""

from pathlib import Path

import click

from kb.cli.common import as_json, library_of, print_json
from kb.cli.new import assignment
from kb.cli.text import block, bold, echo, width
from kb.errors import UsageError
from kb.facade import Library
from kb.model import NOTICE
from kb.model.keep import Clash, Column, ImportPlan, Incoming, Undone

SHOWN = 20
"""Cards of one kind that are listed; the others are counted. --json lists all."""


@click.command("import")
@click.argument("path", type=click.Path(path_type=Path), required=False)
@click.option(
    "--map", "maps", multiple=True, metavar="COLUMN=FIELD", help="What a column holds; COLUMN= leaves it out."
)
@click.option("--set", "fields", multiple=True, metavar="FIELD=TEXT", help="What all rows have that do not say it.")
@click.option(
    "--take", multiple=True, metavar="ID", help="Bring in a card that clashes, renamed if it must be; * for all."
)
@click.option("--rest", type=click.Path(path_type=Path), metavar="DIR", help="Write what cannot come in here, to mend.")
@click.option("--yes", is_flag=True, help="Do not ask: the columns are right and what is clean comes in.")
@click.option("--undo", is_flag=True, help="Take the last import back whole.")
@as_json
@click.pass_context
def command(
    ctx: click.Context,
    path: Path | None,
    maps: tuple[str, ...],
    fields: tuple[str, ...],
    take: tuple[str, ...],
    rest: Path | None,
    yes: bool,
    undo: bool,
    as_json: bool,
) -> None:
    """Bring in cards from a folder, a zip, a CSV or an XLSX file. Only what `check` passes comes in."""
    library = library_of(ctx)
    library.may_write()
    if undo:
        _undo(library, as_json)
        return
    if path is None:
        raise UsageError("Say what to import: a folder, a .zip, .csv or .xlsx file; or --undo.")
    given = {"columns": dict(map(assignment, maps)), "fixed": dict(map(assignment, fields))}
    plan = library.plan_import(path, take=take, **given)
    if rest and any(card.state == "has problems" for card in plan.cards):
        library.write_rest(plan, rest)
    if as_json:
        done = library.take_in(plan) if yes else None
        print_json({"plan": _plain(plan), "imported": done})
        return
    echo(_plan_lines(plan))
    if not plan.coming:
        echo(["", "Nothing comes in."])
    elif yes or _agreed(plan):
        done = library.take_in(plan)
        echo(
            [
                "",
                block(
                    f"{len(done.files)} cards imported (number {done.number}). Take them back: drillkb import --undo"
                ),
            ]
        )
        echo([block(NOTICE)])
    else:
        echo(["", "Nothing was imported. With --yes it comes in."])


def _plain(plan: ImportPlan) -> dict[str, object]:
    from msgspec.structs import replace

    cards = [replace(card, text="") for card in plan.cards]
    return {"source": plan.source, "columns": plan.columns, "notes": plan.notes, "cards": cards}


def _agreed(plan: ImportPlan) -> bool:
    """Ask whether columns and cards are right; without anybody to answer it is no."""
    question = "Are the columns right, and shall" if plan.columns else "Shall"
    try:
        return click.confirm(f"\n{question} {len(plan.coming)} cards come in?", default=False)
    except click.Abort:
        return False


def _undo(library: Library, as_json: bool) -> None:
    done: Undone = library.undo_import()
    if as_json:
        print_json(done)
        return
    echo([block(f"{len(done.removed)} cards of {done.source} taken out again.")])
    if done.kept:
        echo([block(f"Edited since and kept: {', '.join(done.kept)}")])
    if done.missed_by:
        echo([block(f"These cards name one that is gone; 'drillkb check' tells where: {', '.join(done.missed_by)}")])


def _plan_lines(plan: ImportPlan) -> list[str]:
    lines = [bold(plan.source), *(block(note) for note in plan.notes)]
    if plan.columns:
        lines += ["", bold("Columns"), *(_column(column) for column in plan.columns)]
    by_state: dict[str, list[Incoming]] = {}
    for card in plan.cards:
        by_state.setdefault(card.state, []).append(card)
    for state, text in _STATES.items():
        cards = by_state.get(state, [])
        lines += ["", bold(f"{len(cards)} {text}")] if cards else []
        if state == "already there":
            continue
        for card in cards[:SHOWN]:
            lines += _card(card)
        if len(cards) > SHOWN:
            lines.append(f"  and {len(cards) - SHOWN} more; --json lists all")
    return lines


_STATES = {
    "comes in": "come in",
    "comes in renamed": "come in under another name",
    "already there": "are in the library already, word for word",
    "clash": "look like cards that you have; --take ID brings one in all the same",
    "has problems": "do not come in until they are mended (--rest DIR writes them out)",
}


def _column(column: Column) -> str:
    if not column.field:
        return block(f"{column.column}: not used; --map '{column.column}=FIELD' uses it", "    ", "  ")
    sure = " (a guess)" if column.how == "similar name" else ""
    example = f'; first: "{" ".join(column.example.split())}"' if column.example else ""
    return block(f"{column.column}: {column.field}{sure}{example}", "    ", "  ")


def _card(card: Incoming) -> list[str]:
    lines = [block(f"{card.id}: {card.title or 'no title'} ({card.source})", "    ", "  ")]
    if card.state == "comes in renamed":
        lines.append(block(f"as {card.file}", "      ", "      "))
    lines += [block(str(problem), "        ", "      - ") for problem in card.problems]
    return lines + (_side_by_side(card.clash) if card.clash else [])


def _side_by_side(clash: Clash) -> list[str]:
    """Show the fields in which two cards differ, the library's on the left."""
    kind = "has the same name" if clash.kind == "same name" else f"{clash.likeness:.0%} alike"
    column = (width() - 8) // 2
    lines = [f"      yours: {clash.card} ({kind})"]
    for field, mine, theirs in clash.pairs:
        lines.append(f"      {field}")
        left, right = _column_lines(mine, column), _column_lines(theirs, column)
        for row in range(max(len(left), len(right))):
            one, other = (part[row] if row < len(part) else "" for part in (left, right))
            lines.append(f"      {one:<{column}}| {other}".rstrip())
    return lines


def _column_lines(text: str, column: int) -> list[str]:
    from textwrap import wrap

    return [line for part in (text or "-").split("\n") for line in wrap(part, column - 2) or [""]]
