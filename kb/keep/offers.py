"""What is offered for the fields of a new card, found by search; what is not in the vocabulary is doubted."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING, Any

from kb.keep.fields import Fields, equipment, kit_id
from kb.library.checks import rises
from kb.library.vocabulary import unknown_word
from kb.model import Card, Fault
from kb.model.keep import Choice

if TYPE_CHECKING:
    from kb.keep.draft import Drafter

MOST = 6
"""Choices offered at once."""
FAULTS, HANDS = 3, 2
SHORTEST_SENTENCE, MOST_SENTENCES = 3, 8
"""Words of a sentence that is asked by itself, and how many of a note are."""


def _words(fields: Fields) -> str:
    """Return what to search by: what the coach sees, else title and purpose."""
    return (
        fields.get("seen")
        or fields.get("noted")
        or " ".join(fields.get(name, "") for name in ("title", "Fixes", "Do"))[:300]
    )


def _event(drafter: Drafter, fields: Fields) -> tuple[Choice, ...]:
    answer = drafter.answer(_words(fields), None)
    first = [fault.event for fault in answer.faults] + [drill.event for drill in answer.drills]
    names = dict.fromkeys([*first, *drafter.words.events])
    return tuple(Choice(name, drafter.words.events[name].name) for name in names)


def _faults(drafter: Drafter, fields: Fields) -> list[Fault]:
    """Return the faults to offer: those that the words lead to, else those whose names are most alike."""
    from rapidfuzz import fuzz

    text, event = _words(fields), fields.get("event") or None
    event = event if event in drafter.words.events else None
    found = [drafter.words.faults[name] for name in _asked(drafter, text, event) if name in drafter.words.faults]
    others = [fault for fault in drafter.words.faults.values() if event in (None, fault.event) and fault not in found]
    others.sort(key=lambda fault: -fuzz.token_set_ratio(text.lower(), f"{fault.name} {fault.looks_like}".lower()))
    return [*found, *others][:FAULTS]


def _asked(drafter: Drafter, text: str, event: str | None) -> list[str]:
    """Return the faults that a text leads to as a whole or by one of its sentences, the surest first.

    In a note one sentence tells the fault and the others blur it; a sentence with a sign to stop leads nowhere.
    """
    sentences = [one for one in re.split(r"[.!?\n]+ *", text) if len(one.split()) >= SHORTEST_SENTENCE]
    share: dict[str, float] = {}
    for one in dict.fromkeys([text, *sentences[:MOST_SENTENCES]]):
        for match in drafter.answer(one, event).faults:
            share[match.id] = max(share.get(match.id, 0.0), match.share)
    return sorted(share, key=lambda name: -share[name])


def _corrects(drafter: Drafter, fields: Fields) -> tuple[Choice, ...]:
    from rapidfuzz import fuzz

    text = f"{_words(fields)} {fields.get('Fixes', '')} {fields.get('Do', '')}".lower()
    found: list[Choice] = []
    for fault in _faults(drafter, fields):
        causes = sorted(fault.causes, key=lambda c: -fuzz.token_set_ratio(text, f"{c.name} {c.tell}".lower()))
        found += [Choice(f"{fault.id}/{cause.id}/3", f"{fault.name}: {cause.name}") for cause in causes]
    return tuple(found[:MOST])


def _fault_of(drafter: Drafter, fields: Fields) -> Fault | None:
    return drafter.words.faults.get(fields.get("corrects", "").partition("/")[0].strip())


def _skills(drafter: Drafter, fields: Fields) -> tuple[Choice, ...]:
    fault, words = _fault_of(drafter, fields), drafter.words
    named = fault.skills if fault else ()
    event = fields.get("event")
    more = Counter(skill for card in drafter.collection.cards.values() if card.event == event for skill in card.skills)
    names = dict.fromkeys([*named, *(skill for skill, _ in more.most_common())])
    return tuple(Choice(name, words.skills[name].name) for name in names if name in words.skills)[:MOST]


def _level(drafter: Drafter, fields: Fields) -> tuple[Choice, ...]:
    """Return the levels at which the fault's first skill is usual, and those of the cards for it."""
    fault, words = _fault_of(drafter, fields), drafter.words
    skills = [words.skills[name] for name in (fault.skills if fault else ()) if name in words.skills]
    usual = [str(skill.level) for skill in skills[:1]]
    of_cards = Counter(
        str(card.level)
        for card in drafter.collection.cards.values()
        if fault and any(use.fault == fault.id for use in card.corrects)
    )
    names = dict.fromkeys([*usual, *(name for name, _ in of_cards.most_common(3))])
    if not names:
        low, high = min(words.levels, default=1), max(words.levels, default=1)
        names = dict.fromkeys([str(low) if low == high else f"{low}-{high}"])
    return tuple(Choice(name, f"level {name}") for name in names)


def _stage(drafter: Drafter, fields: Fields) -> tuple[Choice, ...]:
    """Return the stages, first the one that most cards of this event with this kit have."""
    kit = {piece["item"] for piece in equipment(fields.get("equipment", ""), drafter.words)}
    big = {item for item in kit if item in drafter.words.equipment and drafter.words.equipment[item].kind != "mat"}
    cards = [card for card in drafter.collection.cards.values() if card.event == fields.get("event")]
    alike = [card for card in cards if (big or kit) & {piece.item for piece in card.equipment}] if kit else []
    stages = drafter.words.stages
    lowest = sorted(stages, key=lambda name: stages[name].order)
    most = [name for name, _ in Counter(card.stage for card in alike).most_common(1)]
    names = dict.fromkeys([name for name in [*most, *lowest] if name in stages])
    return tuple(Choice(name, f"{stages[name].name}: {stages[name].means}") for name in names)


def _grade(drafter: Drafter, fields: Fields) -> tuple[Choice, ...]:
    grades = drafter.words.spotting
    usual = drafter.as_most("spotting.grade", fields)
    names = dict.fromkeys([name for name in [usual, *grades] if name in grades])
    return tuple(Choice(name, f"{grades[name].name}: {grades[name].means}") for name in names)


def _after(drafter: Drafter, fields: Fields) -> tuple[Choice, ...]:
    """Return cards that the rules allow to be ready on first: no stage jumped, no level skipped, one thing raised."""
    ranked = sorted(_before(drafter, fields), key=lambda pair: (-pair[0], pair[1].id))
    return tuple(Choice(card.id, f"{card.title} ({card.stage})") for _, card in ranked[:MOST])


def _before(drafter: Drafter, fields: Fields) -> Iterator[tuple[float, Card]]:
    order = {name: stage.order for name, stage in drafter.words.stages.items()}
    here = order.get(fields.get("stage", ""), 1)
    low = int((re.findall(r"\d+", fields.get("level", "")) or ["1"])[0])
    skills = re.split(r"; ?", fields.get("skills", ""))
    fault, demand = fields.get("corrects", "").partition("/")[0], _Demand(drafter, fields)
    for card in drafter.collection.cards.values():
        shared = len(set(skills) & set(card.skills))
        same_fault = any(use.fault == fault for use in card.corrects)
        if not shared and not same_fault:
            continue
        if not here - 1 <= order[card.stage] <= here or card.levels[0] > low:
            continue
        raised = sum(rises(card.demand, demand)) if card.demand else 0
        if raised <= 1:
            yield 2 * shared + same_fault + (order[card.stage] < here) + (skills[0] == card.skills[0]), card


class _Demand:
    """A demand as far as the fields tell it, else what is usual."""

    def __init__(self, drafter: Drafter, fields: Fields) -> None:
        for name in ("height", "speed", "rotation"):
            text = fields.get(f"demand.{name}") or drafter.as_most(f"demand.{name}", fields)
            setattr(self, name, int(text) if text.isdecimal() else 0)


def _twin(drafter: Drafter, fields: Fields) -> tuple[Choice, ...]:
    """Return cards for the same fault or skill that run without a spotter and are of no higher stage."""
    words, fault = drafter.words, fields.get("corrects", "").partition("/")[0]
    here = words.stages[fields["stage"]].order if fields.get("stage") in words.stages else 9
    skills = set(re.split(r"; ?", fields.get("skills", "")))
    found = [
        (any(use.fault == fault for use in card.corrects), words.stages[card.stage].order, card)
        for card in drafter.collection.cards.values()
        if words.spotting[card.spotting.grade].order < HANDS and words.stages[card.stage].order <= here
    ]
    found = [one for one in found if one[0] or skills & set(one[2].skills)]
    found.sort(key=lambda one: (not one[0], -one[1], one[2].id))
    return tuple(Choice(card.id, card.title) for _, _, card in found[:MOST])


def _lands_on(drafter: Drafter, fields: Fields) -> tuple[Choice, ...]:
    del drafter, fields
    return tuple(Choice(name, text) for name, text in LANDS_ON.items())


LANDS_ON = {
    "feet": "on her feet",
    "hands": "on her hands",
    "back": "on her back",
    "seat": "on her seat",
    "front": "on her front",
    "none": "nowhere: she stays where she is",
}
OFFERS: dict[str, Callable[[Drafter, Fields], tuple[Choice, ...]]] = {
    "event": _event,
    "corrects": _corrects,
    "level": _level,
    "skills": _skills,
    "stage": _stage,
    "load.on": _lands_on,
    "spotting.grade": _grade,
    "after": _after,
    "no_spot_twin": _twin,
}


def doubt(drafter: Drafter, name: str, held: Any) -> str:
    """Return what the vocabulary does not know in an answer, in a sentence; empty when it knows all."""
    words = drafter.words
    cards: Mapping[str, Any] = drafter.collection.cards
    kits = {kit_id(one, words): 1 for item in words.equipment.values() for one in (item.id, item.name)}
    known: dict[str, Mapping[str, Any]] = {
        "event": words.events,
        "stage": words.stages,
        "spotting.grade": words.spotting,
        "skills": words.skills,
        "equipment": kits,
        "after": cards,
        "no_spot_twin": cards,
        "corrects": words.faults,
    }
    if name not in known:
        return ""
    held = held if isinstance(held, list) else [held]
    names = [entry.get("item", entry.get("fault")) if isinstance(entry, dict) else entry for entry in held]
    bad = [unknown_word(str(one), known[name]) for one in names if one not in known[name]]
    where = "library" if name in ("after", "no_spot_twin") else "vocabulary"
    return "; ".join(bad).replace("the vocabulary", f"the {where}")
