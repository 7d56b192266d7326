"""Stop-and-refer signs: caught in plain and in children's words, not fooled by the words of the trade."""

import csv
from pathlib import Path

import pytest

from kb.facade import Library
from kb.search.caution import stop_sign

# Sources of the signs: Concussion Recognition Tool 6 (2023) for head and neck; DiFiori 2006 for the wrist;
# J Fam Pract 2020;69(8):E1 for the back; joints: common practice, no source.
SIGNS = (
    ("she hit her head on the beam", "head-or-neck"),
    ("landed on her neck in the back handspring and now she is quiet", "head-or-neck"),
    ("seeing double after a fall", "head-or-neck"),
    ("she threw up after falling off the bar", "head-or-neck"),
    ("my neck hurts when I roll", "head-or-neck"),
    ("she passed out for a second", "head-or-neck"),
    ("her fingers are tingling in handstand", "numb-or-tingling"),
    ("can't feel her legs", "numb-or-tingling"),
    ("wrist pain when she does back handspring on floor level 5", "pain"),
    ("it hurts my back when I do bridges", "pain"),
    ("her ankle is swollen but she wants to vault", "joint"),
    ("heard a pop in her knee on landing", "joint"),
    ("I think she broke her arm", "joint"),
)
TRADE_WORDS = (
    "kills her block on the table",
    "head sticks out in the handstand",
    "her back is arched over the table",
    "pops off the table late",
    "painfully slow run",
    "no pop off the board",
    "throws her head back in the back hip circle",
    "breaks at the hips in the cast",
    "dead legs in the round-off",
    "snap down lands short",
    "cracks her shape in the air",
    "her knees knock together when she lands",
    "drops her head in the lever",
    "neck long and head in for the forward roll",
    "falls off the beam every time",
    "hits the board flat footed",
    "her toes are pointed but knees bent",
)


@pytest.mark.parametrize(("words", "sign"), SIGNS)
def test_signs_are_caught(starter: Library, words: str, sign: str) -> None:
    """The sign is named, with the words that are it, what to do and the source; there is no drill."""
    answer = starter.ask(words)
    assert answer.verdict == "stop_and_refer"
    assert answer.drills == ()
    assert answer.caution is not None
    assert answer.caution.id == sign
    assert answer.caution.heard in words.lower()
    assert answer.caution.say.startswith("Stop")
    assert answer.caution.source


@pytest.mark.parametrize("words", TRADE_WORDS)
def test_words_of_the_trade_are_no_sign(starter: Library, words: str) -> None:
    """A fault described in hard words is still a fault."""
    assert stop_sign((words,), starter.vocabulary) is None


@pytest.mark.parametrize("name", ["stop_signs.tsv", "stop_signs_2.tsv"])
def test_signs_of_the_tuning_sets(starter: Library, name: str) -> None:
    """Of the sentences that the patterns were bettered on nearly all come out right.

    Both files were written by people who had not seen the patterns, and were then used to better them: they guard what
    was reached and measure nothing. The judged questions measure.
    """
    path = Path(__file__).parents[1] / "fixtures" / name
    with path.open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file, delimiter="\t", quoting=csv.QUOTE_NONE))
    mend = starter.searcher.speller.mend
    found = {row["text"]: stop_sign((row["text"], mend(row["text"])[0]), starter.vocabulary) for row in rows}
    missed = [row["text"] for row in rows if row["sign"] != "none" and not found[row["text"]]]
    false = [row["text"] for row in rows if row["sign"] == "none" and found[row["text"]]]
    assert len(missed) <= 10, missed
    assert len(false) <= 3, false
