"""`drillkb handout` as a coach and another program call it."""

import json
from pathlib import Path

import pytest
from pypdf import PdfReader

from kb.facade import Library
from kb.model.sheet import NOTICE
from tests.cli.test_commands import run

LARKMOOR, GROUPS = "drills/kits/larkmoor.yaml", "drills/demo/groups.yaml"


@pytest.mark.parametrize(
    ("words", "begins"),
    [
        (["piking on vault landing", "short handstand on beam", "--level", "4", "-o", "a.pdf"], b"%PDF-"),
        (["--cards", "vault-tall-fall, beam-toe-then-turn", "--kind", "station", "-o", "a.pdf"], b"%PDF-"),
        (["--ladder", "kip", "--level", "4", "--paper", "letter", "-o", "a.pdf"], b"%PDF-"),
        (["--fault", "vault-pike-before-landing", "--squad", GROUPS, "--group", "Slate", "-o", "a.html"], b"<!doctype"),
        (["--event", "vault", "--level", "2", "--kit", LARKMOOR, "--height", "4ft", "-o", "a.md"], b"# "),
        (["piking on landing", "--event", "vault", "--age", "9", "--without", "mini-tramp", "-o", "a.md"], b"# "),
    ],
)
def test_every_selection_is_written(starter: Library, tmp_path: Path, words: list[str], begins: bytes) -> None:
    """Words, cards, a ladder, a fault, an event: the file is there and the command says so."""
    del starter
    path = tmp_path / words[-1]
    result = run("handout", *words[:-1], str(path))
    assert result.exit_code == 0, result.output
    assert path.name in "".join(result.stdout.split())
    assert path.read_bytes().startswith(begins)


def test_title_club_date_and_json(starter: Library, tmp_path: Path) -> None:
    """What is given stands on the sheet; --json prints what is on it and the file is written too."""
    del starter
    path = tmp_path / "week6.pdf"
    given = ["--title", "Week 6: one straight line", "--club", "Larkmoor", "--date", "2026-11-05", "--top", "2"]
    more = ["--spotters", "0", "--link", "https://example.org", "--json", "-o", str(path)]
    result = run("handout", "piking on vault landing", *given, *more)
    assert result.exit_code == 0
    sheet = json.loads(result.stdout)
    assert set(sheet) >= {"kind", "title", "club", "date", "version", "notice", "parts", "drills", "kit", "signs"}
    assert (sheet["kind"], sheet["title"], sheet["club"]) == ("clinic", "Week 6: one straight line", "Larkmoor")
    assert len(sheet["drills"]) == 2
    text = " ".join((PdfReader(path).pages[0].extract_text()).split())
    assert "Week 6: one straight line" in text
    assert "5 November 2026" in text
    assert NOTICE in text


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        ([], 2, "--cards"),
        (["--cards", "vault-tal-fall"], 2, "vault-tall-fall"),
        (["--kind", "ladder", "--cards", "vault-tall-fall"], 2, "--ladder"),
        (["bent arms", "--level", "23"], 2, "from 1 to 7"),
        (["bent arms", "--date", "yesterday"], 2, "YYYY-MM-DD"),
        (["bent arms", "-o", "a.docx"], 2, ".pdf, .html or .md"),
        (["bent arms", "--kit", "nowhere.yaml"], 3, "nowhere.yaml"),
        (["--plan", "nowhere.json"], 3, "nowhere.json"),
        (["bent arms in cast", "-o", "/nowhere/at/all/a.pdf"], 3, "cannot be written"),
    ],
)
def test_wrong_calls_are_one_sentence(starter: Library, words: list[str], code: int, says: str) -> None:
    """Exit code as the README has it, nothing on standard output, the remedy in the sentence."""
    del starter
    result = run("handout", *words)
    assert result.exit_code == code
    assert says in result.stderr
    assert "Traceback" not in result.output
    assert result.stdout == ""
