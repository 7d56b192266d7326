"""Holes are found: each kind is made in a small library by taking away what fills it, and told."""

from pathlib import Path

import pytest

from kb.facade import Library
from kb.keep.gaps import find_gaps, heard_wrongly
from kb.keep.inspect import judge
from kb.library import Collection, load_collection
from kb.library.files import card_files
from kb.model import Answer, Fault, FaultMatch, Question
from kb.model.keep import Gap
from tests.support import SMALL, small_library

FOLDS = "vault-folds-on-landing"


def change(folder: Path, old: str, new: str) -> None:
    """Change a text in all cards of a library."""
    for path in folder.glob("*/*.md"):
        path.write_text(path.read_text("utf-8").replace(old, new), "utf-8")


HOLES: dict[str, tuple[dict[str, str], Gap]] = {
    "no low stage": (
        {"stage: floor\n": "stage: full\n", "stage: floor-moving\n": "stage: full\n", "stage: low\n": "stage: full\n"},
        Gap("no low stage", "vault", FOLDS, "none of its 5 cards is of a low stage"),
    ),
    "level": (
        {"level: 3-": "level: 4-"},
        Gap("level", "vault", FOLDS, "no card for it is open at level 3, where a skill of it is usual"),
    ),
    "needs kit": (
        {"equipment:\n": "equipment:\n  - {item: block, count: 1}\n", "equipment: []": "equipment: [{item: block}]"},
        Gap("needs kit", "shapes", "shapes-middle-sags", "no card for it runs with mats and what every hall has"),
    ),
    "needs a spotter": (
        {
            "grade: watch": "grade: by-the-side",
            "grade: none-needed": "grade: by-the-side",
            "spotters: 0": "spotters: 1",
        },
        Gap("needs a spotter", "vault", FOLDS, "no card for it runs without a spotter"),
    ),
    "thin ladder": (
        {"skills: [flat-back]": "skills: [take-off]"},
        Gap("thin ladder", "vault", "flat-back", "has 1 rungs; 3 are the fewest"),
    ),
}


@pytest.mark.parametrize("name", HOLES)
def test_a_hole_that_is_made_is_found(tmp_path: Path, name: str) -> None:
    """It was not there before, and it is told in full."""
    changes, gap = HOLES[name]
    library = small_library(tmp_path)
    assert gap not in find_gaps(load_collection(library))
    for old, new in changes.items():
        change(library, old, new)
    # read without the rules that such a library breaks: what counts is what is missing in it
    assert gap in find_gaps(_as_read(library))


def _as_read(library: Path) -> Collection:
    """Return a collection with all cards, whatever rule they break."""
    words = load_collection(SMALL).vocabulary
    judged = [judge(path.read_text("utf-8"), f"{path.parent.name}/{path.name}", words) for path in card_files(library)]
    cards = {one.card.id: one.card for one in judged if one.card}
    assert len(cards) == 7
    return Collection(library, cards, words, {}, ())


def test_gaps_are_in_order() -> None:
    """By kind, event and name."""
    found = find_gaps(load_collection(SMALL))
    assert found == tuple(sorted(found))


def answer(fault: str) -> Answer:
    """Return an answer with one fault first, or with none."""
    faults = (FaultMatch(fault, "vault", fault, 1.0, ()),) if fault else ()
    verdict = "answered" if fault else "no_good_match"
    return Answer(Question("", ""), verdict, None, faults, (), (), 0.0)  # type: ignore[arg-type]


def test_words_that_lead_elsewhere_are_found() -> None:
    """Every way that brings another fault first, or none, and no other."""
    collection = load_collection(SMALL)
    home = {way: fault for fault in collection.vocabulary.faults.values() for way in fault.heard_as}

    def ask(text: str, _event: str) -> Answer:
        return answer({"folds like a deck chair": "vault-slow-board", "lands on her bum": ""}.get(text, home[text].id))

    told: list[tuple[int, int]] = []
    found = list(heard_wrongly(collection, ask, lambda done, of: told.append((done, of))))
    assert [one.message for one in found] == [
        '"lands on her bum" leads to no good match',
        '"folds like a deck chair" leads to vault-slow-board',
    ]
    assert all((one.kind, one.name) == ("heard wrongly", FOLDS) for one in found)
    assert told[-1] == (len(home), len(home))
    assert isinstance(next(iter(home.values())), Fault)


def test_a_stop_sign_among_the_words_of_a_fault_is_found(starter: Library) -> None:
    """The library itself is asked: words for pain lead to a stop sign and not to their fault."""
    from msgspec.structs import replace

    words = starter.collection.vocabulary
    fault = replace(
        words.faults["bars-cast-bent-arms"], heard_as=("bends her arms in the cast", "her elbow hurts in the cast")
    )
    collection = replace(starter.collection, vocabulary=replace(words, faults={fault.id: fault}))
    found = list(heard_wrongly(collection, lambda text, event: starter.ask(text, event=event, top=1)))
    assert [one.message for one in found] == ['"her elbow hurts in the cast" leads to a stop sign']
