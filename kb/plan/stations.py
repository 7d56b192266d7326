"""Cards to stations: what they need, who must be there, and whether they are right for a team."""

import re
from collections.abc import Mapping

from kb.library.checks import HEAVY_LANDINGS
from kb.model import Card, Equipment, Vocabulary
from kb.model.evening import Fear, Need, Station, Team

BACKWARDS = re.compile(r"(^|-)(backward|back)-(roll|extension|handspring|hip|salto|walkover)|safe-fall")
"""Skills in which she goes backwards."""
STANDS_BY = 2
"""Order of the spotting grade from which a coach is there for this station alone."""
HARD = 2
"""Value of a demand (0 to 3) from which a child who is afraid of it is asked much."""


def station_of(card: Card, words: Vocabulary, kind: str) -> Station:
    """Return a card as a station of the evening."""
    order = words.spotting[card.spotting.grade].order
    return Station(
        card=card.id,
        event=card.event,
        room=card.group.at_once + card.group.waiting,
        needs=tuple(
            need for piece in card.equipment if (need := _need(piece.item, piece.count, piece.instead, words.equipment))
        ),
        spotters=max(1, card.spotting.spotters) if order >= STANDS_BY else 0,
        watched=order == STANDS_BY - 1,
        wrist_heavy=card.load.wrists == "high",
        landing_heavy=card.load.landings * card.group.reps >= HEAVY_LANDINGS,
        kind=kind,
    )


def _need(item: str, count: int, instead: tuple[str, ...], equipment: Mapping[str, Equipment]) -> Need | None:
    """Return what must be there; None when a wall does it."""
    options = tuple(dict.fromkeys((item, *instead, *equipment[item].instead)))
    if any(equipment[option].kind == "hall" for option in options if option in equipment):
        return None
    return Need(count, options)


def why_not(card: Card, team: Team, station: Station, stock: Mapping[str, int]) -> str:
    """Return why a station is not for a team, in words; empty when it is."""
    if not card.fits_level(team.level):
        low, high = card.levels
        return f"it is for levels {low} to {high}, {team.name} is level {team.level}"
    if len(team.children) > station.room:
        return f"it has room for {station.room}, {team.name} counts {len(team.children)}"
    if "no-wrist-load" in team.limits and card.load.wrists != "none":
        return f"it loads the wrists, and {team.name} has no wrist load"
    for need in station.needs:
        if not any(stock.get(item, need.count) >= need.count for item in need.options):
            return f"the kit list has no {need.count} x {need.options[0]} and nothing that stands in"
    return ""


def frightens(card: Card, team: Team) -> tuple[str, ...]:
    """Return what of the card a child of the team is afraid of, as 'Slate 4: backwards'."""
    found = [f"{team.name}: {fear}" for fear in team.afraid if asks_for(card, fear)]
    for note in team.notes:
        found += [f"{team.squad} {note.number}: {fear}" for fear in note.afraid if asks_for(card, fear)]
    return tuple(found)


def asks_for(card: Card, fear: Fear) -> bool:
    """Say whether a card asks for what a child is afraid of."""
    if fear == "backwards":
        return any(BACKWARDS.search(skill) for skill in card.skills)
    demand = card.demand
    if demand is None:
        return False
    return {"height": demand.height, "speed": demand.speed, "upside-down": demand.rotation}[fear] >= HARD
