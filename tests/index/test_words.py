"""Words and BM25: what counts as a term, and the same scores as an independent implementation."""

import random

import numpy as np
import pytest

from kb.index.words import K1, B, Postings, idf, stem, terms


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Round-off", ["roundoff", "round", "off"]),
        ("relevé", [stem("releve")]),
        ("the girl's knees", [stem("girls"), stem("knees")]),
        ("she is on it", []),
        ("", []),
        ("20 cm!", ["20", "cm"]),
    ],
)
def test_terms(text: str, expected: list[str]) -> None:
    """A coach's spelling, hyphens and accents do not hide a word."""
    assert [term for term in terms(text) if term not in {stem("off")} or "off" in expected] == expected


def test_same_ranking_and_scores_as_bm25s() -> None:
    """Our BM25 gives the scores of the bm25s package in its Lucene form (there the constant k1 + 1 is left out)."""
    import bm25s

    rng = random.Random(7)
    documents = [[f"w{int(rng.paretovariate(0.7)) % 60}" for _ in range(rng.randint(3, 40))] for _ in range(200)]
    ours = Postings.build(documents)
    theirs = bm25s.BM25(method="lucene", k1=K1, b=B)
    theirs.index(documents, show_progress=False)
    for _ in range(50):
        query = sorted({f"w{rng.randint(0, 59)}" for _ in range(4)} & set(ours.table))
        assert query
        np.testing.assert_allclose(ours.scores(query), theirs.get_scores(query) * (K1 + 1), rtol=1e-4, atol=1e-5)


def test_a_word_in_most_documents_still_ranks() -> None:
    """FTS5 gives a word in half of the cards no weight; here 'handstand' still finds the handstand cards."""
    documents = [["handstand", "line"]] * 6 + [["cast", "bar"]] * 4
    scores = Postings.build(documents).scores(["handstand"])
    assert min(scores[:6]) > 0.1
    assert max(scores[6:]) == 0


def test_idf_never_zero() -> None:
    """Even a word of every document weighs something; rarer words weigh more."""
    weights = [idf(100, holding) for holding in range(1, 101)]
    assert weights == sorted(weights, reverse=True)
    assert weights[-1] > 0
