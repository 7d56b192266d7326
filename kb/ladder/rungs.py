"""The rungs of a skill: its cards in the order of stage, level and prerequisites."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from kb.model import Card, LadderPlace, Stage

if TYPE_CHECKING:
    import networkx as nx

Rungs = tuple[tuple[str, ...], ...]
"""Card ids, lowest rung first; cards of one rung are other ways to do the same step."""


def skill_rungs(skill: str, cards: Mapping[str, Card], stages: Mapping[str, Stage]) -> Rungs:
    """Return the rungs that lead to a skill.

    A card stands on a rung of its own stage, above every card of the skill that it names in `after`. Cards in a
    circle of prerequisites (which `check` reports) keep the order of their stages.
    """
    import networkx as nx  # only where a ladder is computed: a question reads it from the index

    members = {name: card for name, card in cards.items() if skill in card.skills}
    graph = without_circles(prerequisite_graph(members))
    rank: dict[str, tuple[int, int]] = {}  # stage that she has reached, and cards of that stage before this one
    for name in nx.topological_sort(graph):
        below = [rank[b] for b in graph.predecessors(name)]
        stage = max([stages[members[name].stage].order, *(order for order, _ in below)])
        rank[name] = stage, max((depth + 1 for order, depth in below if order == stage), default=0)
    return tuple(_level(members, [n for n in members if rank[n] == step]) for step in sorted(set(rank.values())))


def ladder_place(card: Card, rungs: Rungs, skill: str | None = None) -> LadderPlace:
    """Return where a card stands on the rungs of a skill, its main one without a name."""
    here = next(place for place, rung in enumerate(rungs) if card.id in rung)
    before = rungs[here - 1] if here else ()
    after = rungs[here + 1] if here + 1 < len(rungs) else ()
    return LadderPlace(skill or card.skills[0], here + 1, len(rungs), before, after)


def prerequisite_graph(cards: Mapping[str, Card]) -> nx.DiGraph[str]:
    """Return the graph with an edge from every prerequisite to the card that builds on it."""
    import networkx as nx  # only where a ladder is computed: a question reads it from the index

    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(sorted(cards))
    graph.add_edges_from((b, card.id) for card in cards.values() for b in card.after if b in cards)
    return graph


def without_circles(graph: nx.DiGraph[str]) -> nx.DiGraph[str]:
    """Return the graph less the edges inside a circle, so that an order exists even in a library with mistakes."""
    import networkx as nx  # only where a ladder is computed: a question reads it from the index

    home = {name: place for place, ring in enumerate(nx.strongly_connected_components(graph)) for name in ring}
    clean: nx.DiGraph[str] = nx.DiGraph()
    clean.add_nodes_from(graph)
    clean.add_edges_from((a, b) for a, b in graph.edges if home[a] != home[b])
    return clean


def _level(cards: Mapping[str, Card], names: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted(names, key=lambda name: (cards[name].levels, name)))
