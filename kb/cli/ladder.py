"""`drillkb ladder`: one progression."""

from pathlib import Path

import click

from kb.cli.common import as_json, library_of, print_json
from kb.cli.text import block, bold, echo, labelled
from kb.model import NOTICE, Ladder, Rung, Vocabulary

COLUMN = 14
"""Where the words begin behind their labels."""


@click.command("ladder")
@click.argument("names", nargs=-1, required=True, metavar="SKILL_OR_CARD")
@click.option("--level", type=int, metavar="L", help="The gymnast's level: where to start.")
@click.option("--kit", type=click.Path(path_type=Path), metavar="FILE", help="A kit list: only what it has is used.")
@click.option("--without", multiple=True, metavar="ITEM", help="Kit that is missing; may be repeated.")
@click.option("--spotters", type=click.IntRange(0, 9), metavar="N", help="Coaches free to spot.")
@click.option("--group", metavar="SQUAD", help="Only this squad's practice log counts; all without it.")
@click.option("--afraid", is_flag=True, help="The smallest steps in height, speed and rotation.")
@as_json
@click.pass_context
def command(
    ctx: click.Context,
    names: tuple[str, ...],
    level: int | None,
    kit: Path | None,
    without: tuple[str, ...],
    spotters: int | None,
    group: str | None,
    afraid: bool,
    as_json: bool,
) -> None:
    """Show the way to a skill, or the one that a drill is on: drillkb ladder kip --level 4."""
    library = library_of(ctx)
    ladder = library.ladder(
        " ".join(names),
        level=level,
        without=without,
        have=library.kit(kit) if kit else None,
        spotters=spotters,
        afraid=afraid,
        group=group,
    )
    if as_json:
        print_json(ladder)
    else:
        echo(ladder_lines(ladder, library.vocabulary, afraid=afraid))


def ladder_lines(ladder: Ladder, words: Vocabulary, *, afraid: bool) -> list[str]:
    """Return the ladder as a coach reads it, lowest rung first."""
    smallest = ", smallest steps" if afraid else ""
    lines = [bold(block(f"The way to {words.skills[ladder.skill].name}, {len(ladder.rungs)} rungs{smallest}")), ""]
    for rung in ladder.rungs:
        lines += [*_rung(rung, ladder, words), ""]
    if ladder.set_aside:
        lines.append(bold("Set aside"))
        for item in ladder.set_aside:
            instead = f"; on this rung take {item.instead}" if item.instead else "; nothing on this rung stands in"
            lines.append(block(f"{item.title} ({item.id}): {item.reason}{instead}", "    ", "  - "))
        lines.append("")
    return [*lines, block(NOTICE)]


def _rung(rung: Rung, ladder: Ladder, words: Vocabulary) -> list[str]:
    low, high = rung.level
    levels = f"level {low}" if low == high else f"levels {low}-{high}"
    marks = [
        " <- start here" if rung.rung == ladder.start else "",
        " <- the drill asked for" if rung.rung == ladder.here else "",
    ]
    stage, grade = words.stages[rung.stage].name.lower(), words.spotting[rung.spotting].name.lower()
    lines = [
        bold(block(f"{rung.title} ({stage}, {levels}){''.join(marks)}", "     ", f"{rung.rung:>3}. ")),
        f"     drillkb card {rung.card}",
        labelled("     Spot", grade, COLUMN),
    ]
    if rung.used:
        lines.append(labelled("     Log", rung.used, COLUMN))
    if rung.demand:
        asks = [f"{name} {getattr(rung.demand, name)}" for name in ("height", "speed", "rotation")]
        lines.append(labelled("     Asks", f"{', '.join(asks)} (each from 0 to 3)", COLUMN))
    if rung.instead:
        lines.append(labelled("     Or", "; ".join(f"{name} ({rung.ways[name]})" for name in rung.instead), COLUMN))
    if rung.closed:
        lines.append(
            labelled("     Closed", f"{rung.closed}. Leave this rung out only if a coach has seen her do it.", COLUMN)
        )
    lines.append(labelled("     Move up", rung.ready_when, COLUMN))
    return lines
