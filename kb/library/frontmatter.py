"""A card file is cut into its YAML front matter and its Markdown sections, with the line of each."""

from msgspec import Struct

from kb.errors import FileUnusable, nearest
from kb.model import SECTIONS, Problem

FENCE = "---"


class Parts(Struct, frozen=True):
    """The two halves of a card file."""

    front: str
    front_line: int
    """Line on which the front matter begins."""
    body: str
    body_line: int


class Section(Struct, frozen=True):
    """One heading of the body and the text under it."""

    heading: str
    line: int
    text: str


def split_card(text: str, file: str) -> Parts:
    """Cut a card at its two lines of dashes; malformed front matter is an error, never body text."""
    lines = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if lines[0].rstrip() != FENCE:
        raise FileUnusable(file, 1, f"begins with '{lines[0][:40]}'; the first line of a card must be '---'.")
    for place, line in enumerate(lines[1:], start=1):
        if line.rstrip() == FENCE:
            return Parts("\n".join(lines[1:place]), 2, "\n".join(lines[place + 1 :]), place + 2)
    raise FileUnusable(file, 1, "opens its front matter with '---' but never closes it; add a line '---' under it.")


def split_sections(parts: Parts) -> list[Section]:
    """Return the second-level sections of the body; text before the first of them has an empty heading."""
    from markdown_it import MarkdownIt

    lines = parts.body.split("\n")
    tokens = MarkdownIt("commonmark").parse(parts.body)
    starts = [
        (token.map[0], token.map[1], tokens[place + 1].content.strip())
        for place, token in enumerate(tokens)
        if token.type == "heading_open" and token.tag == "h2" and token.level == 0 and token.map
    ]
    cuts = [(0, 0, ""), *starts]
    ends = [start for start, _, _ in starts] + [len(lines)]
    found = [
        Section(heading, parts.body_line + start, "\n".join(lines[under:end]).strip())
        for (start, under, heading), end in zip(cuts, ends, strict=True)
    ]
    return [section for section in found if section.heading or section.text]


def section_problems(sections: list[Section], file: str, body_line: int) -> list[Problem]:
    """Report headings that are missing, unknown, doubled, empty or out of order."""
    found = [Problem(file, s.line, s.heading, _unknown(s.heading)) for s in sections if s.heading not in SECTIONS]
    known = [s for s in sections if s.heading in SECTIONS]
    names = [s.heading for s in known]
    found += [
        Problem(file, body_line, name, f"the heading '## {name}' is missing; a card has {', '.join(SECTIONS)}")
        for name in SECTIONS
        if name not in names
    ]
    found += [
        Problem(file, s.line, s.heading, "this heading stands twice; keep one")
        for place, s in enumerate(known)
        if s.heading in names[:place]
    ]
    found += [Problem(file, s.line, s.heading, "nothing stands under this heading") for s in known if not s.text]
    order = [SECTIONS.index(name) for name in dict.fromkeys(names)]
    if order != sorted(order):
        found.append(Problem(file, body_line, "", f"the headings are out of order; they go {', '.join(SECTIONS)}"))
    return found


def _unknown(heading: str) -> str:
    if not heading:
        return "text stands before the first '## ' heading; move it under one"
    near = nearest(heading, [name.lower() for name in SECTIONS], 1)
    hint = f"; nearest: '## {near[0].capitalize()}'" if near else ""
    return f"found '## {heading}', which no card has{hint}"
