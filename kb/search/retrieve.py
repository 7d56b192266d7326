"""Gather evidence for a question: words of cards and faults, meaning of passages and of the ways faults are said."""

from collections.abc import Callable

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from kb.index.encode import Encoder
from kb.index.store import Index
from kb.index.words import terms
from kb.model import Question

NEIGHBOURS = 60
"""Nearest passages and phrases that are looked at."""
NEAREST_PHRASES = 3
"""A fault's meaning is the mean of its nearest phrases: one lucky phrase alone does not carry it."""


class Evidence(Struct, frozen=True):
    """What one way of looking found: scores by card or fault id, and what each score came from."""

    scores: dict[str, float]
    because: dict[str, str]
    """For each id the passage heading or the phrase that gave the score."""


Way = Callable[[Question, "NDArray[np.float32] | None", Index], Evidence]


def card_words(question: Question, _vector: object, index: Index) -> Evidence:
    """BM25 over whole cards."""
    query = terms(question.symptom)
    scores = index.word_scores("cards", query)
    found = {
        index.card_ids[n]: float(scores[n]) for n in np.argsort(-scores, kind="stable")[:NEIGHBOURS] if scores[n] > 0
    }
    return Evidence(found, dict.fromkeys(found, " ".join(query)))


def card_meaning(_question: Question, vector: "NDArray[np.float32] | None", index: Index) -> Evidence:
    """Cosine with the nearest passage of each card."""
    scores: dict[str, float] = {}
    because: dict[str, str] = {}
    if vector is not None and index.passages:
        for row, cosine in zip(*index.neighbours["passages"].nearest(vector, NEIGHBOURS), strict=True):
            card, heading = index.passages[row]
            if card not in scores:
                scores[card], because[card] = float(cosine), heading
    return Evidence(scores, because)


def fault_words(question: Question, _vector: object, index: Index) -> Evidence:
    """BM25 over faults, each with every way it is said."""
    scores = index.word_scores("faults", terms(question.symptom))
    found = {index.fault_ids[n]: float(scores[n]) for n in np.argsort(-scores, kind="stable") if scores[n] > 0}
    return Evidence(found, {})


def phrase_words(question: Question, _vector: object, index: Index) -> Evidence:
    """BM25 over single phrases; a fault has the score of its best one."""
    scores = index.word_scores("phrases", terms(question.symptom))
    best: dict[str, float] = {}
    because: dict[str, str] = {}
    for number in np.argsort(-scores, kind="stable")[:NEIGHBOURS]:
        fault, text = index.phrases[number]
        if scores[number] > 0 and fault not in best:
            best[fault], because[fault] = float(scores[number]), text
    return Evidence(best, because)


def phrase_meaning(_question: Question, vector: "NDArray[np.float32] | None", index: Index) -> Evidence:
    """Mean cosine with the nearest phrases of each fault."""
    if vector is None or not index.phrases:
        return Evidence({}, {})
    cosines: dict[str, list[float]] = {}
    because: dict[str, str] = {}
    count = max(NEIGHBOURS, len(index.phrases))
    for row, cosine in zip(*index.neighbours["phrases"].nearest(vector, count), strict=True):
        fault, text = index.phrases[row]
        because.setdefault(fault, text)
        cosines.setdefault(fault, []).append(float(cosine))
    return Evidence({fault: float(np.mean(found[:NEAREST_PHRASES])) for fault, found in cosines.items()}, because)


CARD_WAYS: dict[str, Way] = {"words": card_words, "meaning": card_meaning}
FAULT_WAYS: dict[str, Way] = {"words": fault_words, "phrase words": phrase_words, "phrase meaning": phrase_meaning}


class Gathered(Struct, frozen=True):
    """All the evidence for one question, by way of looking."""

    cards: dict[str, Evidence]
    faults: dict[str, Evidence]


def gather(question: Question, encoder: Encoder, index: Index) -> Gathered:
    """Look in every way at once."""
    vector = encoder.encode([question.symptom])[0] if question.symptom else None
    return Gathered(
        {name: way(question, vector, index) for name, way in CARD_WAYS.items()},
        {name: way(question, vector, index) for name, way in FAULT_WAYS.items()},
    )
