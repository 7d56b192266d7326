"""A new card grows from what is known: what may be answered is offered, what nobody said is filled as is usual."""

import re
from collections import Counter
from collections.abc import Callable, Mapping
from typing import Any

from kb.errors import FileUnusable, UsageError
from kb.keep import offers
from kb.keep.fields import Fields, all_fields, line, tidy, value, values
from kb.keep.inspect import judge, link_problems
from kb.keep.text import card_text
from kb.keep.twins import TwinFinder
from kb.library import Collection
from kb.library.files import card_files
from kb.library.load import LONGEST_ID
from kb.model import SECTIONS, Answer, Card, Problem
from kb.model.card import ID_PATTERN
from kb.model.keep import Choice, Draft, Suggestion

Ask = Callable[[str, str | None], Answer]
"""Answers words, with the event when it is known."""

ASKED = (
    *("title", "event", "corrects", "level", "skills", "equipment", "stage", "Set up", "Do", "Say"),
    *("load.on", "spotting.grade", "spotting.hands", "no_spot_twin", "after", "ready_when", "Keep safe"),
)
"""What `drillkb new` asks, in this order; the rest is filled."""
OPTIONAL = ("id", "video", "size", "figure", "after", "equipment")
"""Fields that a card may have empty."""
HANDS_OFF = "Hands off. Watch from a spot with a clear view of every turn."
FIRST = (
    *("title", "event", "corrects", "level", "skills", "equipment", "stage"),
    *("demand.height", "demand.speed", "demand.rotation"),
)
"""Filled before the others, which build on them."""


class Drafter:
    """Makes cards for one library."""

    def __init__(self, collection: Collection, ask: Ask) -> None:
        self.collection, self.ask = collection, ask
        self.words = collection.vocabulary
        self.finder = TwinFinder(collection.cards.values())
        self._answers: dict[tuple[str, str | None], Answer] = {}

    def suggest(self, name: str, fields: Fields) -> Suggestion:
        """Return the question for a field, what Enter answers, and what is offered.

        Raises UsageError when what the coach sees is a sign to stop: no drill is for that.
        """
        fields = tidy(fields, self.words)
        self.refuse_stop_sign(fields)
        choices = self.choices(name, fields)
        default = fields.get(name, "").strip() or self.usual(name, fields, choices)
        return Suggestion(name, all_fields()[name].ask, default, choices)

    def choices(self, name: str, fields: Fields) -> tuple[Choice, ...]:
        """Return what is offered for a field, the best first."""
        offer = offers.OFFERS.get(name)
        return offer(self, fields) if offer else ()

    def usual(self, name: str, fields: Fields, choices: tuple[Choice, ...]) -> str:
        """Return what is filled in when nothing is said, empty when nobody can know it."""
        if name in FILL:
            return FILL[name](self, fields)
        if name in OPTIONAL or name == "title":
            return ""
        if choices:
            return choices[0].value
        return self.as_most(name, fields) or all_fields()[name].usual

    def as_most(self, name: str, fields: Fields) -> str:
        """Return what most cards of the same stage have, of the same skill or else event where there are some.

        Cards whose demand or landing needs a mat that this one does not have are passed over.
        """
        stage, event = fields.get("stage", ""), fields.get("event", "")
        skills = set(re.split(r"; ?", fields.get("skills", "")))
        cards = [card for card in self.collection.cards.values() if stage in ("", card.stage)]
        alike = [card for card in cards if self._carried(card, fields)]
        near = [card for card in alike if skills & set(card.skills)] or [c for c in alike if c.event == event] or alike
        outer, _, inner = name.partition(".")
        whole = Counter(getattr(card, outer) for card in near if getattr(card, outer, None) is not None)
        if not whole or not inner:
            return ""
        held = whole.most_common(1)[0][0] if outer == "demand" else None
        counts = Counter(getattr(part, inner) for part in whole.elements())
        return str(getattr(held, inner) if held else counts.most_common(1)[0][0])

    def _carried(self, card: Card, fields: Fields) -> bool:
        """Say whether the kit of the fields is soft enough for what another card asks."""
        kit = value("equipment", fields.get("equipment", ""), self.words)
        known = [self.words.equipment[piece["item"]] for piece in kit if piece["item"] in self.words.equipment]
        mat = any(item.kind == "mat" or item.lands in ("roll", "back") for item in known)
        soft = any(item.lands == "back" for item in known)
        flat = card.demand is None or (card.demand.rotation == 0 and card.demand.height < 2)
        return (mat or flat) and (soft or card.load.on != "back")

    def answer(self, text: str, event: str | None) -> Answer:
        """Ask the library, once for the same words."""
        key = (text, event)
        if key not in self._answers:
            self._answers[key] = self.ask(text, event)
        return self._answers[key]

    def refuse_stop_sign(self, fields: Fields) -> None:
        """Raise UsageError when title or what the coach sees is a stop-and-refer sign."""
        for name in ("title", "seen"):
            sign = self.answer(fields[name], None).caution if fields.get(name) else None
            if sign:
                raise UsageError(f"'{sign.heard}' is a sign to stop, not to drill: {sign.say}")

    def doubt(self, name: str, text: str) -> str:
        """Return what is wrong with an answer, in a sentence; empty when the vocabulary knows it."""
        return offers.doubt(self, name, value(name, text, self.words) if name not in SECTIONS else text)

    def filled(self, fields: Fields) -> tuple[dict[str, str], tuple[str, ...]]:
        """Return the fields with what is usual for those that were left open, and the names of these."""
        whole = tidy(fields, self.words)
        added: list[str] = []
        for name in [*FIRST, *(name for name in all_fields() if name not in FIRST)]:
            if name == "id" or name in whole:
                continue
            if text := self.usual(name, whole, self.choices(name, whole)):
                whole[name] = text
                added.append(name)
        return whole, tuple(added)

    def draft(self, fields: Fields) -> Draft:
        """Return the card that the fields make, with everything that is wrong with it and the cards it looks like.

        Raises UsageError without a title, for a sign to stop or a name that is taken, FileUnusable for text that no
        card can hold.
        """
        if not line(fields.get("title", "")):
            raise UsageError("A card needs a title; say --title.")
        self.refuse_stop_sign(fields)
        whole, added = self.filled(fields)
        front, sections = values(whole, self.words)
        file = self.file(fields.get("id", ""), str(front.get("event", "")), str(front["title"]))
        text = card_text(front, sections, file)
        judged = judge(text, file, self.words)
        problems: list[Problem] = [*judged.problems, *link_problems([judged], self.collection).get(file, [])]
        twins = self.finder.twins(str(front["title"]), sections)
        return Draft(file.rpartition("/")[2].removesuffix(".md"), file, text, added, tuple(sorted(problems)), twins)

    def file(self, name: str, event: str, title: str) -> str:
        """Return where a card goes inside the library. Raises UsageError for a name that is taken."""
        taken = {path.stem for path in card_files(self.collection.folder)}
        if event not in self.words.events:
            events = ", ".join(self.words.events)
            raise UsageError(f"The event is '{event}'; it must be one of {events}.")
        if name and not re.fullmatch(ID_PATTERN, name):
            raise UsageError(f"'{name[:80]}' is no name for a card: lower-case words joined by hyphens.")
        if name in taken:
            raise UsageError(f"A card called {name} is there already and is not overwritten; choose another name.")
        return f"{event}/{name or free_id(event, title, taken)}.md"


def free_id(event: str, title: str, taken: set[str] | Mapping[str, Any]) -> str:
    """Return an id made of event and title that no card has."""
    words = re.findall(r"[a-z0-9]+", title.lower()) or ["drill"]
    name = "-".join(words if words[0] == event else [event, *words])[: LONGEST_ID - 4].rstrip("-")
    number = 2
    base = name
    while name in taken:
        name, number = f"{base}-{number}", number + 1
    return name


def _cap(_drafter: Drafter, fields: Fields) -> str:
    """Return the repetitions of one visit, where the load asks for a limit: nothing more without a coach's word."""
    reps, landings = (fields.get(name, "") for name in ("group.reps", "load.landings"))
    many = reps.isdecimal() and landings.isdecimal() and int(reps) * int(landings) >= 12
    return reps if fields.get("load.wrists") == "high" or many else ""


def _hands(drafter: Drafter, fields: Fields) -> str:
    """Return 'hands off' where nobody touches; where hands go in a spot is never taken for granted."""
    grade = drafter.words.spotting.get(fields.get("spotting.grade", ""))
    return HANDS_OFF if grade and grade.order < 2 else ""


def _spotters(drafter: Drafter, fields: Fields) -> str:
    grade = drafter.words.spotting.get(fields.get("spotting.grade", ""))
    return "1" if grade and grade.order >= 2 else "0"


def _fixes(drafter: Drafter, fields: Fields) -> str:
    name, _, rest = fields.get("corrects", "").partition("/")
    fault = drafter.words.faults.get(name.strip())
    if fault is None:
        return ""
    cause = next((cause for cause in fault.causes if rest.startswith(cause.id)), fault.causes[0])
    return f"For '{_lower(fault.name)}', when the cause is '{_lower(cause.name)}'."


def _set_up(drafter: Drafter, fields: Fields) -> str:
    kit = value("equipment", fields.get("equipment", ""), drafter.words)
    known = drafter.words.equipment
    names = [f"{p['count']} × {known[p['item']].name.lower()}" for p in kit if p["item"] in known]
    return f"{', '.join(names) or 'No kit'}; clear space all round."


def _twin(drafter: Drafter, fields: Fields) -> str:
    choices = drafter.choices("no_spot_twin", fields) if fields.get("spotting.grade") == "hands-on" else ()
    return choices[0].value if choices else ""


def _after(drafter: Drafter, fields: Fields) -> str:
    stage = drafter.words.stages.get(fields.get("stage", ""))
    choices = drafter.choices("after", fields) if stage and stage.order > 1 else ()
    return choices[0].value if choices else ""


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


FILL: dict[str, Callable[[Drafter, Fields], str]] = {
    "cap": _cap,
    "load.on": lambda drafter, fields: drafter.as_most("load.on", fields),
    "spotting.hands": _hands,
    "spotting.spotters": _spotters,
    "Fixes": _fixes,
    "Set up": _set_up,
    "Do": lambda _drafter, _fields: "",
    "no_spot_twin": _twin,
    "after": _after,
}
"""Fields with a way of their own to be filled; nothing is invented for what only a coach can know."""


def write(draft: Draft, collection: Collection) -> None:
    """Write a draft into the library. Raises FileUnusable, also for a name that was taken meanwhile."""
    from kb.keep.store import write_new

    path = collection.folder / draft.file
    if path.exists():
        raise FileUnusable(path, 0, "is there already and is not overwritten; choose another name.")
    write_new(path, draft.text.encode())
