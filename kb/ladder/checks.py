"""What is wrong with the ladders of a library, beyond what one card's own links show."""

from collections.abc import Iterator

from kb.ladder.rungs import skill_rungs
from kb.library import Collection
from kb.model import Problem

MOST_STAGES = 1
"""Stages from one rung to the next above which a ladder has a gap."""


def ladder_problems(collection: Collection) -> list[Problem]:
    """Return advice for every rung that stands more than one stage above all below it: children need a step between.

    It is advice and no error: a card's own prerequisite, of another skill, may be the step.
    """
    return [problem for skill in collection.vocabulary.skills for problem in _gaps(skill, collection)]


def _gaps(skill: str, collection: Collection) -> Iterator[Problem]:
    stages = collection.vocabulary.stages
    highest = 0
    for number, names in enumerate(skill_rungs(skill, collection.cards, stages), start=1):
        cards = [collection.cards[name] for name in names]
        lowest = min(stages[card.stage].order for card in cards)
        if highest and lowest - highest > MOST_STAGES:
            between = [s.id for s in stages.values() if highest < s.order < lowest]
            text = (
                f"the ladder of {skill} has a gap below rung {number}: no card of stage {' or '.join(between)} "
                f"leads up to it"
            )
            yield Problem(cards[0].file, 0, "stage", text, keeps_out=False, warning=True)
        highest = max([highest, *(stages[card.stage].order for card in cards)])
