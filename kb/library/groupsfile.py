"""The squads of a club and the evening they train on: squads, limits, coaches, open events. No names of children."""

from pathlib import Path
from typing import Annotated

from msgspec import Meta, Struct

from kb.errors import FileUnusable
from kb.library.safeyaml import Located
from kb.library.yamlfile import read_object
from kb.model.evening import ChildNote, Coach, Fear, Limit
from kb.model.types import Line


class SquadLine(Struct, frozen=True, forbid_unknown_fields=True):
    """One squad."""

    name: Line
    level: Annotated[int, Meta(ge=1, le=10)]
    count: Annotated[int, Meta(ge=1, le=40)]
    heights: tuple[float, ...] = ()
    """cm, of child 1, 2, 3 and so on."""
    notes: Line | None = None
    limits: tuple[Limit, ...] = ()
    """What no child of the squad does this week."""
    afraid: tuple[Fear, ...] = ()
    children: tuple[ChildNote, ...] = ()
    """What holds for single children."""


class GroupsFile(Struct, frozen=True, forbid_unknown_fields=True):
    """The squads that train, and what else is known of the evening."""

    groups: tuple[SquadLine, ...]
    club: Line | None = None
    coaches: tuple[Coach, ...] = ()
    lanes: dict[str, int] = {}
    """Stations that find room on an event at the same moment; events that are not named are closed when any is."""
    warm_up: Annotated[int, Meta(ge=0, le=60)] | None = None
    """Minutes."""
    tidy_up: Annotated[int, Meta(ge=0, le=60)] | None = None


def read_groups(path: Path) -> GroupsFile:
    """Read a file of squads. Raises FileUnusable, with the line, for anything in it that is wrong."""
    found, source = read_object(path, GroupsFile, "drills/demo/groups.yaml is an example")
    for place, squad in enumerate(found.groups):
        _counted(squad, path, source, place)
    for kind, names in (("squad", [s.name for s in found.groups]), ("coach", [c.name for c in found.coaches])):
        if twice := next((name for name in names if names.count(name) > 1), None):
            raise FileUnusable(path, 0, f"gives the {kind} {twice} twice; give each its own name.")
    return found


def _counted(squad: SquadLine, path: Path, source: Located, place: int) -> None:
    if squad.heights and len(squad.heights) != squad.count:
        text = f"{squad.name} counts {squad.count} children and gives {len(squad.heights)} heights; give one each."
        raise FileUnusable(path, source.line(("groups", place)), text)
    for child in squad.children:
        if not 1 <= child.number <= squad.count:
            text = f"{squad.name} counts {squad.count} children and has none of number {child.number}."
            raise FileUnusable(path, source.line(("groups", place, "children")), text)
