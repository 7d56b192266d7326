"""One object from one YAML file of a club: a kit list, its squads, a plan."""

from pathlib import Path
from typing import TypeVar

import msgspec

from kb.errors import FileUnusable
from kb.library.convert import convert_one
from kb.library.safeyaml import Located, read_yaml

T = TypeVar("T", bound=msgspec.Struct)


def read_object(path: Path, kind: type[T], remedy: str) -> tuple[T, Located]:
    """Return the object in a file, and where its parts stand.

    Raises FileUnusable, with the line, for the first thing that is wrong; `remedy` says where such a file comes from.
    """
    try:
        source = read_yaml(path.read_text("utf-8"), str(path))
    except FileNotFoundError:
        raise FileUnusable(path, 0, f"there is no such file; {remedy}.") from None
    except (OSError, UnicodeDecodeError) as error:
        raise FileUnusable(path, 0, f"cannot be read as UTF-8 text ({error.__class__.__name__}).") from None
    found, problems = convert_one(kind, source, (), str(path))
    if found is None:
        first = problems[0]
        raise FileUnusable(path, first.line, ": ".join(part for part in (first.field, first.message) if part))
    return found, source
