"""Questions asked in vain are kept on this machine, unless that is switched off."""

from pathlib import Path

import pytest

from kb.keep.asked import AGAIN_S, MOST, Last, kept, note, switch


def ask(home: Path, text: str, *, at: float = 0.0, found: bool = True, event: str | None = None) -> None:
    """Note a question as the library does."""
    note(home, Last(at, text, event, text), found=found)


def test_what_finds_nothing_is_kept_once(tmp_path: Path) -> None:
    """The same words twice are one question; the newest is last."""
    for text in ("does the floppy thing", "wibbles her wobble", "Does the floppy thing"):
        ask(tmp_path, text, found=False)
    assert [one.text for one in kept(tmp_path)] == ["wibbles her wobble", "Does the floppy thing"]
    assert {one.why for one in kept(tmp_path)} == {"no match"}


@pytest.mark.parametrize(
    ("second", "later", "event", "again"),
    [
        ("her legs fold in the cast", 20, None, True),
        ("her legs go soft in the cast", 20, None, False),
        ("short handstand", 20, None, False),
        ("her legs fold in the cast", AGAIN_S + 1, None, False),
        ("her legs fold in the cast", 20, "beam", False),
    ],
)
def test_asked_again_in_other_words(tmp_path: Path, second: str, later: float, event: str | None, again: bool) -> None:
    """Soon after, about the same event, partly the same words: then the first question was not understood."""
    ask(tmp_path, "her legs go soft in the cast", at=1000, event="bars")
    ask(tmp_path, second, at=1000 + later, event=event)
    assert [one.text for one in kept(tmp_path)] == (["her legs go soft in the cast"] if again else [])


def test_switched_off_nothing_is_kept(tmp_path: Path) -> None:
    """Off throws away what was kept; on begins anew."""
    ask(tmp_path, "does the floppy thing", found=False)
    switch(tmp_path, on=False)
    ask(tmp_path, "does the droopy thing", found=False)
    assert kept(tmp_path) == []
    assert [path.name for path in tmp_path.iterdir()] == ["keep-no-questions"]
    switch(tmp_path, on=True)
    ask(tmp_path, "does the droopy thing", found=False)
    assert len(kept(tmp_path)) == 1


def test_no_more_than_so_many(tmp_path: Path) -> None:
    """The oldest go first."""
    for number in range(MOST + 3):
        ask(tmp_path, f"nonsense number {number}", found=False)
    assert len(kept(tmp_path)) == MOST
    assert kept(tmp_path)[0].text == "nonsense number 3"


def test_a_broken_file_stops_no_question(tmp_path: Path) -> None:
    """Lines that cannot be read are left out, and asking goes on."""
    (tmp_path / "asked.jsonl").write_bytes(b'{"at": 1, "te\xff\n{}\n')
    (tmp_path / "last-asked.json").write_text("{", "utf-8")
    ask(tmp_path, "does the floppy thing", found=False)
    assert [one.text for one in kept(tmp_path)] == ["does the floppy thing"]
