"""The vocabulary: the starter's lists and the club's join, and whatever is wrong is told without stopping the rest."""

import shutil
from pathlib import Path

import pytest

from kb.errors import LibraryUnusable
from kb.library.vocabulary import LISTS, VocabularyReader, unknown_word
from kb.model import Vocabulary
from tests.support import SMALL, small_library

FILES = sorted(path.relative_to(SMALL / "vocabulary").as_posix() for path in (SMALL / "vocabulary").rglob("*.yaml"))


def read(library: Path) -> tuple[Vocabulary, list[str]]:
    """Return the vocabulary and what is said of it."""
    reader = VocabularyReader(library)
    return reader.read(), [str(problem) for problem in reader.problems]


def club(library: Path, name: str, text: str) -> Path:
    """Write one file of the club."""
    path = library / "vocabulary" / "club" / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, "utf-8")
    return path


def test_the_small_vocabulary_has_nothing_wrong() -> None:
    """Every list is there, in the order of its file."""
    words, said = read(SMALL)
    assert said == []
    assert list(words.events) == ["shapes", "vault"]
    assert list(words.levels) == [3, 4, 5]
    assert [stage.order for stage in words.stages.values()] == [1, 2, 3, 4, 5, 6]
    assert list(words.faults) == ["shapes-middle-sags", "vault-folds-on-landing", "vault-slow-board"]
    assert [step.value for step in words.demand["speed"]] == [0, 1, 2, 3]
    assert words.equipment["soft-mat"].cm == (240, 150, 20)


CLUB = {
    "events.yaml": ("events", "- {id: hoop, name: Hoop, short: hoop, phases: [mind]}"),
    "levels.yaml": ("levels", "- {id: 8, name: Level 8, ages: 11-15}"),
    "stages.yaml": ("stages", "- {id: beach, order: 7, name: Beach, means: Outdoors.}"),
    "spotting.yaml": ("spotting", "- {id: belt, order: 4, name: Belt, means: In a belt.}"),
    "skills.yaml": ("skills", "- {id: kick-up, event: vault, name: Kick up, aka: [], level: 3}"),
    "deductions.yaml": ("deductions", "- {id: d, points: '0.10', what: w, rule_set: r, edition: e, grade: M}"),
    "cautions.yaml": ("cautions", "- {id: fever, name: Fever, say: Go home., source: test, patterns: [fever]}"),
    "equipment.yaml": (
        "equipment",
        "- {id: pit, name: Pit, kind: mat, aliases: [], cm: [9, 9, 9], "
        "stackable: false, firm: false, lands: back, source: s}",
    ),
    "faults/own.yaml": (
        "faults",
        "- {id: vault-late, event: vault, skills: [flat-back], phase: support, name: Late, looks_like: Late.,\n"
        "   heard_as: [a, b, c, d, e, f, g, h],\n"
        "   causes: [{id: a, name: A, tell: t, first: []}, {id: b, name: B, tell: t, first: []}]}",
    ),
}


def test_there_is_a_club_example_for_every_list() -> None:
    """A list that the club cannot add to would go unnoticed."""
    assert {name for name, _ in CLUB.values()} == {*LISTS, "faults"}


@pytest.mark.parametrize("file", CLUB)
def test_what_the_club_adds_joins(file: str, tmp_path: Path) -> None:
    """An entry in vocabulary/club/ stands after those of the starter, and none of the starter's is lost."""
    library = small_library(tmp_path)
    name, text = CLUB[file]
    before = list(getattr(read(library)[0], name))
    club(library, file, text)
    words, said = read(library)
    assert said == []
    assert list(getattr(words, name))[:-1] == before


def test_a_club_word_may_be_used_by_another_club_word(tmp_path: Path) -> None:
    """A club's own skill may belong to the club's own event."""
    library = small_library(tmp_path)
    club(library, "events.yaml", CLUB["events.yaml"][1])
    club(library, "skills.yaml", "- {id: hoop-jump, event: hoop, name: Hoop jump, aka: [], level: 3}")
    assert read(library)[1] == []


NAMES = ("event", "name", "aka", "level")
WRONG = {  # file of the club, its text -> what is said
    ("events.yaml", "- {id: vault, name: V, short: v, phases: []}"): [
        "vocabulary/club/events.yaml: vault: stands twice in events; rename or remove one of the two"
    ],
    ("skills.yaml", "- {id: hop, event: vualt, name: Hop, aka: [], level: 3}"): [
        "vocabulary/club/skills.yaml:1: hop.event: found 'vualt', which the vocabulary does not have; nearest: vault"
    ],
    ("skills.yaml", "- {id: hop, event: vault, name: Hop, aka: none, level: 3}\n- {id: hip}"): [
        "vocabulary/club/skills.yaml:1: [0].aka: found 'none'; needs a list",
        *(f"vocabulary/club/skills.yaml:2: [1].{f}: is missing; it is required" for f in NAMES),
    ],
    ("equipment.yaml", CLUB["equipment.yaml"][1].replace("}", ", instead: [soft-mta]}")): [
        "vocabulary/club/equipment.yaml:1: pit.instead: found 'soft-mta', "
        "which the vocabulary does not have; nearest: soft-mat"
    ],
    ("cautions.yaml", "- {id: fever, name: F, say: S., source: s, patterns: ['(fever', hot]}"): [
        "vocabulary/club/cautions.yaml:1: fever.patterns: found '(fever', which is no regular expression "
        "(missing ), unterminated subpattern at position 0); nothing is heard by it",
    ],
    ("levels.yaml", "a: 1"): ["vocabulary/club/levels.yaml:1: must be a list: each entry begins with '- '"],
    ("levels.yaml", ""): ["vocabulary/club/levels.yaml:1: must be a list: each entry begins with '- '"],
    ("stages.yaml", "- id: a\n  order: 1\n  name: *b\n"): [
        "vocabulary/club/stages.yaml:3: is not valid YAML here (found undefined alias). "
        "Put quotes round text with ': ' or special characters, and check the indentation."
    ],
}  # fmt: skip


@pytest.mark.parametrize(("file", "text"), WRONG)
def test_what_is_wrong_in_a_club_file_is_told(file: str, text: str, tmp_path: Path) -> None:
    """A mistake in a club's file is told with file, line and entry, and the starter's words go on working."""
    library = small_library(tmp_path)
    club(library, file, text)
    words, said = read(library)
    assert said == WRONG[file, text]
    assert set(words.events) >= {"shapes", "vault"}


def test_a_caution_keeps_the_patterns_that_work(tmp_path: Path) -> None:
    """One bad pattern does not silence the other signs of its caution."""
    library = small_library(tmp_path)
    club(library, "cautions.yaml", "- {id: fever, name: F, say: S., source: s, patterns: ['(fever', hot]}")
    assert read(library)[0].cautions["fever"].patterns == ("hot",)


@pytest.mark.parametrize("file", [name for name in FILES if name != "events.yaml"])
@pytest.mark.parametrize(
    "content",
    [b"", b"- [", b"a: b", b"5", b"\xff\xfe\x00", b"- {id: \xe4}", b"- - -", b"- null", b"- {}", b"- {id: [1]}", None],
    ids=str,
)
def test_any_broken_or_missing_file_is_told_and_stops_nothing(file: str, content: bytes | None, tmp_path: Path) -> None:
    """Whichever file is damaged or gone, a problem names it, and the events are still there."""
    library = small_library(tmp_path)
    path = library / "vocabulary" / file
    path.unlink()
    if content is not None:
        path.write_bytes(content)
    words, said = read(library)
    named = [text for text in said if text.startswith(f"vocabulary/{file}")]
    assert named or (content is None and file.startswith("faults/"))  # there may be any number of fault files
    assert list(words.events) == ["shapes", "vault"]


@pytest.mark.parametrize("start", ["", "\ufeff"], ids=["plain", "BOM"])
@pytest.mark.parametrize("break_", ["\n", "\r\n", "\r"], ids=["LF", "CRLF", "CR"])
def test_lines_are_those_of_the_editor(start: str, break_: str, tmp_path: Path) -> None:
    """Windows line endings and a byte order mark leave the line of a problem where it is."""
    library = small_library(tmp_path)
    entry = "- {{id: {}, event: {}, name: Hop, aka: [], level: 3}}\n"
    text = "# own skills\n" + entry.format("hop", "vault") + entry.format("hip", "vaullt")
    path = club(library, "skills.yaml", "")
    path.write_bytes((start + text.replace("\n", break_)).encode())
    assert [said.split(": ")[0] for said in read(library)[1]] == ["vocabulary/club/skills.yaml:3"]


def test_a_folder_without_events_is_no_library(tmp_path: Path) -> None:
    """A folder that has no vocabulary/events.yaml is refused with the reason."""
    shutil.copytree(SMALL / "vault", tmp_path / "vault")
    with pytest.raises(LibraryUnusable, match=r"no vocabulary/events\.yaml"):
        read(tmp_path)


def test_each_word_knows_where_it_stands() -> None:
    """A word leads to its file and line; a word that is nowhere leads to the folder."""
    reader = VocabularyReader(SMALL)
    reader.read()
    assert reader.place("Event", "vault") == ("vocabulary/events.yaml", 3)
    assert reader.place("Fault", "vault-slow-board") == ("vocabulary/faults/vault.yaml", 26)
    assert reader.place("Event", "trampoline") == ("vocabulary", 0)


def test_an_unknown_word_is_told_the_nearest_or_all() -> None:
    """A near miss gets the near ones; a far one gets all of a short list and none of a long one."""
    assert unknown_word("lowe", ["low", "full"]).endswith("nearest: low")
    assert unknown_word("xyz", ["low", "full"]).endswith("there are low, full")
    assert unknown_word("xyz", range(3)).endswith("there are 0, 1, 2")
    assert unknown_word("xyz", [f"word-{n}" for n in range(15)]).endswith("does not have")
    assert unknown_word("xyz", []).endswith("does not have; there are none")
