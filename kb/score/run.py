"""Ask judged questions and collect what was right, by kind of question."""

import re
import time
from collections.abc import Callable, Iterable, Mapping

from msgspec import Struct

from kb.index.store import Index
from kb.model import Question
from kb.score.measure import measure_rankings
from kb.score.questions import JudgedQuestion
from kb.search import Limits, Searcher, ask
from kb.search.fuse import reciprocal_rank_fusion
from kb.search.rank import rank_faults
from kb.search.retrieve import LEARNED_WAYS, card_meaning, gather, learned_ways, phrase_meaning

FAULT_FIRST, FAULT_THREE, DRILLS = "Success(rel=2)@1", "Success(rel=2)@3", "nDCG@10"
LISTED = 10
"""Drills asked for when the ranking of drills is measured."""

Rankings = tuple[list[str], list[str]]
"""Faults and drills, each best first."""
System = Callable[[JudgedQuestion, str | None], Rankings]


class Asked(Struct, frozen=True):
    """A question with a number of its own, its author and half."""

    id: str
    author: int
    judged: JudgedQuestion


def gains(judged: JudgedQuestion, index: Index) -> dict[str, int]:
    """Return how useful each drill is: 2 when it is made for a right fault or helps with it, 1 when it is near."""
    found: dict[str, int] = {}
    for fault, grade in judged.faults.items():
        for card, _, weight in index.cards_of_fault.get(fault, []):
            gain = 2 if grade == 2 and weight >= 2 else 1 if grade == 2 or weight >= 2 else 0
            found[card] = max(found.get(card, 0), gain)
    return {card: gain for card, gain in found.items() if gain}


def full(searcher: Searcher) -> System:
    """The whole search as a coach gets it, except that limits in the words are left in: they change no fault."""
    taken_back = ("level", "without", "have", "spotters")

    def system(judged: JudgedQuestion, event: str | None) -> Rankings:
        answer = ask(judged.q, Limits(event=event, top=LISTED, ignore=taken_back), searcher)
        drills = [drill.id for drill in answer.drills]
        if answer.verdict != "answered" or answer.ladder:  # a refusal or a ladder names no fault
            return [], drills
        found = gather(answer.question, searcher.encoder, searcher.index, searcher.learned).less(searcher.without)
        return [fault.id for fault in rank_faults(found, answer.question, searcher.index, searcher.fitted)][
            :LISTED
        ], drills

    return system


def baselines(searcher: Searcher) -> dict[str, System]:
    """Return general searches over the same texts: SQLite's FTS5, meaning alone, and the two fused."""
    index, encoder = searcher.index, searcher.encoder

    def fts(judged: JudgedQuestion, event: str | None) -> Rankings:
        return _in_event(_fts(index, "fault_text", judged.q), event, index), _fts(index, "card_text", judged.q)

    def meaning(judged: JudgedQuestion, event: str | None) -> Rankings:
        question = Question(judged.q, judged.q)
        vector = encoder.encode([judged.q])[0]
        faults = phrase_meaning(question, vector, index).scores
        cards = card_meaning(question, vector, index).scores
        return _in_event(_best(faults), event, index), _best(cards)

    def fused(judged: JudgedQuestion, event: str | None) -> Rankings:
        (faults_a, cards_a), (faults_b, cards_b) = fts(judged, event), meaning(judged, event)
        return list(reciprocal_rank_fusion([faults_a, faults_b])), list(reciprocal_rank_fusion([cards_a, cards_b]))

    return {"FTS5 alone": fts, "meaning alone": meaning, "FTS5 and meaning fused": fused} | _learned_alone(searcher)


def _learned_alone(searcher: Searcher) -> dict[str, System]:
    """Return each classifier as a system of its own, without drills; nothing when the library has none."""
    index, encoder, learned = searcher.index, searcher.encoder, searcher.learned
    if learned is None:
        return {}

    def alone(way: str) -> System:
        def system(judged: JudgedQuestion, event: str | None) -> Rankings:
            ways = learned_ways(Question(judged.q, judged.q), encoder.encode([judged.q])[0], index, learned)
            return _in_event(_best(ways[way].scores), event, index), []

        return system

    return {f"{way} alone": alone(way) for way in LEARNED_WAYS}


def score(system: System, asked: Iterable[Asked], index: Index, *, event_given: bool) -> dict[str, dict[str, float]]:
    """Return for each measure its value for every question that is about a fault."""
    about = [entry for entry in asked if entry.judged.faults]
    rankings = {entry.id: system(entry.judged, _event(entry.judged, index) if event_given else None) for entry in about}
    faults = measure_rankings(
        {name: found[0] for name, found in rankings.items()},
        {entry.id: dict(entry.judged.faults) for entry in about},
        (FAULT_FIRST, FAULT_THREE),
    )
    drills = measure_rankings(
        {name: found[1][:LISTED] for name, found in rankings.items()},
        {entry.id: gains(entry.judged, index) for entry in about},
        (DRILLS,),
    )
    return faults | drills


def _event(judged: JudgedQuestion, index: Index) -> str:
    best = max(judged.faults, key=lambda fault: judged.faults[fault])
    return judged.event or index.vocabulary.faults[best].event


class Verdicts(Struct, frozen=True):
    """What became of every question: verdict, limits read right, skill found, milliseconds."""

    verdict: Mapping[str, str]
    limits_right: Mapping[str, bool]
    skill_right: Mapping[str, bool]
    took_ms: tuple[float, ...]


def verdicts(searcher: Searcher, asked: Iterable[Asked]) -> Verdicts:
    """Ask every question as it stands and collect the verdicts."""
    verdict: dict[str, str] = {}
    limits: dict[str, bool] = {}
    skills: dict[str, bool] = {}
    took: list[float] = []
    for entry in asked:
        start = time.perf_counter()
        answer = ask(entry.judged.q, Limits(), searcher)
        took.append((time.perf_counter() - start) * 1000)
        verdict[entry.id] = answer.verdict
        if entry.judged.limits:
            limits[entry.id] = limits_read(answer.question) == _plain(entry.judged.limits)
        if entry.judged.skill:
            skills[entry.id] = bool(answer.ladder and answer.ladder.skill == entry.judged.skill)
    return Verdicts(verdict, limits, skills, tuple(sorted(took)))


def limits_read(question: Question) -> dict[str, object]:
    """Return the limits that were read from the words, without the event, in the form of a judged question."""
    names = ("level", "age", "height_cm", "spotters", "group", "without")
    found: dict[str, object] = {name: getattr(question, name) for name in names if name in question.read}
    if "have" in question.read:
        found["only"] = [item for item, count in (question.have or {}).items() if count]
    return _plain(found)


def _plain(limits: Mapping[str, object]) -> dict[str, object]:
    """Return limits in a form in which two of them can be compared; of 'only' just that something was read."""
    plain = {name: sorted(value) if isinstance(value, (list, tuple)) else value for name, value in limits.items()}
    return plain | ({"only": True} if "only" in plain else {})


def _best(scores: Mapping[str, float]) -> list[str]:
    return sorted(scores, key=lambda name: (-scores[name], name))


def _in_event(faults: list[str], event: str | None, index: Index) -> list[str]:
    return [fault for fault in faults if event in (None, index.vocabulary.faults[fault].event)]


def _fts(index: Index, table: str, text: str) -> list[str]:
    words = " OR ".join(f'"{word}"' for word in re.findall(r"[^\W_]+", text))
    key = "card" if table == "card_text" else "fault"
    query = (
        f"select {key} from {table} join {table}_fts on {table}.rowid = {table}_fts.rowid "  # noqa: S608 - fixed names
        f"where {table}_fts match ? order by bm25({table}_fts) limit 50"
    )
    return [name for (name,) in index.db.execute(query, (words,))] if words else []
