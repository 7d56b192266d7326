"""How long a slot is and how many there are, from minutes, teams and stations."""

from datetime import datetime, timedelta

from msgspec import Struct

from kb.errors import OutOfRange
from kb.plan.request import PlanRequest

CHANGE = 2
"""Minutes to walk, drink and hear what is next (common practice, no source)."""
LONGEST = 15
"""Minutes of a slot beyond which children wait more than they work (common practice, no source)."""
DEFAULT_START = "17:00"


class Clock(Struct, frozen=True):
    """The slots of an evening."""

    slots: int
    minutes: int
    """Of a slot, with the change."""
    warm_up: int
    tidy_up: int
    """What is left over is added here."""

    def starts(self, begin: str) -> list[str]:
        """Return the clock time of every slot for a session that begins then."""
        first = datetime.strptime(begin, "%H:%M") + timedelta(minutes=self.warm_up)
        return [f"{first + timedelta(minutes=self.minutes * slot):%H:%M}" for slot in range(self.slots)]


def clock_for(request: PlanRequest, visit: int, wishes: int) -> Clock:
    """Return the slots: as many as there are things to get to, each long enough for a usual visit and the change.

    Args:
        request: minutes of the session, warm-up, tidy-up, a slot length when the coach fixes it.
        visit: minutes of a usual visit to a station.
        wishes: how many events and themes a team should get to.

    Raises OutOfRange when not even one slot fits.
    """
    warm, tidy = request.warm_minutes(), request.tidy_minutes()
    free = request.minutes - warm - tidy
    shortest = request.slot or CHANGE + visit
    if free < shortest:
        allowed = f"at least {warm + tidy + shortest}, for warm-up ({warm}), one slot ({shortest}) and tidy-up ({tidy})"
        raise OutOfRange("The time in minutes", request.minutes, allowed)
    if request.slot:
        slots, minutes = free // request.slot, request.slot
    else:
        slots = max(1, min(free // shortest, wishes))
        minutes = free // slots
        if minutes > LONGEST:
            slots, minutes = free // LONGEST, LONGEST
    return Clock(slots, minutes, warm, request.minutes - warm - slots * minutes)
