"""Pasted notes in the forms in which coaches keep them."""

from pathlib import Path

import pytest

from kb.facade import Library

NOTES: dict[str, tuple[str, dict[str, str]]] = {
    "sentences": (
        "Wall bridge walks. For level 4. Two panel mats at the wall. She kicks to handstand facing the wall. "
        'She holds for five counts. "Push the floor away." 6 minutes, 5 reps.',
        {
            "title": "Wall bridge walks",
            "level": "4",
            "equipment": "1 wall; 2 panel-mat",
            "Set up": "Two panel mats at the wall.",
            "Do": "1. She kicks to handstand facing the wall.\n2. She holds for five counts.",
            "Say": '- "Push the floor away."',
            "group.minutes": "6",
            "group.reps": "5",
        },
    ),
    "labels": (
        "Drill: Beanbag kip\nEvent: bars\nLevels: 4-6\nKit: low bar, beanbag\n\nSet up: Bag behind her heels.\n"
        'Steps:\n1. Glide.\n2. Heels to the bar.\n\nCoaching points:\n- "Long arms."\nSafety: Stop when grip slips.',
        {
            "title": "Beanbag kip",
            "event": "bars",
            "level": "4-6",
            "equipment": "low bar, beanbag",
            "Set up": "Bag behind her heels.",
            "Do": "1. Glide.\n2. Heels to the bar.",
            "Say": '- "Long arms."',
            "Keep safe": "Stop when grip slips.",
        },
    ),
    "Markdown": (
        "# Tall fall\n\n**Equipment:** 2 soft mats\n## Setup\nMats in a stack.\n## How to\n1. Stand tall.\n2. Fall.",
        {"title": "Tall fall", "Set up": "Mats in a stack.", "Do": "1. Stand tall.\n2. Fall."},
    ),
    "numbered": (
        "Stick drop\n1) Stand on the block\n2) Step off\n3) Stick it\nL3 to L5",
        {"title": "Stick drop", "level": "3-5", "Do": "1. Stand on the block\n2. Step off\n3. Stick it"},
    ),
    "one line": ("Tall fall", {"title": "Tall fall"}),
}


@pytest.mark.parametrize("name", NOTES)
def test_a_note_is_read(starter: Library, name: str) -> None:
    """Title, limits, kit, set-up, steps and cues land in their fields."""
    text, expected = NOTES[name]
    found = starter.note(text)
    assert {field: found.get(field) for field in expected} == expected
    assert found["noted"]


def test_a_whole_card_is_read_whole(starter: Library) -> None:
    """A card that is pasted gives all its fields, whatever its event."""
    from kb.keep.fields import card_fields

    for card in list(starter.collection.cards.values())[::40]:
        text = (starter.folder / card.file).read_text("utf-8")
        fields = card_fields(card)
        assert starter.note(text) == {name: held for name, held in fields.items() if held and name != "id"}


@pytest.mark.parametrize("text", ["", "\n\n", "---", "---\ntitle: x\n---", ":", "::::\n\x00", "x" * 30_000, "1.\n2.\n"])
def test_any_text_is_survived(starter: Library, text: str, tmp_path: Path) -> None:
    """Whatever is pasted gives some fields or none."""
    del tmp_path
    assert isinstance(starter.note(text), dict)
