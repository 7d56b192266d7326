"""`drillkb size`: the station built to the child."""

from pathlib import Path

import click

from kb.cli.common import as_json, library_of, print_json
from kb.cli.sizes import Height, size_lines
from kb.cli.text import block, bold, echo, labelled
from kb.errors import UsageError
from kb.model import SquadSizes
from kb.size.words import long

SIZE_NOTICE = (
    "A qualified coach checks the station before a child goes on it. Your federation's limits and the maker's come "
    "first."
)


@click.command("size")
@click.argument("name", metavar="ID")
@click.option("--height", type=Height(), metavar="CM", help="Her height: 128, 50in or 4ft2.")
@click.option("--age", type=float, metavar="Y", help="Her age in years, when nobody has measured her.")
@click.option("--level", type=int, metavar="L", help="Her level.")
@click.option("--kit", type=click.Path(path_type=Path), metavar="FILE", help="Build it from this kit list.")
@click.option(
    "--squad", type=click.Path(path_type=Path), metavar="FILE", help="Squads with heights: as few rebuilds as possible."
)
@click.option("--group", metavar="NAME", help="Only this squad of the file.")
@click.option("--measured", multiple=True, metavar="RULE=CM", help="A length taken on her; may be repeated.")
@click.option("--inches", is_flag=True, help="Print inches.")
@as_json
@click.pass_context
def command(
    ctx: click.Context,
    name: str,
    height: float | None,
    age: float | None,
    level: int | None,
    kit: Path | None,
    squad: Path | None,
    group: str | None,
    measured: tuple[str, ...],
    inches: bool,
    as_json: bool,
) -> None:
    """Say how high and how far, and what to build it from: drillkb size vault-tall-fall --height 128."""
    library = library_of(ctx)
    lines = library.kit_list(kit) if kit else None
    if squad:
        found = library.squad_size(name, squad, group=group, kit=lines)
        if as_json:
            print_json(found)
        else:
            echo(squad_lines(found, library.card(name).title, inches=inches))
        return
    if group:
        raise UsageError("--group names a squad of a file; give the file with --squad too.")
    sizes = library.size(name, height=height, age=age, level=level, kit=lines, measured=dict(map(_measured, measured)))
    if as_json:
        print_json(sizes)
        return
    title = [bold(library.card(name).title), ""]
    none = (
        [] if sizes.pieces else [block("Nothing on this station has to fit her size; set it up as the card says."), ""]
    )
    echo([*title, *size_lines(sizes, inches=inches), *none, block(SIZE_NOTICE)])


def _measured(text: str) -> tuple[str, float]:
    rule, _, length = text.partition("=")
    try:
        return rule.strip(), float(length)
    except ValueError:
        raise UsageError(f"--measured {text}: write it as RULE=CM, for example hip-height=66.") from None


def squad_lines(found: SquadSizes, title: str, *, inches: bool) -> list[str]:
    """Return the builds of a station for a squad, smallest children first."""
    many = len(found.builds)
    lines = [bold(title), block(f"{many} build{'s' if many != 1 else ''} for the squad, smallest first."), ""]
    for number, build in enumerate(found.builds, start=1):
        low, high = (long(cm, inches=inches) for cm in build.heights_cm)
        span = low if low == high else f"{low} to {high}"
        lines.append(labelled(f"Build {number}", f"{', '.join(build.children)} ({span})", 9))
        lines += size_lines(build.sizes, inches=inches)[2:]
    if found.alone:
        lines += [
            block(f"No build within the tolerance for: {', '.join(found.alone)}. Ask for each with --height."),
            "",
        ]
    return [*lines, block(SIZE_NOTICE)]
