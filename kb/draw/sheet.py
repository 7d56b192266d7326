"""Contact sheets: many figures on pages to be looked at. `scripts/contact-sheet` runs it; needs typst."""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

from kb.draw.card import card_svg
from kb.draw.checks import card_figure_problems
from kb.draw.png import svg_to_png
from kb.draw.scene import SceneError
from kb.library import load_collection

PER_PAGE, COLUMNS = 12, 3
WIDTH_CM = 7
"""Width of a figure on the sheet: that of a printed page."""


def main(arguments: list[str] | None = None) -> int:
    """Draw the figures of some cards, or of all; print what is wrong with them. Returns the exit code."""
    parser = argparse.ArgumentParser(prog="contact-sheet", description=__doc__)
    parser.add_argument("cards", nargs="*", metavar="ID", help="cards or events; all without it")
    parser.add_argument("--library", type=Path, default=Path(__file__).parents[2] / "drills", metavar="DIR")
    parser.add_argument("-o", "--out", type=Path, default=Path("contact-sheets"), metavar="DIR")
    options = parser.parse_args(arguments)
    collection = load_collection(options.library)
    for problem in collection.problems:
        print(problem)
    chosen = [
        card
        for card in collection.cards.values()
        if not options.cards or card.id in options.cards or card.event in options.cards
    ]
    drawn: list[tuple[str, str]] = []
    for card in chosen:
        for message in card_figure_problems(card, collection.vocabulary):
            print(f"{card.file}: figure: {message}")
        try:
            svg = card_svg(card, collection.vocabulary)
        except SceneError:
            continue
        if svg:
            drawn.append((card.id, svg))
    options.out.mkdir(parents=True, exist_ok=True)
    for start in range(0, len(drawn), PER_PAGE):
        path = options.out / f"sheet-{start // PER_PAGE + 1:02d}.png"
        path.write_bytes(_page(drawn[start : start + PER_PAGE]))
        print(path)
    print(f"{len(drawn)} of {len(chosen)} cards have a figure")
    return 0


def _page(drawn: list[tuple[str, str]]) -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        cells = []
        for name, svg in drawn:
            (Path(folder) / f"{name}.svg").write_text(svg, "utf-8")
            cells.append(f'[#image("{name}.svg", width: {WIDTH_CM}cm)\n#text(7pt)[{name}]],')
        source = f"#set page(width: auto, height: auto, margin: 4mm)\n#grid(columns: ({WIDTH_CM}cm,) * {COLUMNS}, "
        return svg_to_png(Path(folder), source + "gutter: 5mm, align: center + bottom,\n" + "\n".join(cells) + ")", 90)


if __name__ == "__main__":
    sys.exit(main())
