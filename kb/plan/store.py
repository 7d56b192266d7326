"""A plan as a file that a person can read and change: YAML or JSON."""

import re
from pathlib import Path
from typing import Any

import msgspec

from kb.errors import FileUnusable
from kb.library.convert import convert_one
from kb.library.safeyaml import Located, read_yaml
from kb.model import Plan

HEAD = """\
# The plan of an evening, made by drillkb. Change it by hand if you like (card, group, coach of a turn), then check it:
#   drillkb plan --check THIS-FILE
# A qualified coach decides. Your federation's rules and the maker's limits come first.
"""
CLOCK = re.compile(r"([01]?\d|2[0-3]):[0-5]\d")


class _Inline(dict[str, Any]):
    """A map that is written on one line."""


def plan_yaml(plan: Plan) -> str:
    """Return a plan as YAML, one line for each turn; ways out of clashes without their plans."""
    import yaml

    class Plain(yaml.SafeDumper):
        """Writes no aliases, which our reader refuses."""

        def ignore_aliases(self, data: Any) -> bool:
            """Write equal values out each time."""
            del data
            return True

    Plain.add_representer(
        _Inline, lambda dumper, value: dumper.represent_mapping("tag:yaml.org,2002:map", value, flow_style=True)
    )
    found = _trimmed(msgspec.to_builtins(plan))
    for name in ("slots", "clashes"):
        found.setdefault(name, [])
    text: str = yaml.dump(found, Dumper=Plain, sort_keys=False, allow_unicode=True, width=1000, default_flow_style=None)
    return HEAD + text


def _trimmed(value: Any) -> Any:
    """Return a value without what is empty, and without the plans of ways out of a clash."""
    if isinstance(value, dict):
        kept = {key: _trimmed(inner) for key, inner in value.items() if inner not in ((), {}, "", None, [])}
        if "words" in value and "objective" in value:
            kept.pop("slots", None)
        return _Inline(kept) if "card" in value or "squad" in value else kept
    return [_trimmed(inner) for inner in value] if isinstance(value, list | tuple) else value


def plan_json(plan: Plan) -> str:
    """Return a plan as indented JSON."""
    return msgspec.json.format(msgspec.json.encode(plan), indent=2).decode() + "\n"


def read_plan(path: Path) -> Plan:
    """Read a plan from YAML or JSON. Raises FileUnusable, with the line, for anything in it that is wrong."""
    try:
        source = read_yaml(path.read_text("utf-8"), str(path))
    except FileNotFoundError:
        raise FileUnusable(path, 0, "there is no such file; drillkb plan -o week.yaml writes one.") from None
    except (OSError, UnicodeDecodeError) as error:
        raise FileUnusable(path, 0, f"cannot be read as UTF-8 text ({error.__class__.__name__}).") from None
    found, problems = convert_one(Plan, source, (), str(path))
    if found is None:
        first = problems[0]
        raise FileUnusable(path, first.line, ": ".join(part for part in (first.field, first.message) if part))
    _clocks(found, source, path)
    return found


def _clocks(plan: Plan, source: Located, path: Path) -> None:
    if not CLOCK.fullmatch(plan.start):
        raise FileUnusable(path, source.line(("start",)), f"start: found '{plan.start}'; needs a time such as 17:00.")
    for place, slot in enumerate(plan.slots):
        if not CLOCK.fullmatch(slot.start):
            line = source.line(("slots", place, "start"))
            raise FileUnusable(path, line, f"slots[{place}].start: found '{slot.start}'; needs a time such as 17:12.")
    for later in plan.later:
        _clocks(later, source, path)
