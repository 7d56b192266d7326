"""Several rankings become one."""

from collections.abc import Iterable, Mapping, Sequence

RANK_CONSTANT = 60
"""Cormack, Clarke and Buettcher, SIGIR 2009: the sum of 1 / (60 + rank), rank from 1."""


def reciprocal_rank_fusion(rankings: Iterable[Sequence[str]]) -> dict[str, float]:
    """Return the fused score of every name that stands in at least one ranking, best first."""
    scores: dict[str, float] = {}
    for ranking in rankings:
        for rank, name in enumerate(ranking, start=1):
            scores[name] = scores.get(name, 0.0) + 1 / (RANK_CONSTANT + rank)
    return dict(sorted(scores.items(), key=lambda item: (-item[1], item[0])))


def scaled(scores: Mapping[str, float]) -> dict[str, float]:
    """Return the scores with the largest at 1."""
    top = max(scores.values(), default=0.0)
    return {name: score / top for name, score in scores.items()} if top > 0 else dict(scores)
