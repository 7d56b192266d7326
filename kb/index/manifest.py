"""What an encoder's folder says about itself, and the proof that its files are the ones it speaks of."""

from hashlib import sha256
from pathlib import Path
from typing import Any

import msgspec
from msgspec import Struct

from kb.errors import EncoderUnusable

MANIFEST = "manifest.json"
FORMAT = 1
"""Changes whenever a manifest of the old form could no longer be read."""

REMEDY = "install drillkb again, or in a checkout run ./scripts/export-encoder"


class FileEntry(Struct, frozen=True):
    """One file of the encoder's folder."""

    name: str
    sha256: str
    bytes: int


class Source(Struct, frozen=True):
    """Where the weights came from."""

    package: str
    """Name on the Python package index, or of the training run."""
    version: str
    checkpoint: str
    """File with the weights, inside that package."""
    sha256: str
    """Hash of that file."""
    weights_licence: str
    """As the model's own card states it."""
    package_licence: str
    """As the package's metadata state it."""


class Manifest(Struct, frozen=True):
    """A text encoder on disk."""

    format: int
    name: str
    source: Source
    model: FileEntry
    tokenizer: FileEntry
    dimension: int
    """Numbers in a vector."""
    window: int
    """Longest input, in tokens, with the two special ones."""
    pooling: str
    quantisation: str
    built_with: dict[str, str]
    """Library name and version, of everything that shaped the files."""
    general_tokenizer: bool = False
    """Whether the tokenizer is the general encoder's file, which is not copied."""
    training: dict[str, Any] | None = None
    """Recipe, data hash and scores, for an encoder that was taught."""


def read_manifest(folder: Path) -> Manifest:
    """Read the manifest of an encoder. Raises EncoderUnusable when it is missing, damaged or of another format."""
    try:
        manifest = msgspec.json.decode((folder / MANIFEST).read_bytes(), type=Manifest)
    except FileNotFoundError:
        raise EncoderUnusable(folder, f"{MANIFEST} is missing; {REMEDY}.") from None
    except (OSError, msgspec.MsgspecError, UnicodeDecodeError) as error:
        raise EncoderUnusable(folder, f"{MANIFEST} cannot be read ({error}); {REMEDY}.") from error
    if manifest.format != FORMAT:
        found = f"{MANIFEST} has format {manifest.format} and this program reads {FORMAT}"
        raise EncoderUnusable(folder, f"{found}; {REMEDY}.")
    return manifest


def write_manifest(folder: Path, manifest: Manifest) -> None:
    """Write the manifest into an encoder's folder, one field a line."""
    (folder / MANIFEST).write_bytes(msgspec.json.format(msgspec.json.encode(manifest), indent=2) + b"\n")


def describe_file(path: Path) -> FileEntry:
    """Return name, hash and size of a file."""
    content = path.read_bytes()
    return FileEntry(path.name, sha256(content).hexdigest(), len(content))


def proven_bytes(folder: Path, entry: FileEntry) -> bytes:
    """Return a file's content once its hash is the manifest's. Raises EncoderUnusable when it is missing or another."""
    try:
        content = (folder / entry.name).read_bytes()
    except FileNotFoundError:
        raise EncoderUnusable(folder, f"{entry.name} is missing; {REMEDY}.") from None
    except OSError as error:
        raise EncoderUnusable(folder, f"{entry.name} cannot be read ({error}); {REMEDY}.") from error
    if sha256(content).hexdigest() != entry.sha256:
        raise EncoderUnusable(folder, f"{entry.name} is not the file that {MANIFEST} describes; {REMEDY}.")
    return content
