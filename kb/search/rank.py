"""Evidence for faults becomes a ranking of faults, and that becomes a ranking of the drills that mend them."""

import math

from msgspec import Struct

from kb.index.store import Index
from kb.model import Card, Question
from kb.search.fit import why_set_aside
from kb.search.fitted import Fitted
from kb.search.fuse import reciprocal_rank_fusion, scaled
from kb.search.retrieve import Evidence, Gathered

FAULTS_SHOWN = 3
LEAST_SHARE = 0.05
"""A fault with less of the evidence than this brings no drills."""
OF_FAULT, OF_CARD = 0.75, 0.25
"""How much the fault it mends and the card's own words count in a drill's score."""
STAGE_STEP = 0.02
"""Taken off the score for each stage above the floor: of two equal drills the lower one comes first."""
SET_ASIDE_SHOWN = 8
TWIN_FACTOR = 0.8
"""What is left of a drill's score after each drill before it with the same fault, cause and stage."""


class RankedFault(Struct, frozen=True):
    """A fault and its part of the evidence."""

    id: str
    score: float
    share: float


class RankedDrill(Struct, frozen=True):
    """A drill, its score, and the fault and cause that brought it (empty when its own words did)."""

    card: Card
    score: float
    fault: str
    cause: str
    weight: int


def rank_faults(found: Gathered, question: Question, index: Index, fitted: Fitted) -> list[RankedFault]:
    """Return faults, best first, with shares that add up to 1.

    Each way of looking is brought to one scale (standard scores over the faults) and the ways are added up.
    """
    faults = index.vocabulary.faults
    heard = "event" in question.read  # an event heard in the words is a strong hint, one given as an option a limit
    open_to = [name for name in index.fault_ids if heard or question.event in (None, faults[name].event)]
    total = {name: fitted.event_bonus if heard and faults[name].event == question.event else 0.0 for name in open_to}
    for way, evidence in found.faults.items():
        for name, score in standard_scores(evidence, open_to).items():
            total[name] += fitted.way_weights[way] * score
    ordered = sorted(total.items(), key=lambda item: (-item[1], item[0]))
    weights = [math.exp(fitted.sharpness * (score - ordered[0][1])) for _, score in ordered] if ordered else []
    return [
        RankedFault(name, score, weight / sum(weights)) for (name, score), weight in zip(ordered, weights, strict=True)
    ]


def standard_scores(evidence: Evidence, names: list[str]) -> dict[str, float]:
    """Return (score - mean) / deviation over the names; nothing when the evidence tells none apart."""
    values = [evidence.scores.get(name, 0.0) for name in names]
    if not values:
        return {}
    mean = sum(values) / len(values)
    deviation = math.sqrt(sum((value - mean) ** 2 for value in values) / len(values))
    return (
        {name: (value - mean) / deviation for name, value in zip(names, values, strict=True)}
        if deviation > 1e-9
        else {}
    )


def events_in_doubt(faults: list[RankedFault], question: Question, index: Index, fitted: Fitted) -> tuple[str, ...]:
    """Return the two events that the words fit about equally, or nothing when one is clear."""
    if question.event is not None:
        return ()
    best: dict[str, float] = {}
    for fault in faults:
        best.setdefault(index.vocabulary.faults[fault.id].event, fault.share)
    first, second = (*best, "", "")[:2]
    return (first, second) if second and best[second] >= fitted.both_events * best[first] else ()


def offer_both(faults: list[RankedFault], doubt: tuple[str, ...], index: Index) -> list[RankedFault]:
    """Return the faults with the best one of each event in doubt in front, so that drills for both are offered."""
    if not doubt:
        return faults
    events = index.vocabulary.faults
    front = [next(fault for fault in faults if events[fault.id].event == event) for event in doubt]
    return [*front, *(fault for fault in faults if fault not in front)]


def rank_drills(
    faults: list[RankedFault], found: Gathered, index: Index, both: tuple[str, ...] = ()
) -> list[RankedDrill]:
    """Return every drill with evidence, best first; `both` names faults that are offered side by side."""
    direct = scaled(reciprocal_rank_fusion([_ordered(evidence) for evidence in found.cards.values()]))
    best: dict[str, tuple[float, str, str, int]] = {}
    top_share = faults[0].share if faults else 1.0
    for place, fault in enumerate(faults[:FAULTS_SHOWN]):
        offered = fault.id in both
        if fault.share < LEAST_SHARE and not offered:
            continue
        # Faults between which the words do not decide bring their drills side by side.
        strength = 1 - 0.01 * place if offered else fault.share / top_share
        for card, cause, weight in index.cards_of_fault.get(fault.id, []):
            entry = (strength * weight / 3, fault.id, cause, weight)
            best[card] = max(best.get(card, entry), entry, key=lambda e: e[0])
    drills = [_drill(name, best.get(name), direct.get(name, 0.0), index) for name in sorted({*best, *direct})]
    return sorted(drills, key=lambda drill: (-drill.score, drill.card.id))


def _drill(name: str, of_fault: tuple[float, str, str, int] | None, of_card: float, index: Index) -> RankedDrill:
    card = index.card(name)
    mends, fault, cause, weight = of_fault or (0.0, "", "", 0)
    height = index.vocabulary.stages[card.stage].order - 1
    return RankedDrill(card, OF_FAULT * mends + OF_CARD * of_card - STAGE_STEP * height, fault, cause, weight)


def split_by_limits(
    drills: list[RankedDrill], question: Question, index: Index, top: int, *, for_skill: bool = False
) -> tuple[list[RankedDrill], list[tuple[RankedDrill, str]]]:
    """Return the first `top` drills that fit, and those before and among them that do not, with the reason."""
    fitting: list[RankedDrill] = []
    aside: list[tuple[RankedDrill, str]] = []
    for drill in drills:
        if not drill.fault and not for_skill:  # only drills for a fault are answers; words alone are not enough
            continue
        reason = _other_event(drill, question) or why_set_aside(drill.card, question, index)
        if reason is None:
            fitting.append(drill)
        elif len(fitting) < top:
            aside.append((drill, reason))
    return (fitting if for_skill else varied(fitting))[:top], aside[:SET_ASIDE_SHOWN]


def varied(drills: list[RankedDrill]) -> list[RankedDrill]:
    """Return the drills in an order in which near-twins (same fault, cause and stage) do not follow one another."""
    left, ordered = list(drills), []
    seen: dict[tuple[str, str, str], int] = {}
    while left:
        best = max(left, key=lambda drill: drill.score * TWIN_FACTOR ** seen.get(_kind(drill), 0))
        left.remove(best)
        ordered.append(best)
        seen[_kind(best)] = seen.get(_kind(best), 0) + 1
    return ordered


def _kind(drill: RankedDrill) -> tuple[str, str, str]:
    return drill.fault, drill.cause, drill.card.stage


def _other_event(drill: RankedDrill, question: Question) -> str | None:
    wanted = None if "event" in question.read else question.event
    if wanted is None or drill.card.event in (wanted, "shapes"):
        return None
    return f"it is a {drill.card.event} drill, you asked for {wanted}"


def _ordered(evidence: Evidence) -> list[str]:
    return sorted(evidence.scores, key=lambda name: (-evidence.scores[name], name))
