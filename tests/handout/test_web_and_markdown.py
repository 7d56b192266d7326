"""The web page and the Markdown file as other readers see them, and all three files compared."""

import re
from collections import Counter
from html.parser import HTMLParser
from pathlib import Path

import pytest
from markdown_it import MarkdownIt

from kb.facade import Library
from kb.handout.html import sheet_html
from kb.handout.markdown import sheet_markdown
from kb.handout.pdf import sheet_pdf
from kb.model import NOTICE, Sheet, SheetOrder
from tests.handout.conftest import KINDS
from tests.handout.support import DAY, HOSTILE, reader, squeezed, with_text

every = pytest.mark.parametrize("kind", KINDS)
VOID = {"meta", "br", "path", "rect", "circle", "ellipse"}


class Page(HTMLParser):
    """Takes a page apart: tags, attributes, text outside the style sheet."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str]] = []
        self.open: list[str] = []
        self.text = ""
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note a tag."""
        self.tags.append(tag)
        self.attributes += [(name, value or "") for name, value in attrs]
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note a tag that closes itself."""
        self.tags.append(tag)
        self.attributes += [(name, value or "") for name, value in attrs]

    def handle_endtag(self, tag: str) -> None:
        """Close what was opened last."""
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        """Note text."""
        if "style" not in self.open:
            self.text += data


def markdown_text(text: str) -> tuple[str, Counter[str]]:
    """Return the words that a Markdown reader shows, and how often it saw each kind of token but plain text."""
    kinds: Counter[str] = Counter()
    shown: list[str] = []
    for token in MarkdownIt("gfm-like", {"linkify": False}).parse(text):
        kinds[token.type] += 1
        for inner in token.children or []:
            kinds[inner.type] += inner.type != "text"
            shown.append(inner.content if inner.type in ("text", "code_inline") else "")
        shown.append("\n")
    return "".join(shown), kinds


@every
def test_page_is_whole_and_fetches_nothing(sheets: dict[str, Sheet], kind: str) -> None:
    """Tags close, ids are unique and found, no script, nothing loaded from anywhere; title, language, notice."""
    html = sheet_html(sheets[kind])
    page = Page(html)
    assert page.open == []
    assert "script" not in page.tags
    ids = [value for name, value in page.attributes if name == "id"]
    assert len(ids) == len(set(ids))
    links = [value for name, value in page.attributes if name == "href"]
    assert {link[1:] for link in links if link.startswith("#")} <= set(ids)
    named = {one for name, value in page.attributes if name == "aria-labelledby" for one in value.split()}
    assert named <= set(ids)
    assert [value for name, value in page.attributes if name == "src"] == []
    assert {m[1][:5] for m in re.finditer(r"url\(([^)]*)", html)} <= {"data:"}
    assert ("lang", "en") in page.attributes
    assert NOTICE in page.text


@every
def test_three_files_say_the_same(sheets: dict[str, Sheet], kind: str) -> None:
    """Every cue, caution, sign to move up, cause, rung and kit line stands in all three files."""
    sheet = sheets[kind]
    pdf = squeezed("".join(page.extract_text() for page in reader(sheet_pdf(sheet)).pages))
    html = squeezed(Page(sheet_html(sheet)).text)
    markdown = squeezed(markdown_text(sheet_markdown(sheet, "p")[0])[0])
    wanted = [sheet.title, sheet.version, sheet.notice, *sheet.for_whom[:1]]
    for drill in sheet.drills:
        wanted += [
            drill.title,
            *drill.cues[:3],
            drill.stop,
            drill.hands,
            drill.ready_when,
            *(p.name for p in drill.kit),
        ]
        wanted += [one.size for build in drill.builds for one in build.sizes]
    for part in sheet.parts:
        wanted += [rung.ready_when for rung in part.rungs] + [cause.tell for cause in part.causes]
    wanted += [sign.say for sign in sheet.signs] + [line.name for line in sheet.kit]
    wanted += [line.name for group in sheet.indexes for line in group.lines]
    for text in wanted:
        for name, file in (("pdf", pdf), ("html", html), ("md", markdown)):
            assert squeezed(text) in file, f"{name} lacks: {text}"


@pytest.mark.parametrize("text", HOSTILE)
def test_html_shows_signs_as_they_are(sheets: dict[str, Sheet], text: str) -> None:
    """Texts full of signs add no tag and no attribute, and stand on the page as written."""
    sheet = sheets["clinic"]
    plain = Page(sheet_html(with_text(sheet, lambda _: "word")))
    hostile = Page(sheet_html(with_text(sheet, lambda _: text)))
    assert hostile.tags == plain.tags
    assert [name for name, _ in hostile.attributes] == [name for name, _ in plain.attributes]
    assert hostile.text.count(text) >= plain.text.count("word") > 150


def test_html_style_holds_no_sign(sheets: dict[str, Sheet]) -> None:
    """The foot of the printed page is made of the title: it cannot end the style sheet or begin a rule."""
    text = '</style><script>x</script> "} body { display: none } \\"; @import url(x)'
    plain = sheet_html(with_text(sheets["clinic"], lambda _: "word"))
    html = sheet_html(with_text(sheets["clinic"], lambda _: text))
    styles = [page[page.index("<style>") + 7 : page.index("</style>")] for page in (plain, html)]
    for sign in "<>{}()@'\"":
        assert styles[1].count(sign) == styles[0].count(sign), sign
    assert html.count("</style>") == 1


@pytest.mark.parametrize("text", HOSTILE)
def test_markdown_shows_signs_as_they_are(sheets: dict[str, Sheet], text: str) -> None:
    """A Markdown reader sees the same tokens as for plain words, and shows the signs themselves."""
    sheet = sheets["clinic"]
    _, plain_kinds = markdown_text(sheet_markdown(with_text(sheet, lambda _: "word"), "p")[0])
    shown, kinds = markdown_text(sheet_markdown(with_text(sheet, lambda _: text), "p")[0])
    bold = {"strong_open", "strong_close"}  # left away between letters that would keep the stars from being read
    assert {kind: n for kind, n in kinds.items() if kind not in bold} == {
        kind: n for kind, n in plain_kinds.items() if kind not in bold
    }
    assert kinds["strong_open"] <= plain_kinds["strong_open"]
    assert shown.count(text) >= 150


def test_markdown_has_its_pictures_beside_it(starter: Library, tmp_path: Path) -> None:
    """Each picture that the text names is a file; names with spaces and signs still lead there."""
    sheet = starter.handout(SheetOrder(cards=("vault-tall-fall",), date=DAY, link="https://example.org"))
    path = tmp_path / "week 6 (new).md"
    written = starter.write_handout(sheet, path)
    assert written == (path, tmp_path / "week 6 (new)-pictures")
    images = [
        inner
        for token in MarkdownIt("commonmark").parse(path.read_text("utf-8"))
        for inner in token.children or []
        if inner.type == "image"
    ]
    assert len(images) == 2
    from urllib.parse import unquote

    for image in images:
        assert (tmp_path / unquote(str(image.attrs["src"]))).read_text("utf-8").startswith("<svg")
    assert {image.content for image in images} == {sheet.drills[0].picture_says, "QR code"}
