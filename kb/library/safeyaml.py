"""Plain YAML with line numbers: text, numbers, true, false and null; lists and maps; nothing that builds objects."""

import math
import re
from typing import Any

import yaml

from kb.errors import FileUnusable

Path = tuple[str | int, ...]
"""Where a value sits: keys and list positions from the top."""

LARGEST = 1_000_000
"""Characters of one file; a card has about 3,000."""
DEEPEST = 20
LONGEST_NUMBER = 18
"""Characters of a number; what is longer is text, since neither SQLite nor a float holds it exactly."""

_INT = re.compile(r"[-+]?[0-9]+\Z")
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?\Z")
_WORDS = {"true": True, "false": False, "null": None, "~": None, "": None}
# What PyYAML calls plain values by itself. Dates, octal numbers and yes/no are then read as text, as YAML 1.2 has it.
_PLAIN_TAGS = {
    f"tag:yaml.org,2002:{kind}" for kind in ["str", "int", "float", "bool", "null", "timestamp", "map", "seq", "value"]
}
# The C parser is eight times faster; a PyYAML built without it still works.
_LOADER: type[Any] = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


class Located:
    """A value read from YAML, and the line of every part of it."""

    def __init__(self, value: Any, lines: dict[Path, int]) -> None:
        self.value = value
        self.lines = lines

    def line(self, path: Path) -> int:
        """Return the line of the part at `path`, or of the nearest part around it."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path, 1)


def read_yaml(text: str, file: str, first_line: int = 1) -> Located:
    """Read one YAML document; `first_line` is the line of the file on which `text` begins.

    Raises FileUnusable, with file and line, for anything that is not plain YAML: bad syntax, a key given twice,
    an alias, a tag, too much text or too deep nesting.
    """
    if len(text) > LARGEST:
        raise FileUnusable(file, 0, f"has {len(text)} characters; at most {LARGEST} are read. Split the file.")
    reader = _Reader(file, first_line)
    try:
        node = yaml.compose(text, Loader=_LOADER)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line = mark.line + first_line if mark else first_line
        raise FileUnusable(
            file,
            line,
            f"is not valid YAML here ({_short(error)}). Put quotes round text with ': ' or "
            "special characters, and check the indentation.",
        ) from None
    except (yaml.YAMLError, RecursionError, ValueError) as error:
        raise FileUnusable(file, first_line, f"is not valid YAML ({_short(error)}).") from None
    return Located(reader.value(node, ()) if node is not None else None, reader.lines)


class _Reader:
    """Turns a YAML node tree into values and remembers lines."""

    def __init__(self, file: str, first_line: int) -> None:
        self.file, self.first_line = file, first_line
        self.lines: dict[Path, int] = {}
        self.seen: set[int] = set()

    def value(self, node: Any, path: Path) -> Any:
        self.refuse_unless_plain(node, path)
        self.lines.setdefault(path, self.line(node))
        if len(path) > DEEPEST:
            raise self.refuse(node, f"is nested more than {DEEPEST} levels deep")
        if isinstance(node, yaml.MappingNode):
            return self.mapping(node, path)
        if isinstance(node, yaml.SequenceNode):
            return [self.value(child, (*path, place)) for place, child in enumerate(node.value)]
        return self.scalar(node)

    def refuse_unless_plain(self, node: Any, path: Path) -> None:
        if id(node) in self.seen:  # the node is where the anchor stands; the alias stands at the path
            line = Located(None, self.lines).line(path)
            raise FileUnusable(self.file, line, "uses an alias (*name); write the value out in full.")
        self.seen.add(id(node))
        if node.tag not in _PLAIN_TAGS:
            raise self.refuse(node, f"uses the tag '{node.tag}'; only plain values are read")

    def mapping(self, node: Any, path: Path) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for key_node, value_node in node.value:
            if not isinstance(key_node, yaml.ScalarNode):
                raise self.refuse(key_node, "has a key that is not a word")
            self.refuse_unless_plain(key_node, path)
            key = key_node.value
            if key in found:
                raise self.refuse(key_node, f"gives '{key}' twice; keep one of the two")
            self.lines[(*path, key)] = self.line(key_node)
            found[key] = self.value(value_node, (*path, key))
        return found

    def scalar(self, node: Any) -> Any:
        text = str(node.value)
        if node.style in ("'", '"', "|", ">"):  # quoted and block text is text, whatever it looks like
            return text
        if text.lower() in _WORDS and (text in _WORDS or text.lower() in ("true", "false", "null")):
            return _WORDS[text.lower()]
        if len(text) > LONGEST_NUMBER:
            return text
        if _INT.match(text):
            return int(text)
        return float(text) if _FLOAT.match(text) and math.isfinite(float(text)) else text

    def line(self, node: Any) -> int:
        return int(node.start_mark.line) + self.first_line

    def refuse(self, node: Any, what: str) -> FileUnusable:
        return FileUnusable(self.file, self.line(node), f"{what}.")


def _short(error: Exception) -> str:
    problem = getattr(error, "problem", None) or str(error)
    return " ".join(str(problem).split())[:120]
