"""A card as text, written only when it is proved to read back to the same values."""

import json
import re
from collections.abc import Mapping
from typing import Any

import yaml

from kb.errors import FileUnusable
from kb.library.frontmatter import Parts, split_card, split_sections
from kb.library.safeyaml import read_yaml
from kb.model import SECTIONS, FrontMatter

PLAIN = re.compile(r"[A-Za-z][A-Za-z0-9 _.()'/-]*")
"""Text that needs no quotation marks inside a list or map in one line."""
PLAIN_LINE = re.compile(r"[A-Za-z](?:[A-Za-z0-9 _.()'/,;-]*[A-Za-z0-9_.()'/;-])?")
"""The same on a line of its own, where commas are no marks."""
NOT_PLAIN = {"true", "false", "null", "yes", "no", "on", "off", "y", "n"}
SEPARATORS = {"\u0085": "\\N", "\u2028": "\\L", "\u2029": "\\P", "\ufeff": "\\uFEFF", "\x7f": "\\x7F"}
"""Characters that YAML would take for a line end or drop, with the way YAML writes them."""


def card_text(front: Mapping[str, Any], sections: Mapping[str, str], file: str) -> str:
    """Return the text of a card file. Raises FileUnusable when it would not read back to the same values."""
    order = [name for name in FrontMatter.__struct_fields__ if name in front]
    lines = ["---", *(_field(name, front[name]) for name in [*order, *(n for n in front if n not in order)]), "---"]
    for heading in SECTIONS:
        if heading in sections:
            lines += [f"## {heading}", sections[heading]]
    text = "\n".join(lines) + "\n"
    if read_back(text, file) != (dict(front), dict(sections)):
        raise FileUnusable(file, 0, "cannot be written so that it reads back the same; write it in an editor.")
    return text


def read_back(text: str, file: str) -> tuple[Any, dict[str, str]]:
    """Return front matter and sections of a card file as plain values. Raises FileUnusable."""
    halves = split_card(text, file)
    sections = {section.heading: section.text for section in split_sections(halves)}
    return read_yaml(halves.front, file, halves.front_line).value, sections


def with_names(text: str, names: Mapping[str, str], file: str) -> str:
    """Return a card file with other cards' ids changed in 'after' and 'no_spot_twin', all else as it was.

    Raises FileUnusable when the new text does not read back to the same card with only these names changed.
    """
    front, sections = read_back(text, file)
    halves = split_card(text, file)
    changed = _with_names(halves, names)
    new = text if changed == halves.front else f"---\n{changed}\n---\n{halves.body}"
    wanted = dict(front)
    if isinstance(front.get("after"), list):
        wanted["after"] = [names.get(name, name) for name in front["after"]]
    if front.get("no_spot_twin") in names:
        wanted["no_spot_twin"] = names[front["no_spot_twin"]]
    if read_back(new, file) != (wanted, sections):
        raise FileUnusable(file, 0, "names cards that had to be renamed, and cannot be rewritten; it is left alone.")
    return new


def _with_names(halves: Parts, names: Mapping[str, str]) -> str:
    root = yaml.compose(halves.front, Loader=yaml.SafeLoader)
    spots: list[tuple[int, int, str]] = []
    for key, node in root.value if isinstance(root, yaml.MappingNode) else ():
        if key.value not in ("after", "no_spot_twin"):
            continue
        for leaf in node.value if isinstance(node, yaml.SequenceNode) else [node]:
            if isinstance(leaf, yaml.ScalarNode) and leaf.value in names:
                spots.append((leaf.start_mark.index, leaf.end_mark.index, names[leaf.value]))
    text = halves.front
    for start, end, name in reversed(spots):
        text = text[:start] + name + text[end:]
    return text


def _field(name: str, held: Any) -> str:
    if isinstance(held, list) and held and all(isinstance(entry, dict) for entry in held):
        return f"{name}:\n" + "\n".join(f"  - {_flow(entry)}" for entry in held)
    if name == "figure" and isinstance(held, dict) and held:
        inner = (_field(key, entry).replace("\n", "\n  ") for key, entry in held.items())
        return f"{name}:\n" + "\n".join(f"  {text}" for text in inner)
    if isinstance(held, str) and PLAIN_LINE.fullmatch(held) and held.lower() not in NOT_PLAIN:
        return f"{name}: {held}"
    return f"{name}: {_flow(held)}"


def _flow(held: Any) -> str:
    if isinstance(held, dict):
        return "{" + ", ".join(f"{_key(key)}: {_flow(entry)}" for key, entry in held.items()) + "}"
    if isinstance(held, list):
        return "[" + ", ".join(_flow(entry) for entry in held) + "]"
    if isinstance(held, str):
        return _scalar(held)
    return json.dumps(held)


def _key(name: str) -> str:
    return name if re.fullmatch(r"[a-z_]+", name) else _scalar(name)


def _scalar(text: str) -> str:
    ends_plain = PLAIN.fullmatch(text) and not text.endswith(" ") and text.lower() not in NOT_PLAIN
    if ends_plain or re.fullmatch(r"\d+-\d+", text):
        return text
    quoted = json.dumps(text, ensure_ascii=False)
    return "".join(SEPARATORS.get(letter, letter) for letter in quoted)
