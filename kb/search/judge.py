"""The verdict: is there an answer at all?"""

from kb.index.store import Index
from kb.index.words import terms
from kb.model import Question
from kb.search.rank import RankedFault
from kb.search.retrieve import Gathered

LEAST_MEANING = 0.34
"""Mean cosine of the best fault's nearest phrases below which the words are from another world."""
LEAST_KNOWN = 0.4
"""Part of the question's terms that the library has to know."""


def is_answered(question: Question, found: Gathered, faults: list[RankedFault], index: Index) -> bool:
    """Say whether the words point to a fault of the library."""
    if not faults:
        return False
    known = [index.knows(term) for term in terms(question.symptom)]
    meaning = found.faults.get("phrase meaning")
    best = max(meaning.scores.values(), default=0.0) if meaning else 0.0
    if not known or sum(known) / len(known) < LEAST_KNOWN:
        return False
    return best >= LEAST_MEANING
