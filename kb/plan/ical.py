"""A plan as calendar entries: warm-up, every slot, tidy-up."""

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta

from kb.errors import UsageError
from kb.index.store import Index
from kb.model import NOTICE, Plan


def plan_ical(plans: Iterable[Plan], index: Index) -> bytes:
    """Return iCalendar with the entries of every session, in the clock time of the hall.

    Raises UsageError for a plan without a date.
    """
    from icalendar import Calendar, Event

    calendar = Calendar()
    calendar.add("prodid", "-//drillkb//plan//EN")
    calendar.add("version", "2.0")
    for plan in plans:
        if not plan.date:
            raise UsageError("A calendar needs a date; give it with --date 2027-01-12T17:00.")
        for number, (begin, minutes, summary, text) in enumerate(_entries(plan, index)):
            event = Event()
            event.add("uid", f"{begin:%Y%m%dT%H%M}-{number}@drillkb")
            event.add("dtstamp", datetime.strptime(f"{plan.date} +0000", "%Y-%m-%d %z"))
            event.add("dtstart", begin)
            event.add("dtend", begin + timedelta(minutes=minutes))
            event.add("summary", summary)
            event.add("description", text)
            calendar.add_component(event)
    found: bytes = calendar.to_ical()
    return found


def _entries(plan: Plan, index: Index) -> Iterator[tuple[datetime, int, str, str]]:
    """Yield beginning, minutes, summary and text of every entry."""
    start = _at(plan, plan.start)
    if plan.warm_up:
        yield start, plan.warm_up, "Warm-up", f"Themes: {', '.join(plan.themes)}. {NOTICE}"
    end = start + timedelta(minutes=plan.warm_up)
    for slot in plan.slots:
        lines = [
            f"{turn.group}: {turn.event}, {index.card(turn.card).title}{f' ({turn.coach})' if turn.coach else ''}"
            for turn in slot.rotation
        ]
        yield _at(plan, slot.start), slot.minutes, f"Slot {slot.slot} of {len(plan.slots)}", "\n".join([*lines, NOTICE])
        end = _at(plan, slot.start) + timedelta(minutes=slot.minutes)
    if plan.tidy_up:
        yield end, plan.tidy_up, "Tidy up", NOTICE


def _at(plan: Plan, clock: str) -> datetime:
    return datetime.strptime(f"{plan.date} {clock}", "%Y-%m-%d %H:%M")
