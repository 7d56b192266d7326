"""`drillkb handout`: printed sheets."""

from pathlib import Path
from typing import get_args

import click

from kb.cli.common import as_json, library_of, print_json
from kb.cli.sizes import Height
from kb.cli.text import block, echo
from kb.model import Paper, SheetKind, SheetOrder

FILE = click.Path(path_type=Path)


@click.command("handout")
@click.argument("words", nargs=-1, metavar="[WORDS]...")
@click.option("--cards", metavar="ID,ID", help="Drills by id, in this order.")
@click.option("--ladder", metavar="SKILL", help="The way to a skill.")
@click.option("--fault", metavar="ID", help="A fault by its id: its causes and the drills to begin with.")
@click.option("--plan", type=FILE, metavar="FILE", help="A plan, as 'drillkb plan --json' prints it.")
@click.option("--event", metavar="E", help="Where the words belong; without words, the event whose book is wanted.")
@click.option("--kind", type=click.Choice(get_args(SheetKind)), help="What to make of it.")
@click.option("--level", type=int, metavar="L", help="The gymnasts' level.")
@click.option("--without", multiple=True, metavar="ITEM", help="Kit that is missing; may be repeated.")
@click.option("--kit", type=FILE, metavar="FILE", help="A kit list: only what it has is used.")
@click.option("--spotters", type=click.IntRange(0, 9), metavar="N", help="Coaches free to spot.")
@click.option("--height", type=Height(), metavar="CM", help="Sizes and drawings for a child of this height.")
@click.option("--age", type=float, metavar="Y", help="Her age in years, when nobody has measured her.")
@click.option("--squad", type=FILE, metavar="FILE", help="Squads with heights: sizes for a whole squad.")
@click.option("--group", metavar="NAME", help="Only this squad of the file.")
@click.option("--top", type=click.IntRange(1, 20), default=3, show_default=True, metavar="N", help="Drills a question.")
@click.option("--title", metavar="T", help="What stands at the top.")
@click.option("--club", metavar="NAME", help="The club's name; that of the kit list or the squads without it.")
@click.option("--date", metavar="YYYY-MM-DD", help="The day on the sheet; today without it.")
@click.option("--link", metavar="URL", help="The club's own page, as a QR code.")
@click.option("--paper", type=click.Choice(get_args(Paper)), default="a4", show_default=True, help="Size of the paper.")
@click.option(
    "-o",
    "--output",
    type=FILE,
    default=Path("handout.pdf"),
    show_default=True,
    metavar="FILE",
    help="The file: .pdf, .html or .md.",
)
@as_json
@click.pass_context
def command(
    ctx: click.Context,
    /,
    words: tuple[str, ...],
    cards: str | None,
    output: Path,
    paper: Paper,
    as_json: bool,
    **wanted: object,
) -> None:
    """Print sheets: drillkb handout "piking on vault landing" "short handstand on beam" -o week6.pdf.

    Each quoted question is one part of the sheet. A file of the same name is written over.
    """
    library = library_of(ctx)
    names = tuple(name.strip() for name in (cards or "").split(",") if name.strip())
    order = SheetOrder(questions=words, cards=names, **wanted)  # type: ignore[arg-type]
    sheet = library.handout(order)
    written = library.write_handout(sheet, output, paper)
    if as_json:
        print_json(sheet)
    else:
        echo([block(f"Written: {' and '.join(map(str, written))}")])
