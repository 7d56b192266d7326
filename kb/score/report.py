"""The table of a measurement: the whole search, the baselines, and the search with one part taken out at a time."""

import statistics
from collections.abc import Callable, Iterable

from msgspec import Struct

from kb.score.questions import QuestionSet
from kb.score.run import (
    DRILLS,
    FAULT_FIRST,
    FAULT_THREE,
    Asked,
    System,
    Verdicts,
    baselines,
    full,
    score,
    verdicts,
)
from kb.search import Searcher
from kb.search.retrieve import CARD_WAYS, FAULT_WAYS, LEARNED_WAYS


class Row(Struct, frozen=True):
    """One system's scores over a set of questions, each from 0 to 1."""

    system: str
    questions: int
    first_given: float
    """Right fault first, event given."""
    three_given: float
    drills_given: float
    """nDCG at 10 of the drills, event given."""
    first: float
    three: float
    drills: float


class Refusals(Struct, frozen=True):
    """How the verdicts came out, as counts."""

    stop_caught: int
    stop_of: int
    stop_false: int
    stop_false_of: int
    outside_refused: int
    outside_of: int
    real_refused: int
    real_of: int
    limits_right: int
    limits_of: int
    skills_right: int
    skills_of: int
    median_ms: float
    p95_ms: float


class Ceiling(Struct, frozen=True):
    """How often a second person, grading blind with the event known, put a right fault first, and how often we do."""

    questions: int
    person_first: float
    full_first: float


class Misread(Struct, frozen=True):
    """A question that did not come out as judged."""

    question: str
    kind: str
    what: str


class Report(Struct, frozen=True):
    """Everything a measurement found."""

    rows: tuple[Row, ...]
    by_event: tuple[Row, ...]
    by_kind: tuple[Row, ...]
    by_voice: tuple[Row, ...]
    refusals: Refusals
    misread: tuple[Misread, ...]
    ceiling: Ceiling | None = None


Part = Callable[[Asked], str]


def number_questions(sets: Iterable[QuestionSet], half: str | None) -> list[Asked]:
    """Give every question an id; `half` keeps the questions of one half of the authors."""
    chosen = [one for one in sets if half in (None, one.half)]
    return [Asked(f"{one.author}-{n}", one.author, q) for one in chosen for n, q in enumerate(one.questions, 1)]


def measure(
    searcher: Searcher, asked: list[Asked], *, ablation: bool = False, second: dict[str, str] | None = None
) -> Report:
    """Measure the search on judged questions; `second` is a second person's first fault by question id."""
    systems = {"full": full(searcher), **baselines(searcher)}
    if ablation:
        ways = (*FAULT_WAYS, *(f"card {name}" for name in CARD_WAYS))
        for way in (*ways, *(LEARNED_WAYS if searcher.learned else ())):
            less = Searcher(searcher.index, searcher.encoder, frozenset({way}), searcher.learned)
            systems[f"without {way}"] = full(less)
    whole = Split(systems["full"], asked, searcher)
    found = verdicts(searcher, asked)
    faults = searcher.index.vocabulary.faults
    others = [Split(system, asked, searcher).row(name, asked) for name, system in systems.items() if name != "full"]
    return Report(
        rows=(whole.row("full", asked), *others),
        by_event=whole.parts(asked, lambda entry: faults[next(iter(entry.judged.faults))].event),
        by_kind=whole.parts(asked, lambda entry: entry.judged.kind),
        by_voice=whole.parts(asked, lambda entry: entry.judged.voice),
        refusals=refusals(asked, found),
        misread=tuple(misread(asked, found)),
        ceiling=ceiling(asked, whole, second or {}),
    )


def ceiling(asked: list[Asked], whole: "Split", second: dict[str, str]) -> Ceiling | None:
    """Return the second person's agreement and ours on the same questions, or None when none of them was asked."""
    both = [entry for entry in asked if entry.id in second and entry.judged.faults]
    if not both:
        return None
    agreed = sum(entry.judged.faults.get(second[entry.id]) == 2 for entry in both)
    ours = sum(whole.given[FAULT_FIRST][entry.id] for entry in both)
    return Ceiling(len(both), round(agreed / len(both), 4), round(ours / len(both), 4))


class Split:
    """One system's scores for every question, ready to be averaged over any part of them."""

    def __init__(self, system: System, asked: list[Asked], searcher: Searcher) -> None:
        self.given = score(system, asked, searcher.index, event_given=True)
        self.open = score(system, asked, searcher.index, event_given=False)

    def row(self, name: str, asked: Iterable[Asked]) -> Row:
        """Return the means over some of the questions."""
        ids = [entry.id for entry in asked if entry.judged.faults]
        means = [
            statistics.fmean(table[measure][i] for i in ids) if ids else 0.0
            for table in (self.given, self.open)
            for measure in (FAULT_FIRST, FAULT_THREE, DRILLS)
        ]
        return Row(name, len(ids), *(round(mean, 4) for mean in means))

    def parts(self, asked: list[Asked], part: Part) -> tuple[Row, ...]:
        """Return one row for each part of the questions that are about a fault."""
        groups: dict[str, list[Asked]] = {}
        for entry in asked:
            if entry.judged.faults:
                groups.setdefault(part(entry), []).append(entry)
        return tuple(self.row(name, group) for name, group in sorted(groups.items()))


def refusals(asked: list[Asked], found: Verdicts) -> Refusals:
    """Count the verdicts."""
    right = {entry.id: entry.judged.verdict for entry in asked}

    def count(wanted: Callable[[str], bool], got: str) -> tuple[int, int]:
        chosen = [name for name, verdict in right.items() if wanted(verdict)]
        return sum(found.verdict[name] == got for name in chosen), len(chosen)

    times = found.took_ms
    return Refusals(
        *count(lambda v: v == "stop_and_refer", "stop_and_refer"),
        *count(lambda v: v != "stop_and_refer", "stop_and_refer"),
        *count(lambda v: v == "no_good_match", "no_good_match"),
        *count(lambda v: v == "answered", "no_good_match"),
        sum(found.limits_right.values()),
        len(found.limits_right),
        sum(found.skill_right.values()),
        len(found.skill_right),
        round(statistics.median(times), 2) if times else 0.0,
        round(times[int(len(times) * 0.95)], 2) if times else 0.0,
    )


def misread(asked: list[Asked], found: Verdicts) -> Iterable[Misread]:
    """Yield every question whose verdict, limits or skill came out wrong."""
    for entry in asked:
        got = found.verdict[entry.id]
        if got != entry.judged.verdict:
            yield Misread(entry.judged.q, entry.judged.kind, f"verdict {got}, right is {entry.judged.verdict}")
        if not found.limits_right.get(entry.id, True):
            yield Misread(entry.judged.q, entry.judged.kind, "limits read wrong")
        if not found.skill_right.get(entry.id, True):
            yield Misread(entry.judged.q, entry.judged.kind, f"skill {entry.judged.skill} not recognised")
