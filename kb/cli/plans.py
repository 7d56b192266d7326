"""A plan on the terminal: a grid that fits 80 columns, what is missed, and the ways out."""

from collections.abc import Iterator, Sequence
from pathlib import Path

from kb.cli.text import block, bold, labelled, width
from kb.index.store import Index
from kb.model import NOTICE, Plan, PlanProblem
from kb.model.plan import Slot
from kb.plan.printable import value_words

CELL = 10
"""Fewest columns of a cell; when the teams do not fit side by side they are printed in several grids."""


def plan_lines(plan: Plan, index: Index, out: Path | None) -> list[str]:
    """Return a plan as a coach reads it, with the sessions that follow and other plans."""
    lines = [*_one(plan, index)]
    for number, other in enumerate(plan.alternatives, start=1):
        lines += [bold(f"Another plan, {number}"), *_one(other, index, full=False)]
    for number, later in enumerate(plan.later, start=2):
        lines += [bold(f"Session {number}"), *_one(later, index, full=False)]
    if out:
        lines += [block(f"Written: {out}")]
    return [*lines, block(NOTICE)]


def _one(plan: Plan, index: Index, *, full: bool = True) -> Iterator[str]:
    when = f"{plan.date} " if plan.date else ""
    size = plan.slots[0].minutes if plan.slots else 0
    yield bold(block(f"{', '.join(plan.themes)}: {when}{plan.start}, {plan.minutes} minutes"))
    yield block(
        f"Warm-up {plan.warm_up}, {len(plan.slots)} slots of {size} (change {plan.change}), tidy-up {plan.tidy_up}"
    )
    yield block(f"{plan.status.capitalize()}: {value_words(plan)}.")
    yield ""
    letters = _letters(plan)
    for teams in _shares([team.name for team in plan.teams]):
        yield from _grid(plan.slots, teams, letters)
        yield ""
    for name, letter in letters.items():
        card = index.card(name)
        coaches = sorted({turn.grade for slot in plan.slots for turn in slot.rotation if turn.card == name})
        yield block(f"{card.title} ({', '.join(coaches).replace('-', ' ')}): {name}", "     ", f"{letter:>3}  ")
    yield ""
    yield from _children(plan, index)
    for miss in plan.missed:
        yield block(f"Missed: {miss}", "  ")
    if full:
        yield from _clashes(plan)
        parts = ", ".join(f"{part.replace('_', ' ')} {cost}" for part, cost in plan.parts.items())
        yield labelled("Points", parts or "none", 9)
        yield from (labelled("Note", note, 9) for note in plan.notes)
    yield ""


def _letters(plan: Plan) -> dict[str, str]:
    """Return a short name for every card: its event's letter and a number, in the order of first use."""
    found: dict[str, str] = {}
    counts: dict[str, int] = {}
    short = {"vault": "V", "bars": "U", "beam": "B", "floor": "F", "shapes": "S"}
    for slot in plan.slots:
        for turn in slot.rotation:
            if turn.card not in found:
                counts[turn.event] = counts.get(turn.event, 0) + 1
                found[turn.card] = f"{short.get(turn.event, turn.event[:1].upper())}{counts[turn.event]}"
    order = ["S", "V", "U", "B", "F"]
    return dict(
        sorted(
            found.items(), key=lambda pair: (order.index(pair[1][0]) if pair[1][0] in order else 9, int(pair[1][1:]))
        )
    )


def _shares(names: Sequence[str]) -> Iterator[Sequence[str]]:
    """Yield as many teams at a time as fit side by side, evenly."""
    room = max(1, (width() - 6) // (CELL + 1))
    parts = -(-len(names) // room)
    for part in range(parts):
        yield names[part * len(names) // parts : (part + 1) * len(names) // parts]


def _grid(slots: Sequence[Slot], teams: Sequence[str], letters: dict[str, str]) -> Iterator[str]:
    cell = (width() - 6) // len(teams)
    cell = min(cell, 16)
    yield bold(("Time  " + "".join(f"{name[: cell - 1]:<{cell}}" for name in teams)).rstrip())
    for slot in slots:
        turns = {turn.group: turn for turn in slot.rotation}
        first, second = f"{slot.start} ", " " * 6
        for name in teams:
            turn = turns.get(name)
            text = f"{turn.event[: cell - 4]} {letters[turn.card]}" if turn else "-"
            who = turn.coach[: cell - 1] if turn else ""
            first, second = first + f"{text:<{cell}}", second + f"{who:<{cell}}"
        yield first.rstrip()
        if second.strip():
            yield second.rstrip()


def _children(plan: Plan, index: Index) -> Iterator[str]:
    squads = {team.name: team.squad for team in plan.teams}
    for slot in plan.slots:
        for turn in slot.rotation:
            for own in turn.instead:
                does = f"{index.card(own.card).title} ({own.card})" if own.card else "sits this one out by the coach"
                yield block(f"{slot.start}  {squads[turn.group]} {own.child}, {own.why}: {does}", "       ")[7:]
            if turn.note:
                yield block(f"{slot.start}  {turn.note}", "       ")[7:]


def _clashes(plan: Plan) -> Iterator[str]:
    for clash in plan.clashes:
        yield bold(block(clash.words))
        for way in clash.ways:
            yield block(
                f"{way.words}: the best plan found then has {way.objective:g} points ({way.status})", "    ", "  - "
            )
        yield ""


def check_lines(problems: Sequence[PlanProblem]) -> list[str]:
    """Return what a check found, rules first."""
    lines = [block(f"{'advice: ' if problem.advice else ''}{problem}", "    ").lstrip() for problem in problems]
    broken = sum(not problem.advice for problem in problems)
    return [
        *lines,
        "No rule is broken." if not broken else f"{broken} rule{'s are' if broken > 1 else ' is'} broken.",
        block(NOTICE),
    ]
