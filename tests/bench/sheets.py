"""Printed sheets: time in a new process, size, and whether the same order gives the same bytes."""

import sys
import tempfile
from pathlib import Path

import kb
from tests.bench.processes import drillkb, peak_mb, seconds

QUESTIONS = (
    "piking on vault landing",
    "short handstand on beam",
    "sits down on her front stride circle",
    "roundoff lands chest down",
)
BASELINE = "import typst; typst.compile(b'One line.', format='pdf')"
"""A script that sets one line with typst and nothing else."""


def sheets() -> dict[str, float]:
    """Twelve drills of four questions, and the whole library, against typst alone and one answer on the terminal."""
    assert kb.open_library().index.card_ids  # the index is there
    with tempfile.TemporaryDirectory() as folder:
        clinic, again, book = (Path(folder) / name for name in ("clinic.pdf", "again.pdf", "book.pdf"))

        def order(path: Path) -> list[str]:
            return drillkb("handout", *QUESTIONS, "--top", "3", "--date", "2026-11-05", "-o", str(path))

        whole = drillkb("handout", "--kind", "book", "--date", "2026-11-05", "-o", str(book))
        baseline = seconds([sys.executable, "-c", BASELINE])
        answer = seconds(drillkb("find", QUESTIONS[0]))
        twelve = seconds(order(clinic))
        seconds(order(again), times=1)
        return {
            "baseline: typst sets one line, new process, s": baseline,
            "baseline: one answer on the terminal, s": answer,
            "twelve drills to PDF, new process, s (under 1.5)": twelve,
            "twelve drills / one answer": twelve / answer,
            "same bytes twice (1 is yes)": float(clinic.read_bytes() == again.read_bytes()),
            "clinic sheet, MB": clinic.stat().st_size / 1e6,
            "book of all drills, s (under 20)": seconds(whole, times=1),
            "book, MB (under 25)": book.stat().st_size / 1e6,
            "book, peak memory, MB": peak_mb(whole),
        }
