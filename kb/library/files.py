"""Which files of a folder make a library; nothing is read here, so that a question can look for changes quickly."""

from pathlib import Path

FOLDER = "vocabulary"
"""Folder of the words that cards may use."""
TRAINED = "trained"
"""Folder of what was learned from the library's words."""
IMPORTS = ".imports"
"""Folder of what was imported, so that it can be taken back."""
MOVING = "moving"
"""File in it that lists the cards that are just being moved in or out: a digest, a space and the path on each line."""
NOT_CARDS = ("MAP.md", "README.md")
"""Markdown files of a library that are not drills."""


def card_files(folder: Path) -> list[Path]:
    """Return the card files of a library, in order: Markdown one folder down, outside vocabulary and dot folders.

    Cards that are just being moved in or out are not among them: all come in, or go, in one step.
    """
    moved = _moved(folder)
    found = (path for path in folder.glob("*/*.md") if path.name not in NOT_CARDS and path not in moved)
    return sorted(path for path in found if path.parent.name != FOLDER and not path.parent.name.startswith("."))


def _moved(folder: Path) -> set[Path]:
    try:
        lines = (folder / IMPORTS / MOVING).read_text("utf-8").split("\n")[1:]
    except (OSError, UnicodeDecodeError):
        return set()
    return {folder / line.partition(" ")[2] for line in lines}


def starter_library() -> Path:
    """Return the folder of the library that comes with the program."""
    package = Path(__file__).parents[1]
    packed = package / "share" / "drills"
    return packed if packed.is_dir() else package.parent / "drills"
