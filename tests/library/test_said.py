"""The lists of ways faults are said: read in order, and every line that is wrong is told with its number."""

from pathlib import Path

import pytest

from kb.library import load_collection
from tests.support import small_library

HEAD = "fault\tvoice\tauthor\ttext\n"
GOOD = "vault-folds-on-landing\tparent\t7\tshe goes in half like a book\n"


def read(tmp_path: Path, text: str, folder: str = "said") -> tuple[dict[str, list[str]], list[str]]:
    """Return what is said of each fault and the problems, for one list."""
    library = small_library(tmp_path)
    (library / "vocabulary" / folder).mkdir(parents=True)
    (library / "vocabulary" / folder / "vault.tsv").write_text(text, "utf-8")
    found = load_collection(library)
    return {fault: [said.text for said in all_of] for fault, all_of in found.said.items()}, [
        str(p) for p in found.problems
    ]


@pytest.mark.parametrize("folder", ["said", "club/said"])
def test_a_good_line_is_read(folder: str, tmp_path: Path) -> None:
    """With its fault; the club's own lists are read too, with or without a mark at the start of the file."""
    said, problems = read(tmp_path, "\ufeff" + HEAD + GOOD + "\n", folder)
    assert said == {"vault-folds-on-landing": ["she goes in half like a book"]}
    assert problems == []


BAD = {
    "no such fault": ("vault-flies\tparent\t7\tshe flies\n", "2: fault: found 'vault-flies'"),
    "a column missing": ("vault-folds-on-landing\tshe folds\n", "2: found 2 columns, must be 4"),
    "author is no number": ("vault-folds-on-landing\tparent\tme\tshe folds\n", "2: author: found 'me'"),
    "no words": ("vault-folds-on-landing\tparent\t7\t \n", "2: text: found 0 characters"),
    "far too long": (f"vault-folds-on-landing\tparent\t7\t{'a' * 301}\n", "2: text: found 301 characters"),
}


@pytest.mark.parametrize("name", BAD)
def test_a_bad_line_is_told_and_the_others_are_read(name: str, tmp_path: Path) -> None:
    """File, line, what was found; the good line after it still counts."""
    line, message = BAD[name]
    said, problems = read(tmp_path, HEAD + line + GOOD)
    assert said == {"vault-folds-on-landing": ["she goes in half like a book"]}
    assert len(problems) == 1
    assert problems[0].startswith(f"vocabulary/said/vault.tsv:{message}")


@pytest.mark.parametrize("text", ["", GOOD, "text\tfault\n"])
def test_the_columns_must_be_named(text: str, tmp_path: Path) -> None:
    """A list without its head is not guessed at."""
    said, problems = read(tmp_path, text)
    assert said == {}
    assert "the first line must name the columns" in problems[0]


def test_a_file_in_another_encoding_is_told(tmp_path: Path) -> None:
    """One sentence, and the library is read without it."""
    library = small_library(tmp_path)
    (library / "vocabulary" / "said").mkdir()
    (library / "vocabulary" / "said" / "vault.tsv").write_bytes((HEAD + GOOD).encode("utf-16"))
    found = load_collection(library)
    assert len(found.cards) > 0
    assert "UTF-8" in str(found.problems[0])
