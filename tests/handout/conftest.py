"""Sheets of every kind, made once."""

import pytest

from kb.facade import Library
from kb.handout.pdf import sheet_pdf
from kb.model import Paper, Sheet
from tests.handout.support import orders

KINDS = ("clinic", "station", "pocket", "book", "ladder")
PAPERS: tuple[Paper, ...] = ("a4", "letter")


@pytest.fixture(scope="session")
def sheets(starter: Library) -> dict[str, Sheet]:
    """Return a sheet of every kind."""
    return {kind: starter.handout(order) for kind, order in orders(starter).items()}


@pytest.fixture(scope="session")
def pdfs(sheets: dict[str, Sheet]) -> dict[tuple[str, Paper], bytes]:
    """Return every kind as PDF on both papers."""
    return {(kind, paper): sheet_pdf(sheet, paper) for kind, sheet in sheets.items() for paper in PAPERS}
