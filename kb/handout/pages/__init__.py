"""How the pages look: typst for paper, one style sheet for the browser."""

from pathlib import Path

PAGES = Path(__file__).parent
