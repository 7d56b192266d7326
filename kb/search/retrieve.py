"""Gather evidence for a question: words of cards and faults, meaning of passages and of the ways faults are said."""

from collections.abc import Callable

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from kb.index.encode import Encoder
from kb.index.store import Index
from kb.index.words import grams, terms
from kb.model import Question
from kb.search.learned import Learned

NEIGHBOURS = 60
"""Nearest passages and phrases that are looked at."""
SAME = 20
"""Best phrases by words that are compared with the question word by word."""
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


def same_words(question: Question, _vector: object, index: Index) -> Evidence:
    """Faults that are listed in the very words of the question, whatever their order and the small words between."""
    asked = set(terms(question.symptom))
    scores = index.word_scores("phrases", asked)
    found: dict[str, str] = {}
    for number in np.argsort(-scores, kind="stable")[:SAME]:
        fault, text = index.phrases[number]
        if scores[number] > 0 and set(terms(text)) == asked:
            found.setdefault(fault, text)
    return Evidence(dict.fromkeys(found, 1.0), found)


def phrase_meaning(_question: Question, vector: "NDArray[np.float32] | None", index: Index) -> Evidence:
    """Mean cosine with the nearest phrases of each fault."""
    if vector is None or not index.phrases:
        return Evidence({}, {})
    rows, cosines = index.neighbours["phrases"].nearest(vector, len(index.phrases))
    by_fault = np.argsort(index.fault_of_phrase[rows], kind="stable")  # rows of one fault together, nearest first
    numbers = index.fault_of_phrase[rows[by_fault]]
    starts = np.flatnonzero(np.r_[True, numbers[1:] != numbers[:-1]])
    ends = np.r_[starts[1:], len(numbers)]
    sums = np.r_[0.0, np.cumsum(cosines[by_fault], dtype=np.float64)]
    taken = np.minimum(starts + NEAREST_PHRASES, ends)
    means = (sums[taken] - sums[starts]) / (taken - starts)
    names = [index.fault_ids[numbers[start]] for start in starts]
    nearest = [index.phrases[rows[by_fault[start]]][1] for start in starts]
    return Evidence(dict(zip(names, means.tolist(), strict=True)), dict(zip(names, nearest, strict=True)))


def fault_grams(question: Question, _vector: object, index: Index) -> Evidence:
    """BM25 over runs of letters of everything that is said of a fault; finds mistyped words."""
    scores = index.word_scores("fault grams", grams(question.symptom))
    return Evidence({index.fault_ids[n]: float(score) for n, score in enumerate(scores) if score > 0}, {})


LEARNED_WAYS = ("learned words", "learned meaning")
"""Ways of looking that a library has from which something was learned."""


def learned_ways(
    question: Question, vector: "NDArray[np.float32] | None", index: Index, learned: Learned
) -> dict[str, Evidence]:
    """Return what the classifiers say; a fault they never saw gets their mean, which speaks neither for nor against."""
    found = {"learned words": learned.by_words(question.symptom)}
    if vector is not None and learned.reads_vectors:
        found["learned meaning"] = learned.by_vector(vector)
    ways = {}
    for way, scores in found.items():
        known = dict(zip(learned.faults, scores.tolist(), strict=True))
        mean = sum(known.values()) / len(known)
        ways[way] = Evidence({name: known.get(name, mean) for name in index.fault_ids}, {})
    return ways


def through_cards(cards: Evidence, index: Index) -> Evidence:
    """A fault is as likely as the best card that mends it: evidence for cards becomes evidence for faults."""
    best: dict[str, float] = {}
    because: dict[str, str] = {}
    for card, score in cards.scores.items():
        for fault, weight in index.faults_of_card.get(card, ()):
            entry = (score * weight / 3, card)
            if entry > (best.get(fault, 0.0), because.get(fault, "")):
                best[fault], because[fault] = entry
    return Evidence(best, because)


CARD_WAYS: dict[str, Way] = {"words": card_words, "meaning": card_meaning}
FAULT_WAYS: dict[str, Way] = {
    "words": fault_words,
    "phrase words": phrase_words,
    "letters": fault_grams,
    "same words": same_words,
    "phrase meaning": phrase_meaning,
}


class Gathered(Struct, frozen=True):
    """All the evidence for one question, by way of looking."""

    cards: dict[str, Evidence]
    faults: dict[str, Evidence]

    def less(self, ways: frozenset[str]) -> "Gathered":
        """Return the evidence without some ways of looking, to see what each is worth."""
        cards = {name: evidence for name, evidence in self.cards.items() if f"card {name}" not in ways}
        return Gathered(cards, {name: evidence for name, evidence in self.faults.items() if name not in ways})


def gather(question: Question, encoder: Encoder, index: Index, learned: Learned | None = None) -> Gathered:
    """Look in every way at once, in what was learned too where there is something."""
    vector = encoder.encode([question.symptom])[0] if question.symptom else None
    cards = {name: way(question, vector, index) for name, way in CARD_WAYS.items()}
    faults = {name: way(question, vector, index) for name, way in FAULT_WAYS.items()}
    faults |= {f"card {name}": through_cards(evidence, index) for name, evidence in cards.items()}
    if learned is not None and question.symptom:
        faults |= learned_ways(question, vector, index, learned)
    return Gathered(cards, faults)
