"""A plan as the pages that are printed: a timetable, a sheet for each station, a strip for each coach."""

from collections.abc import Iterable, Iterator, Sequence

from kb.draw.card import card_svg
from kb.errors import DrillkbError
from kb.index.store import Index
from kb.model import NOTICE, Card, Plan, PlanSheet, SizedPiece, Sizes
from kb.model.evening import Team
from kb.model.plan import CoachStrip, SheetSize, Slot, StationSheet, Turn
from kb.size import child_of, squad_sizes
from kb.size.stock import KitLine

PRINTED = ("Set up", "Do", "Say", "Look for", "Easier", "Harder", "Keep safe")
"""Sections of a card that are printed on a station's sheet."""


def printable(plan: Plan, index: Index, kit: Sequence[KitLine] | None = None) -> PlanSheet:
    """Return the pages of one evening; sizes are built from what the other stations leave of the kit.

    `kit` are the lines of the kit list with the club's own sizes; the plan's counts with usual sizes without it.
    """
    lines = tuple(kit) if kit is not None else tuple((item, count, None) for item, count in plan.kit.items())
    maker = _Pages(plan, index, lines)
    when = f"{plan.date}, " if plan.date else ""
    themes = ", ".join(plan.themes)
    return PlanSheet(
        title=f"Stations: {themes}",
        head=(
            f"{when}{plan.start}, {plan.minutes} minutes: warm-up {plan.warm_up}, {len(plan.slots)} slots of "
            f"{plan.slots[0].minutes if plan.slots else 0} ({plan.change} of them to change), tidy-up {plan.tidy_up}",
            value_words(plan),
        ),
        columns=tuple(team.name for team in plan.teams),
        rows=tuple(maker.row(slot) for slot in plan.slots),
        stations=tuple(maker.stations()),
        coaches=tuple(maker.strips()),
        notes=(*plan.missed, *(clash.words for clash in plan.clashes), *plan.notes),
        notice=NOTICE,
    )


def value_words(plan: Plan) -> str:
    """Say how good a plan is and how sure that is."""
    if plan.status == "infeasible":
        return f"not every pin can be met; with those that can, {plan.objective:g} points of other missed wishes"
    if plan.status == "optimal":
        return f"{plan.objective:g} points of missed wishes; proven: no plan has fewer"
    return f"{plan.objective:g} points of missed wishes; no plan has fewer than {plan.bound:g}"


class _Pages:
    def __init__(self, plan: Plan, index: Index, kit: Sequence[KitLine]) -> None:
        self.plan, self.index, self.kit, self.words = plan, index, kit, index.vocabulary
        self.teams = {team.name: team for team in plan.teams}

    def row(self, slot: Slot) -> tuple[str, ...]:
        """Return the time, and what each team does."""
        turns = {turn.group: turn for turn in slot.rotation}
        return (slot.start, *(self._cell(turns.get(team.name)) for team in self.plan.teams))

    def _cell(self, turn: Turn | None) -> str:
        if turn is None:
            return "no station"
        event = self.words.events[turn.event].short.capitalize()
        lines = [event, self.index.card(turn.card).title]
        lines += [", ".join((turn.coach, *turn.also))] if turn.coach else []
        return "\n".join([*lines, *self._children(turn, why=False)])

    def _children(self, turn: Turn, *, why: bool = True) -> list[str]:
        """Say what single children do, with the reason where there is room for it."""
        squad = self.teams[turn.group].squad
        lines = []
        for own in turn.instead:
            does = self.index.card(own.card).title if own.card else "sits this one out by the coach"
            lines.append(f"{squad} {own.child}: {does}{f' ({own.why})' if why else ''}")
        return [*lines, turn.note] if turn.note else lines

    def stations(self) -> Iterator[StationSheet]:
        """Yield the sheet of every station, in the order in which they are first used in their event."""
        seen = dict.fromkeys(turn.card for slot in self.plan.slots for turn in slot.rotation)
        order = {name: place for place, name in enumerate(self.words.events)}
        for name in sorted(seen, key=lambda name: order[self.index.card(name).event]):
            yield self._station(self.index.card(name))

    def _station(self, card: Card) -> StationSheet:
        visits = [(slot, turn) for slot in self.plan.slots for turn in slot.rotation if turn.card == card.id]
        left = self._left_for(card.id)
        sizes, drawn = [], None
        for team in dict.fromkeys(self.teams[turn.group] for _, turn in visits):
            builds = self._sizes(card, team, left)
            drawn = drawn or (builds[0] if builds and isinstance(builds[0], Sizes) else None)
            if card.size and team.heights:
                sizes.append(SheetSize(team.name, tuple(self._lines(builds))))
        used = visits[0][1].kit or ()
        equipment = self.words.equipment
        notes = [text for _, turn in visits for text in self._children(turn)]
        return StationSheet(
            card=card.id,
            title=card.title,
            event=self.words.events[card.event].name,
            spotting=f"{self.words.spotting[card.spotting.grade].name}. {card.spotting.hands}",
            kit=tuple(f"{use.count} × {equipment[use.item].name.lower()}" for use in used),
            turns=tuple(f"{slot.start} {turn.group}, {turn.reps} each" for slot, turn in visits),
            svg=card_svg(card, self.words, drawn),
            sizes=tuple(sizes),
            sections={heading: card.sections[heading] for heading in PRINTED},
            notes=tuple(dict.fromkeys(notes)),
        )

    def _left_for(self, card: str) -> list[KitLine]:
        """Return the kit that the other stations leave in every slot in which this one stands."""
        taken: dict[str, int] = {}
        for slot in self.plan.slots:
            if card in {turn.card for turn in slot.rotation}:
                now: dict[str, int] = {}
                for use in (use for turn in slot.rotation if turn.card != card for use in turn.kit):
                    now[use.item] = now.get(use.item, 0) + use.count
                taken = {item: max(taken.get(item, 0), now.get(item, 0)) for item in {*taken, *now}}
        found = []
        for item, count, cm in self.kit:
            gone = min(count, taken.get(item, 0))
            taken[item] = taken.get(item, 0) - gone
            if count > gone:
                found.append((item, count - gone, cm))
        return found

    def _sizes(self, card: Card, team: Team, left: Sequence[KitLine]) -> list[Sizes | str]:
        """Return the builds for a team, and in words who is left without one."""
        if not card.size or not team.heights:
            return []
        children = [
            (f"{team.squad} {number}", child_of(height, None, team.level))
            for number, height in zip(team.children, team.heights, strict=True)
        ]
        try:
            found = squad_sizes(card, children, self.words, left)
        except DrillkbError as error:
            return [f"Sizes do not come out: {error}"]
        builds: list[Sizes | str] = [build.sizes for build in found.builds]
        if found.alone:
            builds.append(f"No build from what is left for {', '.join(found.alone)}: a coach adjusts it or leaves it.")
        return builds

    def _lines(self, builds: Iterable[Sizes | str]) -> Iterator[str]:
        for build in builds:
            if isinstance(build, str):
                yield build
            else:
                yield f"about {build.height_cm:.0f} cm tall: " + "; ".join(_size(piece) for piece in build.pieces)

    def strips(self) -> Iterator[CoachStrip]:
        """Yield for each coach where she is in each slot and what she does there."""
        for coach in self.plan.coaches:
            lines = []
            for slot in self.plan.slots:
                mine = [turn for turn in slot.rotation if coach.name in (turn.coach, *turn.also)]
                does = " | ".join(self._does(turn) for turn in mine) or "free: keep the hall in sight, help to change"
                lines.append(f"{slot.start}  {does}")
            yield CoachStrip(coach.name, tuple(lines))

    def _does(self, turn: Turn) -> str:
        card = self.index.card(turn.card)
        grade = self.words.spotting[card.spotting.grade].name
        hands = f": {card.spotting.hands}" if card.spotting.spotters else "."
        extra = "".join(f" {text}." for text in self._children(turn))
        return f"{turn.event}, {turn.group}: {card.title}. {grade}{hands}{extra}"


def _size(piece: SizedPiece) -> str:
    if piece.limit:
        wanted = f"{piece.limit.replace('-', ' ')} {piece.target_cm:.0f} cm"
    else:
        wanted = f"{piece.target_cm:.0f} cm, give or take {piece.tolerance_cm:.0f}"
    if not piece.build or piece.along:
        return f"{piece.piece} {wanted}"
    stack = " + ".join(
        f"{f'{item.count} × ' if item.count > 1 else ''}{item.name.lower()}{f' {item.form}' if item.form else ''}"
        for item in piece.build
        if not item.above
    )
    return f"{piece.piece} {wanted} ({stack})"
