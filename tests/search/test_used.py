"""The practice log in answers and ladders: what is said, what moves, and what never does."""

from collections.abc import Iterator
from itertools import combinations, permutations, product
from pathlib import Path

from click.testing import CliRunner
from msgspec.structs import replace

from kb.cli.main import group as command_line
from kb.facade import Library
from kb.log.tally import Use
from kb.model import Answer
from kb.model.log import LogCounts
from kb.search.used import moved_below

QUESTION = "piking on vault landing"


def ids(answer: Answer) -> list[str]:
    """Return the drills of an answer."""
    return [drill.id for drill in answer.drills]


def plain(answer: Answer) -> Answer:
    """Return an answer without the time that it took."""
    return replace(answer, took_ms=0.0)


KINDS = {
    "bad": Use(LogCounts(no_change=2), {"Slate": LogCounts(no_change=2)}),
    "good": Use(LogCounts(helped=1), {"Slate": LogCounts(helped=1)}),
    "not used": Use(LogCounts()),
}


def best_by_search(kinds: tuple[str, ...]) -> tuple[int, ...]:
    """Find the order by trying all: bad ones below their next good one, others in order, fewest turned pairs."""
    below = {
        place: kinds.index("good", place)
        for place, kind in enumerate(kinds)
        if kind == "bad" and "good" in kinds[place:]
    }

    def allowed(order: tuple[int, ...]) -> bool:
        staying = [place for place in order if place not in below]
        return staying == sorted(staying) and all(order.index(a) > order.index(b) for a, b in below.items())

    def turned(order: tuple[int, ...]) -> int:
        return sum(first > second for first, second in combinations(order, 2))

    return min(filter(allowed, permutations(range(len(kinds)))), key=turned)


def all_lists() -> Iterator[tuple[str, ...]]:
    """Every list of up to five drills that did not help, helped or were not used."""
    for length in range(6):
        yield from product(KINDS, repeat=length)


def test_the_order_is_the_one_that_trying_all_orders_finds() -> None:
    """What did not help stands below the next that did, and nothing else changes places."""
    for kinds in all_lists():
        order, moved = moved_below(kinds, lambda kind: KINDS[kind])
        assert tuple(order) == best_by_search(kinds), kinds
        assert all(kinds[place] == "bad" and kinds[better] == "good" for place, better in moved.items())


def test_without_a_log_nothing_changes(starter: Library, log_file: Path) -> None:
    """The same answer to the letter, and a squad that is not in any log changes nothing."""
    before = plain(starter.ask(QUESTION))
    assert all(drill.used == "" for drill in before.drills)
    assert plain(starter.ask(QUESTION, group="Slate")) == before
    assert not log_file.exists()


def test_find_says_what_came_of_a_drill(starter: Library, log_file: Path) -> None:
    """'Used 4 times with Slate, helped 3', for the squad asked about and for all."""
    del log_file
    first = ids(starter.ask(QUESTION))[0]
    for result in ("helped", "helped", "no-change", "helped"):
        starter.log(first, result, group="Slate")
    starter.log(first, "too-hard", group="Copper")
    said = [starter.ask(QUESTION, group=group).drills[0].used for group in ("Slate", "Copper", None)]
    assert said[0].startswith("used 4 times with Slate, helped 3")
    assert said[1] == "used once with Copper, helped 0, too hard 1"
    assert said[2].startswith("used 5 times with Copper and Slate, helped 3")
    out = CliRunner().invoke(command_line, ["find", QUESTION, "--group", "Slate"]).stdout
    assert "   Log      used 4 times with Slate, helped 3" in out


def test_what_did_not_help_moves_below_what_did_with_the_reason(starter: Library, log_file: Path) -> None:
    """For that squad and no other; what helped and the rest stay in order; taken back, all is as before."""
    del log_file
    before = starter.ask(QUESTION, top=5)
    first, second, third = before.drills[:3]
    assert first.fault == second.fault == third.fault
    for _ in range(2):
        starter.log(first.id, "no-change", group="Slate")
    assert ids(starter.ask(QUESTION, group="Slate")) == ids(before)
    starter.log(third.id, "helped", group="Amber")
    assert ids(starter.ask(QUESTION)) == ids(before)  # helped others: says nothing about Slate
    starter.log(third.id, "helped", group="Slate")
    after = starter.ask(QUESTION, group="Slate")
    assert ids(after) == [second.id, third.id, first.id, *ids(before)[3:]]
    moved = after.drills[2]
    assert moved.why[:-1] == first.why
    assert moved.why[-1] == f'moved below "{third.title}", which helped Slate; this one 0 of 2 times'
    assert replace(moved, used="", why=first.why) == first
    assert after.drills[0] == second
    assert ids(starter.ask(QUESTION, group="Copper")) == ids(before)
    starter.undo_log()
    assert ids(starter.ask(QUESTION, group="Slate")) == ids(before)


def test_the_order_of_faults_stays(starter: Library, log_file: Path) -> None:
    """Whatever is logged, each place keeps the fault that it is for, and the same drills are there."""
    del log_file
    question = "falls out of her full turn"
    before = starter.ask(question, top=6)
    faults = [drill.fault for drill in before.drills]
    assert len(set(faults)) >= 2
    for drill in before.drills[:3]:
        for _ in range(2):
            starter.log(drill.id, "too-hard", group="Slate")
    for drill in before.drills[3:]:
        starter.log(drill.id, "helped", group="Slate")
    after = starter.ask(question, top=6, group="Slate")
    assert [drill.fault for drill in after.drills] == faults
    assert sorted(ids(after)) == sorted(ids(before))
    assert ids(after) != ids(before)


def test_a_limit_comes_before_the_log(starter: Library, log_file: Path) -> None:
    """What helped but does not fit stays set aside, and nothing moves below it."""
    del log_file
    bare = starter.ask(QUESTION, spotters=0, top=10)
    aside = [item.id for item in bare.set_aside]
    assert aside
    for _ in range(2):
        starter.log(ids(bare)[0], "no-change", group="Slate")
    for name in aside:
        starter.log(name, "mastered", group="Slate")
    after = starter.ask(QUESTION, spotters=0, top=10, group="Slate")
    assert ids(after) == ids(bare)
    assert [item.id for item in after.set_aside] == aside


def test_pain_is_stop_whatever_is_logged(starter: Library, log_file: Path) -> None:
    """No drill, however often it helped."""
    del log_file
    starter.log("vault-tall-fall", "mastered", group="Slate")
    answer = starter.ask("her wrist hurts in handstand on beam", group="Slate")
    assert (answer.verdict, answer.drills) == ("stop_and_refer", ())


def rung_with_choice(library: Library) -> tuple[str, int, list[str]]:
    """Return a skill, the place of a rung with more than one card, and the cards."""
    for skill in library.vocabulary.skills:
        for place, rung in enumerate(library.ladder(skill).rungs):
            if rung.instead and place:
                return skill, place, [rung.card, *rung.instead]
    raise AssertionError


def test_a_ladder_chooses_on_the_rung_and_says_why(starter: Library, log_file: Path) -> None:
    """The card that helped is the one to take, the other says that it moved; no rung changes place or cards."""
    del log_file
    skill, place, cards = rung_with_choice(starter)
    before = starter.ladder(skill)
    for _ in range(2):
        starter.log(cards[0], "no-change", group="Slate")
    starter.log(cards[1], "helped", group="Slate")
    after = starter.ladder(skill, group="Slate")
    rung = after.rungs[place]
    assert (rung.card, rung.instead[0]) == (cards[1], cards[0])
    assert rung.used == "used once with Slate, helped 1"
    title = starter.card(cards[1]).title
    assert rung.ways[cards[0]].endswith(f'moved below "{title}", which helped Slate; this one 0 of 2 times')
    assert [{one.card, *one.instead} for one in after.rungs] == [{one.card, *one.instead} for one in before.rungs]
    assert after.start == before.start
    assert starter.ladder(skill, group="Amber") == before
    asked = starter.ask(f"how do I teach {starter.vocabulary.skills[skill].name} from scratch", group="Slate", top=50)
    if asked.ladder:
        assert asked.ladder.rungs[place] == rung
        assert [drill.ladder.rung for drill in asked.drills] == sorted(drill.ladder.rung for drill in asked.drills)


def test_the_way_for_a_child_who_is_afraid_stays(starter: Library, log_file: Path) -> None:
    """The smallest steps are not traded for what helped others; the log is told."""
    del log_file
    skill, place, cards = rung_with_choice(starter)
    before = starter.ladder(skill, afraid=True)
    for name in cards:
        for _ in range(2):
            starter.log(name, "no-change" if name == before.rungs[place].card else "helped", group="Slate")
    after = starter.ladder(skill, afraid=True, group="Slate")
    assert [rung.card for rung in after.rungs] == [rung.card for rung in before.rungs]
    assert after.rungs[place].used.startswith("used 2 times with Slate, helped 0")


def test_what_stands_in_is_the_card_to_take(starter: Library, log_file: Path) -> None:
    """A card that a limit takes away names the card that the rung now begins with."""
    del log_file
    for skill in starter.vocabulary.skills:
        plain_ladder = starter.ladder(skill, spotters=0)
        for rung in plain_ladder.rungs:
            out = {item.id for item in plain_ladder.set_aside}
            fitting = [name for name in (rung.card, *rung.instead) if name not in out]
            if len(fitting) >= 2 and len(fitting) <= len(rung.instead):
                for _ in range(2):
                    starter.log(fitting[0], "no-change", group="Slate")
                starter.log(fitting[1], "helped", group="Slate")
                after = starter.ladder(skill, spotters=0, group="Slate")
                assert after.rungs[rung.rung - 1].card == fitting[1]
                named = {item.id: item.instead for item in after.set_aside}
                assert {named[name] for name in (rung.card, *rung.instead) if name in named} == {fitting[1]}
                return
    raise AssertionError
