"""The verdict: do the words point to a fault of this library at all?

A small logistic model over signs that a question belongs here: how near the nearest ways of saying a fault are, how
near the nearest card is, how much of the question the library has heard before. Its weights were fitted on the tuning
half of the judged questions and on sentences from other worlds (`drillkb score --fit`).
"""

import math

from kb.index.store import Index
from kb.index.words import grams, terms
from kb.model import Question
from kb.search.fitted import Fitted
from kb.search.retrieve import Evidence, Gathered

FEATURES = ("bias", "phrase meaning", "card meaning", "words", "letters", "known", "length")
"""What the model looks at, in the order of its weights."""
SAME_FROM = 2
"""Terms from which a question that is listed word for word is answered without further question."""
KNOWN_BY = 10
"""Terms from which a question's length tells nothing more."""


def is_answered(question: Question, found: Gathered, index: Index, fitted: Fitted) -> bool:
    """Say whether the words point to a fault of the library."""
    if not any(evidence.scores for evidence in found.faults.values()) or not terms(question.symptom):
        return False
    same = found.faults.get("same words")
    if same and same.scores and len(terms(question.symptom)) >= SAME_FROM:
        return True  # somebody has listed these very words
    return belongs(features(question, found, index), fitted.is_ours) >= fitted.ours_from


def belongs(seen: tuple[float, ...], weights: tuple[float, ...]) -> float:
    """Return how sure the model is that a question is about this library, 0 to 1."""
    return 1 / (1 + math.exp(-sum(weight * value for weight, value in zip(weights, seen, strict=True))))


def features(question: Question, found: Gathered, index: Index) -> tuple[float, ...]:
    """Return the values that the model looks at, in the order of FEATURES, each about 0 to 1."""
    words, letters = terms(question.symptom), grams(question.symptom)
    known = sum(index.knows(word) for word in words) / len(words) if words else 0.0
    return (
        1.0,
        _best(found.faults.get("phrase meaning")),
        _best(found.cards.get("meaning")),
        _best(found.faults.get("phrase words")) / (1 + len(words)) / 4,
        _best(found.faults.get("letters")) / (1 + len(letters)),
        known,
        min(len(words), KNOWN_BY) / KNOWN_BY,
    )


def _best(evidence: Evidence | None) -> float:
    return max(evidence.scores.values(), default=0.0) if evidence else 0.0
