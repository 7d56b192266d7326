"""Pictures as PNG, by typst."""

from pathlib import Path

PRINT = 300
"""Dots an inch of a picture for print."""


def svg_to_png(folder: Path, source: str, dots: float = PRINT) -> bytes:
    """Return the page that a typst source in `folder` makes, as PNG."""
    import typst

    path = folder / "page.typ"
    path.write_text(source, "utf-8")
    return bytes(typst.compile(str(path), format="png", ppi=dots))


def picture_png(svg: str, width_cm: float = 7.0, dots: float = PRINT) -> bytes:
    """Return one picture as PNG of a printed width."""
    import tempfile

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "picture.svg").write_text(svg, "utf-8")
        source = f'#set page(width: auto, height: auto, margin: 0mm)\n#image("picture.svg", width: {width_cm}cm)'
        return svg_to_png(folder, source, dots)
