"""The rules: each broken fixture is reported in full, each rule has one, and the good card passes them all."""

import shutil
from pathlib import Path

import msgspec
import pytest
import yaml

from kb.library import Collection, checks, load_collection
from kb.library.checks import CARD_RULES, LINK_RULES, rises
from kb.model import Demand
from tests.support import FIXTURES, small_library

CARDS = FIXTURES / "cards"
READER = {"fields", "folder", "headings", "file", "vocabulary"}
"""Parts of the reader that have broken fixtures too, beside the rules."""


class Case(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One broken file and everything that must be said about it."""

    file: str
    rule: str
    says: list[str]
    folder: str = "vault"


CASES = msgspec.convert(yaml.safe_load((CARDS / "expected.yaml").read_text("utf-8")), list[Case])
RULES = [rule.__name__ for rule in (*CARD_RULES, *LINK_RULES)]


def with_file(library: Path, name: str, folder: str = "vault") -> Collection:
    """Drop a fixture into a library and read it."""
    (library / folder).mkdir(parents=True, exist_ok=True)
    shutil.copy(CARDS / name, library / folder / name)
    return load_collection(library)


def with_change(library: Path, changes: dict[str, str], name: str = "changed") -> Collection:
    """Drop the good card, with some words changed, into a library and read it."""
    text = (CARDS / "good.md").read_text("utf-8")
    for old, new in changes.items():
        assert old in text
        text = text.replace(old, new)
    (library / "vault" / f"{name}.md").write_text(text, "utf-8")
    return load_collection(library)


def only(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Leave one rule in the registries."""
    for registry in ("CARD_RULES", "LINK_RULES"):
        monkeypatch.setattr(checks, registry, tuple(r for r in getattr(checks, registry) if r.__name__ == name))


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.file)
def test_a_broken_file_is_reported_with_file_line_field_and_remedy(case: Case, tmp_path: Path) -> None:
    """The expected problems are found, in the expected words, and no others."""
    found = with_file(small_library(tmp_path), case.file, case.folder)
    assert [str(problem) for problem in found.problems] == case.says
    assert len(found.cards) == 7 + (case.rule in [rule.__name__ for rule in LINK_RULES])


def test_every_rule_has_a_broken_fixture() -> None:
    """A rule without a fixture that breaks it does not count as working."""
    assert {case.rule for case in CASES} == {*RULES, *READER, "first_cards"}


def test_every_fixture_is_expected() -> None:
    """No file lies among the fixtures that no test reads."""
    assert {case.file for case in CASES} | {"good.md", "expected.yaml"} == {path.name for path in CARDS.iterdir()}


@pytest.mark.parametrize("case", [c for c in CASES if c.rule in RULES], ids=lambda case: case.file)
def test_a_fixture_breaks_the_rule_that_it_names(case: Case, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The rule alone says everything that is wrong with its fixture."""
    only(case.rule, monkeypatch)
    found = with_file(small_library(tmp_path), case.file, case.folder)
    assert [str(problem) for problem in found.problems] == case.says


@pytest.mark.parametrize("name", RULES)
def test_the_good_cards_pass_each_rule(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No rule by itself finds fault with the good card or with the small library."""
    only(name, monkeypatch)
    found = with_file(small_library(tmp_path), "good.md")
    assert found.problems == ()
    assert len(found.cards) == 8


ALLOWED: dict[str, dict[str, str]] = {
    "one level": {"level: 3-4": "level: 4"},
    "range of one": {"level: 3-4": "level: 3-3"},
    "highest level": {"level: 3-4": "level: 5"},
    "11 landings without a cap": {"landings: 0": "landings: 1", "reps: 5": "reps: 11"},
    "12 landings with a cap": {"landings: 0": "landings: 2", "reps: 5": "reps: 6", "sources": "cap: 6\nsources"},
    "heavy wrists with a cap": {"wrists: medium": "wrists: high", "sources": "cap: 5\nsources"},
    "hands-on with a twin": {"by-the-side": "hands-on", "sources": "no_spot_twin: vault-kick-to-pile\nsources"},
    "hands off, no spotter": {"by-the-side": "watch", "Near hand": "No hand", "spotters: 1": "spotters: 0"},
    "turning over on a firm mat": {"rotation: 1": "rotation: 2", "[vault-timber-fall]": "[vault-kick-to-pile]",
                                   "on: back": "on: hands", "item: soft-mat": "item: panel-mat"},
    "curly quotes": {'"Long legs."': "“Long legs.”", '"Squeeze and tip."': "“Squeeze and tip.”"},
    "stars as bullets": {"- One child": "* One child", "- Stop": "* stop"},
    "no prerequisite, lowest stage": {"[vault-timber-fall]": "[]", "stage: low": "stage: floor"},
    "one stage up": {"stage: low": "stage: floor-moving"},
    "some other prerequisite is near enough": {"[vault-timber-fall]": "[shapes-book-hollow, vault-timber-fall]"},
    "no demand given": {"demand: {height: 0, speed: 1, rotation: 1}\n": ""},
    "stand-in of the card": {"instead: [landing-mat]": "instead: [soft-mat, tape]"},
    "text in German": {"Walk the wall and tip": "Rücken an die Wand – kippen"},
}  # fmt: skip


@pytest.mark.parametrize("name", ALLOWED)
def test_what_a_coach_may_write_is_let_through(name: str, tmp_path: Path) -> None:
    """Cards on the right side of every limit have no problem."""
    found = with_change(small_library(tmp_path), ALLOWED[name])
    assert [str(problem) for problem in found.problems] == []
    assert "changed" in found.cards


def test_unsafe_cards_are_kept_out_and_loose_links_are_not(tmp_path: Path) -> None:
    """A card without a soft landing is not shown; a card whose prerequisite is missing is; both are reported."""
    library = small_library(tmp_path)
    with_file(library, "soft-landing-back.md")
    found = with_file(library, "links-prerequisite.md")
    assert "soft-landing-back" not in found.cards
    assert "links-prerequisite" in found.cards
    assert [problem.keeps_out for problem in found.problems] == [False, True]
    assert not any(problem.warning for problem in found.problems)


def test_a_link_to_a_card_that_is_kept_out_is_reported(tmp_path: Path) -> None:
    """When a broken card is left out, the cards that lead to it say so, and so do the faults."""
    library = small_library(tmp_path)
    path = library / "vault" / "vault-timber-fall.md"
    path.write_text(path.read_text("utf-8").replace("level: 3-4", "level: 4-3"), "utf-8")
    said = [str(problem) for problem in load_collection(library).problems]
    assert [text.split(" ")[0] for text in said] == [
        "vault/vault-kick-to-pile.md:8:",
        "vault/vault-kick-to-pile.md:8:",
        "vault/vault-timber-fall.md:4:",
        "vocabulary/faults/vault.yaml:1:",
    ]


def test_every_card_of_a_circle_is_told(tmp_path: Path) -> None:
    """Three cards that wait for each other are all reported, and none is lost."""
    library = small_library(tmp_path)
    for name, after in (("ring-a", "ring-c"), ("ring-b", "ring-a"), ("ring-c", "ring-b")):
        found = with_change(library, {"[vault-timber-fall]": f"[vault-timber-fall, {after}]"}, name)
    assert [problem.field for problem in found.problems] == ["after[1]"] * 3
    assert all("circle" in problem.message for problem in found.problems)
    assert {"ring-a", "ring-b", "ring-c"} <= set(found.cards)
    circle = found.problems[0].message.split(": ")[1].split(";")[0]
    assert circle == "ring-a needs ring-c needs ring-b needs ring-a"
    waiting = with_change(library, {"[vault-timber-fall]": "[vault-timber-fall, ring-b]"}, "waiting")
    (told,) = [problem for problem in waiting.problems if problem.file == "vault/waiting.md"]
    assert told.message == "cannot be reached: ring-a, which comes before it, stands in a circle"


def test_a_club_may_leave_gaps_between_its_stages(tmp_path: Path) -> None:
    """A jump over a number that no stage has names the highest stage below."""
    library = small_library(tmp_path)
    (library / "vocabulary" / "club").mkdir()
    club = "- {id: on-the-beach, order: 12, name: On the beach, means: Outdoors.}\n"
    (library / "vocabulary" / "club" / "stages.yaml").write_text(club, "utf-8")
    found = with_change(library, {"stage: low": "stage: on-the-beach"})
    assert [problem.message for problem in found.problems] == [
        "jumps to 'on-the-beach'; name a card of stage 'full-with-run' to be ready on first"
    ]


def test_cards_are_read_even_when_no_level_is(tmp_path: Path) -> None:
    """Without levels every card is reported, and nothing stops."""
    library = small_library(tmp_path)
    (library / "vocabulary" / "levels.yaml").write_text("", "utf-8")
    found = load_collection(library)
    assert {problem.file for problem in found.problems if problem.field == "level"} == {
        path.relative_to(library).as_posix() for path in library.glob("*/*.md")
    }


STEPS = {  # before, now -> steps up of height, speed and rotation; going down does not count
    ((0, 0, 0), (0, 0, 0)): (0, 0, 0),
    ((0, 1, 2), (1, 1, 2)): (1, 0, 0),
    ((3, 3, 3), (0, 0, 0)): (0, 0, 0),
    ((0, 2, 1), (3, 0, 2)): (3, 0, 1),
}


@pytest.mark.parametrize(("before", "now"), STEPS)
def test_rises(before: tuple[int, int, int], now: tuple[int, int, int]) -> None:
    """Only what goes up is counted, in steps."""
    assert rises(Demand(*before), Demand(*now)) == STEPS[before, now]
