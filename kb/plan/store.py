"""A plan as a file that a person can read and change: YAML or JSON."""

import re
from pathlib import Path
from typing import Any

import msgspec

from kb.errors import FileUnusable
from kb.library.safeyaml import Located
from kb.library.yamlfile import read_object
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
    found, source = read_object(path, Plan, "drillkb plan -o week.yaml writes one")
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
