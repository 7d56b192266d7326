"""The library handed out: cards as a zip, CSV or JSON, or the whole folder as one's own copy to write in."""

import csv
import io
import re
import shutil
import uuid
import zipfile
from collections.abc import Sequence
from pathlib import Path

import msgspec

from kb.errors import FileUnusable, UnknownName, UsageError
from kb.keep.fields import all_fields, card_fields
from kb.keep.store import write_new
from kb.library import Collection
from kb.library.files import FOLDER, IMPORTS, card_files
from kb.model import Card
from kb.model.keep import Exported

FORMAT = 1
"""Version of the JSON: {"format": 1, "cards": [...]}."""
SAME_TIME = (1980, 1, 1, 0, 0, 0)
"""Time of every entry of a zip, so that the same library makes the same file."""


def export_cards(collection: Collection, path: Path, events: Sequence[str] = ()) -> Exported:
    """Write the cards into a new .zip, .csv or .json file. Raises UsageError, UnknownName, FileUnusable."""
    if path.suffix.lower() not in _WRITERS:
        raise UsageError(f"{path} must end with {', '.join(_WRITERS)}.")
    if unknown := [event for event in events if event not in collection.vocabulary.events]:
        raise UnknownName("event", unknown, collection.vocabulary.events)
    cards = [card for card in collection.cards.values() if not events or card.event in events]
    shown = {card.file for card in collection.cards.values()}
    files = [file.relative_to(collection.folder).as_posix() for file in card_files(collection.folder)]
    left_out = [file for file in files if file not in shown and (not events or file.split("/")[0] in events)]
    write_new(path, _WRITERS[path.suffix.lower()](cards, collection))
    return Exported(str(path), len(cards), tuple(left_out))


def copy_library(collection: Collection, folder: Path) -> Exported:
    """Copy the whole library into a new folder, whole or not at all. Raises UsageError, FileUnusable."""
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise UsageError(f"{folder} is there already and not empty; name a new folder.")
    if folder.resolve().is_relative_to(collection.folder.resolve()):
        raise UsageError(f"{folder} lies inside the library; name a folder outside.")
    # The index goes with it: it is stamped with the files' times, which the copy keeps.
    beside = folder.with_name(f".{folder.name}.{uuid.uuid4().hex[:8]}")
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        shutil.copytree(collection.folder, beside, ignore=shutil.ignore_patterns("*.building-*", IMPORTS))
        beside.rename(folder)
    except (OSError, shutil.Error) as error:
        shutil.rmtree(beside, ignore_errors=True)
        reason = error.strerror if isinstance(error, OSError) and error.strerror else "not every file could be copied"
        raise FileUnusable(folder, 0, f"cannot be written ({reason}).") from None
    return Exported(str(folder), len(card_files(folder)))


def _csv(cards: Sequence[Card], _collection: Collection) -> bytes:
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(all_fields())
    for card in cards:
        writer.writerow([_guarded(text) for text in card_fields(card).values()])
    return out.getvalue().encode("utf-8-sig")  # the mark tells spreadsheets that it is UTF-8


def _guarded(text: str) -> str:
    """Keep a spreadsheet from taking a text for a formula; `import` takes the apostrophe off again."""
    return f"'{text}" if re.match(r"'*[=+\-@\t]", text) else text


def _json(cards: Sequence[Card], _collection: Collection) -> bytes:
    return msgspec.json.format(msgspec.json.encode({"format": FORMAT, "cards": cards}), indent=2) + b"\n"


def _zip(cards: Sequence[Card], collection: Collection) -> bytes:
    words = sorted(path for path in (collection.folder / FOLDER).rglob("*") if path.is_file())
    files = [*(collection.folder / card.file for card in cards), *words]
    out = io.BytesIO()
    try:
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as book:
            for file in files:
                entry = zipfile.ZipInfo(file.relative_to(collection.folder).as_posix(), SAME_TIME)
                entry.compress_type, entry.external_attr = zipfile.ZIP_DEFLATED, 0o644 << 16
                book.writestr(entry, file.read_bytes())
    except OSError as error:
        raise FileUnusable(error.filename or collection.folder, 0, f"cannot be read ({error.strerror}).") from None
    return out.getvalue()


_WRITERS = {".zip": _zip, ".csv": _csv, ".json": _json}
