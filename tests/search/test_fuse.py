"""Reciprocal rank fusion against the published formula."""

import pytest

from kb.search.fuse import reciprocal_rank_fusion, scaled


@pytest.mark.parametrize(
    ("ranks", "expected"),
    [
        # Cormack, Clarke and Buettcher, SIGIR 2009: sum of 1 / (60 + rank).
        ((1,), 0.0163934426),
        ((1, 1), 0.0327868852),
        ((1, 2), 0.0325224749),
        ((1, 3), 0.0322664585),
    ],
)
def test_published_values(ranks: tuple[int, ...], expected: float) -> None:
    """The fused score of a card at these ranks is the published one."""
    rankings = [[f"other{place}" for place in range(rank - 1)] + ["card"] for rank in ranks]
    assert reciprocal_rank_fusion(rankings)["card"] == pytest.approx(expected, abs=1e-10)


def test_best_first_and_equal_ones_by_name() -> None:
    """The order is by score, then by name, so that it never depends on chance."""
    assert list(reciprocal_rank_fusion([["b", "a"], ["a", "b"], ["c"]])) == ["a", "b", "c"]


def test_nothing_fuses_to_nothing() -> None:
    """No rankings, no names."""
    assert reciprocal_rank_fusion([]) == {}
    assert scaled({}) == {}
