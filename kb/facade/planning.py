"""The week's plan of a library."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

from kb.errors import FileUnusable
from kb.facade.log import PracticeLog
from kb.facade.sizing import Sizing, counts
from kb.model import Plan, PlanProblem

if TYPE_CHECKING:
    from kb.size.stock import KitLine


class Planning(Sizing, PracticeLog):
    """What a library plans."""

    def plan(self, themes: tuple[str, ...], *, groups: Path, kit: Path, out: Path | None = None, **wishes: Any) -> Plan:
        """Return the plan of an evening for the squads of a file with a kit list, written to `out` when given.

        `wishes` are the fields of kb.plan.request.PlanRequest: coaches, minutes, sessions, weeks, pins, avoid, mastered
        and so on. Raises FileUnusable, UnknownName, OutOfRange or UsageError for what no plan can be made of.
        """
        from kb.library.groupsfile import read_groups
        from kb.plan.request import PlanRequest
        from kb.plan.weeks import make_plan
        from kb.plan.write import PRINTED, check_ending, write_plan

        if out is not None:
            check_ending(out)
        lines = self.kit_list(kit)
        squads = read_groups(groups)
        if "mastered" not in wishes:
            learned = {squad.name: tuple(sorted(self.mastered(squad.name))) for squad in squads.groups}
            wishes["mastered"] = {name: cards for name, cards in learned.items() if cards}
        request = PlanRequest(themes=tuple(themes), groups=squads, kit=counts(lines), kit_lines=lines, **wishes)
        plan = make_plan(request, self.searcher)
        if out is not None and out.suffix.lower() == PRINTED:
            self._print(plan, out, lines)
        elif out is not None:
            write_plan(plan, out, self.index, lines)
        return plan

    def _print(self, plan: Plan, out: Path, kit: "tuple[KitLine, ...]") -> None:
        from kb.handout.evening import evening_pdf
        from kb.plan.printable import printable

        body = evening_pdf(printable(one, self.index, kit) for one in (plan, *plan.later))
        try:
            out.write_bytes(body)
        except OSError as error:
            raise FileUnusable(out, 0, f"cannot be written ({error.strerror}).") from None

    def check_plan(self, path: Path) -> list[PlanProblem]:
        """Return what is wrong with a plan in a file, broken rules first. Raises FileUnusable."""
        from kb.plan.audit import audit
        from kb.plan.store import read_plan

        return audit(read_plan(path), {name: self.index.card(name) for name in self.index.card_ids}, self.vocabulary)
