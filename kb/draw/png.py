"""Pictures as PNG, by typst."""

from pathlib import Path

from kb.errors import FileUnusable, UsageError

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


def check_suffix(path: Path) -> None:
    """Raise UsageError for a file that is neither .svg nor .png."""
    if path.suffix.lower() not in (".svg", ".png"):
        raise UsageError(f"{path} must end with .svg or .png.")


def write_svg(svg: str, path: Path, width_cm: float = 7.0) -> None:
    """Write a picture into a .svg or .png file. Raises UsageError for another ending, FileUnusable."""
    check_suffix(path)
    try:
        if path.suffix.lower() == ".svg":
            path.write_text(svg, "utf-8")
        else:
            path.write_bytes(picture_png(svg, width_cm))
    except OSError as error:
        raise FileUnusable(path, 0, f"cannot be written ({error.strerror}).") from None
