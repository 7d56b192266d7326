"""A plan into a file; the ending says of which kind."""

from collections.abc import Callable, Sequence
from pathlib import Path

from kb.errors import FileUnusable, UsageError
from kb.index.store import Index
from kb.model import Plan
from kb.plan.store import plan_json, plan_yaml
from kb.size.stock import KitLine

Lines = Sequence[KitLine] | None


def _html(plan: Plan, index: Index, kit: Lines) -> str:
    from kb.plan.html import sheet_html
    from kb.plan.printable import printable

    return sheet_html(printable(one, index, kit) for one in (plan, *plan.later))


def _markdown(plan: Plan, index: Index, kit: Lines) -> str:
    from kb.plan.markdown import sheet_markdown
    from kb.plan.printable import printable

    return sheet_markdown(printable(one, index, kit) for one in (plan, *plan.later))


def _calendar(plan: Plan, index: Index, _kit: Lines) -> str:
    from kb.plan.ical import plan_ical

    return plan_ical((plan, *plan.later), index).decode()


WRITERS: dict[str, Callable[[Plan, Index, Lines], str]] = {
    ".html": _html,
    ".md": _markdown,
    ".yaml": lambda plan, _index, _kit: plan_yaml(plan),
    ".json": lambda plan, _index, _kit: plan_json(plan),
    ".ics": _calendar,
}
PRINTED = ".pdf"
"""Written by the part that prints, above this one."""
"""Ending of a file to what writes it."""


def check_ending(path: Path) -> str:
    """Return the ending of a file that a plan can be written to. Raises UsageError, naming those that work."""
    ending = path.suffix.lower()
    if ending not in (PRINTED, *WRITERS):
        good = ", ".join((PRINTED, *WRITERS))
        raise UsageError(f"A plan is not written to '{path.name}'; the file must end with {good}.")
    return ending


def write_plan(plan: Plan, path: Path, index: Index, kit: Lines = None) -> None:
    """Write a plan. Raises UsageError for an ending that is not known, FileUnusable for a place that is not there."""
    text = WRITERS[check_ending(path)](plan, index, kit)
    try:
        path.write_bytes(text.encode("utf-8"))
    except OSError as error:
        raise FileUnusable(path, 0, f"cannot be written ({error.strerror}).") from None
