"""Card text as HTML: headings, lists, bold and links to the web; never raw HTML, never another scheme."""

import re
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from markdown_it import MarkdownIt

HTTP = re.compile(r"https?://", re.I)


@lru_cache(maxsize=1)
def _parser() -> "MarkdownIt":
    from markdown_it import MarkdownIt

    parser = MarkdownIt("commonmark", {"html": False}).disable(["image", "html_block", "html_inline", "autolink"])
    parser.validateLink = lambda url: bool(HTTP.match(url))  # type: ignore[method-assign]
    return parser


@lru_cache(maxsize=5_000)
def to_html(text: str) -> str:
    """Return Markdown as HTML that is safe to put into a page."""
    return str(_parser().render(text))


def cues(text: str) -> list[str]:
    """Return what is in quotation marks at the start of each bullet of 'Say'."""
    found = re.findall(r'^[-*] +["“](.+?)["”]', text, re.M)
    return found or [line.lstrip("-* ") for line in text.splitlines() if line.strip()]
