"""Ladders: stages in order, nobody beside or below her prerequisite, every card once, and circles do no harm."""

from itertools import pairwise, permutations

import msgspec
import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.ladder import Rungs, ladder_place, skill_rungs
from kb.ladder.rungs import prerequisite_graph, without_circles
from kb.library import load_collection
from kb.model import Card, Stage
from tests.support import SMALL

LIBRARY = load_collection(SMALL)
STAGES = LIBRARY.vocabulary.stages
BY_ORDER = sorted(STAGES, key=lambda name: STAGES[name].order)
MODEL = LIBRARY.cards["vault-timber-fall"]


def card(name: str, stage: str, *after: str, skills: str = "flat-back", level: str = "3-4") -> Card:
    """Make a card of which only its place on a ladder matters."""
    changes = {"id": name, "stage": stage, "after": after, "skills": tuple(skills.split()), "level": level}
    return msgspec.structs.replace(MODEL, **changes)


def rungs_of(*cards: Card) -> Rungs:
    """Return the rungs of the flat-back with these cards."""
    return skill_rungs("flat-back", {c.id: c for c in cards}, STAGES)


SMALL_LADDERS = {
    "tight-body": (("shapes-book-hollow",), ("vault-timber-fall", "shapes-plank-shuffle")),
    "flat-back": (("vault-timber-fall",), ("vault-kick-to-pile",), ("vault-lift-to-pile",)),
    "take-off": (("vault-stiff-hops",), ("vault-board-pop",)),
    "backflip": (),
}


@pytest.mark.parametrize("skill", SMALL_LADDERS)
def test_the_ladders_of_the_small_library(skill: str) -> None:
    """Each skill of the small library has the ladder that a coach reads off its cards."""
    assert skill_rungs(skill, LIBRARY.cards, STAGES) == SMALL_LADDERS[skill]


LADDERS: dict[str, tuple[list[Card], Rungs]] = {
    "nothing": ([], ()),
    "stages in order, not names": ([card("a", "full"), card("b", "low"), card("c", "floor")], (("c",), ("b",), ("a",))),
    "one rung for one step": ([card("b", "low"), card("a", "low")], (("a", "b"),)),
    "lower level first on a rung": ([card("a", "low", level="4"), card("b", "low", level="3-5")], (("b", "a"),)),
    "prerequisite inside a stage": ([card("a", "low", "b"), card("b", "low")], (("b",), ("a",))),
    "chain inside a stage": (
        [card("a", "low", "b"), card("b", "low", "c"), card("c", "low")],
        (("c",), ("b",), ("a",)),
    ),
    "prerequisite of a higher stage": ([card("a", "floor", "b"), card("b", "full")], (("b",), ("a",))),
    "what builds on a lifted card is lifted": (
        [card("a", "floor", "b"), card("b", "full"), card("c", "low", "a"), card("d", "full-with-run")],
        (("b",), ("a",), ("c",), ("d",)),
    ),
    "other skills are left out": ([card("a", "low"), card("b", "floor", skills="take-off")], (("a",),)),
    "also as a second skill": ([card("a", "low"), card("b", "floor", skills="take-off flat-back")], (("b",), ("a",))),
    "prerequisite of another skill or missing": (
        [card("a", "low", "b", "lost"), card("b", "floor", skills="take-off")],
        (("a",),),
    ),
    "after itself": ([card("a", "low", "a")], (("a",),)),
    "circle of two keeps its stages": ([card("z", "floor", "a"), card("a", "full", "z")], (("z",), ("a",))),
    "circle of two the other way": ([card("a", "floor", "z"), card("z", "full", "a")], (("a",), ("z",))),
    "circle within a stage": ([card("a", "low", "b"), card("b", "low", "a"), card("c", "floor")], (("c",), ("a", "b"))),
    "above a circle": (
        [card("a", "low", "b"), card("b", "low", "a"), card("c", "low", "a")],
        (("a", "b"), ("c",)),
    ),
}


@pytest.mark.parametrize("name", LADDERS)
def test_rungs(name: str) -> None:
    """Small ladders, each with the one thing that its name says."""
    cards, expected = LADDERS[name]
    assert rungs_of(*cards) == expected


@pytest.mark.parametrize("name", LADDERS)
def test_the_order_of_the_files_does_not_matter(name: str) -> None:
    """The same cards in reverse give the same ladder."""
    cards, expected = LADDERS[name]
    assert rungs_of(*reversed(cards)) == expected


@pytest.mark.parametrize("skill", [skill for skill, rungs in SMALL_LADDERS.items() if rungs])
def test_a_place_leads_one_rung_down_and_one_up(skill: str) -> None:
    """Before and after are the neighbouring rungs, and there is nothing beyond either end."""
    rungs = SMALL_LADDERS[skill]
    for number, rung in enumerate(rungs, start=1):
        for name in rung:
            place = ladder_place(msgspec.structs.replace(LIBRARY.cards[name], skills=(skill,)), rungs)
            assert (place.skill, place.rung, place.of) == (skill, number, len(rungs))
            assert place.before == dict(enumerate(rungs, start=2)).get(number, ())
            assert place.after == dict(enumerate(rungs, start=0)).get(number, ())


NAMES = [f"card-{letter}" for letter in "abcdefghij"]


@st.composite
def libraries(draw: st.DrawFn, *, circles: bool) -> dict[str, Card]:
    """Draw up to ten cards with random stages, levels, skills and prerequisites, with or without circles."""
    names = draw(st.permutations(NAMES[: draw(st.integers(0, len(NAMES)))]))
    cards = {}
    for place, name in enumerate(names):
        others = names if circles else names[:place]
        after = draw(st.lists(st.sampled_from(others), max_size=3, unique=True)) if others else []
        skills = draw(st.sampled_from(["flat-back", "take-off flat-back", "take-off"]))
        stage, level = draw(st.sampled_from(BY_ORDER)), draw(st.sampled_from(["3", "3-5", "4-5"]))
        cards[name] = card(name, stage, *after, skills=skills, level=level)
    return cards


def members(cards: dict[str, Card]) -> dict[str, Card]:
    """Return the cards of the flat-back."""
    return {name: c for name, c in cards.items() if "flat-back" in c.skills}


@settings(deadline=None)
@given(libraries(circles=True))
def test_every_member_stands_exactly_once(cards: dict[str, Card]) -> None:
    """No card is lost or doubled, whatever the prerequisites, and no rung is empty."""
    rungs = skill_rungs("flat-back", cards, STAGES)
    assert sorted(name for rung in rungs for name in rung) == sorted(members(cards))
    assert all(rungs)


@settings(deadline=None)
@given(libraries(circles=False))
def test_nobody_stands_at_or_below_her_prerequisite(cards: dict[str, Card]) -> None:
    """The flattened ladder is one of networkx's topological orders, and every edge goes at least one rung up."""
    rungs = skill_rungs("flat-back", cards, STAGES)
    height = {name: number for number, rung in enumerate(rungs) for name in rung}
    graph = nx.DiGraph([(b, c.id) for c in members(cards).values() for b in c.after if b in members(cards)])
    assert nx.is_directed_acyclic_graph(graph)
    assert all(height[low] < height[high] for low, high in graph.edges)
    assert all(height[low] < height[high] for low, high in nx.transitive_closure_dag(graph).edges)
    assert len(rungs) >= (nx.dag_longest_path_length(graph) + 1 if graph else 0)


@settings(deadline=None)
@given(libraries(circles=True))
def test_edges_outside_circles_are_kept(cards: dict[str, Card]) -> None:
    """Whatever networkx does not count to a circle still goes up, and what is left has no circle."""
    rungs = skill_rungs("flat-back", cards, STAGES)
    height = {name: number for number, rung in enumerate(rungs) for name in rung}
    graph = prerequisite_graph(members(cards))
    in_circle = {edge for ring in nx.simple_cycles(graph) for edge in pairwise([*ring, ring[0]])}
    assert set(without_circles(graph).edges) == set(graph.edges) - in_circle
    assert all(height[low] < height[high] for low, high in set(graph.edges) - in_circle)


@settings(deadline=None)
@given(libraries(circles=True))
def test_stages_go_up_where_prerequisites_allow(cards: dict[str, Card]) -> None:
    """A card stands above another of a higher stage only when a prerequisite of the higher stage lifted it there."""
    rungs = skill_rungs("flat-back", cards, STAGES)
    height = {name: number for number, rung in enumerate(rungs) for name in rung}
    graph = without_circles(prerequisite_graph(members(cards)))

    def order(name: str) -> int:
        return STAGES[cards[name].stage].order

    lifted = {name: max([order(name), *map(order, nx.ancestors(graph, name))]) for name in graph}
    assert all(height[one] < height[two] for one, two in permutations(height, 2) if lifted[one] < lifted[two])


@settings(deadline=None)
@given(libraries(circles=True))
def test_cards_of_a_rung_go_by_level_and_name(cards: dict[str, Card]) -> None:
    """On one rung the card for the lowest level comes first."""
    for rung in skill_rungs("flat-back", cards, STAGES):
        assert list(rung) == sorted(rung, key=lambda name: (cards[name].levels, name))


def test_a_club_stage_takes_its_place_by_its_number() -> None:
    """The order of a stage is its number, not its place in the file."""
    stages = {"beach": Stage("beach", 0, "Beach", "Outdoors."), **STAGES}
    cards = {c.id: c for c in (card("a", "floor"), card("b", "beach"))}
    assert skill_rungs("flat-back", cards, stages) == (("b",), ("a",))
