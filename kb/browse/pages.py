"""Our pages, one function each: what is asked is read from the address, what is shown comes from the library."""

from collections.abc import Callable
from typing import Any
from urllib.parse import urlencode

from kb.browse.desk import Desk
from kb.browse.markdown import cues, to_html
from kb.browse.words import drill_words, kit_of, levels, link, readings, sentences, size_words
from kb.errors import OutOfRange, UnknownName
from kb.model import Card, Ladder
from kb.search.explain import stop_line

Context = dict[str, Any]
Query = dict[str, list[str]]
Page = Callable[[Desk, dict[str, str], Query], Context]

EXAMPLES = (
    "piking on vault landing",
    "short handstand on beam",
    "bends her arms in the cast",
    "round-off lands chest down",
    "afraid to let go for the high bar",
    "how do I teach a kip, level 4",
)
MOST_IN_TRAY = 24
"""Drills in one tray."""
KINDRED = 4
"""Kindred drills that are shown on a drill's page."""


def first(query: Query, name: str) -> str:
    """Return the first value of a name in the address, without spaces around it."""
    return (query.get(name) or [""])[0].strip()


def number(query: Query, name: str, what: str) -> float | None:
    """Return a number of the address, or None when it is not there. Raises OutOfRange for words."""
    text = first(query, name).replace(",", ".")
    if not text:
        return None
    try:
        return float(text)
    except ValueError:
        raise OutOfRange(what, f"'{text[:20]}'", "a number") from None


def whole(query: Query, name: str, what: str) -> int | None:
    """Return a whole number of the address, or None when it is not there."""
    value = number(query, name, what)
    if value is not None and abs(value) > 1_000_000:
        raise OutOfRange(what, f"{value:g}", "smaller")
    return None if value is None else round(value)


def asked_of(query: Query) -> dict[str, Any]:
    """Return the question and its limits as they stand in the address."""
    return {
        "q": first(query, "q")[:500],
        "event": first(query, "event"),
        "level": whole(query, "level", "The level"),
        "height": whole(query, "height", "The height"),
        "spotters": whole(query, "spotters", "The number of spotters"),
        "without": [name for name in query.get("without", []) if name][:40],
        "ignore": [name for name in query.get("ignore", []) if name][:20],
        "top": whole(query, "top", "How many drills"),
    }


def answer_of(desk: Desk, asked: dict[str, Any]) -> Any:
    """Return the answer to what is asked. Raises UnknownName or OutOfRange."""
    answer = desk.library.ask(
        asked["q"],
        event=asked["event"] or None,
        level=asked["level"],
        height=asked["height"],
        spotters=asked["spotters"],
        without=tuple(asked["without"]),
        ignore=tuple(asked["ignore"]),
        top=min(max(asked["top"] or 5, 1), 20),
    )
    desk.library.note_question(answer, follows=False)
    return answer


def ask(desk: Desk, _: dict[str, str], query: Query) -> Context:
    """The first page: the question, and the answer when there is one."""
    asked = asked_of(query)
    words = desk.library.vocabulary
    context: Context = {
        "asked": asked,
        "examples": [{"text": text, "href": link({"q": text})} for text in EXAMPLES],
        "events": list(words.events.values()),
        "levels": list(words.levels),
        "tools": [item for item in words.equipment.values() if item.kind in ("mat", "apparatus", "block")],
    }
    if asked["q"]:
        answer = answer_of(desk, asked)
        question = answer.question
        context |= {
            "answer": answer,
            "stop": sentences(answer.caution.say) if answer.caution else [],
            "read": readings(question, asked),
            "drills": [drill_words(drill, words, desk.library.card(drill.id)) for drill in answer.drills],
            "which": [(words.events[event].name, link(asked, event=event)) for event in answer.which_event],
            "event_names": {event.id: event.name for event in words.events.values()},
            "ladder_name": words.skills[answer.ladder.skill].name if answer.ladder else "",
            "more": link(asked, top=min((asked["top"] or 5) + 5, 20))
            if len(answer.drills) == (asked["top"] or 5)
            else "",
            "keep": urlencode([(n, str(asked[n])) for n in ("level", "height") if asked[n]]),
        }
    return context


def drill(desk: Desk, names: dict[str, str], query: Query) -> Context:
    """One drill, at the size of a child when her height or age is given."""
    library = desk.library
    card, words = library.card(names["id"]), library.vocabulary
    height, age = number(query, "height", "The height"), number(query, "age", "The age")
    level = whole(query, "level", "The level")
    sizes = desk.sizes(card.id, height, age, level)
    place = library.index.place(card)
    ladder = library.ladder(card.id, level=level)
    drawn = library.drawn_for(card.id, sizes) if card.figure else 0
    known = [(n, f"{v:g}") for n, v in (("height", height), ("age", age), ("level", level)) if v]
    return {
        "card": card,
        "event": words.events[card.event].name,
        "levels": levels(card.levels),
        "stage": words.stages[card.stage],
        "grade": words.spotting[card.spotting.grade],
        "kit": kit_of(card, words),
        "cues": cues(card.sections["Say"]),
        "sections": [(name, to_html(text)) for name, text in card.sections.items() if name not in ("Say", "Keep safe")],
        "keep_safe": to_html(card.sections["Keep safe"]),
        "faults": [words.faults[use.fault] for use in card.corrects if use.fault in words.faults],
        "skill": words.skills[place.skill],
        "rungs": rung_list(ladder),
        "after": [(name, library.card(name).title) for name in card.after if name in library.index.card_ids],
        "twin": library.card(card.no_spot_twin) if card.no_spot_twin in library.index.card_ids else None,
        "kindred": kindred(desk, card),
        "sizes": sizes,
        "pieces": [size_words(piece) for piece in sizes.pieces] if sizes else [],
        "height": first(query, "height"),
        "age": first(query, "age"),
        "level": level,
        "drawn": drawn,
        "drawing": f"/drill/{card.id}.svg?{urlencode(known)}" if known else f"/drill/{card.id}.svg",
        "keep": urlencode(known),
    }


def rung_list(ladder: Ladder) -> list[Context]:
    """Return the rungs of a ladder, the highest first, with the one asked for marked."""
    rungs = [
        {
            "number": rung.rung,
            "id": rung.card,
            "title": rung.title,
            "levels": levels(rung.level),
            "ready_when": rung.ready_when,
            "instead": list(rung.instead),
            "ways": rung.ways,
            "closed": rung.closed,
            "here": rung.rung == ladder.here,
            "start": rung.rung == ladder.start,
        }
        for rung in ladder.rungs
    ]
    return rungs[::-1]


def kindred(desk: Desk, card: Card) -> list[Card]:
    """Return drills that mend the same faults, the most alike first."""
    index = desk.library.index
    scores: dict[str, float] = {}
    for use in card.corrects:
        for other, cause, weight in index.cards_of_fault.get(use.fault, []):
            if other != card.id:
                scores[other] = scores.get(other, 0.0) + weight * use.weight * (1.5 if cause == use.cause else 1.0)
    best = sorted(scores, key=lambda name: (-scores[name], name))[:KINDRED]
    return [index.card(name) for name in best]


def say(desk: Desk, names: dict[str, str], _: Query) -> Context:
    """The cues of a drill, big, for reading out."""
    card = desk.library.card(names["id"])
    return {"card": card, "cues": cues(card.sections["Say"]), "stop": stop_line(card)}


def faults(desk: Desk, _: dict[str, str], query: Query) -> Context:
    """All faults by event and phase, for those who do not know the word for what they see."""
    words = desk.library.vocabulary
    chosen = first(query, "event")
    if chosen and chosen not in words.events:
        raise UnknownName("event", [chosen], words.events)
    groups = []
    for event in words.events.values():
        here = [fault for fault in words.faults.values() if fault.event == event.id]
        phases = [(phase.replace("-", " "), [f for f in here if f.phase == phase]) for phase in event.phases]
        if not chosen or event.id == chosen:
            groups.append((event, [(phase, found) for phase, found in phases if found]))
    return {"groups": groups, "events": list(words.events.values()), "chosen": chosen}


def fault(desk: Desk, names: dict[str, str], _: Query) -> Context:
    """One fault: how it looks, its causes with their checks, the drills for each cause."""
    words, index = desk.library.vocabulary, desk.library.index
    found = words.faults.get(names["id"])
    if found is None:
        raise UnknownName("fault", [names["id"]], words.faults)
    mending = index.cards_of_fault.get(found.id, [])
    causes = []
    for cause in found.causes:
        others = [card for card, by, weight in mending if by == cause.id and card not in cause.first and weight > 1]
        drills = [index.card(name) for name in (*cause.first, *others) if name in index.card_ids]
        causes.append((cause, [(card, levels(card.levels), words.stages[card.stage].name.lower()) for card in drills]))
    return {
        "fault": found,
        "event": words.events[found.event],
        "causes": causes,
        "deduction": words.deductions.get(found.deduction) if found.deduction else None,
        "skills": [words.skills[name] for name in found.skills if name in words.skills],
    }


def ladders(desk: Desk, _: dict[str, str], query: Query) -> Context:
    """All skills that have a ladder, by event."""
    words, index = desk.library.vocabulary, desk.library.index
    chosen = first(query, "event")
    if chosen and chosen not in words.events:
        raise UnknownName("event", [chosen], words.events)
    groups = []
    for event in words.events.values():
        skills = [(skill, len(index.ladder(skill.id))) for skill in words.skills.values() if skill.event == event.id]
        if (not chosen or event.id == chosen) and any(rungs for _, rungs in skills):
            groups.append((event, [(skill, rungs) for skill, rungs in skills if rungs]))
    return {"groups": groups, "events": list(words.events.values()), "chosen": chosen}


def ladder(desk: Desk, names: dict[str, str], query: Query) -> Context:
    """One ladder, drawn from the lowest rung up."""
    words = desk.library.vocabulary
    if names["id"] not in words.skills:
        raise UnknownName("skill", [names["id"]], words.skills)
    level, spotters = whole(query, "level", "The level"), whole(query, "spotters", "The number of spotters")
    found = desk.library.ladder(
        names["id"], level=level, spotters=spotters, afraid=first(query, "afraid") in ("1", "on", "yes")
    )
    return {
        "skill": words.skills[names["id"]],
        "event": words.events[words.skills[names["id"]].event],
        "rungs": rung_list(found),
        "stops": {rung.card: stop_line(desk.library.card(rung.card)) for rung in found.rungs},
        "keep": urlencode([("level", level)]) if level else "",
        "aside": found.set_aside,
        "level": level,
        "levels": list(words.levels),
        "spotters": spotters,
        "afraid": first(query, "afraid"),
        "titles": {name: desk.library.card(name).title for rung in found.rungs for name in rung.instead},
    }


def kit(desk: Desk, _: dict[str, str], query: Query) -> Context:
    """What can be done with what is there."""
    words = desk.library.vocabulary
    have = frozenset(name for name in query.get("have", []) if name)
    if unknown := [name for name in have if name not in words.equipment]:
        raise UnknownName("piece of kit", unknown, words.equipment)
    kinds = {"mat": "Mats", "block": "Blocks", "apparatus": "Apparatus", "target": "Targets", "hand": "Hand kit"}
    pieces = [(name, [item for item in words.equipment.values() if item.kind == kind]) for kind, name in kinds.items()]
    cards = desk.doable(have) if have else []
    return {
        "pieces": pieces,
        "have": have,
        "found": [
            (event, [(card, levels(card.levels)) for card in cards if card.event == event.id])
            for event in words.events.values()
        ],
        "count": len(cards),
        "of": len(desk.library.index.card_ids),
    }


def tray_cards(desk: Desk, query: Query) -> list[Card]:
    """Return the drills named in the address, unknown ones left out."""
    names = [name for text in query.get("cards", []) for name in text.split(",") if name]
    known = set(desk.library.index.card_ids)
    return [desk.library.card(name) for name in dict.fromkeys(names) if name in known][:MOST_IN_TRAY]


def tray(desk: Desk, _: dict[str, str], query: Query) -> Context:
    """The drills that were collected: print them, copy the link, show the QR."""
    words = desk.library.vocabulary
    cards = tray_cards(desk, query)
    names = ",".join(card.id for card in cards)
    return {
        "cards": [(card, words.events[card.event].name, levels(card.levels), kit_of(card, words)) for card in cards],
        "names": names,
        "kit": kit_sum(desk, cards),
        "asked": bool(query.get("cards")),
    }


def kit_sum(desk: Desk, cards: list[Card]) -> list[tuple[str, int]]:
    """Return each piece and how many there must be when all stations stand at once."""
    total: dict[str, int] = {}
    for card in cards:
        for piece in card.equipment:
            total[piece.item] = total.get(piece.item, 0) + piece.count
    equipment = desk.library.vocabulary.equipment
    return [(equipment[name].name, count) for name, count in sorted(total.items()) if equipment[name].kind != "hall"]


def sheet(desk: Desk, _: dict[str, str], query: Query) -> Context:
    """The collected drills as one sheet to print from the browser."""
    words = desk.library.vocabulary
    cards = tray_cards(desk, query)
    height = number(query, "height", "The height")
    drills = []
    for card in cards:
        sizes = desk.sizes(card.id, height, None, None)
        drills.append(
            {
                "card": card,
                "levels": levels(card.levels),
                "kit": kit_of(card, words),
                "grade": words.spotting[card.spotting.grade].name,
                "cues": cues(card.sections["Say"]),
                "do": to_html(card.sections["Do"]),
                "set_up": to_html(card.sections["Set up"]),
                "look_for": to_html(card.sections["Look for"]),
                "keep_safe": to_html(card.sections["Keep safe"]),
                "pieces": [size_words(piece) for piece in sizes.pieces] if sizes else [],
            }
        )
    return {
        "drills": drills,
        "kit": kit_sum(desk, cards),
        "title": first(query, "title")[:80] or "Drills",
        "signs": list(words.cautions.values()),
        "height": first(query, "height"),
    }


def staff(desk: Desk, _: dict[str, str], __: Query) -> Context:
    """Where the tables and the ready queries are."""
    return {"queries": desk.queries, "cards": len(desk.library.index.card_ids)}


PAGES: dict[str, tuple[Page, str]] = {
    r"^/$": (ask, "ask.html"),
    r"^/drill/(?P<id>[a-z0-9-]{1,80})$": (drill, "drill.html"),
    r"^/drill/(?P<id>[a-z0-9-]{1,80})/say$": (say, "say.html"),
    r"^/faults$": (faults, "faults.html"),
    r"^/fault/(?P<id>[a-z0-9-]{1,80})$": (fault, "fault.html"),
    r"^/ladders$": (ladders, "ladders.html"),
    r"^/ladder/(?P<id>[a-z0-9-]{1,80})$": (ladder, "ladder.html"),
    r"^/kit$": (kit, "kit.html"),
    r"^/tray$": (tray, "tray.html"),
    r"^/sheet$": (sheet, "sheet.html"),
    r"^/staff$": (staff, "staff.html"),
}
"""Address to the function that reads it and the template that shows it."""
