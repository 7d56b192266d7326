"""Which files of a folder make a library; nothing is read here, so that a question can look for changes quickly."""

from pathlib import Path

FOLDER = "vocabulary"
"""Folder of the words that cards may use."""
TRAINED = "trained"
"""Folder of what was learned from the library's words."""
NOT_CARDS = ("MAP.md", "README.md")
"""Markdown files of a library that are not drills."""


def card_files(folder: Path) -> list[Path]:
    """Return the card files of a library, in order: Markdown one folder down, outside vocabulary and dot folders."""
    found = (path for path in folder.glob("*/*.md") if path.name not in NOT_CARDS)
    return sorted(path for path in found if path.parent.name != FOLDER and not path.parent.name.startswith("."))


def starter_library() -> Path:
    """Return the folder of the library that comes with the program."""
    package = Path(__file__).parents[1]
    packed = package / "share" / "drills"
    return packed if packed.is_dir() else package.parent / "drills"
