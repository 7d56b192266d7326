"""A new card: Enter to everything, pasted notes, what nobody may take for granted, twins, names that are taken."""

from pathlib import Path

import pytest

from kb.errors import FileUnusable, LibraryUnusable, UnknownName, UsageError
from kb.facade import Library, open_library
from kb.keep.draft import ASKED, OPTIONAL, free_id
from kb.library import load_collection

STEPS = "1. Front support on the low bar.\n2. Cast to the height of the beanbag.\n3. Come back with long arms."
KNOWN = {
    "title": "Beanbag on the ankles",
    "event": "bars",
    "seen": "bends her arms in the cast",
    "Do": STEPS,
    "spotting.grade": "watch",
    "equipment": "low bar, beanbag, 2 panel mats",
}


def test_what_only_she_can_know_is_enough(own: Path) -> None:
    """With title, steps, kit and words for the fault the rest is found, and the card passes every check."""
    library = open_library(own)
    draft = library.draft(KNOWN)
    assert [str(problem) for problem in draft.problems] == []
    path = library.write(draft)
    try:
        found = load_collection(own)
        card = found.cards["bars-beanbag-on-the-ankles"]
        assert [problem for problem in found.problems if problem.file == card.file] == []
        assert card.corrects[0].fault == "bars-cast-bent-arms"
        assert card.sections["Do"] == STEPS
        assert {"Fixes", "Say", "group.minutes", "load.on"} <= set(draft.filled)
        drills = library.ask("bends her arms in the cast", event="bars", top=40).drills
        assert card.id in [drill.id for drill in drills]
    finally:
        path.unlink()


@pytest.mark.parametrize("event", ["shapes", "vault", "bars", "beam", "floor"])
def test_enter_to_every_question(own: Path, event: str) -> None:
    """Title and steps alone make a card of any event that no rule between cards is broken by."""
    library = open_library(own)
    draft = library.draft({"title": "A drill of our own", "event": event, "Do": STEPS, "spotting.grade": "watch"})
    assert [str(problem) for problem in draft.problems] == []


def test_what_nobody_may_take_for_granted_stays_open(own: Path) -> None:
    """Steps and the places of a spotter's hands are never invented: the card is kept out and says so."""
    library = open_library(own)
    fields = {**KNOWN, "Do": "", "spotting.grade": "by-the-side"}
    draft = library.draft(fields)
    assert {problem.field for problem in draft.problems} == {"Do", "spotting.hands"}
    assert draft.kept_out
    path = library.write(draft)
    try:
        assert draft.id not in load_collection(own).cards
    finally:
        path.unlink()


def test_a_hands_on_drill_is_offered_twins(own: Path) -> None:
    """The card that does the same without a spotter is found, and it needs none."""
    library = open_library(own)
    fields = {
        **KNOWN,
        "spotting.grade": "hands-on",
        "spotting.hands": "Near hand at the shoulder, far hand at the thigh.",
    }
    draft = library.draft(fields)
    assert [str(problem) for problem in draft.problems] == []
    assert "no_spot_twin: bars-" in draft.text


def test_every_question_has_an_answer_or_may_stay_open(own: Path) -> None:
    """What is offered are words that the library knows."""
    library = open_library(own)
    for name in ASKED:
        suggestion = library.suggest(name, KNOWN)
        assert suggestion.ask
        assert suggestion.default or name in (*OPTIONAL, "spotting.hands", "no_spot_twin", "Do", "title"), name
        for choice in suggestion.choices:
            assert library.drafter.doubt(name, choice.value) == ""


@pytest.mark.parametrize(
    ("name", "text", "says"),
    [
        ("equipment", "2 panell mats", "panel-mat"),
        ("stage", "lowe", "low"),
        ("after", "bars-cast-to-stak", "the library does not have; nearest: bars-cast-to-stack"),
        ("corrects", "bars-cast-bent-arm/x", "bars-cast-bent-arms"),
    ],
)
def test_an_answer_that_is_unknown_is_doubted(own: Path, name: str, text: str, says: str) -> None:
    """At once, with the nearest that is known."""
    assert says in open_library(own).drafter.doubt(name, text)


def test_twins_are_shown(own: Path, starter: Library) -> None:
    """A card much like one that is there is told; every starter card by itself has none."""
    library = open_library(own)
    card = starter.card("bars-cast-to-stack")
    fields = {**KNOWN, "title": "Casting to the stack", "Do": card.sections["Do"], "Set up": card.sections["Set up"]}
    (twin, *_) = library.draft(fields).twins
    assert (twin.card, twin.alike, twin.likeness) == ("bars-cast-to-stack", "steps", 1.0)
    for other in starter.collection.cards.values():
        assert library.drafter.finder.twins(other.title, other.sections, but=other.id) == ()


def test_nothing_is_overwritten(own: Path) -> None:
    """A name that is taken gets a number; one that is given is refused, also when it was taken meanwhile."""
    library = open_library(own)
    taken = library.draft({**KNOWN, "title": "Cast to stack"})
    assert taken.file == "bars/bars-cast-to-stack-2.md"
    with pytest.raises(UsageError, match="not overwritten"):
        library.draft({**KNOWN, "id": "bars-cast-to-stack"})
    draft = library.draft({**KNOWN, "id": "bars-mine"})
    (own / draft.file).write_text("mine", "utf-8")
    try:
        with pytest.raises(FileUnusable, match="not overwritten"):
            library.write(draft)
        assert (own / draft.file).read_text("utf-8") == "mine"
    finally:
        (own / draft.file).unlink()


def test_names_are_made_of_titles() -> None:
    """Event first, plain letters, at most 80 characters."""
    assert free_id("bars", "Bars: kip & glide!", set()) == "bars-kip-glide"
    assert free_id("beam", "Größe", {"beam-gr-e"}) == "beam-gr-e-2"
    assert len(free_id("beam", "very " * 40, set())) <= 80


def test_pain_makes_no_drill(own: Path) -> None:
    """A sign to stop in the title or in what she sees ends it."""
    library = open_library(own)
    with pytest.raises(UsageError, match="sign to stop"):
        library.draft({**KNOWN, "seen": "her wrist hurts in the handstand"})
    with pytest.raises(UsageError, match="sign to stop"):
        library.suggest("corrects", {"title": "For sore backs: my back hurts"})


def test_wrong_calls(own: Path, starter: Library) -> None:
    """No title, an unknown event, an unknown field, the starter library."""
    library = open_library(own)
    with pytest.raises(UsageError, match="needs a title"):
        library.draft({"event": "bars"})
    with pytest.raises(UsageError, match="must be one of"):
        library.draft({**KNOWN, "event": "trampoline"})
    with pytest.raises(UnknownName, match=r"spotting\.hands"):
        library.draft({**KNOWN, "spoting.hands": "x"})
    with pytest.raises(LibraryUnusable, match="drillkb club"):
        starter.write(starter.draft(KNOWN))
