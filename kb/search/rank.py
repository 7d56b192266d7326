"""Evidence for faults becomes a ranking of faults, and that becomes a ranking of the drills that mend them."""

import math

from msgspec import Struct

from kb.index.store import Index
from kb.model import Card, Question
from kb.search.fit import why_set_aside
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


def rank_faults(found: Gathered, question: Question, index: Index) -> list[RankedFault]:
    """Return faults, best first, with shares that add up to 1.

    Each way of looking is brought to one scale (standard scores over the faults) and the ways are added up.
    """
    faults = index.vocabulary.faults
    open_to = [name for name in index.fault_ids if question.event in (None, faults[name].event)]
    total = dict.fromkeys(open_to, 0.0)
    for evidence in found.faults.values():
        for name, score in standard_scores(evidence, open_to).items():
            total[name] += score
    ordered = sorted(total.items(), key=lambda item: (-item[1], item[0]))
    weights = [math.exp(score - ordered[0][1]) for _, score in ordered] if ordered else []
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


def rank_drills(faults: list[RankedFault], found: Gathered, index: Index) -> list[RankedDrill]:
    """Return every drill with evidence, best first."""
    direct = scaled(reciprocal_rank_fusion([_ordered(evidence) for evidence in found.cards.values()]))
    best: dict[str, tuple[float, str, str, int]] = {}
    top_share = faults[0].share if faults else 1.0
    for fault in faults[:FAULTS_SHOWN]:
        if fault.share < LEAST_SHARE:
            break
        for card, cause, weight in index.cards_of_fault.get(fault.id, []):
            entry = (fault.share / top_share * weight / 3, fault.id, cause, weight)
            best[card] = max(best.get(card, entry), entry, key=lambda e: e[0])
    drills = [_drill(name, best.get(name), direct.get(name, 0.0), index) for name in sorted({*best, *direct})]
    return sorted(drills, key=lambda drill: (-drill.score, drill.card.id))


def _drill(name: str, of_fault: tuple[float, str, str, int] | None, of_card: float, index: Index) -> RankedDrill:
    card = index.card(name)
    mends, fault, cause, weight = of_fault or (0.0, "", "", 0)
    height = index.vocabulary.stages[card.stage].order - 1
    return RankedDrill(card, OF_FAULT * mends + OF_CARD * of_card - STAGE_STEP * height, fault, cause, weight)


def split_by_limits(
    drills: list[RankedDrill], question: Question, index: Index, top: int
) -> tuple[list[RankedDrill], list[tuple[RankedDrill, str]]]:
    """Return the first `top` drills that fit, and those before and among them that do not, with the reason."""
    kept: list[RankedDrill] = []
    aside: list[tuple[RankedDrill, str]] = []
    for drill in drills:
        if len(kept) == top or not drill.fault:  # only drills for a fault are answers; words alone are not enough
            continue
        reason = _other_event(drill, question) or why_set_aside(drill.card, question, index)
        if reason is None:
            kept.append(drill)
        else:
            aside.append((drill, reason))
    return kept, aside[:SET_ASIDE_SHOWN]


def _other_event(drill: RankedDrill, question: Question) -> str | None:
    wanted = question.event
    if wanted is None or drill.card.event in (wanted, "shapes"):
        return None
    return f"it is a {drill.card.event} drill, you asked for {wanted}"


def _ordered(evidence: Evidence) -> list[str]:
    return sorted(evidence.scores, key=lambda name: (-evidence.scores[name], name))
