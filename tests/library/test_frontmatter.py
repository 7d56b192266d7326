"""A card file is cut in two, and its body at the headings, with the right line for each part."""

import pytest

from kb.errors import FileUnusable
from kb.library.frontmatter import Section, section_problems, split_card, split_sections
from kb.model import SECTIONS

CARD = "---\ntitle: A\nlevel: 3\n---\n## Fixes\nOne.\n\n## Do\n1. Two.\n"


@pytest.mark.parametrize("break_", ["\n", "\r\n", "\r"], ids=["LF", "CRLF", "CR"])
@pytest.mark.parametrize("start", ["", "\ufeff"], ids=["plain", "BOM"])
def test_a_card_is_cut_at_its_dashes(break_: str, start: str) -> None:
    """Line endings and a byte order mark change neither the halves nor their lines."""
    parts = split_card(start + CARD.replace("\n", break_), "f")
    assert (parts.front, parts.front_line) == ("title: A\nlevel: 3", 2)
    assert (parts.body, parts.body_line) == ("## Fixes\nOne.\n\n## Do\n1. Two.\n", 5)
    assert split_sections(parts) == [Section("Fixes", 5, "One."), Section("Do", 8, "1. Two.")]


CUTS = {  # text of a card -> front matter, body
    "---\na: 1\n---": ("a: 1", ""),
    "---\n---\n": ("", ""),
    "---  \na: 1\n---\t\nb\n": ("a: 1", "b\n"),
    "---\na: 1\n---\nb\n---\nc": ("a: 1", "b\n---\nc"),
    "---\na: ---\n ---\nb: --- x\n---\n": ("a: ---\n ---\nb: --- x", ""),
}


@pytest.mark.parametrize("text", CUTS)
def test_only_a_line_of_three_dashes_cuts(text: str) -> None:
    """Blanks after the dashes do no harm, and dashes inside a line or in the body are left alone."""
    parts = split_card(text, "f")
    assert (parts.front, parts.body) == CUTS[text]


UNCUT = {
    "": "first line of a card must be '---'",
    "\n---\na: 1\n---\n": "first line of a card must be '---'",
    "title: A\n---\n": "begins with 'title: A'",
    " ---\na: 1\n---\n": "first line of a card must be '---'",
    "----\na: 1\n----\n": "begins with '----'",
    "+++\na = 1\n+++\n": "begins with '\\+\\+\\+'",
    "---": "never closes it",
    "---\na: 1\n## Fixes\n": "never closes it",
    "---\na: 1\n ---\n": "never closes it",
}


@pytest.mark.parametrize("text", UNCUT)
def test_malformed_front_matter_is_an_error_and_never_body_text(text: str) -> None:
    """Without two lines of dashes the card is refused at line 1, with what to do."""
    with pytest.raises(FileUnusable, match=UNCUT[text]) as caught:
        split_card(text, "vault/x.md")
    assert str(caught.value).startswith("vault/x.md:1: ")


def body(text: str) -> list[Section]:
    """Cut a body that begins on line 4."""
    return split_sections(split_card(f"---\na: 1\n---\n{text}", "f"))


BODIES: dict[str, list[Section]] = {
    "": [],
    "Loose.\n## Do\nx": [Section("", 4, "Loose."), Section("Do", 5, "x")],
    "## Do ##\nx": [Section("Do", 4, "x")],
    "Do\n--\nx": [Section("Do", 4, "x")],
    "##Do\nx": [Section("", 4, "##Do\nx")],
    "## Do\n### Inside\nx": [Section("Do", 4, "### Inside\nx")],
    "## Do\n```\n## Not a heading\n```": [Section("Do", 4, "```\n## Not a heading\n```")],
    "## Do\n> ## Quoted\n- ## Listed": [Section("Do", 4, "> ## Quoted\n- ## Listed")],
    "## Do\n    ## Code": [Section("Do", 4, "## Code")],
    "## Do\n## Say\n\n\n": [Section("Do", 4, ""), Section("Say", 5, "")],
    "# Title\n\n## Do\n<!-- a\n## b\n-->": [Section("", 4, "# Title"), Section("Do", 6, "<!-- a\n## b\n-->")],
}


@pytest.mark.parametrize("text", BODIES)
def test_sections_are_what_markdown_calls_second_level_headings(text: str) -> None:
    """Headings in code, quotes and lists do not cut; what stands before the first heading is kept."""
    assert body(text) == BODIES[text]


def problems(*names: str) -> list[str]:
    """Return what is said of a body with these headings, each over one line of text."""
    text = "".join(f"## {name}\nText.\n" for name in names)
    return [f"{p.line}: {p.field}: {p.message.split(';')[0]}" for p in section_problems(body(text), "f", 4)]


def test_all_headings_in_order_are_right() -> None:
    """The nine headings once each, in order, have no problem."""
    assert problems(*SECTIONS) == []


@pytest.mark.parametrize("name", SECTIONS)
def test_each_heading_is_required(name: str) -> None:
    """Whichever heading is left out, it is named."""
    assert problems(*(s for s in SECTIONS if s != name)) == [f"4: {name}: the heading '## {name}' is missing"]


@pytest.mark.parametrize("name", SECTIONS)
def test_a_heading_in_other_case_or_misspelt_is_told_the_right_one(name: str) -> None:
    """A heading in capitals or with a letter too many is not found, and the right one is offered."""
    for wrong in (name.upper(), name + "e"):
        text = "".join(f"## {wrong if s == name else s}\nText.\n" for s in SECTIONS)
        found = section_problems(body(text), "f", 4)
        assert any(p.field == wrong and f"nearest: '## {name}'" in p.message for p in found)


def test_every_doubled_and_every_empty_heading_is_told() -> None:
    """All faults of the headings are reported together, each with its line."""
    text = "## Fixes\nText.\n## Fixes\n## Fixes\nText.\n"
    said = [(p.line, p.field, p.message) for p in section_problems(body(text), "f", 4) if p.field == "Fixes"]
    assert said == [
        (6, "Fixes", "this heading stands twice; keep one"),
        (7, "Fixes", "this heading stands twice; keep one"),
        (6, "Fixes", "nothing stands under this heading"),
    ]
