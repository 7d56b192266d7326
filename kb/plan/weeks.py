"""A theme spread over weeks: up the ladder rung by rung, no drill again within a day, nothing that is mastered."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from msgspec.structs import replace

from kb.errors import UsageError
from kb.model import Plan
from kb.plan.build import Planner
from kb.plan.notes import SPACED
from kb.plan.request import PlanRequest
from kb.search import Searcher

APART = timedelta(days=1)
"""Least time between two sessions with the same drill for the same squad (Shea et al. 2000: a day beat 20 minutes)."""


def make_plan(request: PlanRequest, searcher: Searcher) -> Plan:
    """Return the plan of the first session, with the plans of the later ones in `later`.

    Raises UsageError (and its kinds) for themes, cards, groups, dates and times that no plan can be made of.
    """
    plans: list[tuple[datetime | None, Plan]] = []
    for week, begin in sessions_of(request):
        shut = {
            squad.name: (*request.mastered.get(squad.name, ()), *_too_soon(squad.name, begin, plans))
            for squad in request.groups.groups
        }
        session = replace(request, start=begin, mastered=shut)
        plans.append((begin, Planner(session, searcher, week).plan()))
    first, *later = (plan for _, plan in plans)
    if not later:
        return first
    return replace(first, later=tuple(later), notes=(*first.notes, SPACED))


def sessions_of(request: PlanRequest) -> list[tuple[int, datetime | None]]:
    """Return week (from 1) and beginning of every session: those given, repeated each week."""
    given = request.sessions or ((request.start,) if request.start else ())
    if not given:
        return [(week, None) for week in range(1, request.weeks + 1)]
    if len(set(given)) < len(given):
        raise UsageError("--date names the same session twice; give every session its own date and time.")
    every = sorted((day + timedelta(weeks=week), day) for week in range(request.weeks) for day in given)
    first = every[0][0]
    return [(1 + (day - first).days // 7, day) for day, _ in every]


def _too_soon(squad: str, begin: datetime | None, plans: Sequence[tuple[datetime | None, Plan]]) -> list[str]:
    """Return the cards that a squad did less than a day before."""
    if begin is None:
        return []
    near = [plan for day, plan in plans if day is not None and begin - day < APART]
    return sorted({card for plan in near for card in cards_of(plan, squad)})


def cards_of(plan: Plan, squad: str) -> set[str]:
    """Return the cards that a squad's teams do in a plan."""
    names = {team.name for team in plan.teams if team.squad == squad}
    return {turn.card for slot in plan.slots for turn in slot.rotation if turn.group in names}
