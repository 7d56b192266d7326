"""Why a drill is in the answer: made from the evidence that ranked it, and from nothing else."""

import re

from kb.errors import UsageError
from kb.index.store import Index
from kb.index.words import terms
from kb.ladder import ladder_place
from kb.model import Card, CauseMatch, DrillMatch, FaultMatch, LadderPlace, Question, SetAside, SizedPiece, Skill
from kb.search.fit import stand_in, why_set_aside
from kb.search.rank import RankedDrill, RankedFault
from kb.search.retrieve import Gathered

WEIGHT_WORDS = {3: "made for it", 2: "helps with it", 1: "helps a little"}
SHORTEST_WORD = 3
"""Letters from which a shared word is worth naming."""
CLOSE = 0.35
"""Cosine from which a passage or phrase counts as close in meaning."""


def explain_fault(ranked: RankedFault, index: Index) -> FaultMatch:
    """Return a fault with its causes and their checks."""
    fault = index.vocabulary.faults[ranked.id]
    causes = tuple(CauseMatch(cause.id, cause.name, cause.tell) for cause in fault.causes)
    return FaultMatch(fault.id, fault.event, fault.name, round(ranked.share, 4), causes)


def explain_drill(drill: RankedDrill, question: Question, found: Gathered, index: Index) -> DrillMatch:
    """Return a drill with the reasons that put it there, its kit, its spotting and its rung."""
    return _match(drill, _reasons(drill, question, found, index), index.place(drill.card), question, index)


def explain_step(drill: RankedDrill, skill: Skill, question: Question, index: Index) -> DrillMatch:
    """Return a drill of the ladder of a skill that was asked for."""
    place = ladder_place(drill.card, index.ladder(skill.id), skill.id)
    return _match(drill, [f"rung {place.rung} of {place.of} to {skill.name}"], place, question, index)


def explain_aside(card: Card, reason: str, question: Question, index: Index) -> SetAside:
    """Return a drill that a limit took away, with the twin that stands in for it if that one fits."""
    twin = card.no_spot_twin
    fits = twin is not None and why_set_aside(index.card(twin), question, index) is None
    return SetAside(card.id, reason, card.title, twin if fits else None)


def _match(drill: RankedDrill, reasons: list[str], place: LadderPlace, question: Question, index: Index) -> DrillMatch:
    card = drill.card
    return DrillMatch(
        id=card.id,
        title=card.title,
        event=card.event,
        level=card.levels,
        score=round(drill.score, 4),
        fault=drill.fault,
        cause=drill.cause,
        why=tuple(reasons),
        equipment=tuple(_kit(card, question, index)),
        spotting={"grade": card.spotting.grade, "spotters": card.spotting.spotters, "hands": card.spotting.hands},
        ladder=place,
        ready_when=card.ready_when,
        caution=stop_line(card),
        sizes=_sizes(card, question, index),
    )


def _sizes(card: Card, question: Question, index: Index) -> tuple[SizedPiece, ...]:
    """Return the sizes of the station when the child's height or age is known; none for a child outside the rules."""
    if not card.size or (question.height_cm is None and question.age is None):
        return ()
    from kb.size import child_of, station_sizes

    kit = question.kit
    if kit is None and question.have is not None:
        kit = tuple((name, count, None) for name, count in question.have.items())
    try:
        child = child_of(question.height_cm, question.age, question.level)
        sizes = station_sizes(card, [child], index.vocabulary, kit, advise=False)
    except UsageError:
        return ()
    return sizes.pieces if sizes else ()


def stop_line(card: Card) -> str:
    """Return the line of 'Keep safe' that says when to stop."""
    bullets = re.findall(r"^[-*] +(.+)$", card.sections["Keep safe"], re.M)
    return next((bullet for bullet in bullets if bullet.lower().startswith("stop")), bullets[0] if bullets else "")


def _reasons(drill: RankedDrill, question: Question, found: Gathered, index: Index) -> list[str]:
    reasons = []
    if drill.fault:
        fault = index.vocabulary.faults[drill.fault]
        cause = next(cause for cause in fault.causes if cause.id == drill.cause)
        reasons.append(f"{WEIGHT_WORDS[drill.weight]}: {fault.name} - {cause.name}")
        reasons += _heard(drill.fault, found, index)
    shared = _shared_words(drill.card, question, found, index)
    if shared:
        reasons.append(f"your words on the card: {', '.join(shared)}")
    meaning = found.cards.get("meaning")
    if meaning and meaning.scores.get(drill.card.id, 0) >= CLOSE:
        reasons.append(f"close in meaning to its '{meaning.because[drill.card.id]}'")
    return reasons


def _heard(fault: str, found: Gathered, index: Index) -> list[str]:
    evidence = found.faults.get("phrase meaning")
    if (
        evidence
        and evidence.scores.get(fault, 0) >= CLOSE
        and evidence.because[fault] != index.vocabulary.faults[fault].name
    ):
        return [f'your words are close to "{evidence.because[fault]}"']
    return []


def _shared_words(card: Card, question: Question, found: Gathered, index: Index) -> list[str]:
    evidence = found.cards.get("words")
    if not evidence or card.id not in evidence.scores:
        return []
    words = dict.fromkeys(re.findall(r"[^\W_]+(?:[-'][^\W_]+)*", question.symptom.lower()))
    telling = (word for word in words if len(word) >= SHORTEST_WORD)
    return [word for word in telling if any(index.card_holds(card.id, term) for term in terms(word))][:4]


def _kit(card: Card, question: Question, index: Index) -> list[str]:
    equipment = index.vocabulary.equipment
    names = []
    for piece in card.equipment:
        used = stand_in(piece, question, equipment) or piece.item
        name = equipment[used].name.lower()
        count = f"{piece.count} × " if piece.count > 1 else ""
        instead = f" (instead of {equipment[piece.item].name.lower()})" if used != piece.item else ""
        names.append(f"{count}{name}{instead}")
    return names
