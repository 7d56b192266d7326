"""What stands beside a drill, when a drill counts as not helping, and what a squad has mastered."""

import datetime

import pytest

from kb.log.tally import Uses, mastered
from kb.model.log import LogEntry, Result

DAY = datetime.date(2026, 3, 2)
SHORT: dict[str, Result] = {"h": "helped", "n": "no-change", "t": "too-hard", "m": "mastered"}


def log(*said: str) -> list[LogEntry]:
    """Make entries of one card: 'Slate hhn' is two that helped and one without a change, with Slate."""
    found: list[LogEntry] = []
    for words in said:
        group, results = words.rsplit(" ", 1) if " " in words else (None, words)
        child = None
        if group and group[-1].isdigit():
            group, number = group.rsplit(" ", 1)
            child = int(number)
        for letter in results:
            found.append(LogEntry(len(found) + 1, DAY, "a", SHORT[letter], group, child))
    return found


@pytest.mark.parametrize(
    ("said", "group", "text"),
    [
        (["Slate hhhn"], "Slate", "used 4 times with Slate, helped 3, no change 1"),
        (["Slate hhhh", "Amber t"], "slate", "used 4 times with Slate, helped 4"),
        (["Slate hh", "Amber t"], None, "used 3 times with Amber and Slate, helped 2, too hard 1"),
        (["Slate n"], None, "used once with Slate, helped 0, no change 1"),
        (["m"], None, "used once, mastered 1"),
        (["A h", "B h", "C h", "D h"], None, "used 4 times with 4 squads, helped 4"),
        (["Slate 4 ht", "Slate m"], "Slate", "used 3 times with Slate, helped 1, mastered 1, too hard 1"),
        (["Amber h"], "Slate", ""),
    ],
)
def test_what_is_said_beside_a_drill(said: list[str], group: str | None, text: str) -> None:
    """How often, with whom, and what came of it."""
    assert Uses(log(*said), group).of("a").text == text


@pytest.mark.parametrize(
    ("results", "not_helping"),
    [
        ("n", False),
        ("nn", True),
        ("nt", True),
        ("nh", False),
        ("nnh", True),
        ("nhh", False),
        ("tm", False),
        ("", False),
    ],
)
def test_once_is_chance_and_a_draw_is_no_verdict(results: str, not_helping: bool) -> None:
    """A drill did not help when it was used twice or more and mostly without good."""
    assert Uses(log(f"Slate {results}")).of("a").did_not_help == not_helping


def test_what_was_meant_for_another_fault_does_not_count() -> None:
    """Unless it was too hard, which it is whatever it was meant for."""
    said = [
        LogEntry(1, DAY, "a", "no-change", "Slate", fault="one"),
        LogEntry(2, DAY, "a", "helped", "Slate", fault="two"),
        LogEntry(3, DAY, "a", "too-hard", "Slate", fault="two"),
        LogEntry(4, DAY, "a", "helped", "Slate"),
    ]
    uses = Uses(said)
    assert uses.of("a", "one").text == "used 3 times with Slate, helped 1, no change 1, too hard 1"
    assert uses.of("a", "two").text == "used 3 times with Slate, helped 2, too hard 1"
    assert uses.of("a").counts.uses == 4


def test_one_squad_says_nothing_about_another() -> None:
    """What did not help Copper is not beaten by what helped Amber only."""
    bad, good = Uses(log("Copper nn")).of("a"), Uses(log("Amber hhh")).of("a")
    assert bad.beaten_by(good) == []
    assert bad.beaten_by(Uses(log("Amber hhh", "Copper h")).of("a")) == ["Copper"]
    assert Uses(log("nn")).of("a").beaten_by(Uses(log("h")).of("a")) == [""]


@pytest.mark.parametrize(
    ("said", "squad", "child_4"),
    [
        (["Slate m"], True, True),
        (["Slate 4 m"], False, True),
        (["Slate 5 m"], False, False),
        (["Slate mh"], True, True),
        (["Slate mt"], False, False),
        (["Slate m", "Slate 4 n"], True, False),
        (["Slate tm"], True, True),
        (["Amber m"], False, False),
        (["slate m"], True, True),
        (["Slate h"], False, False),
    ],
)
def test_mastered(said: list[str], squad: bool, child_4: bool) -> None:
    """Mastered by the squad counts for each child, by a child for her alone, and until it is too hard again."""
    assert mastered(log(*said), "Slate") == ({"a"} if squad else set())
    assert mastered(log(*said), "Slate", 4) == ({"a"} if child_4 else set())


def test_mastered_goes_by_the_day_not_by_the_order_of_writing() -> None:
    """A use that is written down late counts on its day."""
    said = [*log("Slate m"), LogEntry(2, DAY - datetime.timedelta(days=7), "a", "too-hard", "Slate")]
    assert mastered(said, "Slate") == {"a"}
