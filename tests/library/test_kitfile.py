"""A kit list is read, or refused with the line and the nearest word that would do."""

from pathlib import Path

import pytest

from kb.errors import FileUnusable
from kb.library import load_collection
from kb.library.kitfile import KitFile, read_kit
from tests.support import SMALL

EQUIPMENT = load_collection(SMALL).vocabulary.equipment


def read(folder: Path, text: str) -> KitFile:
    """Read a kit list with this text."""
    path = folder / "kit.yaml"
    path.write_text(text, "utf-8")
    return read_kit(path, EQUIPMENT)


def test_pieces_of_different_sizes_are_counted_together(tmp_path: Path) -> None:
    """Two lines of one piece add up, and a line without a count is one piece."""
    kit = read(
        tmp_path, "club: Test\nitems:\n- {item: block, count: 2}\n- {item: block, cm: [90, 60, 25]}\n- {item: tape}\n"
    )
    assert kit.counts() == {"block": 3, "tape": 1}
    assert kit.club == "Test"


WRONG = {
    "": "1: found nothing; needs a map with items, club",
    "items: []\nitem: []": "2: item: is not a field of this kind; nearest: items",
    "items:\n- {item: block, count: 0}": "2: items[0].count: found '0'; needs a whole number from 1 to 99",
    "items:\n- {item: block}\n- {item: blok}": "3: found 'blok', which the vocabulary does not have; nearest: block",
    "items:\n- {item: block, cm: [1, 2]}": "2: items[0].cm: found a list of 2; needs a list of 3 entries",
    "items: *a": "1: is not valid YAML here (found undefined alias). "
    "Put quotes round text with ': ' or special characters, and check the indentation.",
}


@pytest.mark.parametrize("text", WRONG)
def test_a_wrong_kit_list_is_refused_with_its_line(text: str, tmp_path: Path) -> None:
    """What is wrong is told with the line, what is allowed and the nearest word."""
    with pytest.raises(FileUnusable) as caught:
        read(tmp_path, text)
    assert str(caught.value) == f"{tmp_path / 'kit.yaml'}:{WRONG[text]}"


def test_a_file_that_cannot_be_read_is_refused(tmp_path: Path) -> None:
    """A missing file, a folder and a picture are refused in words."""
    (tmp_path / "picture").write_bytes(b"\x89PNG\xff")
    for name, says in (("none", "no such file"), (".", "cannot be read"), ("picture", "cannot be read as UTF-8")):
        with pytest.raises(FileUnusable, match=says):
            read_kit(tmp_path / name, EQUIPMENT)
