"""The practice log in an answer: what came of each drill, and what did not help moves below what did.

A drill moves only among the drills for the same fault (or on the same rung), so the order of faults and rungs stays,
and only below one that fits the same limits.
"""

from collections.abc import Callable, Sequence
from typing import TypeVar

from msgspec.structs import replace

from kb.index.store import Index
from kb.log.tally import Use, Uses, listed
from kb.model import Answer, DrillMatch, Ladder, Rung, SetAside
from kb.search.ladder import make_rung

T = TypeVar("T")


def answer_with_log(answer: Answer, uses: Uses, index: Index) -> Answer:
    """Return the answer with what the log says."""
    ladder = answer.ladder and ladder_with_log(answer.ladder, uses, index)
    return replace(answer, drills=_drills(answer.drills, uses), ladder=ladder)


def ladder_with_log(ladder: Ladder, uses: Uses, index: Index, *, keep: bool = False) -> Ladder:
    """Return the ladder with what the log says; with `keep` the card of each rung stays, whatever the log says."""
    unfit = {item.id for item in ladder.set_aside}
    rungs = [_rung(rung, uses, index, unfit, keep=keep) for rung in ladder.rungs]
    instead = {old.card: new.card for old, new in zip(ladder.rungs, rungs, strict=True)}
    aside = tuple(replace(item, instead=_now(item, instead)) for item in ladder.set_aside)
    return replace(ladder, rungs=tuple(rungs), set_aside=aside)


def moved_below(items: Sequence[T], use: Callable[[T], Use]) -> tuple[list[int], dict[int, int]]:
    """Move each item that did not help to right below the next one that helped the same squad.

    Returns the places of the items in their new order and, for each item moved, the place of the one above it.
    """
    used = [use(item) for item in items]
    moved: dict[int, int] = {}
    for place, mine in enumerate(used):
        better = next((n for n in range(place + 1, len(items)) if mine.beaten_by(used[n])), None)
        if better is not None:
            moved[place] = better
    # One that helped never moves itself, so what moves can be put right behind its old place.
    return sorted(range(len(items)), key=lambda place: (moved.get(place, place), place in moved, place)), moved


def _drills(drills: tuple[DrillMatch, ...], uses: Uses) -> tuple[DrillMatch, ...]:
    found = list(drills)
    for kind in dict.fromkeys(map(_kind, drills)):
        places = [place for place, drill in enumerate(drills) if _kind(drill) == kind]
        same = [_with_use(drills[place], uses) for place in places]
        order, moved = moved_below(same, lambda drill: uses.of(drill.id, drill.fault))
        for place, old in zip(places, order, strict=True):
            found[place] = _told(same[old], same[moved[old]], uses) if old in moved else same[old]
    return tuple(found)


def _kind(drill: DrillMatch) -> tuple[str, int]:
    """What a drill is offered for: a fault, or a rung on the way to a skill."""
    return drill.fault, 0 if drill.fault else drill.ladder.rung


def _with_use(drill: DrillMatch, uses: Uses) -> DrillMatch:
    return replace(drill, used=uses.of(drill.id, drill.fault).text)


def _told(drill: DrillMatch, better: DrillMatch, uses: Uses) -> DrillMatch:
    mine, its = uses.of(drill.id, drill.fault), uses.of(better.id, better.fault)
    return replace(drill, why=(*drill.why, _reason(mine, its, better.title)))


def _reason(mine: Use, better: Use, title: str) -> str:
    squads = listed([name for name in mine.beaten_by(better) if name])
    counts = mine.counts
    return (
        f'moved below "{title}", which helped{squads and f" {squads}"}; this one {counts.good} of {counts.uses} times'
    )


def _rung(rung: Rung, uses: Uses, index: Index, unfit: set[str], *, keep: bool) -> Rung:
    """Return a rung with what the log says of its cards, the one to take chosen by it."""
    names = [rung.card, *rung.instead]
    if not any(uses.of(name).counts.uses for name in names):
        return rung
    fitting = [] if keep or rung.closed else [name for name in names if name not in unfit]
    order, moved = moved_below(fitting, uses.of)
    below = {fitting[old]: fitting[better] for old, better in moved.items()}
    if moved:
        cards = [index.card(fitting[place]) for place in order] + [index.card(n) for n in names if n in unfit]
        rung = make_rung(rung.rung, cards[0], cards[1:], rung.closed, index)
    ways = {name: _way(way, name, below.get(name), uses, index) for name, way in rung.ways.items()}
    return replace(rung, used=uses.of(rung.card).text, ways=ways)


def _way(way: str, name: str, better: str | None, uses: Uses, index: Index) -> str:
    mine = uses.of(name)
    moved = _reason(mine, uses.of(better), index.card(better).title) if better else ""
    return "; ".join(part for part in (way, mine.text, moved) if part)


def _now(item: SetAside, instead: dict[str, str]) -> str | None:
    return instead.get(item.instead, item.instead) if item.instead else None
