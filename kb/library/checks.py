"""What must hold of a card and of a library, one small function per rule.

Card rules see one card and the vocabulary; a card that breaks one is left out until it is mended, because a card that
is unsafe or names things that do not exist must not reach a coach. Collection rules see links between cards; they are
reported, and the cards stay.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from kb.library.safeyaml import Located, Path
from kb.library.vocabulary import unknown_word
from kb.model import Card, Fault, Problem, Vocabulary

Found = Iterator[tuple[Path, str]]
"""Path of the field and what is wrong with it."""

HEAVY_LANDINGS = 12
"""Foot landings of one child in one visit from which a cap on repetitions is required (common practice, no source)."""
SHORTEST_BODY, LONGEST_BODY = 60, 400
"""Words of a card's body outside which it is too thin to work from or too long to read on a mat."""


def card_problems(card: Card, words: Vocabulary, lines: Located) -> list[Problem]:
    """Return what is wrong with one card by itself."""
    return [
        Problem(card.file, lines.line(path), _dotted(path), message)
        for rule in CARD_RULES
        for path, message in rule(card, words)
    ]


def collection_problems(
    cards: Mapping[str, Card],
    words: Vocabulary,
    lines: Mapping[str, Located],
    places: Mapping[tuple[str, Any], tuple[str, int]],
) -> list[Problem]:
    """Return what is wrong between cards, and between cards and faults."""
    found = [
        Problem(card.file, lines[card.id].line(path), _dotted(path), message, keeps_out=False)
        for rule in LINK_RULES
        for card in cards.values()
        for path, message in rule(card, cards, words)
    ]
    for fault in words.faults.values():
        file, line = places.get(("Fault", fault.id), ("vocabulary/faults", 0))
        found += [
            Problem(file, line, f"{fault.id}.{field}", text, keeps_out=False) for field, text in _fault(fault, cards)
        ]
    return found


# --- rules of one card


def known_words(card: Card, words: Vocabulary) -> Found:
    """Every name is in the vocabulary."""
    named: list[tuple[Path, str, Any]] = [
        (("event",), card.event, words.events),
        (("stage",), card.stage, words.stages),
        (("spotting", "grade"), card.spotting.grade, words.spotting),
    ]
    named += [(("skills", place), skill, words.skills) for place, skill in enumerate(card.skills)]
    for place, piece in enumerate(card.equipment):
        named.append((("equipment", place, "item"), piece.item, words.equipment))
        named += [(("equipment", place, "instead", n), other, words.equipment) for n, other in enumerate(piece.instead)]
    for path, name, known in named:
        if name not in known:
            yield path, unknown_word(name, known)


def known_faults(card: Card, words: Vocabulary) -> Found:
    """Every corrected fault exists and has the cause."""
    for place, use in enumerate(card.corrects):
        fault = words.faults.get(use.fault)
        if fault is None:
            yield ("corrects", place, "fault"), unknown_word(use.fault, words.faults)
        elif use.cause not in (causes := [cause.id for cause in fault.causes]):
            yield ("corrects", place, "cause"), f"{use.fault} has no cause '{use.cause}'; it has {', '.join(causes)}"


def level_in_order(card: Card, words: Vocabulary) -> Found:
    """A level range runs upward and stays inside the levels of the vocabulary."""
    low, high = card.levels
    if low > high:
        yield ("level",), f"found {card.level}; write the lower level first: {high}-{low}"
    elif low not in words.levels or high not in words.levels:
        yield ("level",), f"found {card.level}; the levels are {', '.join(map(str, words.levels)) or 'not readable'}"


def soft_landing(card: Card, words: Vocabulary) -> Found:
    """Landing on the back or turning over needs a soft landing; upside down or high up needs a mat."""
    if any(piece.item not in words.equipment for piece in card.equipment):  # known_words says so
        return
    kit = [words.equipment[piece.item] for piece in card.equipment]
    lands = {item.lands for item in kit}
    rotation, height = (card.demand.rotation, card.demand.height) if card.demand else (0, 0)
    if card.load.on == "back" and "back" not in lands:
        yield ("equipment",), "she lands on her back, but no piece here is soft enough for that; add a soft mat"
    elif rotation >= 2 and not lands & {"back", "roll"}:
        yield ("equipment",), "she turns over, but there is nothing here to turn over on; add a mat"
    elif (rotation >= 1 or height >= 2) and not any(
        item.kind == "mat" or item.lands in ("roll", "back") for item in kit
    ):
        yield ("equipment",), "her feet are higher than her hips, but no mat is under her; add a mat"


def spotter_count(card: Card, words: Vocabulary) -> Found:
    """A grade that needs a person names at least one, and a grade that needs none names none."""
    grade = words.spotting.get(card.spotting.grade)
    if grade and (grade.order >= 2) != (card.spotting.spotters >= 1):
        yield ("spotting", "spotters"), f"found {card.spotting.spotters}, which does not go with '{grade.id}'"


def hands_named(card: Card, words: Vocabulary) -> Found:
    """A spot with hands says where each hand goes, and hands-on has a twin that runs without a spotter."""
    if card.spotting.grade == "hands-on" and not card.no_spot_twin:
        yield ("no_spot_twin",), "is missing; a hands-on drill names the card that does the same job without a spotter"
    grade = words.spotting.get(card.spotting.grade)
    if (
        grade
        and grade.order >= 2
        and len(re.findall(r"\b(hands?|palms?|fist|fingers)\b", card.spotting.hands, re.I)) < 2
    ):
        yield ("spotting", "hands"), "says too little; say where each of the two hands goes"


def heavy_load_capped(card: Card, _words: Vocabulary) -> Found:
    """Heavy load on wrists or landings carries a cap on repetitions."""
    landings = card.load.landings * card.group.reps
    if card.cap is None and card.load.wrists == "high":
        yield ("cap",), "is missing; a drill with high wrist load says how many repetitions a child may do in a session"
    elif card.cap is None and landings >= HEAVY_LANDINGS:
        yield ("cap",), f"is missing; {landings} landings in one visit need a limit for the session"
    elif card.cap is not None and card.cap < card.group.reps:
        yield ("cap",), f"found {card.cap}, which is less than the {card.group.reps} repetitions of one visit"


def stop_condition(card: Card, _words: Vocabulary) -> Found:
    """'Keep safe' has cautions and says when to stop."""
    bullets = re.findall(r"^[-*] +(.+)$", card.sections["Keep safe"], re.M)
    if not any(bullet.lower().startswith("stop") for bullet in bullets):
        yield ("Keep safe",), "needs a bullet that begins with 'Stop': the sign that ends the turn or the station"
    elif len(bullets) < 2:
        yield ("Keep safe",), "says only when to stop; add the cautions of this drill"


def cues_quoted(card: Card, _words: Vocabulary) -> Found:
    """'Say' has cues in quotation marks, so that a coach can read them out."""
    if not re.search(r'^[-*] +["“].+["”]', card.sections["Say"], re.M):
        yield ("Say",), 'needs cues as bullets in quotation marks: - "Push the floor away."'


def body_length(card: Card, _words: Vocabulary) -> Found:
    """The body is long enough to work from and short enough to read on a mat."""
    count = sum(len(text.split()) for text in card.sections.values())
    if not SHORTEST_BODY <= count <= LONGEST_BODY:
        yield ("Fixes",), f"the body has {count} words; a card has {SHORTEST_BODY} to {LONGEST_BODY}"


def sizes_of_own_kit(card: Card, _words: Vocabulary) -> Found:
    """What must fit the child is built of the card's own kit."""
    kit = [piece.item for piece in card.equipment]
    for place, use in enumerate(card.size):
        for field in ("of", "above"):
            for n, name in enumerate(getattr(use, field)):
                if name not in kit:
                    yield ("size", place, field, n), f"found '{name}', which this card's equipment does not list"


CardRule = Callable[[Card, Vocabulary], Found]
CARD_RULES: tuple[CardRule, ...] = (
    known_words,
    known_faults,
    level_in_order,
    soft_landing,
    spotter_count,
    hands_named,
    heavy_load_capped,
    stop_condition,
    cues_quoted,
    body_length,
    sizes_of_own_kit,
)


# --- rules between cards


def links_lead_somewhere(card: Card, cards: Mapping[str, Card], _words: Vocabulary) -> Found:
    """Prerequisites and twins are cards of the library."""
    for place, name in enumerate(card.after):
        if name not in cards:
            yield ("after", place), unknown_word(name, cards).replace("the vocabulary", "the library")
    twin = card.no_spot_twin
    if twin and twin not in cards:
        yield ("no_spot_twin",), unknown_word(twin, cards).replace("the vocabulary", "the library")


def no_circle(card: Card, cards: Mapping[str, Card], _words: Vocabulary) -> Found:
    """No card has to be ready before itself, by way of others, nor waits for one that has to."""
    for place, name in enumerate(card.after):
        way = _way_back(name, card.id, cards)
        if way:
            circle = " needs ".join((card.id, *way))
            yield ("after", place), f"goes in a circle: {circle}; take one of them out of 'after'"
        elif stuck := sorted(before for before in _before(name, cards) if _in_circle(before, cards)):
            yield ("after", place), f"cannot be reached: {stuck[0]}, which comes before it, stands in a circle"


def _in_circle(name: str, cards: Mapping[str, Card]) -> bool:
    return name in cards and any(_way_back(before, name, cards) for before in cards[name].after)


def _way_back(start: str, goal: str, cards: Mapping[str, Card]) -> tuple[str, ...]:
    """Return the shortest way from a card down its prerequisites to `goal`, both ends included; empty without one."""
    ways: list[tuple[str, ...]] = [(start,)]
    seen = {start}
    for way in ways:  # it grows while it is read: nearest first
        if way[-1] == goal:
            return way
        for name in cards[way[-1]].after if way[-1] in cards else ():
            if name not in seen:
                seen.add(name)
                ways.append((*way, name))
    return ()


def _before(name: str, cards: Mapping[str, Card]) -> set[str]:
    """Return a card and all that come before it."""
    found: set[str] = set()
    queue = [name]
    while queue:
        if (name := queue.pop()) not in found:
            found.add(name)
            queue += cards[name].after if name in cards else ()
    return found


def twin_needs_no_spotter(card: Card, cards: Mapping[str, Card], words: Vocabulary) -> Found:
    """The twin of a hands-on drill runs without a spotter."""
    twin = cards.get(card.no_spot_twin or "")
    if twin and words.spotting[twin.spotting.grade].order >= 2:
        yield ("no_spot_twin",), f"{twin.id} is spotted '{twin.spotting.grade}' itself; name one that needs no hands"


def not_below_prerequisites(card: Card, cards: Mapping[str, Card], _words: Vocabulary) -> Found:
    """A card is not open to a level below that of its prerequisites."""
    for place, name in enumerate(card.after):
        before = cards.get(name)
        if before and before.levels[0] > card.levels[0]:
            yield ("after", place), f"{name} begins at level {before.levels[0]}, this card already at {card.levels[0]}"


def no_stage_jumped(card: Card, cards: Mapping[str, Card], words: Vocabulary) -> Found:
    """No stage is jumped: some prerequisite is at most one stage lower."""
    order = {name: stage.order for name, stage in words.stages.items()}
    before = [cards[name] for name in card.after if name in cards]
    highest = max((order[b.stage] for b in before), default=1)
    if order[card.stage] - highest > 1:
        lower = max((name for name in order if order[name] < order[card.stage]), key=order.__getitem__)
        yield ("after",), f"jumps to '{card.stage}'; name a card of stage '{lower}' to be ready on first"


def one_thing_at_a_time(card: Card, cards: Mapping[str, Card], _words: Vocabulary) -> Found:
    """From some prerequisite the card raises only one of height, speed and rotation, by one step."""
    before = [demand for name in card.after if name in cards and (demand := cards[name].demand)]
    if not card.demand or not before:
        return
    if all(sum(rises(b, card.demand)) > 1 for b in before):
        between = " or ".join(card.after)
        yield ("demand",), f"rises in more than one thing at once; put a card between this one and {between}"


def rises(before: Any, now: Any) -> tuple[int, int, int]:
    """Return by how many steps height, speed and rotation go up, 0 where they do not."""
    names = ("height", "speed", "rotation")
    up = [max(0, getattr(now, name) - getattr(before, name)) for name in names]
    return up[0], up[1], up[2]


def size_rules_known(card: Card, _cards: Mapping[str, Card], words: Vocabulary) -> Found:
    """What must fit the child names a rule of sizes.yaml; a piece without one is left out of the sizes."""
    for place, use in enumerate(card.size):
        if use.rule not in words.sizes:
            yield ("size", place, "rule"), unknown_word(use.rule, words.sizes)


LinkRule = Callable[[Card, Mapping[str, Card], Vocabulary], Found]
LINK_RULES: tuple[LinkRule, ...] = (
    links_lead_somewhere,
    no_circle,
    twin_needs_no_spotter,
    not_below_prerequisites,
    no_stage_jumped,
    one_thing_at_a_time,
    size_rules_known,
)


def _fault(fault: Fault, cards: Mapping[str, Card]) -> Iterator[tuple[str, str]]:
    """The first cards of a cause exist and correct it."""
    for cause in fault.causes:
        for name in cause.first:
            card = cards.get(name)
            if card is None:
                yield f"{cause.id}.first", unknown_word(name, cards).replace("the vocabulary", "the library")
            elif not any(use.fault == fault.id and use.cause == cause.id for use in card.corrects):
                yield f"{cause.id}.first", f"{name} does not say that it corrects {fault.id} by {cause.id}"


def _dotted(path: Path) -> str:
    return "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in path).lstrip(".")
