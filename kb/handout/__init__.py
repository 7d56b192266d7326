"""Printed sheets: what was asked for becomes one sheet, and the sheet a PDF, a web page or Markdown."""

from kb.handout.build import build_sheet
from kb.handout.write import write_sheet

__all__ = ["build_sheet", "write_sheet"]
