"""The practice log from the pages: one form, open only when the pages were started with --log."""

from typing import Any, get_args

from kb.browse.desk import Desk
from kb.browse.pages import Query, first
from kb.errors import UsageError
from kb.model.log import Result

WORDS = {"helped": "It helped", "no-change": "No change", "too-hard": "Too hard", "mastered": "Mastered"}
"""Result to the words on its button."""


def log_page(desk: Desk, query: Query, form: dict[str, str]) -> dict[str, Any]:
    """Write down what a form says, when there is one, and return what the page shows. Raises UnknownName for a card."""
    library = desk.library
    card = library.card(form.get("card") or first(query, "card"))
    problem = done = ""
    if form:
        try:
            entry = library.log(
                card.id,
                _result(form.get("result", "")),
                group=form.get("group", "").strip() or None,
                child=_number(form.get("child", "").strip()),
                note=form.get("note", "").strip() or None,
            )
            who = f" with {entry.group}" if entry.group else ""
            done = f"{WORDS[entry.result].lower()}{who}"
        except UsageError as error:
            problem = str(error)
    squads = sorted({entry.group for entry in library.log_entries() if entry.group})
    return {
        "card": card,
        "problem": problem,
        "done": done,
        "group": form.get("group", "")[:30],
        "squads": squads,
        "results": list(WORDS.items()),
    }


def _number(text: str) -> int | None:
    if text and not text.isdigit():
        raise UsageError("The child is a number in her squad.")
    return int(text) if text else None


def _result(text: str) -> Result:
    for result in get_args(Result):
        if text == result:
            return result  # type: ignore[no-any-return]
    raise UsageError("Say what came of it: one of the four buttons.")
