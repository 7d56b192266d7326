"""Cleaning of text and reading of a card's Markdown."""

import re
from html.parser import HTMLParser

import pytest
from markdown_it import MarkdownIt

from kb.errors import UsageError
from kb.facade import Library
from kb.handout.blocks import blocks, words
from kb.handout.codes import code_of
from kb.handout.markdown import plain
from kb.handout.plain import MISSING, clean, is_covered, printable


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("a\tb\n c\r\n", "a b c"),
        ("a\x00b\x1b[31m", "a b [31m"),
        ("left\u202eright\u2066\ufeff", "leftright"),
        ("e\u0301", "é"),
        ("\ud800x", f"{MISSING}x"),
        ("直線 → é", "直線 → é"),
    ],
)
def test_clean(text: str, kept: str) -> None:
    """Control and direction signs go, everything that can be read stays."""
    assert clean(text) == kept


def test_printable_marks_what_no_typeface_has() -> None:
    """Accents, the common characters of China, Japan and Korea and arrows are there; emoji are marked."""
    fine = "Zoë Łódź ñ ß İ ğ ș Đặng Ώ Ж 平衡木 平均台 てつぼう 평균대 體操 ←→↑↓↗⇒ × ½ … “ ”"
    assert printable(fine) == fine
    assert printable("a 🤸 b") == f"a {MISSING} b"
    assert not is_covered("🤸")


def test_common_characters_are_those_of_the_national_tables() -> None:
    """All 6,763 characters of GB 2312 and 6,355 of JIS X 0208 (the standards' own counts) can be printed."""

    def table(codec: str, leads: range) -> set[str]:
        pairs = (bytes([lead, trail]).decode(codec, "ignore") for lead in leads for trail in range(0x40, 0xFF))
        return {text for text in pairs if len(text) == 1 and "\u4e00" <= text <= "\u9fff"}

    chinese, japanese = table("gb2312", range(0xB0, 0xF8)), table("shift_jis", range(0x88, 0xEB))
    assert (len(chinese), len(japanese)) == (6763, 6355)
    missing = [letter for letter in chinese | japanese if not is_covered(letter)]
    assert missing == []


class Text(HTMLParser):
    """The text of a page, its parts one by one."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.parts: list[str] = []
        self.feed(html)
        self.close()

    def handle_data(self, data: str) -> None:
        """Note text."""
        self.parts.append(data)


def test_no_word_of_a_card_is_lost(starter: Library) -> None:
    """For every section of every card the words are those that markdown-it's own renderer shows, in its order."""
    renderer = MarkdownIt("commonmark")
    for name in starter.index.card_ids:
        for text in starter.card(name).sections.values():
            ours = " ".join(words(line) for block in blocks(text) for line in block.lines)
            theirs = "".join(Text(renderer.render(text)).parts)
            assert ours.split() == theirs.split(), name


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("One line\nand on.\n\nAnother.", [("text", ["One line and on."]), ("text", ["Another."])]),
        ("1. first\n2. *second*\n   goes on", [("steps", ["first", "second goes on"])]),
        ("- **Bold:** rest\n- `code` <b>&amp;</b>", [("points", ["Bold: rest", "code <b>&</b>"])]),
        ("- a\n  - inner\n- b", [("points", ["a", "inner", "b"])]),
        ("<script>x</script>", [("text", ["<script>x</script>"])]),
        ("    set apart", [("text", ["set apart"])]),
        ("", []),
    ],
)
def test_blocks(text: str, kinds: list[tuple[str, list[str]]]) -> None:
    """Paragraphs, points and steps; marks are gone, HTML stands as it is written."""
    assert [(block.kind, [words(line) for line in block.lines]) for block in blocks(text)] == kinds


@pytest.mark.parametrize(
    ("url", "printed"),
    [
        ("https://example.org/a?b=1&c=%20#d", "https://example.org/a?b=1&c=%20#d"),
        ("https://example.org/é", "https://example.org/%C3%A9"),
        ('https://x/"><b>`', "https://x/%22%3E%3Cb%3E%60"),
    ],
)
def test_an_address_holds_nothing_but_an_address(url: str, printed: str) -> None:
    """What RFC 3986 does not allow is written as %.., so that no file reads it as anything else."""
    assert code_of(url, "Video").url == printed


@pytest.mark.parametrize("url", ["javascript:alert(1)", "http://", "example.org", "https://" + "x" * 500])
def test_what_is_no_address_is_refused(url: str) -> None:
    """One sentence, with the remedy."""
    with pytest.raises(UsageError, match="http"):
        code_of(url, "Video")


def test_plain_leaves_common_text_readable() -> None:
    """A line as a coach writes it has no backslash in it."""
    text = "Hands off. Stand side-on, 20 cm away (never behind); say \"tall\", then 'go'? 50 % 1.5 m"
    assert plain(text) == text
    assert not re.search(r"\\", plain("Level 4, 128 cm"))
