"""The path from a question to an answer, as a list of steps."""

from time import perf_counter
from typing import TYPE_CHECKING

from kb.index.encode import Encoder
from kb.index.store import Index
from kb.model import Answer, Question, Skill, StopSign
from kb.search.caution import stop_sign
from kb.search.explain import explain_aside, explain_drill, explain_fault, explain_step
from kb.search.fitted import GENERAL, LEARNED
from kb.search.judge import is_answered
from kb.search.kit import KitReader
from kb.search.ladder import limited_ladder
from kb.search.learned import Learned
from kb.search.limits import Limits
from kb.search.rank import (
    FAULTS_SHOWN,
    LEAST_SHARE,
    RankedDrill,
    RankedFault,
    events_in_doubt,
    offer_both,
    rank_drills,
    rank_faults,
    split_by_limits,
)
from kb.search.read import read_question
from kb.search.retrieve import gather
from kb.search.skill import asked_skill
from kb.search.spelling import Speller

if TYPE_CHECKING:
    from kb.log.tally import Uses


class Searcher:
    """An open index, its encoder, and what is worked out once for all questions."""

    def __init__(
        self,
        index: Index,
        encoder: Encoder,
        without: frozenset[str] = frozenset(),
        learned: Learned | None = None,
    ) -> None:
        self.index, self.encoder, self.learned = index, encoder, learned
        self.fitted = LEARNED if learned else GENERAL
        self.without = without
        """Ways of looking to leave out, to see what each one is worth."""
        self.kit = KitReader(index.vocabulary)
        reading = index.vocabulary.reading
        plain_words = (*reading.contractions, *reading.plurals, *reading.numbers) if reading else ()
        self.speller = Speller(index.words | dict.fromkeys(plain_words, 1), encoder.is_word)


def ask(text: str, limits: Limits, searcher: Searcher, uses: "Uses | None" = None) -> Answer:
    """Answer a question: read, stop if it must, gather, rank, fit, explain, judge, and say what the practice log says.

    Raises UnknownName or OutOfRange for limits that the vocabulary does not have.
    """
    answer = _answer(text, limits, searcher)
    if not uses:
        return answer
    from kb.search.used import answer_with_log

    return answer_with_log(answer, uses, searcher.index)


def _answer(text: str, limits: Limits, searcher: Searcher) -> Answer:
    start = perf_counter()
    index, encoder = searcher.index, searcher.encoder
    question = read_question(text, limits, index.vocabulary, searcher.kit, searcher.speller)
    sign = stop_sign((question.text, searcher.speller.mend(question.text)[0]), index.vocabulary)
    if sign:
        return _stop(question, sign, start)
    skill = asked_skill(question, index)
    if skill:
        return _teach(skill, question, limits, index, start)
    everything = gather(question, encoder, index, searcher.learned)
    found = everything.less(searcher.without)
    faults = rank_faults(found, question, index, searcher.fitted)
    if not is_answered(question, everything, index, searcher.fitted):
        return _no_match(question, faults, index, start)
    doubt = events_in_doubt(faults, question, index, searcher.fitted)
    faults = offer_both(faults, doubt, index)
    both = tuple(fault.id for fault in faults[: len(doubt)])
    kept, aside = split_by_limits(rank_drills(faults, found, index, both), question, index, limits.top)
    named = [fault for fault in faults[:FAULTS_SHOWN] if fault.share >= LEAST_SHARE or fault.id in both]
    return Answer(
        question=question,
        verdict="answered",
        caution=None,
        faults=tuple(explain_fault(fault, index) for fault in named),
        drills=tuple(explain_drill(drill, question, found, index) for drill in kept),
        set_aside=tuple(explain_aside(drill.card, reason, question, index) for drill, reason in aside),
        took_ms=_since(start),
        which_event=doubt,
    )


def _teach(skill: Skill, question: Question, limits: Limits, index: Index, start: float) -> Answer:
    ladder = limited_ladder(skill.id, question, index)
    cards = [index.card(name) for rung in ladder.rungs[ladder.start - 1 :] for name in (rung.card, *rung.instead)]
    drills = [RankedDrill(card, 1 / place, "", "", 0) for place, card in enumerate(cards, start=1)]
    kept, aside = split_by_limits(drills, question, index, limits.top, for_skill=True)
    return Answer(
        question=question,
        verdict="answered",
        caution=None,
        faults=(),
        drills=tuple(explain_step(drill, skill, question, index) for drill in kept),
        set_aside=tuple(explain_aside(drill.card, reason, question, index) for drill, reason in aside),
        took_ms=_since(start),
        ladder=ladder,
    )


def _no_match(question: Question, faults: list[RankedFault], index: Index, start: float) -> Answer:
    near = tuple(explain_fault(fault, index) for fault in faults[:FAULTS_SHOWN])
    return Answer(question, "no_good_match", None, near, (), (), _since(start))


def _stop(question: Question, sign: StopSign, start: float) -> Answer:
    return Answer(question, "stop_and_refer", sign, (), (), (), _since(start))


def _since(start: float) -> float:
    return round((perf_counter() - start) * 1000, 2)
