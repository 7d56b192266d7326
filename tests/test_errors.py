"""Errors: one root, the tree as it is drawn, the exit codes that scripts rely on, and sentences that say what to do."""

import inspect
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb import errors
from kb.errors import (
    DrillkbError,
    EncoderUnusable,
    FileUnusable,
    IndexUnusable,
    LibraryUnusable,
    OutOfRange,
    PersonNamed,
    SheetUnprintable,
    UnknownName,
    nearest,
)

KINDS: list[type[DrillkbError]] = [
    kind for kind in vars(errors).values() if inspect.isclass(kind) and issubclass(kind, DrillkbError)
]
DRAWN = re.compile(r"^(?P<bars>[│├└─ ]*)(?P<name>[A-Z]\w+) +(?:exit (?P<code>\d))?", re.M)


def test_the_tree_is_the_one_that_is_drawn() -> None:
    """Every error stands in the drawing, under its parent and with its exit code, and nothing else does."""
    drawn: dict[str, tuple[str, int]] = {}
    above: list[tuple[str, int]] = [("Exception", 0)]
    for match in DRAWN.finditer((errors.__doc__ or "").split("\n\n", 1)[1]):
        depth = len(match["bars"]) // 4
        parent, code = above[depth]
        drawn[match["name"]] = (parent, int(match["code"] or code))
        above[depth + 1 :] = [(match["name"], drawn[match["name"]][1])]
    assert drawn == {kind.__name__: (kind.__mro__[1].__name__, kind.exit_code) for kind in KINDS}


def test_there_is_one_root() -> None:
    """Who catches the root catches every exception of the module."""
    own = [kind for kind in vars(errors).values() if inspect.isclass(kind) and issubclass(kind, Exception)]
    assert own == KINDS
    assert DrillkbError.__base__ is Exception


SENTENCES: list[tuple[DrillkbError, str]] = [
    (
        UnknownName("event", ["valt"], ["vault", "bars", "beam"]),
        "No event is called 'valt' (nearest: vault).",
    ),
    (
        UnknownName("event", ["xyz"], ["vault", "bars"]),
        "No event is called 'xyz' (there are: bars, vault).",
    ),
    (
        UnknownName("piece of kit", ["xyz"], [f"kit-{n}" for n in range(13)]),
        "No piece of kit is called 'xyz'.",
    ),
    (
        UnknownName("piece of kit", ["WEGDE", "mta", "?"], ["wedge", "mat"]),
        "No piece of kit is called 'WEGDE' (nearest: wedge); and none 'mta' (nearest: mat); "
        "and none '?' (there are: mat, wedge).",
    ),
    (OutOfRange("The level", 12, "a level from 1 to 7"), "The level is 12; it must be a level from 1 to 7."),
    (
        PersonNamed("note", "Lark Moor", "write her number."),
        "The note looks as if it names a person ('Lark Moor'); write her number.",
    ),
    (LibraryUnusable(Path("drills"), "is not a folder."), "drills: is not a folder."),
    (FileUnusable(Path("a/b.md"), 3, "gives 'a' twice."), "a/b.md:3: gives 'a' twice."),
    (FileUnusable("a/b.md", 0, "is not UTF-8 text."), "a/b.md: is not UTF-8 text."),
    (IndexUnusable("x.db", "it is damaged."), "The index at x.db cannot be used: it is damaged."),
    (
        SheetUnprintable("no such font"),
        "The sheet cannot be set as PDF (no such font); write it as .html and print that.",
    ),
    (EncoderUnusable("e.onnx", "it is missing."), "The encoder at e.onnx cannot be used: it is missing."),
]


@pytest.mark.parametrize(("error", "sentence"), SENTENCES)
def test_an_error_prints_as_one_sentence(error: DrillkbError, sentence: str) -> None:
    """What went wrong, where, and the nearest good name, in one line."""
    assert str(error) == sentence


def test_every_kind_that_is_raised_has_its_sentence_tested() -> None:
    """No error class is without an example above, but for the two that only group others."""
    assert {type(error).__name__ for error, _ in SENTENCES} == {k.__name__ for k in KINDS} - {
        "DrillkbError",
        "UsageError",
    }


def test_an_error_carries_its_data() -> None:
    """A program need not take the sentence apart."""
    unknown = UnknownName("event", ["valt", "xyz"], ["vault", "bars"])
    assert (unknown.kind, unknown.near) == ("event", {"valt": ["vault"], "xyz": []})
    number = OutOfRange("The level", 12, "a level from 1 to 7")
    assert (number.what, number.found, number.allowed) == ("The level", 12, "a level from 1 to 7")
    person = PersonNamed("note", "Lark Moor", "write her number.")
    assert (person.where, person.words) == ("note", "Lark Moor")
    file = FileUnusable(Path("a/b.md"), 3, "is bad.")
    assert (file.file, file.line, file.reason) == ("a/b.md", 3, "is bad.")
    folder = LibraryUnusable(Path("drills"), "is bad.")
    assert (folder.folder, folder.reason) == (Path("drills"), "is bad.")


NEAREST = [
    ("lowe", ["low", "full", "floor"], ["low"]),
    ("LOW", ["low", "full"], ["low"]),
    ("soft-matt", ["soft-mat-20", "soft-mat-10", "soft-mat", "wedge"], ["soft-mat", "soft-mat-20", "soft-mat-10"]),
    ("xyz", ["low", "full"], []),
    ("", ["low"], []),
    ("low", [], []),
]


@pytest.mark.parametrize(("name", "known", "expected"), NEAREST)
def test_the_nearest_names_come_best_first(name: str, known: list[str], expected: list[str]) -> None:
    """Up to three names that look alike, whatever the case of the letters."""
    assert nearest(name, known) == expected
    assert nearest(name, iter(known), 1) == expected[:1]


@given(st.text(max_size=30), st.sets(st.text(max_size=10), max_size=20))
def test_any_name_gets_an_answer(name: str, known: set[str]) -> None:
    """Whatever was typed, the near names are known ones and the sentence names what was typed."""
    near = nearest(name, known)
    assert set(near) <= known
    assert len(near) <= 3
    assert f"'{name}'" in str(UnknownName("card", [name], known))
