"""What a coach types and what a cell holds mean what she meant."""

from typing import Any

import pytest

from kb.facade import Library
from kb.keep.fields import all_fields, card_fields, level, tidy, value, values
from kb.model import SECTIONS, FrontMatter

LEVELS = [
    ("4", 4),
    ("3-5", "3-5"),
    ("5-3", "3-5"),
    ("Level 4", 4),
    ("levels 3 to 5", "3-5"),
    ("L3-L5", "3-5"),
    ("3, 4, 5", "3-5"),
    ("3–5", "3-5"),
    ("2026-05-03 00:00:00", "3-5"),  # what a spreadsheet makes of 3-5
    ("05-Mar", "3-5"),
    ("May 3", "3-5"),
    ("beginners", "beginners"),
    ("12-year-olds 3", "12-year-olds 3"),
]


@pytest.mark.parametrize(("text", "means"), LEVELS)
def test_levels(text: str, means: int | str) -> None:
    """In all the ways in which a level is written; what is none stays, so that `check` names it."""
    assert level(text) == means


KIT: list[tuple[str, list[tuple[str, int, list[str]]]]] = [
    ("2 soft mats, block", [("soft-mat", 2, []), ("block", 1, [])]),
    ("2 x crash mat; 1 springboard", [("soft-mat", 2, []), ("board", 1, [])]),
    ("two fat mats and a panel mat", [("soft-mat", 2, []), ("panel-mat", 1, [])]),
    ("2 soft-mat (or landing-mat, panel mat)", [("soft-mat", 2, ["landing-mat", "panel-mat"])]),
    ("block (instead: panel-mat)\n3 × tape", [("block", 1, ["panel-mat"]), ("tape", 3, [])]),
    ("none", []),
    ("", []),
    ("jelly", [("jelly", 1, [])]),
]


@pytest.mark.parametrize(("text", "pieces"), KIT)
def test_kit(small: Library, text: str, pieces: list[tuple[str, int, list[str]]]) -> None:
    """Pieces by id, name and alias, with numbers and stand-ins."""
    found = value("equipment", text, small.collection.vocabulary)
    assert [(one["item"], one["count"], one.get("instead", [])) for one in found] == pieces


WORDS: list[tuple[str, str, Any]] = [
    ("event", "VAULT", "vault"),
    ("stage", "Moving on the floor", "floor-moving"),
    ("skills", "kick to flat back; Tight body", ["flat-back", "tight-body"]),
    ("corrects", "Folds before she lands/body-soft", [("vault-folds-on-landing", "body-soft", 3)]),
    (
        "corrects",
        "vault-folds-on-landing/body-soft/2; vault-folds-on-landing/She is afraid of landing on her back",
        [("vault-folds-on-landing", "body-soft", 2), ("vault-folds-on-landing", "afraid-of-back", 2)],
    ),
    ("cap", "12", 12),
    ("cap", "many", "many"),
    ("spotting.spotters", "1", 1),
    ("ready_when", "Three\n in a row.", "Three in a row."),
]


@pytest.mark.parametrize(("name", "text", "means"), WORDS)
def test_words(small: Library, name: str, text: str, means: Any) -> None:
    """Names of the vocabulary are read by id, name or other name; numbers are numbers."""
    found = value(name, text, small.collection.vocabulary)
    if name == "corrects":
        found = [(use["fault"], use["cause"], use["weight"]) for use in found]
    assert found == means


def test_every_field_of_the_model_is_a_column() -> None:
    """No field of a card is lost in a table."""
    outer = {name.partition(".")[0] for name in all_fields()}
    assert outer == {"id", *FrontMatter.__struct_fields__, *SECTIONS}


def test_a_card_survives_being_text(starter: Library) -> None:
    """The fields of every starter card, read back, are the card."""
    import msgspec

    words = starter.collection.vocabulary
    for card in starter.collection.cards.values():
        fields = card_fields(card)
        front, sections = values(fields, words)
        assert sections == card.sections
        assert msgspec.convert(front, FrontMatter) == msgspec.convert(
            {name: held for name, held in msgspec.to_builtins(card).items() if name not in ("id", "file", "sections")},
            FrontMatter,
        )
        tidied = tidy(fields, words)
        assert {name: tidied[name] for name in tidied} == {name: held for name, held in fields.items() if held}


def test_a_section_makes_no_heading(small: Library) -> None:
    """Marks of headings in a cell are taken out, since a card has its own."""
    del small
    _, sections = values({"Do": "# Steps\r\nStand.\n---\n## Set up\nWalk."}, _NO_WORDS)
    assert sections == {"Do": "Steps\nStand.\nSet up\nWalk."}


@pytest.mark.parametrize(
    ("name", "text", "shape"),
    [
        ("Say", "Tall; slow", '- "Tall"\n- "slow"'),
        ("Say", 'Shout "Tall!" and "Wait."', '- "Tall!"\n- "Wait."'),
        ("Say", '- "Tall"', '- "Tall"'),
        ("Keep safe", "One at a time. Stop when afraid.", "- One at a time.\n- Stop when afraid."),
        ("Do", "Stand. Walk.", "Stand. Walk."),
    ],
)
def test_cues_and_cautions_become_bullets(name: str, text: str, shape: str) -> None:
    """As a card has them, when they were written as plain lines."""
    _, sections = values({name: text}, _NO_WORDS)
    assert sections == {name: shape}


_NO_WORDS: Any = None
