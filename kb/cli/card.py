"""`drillkb card`: one drill, whole."""

import re
from pathlib import Path

import click

from kb.cli.common import as_json, library_of, print_json
from kb.cli.sizes import Height, size_lines
from kb.cli.text import block, bold, echo, labelled
from kb.errors import UsageError
from kb.model import NOTICE, Card, LadderPlace, Sizes, Vocabulary


@click.command("card")
@click.argument("name", metavar="ID")
@click.option("--picture", type=click.Path(path_type=Path), metavar="FILE", help="Draw it: a .svg or .png file.")
@click.option("--height", type=Height(), metavar="CM", help="Her height: sizes and picture are made for her.")
@click.option("--age", type=float, metavar="Y", help="Her age in years, when nobody has measured her.")
@click.option("--level", type=int, metavar="L", help="Her level.")
@click.option("--kit", type=click.Path(path_type=Path), metavar="FILE", help="Build the sizes from this kit list.")
@as_json
@click.pass_context
def command(
    ctx: click.Context,
    name: str,
    picture: Path | None,
    height: float | None,
    age: float | None,
    level: int | None,
    kit: Path | None,
    as_json: bool,
) -> None:
    """Show one drill by its id, or draw it with --picture."""
    library = library_of(ctx)
    card = library.card(name)
    sizes = None
    if height is not None or age is not None:
        kit_lines = library.kit_list(kit) if kit else None
        sizes = library.size(name, height=height, age=age, level=level, kit=kit_lines)
    elif kit or level:
        raise UsageError("--kit and --level go with --height or --age.")
    if picture:
        library.write_picture(name, picture, sizes=sizes)
    if as_json:
        print_json(card)
    elif picture:
        echo([block(f"Drawn: {picture}{_for_whom(library.drawn_for(name, sizes), sizes)}")])
    else:
        echo(card_lines(card, library.index.place(card), library.vocabulary, sizes))


def _for_whom(drawn: float, sizes: Sizes | None) -> str:
    if sizes is None:
        return ""
    if drawn == sizes.height_cm:
        return f", for a child of {drawn:.0f} cm"
    return f", for a child of {drawn:.0f} cm: this figure cannot be drawn at her sizes; build by the numbers"


def card_lines(card: Card, place: LadderPlace, words: Vocabulary, sizes: Sizes | None = None) -> list[str]:
    """Return the card as a coach reads it."""
    low, high = card.levels
    levels = f"level {low}" if low == high else f"levels {low}-{high}"
    kit = [f"{p.count} × {words.equipment[p.item].name.lower()}" for p in card.equipment]
    head = [
        bold(card.title),
        f"{words.events[card.event].name}, {levels}, {words.stages[card.stage].name.lower()}",
        "",
        labelled("Kit", ", ".join(kit) or "nothing"),
        labelled("Spot", f"{words.spotting[card.spotting.grade].name}. {card.spotting.hands}"),
        labelled("Twin", f"without a spotter: {card.no_spot_twin}") if card.no_spot_twin else "",
        labelled("Group", _group(card)),
        labelled("Ladder", f"rung {place.rung} of {place.of} to {words.skills[place.skill].name}"),
        labelled("Be ready on", ", ".join(card.after)) if card.after else "",
        labelled("Move up", card.ready_when),
        "",
    ]
    body = [line for heading, text in card.sections.items() for line in _section(heading, text)]
    return (
        [line for n, line in enumerate(head) if line or n in (2, 10)]
        + (size_lines(sizes) if sizes else [])
        + body
        + [f"Source: {card.sources}.", block(NOTICE)]
    )


def _group(card: Card) -> str:
    group = card.group
    cap = f"; at most {card.cap} a session" if card.cap else ""
    return f"{group.at_once} at work, {group.waiting} waiting, {group.minutes} minutes, {group.reps} each{cap}"


def _section(heading: str, text: str) -> list[str]:
    return [bold(heading), *(_line(line) for line in text.splitlines() if line.strip()), ""]


def _line(line: str) -> str:
    words = re.sub(r"\*\*(.+?)\*\*|\*(.+?)\*", lambda m: m[1] or m[2], line.strip())
    mark = re.match(r"([-*]|\d+\.) +", words)
    if mark is None:
        return block(words, "  ")
    lead = f"  {mark[0]}"
    return block(words[mark.end() :], " " * len(lead), lead)
