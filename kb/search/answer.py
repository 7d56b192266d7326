"""The path from a question to an answer, as a list of steps."""

from time import perf_counter

from kb.index.encode import Encoder
from kb.index.store import Index
from kb.model import Answer, Question, SetAside, StopSign
from kb.search.caution import stop_sign
from kb.search.explain import explain_drill, explain_fault
from kb.search.judge import is_answered
from kb.search.kit import KitReader
from kb.search.limits import Limits
from kb.search.rank import FAULTS_SHOWN, LEAST_SHARE, rank_drills, rank_faults, split_by_limits
from kb.search.read import read_question
from kb.search.retrieve import gather
from kb.search.spelling import Speller


class Searcher:
    """An open index, its encoder, and what is worked out once for all questions."""

    def __init__(self, index: Index, encoder: Encoder) -> None:
        self.index, self.encoder = index, encoder
        self.kit = KitReader(index.vocabulary)
        self.speller = Speller(index.words, encoder.is_word)


def ask(text: str, limits: Limits, searcher: Searcher) -> Answer:
    """Answer a question: read, stop if it must, gather, rank, fit, explain, judge.

    Raises UnknownName or OutOfRange for limits that the vocabulary does not have.
    """
    start = perf_counter()
    index, encoder = searcher.index, searcher.encoder
    question = read_question(text, limits, index.vocabulary, searcher.kit, searcher.speller)
    sign = stop_sign(question.text, index.vocabulary.cautions.values())
    if sign:
        return _stop(question, sign, start)
    found = gather(question, encoder, index)
    faults = rank_faults(found, question, index)
    answered = is_answered(question, found, faults, index)
    shown = [fault for fault in faults[:FAULTS_SHOWN] if fault.share >= LEAST_SHARE or not answered]
    kept, aside = (
        split_by_limits(rank_drills(faults, found, index), question, index, limits.top) if answered else ([], [])
    )
    return Answer(
        question=question,
        verdict="answered" if answered else "no_good_match",
        caution=None,
        faults=tuple(explain_fault(fault, index) for fault in shown),
        drills=tuple(explain_drill(drill, question, found, index) for drill in kept),
        set_aside=tuple(SetAside(drill.card.id, reason) for drill, reason in aside),
        took_ms=_since(start),
    )


def _stop(question: Question, sign: StopSign, start: float) -> Answer:
    return Answer(question, "stop_and_refer", sign, (), (), (), _since(start))


def _since(start: float) -> float:
    return round((perf_counter() - start) * 1000, 2)
