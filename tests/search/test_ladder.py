"""Ladders inside limits: where to begin, what is taken away, and the gentlest way up for a child who is afraid."""

from itertools import pairwise

import msgspec
import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.errors import OutOfRange, UnknownName
from kb.facade import Library
from kb.library import load_collection
from kb.model import Card, Demand
from kb.search.ladder import gentlest, step_cost
from tests.support import SMALL

MODEL = next(iter(load_collection(SMALL).cards.values()))


def card(name: str, height: int, speed: int, rotation: int) -> Card:
    """Make a card of which only its demand matters."""
    return msgspec.structs.replace(MODEL, id=name, demand=Demand(height, speed, rotation))


demands = st.tuples(st.integers(0, 3), st.integers(0, 3), st.integers(0, 3))


@settings(deadline=None)
@given(st.lists(st.lists(demands, min_size=1, max_size=4), min_size=1, max_size=6))
def test_the_gentlest_way_is_networkxs_shortest_path(rungs: list[list[tuple[int, int, int]]]) -> None:
    """The way chosen costs what networkx's shortest path through the rungs costs."""
    cards = [[card(f"c-{n}-{m}", *demand) for m, demand in enumerate(rung)] for n, rung in enumerate(rungs)]
    graph: nx.DiGraph[str] = nx.DiGraph()
    for first in cards[0]:
        graph.add_edge("ground", first.id, weight=step_cost(None, first))
    for lower, upper in pairwise(cards):
        graph.add_weighted_edges_from((a.id, b.id, step_cost(a, b)) for a in lower for b in upper)
    for last in cards[-1]:
        graph.add_edge(last.id, "top", weight=0.0)
    way = gentlest(cards)
    cost = step_cost(None, way[0]) + sum(step_cost(a, b) for a, b in pairwise(way))
    assert cost == pytest.approx(nx.shortest_path_length(graph, "ground", "top", weight="weight"))
    assert [card in rung for card, rung in zip(way, cards, strict=True)] == [True] * len(cards)


def test_one_big_step_is_worse_than_two_small_ones() -> None:
    """Squares: rising by two at once costs more than rising by one twice."""
    low, middle, high = card("a", 0, 0, 0), card("b", 1, 0, 0), card("c", 2, 0, 0)
    rise = step_cost(low, high) - sum((2, 0, 0))
    steps = step_cost(low, middle) - 1 + step_cost(middle, high) - 2
    assert rise > steps


def test_it_begins_where_the_level_is_open(starter: Library) -> None:
    """The rung to start on is the lowest with a card for the level; every rung below has none."""
    for skill in starter.vocabulary.skills:
        for level in (2, 4, 6):
            ladder = starter.ladder(skill, level=level)
            below = [r for r in ladder.rungs if r.rung < ladder.start]
            for rung in below:
                cards = [starter.card(name) for name in (rung.card, *rung.instead)]
                assert not any(one.fits_level(level) for one in cards)


def test_every_card_of_every_rung_is_there_once(starter: Library) -> None:
    """Cards are never lost to limits: what does not fit stays on its rung and is named as set aside."""
    for skill in starter.vocabulary.skills:
        plain, bare = starter.ladder(skill), starter.ladder(skill, have={}, spotters=0, level=3, afraid=True)
        names = [[{rung.card, *rung.instead} for rung in ladder.rungs] for ladder in (plain, bare)]
        assert names[0] == names[1]


def test_limits_choose_what_fits_and_say_why_not(starter: Library) -> None:
    """With nobody to spot, each rung's card needs none where there is one; the others are set aside with the reason."""
    for skill in starter.vocabulary.skills:
        ladder = starter.ladder(skill, spotters=0)
        aside = {item.id: item for item in ladder.set_aside}
        for rung in ladder.rungs:
            cards = {name: starter.card(name) for name in (rung.card, *rung.instead)}
            fitting = [name for name, one in cards.items() if one.spotting.spotters == 0]
            assert (rung.card in fitting) == bool(fitting)
            assert bool(rung.closed) == (not fitting)
            for name in set(cards) - set(fitting):
                assert "to spot" in aside[name].reason
                assert aside[name].instead in fitting if fitting else aside[name].instead is None


def test_afraid_never_climbs_faster(starter: Library) -> None:
    """The way for a child who is afraid costs no more than the ordinary one, on every ladder, and begins no higher."""

    def cost(names: list[str]) -> float:
        cards = [starter.card(name) for name in names]
        return step_cost(None, cards[0]) + sum(step_cost(a, b) for a, b in pairwise(cards))

    gentler = 0
    for skill in starter.vocabulary.skills:
        plain, afraid = starter.ladder(skill, level=4), starter.ladder(skill, level=4, afraid=True)
        ordinary, small = cost([r.card for r in plain.rungs]), cost([r.card for r in afraid.rungs])
        assert small <= ordinary
        assert afraid.start == max(1, plain.start - 1)
        gentler += small < ordinary
    assert gentler > 10


def test_a_card_is_found_on_its_ladder(starter: Library) -> None:
    """Asked for a card, the ladder of its main skill comes with the rung marked."""
    for name in starter.index.card_ids:
        ladder = starter.ladder(name)
        assert ladder.skill == starter.card(name).skills[0]
        assert ladder.here is not None
        rung = ladder.rungs[ladder.here - 1]
        assert name in (rung.card, *rung.instead)


@pytest.mark.parametrize(
    ("words", "skill"),
    [("kip", "kip"), ("Glide kip", "kip"), ("mill circle", "stride-circle"), ("beam handstand", "beam-handstand")],
)
def test_a_skill_is_known_by_its_other_names(starter: Library, words: str, skill: str) -> None:
    """Trade names lead to the skill."""
    assert starter.ladder(words).skill == skill


def test_what_is_neither_is_refused_with_the_nearest(starter: Library) -> None:
    """A wrong name and a level that there is not."""
    with pytest.raises(UnknownName, match="kip"):
        starter.ladder("kipp-swing-thing")
    with pytest.raises(OutOfRange):
        starter.ladder("kip", level=99)


def test_other_ways_are_named_for_what_they_are(starter: Library) -> None:
    """On a rung with a hands-on card its twin, where it stands there too, needs no spotter."""
    seen = set()
    for skill in starter.vocabulary.skills:
        for rung in starter.ladder(skill).rungs:
            seen |= set(rung.ways.values())
            for name, way in rung.ways.items():
                if starter.card(rung.card).spotting.spotters and not starter.card(name).spotting.spotters:
                    assert way == "needs no spotter"
    assert {"another way", "needs no spotter"} < seen
    assert any(way.startswith("without the ") for way in seen)
