"""The FAISS file: one line that says what it is and which generation it belongs to, then one index a space."""

from pathlib import Path

import msgspec

from kb.errors import IndexUnusable
from kb.index.nearest import FaissIndex

KIND = "drillkb neighbours 1"


class Header(msgspec.Struct):
    """The first line of the file."""

    kind: str
    generation: str
    spaces: dict[str, int]
    """Name of each space and the bytes of its index, in order."""


def write_neighbours(path: Path, generation: str, spaces: dict[str, FaissIndex]) -> None:
    """Write the indexes of one generation."""
    blobs = {name: index.to_bytes() for name, index in spaces.items()}
    header = Header(KIND, generation, {name: len(blob) for name, blob in blobs.items()})
    path.write_bytes(b"\n".join([msgspec.json.encode(header), b"".join(blobs.values())]))


def read_neighbours(path: Path, generation: str) -> dict[str, FaissIndex]:
    """Read the indexes, or raise IndexUnusable when the file is missing, damaged or of another generation."""
    try:
        line, _, body = path.read_bytes().partition(b"\n")
        header = msgspec.json.decode(line, type=Header)
    except (OSError, msgspec.DecodeError) as error:
        raise IndexUnusable(path, f"it cannot be read ({error.__class__.__name__}).") from None
    if (header.kind, header.generation) != (KIND, generation):
        raise IndexUnusable(path, "it belongs to another generation of the database.")
    spaces: dict[str, FaissIndex] = {}
    start = 0
    for name, length in header.spaces.items():
        spaces[name] = FaissIndex.from_bytes(body[start : start + length])
        start += length
    return spaces
