"""The JSON interface: what the pages show, for other programs. site/openapi.json describes it."""

from collections.abc import Callable
from typing import Any

from kb.browse.desk import Desk
from kb.browse.pages import Query, answer_of, asked_of, first, number, tray_cards, whole
from kb.errors import OutOfRange, UnknownName

Reply = Callable[[Desk, dict[str, str], Query], Any]


def ask(desk: Desk, _: dict[str, str], query: Query) -> Any:
    """Answer a question."""
    asked = asked_of(query)
    if not asked["q"]:
        raise OutOfRange("The question", "empty", "given as ?q=WORDS")
    return answer_of(desk, asked)


def drills(desk: Desk, _: dict[str, str], query: Query) -> Any:
    """Return all drills, or those of an event, in short."""
    event = first(query, "event")
    if event and event not in desk.library.vocabulary.events:
        raise UnknownName("event", [event], desk.library.vocabulary.events)
    cards = [desk.library.card(name) for name in desk.library.index.card_ids]
    return [
        {"id": c.id, "title": c.title, "event": c.event, "level": c.levels, "stage": c.stage}
        for c in cards
        if not event or c.event == event
    ]


def drill(desk: Desk, names: dict[str, str], _: Query) -> Any:
    """Return one card, whole."""
    return desk.library.card(names["id"])


def size(desk: Desk, names: dict[str, str], query: Query) -> Any:
    """Return the sizes of a card's station."""
    height, age = number(query, "height", "The height"), number(query, "age", "The age")
    return desk.library.size(names["id"], height=height, age=age, level=whole(query, "level", "The level"))


def ladder(desk: Desk, names: dict[str, str], query: Query) -> Any:
    """Return the ladder of a skill or of a card's main skill."""
    return desk.library.ladder(
        names["id"],
        level=whole(query, "level", "The level"),
        spotters=whole(query, "spotters", "The number of spotters"),
        afraid=first(query, "afraid") in ("1", "on", "yes"),
    )


def ladders(desk: Desk, _: dict[str, str], query: Query) -> Any:
    """Return the skills that have a ladder, or those of an event, with the number of rungs."""
    event = first(query, "event")
    words = desk.library.vocabulary
    if event and event not in words.events:
        raise UnknownName("event", [event], words.events)
    found = [(skill, len(desk.library.index.ladder(skill.id))) for skill in words.skills.values()]
    return [
        {"id": skill.id, "name": skill.name, "event": skill.event, "level": str(skill.level), "rungs": rungs}
        for skill, rungs in found
        if rungs and (not event or skill.event == event)
    ]


def faults(desk: Desk, _: dict[str, str], query: Query) -> Any:
    """Return the faults, or those of an event."""
    event = first(query, "event")
    words = desk.library.vocabulary
    if event and event not in words.events:
        raise UnknownName("event", [event], words.events)
    return [fault for fault in words.faults.values() if not event or fault.event == event]


def fault(desk: Desk, names: dict[str, str], _: Query) -> Any:
    """Return one fault with its causes."""
    words = desk.library.vocabulary
    if names["id"] not in words.faults:
        raise UnknownName("fault", [names["id"]], words.faults)
    return words.faults[names["id"]]


def kit(desk: Desk, _: dict[str, str], query: Query) -> Any:
    """Return all kinds of kit; with ?have= the ids of the drills that can be done with it."""
    words = desk.library.vocabulary
    have = frozenset(name for name in query.get("have", []) if name)
    if unknown := [name for name in have if name not in words.equipment]:
        raise UnknownName("piece of kit", unknown, words.equipment)
    return {
        "kit": list(words.equipment.values()),
        "drills": [card.id for card in desk.doable(have)] if have else [],
    }


def tray(desk: Desk, _: dict[str, str], query: Query) -> Any:
    """Return the cards of a tray."""
    return tray_cards(desk, query)


ANSWERS: dict[str, Reply] = {
    r"^/api/ask$": ask,
    r"^/api/drills$": drills,
    r"^/api/drill/(?P<id>[a-z0-9-]{1,80})$": drill,
    r"^/api/drill/(?P<id>[a-z0-9-]{1,80})/size$": size,
    r"^/api/ladder/(?P<id>[a-z0-9-]{1,80})$": ladder,
    r"^/api/ladders$": ladders,
    r"^/api/faults$": faults,
    r"^/api/fault/(?P<id>[a-z0-9-]{1,80})$": fault,
    r"^/api/kit$": kit,
    r"^/api/tray$": tray,
}
"""Address to the function that answers it."""
