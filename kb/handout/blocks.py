"""A card's Markdown as paragraphs, points and steps; HTML in it is taken as the words it is written with."""

from collections.abc import Iterator, Sequence
from functools import cache
from typing import TYPE_CHECKING

from kb.handout.plain import clean
from kb.model.sheet import Block, Line, Run

if TYPE_CHECKING:
    from markdown_it import MarkdownIt
    from markdown_it.token import Token

LISTS = {"bullet_list_open": "points", "ordered_list_open": "steps"}


def blocks(text: str) -> tuple[Block, ...]:
    """Return the blocks of a section, in order; lists in lists become one list."""
    found: list[tuple[str, list[Line]]] = []
    inside: list[str] = []
    for token in _reader().parse(text):
        if token.type in LISTS:
            inside.append(LISTS[token.type])
            if len(inside) == 1:
                found.append((inside[0], []))
        elif token.type in ("bullet_list_close", "ordered_list_close"):
            inside.pop()
        elif token.type == "inline":
            if not inside:
                found.append(("text", []))
            found[-1][1].append(tuple(_runs(token.children or [])))
        elif token.content.strip():  # code, set apart
            found.append(("text", [(Run(clean(token.content)),)]))
    return tuple(Block(kind, tuple(lines)) for kind, lines in found)  # type: ignore[arg-type]


def words(line: Line) -> str:
    """Return a line without its weights."""
    return "".join(run.text for run in line)


@cache
def _reader() -> "MarkdownIt":
    from markdown_it import MarkdownIt

    return MarkdownIt("commonmark").disable(["html_block", "html_inline", "heading", "lheading", "reference"])


def _runs(tokens: Sequence["Token"]) -> Iterator[Run]:
    """Yield the words of one paragraph, neighbours of one weight together, no space at either end."""
    parts: list[tuple[str, bool]] = []
    strong = 0
    for token in tokens:
        strong += {"strong_open": 1, "strong_close": -1}.get(token.type, 0)
        text = " " if token.type in ("softbreak", "hardbreak") else token.content
        if text and parts and parts[-1][1] == bool(strong):
            parts[-1] = (parts[-1][0] + text, bool(strong))
        elif text:
            parts.append((text, bool(strong)))
    last = len(parts) - 1
    for place, (text, bold) in enumerate(parts):
        before = " " if place > 0 and text[:1].isspace() else ""
        after = " " if place < last and text[-1:].isspace() else ""
        if words_of := clean(text):
            yield Run(f"{before}{words_of}{after}", bold)
