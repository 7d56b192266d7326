"""Bring in cards of somebody else's: read, judge by the rules of `check`, set clashes beside one another, plan."""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from collections.abc import Collection as Names
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from kb.errors import FileUnusable
from kb.keep.archive import read_cards
from kb.keep.draft import free_id
from kb.keep.fields import all_fields, card_fields, value, values
from kb.keep.gaps import HANDS
from kb.keep.inspect import Judged, judge, link_problems
from kb.keep.sheet import need_title, propose, read_sheet, row_fields
from kb.keep.text import card_text, with_names
from kb.keep.twins import TwinFinder, steps
from kb.library import Collection
from kb.library.files import card_files
from kb.library.load import LONGEST_ID
from kb.library.safeyaml import Located
from kb.model import Card, Problem
from kb.model.keep import Choice, Clash, Column, ImportPlan, Incoming, Twin

SAFETY = ("Keep safe",)
"""Fields that are not filled with what is usual, since nobody looks at each row: the row gives them, or the coach for
all rows, like stage, spotting and load, for which nothing is usual."""
TAKE_ALL = ("*",)
"""Stands for every clash."""
AT_ONCE = 500
"""Cards compared with the library in one go."""
NOT_SHOWN = ("id", "figure", "size")
"""Fields that are left out where two cards stand side by side."""


UNEVEN = "has more cells than the table has columns; a text with the mark between columns in it needs quotation marks"
MOST_ASKED = 200
"""Rows whose fault is searched by their words, about 50 ms each."""
Offer = Callable[[Mapping[str, str]], Sequence[Choice]]


class Candidate(Struct, frozen=True):
    """A card that may come in."""

    source: str
    title: str
    judged: Judged
    """At the place where it would lie; a row that makes no card has its problems here."""


def table_columns(path: Path, given: Mapping[str, str]) -> tuple[Column, ...]:
    """Return what the columns of a table seem to hold. Raises FileUnusable, UnknownName."""
    return propose(read_sheet(path), given)


def plan_cards(path: Path, collection: Collection, take: Names[str] = ()) -> ImportPlan:
    """Plan the import of a zip or folder of cards; `take` names clashing cards that come in all the same."""
    found, notes = read_cards(path)
    if not found:
        raise FileUnusable(path, 0, "holds no cards: Markdown files such as vault/vault-tall-fall.md.")
    candidates = [_of_file(name, text, collection) for name, text in found]
    return _plan(path, candidates, collection, take, tuple(notes))


def plan_table(  # noqa: PLR0913 - the coach's corrections, each by name
    path: Path,
    collection: Collection,
    given: Mapping[str, str],
    fixed: Mapping[str, str],
    *,
    take: Names[str] = (),
    offer: Offer | None = None,
) -> ImportPlan:
    """Plan the import of a table; `given` maps columns to fields, `fixed` fills fields that a row leaves open.

    `offer` says which faults the words of a row lead to, for rows that name none of the vocabulary.
    """
    sheet = read_sheet(path)
    columns = propose(sheet, given)
    need_title(columns)
    candidates: list[Candidate] = []
    asked = 0
    for number, cells in sheet.rows:
        fields = row_fields(cells, columns, fixed)
        made = _of_row(f"{path.name}, row {number}", fields, path.name, collection)
        problems: list[Problem] = []
        if number in sheet.uneven:
            problems.append(Problem(made.judged.file, 0, "", UNEVEN))
        if offer and asked < MOST_ASKED and any(p.field.startswith("corrects") for p in made.judged.problems):
            asked += 1
            problems += _heard(made, fields, offer)
        judged = replace(made.judged, problems=(*made.judged.problems, *problems))
        candidates.append(replace(made, judged=judged))
    plan = _plan(path, candidates, collection, take, (f"Read as {sheet.note}.",))
    return replace(plan, columns=columns)


def _heard(made: Candidate, fields: Mapping[str, str], offer: Offer) -> Iterator[Problem]:
    """Say which faults the row's own words lead to; somebody has to choose."""
    words = " ".join(fields.get(name, "") for name in ("corrects", "title"))
    choices = offer({"noted": words, "event": made.judged.file.partition("/")[0]})[:3]
    if choices:
        found = "; or ".join(f"{choice.value} ({choice.text})" for choice in choices)
        yield Problem(made.judged.file, 0, "corrects", f"these words may mean {found}", warning=True)


def _of_file(name: str, text: str, collection: Collection) -> Candidate:
    stem = name.rpartition("/")[2].rpartition(".")[0]
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    named = re.search(r"^event: *[\"']?([a-z0-9-]+)", text, re.M)
    title = re.search(r"^title: *(.+)$", text, re.M)
    event = named[1] if named else (name.split("/")[-2] if "/" in name else "cards")
    judged = judge(text, f"{event}/{stem}.md", collection.vocabulary)
    return Candidate(name, judged.card.title if judged.card else (title[1] if title else stem), judged)


def _of_row(source: str, fields: Mapping[str, str], file_name: str, collection: Collection) -> Candidate:
    """Make a card of a row; what may be filled without a coach is filled, what bears on safety is not."""
    words = collection.vocabulary
    usual = {f.field: f.usual for f in all_fields().values() if f.usual and f.field not in SAFETY}
    whole = {**usual, "sources": f"{file_name}; not checked against a source", **fields}
    grade = words.spotting.get(value("spotting.grade", whole.get("spotting.grade", ""), words))
    if grade and "spotting.spotters" not in whole:
        whole["spotting.spotters"] = "1" if grade.order >= HANDS else "0"
    front, sections = values(whole, words)
    title, event = str(front.get("title", "")), str(front.get("event", "cards"))
    named = "-".join(re.findall(r"[a-z0-9]+", fields.get("id", "").lower()))[:LONGEST_ID]
    name = named or (free_id(event, title, set()) if title else "no-title")
    file = f"{event}/{name}.md"
    try:
        judged = judge(card_text(front, sections, file), file, words)
    except FileUnusable as error:
        judged = Judged(file, "", None, Located(None, {}), (Problem(file, error.line, "", error.reason),))
    return Candidate(source, title, judged)


def _plan(
    path: Path, candidates: Sequence[Candidate], collection: Collection, take: Names[str], notes: tuple[str, ...]
) -> ImportPlan:
    names = _Names(collection)
    twins = _twins(candidates, collection)
    cards = [_first_look(one, names, twins.get(place), take) for place, one in enumerate(candidates)]
    renamed = {one.id: one.file.rpartition("/")[2].removesuffix(".md") for one in cards if one.state == RENAMED}
    cards = [_follow(card, renamed) for card in cards]
    known = {one.judged.file: one.judged for one in candidates}
    return ImportPlan(str(path), tuple(_without_loose_ends(cards, known, collection)), notes=notes)


RENAMED = "comes in renamed"


class _Names:
    """Names that are taken: by the library's files, and by what has come in so far."""

    def __init__(self, collection: Collection) -> None:
        self.collection = collection
        self.taken = {path.stem for path in card_files(collection.folder)}
        self.came: dict[str, str] = {}


def _first_look(one: Candidate, names: _Names, twin: Twin | None, take: Names[str]) -> Incoming:
    """Say of one card whether it comes in, by itself and beside the library's cards."""
    judged = one.judged
    name = judged.file.rpartition("/")[2].removesuffix(".md")
    bare = Incoming(one.source, name, "", one.title, "has problems", judged.text, judged.problems)
    errors = [problem for problem in judged.problems if not problem.warning]
    if judged.card is None or errors:
        return bare
    if name in names.came:
        text = f"has the same name as {names.came[name]} of this import; rename one of the two"
        return replace(bare, problems=(Problem(judged.file, 0, "", text),))
    mine = names.collection.cards.get(name)
    taken = name in take or TAKE_ALL[0] in take
    if mine is not None and _same(judged, mine):
        return replace(bare, state="already there")
    if name in names.taken:
        pairs = _pairs(card_fields(mine), card_fields(judged.card)) if mine else ()
        clash = Clash("same name", name, 1.0, pairs)
        if not taken:
            return replace(bare, state="clash", clash=clash)
        new = free_id(judged.card.event, name.replace("-", " "), names.taken | set(names.came))
        names.came[new] = names.came[name] = one.source
        return replace(bare, state=RENAMED, file=f"{judged.card.event}/{new}.md", clash=clash)
    clash_twin = _twin_clash(judged, twin, names.collection)
    if clash_twin and not taken:
        return replace(bare, state="clash", clash=clash_twin)
    names.came[name] = one.source
    return replace(bare, state="comes in", file=judged.file, clash=clash_twin)


def _same(judged: Judged, mine: Card) -> bool:
    return judged.card is not None and replace(judged.card, file=mine.file) == mine


def _twin_clash(judged: Judged, twin: Twin | None, collection: Collection) -> Clash | None:
    if twin is None or judged.card is None:
        return None
    pairs = _pairs(card_fields(collection.cards[twin.card]), card_fields(judged.card))
    return Clash("near twin", twin.card, twin.likeness, pairs)


def _pairs(mine: Mapping[str, str], theirs: Mapping[str, str]) -> tuple[tuple[str, str, str], ...]:
    return tuple(
        (name, mine[name], theirs[name]) for name in mine if name not in NOT_SHOWN and mine[name] != theirs[name]
    )


def _twins(candidates: Sequence[Candidate], collection: Collection) -> dict[int, Twin]:
    """Return for each place the library's card that is most alike, where one is alike enough."""
    finder = TwinFinder(collection.cards.values())
    places = [place for place, one in enumerate(candidates) if one.judged.card] if finder.cards else []
    found: dict[int, Twin] = {}
    for start in range(0, len(places), AT_ONCE):
        some = places[start : start + AT_ONCE]
        cards = [card for place in some if (card := candidates[place].judged.card)]
        by_title, by_steps = finder.many([card.title for card in cards], [steps(card.sections) for card in cards])
        for row, place in enumerate(some):
            title, text = float(by_title[row].max()), float(by_steps[row].max())
            if title or text:
                best = finder.cards[int((by_title if title >= text else by_steps)[row].argmax())]
                likeness = round(max(title, text) / 100, 2)
                found[place] = Twin(best.id, best.title, likeness, "title" if title >= text else "steps")
    return found


def _follow(card: Incoming, renamed: Mapping[str, str]) -> Incoming:
    """Let a card that comes in name the others by their new names; one that cannot be rewritten stays out."""
    if not card.state.startswith("comes in") or not renamed:
        return card
    try:
        text = with_names(card.text, renamed, card.file)
    except FileUnusable as error:
        return replace(card, state="has problems", file="", problems=(Problem(card.file, 0, "", error.reason),))
    return replace(card, text=text)


def _without_loose_ends(
    cards: Iterable[Incoming], judged: Mapping[str, Judged], collection: Collection
) -> list[Incoming]:
    """Leave out cards whose links lead nowhere or break a rule between cards, until none is left."""
    found = list(cards)
    known: dict[str, Judged] = {}
    for one in found:
        before = judged.get(one.file)
        same = before is not None and before.text == one.text
        if one.file:
            known[one.file] = before if before and same else judge(one.text, one.file, collection.vocabulary)
    while True:
        coming = [known[one.file] for one in found if one.file]
        loose = link_problems(coming, collection)
        if not loose:
            return found
        for place, one in enumerate(found):
            if one.file in loose:
                problems = (*one.problems, *loose[one.file])
                found[place] = replace(one, state="has problems", file="", problems=problems)


def write_rest(plan: ImportPlan, folder: Path) -> int:
    """Write what does not come in for its problems into a new folder, with the reasons, to be mended there.

    Returns how many there were. Raises FileUnusable.
    """
    from kb.keep.store import write_new

    rest = [card for card in plan.cards if card.state == "has problems"]
    reasons: list[str] = []
    used: dict[str, int] = {}
    for card in rest:
        plain = "-".join(re.findall(r"[a-z0-9]+", card.id.lower())) or "drill"
        used[plain] = used.get(plain, 0) + 1
        name = plain if used[plain] == 1 else f"{plain}-{used[plain]}"
        if card.text:
            write_new(folder / "cards" / f"{name}.md", card.text.encode())
        reasons.append(f"{name} ({card.source})\n" + "".join(f"  {problem}\n" for problem in card.problems))
    write_new(folder / "problems.txt", "\n".join(reasons).encode())
    return len(rest)
