"""Answers: limits set drills aside with a reason, reasons come from the evidence, events in doubt are asked about."""

import json
from pathlib import Path

import pytest

from kb.facade import Library
from kb.library.files import starter_library
from kb.search import Limits, Searcher, ask

KIT = starter_library() / "kits" / "larkmoor.yaml"


def test_level_sets_aside_and_says_so(starter: Library) -> None:
    """No drill outside the level is listed; those that would have been are named with the reason."""
    answer = starter.ask("piking on vault landing", level=6, top=10)
    assert all(drill.level[0] <= 6 <= drill.level[1] for drill in answer.drills)
    assert answer.set_aside
    assert any("level" in item.reason for item in answer.set_aside)
    shown = {drill.id for drill in answer.drills}
    assert shown.isdisjoint(item.id for item in answer.set_aside)


def test_no_spotter_names_the_twin(starter: Library) -> None:
    """Without hands to spot, hands-on drills go aside and their twin is named where it fits."""
    answer = starter.ask("piking on vault landing", spotters=0, top=10)
    assert all(drill.spotting["spotters"] == 0 for drill in answer.drills)
    hands_on = [item for item in answer.set_aside if starter.card(item.id).spotting.grade == "hands-on"]
    assert hands_on
    assert all(item.instead == starter.card(item.id).no_spot_twin for item in hands_on)


def test_missing_kit_uses_a_stand_in_or_goes_aside(starter: Library) -> None:
    """A drill whose piece is missing says what stands in, or is set aside because nothing does."""
    everything = starter.ask("piking on vault landing", top=20)
    without = starter.ask("piking on vault landing", without=("soft-mat-30", "soft-mat-20", "soft-mat-10"), top=20)
    assert {d.id for d in without.drills} != {d.id for d in everything.drills}
    listed = [line for drill in without.drills for line in drill.equipment]
    assert not any(line.endswith(("soft mat 30 cm", "soft mat 20 cm", "soft mat 10 cm")) for line in listed)
    assert any("instead of" in line for line in listed) or any(
        "nothing you have" in i.reason for i in without.set_aside
    )


def test_a_kit_list_is_a_limit(starter: Library) -> None:
    """With the demo club's kit list only what it has, or what stands in for it, is used."""
    have = starter.kit(KIT)
    equipment = starter.vocabulary.equipment
    for drill in starter.ask("no tap in her swing on the high bar", have=have, top=10).drills:
        for piece in starter.card(drill.id).equipment:
            options = (piece.item, *piece.instead, *equipment[piece.item].instead)
            assert any(have.get(item, 0) >= piece.count or equipment[item].kind == "hall" for item in options)


def test_other_events_are_set_aside(starter: Library) -> None:
    """With an event given, drills are of that event or body shapes."""
    answer = starter.ask("short handstand", event="beam", top=10)
    assert {drill.event for drill in answer.drills} <= {"beam", "shapes"}


def test_reasons_change_with_the_evidence(starter: Library) -> None:
    """A way of looking that is taken out takes its reason with it; nothing is claimed that did not rank the drill."""
    question = "she folds just before her back hits the mat on vault"

    def reasons(*without: str) -> str:
        searcher = Searcher(starter.index, starter.encoder, frozenset(without))
        return " ".join(reason for drill in ask(question, Limits(top=5), searcher).drills for reason in drill.why)

    assert "your words on the card" in reasons()
    assert "close in meaning" in reasons()
    assert "your words on the card" not in reasons("card words")
    assert "close in meaning" not in reasons("card meaning")


def test_the_phrase_in_the_reason_is_one_of_the_fault(starter: Library) -> None:
    """What is quoted as close to the coach's words is a way that this very fault is said."""
    answer = starter.ask("her legs peel apart as she goes upside down on beam")
    for drill in answer.drills:
        for reason in drill.why:
            if reason.startswith("your words are close to"):
                said = reason.split('"')[1]
                assert said in starter.vocabulary.faults[drill.fault].heard_as


def test_first_drill_mends_the_first_fault(starter: Library) -> None:
    """The answer's drills are for the faults that it names, the first for the first, by one of its causes."""
    answer = starter.ask("short handstand on beam")
    named = {fault.id: {cause.id for cause in fault.causes} for fault in answer.faults}
    assert answer.drills[0].fault == answer.faults[0].id
    assert all(drill.cause in named[drill.fault] for drill in answer.drills)
    assert abs(sum(fault.share for fault in answer.faults)) <= 1.0001


def test_near_twins_do_not_follow_one_another(starter: Library) -> None:
    """The first three drills are not all for one cause on one stage."""
    for question in (
        "short handstand on beam",
        "bent arms in the cast",
        "piking on vault landing",
        "knees bend in leap",
    ):
        kinds = {(d.fault, d.cause, starter.card(d.id).stage) for d in starter.ask(question, top=3).drills}
        assert len(kinds) >= 2, question


def test_words_that_fit_two_events_are_asked_about(starter: Library) -> None:
    """'Falls out of her full turn' is a fault on beam and on floor: both are offered, and a flag decides."""
    answer = starter.ask("falls out of her full turn", top=6)
    assert set(answer.which_event) == {"beam", "floor"}
    assert {fault.event for fault in answer.faults} >= {"beam", "floor"}
    assert {drill.event for drill in answer.drills} >= {"beam", "floor"}
    assert starter.ask("falls out of her full turn", event="beam").which_event == ()
    assert starter.ask("falls out of her full turn on beam").which_event == ()


@pytest.mark.parametrize(
    ("question", "skill"),
    [
        ("how do I teach a kip from scratch", "kip"),
        ("progression for back handspring", "back-handspring"),
        ("cartwheel", "cartwheel"),
        ("where do I start with stride circles", "stride-circle"),
    ],
)
def test_skill_questions_get_the_ladder(starter: Library, question: str, skill: str) -> None:
    """How to teach a skill is answered with its ladder, lowest rung first, and drills in that order."""
    answer = starter.ask(question)
    assert answer.verdict == "answered"
    assert answer.ladder is not None
    assert answer.ladder.skill == skill
    assert [rung.rung for rung in answer.ladder.rungs] == list(range(1, len(answer.ladder.rungs) + 1))
    places = [drill.ladder.rung for drill in answer.drills]
    assert places == sorted(places)


@pytest.mark.parametrize(
    "question", ["bent arms in the kip", "her legs come apart in the cartwheel", "stops at the vault"]
)
def test_a_fault_in_a_skill_is_no_skill_question(starter: Library, question: str) -> None:
    """Naming a skill with a fault is a question about the fault."""
    assert starter.ask(question).ladder is None


def test_the_level_sets_the_rung_to_start_on(starter: Library) -> None:
    """For a level the ladder begins on the lowest rung that is open to it."""
    ladder = starter.ask("how do I teach a kip from scratch", level=5).ladder
    assert ladder is not None
    start = ladder.rungs[ladder.start - 1]
    cards = [starter.card(name) for name in (start.card, *start.instead)]
    assert any(card.fits_level(5) for card in cards)


def test_answer_is_the_same_twice(starter: Library) -> None:
    """The same question gives the same answer to the letter, time aside."""
    import msgspec

    first, second = (json.loads(msgspec.json.encode(starter.ask("wobbles on beam"))) for _ in range(2))
    assert first | {"took_ms": 0} == second | {"took_ms": 0}


def test_kit_list_that_is_wrong_is_refused(starter: Library, tmp_path: Path) -> None:
    """A kit list with an unknown piece names file, line and the nearest piece."""
    from kb.errors import FileUnusable

    path = tmp_path / "kit.yaml"
    path.write_text("items:\n  - {item: panle-mat, count: 2}\n", "utf-8")
    with pytest.raises(FileUnusable, match="panel-mat") as error:
        starter.kit(path)
    assert error.value.line == 2
