"""Measures against pytrec_eval, against numbers worked out by hand, and against a published example."""

import math
import random

import pytest

from kb.score.measure import measure_rankings


def test_ndcg_of_the_textbook_example() -> None:
    """Gains 3, 2, 3, 0, 1, 2 with the log2(i + 1) discount: DCG 6.861, ideal 7.141, nDCG .960808."""
    gains = (3, 2, 3, 0, 1, 2)
    names = [f"card{n}" for n in range(6)]
    dcg = sum(gain / math.log2(place + 1) for place, gain in enumerate(gains, start=1))
    ideal = sum(gain / math.log2(place + 1) for place, gain in enumerate(sorted(gains, reverse=True), start=1))
    assert (round(dcg, 3), round(ideal, 3)) == (6.861, 7.141)
    table = measure_rankings({"q": names}, {"q": dict(zip(names, gains, strict=True))}, ("nDCG@10",))
    assert table["nDCG@10"]["q"] == pytest.approx(0.960808, abs=1e-6)


def test_same_as_pytrec_eval() -> None:
    """On random rankings nDCG and success are those of pytrec_eval (TREC's own program)."""
    import pytrec_eval

    rng = random.Random(3)
    names = [f"card{n}" for n in range(30)]
    grades = {f"q{n}": {name: rng.choice((0, 0, 0, 1, 2)) for name in names} | {"card0": 2} for n in range(40)}
    rankings = {question: rng.sample(names, 20) for question in grades}
    run = {q: {name: float(-place) for place, name in enumerate(ranking)} for q, ranking in rankings.items()}
    theirs = pytrec_eval.RelevanceEvaluator(grades, {"ndcg_cut.10", "success.1,5"}, relevance_level=1).evaluate(run)
    ours = measure_rankings(rankings, grades, ("nDCG@10", "Success@1", "Success@5"))
    for question in grades:
        assert ours["nDCG@10"][question] == pytest.approx(theirs[question]["ndcg_cut_10"], abs=1e-9)
        assert ours["Success@1"][question] == theirs[question]["success_1"]
        assert ours["Success@5"][question] == theirs[question]["success_5"]


@pytest.mark.parametrize(
    ("ranking", "first", "three"),
    [(["right", "near"], 1, 1), (["near", "right"], 0, 1), (["x", "y", "z", "right"], 0, 0), ([], 0, 0)],
)
def test_only_the_fault_itself_is_right(ranking: list[str], first: int, three: int) -> None:
    """A close neighbour (grade 1) in front does not count as the right fault first; no answer counts as wrong."""
    table = measure_rankings({"q": ranking}, {"q": {"right": 2, "near": 1}}, ("Success(rel=2)@1", "Success(rel=2)@3"))
    assert (table["Success(rel=2)@1"]["q"], table["Success(rel=2)@3"]["q"]) == (first, three)
