"""The ladder of a skill inside limits: where to begin, what the limits take away and what stands in."""

from collections.abc import Sequence

from kb.index.store import Index
from kb.model import Card, Demand, Ladder, Question, Rung, SetAside
from kb.search.fit import why_set_aside

STEP_WEIGHT = 4.0
"""How much a rise between two rungs counts beside what the upper one asks altogether, for a child who is afraid."""


def limited_ladder(skill: str, question: Question, index: Index, *, card: str | None = None) -> Ladder:
    """Return the ladder of a skill for the limits of a question.

    On each rung the first card that fits the limits is the one to take; the others are named beside it. With a level
    the ladder begins at the lowest rung that is open to it. Cards of `card`'s rung are marked by `here`.
    """
    rungs = [[index.card(name) for name in names] for names in index.ladder(skill)]
    fitting = [[one for one in cards if why_set_aside(one, question, index) is None] for cards in rungs]
    chosen = [(fit or cards)[0] for fit, cards in zip(fitting, rungs, strict=True)]
    return _ladder(skill, rungs, fitting, chosen, question, index, card)


def smallest_steps(skill: str, question: Question, index: Index, *, card: str | None = None) -> Ladder:
    """Return the ladder for a child who is afraid: on every rung the card that makes the steps smallest.

    Of all ways up, that with the least sum of squared rises in height, speed and rotation, and of those the one that
    asks least. She begins one rung lower than her level allows.
    """
    rungs = [[index.card(name) for name in names] for names in index.ladder(skill)]
    fitting = [[one for one in cards if why_set_aside(one, question, index) is None] for cards in rungs]
    chosen = gentlest([fit or cards for fit, cards in zip(fitting, rungs, strict=True)])
    ladder = _ladder(skill, rungs, fitting, chosen, question, index, card)
    start = max(1, ladder.start - 1)
    return Ladder(ladder.skill, start, ladder.rungs, ladder.here, ladder.set_aside)


def gentlest(rungs: Sequence[Sequence[Card]]) -> list[Card]:
    """Return one card of each rung so that the way up has the smallest steps (shortest path, rung by rung)."""
    best: list[tuple[float, tuple[Card, ...]]] = [(0.0, ())]
    for cards in rungs:
        best = [
            min(
                ((cost + step_cost(way[-1] if way else None, card), (*way, card)) for cost, way in best),
                key=lambda entry: (entry[0], [one.id for one in entry[1]]),
            )
            for card in cards
        ]
    return list(min(best, key=lambda entry: (entry[0], [one.id for one in entry[1]]))[1])


def step_cost(before: Card | None, card: Card) -> float:
    """Return how hard the step to a card is: squared rises of each demand, and what it asks altogether."""
    now = card.demand or Demand(0, 0, 0)
    was = before.demand if before and before.demand else Demand(0, 0, 0)
    rises: list[int] = [max(0, getattr(now, n) - getattr(was, n)) for n in ("height", "speed", "rotation")]
    return STEP_WEIGHT * sum(rise * rise for rise in rises) + now.height + now.speed + now.rotation


def _ladder(  # noqa: PLR0913, PLR0917 - the parts of one ladder, each worked out once
    skill: str,
    rungs: list[list[Card]],
    fitting: list[list[Card]],
    chosen: list[Card],
    question: Question,
    index: Index,
    card: str | None,
) -> Ladder:
    level = question.level
    open_to = [
        number for number, cards in enumerate(rungs, 1) if level is None or any(c.fits_level(level) for c in cards)
    ]
    made = []
    for number, (cards, fit, first) in enumerate(zip(rungs, fitting, chosen, strict=True), start=1):
        closed = "" if fit else why_set_aside(first, question, index) or ""
        made.append(make_rung(number, first, [other for other in cards if other is not first], closed, index))
    aside = tuple(
        SetAside(one.id, reason, one.title, fit[0].id if fit else None)
        for cards, fit in zip(rungs, fitting, strict=True)
        for one in cards
        if (reason := why_set_aside(one, question, index))
    )
    here = next((number for number, cards in enumerate(rungs, 1) if card in [one.id for one in cards]), None)
    return Ladder(skill, min(open_to, default=1), tuple(made), here, aside)


def make_rung(number: int, first: Card, others: list[Card], closed: str, index: Index) -> Rung:
    """Return a rung with one card to take and the others beside it; `closed` says why none fits, if so."""
    return Rung(
        number,
        first.id,
        first.title,
        first.stage,
        first.levels,
        first.spotting.grade,
        first.ready_when,
        tuple(card.id for card in others),
        {card.id: other_way(first, card, index) for card in others},
        first.demand,
        closed,
    )


def other_way(first: Card, other: Card, index: Index) -> str:
    """Say what another card of a rung is beside the first one."""
    if other.id == first.no_spot_twin or (first.spotting.spotters and not other.spotting.spotters):
        return "needs no spotter"
    equipment = index.vocabulary.equipment
    needs = {piece.item for piece in first.equipment}
    less = [item for item in needs if item not in {piece.item for piece in other.equipment}]
    large = [item for item in less if equipment[item].kind == "apparatus"]
    if large or (less and not other.equipment):
        return f"without the {equipment[(large or less)[0]].name.lower()}"
    return "another way"
