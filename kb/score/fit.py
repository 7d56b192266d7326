"""Fit the numbers of kb.search.fitted on judged questions of the tuning half. Needs numpy only; seeded."""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from kb.model import Question
from kb.score.run import Asked
from kb.search import Limits, Searcher
from kb.search.judge import FEATURES, features
from kb.search.rank import standard_scores
from kb.search.read import read_question
from kb.search.retrieve import Gathered, gather

STEPS = (0.0, 0.15, 0.3, 0.5, 0.75, 1.0, 1.5, 2.0)
"""Weights that are tried for each way of looking."""
ROUNDS = 4
"""Passes over all ways."""
REAL_REFUSED = 0.01
"""Part of the real questions that the threshold may refuse on the data it is fitted on."""

Matrix = NDArray[np.float64]


class Fit(Struct, frozen=True):
    """What was fitted, in the form of kb.search.fitted."""

    way_weights: dict[str, float]
    sharpness: float
    is_ours: tuple[float, ...]
    ours_from: float


def fit(searcher: Searcher, asked: Sequence[Asked], outside: Sequence[str]) -> Fit:
    """Fit the weights of the ways of looking and the model that refuses other worlds."""
    about = [entry for entry in asked if entry.judged.faults]
    looked = [_look(entry.judged.q, searcher) for entry in about]
    ways = list(looked[0][1].faults)
    scores = np.array([[_row(found, way, searcher) for way in ways] for _, found in looked])
    weights, sharpness = _fit_ways(scores, _grades(about, searcher))
    ours = [features(question, found, searcher.index) for question, found in looked]
    theirs = [features(*_look(text, searcher), searcher.index) for text in outside]
    model, threshold = _fit_refusal(np.array(ours), np.array(theirs))
    named = {way: round(float(weight), 2) for way, weight in zip(ways, weights, strict=True)}
    return Fit(named, round(sharpness, 2), tuple(round(float(w), 2) for w in model), round(threshold, 3))


def _look(text: str, searcher: Searcher) -> tuple[Question, Gathered]:
    index = searcher.index
    question = read_question(text, Limits(), index.vocabulary, searcher.kit, searcher.speller)
    return question, gather(question, searcher.encoder, index, searcher.learned)


def _row(found: Gathered, way: str, searcher: Searcher) -> list[float]:
    names = searcher.index.fault_ids
    standard = standard_scores(found.faults[way], names)
    return [standard.get(name, 0.0) for name in names]


def _grades(about: Sequence[Asked], searcher: Searcher) -> Matrix:
    return np.array([[entry.judged.faults.get(name, 0) for name in searcher.index.fault_ids] for entry in about], float)


def _fit_ways(scores: Matrix, grades: Matrix) -> tuple[Matrix, float]:
    """Climb one weight at a time on the likelihood of the right faults; scores has shape (questions, ways, faults)."""
    right = grades / grades.sum(axis=1, keepdims=True)
    weights = np.ones(scores.shape[1])

    def loss(candidate: Matrix, sharp: float = 1.0) -> float:
        total = sharp * np.einsum("w,qwf->qf", candidate, scores)
        total -= total.max(axis=1, keepdims=True)
        log_share = total - np.log(np.exp(total).sum(axis=1, keepdims=True))
        return float(-(right * log_share).sum(axis=1).mean())

    for _ in range(ROUNDS):
        for way in range(len(weights)):
            tries = [np.where(np.arange(len(weights)) == way, step, weights) for step in STEPS]
            weights = min(tries, key=loss)
    sharps = np.arange(0.5, 2.05, 0.05)
    return weights, float(min(sharps, key=lambda sharp: loss(weights, float(sharp))))


def _fit_refusal(ours: Matrix, theirs: Matrix) -> tuple[Matrix, float]:
    """Logistic regression, both sides weighing the same; then a threshold that spares real questions."""
    rows, right = np.vstack([ours, theirs]), np.r_[np.ones(len(ours)), np.zeros(len(theirs))]
    balance = np.r_[np.full(len(ours), 0.5 / len(ours)), np.full(len(theirs), 0.5 / len(theirs))]
    scale = rows.std(axis=0) + 1e-9
    scale[0] = 1.0
    model = np.zeros(len(FEATURES))
    for _ in range(20_000):
        sure = 1 / (1 + np.exp(-(rows / scale) @ model))
        model -= 0.5 * ((rows / scale).T @ (balance * (sure - right)) + 1e-4 * model)
    sure = np.sort(1 / (1 + np.exp(-(ours / scale) @ model)))
    return model / scale, float(sure[int(len(sure) * REAL_REFUSED)]) - 0.005
