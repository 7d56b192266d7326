"""The map of a library: every skill with its rungs, and the faults that each rung mends."""

from collections import Counter
from collections.abc import Iterable, Iterator

from kb.ladder.rungs import skill_rungs
from kb.library import Collection
from kb.model import Card

INTRO = """# Map of the library

Skill by rung by fault, made by `drillkb check --map` from the cards themselves; do not edit it by hand. Cards on one
rung are other ways to do the same step. A card stands under every skill that it leads to.
"""


def library_map(collection: Collection) -> str:
    """Return the map as Markdown."""
    parts = [INTRO, *_counts(collection)]
    for event in collection.vocabulary.events.values():
        parts.append(f"\n## {event.name}\n")
        for skill in collection.vocabulary.skills.values():
            if skill.event == event.id:
                parts += _skill(skill.id, collection)
    return "\n".join(parts).rstrip() + "\n"


def _counts(collection: Collection) -> Iterator[str]:
    cards, words = list(collection.cards.values()), collection.vocabulary
    sizes = (len(cards), len(words.faults), len(words.skills), len(words.equipment))
    yield "{} cards, {} faults, {} skills, {} kinds of kit.\n".format(*sizes)
    yield _table("event", Counter(card.event for card in cards), words.events)
    yield _table("stage", Counter(card.stage for card in cards), words.stages)
    yield _table("spotting", Counter(card.spotting.grade for card in cards), words.spotting)
    yield _table(
        "level", Counter(level for card in cards for level in range(card.levels[0], card.levels[1] + 1)), words.levels
    )


def _table(name: str, counts: Counter[object], order: Iterable[object]) -> str:
    names = [value for value in order if counts[value]]
    head = f"| {name} | " + " | ".join(str(value) for value in names) + " |"
    return "\n".join(
        [head, "|---" * (len(names) + 1) + "|", "| cards | " + " | ".join(str(counts[n]) for n in names) + " |\n"]
    )


def _skill(skill: str, collection: Collection) -> Iterator[str]:
    words = collection.vocabulary
    rungs = skill_rungs(skill, collection.cards, words.stages)
    yield f"### {words.skills[skill].name} (`{skill}`)\n"
    yield "| rung | cards | mends |"
    yield "|---|---|---|"
    for number, names in enumerate(rungs, start=1):
        cards = [collection.cards[name] for name in names]
        mends = dict.fromkeys(use.fault for card in cards for use in card.corrects if use.weight >= 2)
        yield f"| {number} | {'; '.join(_card(card) for card in cards)} | {', '.join(mends)} |"
    yield ""


def _card(card: Card) -> str:
    low, high = card.levels
    return f"`{card.id}` ({card.stage}, {low}-{high}, {card.spotting.grade})"
