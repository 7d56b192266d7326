"""Sizes of stations, and the kit lists that they are built from."""

from pathlib import Path
from typing import TYPE_CHECKING

from kb.errors import OutOfRange, UnknownName, UsageError
from kb.facade.base import Base
from kb.model import Card, Question, Sizes

if TYPE_CHECKING:
    from kb.model import SquadSizes
    from kb.size import Child
    from kb.size.stock import KitLine


class Sizing(Base):
    """What a library knows of sizes."""

    def kit(self, path: Path) -> dict[str, int]:
        """Return how many there are of each piece in a kit list. Raises FileUnusable."""
        from kb.library.kitfile import read_kit

        return read_kit(path, self.vocabulary.equipment).counts()

    def kit_list(self, path: Path) -> "tuple[KitLine, ...]":
        """Return the lines of a kit list: item, count, the club's own size in cm or None. Raises FileUnusable."""
        from kb.library.kitfile import read_kit

        return tuple((piece.item, piece.count, piece.cm) for piece in read_kit(path, self.vocabulary.equipment).items)

    def size(  # noqa: PLR0913 - what is known of the child, each by name
        self,
        name: str,
        *,
        height: float | None = None,
        age: float | None = None,
        level: int | None = None,
        kit: "tuple[KitLine, ...] | None" = None,
        measured: dict[str, float] | None = None,
    ) -> Sizes:
        """Return the sizes of a card's station for a child of a height (cm) or age (years), built from a kit list.

        `measured` gives lengths taken on her, by rule; they win over the estimate. When the station cannot be built,
        `instead` names cards for the same fault that can.

        Raises UnknownName for a card or rule, OutOfRange for a child the rules are not for, UsageError for a kit list
        without what must catch her.
        """
        from msgspec.structs import replace

        from kb.size import station_sizes

        card = self.card(name)
        if unknown := [rule for rule in measured or {} if rule not in self.vocabulary.sizes]:
            raise UnknownName("size rule", unknown, self.vocabulary.sizes)
        child = self._child(height, age, level, measured)
        sizes = station_sizes(card, [child], self.vocabulary, kit)
        if sizes is None or sizes.fits or kit is None:
            return sizes or Sizes(name, child.height, ())
        return replace(sizes, instead=tuple(self._buildable(card, child, kit)))

    def squad_size(
        self, name: str, groups: Path, *, group: str | None = None, kit: "tuple[KitLine, ...] | None" = None
    ) -> "SquadSizes":
        """Return a card's station for the squads of a file (or one of them), rebuilt as few times as possible.

        Raises UnknownName for a card or squad, FileUnusable, OutOfRange, and UsageError when no heights are given.
        """
        from kb.library.groupsfile import read_groups
        from kb.size import squad_sizes

        squads = read_groups(groups).groups
        if group is not None and group not in (names := [squad.name for squad in squads]):
            raise UnknownName("squad", [group], names)
        children = [
            (f"{squad.name} {number}", self._child(height, None, squad.level))
            for squad in squads
            if group in (None, squad.name)
            for number, height in enumerate(squad.heights, start=1)
        ]
        if not children:
            raise UsageError(f"{groups} gives no heights for this squad; add 'heights: [...]', one for each child.")
        return squad_sizes(self.card(name), children, self.vocabulary, kit)

    def _child(
        self,
        height: float | None,
        age: float | None,
        level: int | None = None,
        measured: dict[str, float] | None = None,
    ) -> "Child":
        from kb.size import child_of

        levels = self.vocabulary.levels
        if level is not None and level not in levels:
            raise OutOfRange("the level", level, f"from {min(levels)} to {max(levels)}")
        return child_of(height, age, level, measured)

    def _buildable(self, card: Card, child: "Child", kit: "tuple[KitLine, ...]") -> list[str]:
        """Return up to three cards for the same faults, no higher in stage, whose kit is there and whose sizes fit."""
        from kb.search.fit import kit_there
        from kb.size import station_sizes

        order = {name: stage.order for name, stage in self.vocabulary.stages.items()}
        faults = {use.fault for use in card.corrects}
        question = Question(text="", symptom="", have=counts(kit))
        found: list[str] = []
        near = [other for other in map(self.index.card, self.index.card_ids) if other.id != card.id]
        shared = [other for other in near if faults & {use.fault for use in other.corrects}]
        level = child.level or card.levels[0]
        for other in sorted(shared, key=lambda one: (order[card.stage] - order[one.stage], one.id)):
            if order[other.stage] > order[card.stage] or not other.fits_level(level) or len(found) == 3:
                continue
            if kit_there(other, question, self.index):
                continue
            sizes = station_sizes(other, [child], self.vocabulary, kit, advise=False)
            if sizes is not None and sizes.fits:
                found.append(other.id)
        return found


def counts(kit: "tuple[KitLine, ...]") -> dict[str, int]:
    """Return how many there are of each piece, pieces of different sizes added up."""
    found: dict[str, int] = {}
    for name, count, _ in kit:
        found[name] = found.get(name, 0) + count
    return found
